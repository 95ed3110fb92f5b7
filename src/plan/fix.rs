//! How something that was found is mended: in words, and where that is clear as a change of the cake file.

use cakefile::FieldPath;

/// What mends a finding or a check.
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
