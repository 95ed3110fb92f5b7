//! Text to a [`FileKind`], with every problem found on the way.

use toml::{
    Spanned,
    de::{DeTable, DeValue, Deserializer},
};

use super::{
    Diagnostic, FieldPath, Severity,
    check::Checker,
    kind::{FileKind, StandIn},
    scalar,
    schema::FORMAT_VERSION,
    syntax,
};
use geom::units::Unit;

/// What came of reading a file of any kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading<D> {
    /// What it holds, without what is wrong in it. `None` when too little can be made out.
    pub document: Option<D>,
    /// Everything that is wrong so far.
    pub problems: Vec<Diagnostic>,
    /// What had to be left out of `document`.
    pub pruned: Vec<FieldPath>,
}

impl<D> Reading<D> {
    /// Whether there is a problem that keeps the file from being used.
    pub fn has_errors(&self) -> bool {
        self.problems.iter().any(|problem| problem.severity == Severity::Error)
    }

    /// Adds what a later step found wrong with `document`, but not what only echoes a problem that is
    /// reported already: where something was left out, both it and all that holds it look wrong.
    pub fn add(&mut self, later: impl IntoIterator<Item = Diagnostic>) {
        let pruned = &self.pruned;
        let echoes = |problem: &Diagnostic| {
            pruned.iter().any(|path| path.starts_with(&problem.path) || problem.path.starts_with(path))
        };
        self.problems.extend(later.into_iter().filter(|problem| !echoes(problem)));
    }

    fn failed(problem: Diagnostic) -> Self {
        Self { document: None, problems: vec![problem], pruned: Vec::new() }
    }
}

/// Reads the text of a file that holds a `D`.
pub(super) fn parse<D: FileKind>(text: &str) -> Reading<D> {
    let (mut tree, errors) = DeTable::parse_recoverable(text);
    if tree.get_ref().is_empty() && errors.is_empty() {
        let problem = Diagnostic::error(FieldPath::root(), format!("the {} is empty", D::KIND));
        return Reading::failed(problem.fix(D::BEGIN).at(0..0));
    }
    let version = match take_version(tree.get_mut()) {
        Ok(()) => None,
        Err(Version::TooNew(problem)) => return Reading::failed(problem),
        Err(Version::Wrong(problem)) => Some(problem),
    };
    let damaged = errors.iter().any(|error| !syntax::leaves_tree_whole(error));
    let mut checker = Checker::new::<D>(file_unit(tree.get_ref()), damaged);
    checker.check_top(tree.get_mut());
    let mut read = Reading {
        document: None,
        problems: syntax::problems(text, &errors).chain(version).chain(checker.problems).collect(),
        pruned: checker.pruned,
    };
    if !damaged {
        stand_in_for_missing(D::REQUIRED, &mut tree, &mut read.pruned);
        match D::deserialize(Deserializer::from(tree)) {
            Ok(document) => read.document = Some(document),
            Err(error) if !read.has_errors() => read.problems.push(syntax::problem(text, &error)),
            Err(_) => {}
        }
    }
    read
}

/// Unit of the bare numbers; the default where it is not given or wrong.
fn file_unit(top: &DeTable) -> Unit {
    match top.get("unit").and_then(|unit| unit.get_ref().as_str()) {
        Some("cm") => Unit::Centimetre,
        Some("in") => Unit::Inch,
        _ => Unit::Millimetre,
    }
}

enum Version {
    /// The rest of the file cannot be judged.
    TooNew(Diagnostic),
    Wrong(Diagnostic),
}

/// Checks the format version and leaves a good one in the tree.
fn take_version(top: &mut DeTable) -> Result<(), Version> {
    let path = FieldPath::root().key("crumbline");
    let fix = format!("write `crumbline = {FORMAT_VERSION}` at the top of the file");
    let Some((key, value)) = top.remove_entry("crumbline") else {
        top.insert(key("crumbline"), current_version());
        let message = "the file does not say which version of the cake file format it is in";
        return Err(Version::Wrong(Diagnostic::error(path, message).fix(fix).at(0..0)));
    };
    top.insert(key, current_version());
    let version = value.get_ref().as_integer().and_then(scalar::whole);
    match version {
        // A file in an older format is read in the words of this one.
        Some(version) if (1..=i128::from(FORMAT_VERSION)).contains(&version) => Ok(()),
        Some(version) if version > i128::from(FORMAT_VERSION) => Err(Version::TooNew(
            Diagnostic::error(
                path,
                format!("the file is in format {version}, and this program reads up to {FORMAT_VERSION}"),
            )
            .fix("use a newer crumbline")
            .at(value.span()),
        )),
        _ => {
            let message = "there is no such version of the cake file format";
            Err(Version::Wrong(Diagnostic::error(path, message).fix(fix).at(value.span())))
        }
    }
}

fn key(name: &'static str) -> Spanned<toml::de::DeString<'static>> {
    Spanned::new(0..0, name.into())
}

fn current_version() -> Spanned<DeValue<'static>> {
    const TEXT: &str = "2";
    const { assert!(FORMAT_VERSION == 2, "TEXT is the current version") };
    DeValue::parse(TEXT).expect("a digit is a TOML value")
}

/// Puts something in for the keys that every cake has, so that one wrong key at the top does not hide
/// the problems of all others.
fn stand_in_for_missing(
    required: &[(&'static str, StandIn)],
    tree: &mut Spanned<DeTable>,
    pruned: &mut Vec<FieldPath>,
) {
    for &(name, kind) in required {
        if tree.get_ref().get(name).is_none() {
            let value = match kind {
                StandIn::Text => DeValue::String("".into()),
                StandIn::Table => DeValue::Table(DeTable::new()),
            };
            tree.get_mut().insert(key(name), Spanned::new(0..0, value));
            pruned.push(FieldPath::root().key(name));
        }
    }
}
