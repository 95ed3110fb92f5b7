//! Units in and out. Exact values: NIST Handbook 44, Appendix C, and NIST SP 811, Appendix B.

use geom::units::{
    Cups, MM3_PER_US_CUP, MassUnit, TemperatureUnit, Unit, UnitError, UnitStyle, VolumeUnit, parse_angle,
    parse_length,
};
use proptest::prelude::*;

const INCH: f64 = 25.4;

#[track_caller]
fn assert_mm(text: &str, expected: f64) {
    let mm = parse_length(text, Unit::Millimetre).unwrap_or_else(|e| panic!("{text}: {e}"));
    assert!((mm - expected).abs() <= 1e-12 * expected.abs(), "{text}: {mm} mm, expected {expected} mm");
}

#[test]
fn lengths_are_read_in_every_unit() {
    for text in ["8 in", "8in", "8\"", "8 inches", "8″", " 8.0 in ", "+8 in"] {
        assert_mm(text, 8.0 * INCH);
    }
    assert_mm("1 inch", INCH);
    assert_mm("203 mm", 203.0);
    assert_mm("20 cm", 200.0);
    assert_mm("0.2 m", 200.0);
    assert_mm(".5 cm", 5.0);
    assert_mm("2e1mm", 20.0);
    // 1 ft = 0.3048 m exactly (SP 811, B.8).
    assert_mm("1 ft", 304.8);
    assert_mm("-12 mm", -12.0);
    assert_mm("−12 mm", -12.0);
}

#[test]
fn fractions_are_read_the_ways_they_are_written() {
    for text in ["8 1/2 in", "8-1/2 in", "8½ in", "8 ½ in", "8.5 in", "8½\""] {
        assert_mm(text, 8.5 * INCH);
    }
    assert_mm("1/2 in", 0.5 * INCH);
    assert_mm("½ in", 0.5 * INCH);
    assert_mm("-1 1/2 in", -1.5 * INCH);
    assert_mm("3/16in", 3.0 / 16.0 * INCH);
}

#[test]
fn what_is_no_length_is_refused_with_the_fix() {
    let fix = |text: &str| {
        let error = parse_length(text, Unit::Millimetre).expect_err(text);
        format!("{error}: {}", error.fix().unwrap_or_default())
    };
    assert_eq!(fix(""), "nothing is written here: write a number and a unit, as \"203 mm\" or \"8 1/2 in\"");
    assert_eq!(fix("8 inn"), "\"inn\" is not a unit of length: lengths are in mm, cm, m, in or ft");
    assert_eq!(
        fix("20,5 cm"),
        "\"20,5 cm\" is written with a comma: write \"20.5 cm\", with a decimal point"
    );
    for text in [
        "tall",
        "nan",
        "inf",
        "NaN mm",
        "-inf in",
        "1/0 in",
        "1 2 mm",
        "1.5 1/2 in",
        "--3 mm",
        "8 1/ in",
        "½½ in",
    ] {
        assert!(fix(text).contains("is not a number with a unit"), "{}", fix(text));
    }
    assert_eq!(parse_length("1e999 mm", Unit::Millimetre), Err(UnitError::NotFinite));
}

#[test]
fn reports_put_the_makers_unit_first() {
    let [mm, cm, inch] = [Unit::Millimetre, Unit::Centimetre, Unit::Inch].map(UnitStyle::new);
    assert_eq!(mm.length(203.2), "203 mm (8 in)");
    assert_eq!(cm.length(203.2), "20.3 cm (8 in)");
    assert_eq!(inch.length(203.2), "8 in (203 mm)");
    assert_eq!(inch.length(215.9), "8 1/2 in (216 mm)");
    assert_eq!(mm.length(4.76), "4.8 mm (3/16 in)");
    assert_eq!(mm.length(6.0), "6 mm (1/4 in)");
    assert_eq!(mm.length(9.97), "10 mm (3/8 in)");
    assert_eq!(mm.length(0.5), "0.5 mm (0.02 in)");
    assert_eq!(mm.length(-38.1), "-38 mm (-1 1/2 in)");
    assert_eq!(mm.length(-0.0), "0 mm (0 in)");
    assert_eq!(inch.length_alone(25.4), "1 in");
    // A sixteenth is a fifth off: millimetres stand beside it.
    assert_eq!(inch.length_alone(2.0), "1/16 in (2 mm)");
}

