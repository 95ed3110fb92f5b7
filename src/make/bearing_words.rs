//! Bearings in a maker's words.

/// The eight ways round a cake, from the front counter-clockwise seen from above, 45° from one to the next.
pub const BEARING_NAMES: [&str; 8] =
    ["front", "front right", "right", "back right", "back", "back left", "left", "front left"];

/// A bearing (degrees counter-clockwise from the front) in words: "front right", or "between front and front right"
/// where it lies nearer to the middle of two.
pub fn bearing_words(degrees: f64) -> String {
    const EIGHTH: f64 = 45.0;
    // Sixteen ways: every other one is named, those between lie between two names.
    let way = (degrees.rem_euclid(360.0) / (EIGHTH / 2.0)).round() as usize % 16;
    let (low, high) = (BEARING_NAMES[way / 2], BEARING_NAMES[way.div_ceil(2) % 8]);
    if low == high { low.to_owned() } else { format!("between {low} and {high}") }
}

/// The same as a place: "at the front right", or "between front and front right".
pub fn at_bearing_words(degrees: f64) -> String {
    let words = bearing_words(degrees);
    if words.starts_with("between") { words } else { format!("at the {words}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_reads_as_one() {
        assert_eq!(at_bearing_words(180.0), "at the back");
        assert_eq!(at_bearing_words(340.0), "between front left and front");
    }

    #[test]
    fn a_bearing_is_a_side_or_between_two() {
        for (degrees, words) in [
            (0.0, "front"),
            (359.0, "front"),
            (-5.0, "front"),
            (90.0, "right"),
            (112.0, "between right and back right"),
            (225.0, "back left"),
            (285.0, "between left and front left"),
            (340.0, "between front left and front"),
        ] {
            assert_eq!(bearing_words(degrees), words, "{degrees}");
        }
    }
}
