//! A cake file as text, and where in the text a value stands.

use std::{
    ops::Range,
    path::{Path, PathBuf},
};

use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use super::{
    CakeFileError, Diagnostic, FieldPath, Step,
    diagnostic::KeyProblem,
    kind::FileKind,
    other_kind::OtherKind,
    parse::{self, Reading},
    schema::Cake,
    upgrade::upgraded,
    world::{Content, World},
};

/// The text of a cake file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CakeFile {
    name: String,
    folder: PathBuf,
    text: String,
}

impl CakeFile {
    /// Reads the cake file at `path`.
    ///
    /// # Errors
    /// When it is not there, cannot be read, holds more than [`Content::Text`] may or is not UTF-8. What the text
    /// says is not looked at yet.
    pub fn read(world: &dyn World, path: impl AsRef<Path>) -> Result<Self, CakeFileError> {
        let path = path.as_ref();
        let name = path.display().to_string();
        let file =
            world.read(path, Content::Text).map_err(|cause| CakeFileError::unreadable(&name, cause))?;
        if let Some(kind) = OtherKind::of(&file.bytes) {
            return Err(CakeFileError::other_kind(&name, kind));
        }
        let text = str::from_utf8(&file.bytes).map_err(|error| {
            let before = &file.bytes[..error.valid_up_to()];
            CakeFileError::not_text(&name, 1 + before.iter().filter(|&&byte| byte == b'\n').count())
        })?;
        Ok(Self::from_text(name, path.parent().unwrap_or(Path::new("")), text).upgraded())
    }

    /// The same file in the words of this format, as by [`upgraded`]; only [`Self::read`] does so by itself.
    #[must_use]
    pub fn upgraded(self) -> Self {
        match upgraded(&self.text) {
            Some(upgraded) => Self { text: upgraded.text, ..self },
            None => self,
        }
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
    pub fn parse_as<D: FileKind>(&self) -> Reading<D> {
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
        // What is missing because its key is mistyped is one problem, not two.
        let is_typo = |problem: &&Diagnostic| matches!(problem.key.as_deref(), Some(KeyProblem::Meant(_)));
        let typos: Vec<Diagnostic> = problems.iter().filter(is_typo).cloned().collect();
        problems.retain(|problem| !typos.iter().any(|typo| problem.comes_of(typo)));
        problems.sort_by_key(|problem| problem.span.as_ref().map(|span| span.start));
        CakeFileError::new(&self.name, &self.text, problems)
    }
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