#[test]
fn reports_give_mass_volume_and_area_both_ways() {
    let [metric, inch] = [Unit::Millimetre, Unit::Inch].map(UnitStyle::new);
    // 1 lb = 453.59237 g; 1 oz = 28.349523125 g (Handbook 44, App. C).
    assert_eq!(metric.mass(453.592_37), "454 g (1 lb)");
    assert_eq!(inch.mass(453.592_37 + 3.0 * 28.349_523_125), "1 lb 3 oz (539 g)");
    assert_eq!(metric.mass(2110.8), "2.11 kg (4 lb 10 oz)");
    assert_eq!(inch.mass(100.0), "3.5 oz (100 g)");
    // 1 US gallon = 3785.411784 mL, a cup a sixteenth of it (Handbook 44, App. C).
    assert!((MM3_PER_US_CUP - 3_785_411.784 / 16.0).abs() < 1e-6);
    assert_eq!(metric.volume(4.0 * 236_588.236_5), "946 mL (4 cups)");
    assert_eq!(inch.volume(1.5 * 236_588.236_5), "1 1/2 cups (355 mL)");
    assert_eq!(inch.volume(236_588.236_5), "1 cup (237 mL)");
    assert_eq!(metric.volume(14_786.764_781_25), "15 mL (1 tbsp)");
    assert_eq!(metric.volume(1_250_000.0), "1.25 L (5 1/4 cups)");
    // 1 in² = 645.16 mm² (SP 811, B.8).
    assert_eq!(inch.area(50.0 * 645.16), "50 in² (323 cm²)");
    assert_eq!(metric.area(645.16), "6.5 cm² (1 in²)");
}

/// A maker in the United Kingdom: pans in inches, ingredients in grams, ovens in °C, cups of 250 mL. A metric cup is 250 mL,
/// a metric tablespoon 15 mL, an Australian one 20 mL (AS 1325 and common measuring sets, from memory).
#[test]
fn units_are_chosen_one_by_one() {
    let british = UnitStyle {
        mass: MassUnit::Gram,
        volume: VolumeUnit::Cup,
        cups: Cups::Metric,
        temperature: TemperatureUnit::Celsius,
        ..UnitStyle::new(Unit::Inch)
    };
    assert_eq!(british.length(203.2), "8 in (203 mm)");
    assert_eq!(british.mass(453.592_37), "454 g (1 lb)");
    assert_eq!(british.volume(500_000.0), "2 cups (500 mL)");
    assert_eq!(british.volume(30_000.0), "2 tbsp (30 mL)");
    assert_eq!(british.temperature(180.0), "180 °C (356 °F)");
    let australian = UnitStyle { cups: Cups::Australian, ..british };
    assert_eq!(australian.volume_alone(40_000.0), "2 tbsp");
    assert_eq!(
        UnitStyle { volume: VolumeUnit::Millilitre, ..australian }.volume(250_000.0),
        "250 mL (1 cup)"
    );
    // Masses on areas go with masses.
    assert!(british.pressure_alone(100.0).ends_with("g/cm²"));
}

proptest! {
    /// Whatever is written in whole sixteenths of an inch is read back from a report unchanged.
    #[test]
    fn inches_in_a_report_read_back(sixteenths in -1600_i32..1600) {
        let mm = f64::from(sixteenths) / 16.0 * INCH;
        let text = UnitStyle::new(Unit::Inch).in_own(mm);
        let back = parse_length(&text, Unit::Millimetre).unwrap();
        prop_assert!((back - mm).abs() < 1e-9, "{text}");
    }

    /// No text makes the reader panic, and what it lets through is a length that a cake can have.
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,12}|[-+−]?[0-9½/ .,e-]{0,8} ?(mm|in|\"|°)?") {
        if let Ok(mm) = parse_length(&text, Unit::Inch) {
            prop_assert!(mm.abs() <= 10_000.0);
        }
        if let Ok(degrees) = parse_angle(&text) {
            prop_assert!(degrees.abs() <= 3600.0);
        }
    }
}
