//! What something new begins with.

use cakefile::edit::{Document, EditValue, LengthForm};

use super::exclusive::exclusive;
use crate::schema::{Kind, Scalar, Schema};

/// A value for a key that was not there: the least that is not refused, in the unit of the file.
pub fn default_of(kind: &Kind, key: &str, schema: &Schema, document: &Document) -> EditValue {
    match kind {
        Kind::Scalar(scalar) => scalar_default(scalar, key, document),
        // A band at the foot, as anything needs some height.
        Kind::Row(..) if key == "between" => lengths(document, &[0.0, 30.0]),
        // One that is as wide as high would be a circle.
        Kind::Row(..) if key == "ellipse" => lengths(document, &[60.0, 40.0]),
        Kind::Row(one, count) => {
            EditValue::Array((0..*count).map(|_| default_of(one, key, schema, document)).collect())
        }
        Kind::List(one) => match key {
            // An outline needs corners before anything can be seen of it.
            "points" => corners(document, &[(0.0, 0.0), (60.0, 0.0), (60.0, 80.0), (0.0, 80.0)]),
            // From the front a quarter round the side.
            "path" if matches!(**one, Kind::Table(_)) => EditValue::Array(
                [0, 90]
                    .map(|bearing| {
                        let height = length(document, 40.0);
                        EditValue::inline([("bearing", bearing.into()), ("height", height)])
                    })
                    .to_vec(),
            ),
            "path" => EditValue::Array(vec![
                lengths(document, &[0.0, -60.0, 40.0]),
                lengths(document, &[0.0, -60.0, 60.0]),
            ]),
            "draw" => EditValue::Array(vec![
                EditValue::inline([("to", lengths(document, &[60.0, 80.0]))]),
                EditValue::inline([("to", lengths(document, &[0.0, 80.0]))]),
            ]),
            _ if matches!(**one, Kind::Table(_)) => {
                EditValue::Array(vec![default_of(one, key, schema, document)])
            }
            _ => EditValue::Array(Vec::new()),
        },
        Kind::Map(_) => EditValue::Table(Vec::new()),
        Kind::Table(name) => {
            let table = schema.table(name);
            let groups = exclusive(name);
            let first = groups.iter().flat_map(|group| group.choices[0].iter().copied());
            let needed =
                table.entries.iter().filter(|entry| entry.is_required).map(|entry| entry.key.as_str());
            let mut fields: Vec<(String, EditValue)> = Vec::new();
            for key in needed.chain(first) {
                let entry = table.entries.iter().find(|entry| entry.key == key);
                if let Some(entry) = entry.filter(|_| fields.iter().all(|(name, _)| name != key)) {
                    fields.push((key.to_owned(), default_of(&entry.kind, key, schema, document)));
                }
            }
            if is_below_header(name) { EditValue::Table(fields) } else { EditValue::InlineTable(fields) }
        }
    }
}

/// Tables that a maker writes below a name of their own; the others stand in one line.
fn is_below_header(name: &str) -> bool {
    !matches!(
        name,
        "Pan"
            | "Board"
            | "Filling"
            | "Dowels"
            | "Stroke"
            | "Piece"
            | "SvgPath"
            | "Outline"
            | "Hidden"
            | "Repeat"
            | "ZoneOutline"
            | "RollAlong"
            | "OnSide"
            | "TextOutline"
    )
}

fn scalar_default(scalar: &Scalar, key: &str, document: &Document) -> EditValue {
    match scalar {
        Scalar::Text => match key {
            "material" => "rolled icing".into(),
            "name" => "new".into(),
            "words" => "Mia".into(),
            _ => "".into(),
        },
        Scalar::Colour => "#d9a7b0".into(),
        Scalar::LocalTime => "2026-12-05 10:00".into(),
        Scalar::Flag => true.into(),
        Scalar::Whole => 4.into(),
        Scalar::Number => 1.0.into(),
        Scalar::Length | Scalar::Angle => 0.into(),
        Scalar::Size => length(document, usual_size(key)),
        Scalar::Temperature => 20.into(),
        Scalar::Choice(choices) => {
            let word = match key {
                "cut" | "add" => "icing",
                _ => choices.first().map_or("", |(word, _)| word.as_str()),
            };
            word.into()
        }
    }
}

/// A size to begin with, mm: common practice, no source.
fn usual_size(key: &str) -> f64 {
    match key {
        "round" | "square" | "rectangle" | "half_ball" => 200.0,
        "height" => 40.0,
        "thickness" | "stroke" => 3.0,
        "depth" => 2.0,
        "diameter" => 6.0,
        "circle" => 60.0,
        _ => 20.0,
    }
}

/// A length of so many mm as the file writes new ones.
pub fn length(document: &Document, mm: f64) -> EditValue {
    LengthForm::bare(document.unit()).write(mm).unwrap_or(EditValue::Integer(0))
}

fn lengths(document: &Document, mm: &[f64]) -> EditValue {
    EditValue::Array(mm.iter().map(|mm| length(document, *mm)).collect())
}

fn corners(document: &Document, mm: &[(f64, f64)]) -> EditValue {
    EditValue::Array(mm.iter().map(|(x, y)| lengths(document, &[*x, *y])).collect())
}
