//! Lengths, angles and colours as a cake file has them.

use cakefile::schema::{Angle, Colour, Length, Size};
use geom::units::{Unit, UnitError, parse_angle, parse_length};

#[test]
fn a_bare_number_is_in_the_unit_of_the_file() {
    assert_eq!(parse_length("8", Unit::Inch), Ok(203.2));
    assert_eq!(Length::from(8.0).to_mm(Unit::Centimetre), Ok(80.0));
    assert_eq!(Length::from("8 mm").to_mm(Unit::Inch), Ok(8.0));
}

#[test]
fn lengths_that_no_cake_has_are_refused() {
    let size = |value: f64| Size::from(value).to_mm(Unit::Millimetre).map_err(|e| e.to_string());
    assert_eq!(size(1e9).unwrap_err(), "1e9 mm is longer than any cake: at most 10000 mm (10 m) will do");
    assert_eq!(size(1e-9).unwrap_err(), "a size must be above zero: at least 0.01 mm, but this is 1e-9 mm");
    assert_eq!(size(0.0).unwrap_err(), "a size must be above zero: at least 0.01 mm, but this is 0 mm");
    assert_eq!(size(-5.0).unwrap_err(), "a size must be above zero: at least 0.01 mm, but this is -5 mm");
    assert_eq!(size(f64::NAN).unwrap_err(), "this is not a finite number");
    assert_eq!(size(0.01), Ok(0.01));
    assert_eq!(Length::from(-10_000.0).to_mm(Unit::Millimetre), Ok(-10_000.0));
    assert_eq!(Length::from(f64::INFINITY).to_mm(Unit::Inch), Err(UnitError::NotFinite));
    assert!(Length::from("11 m").to_mm(Unit::Millimetre).is_err());
}

#[test]
fn angles_are_degrees_or_turns() {
    for text in ["45", "45 deg", "45°", "45 degrees", "0.125 turn", "1/8 turn"] {
        assert_eq!(parse_angle(text), Ok(45.0), "{text}");
    }
    assert_eq!(Angle::from(-30.0).to_degrees(), Ok(-30.0));
    assert_eq!(Angle::from(f64::NAN).to_degrees(), Err(UnitError::NotFinite));
    assert_eq!(Angle::from("11 turns").to_degrees(), Err(UnitError::TooWide { degrees: 3960.0 }));
    assert!(parse_angle("45 mm").unwrap_err().fix().unwrap().contains("deg"));
}

#[test]
fn colours_are_six_hexadecimal_digits() {
    assert_eq!(Colour("#fF8000".into()).to_rgb(), Some([255, 128, 0]));
    for text in ["", "#", "#fff", "ff8000", "#ff80001", "#+f8000", "#ff80é"] {
        assert_eq!(Colour(text.into()).to_rgb(), None, "{text}");
    }
}
