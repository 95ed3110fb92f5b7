//! A cake file as text, and where in the text a value stands.

use std::{
    fs::File,
    io::{self, Read},
    ops::Range,
    path::{Path, PathBuf},
};

use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use super::{
    CakeFileError, Diagnostic, FieldPath, Step,
    document::Document,
    parse::{self, Reading},
    schema::Cake,
};

/// A cake file may hold at most this many bytes; a million points take a third of it.
pub const LARGEST_FILE: u64 = 64 * 1024 * 1024;

/// The text of a cake file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CakeFile {
    name: String,
    folder: PathBuf,
    text: String,
}

impl CakeFile {
    /// Reads a cake file.
    ///
    /// # Errors
    /// When `path` is not there, is a folder, cannot be read, is larger than [`LARGEST_FILE`] or is not
    /// UTF-8. What the text says is not looked at yet.
    pub fn read(path: impl AsRef<Path>) -> Result<Self, CakeFileError> {
        let path = path.as_ref();
        let name = path.display().to_string();
        let bytes = read_bytes(path).map_err(|cause| CakeFileError::unreadable(&name, cause))?;
        let text = String::from_utf8(bytes).map_err(|error| {
            let at = error.utf8_error().valid_up_to();
            let line = 1 + error.as_bytes()[..at].iter().filter(|&&byte| byte == b'\n').count();
            CakeFileError::not_text(&name, line)
        })?;
        Ok(Self::from_text(name, path.parent().unwrap_or(Path::new("")), text))
    }

    /// A cake file from text. `name` is what messages call it; `folder` is where the files that it
    /// names lie. A byte order mark is dropped.
    pub fn from_text(name: impl Into<String>, folder: impl Into<PathBuf>, text: impl Into<String>) -> Self {
        let mut text: String = text.into();
        if text.starts_with('\u{feff}') {
            text.drain(..'\u{feff}'.len_utf8());
        }
        Self { name: name.into(), folder: folder.into(), text }
    }

    /// What messages call it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Where the files that it names lie.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Its text, without a byte order mark. Spans count its bytes.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Makes out the cake and finds everything that is wrong with how it is written.
    pub fn parse(&self) -> Reading<Cake> {
        self.parse_as()
    }

    /// The same for a file that holds something else than a cake, as a pantry.
    pub fn parse_as<D: Document>(&self) -> Reading<D> {
        parse::parse(&self.text)
    }

    /// The bytes of the value at `path`: for a table its header, for what is not there the nearest thing
    /// that would hold it, for the top of the file its first byte.
    pub fn locate(&self, path: &FieldPath) -> Range<usize> {
        locate(&DeTable::parse_recoverable(&self.text).0, path)
    }

    /// All `problems` as one error, shown at their places in the text and sorted by them.
    pub fn error(&self, mut problems: Vec<Diagnostic>) -> CakeFileError {
        if problems.iter().any(|problem| problem.span.is_none()) {
            let (tree, _) = DeTable::parse_recoverable(&self.text);
            for problem in &mut problems {
                problem.span.get_or_insert_with(|| locate(&tree, &problem.path));
            }
        }
        problems.sort_by_key(|problem| problem.span.as_ref().map(|span| span.start));
        CakeFileError::new(&self.name, &self.text, problems)
    }
}

fn read_bytes(path: &Path) -> io::Result<Vec<u8>> {
    if path.is_dir() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "it is a folder"));
    }
    let mut bytes = Vec::new();
    // Reads one byte more than is allowed instead of asking for the size, which pipes do not have.
    File::open(path)?.take(LARGEST_FILE + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "it is larger than any cake file (64 MiB)"));
    }
    Ok(bytes)
}

fn locate(tree: &Spanned<DeTable>, path: &FieldPath) -> Range<usize> {
    let mut steps = path.0.iter();
    let first = match steps.next() {
        Some(Step::Key(key)) => tree.get_ref().get(key.as_str()),
        _ => None,
    };
    let Some(mut value) = first else { return 0..0 };
    for step in steps {
        let next = match (step, value.get_ref()) {
            (Step::Key(key), DeValue::Table(table)) => table.get(key.as_str()),
            (Step::Index(index), DeValue::Array(array)) => array.get(*index),
            _ => None,
        };
        match next {
            Some(next) => value = next,
            None => break,
        }
    }
    value.span()
}
