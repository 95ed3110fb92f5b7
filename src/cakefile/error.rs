//! All problems of a cake file as one error that shows each of them in the text.

use std::{error, fmt, io};

use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan};

use crate::world::fix;

use super::{
    Diagnostic, FieldPath, Severity,
    excerpt::{Excerpt, Lines, short_message},
    other_kind::OtherKind,
};

/// A cake file that cannot be read, or the problems that were found in it.
#[derive(Debug)]
pub struct CakeFileError {
    name: String,
    text: String,
    problems: Vec<Diagnostic>,
    cause: Option<io::Error>,
}

impl CakeFileError {
    pub(super) fn new(name: &str, text: &str, problems: Vec<Diagnostic>) -> Self {
        Self { name: name.to_owned(), text: text.to_owned(), problems, cause: None }
    }

    /// The file called `name` cannot be read.
    pub fn unreadable(name: &str, cause: io::Error) -> Self {
        let (reason, fix) = match cause.kind() {
            io::ErrorKind::NotFound => ("there is no such file".to_owned(), "check the name and the folder"),
            io::ErrorKind::IsADirectory => ("it is a folder".to_owned(), "name the cake file in it"),
            io::ErrorKind::PermissionDenied if cause.get_ref().is_some() => (cause.to_string(), fix(&cause)),
            io::ErrorKind::PermissionDenied => {
                ("it may not be read".to_owned(), "check who may read the file")
            }
            io::ErrorKind::FileTooLarge => (cause.to_string(), "check that it is a cake file"),
            io::ErrorKind::InvalidInput => (cause.to_string(), "name an ordinary file"),
            _ => (cause.to_string(), "check the file and the disk"),
        };
        let problem = Diagnostic::error(FieldPath::root(), format!("cannot read {name}: {reason}")).fix(fix);
        Self { cause: Some(cause), ..Self::new(name, "", vec![problem]) }
    }

    /// The file called `name` is of another kind: a model, a picture, a page.
    pub(super) fn other_kind(name: &str, kind: OtherKind) -> Self {
        let what = kind.describe();
        let problem = Diagnostic::error(FieldPath::root(), format!("{name} is {what}, not a cake file"));
        Self::new(name, "", vec![problem.fix(kind.fix())])
    }

    pub(super) fn not_text(name: &str, line: usize) -> Self {
        let message = format!("{name} is not UTF-8 text: see line {line}");
        let problem = Diagnostic::error(FieldPath::root(), message);
        Self::new(name, "", vec![problem.fix("save it as UTF-8, or check that it is a cake file")])
    }

    /// What the file is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The problems, in the order of the text.
    pub fn problems(&self) -> &[Diagnostic] {
        &self.problems
    }

    /// Every problem with file, line and column, the line itself, and the fix; the first fifty in
    /// full. With `color` the text carries ANSI escapes: print it through a stream that drops them where
    /// they are not wanted.
    pub fn render(&self, color: bool) -> String {
        const MOST_SHOWN: usize = 50;
        let theme = if color { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let handler = GraphicalReportHandler::new_themed(theme).with_width(90).with_context_lines(0);
        let lines = Lines::new(&self.text);
        let mut shown = String::new();
        for problem in self.problems.iter().take(MOST_SHOWN) {
            let excerpt = problem.span.clone().map(|span| lines.excerpt(&self.name, span));
            handler
                .render_report(&mut shown, &Report { problem, excerpt })
                .expect("an excerpt holds its own mark, and a string takes all that is written");
            shown.push('\n');
        }
        if let Some(more @ 1..) = self.problems.len().checked_sub(MOST_SHOWN) {
            shown += &format!("... and {more} more in {}\n", self.name);
        }
        shown
    }
}

impl fmt::Display for CakeFileError {
    /// One line: the only problem, or how many there are.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.problems[..] {
            [only] => f.write_str(&short_message(&only.message)),
            problems => write!(f, "{} has {} problems", self.name, problems.len()),
        }
    }
}

impl error::Error for CakeFileError {
    fn source(&self) -> Option<&(dyn error::Error + 'static)> {
        self.cause.as_ref().map(|cause| cause as _)
    }
}

/// One problem as miette wants it.
#[derive(Debug)]
struct Report<'a> {
    problem: &'a Diagnostic,
    excerpt: Option<Excerpt>,
}

impl fmt::Display for Report<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&short_message(&self.problem.message))
    }
}

impl error::Error for Report<'_> {}

impl miette::Diagnostic for Report<'_> {
    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.problem.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
            Severity::Note => miette::Severity::Advice,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.problem.help.as_deref().map(|help| Box::new(short_message(help)) as _)
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        self.excerpt.as_ref().map(|excerpt| excerpt as _)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let mark = self.excerpt.as_ref()?.mark;
        let path = self.problem.path.to_string();
        let label = (!path.is_empty()).then(|| short_message(&path));
        Some(Box::new(std::iter::once(LabeledSpan::new_with_span(label, mark))))
    }
}
