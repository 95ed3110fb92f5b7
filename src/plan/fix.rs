//! How something that was found is fixed: in words, and where that is clear as a change of the cake file.

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditValue, LengthForm},
};
use geom::units::{Unit, UnitStyle};

/// What fixes a finding or a check.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fix {
    /// What to do, in one sentence without a full stop.
    pub words: String,
    /// The same as a change of the cake file, if it is one clear change of it.
    pub edit: Option<FileEdit>,
}

/// A change of a cake file: one step after the other, each with the paths that the one before leaves.
///
/// Lengths and temperatures are kept as numbers: only the document that the change is made in knows in
/// which unit and form its maker writes them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FileEdit {
    /// What is done.
    pub steps: Vec<FileStep>,
}

/// One step of a change.
#[derive(Debug, Clone, PartialEq)]
pub enum FileStep {
    /// The value at a path is this, whether or not there was one.
    Set(FieldPath, FileValue),
    /// A value is put into a list at this place.
    Insert(FieldPath, FileValue),
    /// The value at a path is taken out.
    Remove(FieldPath),
}

/// A value to be written.
#[derive(Debug, Clone, PartialEq)]
pub enum FileValue {
    /// A length, mm.
    Length(f64),
    /// A temperature, °C.
    Temperature(f64),
    /// A number without a unit.
    Number(f64),
    /// A count.
    Count(usize),
    /// Text.
    Text(String),
    /// Yes or no.
    Flag(bool),
    /// Values in a row.
    List(Vec<FileValue>),
    /// Keys with their values.
    Table(Vec<(&'static str, FileValue)>),
    /// Tables, each below its name in double brackets.
    Tables(Vec<Vec<(&'static str, FileValue)>>),
}

impl Fix {
    /// The change `edit` of the cake file, called `words`.
    pub fn edit(words: impl Into<String>, edit: FileEdit) -> Self {
        Self { words: words.into(), edit: Some(edit) }
    }
}

impl From<String> for Fix {
    fn from(words: String) -> Self {
        Self { words, edit: None }
    }
}

impl From<&str> for Fix {
    fn from(words: &str) -> Self {
        words.to_owned().into()
    }
}

impl FileEdit {
    /// The value at `path` becomes `value`.
    pub fn set(path: FieldPath, value: FileValue) -> Self {
        Self { steps: vec![FileStep::Set(path, value)] }
    }

    /// The value at `path` is taken out.
    pub fn remove(path: FieldPath) -> Self {
        Self { steps: vec![FileStep::Remove(path)] }
    }
}

impl FileEdit {
    /// The same as an edit of `document`: each length in the form of the one that it replaces, or of what a length
    /// beside it is written in.
    pub fn to_edit(&self, document: &Document) -> Edit {
        let edit = |step: &FileStep| match step {
            FileStep::Set(path, value) => {
                Edit::Set { path: path.clone(), value: value.written(document, path) }
            }
            FileStep::Insert(path, value) => {
                Edit::Insert { path: path.clone(), value: value.written(document, path) }
            }
            FileStep::Remove(path) => Edit::Remove { path: path.clone() },
        };
        match &self.steps[..] {
            [one] => edit(one),
            steps => Edit::Many(steps.iter().map(edit).collect()),
        }
    }
}

impl FileValue {
    /// The value as it is written in `document` at `path`.
    fn written(&self, document: &Document, path: &FieldPath) -> EditValue {
        match self {
            Self::Length(mm) => {
                let form = document.value(path).and_then(|old| LengthForm::of(old, document.unit()));
                let form = form.unwrap_or_else(|| usual_form(document));
                form.write(*mm).unwrap_or(EditValue::Float(mm / document.unit().in_mm()))
            }
            Self::Temperature(celsius) => match document.unit() {
                Unit::Inch => UnitStyle::new(Unit::Inch).temperature_alone(*celsius).into(),
                _ => number(*celsius),
            },
            Self::Number(value) => number(*value),
            Self::Count(count) => EditValue::Integer(i64::try_from(*count).unwrap_or(i64::MAX)),
            Self::Text(text) => text.as_str().into(),
            Self::Flag(flag) => (*flag).into(),
            Self::List(values) => {
                let one = |(i, value): (usize, &Self)| value.written(document, &path.index(i));
                EditValue::Array(values.iter().enumerate().map(one).collect())
            }
            Self::Table(fields) => match path.0.last() {
                // An element of [[tier]] stands below its name, what a table holds in braces.
                Some(cakefile::Step::Index(_)) => EditValue::Table(written(fields, document, path)),
                _ => EditValue::InlineTable(written(fields, document, path)),
            },
            Self::Tables(tables) => {
                let one = |(i, fields): (usize, &Fields)| {
                    EditValue::Table(written(fields, document, &path.index(i)))
                };
                EditValue::Array(tables.iter().enumerate().map(one).collect())
            }
        }
    }
}

type Fields = Vec<(&'static str, FileValue)>;

fn written(fields: &Fields, document: &Document, path: &FieldPath) -> Vec<(String, EditValue)> {
    let one = |(key, value): &(&str, FileValue)| ((*key).to_owned(), value.written(document, &path.key(key)));
    fields.iter().map(one).collect()
}

/// A number, whole where it is.
fn number(value: f64) -> EditValue {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        EditValue::Integer(value as i64)
    } else {
        EditValue::Float(value)
    }
}

/// The form in which the maker of `document` writes the height of the first layer: what a new length is written in.
fn usual_form(document: &Document) -> LengthForm {
    let first = FieldPath::root().key("tier").index(0).key("layer").index(0).key("height");
    document.length_form(&first)
}
