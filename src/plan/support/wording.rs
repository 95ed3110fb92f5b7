//! Figures in a maker's words.

use geom::units::UnitStyle;

/// A bearing.
pub fn bearing(degrees: f64) -> &'static str {
    const NAMES: [&str; 8] = [
        "the front",
        "the front right",
        "the right side",
        "the back right",
        "the back",
        "the back left",
        "the left side",
        "the front left",
    ];
    NAMES[(degrees / 45.0).round().rem_euclid(8.0) as usize]
}

/// What a tier is called that travels on a board of its own.
pub fn on_its_own(tier: &str) -> String {
    format!("\"{tier}\" on its own")
}

/// How many times, to two figures.
pub fn times(margin: f64) -> String {
    match margin {
        m if !m.is_finite() => "any number of times".into(),
        m if m >= 99.5 => "over 99 times".into(),
        m if m >= 9.95 => format!("{m:.0} times"),
        m => format!("{m:.1} times"),
    }
}

/// How warm the room may be, in a sentence: the lower of the stated limit `warmest` and what coats and fillings hold to, °C;
/// `None` if no room is cool enough.
pub fn warmth(holds_to: Option<f64>, warmest: f64, style: UnitStyle) -> String {
    match holds_to {
        Some(celsius) if celsius < warmest => {
            format!("Coats and fillings hold up to about {}: keep it cooler.", style.temperature(celsius))
        }
        Some(_) => format!("Keep it in a room of {} at most, out of the sun.", style.temperature(warmest)),
        None => "Coats and fillings hold at no room temperature as they should: keep it cold.".into(),
    }
}

/// `text` with a capital letter.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// A few things in a row, with "and" before the last.
pub fn listed(things: &[String]) -> String {
    match things {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
