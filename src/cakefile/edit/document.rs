//! The text of one file, parsed.

use std::{fmt, ops::Range, sync::Arc};

use super::{
    Edit, EditError, EditValue, LengthForm, PathMap,
    find::{Found, Piece, split},
    layout::Layout,
    lines::Style,
    view::View,
};
use crate::{CakeFile, FieldPath, Step, syntax};
use geom::units::Unit;

/// A cake file or a pantry file as text with what that says, at one moment.
///
/// Cheap to clone next to parsing. Two documents are equal when their files are and their revisions.
#[derive(Clone)]
pub struct Document {
    file: CakeFile,
    parsed: Arc<Result<Parsed, EditError>>,
    revision: u64,
}

#[derive(Debug)]
struct Parsed {
    tree: toml_edit::Document<String>,
    layout: Layout,
    value: EditValue,
    style: Style,
}

/// What came of an edit.
#[derive(Debug, Clone)]
pub struct Applied {
    /// The document after it.
    pub document: Document,
    /// The edit that leads back, byte for byte.
    pub inverse: Edit,
    /// Where the values of the document before are now.
    pub moved: PathMap,
}

impl fmt::Debug for Document {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Document")
            .field("file", &self.file)
            .field("revision", &self.revision)
            .finish_non_exhaustive()
    }
}

impl PartialEq for Document {
    fn eq(&self, other: &Self) -> bool {
        self.file == other.file && self.revision == other.revision
    }
}

impl From<CakeFile> for Document {
    fn from(file: CakeFile) -> Self {
        Self::new(file)
    }
}

impl Document {
    /// The document of a file, at revision 0. The file need not be right, nor TOML: then only its text can be
    /// edited.
    pub fn new(file: CakeFile) -> Self {
        let parsed = Arc::new(Parsed::of(file.text()));
        Self { file, parsed, revision: 0 }
    }

    /// The document of a text that messages call `name` and that lies in no folder.
    pub fn from_text(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self::new(CakeFile::from_text(name, "", text))
    }

    /// The file.
    pub fn file(&self) -> &CakeFile {
        &self.file
    }

    /// The file, given away.
    pub fn into_file(self) -> CakeFile {
        self.file
    }

    /// The text.
    pub fn text(&self) -> &str {
        self.file.text()
    }

    /// Rises with each change; a document that comes of another by an edit that changes its text has a
    /// higher one.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// The parsed text, with spans.
    ///
    /// # Errors
    /// [`EditError::Unreadable`] when the text is not TOML.
    pub fn tree(&self) -> Result<&toml_edit::Document<String>, EditError> {
        self.parsed().map(|parsed| &parsed.tree)
    }

    /// The value at `path`, with the form in which it is written; `None` also where the text is not TOML.
    pub fn value(&self, path: &FieldPath) -> Option<&EditValue> {
        self.parsed().ok()?.value.get(path)
    }

    /// Every path of the file that leads to a value, the top left out; a table or list comes before what it holds.
    pub fn paths(&self) -> Vec<FieldPath> {
        let mut paths = Vec::new();
        if let Ok(parsed) = self.parsed() {
            collect_paths(&FieldPath::root(), &parsed.value, &mut paths);
        }
        paths
    }

    /// The bytes of the value at `path`: of a table below a header, its first header; of one made by dotted
    /// keys, the first of these with its value. `None` if there is no such value.
    pub fn span(&self, path: &FieldPath) -> Option<Range<usize>> {
        let layout = &self.parsed().ok()?.layout;
        let Found { node, pieces } = layout.find(path);
        match (node, pieces.first()?) {
            (Some(node), _) => Some(node.span.clone()),
            (_, Piece::Section(number)) => layout.sections[*number].header.as_ref().map(|h| h.span.clone()),
            (_, Piece::Pair { section, pair }) => Some(layout.sections[*section].pairs[*pair].span.clone()),
            (_, Piece::Entry { table, slot, .. } | Piece::Element { list: table, slot }) => {
                table.slots().get(*slot).map(|(span, _)| span.clone())
            }
        }
    }

