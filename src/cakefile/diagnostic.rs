//! Problems in a cake file: where, what, and how to fix it.

use std::{fmt, ops::Range};

use glam::DVec3;

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Worth knowing; nothing to fix.
    Note,
    /// The plan can be made, but look at it.
    Warning,
    /// The plan cannot be trusted, or cannot be made.
    Error,
}

/// One step from a table to a value in it.
#[derive(Debug, Clone, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(untagged)]
pub enum Step {
    /// A key of a table.
    Key(String),
    /// A place in an array, counted from 0.
    Index(usize),
}

/// The way from the top of a cake file to one value, as `tier[0].layer[2].height`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct FieldPath(pub Vec<Step>);

impl FieldPath {
    /// The top of the file.
    pub fn root() -> Self {
        Self::default()
    }

    /// This path, one key further in.
    #[must_use]
    pub fn key(&self, key: &str) -> Self {
        let mut steps = self.0.clone();
        steps.push(Step::Key(key.to_owned()));
        Self(steps)
    }

    /// This path, one array place further in.
    #[must_use]
    pub fn index(&self, index: usize) -> Self {
        let mut steps = self.0.clone();
        steps.push(Step::Index(index));
        Self(steps)
    }

    /// Whether it leads to the value at `outer` or into it.
    pub fn starts_with(&self, outer: &Self) -> bool {
        self.0.starts_with(&outer.0)
    }
}

impl fmt::Display for FieldPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, step) in self.0.iter().enumerate() {
            match step {
                Step::Key(key) if i == 0 => f.write_str(key)?,
                Step::Key(key) => write!(f, ".{key}")?,
                Step::Index(index) => write!(f, "[{index}]")?,
            }
        }
        Ok(())
    }
}

/// One problem in a cake file or in an outline file that it names.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// How bad it is.
    pub severity: Severity,
    /// The value it is about.
    pub path: FieldPath,
    /// Bytes of the file that show it, once known.
    pub span: Option<Range<usize>>,
    /// What is wrong, in one sentence without a full stop.
    pub message: String,
    /// How to fix it.
    pub help: Option<String>,
    /// Where on the cake it shows, if it does, mm.
    pub place: Option<Box<DVec3>>,
    /// What is wrong with a key, if that is the problem.
    pub key: Option<Box<KeyProblem>>,
}

/// What is wrong with a key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum KeyProblem {
    /// It is not known; this one is probably meant.
    Meant(String),
    /// It is not there.
    Absent(&'static str),
}

impl Diagnostic {
    /// An error at `path`.
    pub fn error(path: FieldPath, message: impl Into<String>) -> Self {
        let (severity, message) = (Severity::Error, message.into());
        Self { severity, path, span: None, message, help: None, place: None, key: None }
    }

    /// A warning at `path`.
    pub fn warning(path: FieldPath, message: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(path, message) }
    }

    /// Something worth knowing at `path`.
    pub fn note(path: FieldPath, message: impl Into<String>) -> Self {
        Self { severity: Severity::Note, ..Self::error(path, message) }
    }

    /// The same problem, with the fix.
    #[must_use]
    pub fn fix(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// The same problem, which is that this key is not there.
    #[must_use]
    pub fn absent(mut self, key: &'static str) -> Self {
        self.key = Some(Box::new(KeyProblem::Absent(key)));
        self
    }

    /// Whether `typo`, a key that is not known, is why this key is absent.
    pub fn comes_of(&self, typo: &Self) -> bool {
        let (Some(KeyProblem::Absent(absent)), Some(KeyProblem::Meant(meant))) =
            (self.key.as_deref(), typo.key.as_deref())
        else {
            return false;
        };
        let home = match self.path.0.split_last() {
            Some((Step::Key(last), before)) if last == *absent => before,
            _ => &self.path.0,
        };
        meant == absent && typo.path.0.starts_with(home)
    }

    /// The same problem, which shows at this place of the cake, mm.
    #[must_use]
    pub fn on_cake(mut self, place: DVec3) -> Self {
        self.place = Some(Box::new(place));
        self
    }

    /// The same problem, shown at these bytes of the file.
    #[must_use]
    pub fn at(mut self, span: Range<usize>) -> Self {
        self.span = Some(span);
        self
    }
}
