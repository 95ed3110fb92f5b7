//! Another unit for the bare numbers of a cake file: every length is written anew, so that the cake stays as large as it
//! is.

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditValue, LENGTH_TOLERANCE, LengthForm},
};
use egui::Ui;
use geom::units::{Unit, parse_length};

use crate::{
    asked::Asked,
    schema::{Kind, Scalar, Schema},
};

/// The edit after which bare numbers are in `to` and every length is what it was; numbers that are written with a unit of
/// their own stay as they are.
pub fn changed(document: &Document, to: Unit) -> Edit {
    let mut edits = Vec::new();
    for entry in &Schema::of_cakes().top().entries {
        rewrite(document, &FieldPath::root().key(&entry.key), &entry.kind, to, &mut edits);
    }
    edits.push(Edit::Set { path: FieldPath::root().key("unit"), value: to.sign().into() });
    Edit::Many(edits)
}

fn rewrite(document: &Document, path: &FieldPath, kind: &Kind, to: Unit, edits: &mut Vec<Edit>) {
    let Some(value) = document.value(path) else { return };
    match kind {
        Kind::Scalar(Scalar::Length | Scalar::Size) => {
            let from = document.unit();
            let mm = match value {
                EditValue::String(text) => match (parse_length(text, from), parse_length(text, to)) {
                    // It says its own unit.
                    (Ok(before), Ok(after)) if before == after => return,
                    (Ok(before), _) => before,
                    // What is wrong stays wrong.
                    (Err(_), _) => return,
                },
                value => match value.as_number() {
                    Some(number) => number * from.in_mm(),
                    None => return,
                },
            };
            // Of small lengths, as accuracies are, no part of any weight is lost.
            let tolerance = LENGTH_TOLERANCE.min(mm.abs() / 1000.0);
            if let Ok(value) = LengthForm::bare(to).write_within(mm, tolerance) {
                edits.push(Edit::Set { path: path.clone(), value });
            }
        }
        Kind::Scalar(_) => {}
        Kind::Row(one, _) | Kind::List(one) => {
            let count = if let EditValue::Array(values) = value { values.len() } else { 0 };
            for i in 0..count {
                rewrite(document, &path.index(i), one, to, edits);
            }
        }
        Kind::Table(name) => {
            for entry in &Schema::of_cakes().table(name).entries {
                rewrite(document, &path.key(&entry.key), &entry.kind, to, edits);
            }
        }
        Kind::Map(one) => {
            for (key, _) in value.fields().into_iter().flatten() {
                rewrite(document, &path.key(key), one, to, edits);
            }
        }
    }
}

/// Offers the units of bare numbers.
pub(crate) fn show(ui: &mut Ui, document: &Document, asked: &mut Vec<Asked>) {
    let now = document.unit();
    ui.horizontal(|ui| {
        ui.label("Measured in");
        for (unit, name) in [(Unit::Millimetre, "mm"), (Unit::Centimetre, "cm"), (Unit::Inch, "inches")] {
            let help = "Every number is written anew: the cake stays as large as it is.";
            if ui.selectable_label(now == unit, name).on_hover_text(help).clicked() && now != unit {
                asked.push(Asked::edit(format!("measured in {name}"), changed(document, unit)));
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::begin::EXAMPLES;
    use cakefile::{CakeFile, schema::Cake};

    fn cake(text: &str) -> Cake {
        let reading = CakeFile::from_text("cake", "", text).parse();
        reading.document.unwrap_or_else(|| panic!("{:?}", reading.problems))
    }

    /// Every length of a cake in mm, in the order of the schema.
    fn lengths(document: &Document) -> Vec<f64> {
        fn of(document: &Document, path: &FieldPath, kind: &Kind, out: &mut Vec<f64>) {
            let Some(value) = document.value(path) else { return };
            match kind {
                Kind::Scalar(Scalar::Length | Scalar::Size) => {
                    out.push(LengthForm::read(value, document.unit()).unwrap());
                }
                Kind::Scalar(_) => {}
                Kind::Row(one, _) | Kind::List(one) => {
                    let EditValue::Array(values) = value else { panic!("{path}") };
                    (0..values.len()).for_each(|i| of(document, &path.index(i), one, out));
                }
                Kind::Table(name) => {
                    for entry in &Schema::of_cakes().table(name).entries {
                        of(document, &path.key(&entry.key), &entry.kind, out);
                    }
                }
                Kind::Map(one) => {
                    let keys: Vec<String> =
                        value.fields().into_iter().flatten().map(|(key, _)| key.clone()).collect();
                    keys.iter().for_each(|key| of(document, &path.key(key), one, out));
                }
            }
        }
        let mut out = Vec::new();
        for entry in &Schema::of_cakes().top().entries {
            of(document, &FieldPath::root().key(&entry.key), &entry.kind, &mut out);
        }
        out
    }

    #[test]
    fn every_example_stays_as_large_as_it_is_in_any_unit() {
        for example in EXAMPLES {
            let before = Document::from_text("cake", example.text);
            let all = lengths(&before);
            assert!(all.len() > 10, "{}", example.name);
            for to in [Unit::Millimetre, Unit::Centimetre, Unit::Inch] {
                let after = before.apply(&changed(&before, to)).unwrap().document;
                assert_eq!(after.unit(), to);
                cake(after.text());
                for (a, b) in all.iter().zip(lengths(&after)) {
                    assert!((a - b).abs() <= 0.005, "{}: {a} mm became {b} mm in {to:?}", example.name);
                }
                let comments = |text: &str| text.matches('#').count();
                assert_eq!(comments(before.text()), comments(after.text()));
            }
        }
    }

    #[test]
    fn what_says_its_unit_stays_and_what_does_not_is_written_anew() {
        let text = "crumbline = 2\nname = \"A\"\nunit = \"in\"\n[board]\nround = 10   # wide\nthickness = \"12 mm\"\n\
                    [shape.turned]\npoints = [[\"3 1/2\", 0], [0, 4.5]]\n[accuracy]\ntool = 0.002\n";
        let before = Document::from_text("cake", text);
        let after = before.apply(&changed(&before, Unit::Centimetre)).unwrap().document;
        for line in
            ["unit = \"cm\"", "round = 25.4   # wide", "thickness = \"12 mm\"", "[[8.89, 0], [0, 11.43]]"]
        {
            assert!(after.text().contains(line), "{line}: {}", after.text());
        }
        let tool = LengthForm::read(
            after.value(&FieldPath::root().key("accuracy").key("tool")).unwrap(),
            Unit::Centimetre,
        );
        assert!((tool.unwrap() - 0.0508).abs() < 0.0001, "a small length keeps its digits");
    }
}
