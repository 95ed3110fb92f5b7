//! Lengths keep their unit and their form.

use geom::units::Unit;
use proptest::prelude::*;

use crate::edit::{EditValue, LENGTH_TOLERANCE, LengthForm};

fn unit() -> impl Strategy<Value = Unit> {
    prop_oneof![Just(Unit::Millimetre), Just(Unit::Centimetre), Just(Unit::Inch)]
}

/// A length as makers write them.
fn written() -> impl Strategy<Value = EditValue> {
    let number = prop_oneof![
        (0..9u32).prop_map(|whole| whole.to_string()),
        (0..9u32, 1..100u32).prop_map(|(whole, part)| format!("{whole}.{part:02}")),
        (
            0..6u32,
            1..8u32,
            prop_oneof![Just(2u32), Just(8), Just(16), Just(3)],
            prop_oneof![Just(' '), Just('-')]
        )
            .prop_map(|(whole, over, under, joint)| format!("{whole}{joint}{over}/{under}")),
        (1..8u32).prop_map(|over| format!("{over}/8")),
        (0..9u32, prop_oneof![Just(""), Just(" ")]).prop_map(|(whole, joint)| format!("{whole}{joint}½")),
    ];
    let unit = prop_oneof![
        Just(""),
        Just(" mm"),
        Just("mm"),
        Just(" cm"),
        Just(" in"),
        Just("in"),
        Just("\""),
        Just(" inches"),
        Just(" ft"),
        Just(" m"),
    ];
    prop_oneof![
        (0..400i64).prop_map(EditValue::Integer),
        (0.0..400.0f64).prop_map(EditValue::Float),
        (prop_oneof![Just(""), Just("-")], number, unit)
            .prop_map(|(sign, number, unit)| EditValue::String(format!("{sign}{number}{unit}"))),
    ]
}

/// The unit as it is written: all behind the last digit, fraction sign or stop.
fn unit_text(text: &str) -> &str {
    text.trim_start_matches(|c: char| c.is_ascii_digit() || "./½⅓⅔¼¾⅛⅜⅝⅞ -".contains(c))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_is_as_long_and_of_the_same_form(
        old in written(), unit in unit(),
        mm in prop_oneof![-9999.0..9999.0f64, 0.01..2.0f64, (0..640i32).prop_map(|n| f64::from(n) * 25.4 / 16.0)],
    ) {
        let form = LengthForm::of(&old, unit).expect("it is a length");
        let new = form.write(mm).expect("a cake can be so long");
        let read = LengthForm::read(&new, unit).expect("what is written is read");
        prop_assert!((read - mm).abs() <= LENGTH_TOLERANCE, "{mm} became {read} in {new:?}");
        prop_assert!(mm < 0.01 || read >= 0.01, "{new:?} is no size any more");
        match (&old, &new) {
            (EditValue::Float(_), EditValue::Float(_)) | (EditValue::Integer(_), EditValue::Integer(_)) => {}
            (EditValue::Integer(_), EditValue::Float(number)) => {
                prop_assert!((number.round() * unit.in_mm() - mm).abs() > LENGTH_TOLERANCE, "{number} could be whole");
            }
            (EditValue::String(old), EditValue::String(new)) => prop_assert_eq!(unit_text(old), unit_text(new)),
            _ => prop_assert!(false, "{:?} became {:?}", old, new),
        }
        // Writing the same length again changes nothing.
        let again = LengthForm::of(&new, unit).expect("it is a length").write(read).expect("it was written");
        prop_assert_eq!(LengthForm::read(&again, unit).map(|again| (again - read).abs() <= LENGTH_TOLERANCE), Ok(true));
        let digits = format!("{new:?}").chars().filter(char::is_ascii_digit).count();
        prop_assert!(digits <= 11, "{new:?} is long");
    }

    #[test]
    fn fractions_stay_where_one_is_near(whole in 0..30u32, over in 1..16u32) {
        let form = LengthForm::of(&"1 3/16 in".into(), Unit::Millimetre).expect("it is a length");
        let mm = (f64::from(whole) + f64::from(over) / 16.0) * 25.4;
        let EditValue::String(text) = form.write(mm).expect("a cake can be so long") else { panic!("text stays text") };
        prop_assert!(text.contains('/') && text.ends_with(" in"), "{}", text);
    }
}

#[test]
fn lengths_look_as_the_maker_wrote_them() {
    let write = |old: EditValue, unit, mm| match LengthForm::of(&old, unit).unwrap().write(mm).unwrap() {
        EditValue::String(text) => text,
        EditValue::Integer(number) => format!("{number}"),
        EditValue::Float(number) => format!("{number:?}"),
        other => panic!("{other:?}"),
    };
    let mm = Unit::Millimetre;
    assert_eq!(write("4 in".into(), mm, 121.92), "4.8 in");
    assert_eq!(write("4 in".into(), mm, 127.0), "5 in");
    assert_eq!(write("1 1/2 in".into(), mm, 44.45), "1 3/4 in");
    assert_eq!(write("1 1/2 in".into(), mm, 120.142), "4.73 in");
    assert_eq!(write("1-1/2 in".into(), mm, 44.45), "1-3/4 in");
    assert_eq!(write("1/16 in".into(), mm, 25.4 * 2.0625), "2 1/16 in");
    assert_eq!(write("8½\"".into(), mm, 8.25 * 25.4), "8¼\"");
    assert_eq!(write("½ in".into(), mm, 25.4), "1 in");
    assert_eq!(write("-1/2 in".into(), mm, -6.35), "-1/4 in");
    assert_eq!(write("20 cm".into(), mm, 244.0), "24.4 cm");
    assert_eq!(write(EditValue::Integer(8), Unit::Inch, 254.0), "10");
    assert_eq!(write(EditValue::Integer(8), Unit::Inch, 241.3), "9.5");
    assert_eq!(write(EditValue::Float(8.0), Unit::Inch, 254.0), "10.0");
    assert_eq!(write(EditValue::Integer(100), mm, -0.001), "0");
    assert_eq!(write(EditValue::Integer(100), mm, 121.920_000_01), "121.92");
    assert!(LengthForm::of(&EditValue::Boolean(true), mm).is_none());
    assert!(LengthForm::of(&"round".into(), mm).is_none());
    assert!(LengthForm::bare(mm).write(f64::NAN).is_err());
    assert!(LengthForm::bare(mm).write(20_000.0).is_err());
    let unit = LengthForm::of(&"1 mm".into(), mm).unwrap().write_within(0.264_583_333, 1e-7).unwrap();
    assert_eq!(unit, "0.2645833 mm".into());
}
