//! Where everything stands in the text of a TOML file: headers, keys, values, commas, comments.
//!
//! The parser's tree holds what a file says; it does not hold where a dotted key begins, where a comma
//! stands, or which sections one table is spread over. An edit needs that, so it is read from the same events
//! that the tree is made of.

use std::{borrow::Cow, collections::HashMap, ops::Range};

use toml_parser::{
    Source, Span,
    parser::{Event, EventKind, parse_document},
};

use crate::{FieldPath, Step};

/// Bytes of a text.
pub(crate) type Bytes = Range<usize>;

/// The parts of a file, in the order of the text.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    /// The first one is the top of the file and has no header.
    pub sections: Vec<Section>,
    /// Comments, each from its `#` to the end of its line.
    pub comments: Vec<Bytes>,
}

/// A header and the keys below it.
#[derive(Debug, Clone)]
pub(crate) struct Section {
    /// The table that the keys are in.
    pub path: FieldPath,
    pub header: Option<Header>,
    pub pairs: Vec<Pair>,
}

/// `[a.b]` or `[[a.b]]`.
#[derive(Debug, Clone)]
pub(crate) struct Header {
    pub words: Vec<Word>,
    pub span: Bytes,
}

/// One part of a key.
#[derive(Debug, Clone)]
pub(crate) struct Word {
    pub name: String,
    pub span: Bytes,
}

/// `a.b = value`.
#[derive(Debug, Clone)]
pub(crate) struct Pair {
    pub words: Vec<Word>,
    /// From the first part of the key to the end of the value.
    pub span: Bytes,
    pub value: Node,
}

/// A value that is written behind `=` or in a list.
#[derive(Debug, Clone)]
pub(crate) struct Node {
    pub span: Bytes,
    pub kind: NodeKind,
}

#[derive(Debug, Clone)]
pub(crate) enum NodeKind {
    Scalar,
    /// `[1, 2]`.
    Array(Vec<Slot<Node>>),
    /// `{ a = 1, b = 2 }`.
    Inline(Vec<Slot<Pair>>),
}

/// A part of a list or of a table in braces, and where the comma behind it stands, if there is one.
#[derive(Debug, Clone)]
pub(crate) struct Slot<T> {
    pub content: T,
    pub comma: Option<usize>,
}

impl Pair {
    /// The path of its value, which is in the table at `table`.
    pub fn path(&self, table: &FieldPath) -> FieldPath {
        let mut path = table.clone();
        path.0.extend(self.words.iter().map(|word| Step::Key(word.name.clone())));
        path
    }
}

impl Node {
    /// Bytes and commas of what it holds; nothing for a scalar.
    pub fn slots(&self) -> Vec<(Bytes, Option<usize>)> {
        match &self.kind {
            NodeKind::Scalar => Vec::new(),
            NodeKind::Array(slots) => {
                slots.iter().map(|slot| (slot.content.span.clone(), slot.comma)).collect()
            }
            NodeKind::Inline(slots) => {
                slots.iter().map(|slot| (slot.content.span.clone(), slot.comma)).collect()
            }
        }
    }
}

impl Section {
    /// The end of the last thing in it that is no comment.
    pub fn end(&self) -> usize {
        let header = self.header.as_ref().map_or(0, |header| header.span.end);
        self.pairs.last().map_or(header, |pair| pair.span.end)
    }

    /// The first byte of its header, or of the file.
    pub fn start(&self) -> usize {
        self.header.as_ref().map_or(0, |header| header.span.start)
    }
}

impl Layout {
    /// The layout of a text that the parser took without an error.
    pub fn of(text: &str) -> Self {
        let source = Source::new(text);
        let tokens = source.lex().into_vec();
        let mut events: Vec<Event> = Vec::with_capacity(tokens.len());
        parse_document(&tokens, &mut events, &mut ());
        let comments = events.iter().filter(|event| event.kind() == EventKind::Comment);
        let comments = comments.map(|event| bytes(event.span())).collect();
        events.retain(|event| {
            !matches!(event.kind(), EventKind::Whitespace | EventKind::Newline | EventKind::Comment)
        });
        let mut reader = Reader { source, events, at: 0 };
        Self { sections: reader.sections(), comments }
    }