    /// The unit of its bare numbers.
    pub fn unit(&self) -> Unit {
        match self.value(&FieldPath::root().key("unit")).and_then(EditValue::as_str) {
            Some("cm") => Unit::Centimetre,
            Some("in") => Unit::Inch,
            _ => Unit::Millimetre,
        }
    }

    /// The form of the length at `path`; of a bare number where there is no length.
    pub fn length_form(&self, path: &FieldPath) -> LengthForm {
        let unit = self.unit();
        self.value(path)
            .and_then(|value| LengthForm::of(value, unit))
            .unwrap_or_else(|| LengthForm::bare(unit))
    }

    /// The document after `edit`, with the way back and where its values are now. A pure function: the same
    /// document and edit give the same text, and this document stays as it is.
    ///
    /// # Errors
    /// When the file is not TOML, when the path leads nowhere, or as the variants of [`EditError`] say.
    ///
    /// ```
    /// use cakefile::{FieldPath, edit::{Document, Edit}};
    /// let document = Document::from_text("cake", "name = \"First\"   # for now\n");
    /// let edit = Edit::Set { path: FieldPath::root().key("name"), value: "Bell".into() };
    /// let applied = document.apply(&edit).unwrap();
    /// assert_eq!(applied.document.text(), "name = \"Bell\"   # for now\n");
    /// let back = applied.document.apply(&applied.inverse).unwrap();
    /// assert_eq!(back.document.text(), document.text());
    /// ```
    pub fn apply(&self, edit: &Edit) -> Result<Applied, EditError> {
        super::apply::apply(self, edit)
    }

    /// The same file with another text, one revision on; itself where the text is the same.
    pub(super) fn with_text(&self, text: String) -> Self {
        if text == self.text() {
            return self.clone();
        }
        let file = CakeFile::from_text(self.file.name(), self.file.folder(), text);
        Self { revision: self.revision + 1, ..Self::new(file) }
    }

    pub(super) fn with_revision(self, revision: u64) -> Self {
        Self { revision, ..self }
    }

    pub(super) fn view(&self) -> Result<View<'_>, EditError> {
        let Parsed { layout, value, style, .. } = self.parsed()?;
        Ok(View { text: self.text(), layout, value, style: *style })
    }

    fn parsed(&self) -> Result<&Parsed, EditError> {
        self.parsed.as_ref().as_ref().map_err(Clone::clone)
    }
}

impl Parsed {
    fn of(text: &str) -> Result<Self, EditError> {
        let tree = toml_edit::Document::parse(text.to_owned()).map_err(|error| unreadable(text, &error))?;
        let layout = Layout::of(text);
        let value = EditValue::try_from(tree.as_item()).unwrap_or_else(|_| EditValue::Table(Vec::new()));
        let style = Style::of(text, &layout);
        Ok(Self { tree, layout, value, style })
    }
}

/// The first problem of a text, in a maker's words.
fn unreadable(text: &str, error: &toml_edit::TomlError) -> EditError {
    let (_, errors) = toml::de::DeTable::parse_recoverable(text);
    let problem = errors.first().map(|error| syntax::problem(text, error));
    let span = problem.as_ref().and_then(|problem| problem.span.clone()).or_else(|| error.span());
    let at = text.floor_char_boundary(span.map_or(0, |span| span.start));
    let line_start = text[..at].rfind('\n').map_or(0, |newline| newline + 1);
    EditError::Unreadable {
        line: 1 + text[..at].matches('\n').count(),
        column: 1 + text[line_start..at].chars().count(),
        message: problem
            .as_ref()
            .map_or_else(|| error.message().to_owned(), |problem| problem.message.clone()),
        help: problem.and_then(|problem| problem.help),
    }
}

fn collect_paths(at: &FieldPath, value: &EditValue, paths: &mut Vec<FieldPath>) {
    if split(at).is_some() {
        paths.push(at.clone());
    }
    let mut go = |step: Step, value: &EditValue| {
        let mut path = at.clone();
        path.0.push(step);
        collect_paths(&path, value, paths);
    };
    match value {
        EditValue::Array(values) => {
            values.iter().enumerate().for_each(|(index, value)| go(Step::Index(index), value));
        }
        value => {
            value.fields().into_iter().flatten().for_each(|(key, value)| go(Step::Key(key.clone()), value));
        }
    }
}
