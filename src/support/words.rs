//! Figures in a maker's words.

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

/// How many times, to two figures.
pub fn times(margin: f64) -> String {
    match margin {
        m if !m.is_finite() => "any number of times".into(),
        m if m >= 99.5 => "over 99 times".into(),
        m if m >= 9.95 => format!("{m:.0} times"),
        m => format!("{m:.1} times"),
    }
}

/// A pressure in Pa, as what weighs on each square centimetre.
pub fn pressure(pascals: f64) -> String {
    // 1 g on 1 cm² is 98.0665 Pa.
    let grams = pascals / 98.066_5;
    if grams < 9.95 { format!("{grams:.1} g/cm²") } else { format!("{grams:.0} g/cm²") }
}

/// A few things in a row, with "and" before the last.
pub fn listed(things: &[String]) -> String {
    match things {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