    /// The comment that stands within `place`, if one does.
    pub fn comment_in(&self, place: Bytes) -> Option<&Bytes> {
        let first = self.comments.partition_point(|comment| comment.start < place.start);
        self.comments.get(first).filter(|comment| comment.end <= place.end)
    }
}

fn bytes(span: Span) -> Bytes {
    span.start()..span.end()
}

/// Reads the events that are neither blank nor comment.
struct Reader<'t> {
    source: Source<'t>,
    events: Vec<Event>,
    at: usize,
}

impl Reader<'_> {
    fn sections(&mut self) -> Vec<Section> {
        let mut sections = vec![Section { path: FieldPath::root(), header: None, pairs: Vec::new() }];
        let mut counts: HashMap<FieldPath, usize> = HashMap::new();
        while let Some(kind) = self.kind() {
            match kind {
                EventKind::StdTableOpen | EventKind::ArrayTableOpen => {
                    let start = self.next().start;
                    let words = self.words();
                    let span = start..self.next().end;
                    let path = absolute(&words, kind == EventKind::ArrayTableOpen, &mut counts);
                    sections.push(Section { path, header: Some(Header { words, span }), pairs: Vec::new() });
                }
                EventKind::SimpleKey => {
                    let pair = self.pair();
                    if let Some(section) = sections.last_mut() {
                        section.pairs.push(pair);
                    }
                }
                _ => self.at += 1,
            }
        }
        sections
    }

    fn kind(&self) -> Option<EventKind> {
        self.events.get(self.at).map(Event::kind)
    }

    fn next(&mut self) -> Bytes {
        let span = self.events.get(self.at).map_or(0..0, |event| bytes(event.span()));
        self.at += 1;
        span
    }

    fn words(&mut self) -> Vec<Word> {
        let mut words = Vec::new();
        while let Some(event) = self.events.get(self.at) {
            match event.kind() {
                EventKind::SimpleKey => {
                    let mut name = Cow::Borrowed("");
                    if let Some(raw) = self.source.get(event) {
                        raw.decode_key(&mut name, &mut ());
                    }
                    words.push(Word { name: name.into_owned(), span: bytes(event.span()) });
                }
                EventKind::KeySep => {}
                _ => break,
            }
            self.at += 1;
        }
        words
    }

    fn pair(&mut self) -> Pair {
        let words = self.words();
        if self.kind() == Some(EventKind::KeyValSep) {
            self.at += 1;
        }
        let value = self.value();
        let start = words.first().map_or(value.span.start, |word| word.span.start);
        Pair { words, span: start..value.span.end, value }
    }

    fn value(&mut self) -> Node {
        let kind = self.kind();
        let open = self.next();
        match kind {
            Some(EventKind::ArrayOpen) => {
                let (slots, end) = self.slots(EventKind::ArrayClose, Self::value);
                Node { span: open.start..end, kind: NodeKind::Array(slots) }
            }
            Some(EventKind::InlineTableOpen) => {
                let (slots, end) = self.slots(EventKind::InlineTableClose, Self::pair);
                Node { span: open.start..end, kind: NodeKind::Inline(slots) }
            }
            _ => Node { span: open, kind: NodeKind::Scalar },
        }
    }

    fn slots<T>(&mut self, close: EventKind, content: impl Fn(&mut Self) -> T) -> (Vec<Slot<T>>, usize) {
        let mut slots: Vec<Slot<T>> = Vec::new();
        while let Some(kind) = self.kind() {
            if kind == close {
                return (slots, self.next().end);
            }
            if kind == EventKind::ValueSep {
                let comma = self.next().start;
                if let Some(slot) = slots.last_mut() {
                    slot.comma = Some(comma);
                }
            } else {
                slots.push(Slot { content: content(self), comma: None });
            }
        }
        (slots, self.source.input().len())
    }
}

/// The path of the table below a header, where `counts` says how many tables each array of tables has so far.
fn absolute(words: &[Word], array: bool, counts: &mut HashMap<FieldPath, usize>) -> FieldPath {
    let mut path = FieldPath::root();
    for (number, word) in words.iter().enumerate() {
        path = path.key(&word.name);
        if array && number + 1 == words.len() {
            let count = counts.entry(path.clone()).or_default();
            *count += 1;
            path = path.index(*count - 1);
        } else if let Some(count) = counts.get(&path) {
            path = path.index(*count - 1);
        }
    }
    path
}
