//! Files in an older format, and keys in other words: the same file in the words of this format.
//!
//! Only the bytes of such keys change, so that every comment stays and every line keeps its number. A key that stands in
//! another table now leaves a comment on its line and is written at the end of the file.

use std::{collections::BTreeMap, ops::Range};

use super::{
    edit::{NodeKind, Pair, TextLayout, Word},
    glossary::{self, MOVED},
    kind::FileKind,
    rule::{Field, Rule, RuleBook},
    schema::{Cake, FORMAT_VERSION},
    schema_pantry::PantryFile,
};

/// A text in the words of this format.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Upgraded {
    /// The text.
    pub text: String,
    /// What changed, in the order of the text: the words before and after.
    pub changes: Vec<(String, String)>,
}

/// `text` in the words of this format; `None` where nothing changes. What is not TOML is read as far as it goes.
///
/// ```
/// let upgraded = cakefile::upgraded("crumbline = 2\nname = \"x\"\n[[covering]]\ncolor = \"#fff\"  # white\n").unwrap();
/// assert!(upgraded.text.ends_with("colour = \"#fff\"  # white\n"));
/// ```
pub fn upgraded(text: &str) -> Option<Upgraded> {
    let layout = TextLayout::of(text);
    let tops =
        || layout.sections.iter().filter_map(|section| Some(&section.header.as_ref()?.words.first()?.name));
    let is_pantry = tops().any(|name| name == "pantry") && !tops().any(|name| name == "shape");
    let book = if is_pantry { PantryFile::rules() } else { Cake::rules() };
    let full = |words: &[Word]| words.iter().map(|word| word.name.as_str()).collect::<Vec<_>>().join(".");
    let tables = layout.sections.iter().filter_map(|section| Some(full(&section.header.as_ref()?.words)));
    let tables = tables.collect();
    let mut upgrade =
        Upgrade { text, book, splices: Vec::new(), changes: Vec::new(), tables, moved: BTreeMap::new() };
    for section in &layout.sections {
        let words = section.header.as_ref().map_or(&[][..], |header| &header.words);
        let mut names = Vec::new();
        let mut rule = Some(Here::Fields(book.top()));
        for word in words {
            rule = rule.and_then(|here| upgrade.word(here, &word.name, word.span.clone(), &mut names));
        }
        for pair in &section.pairs {
            upgrade.pair(rule, pair, &names, Stands::OnItsLine);
        }
    }
    upgrade.finish()
}

/// What may stand at a place.
#[derive(Clone, Copy)]
enum Here {
    Fields(&'static BTreeMap<String, Field>),
    Other(&'static Rule),
}

/// How a pair stands in the text.
#[derive(Clone, Copy, PartialEq)]
enum Stands {
    OnItsLine,
    InBraces,
}

struct Upgrade<'t> {
    text: &'t str,
    book: &'static RuleBook,
    splices: Vec<(Range<usize>, String)>,
    changes: Vec<(String, String)>,
    /// Tables that the file has, by their headers.
    tables: Vec<String>,
    /// Lines for tables at the end, by table.
    moved: BTreeMap<String, Vec<String>>,
}

impl Upgrade<'_> {
    fn here(&self, rule: &'static Rule) -> Here {
        match self.book.follow(rule) {
            Rule::Table(fields) => Here::Fields(fields),
            // A header of `[[so]]` is followed into each of them.
            Rule::List { each, .. } => match self.book.follow(each) {
                Rule::Table(fields) => Here::Fields(fields),
                _ => Here::Other(rule),
            },
            _ => Here::Other(rule),
        }
    }

    /// What the value under one word of a key is, after the word is put right.
    fn word(&mut self, here: Here, name: &str, span: Range<usize>, names: &mut Vec<String>) -> Option<Here> {
        match here {
            Here::Fields(fields) => {
                let known = |key: &str| fields.contains_key(key);
                let key = glossary::key_for(name, known).unwrap_or(name);
                if key != name {
                    self.change(span, name.to_owned(), key.to_owned());
                }
                names.push(key.to_owned());
                fields.get(key).map(|field| self.here(&field.rule))
            }
            Here::Other(rule) => match self.book.follow(rule) {
                Rule::Map(each) => {
                    names.push(name.to_owned());
                    Some(self.here(each))
                }
                _ => None,
            },
        }
    }

    fn change(&mut self, span: Range<usize>, before: String, after: String) {
        self.splices.push((span, after.clone()));
        self.changes.push((before, after));
    }

    fn pair(&mut self, here: Option<Here>, pair: &Pair, table: &[String], stands: Stands) {
        let mut names = table.to_vec();
        let mut rule = here;
        let written: Vec<&str> = pair.words.iter().map(|word| word.name.as_str()).collect();
        if self.is_moved(&names, &written, pair, stands) {
            return;
        }
        for word in &pair.words {
            rule = rule.and_then(|here| self.word(here, &word.name, word.span.clone(), &mut names));
        }
        if names == ["crumbline"]
            && self.text.get(pair.value.span.clone()) == Some("1")
            && FORMAT_VERSION != 1
        {
            self.change(pair.value.span.clone(), "format 1".into(), FORMAT_VERSION.to_string());
        }
        self.value(rule, &pair.value.kind, &names);
    }

    fn value(&mut self, here: Option<Here>, kind: &NodeKind, names: &[String]) {
        match kind {
            NodeKind::Scalar => {}
            NodeKind::Array(slots) => {
                slots.iter().for_each(|slot| self.value(here, &slot.content.kind, names));
            }
            NodeKind::Inline(slots) => {
                slots.iter().for_each(|slot| self.pair(here, &slot.content, names, Stands::InBraces));
            }
        }
    }

    /// Moves a pair that stands in another table now; says whether it did.
    fn is_moved(&mut self, table: &[String], written: &[&str], pair: &Pair, stands: Stands) -> bool {
        let full: Vec<&str> = table.iter().map(String::as_str).chain(written.iter().copied()).collect();
        // The same under [pantry].
        let (prefix, within) = match full.as_slice() {
            ["pantry", rest @ ..] => ("pantry.", rest),
            all => ("", all),
        };
        let [from, key] = within else { return false };
        let Some(moved) = MOVED.iter().find(|moved| moved.from == (*from, *key)) else { return false };
        let (to, name) = moved.to;
        if self.tables.contains(&format!("{prefix}{to}")) {
            // The table is there already: whoever wrote it knows the key's place.
            return false;
        }
        let Some(value) = self.text.get(pair.value.span.clone()) else { return false };
        let (before, after) = (format!("{prefix}{from}.{key}"), format!("{prefix}{to}.{name}"));
        if written.len() == full.len() {
            // It stands under its whole name.
            let words = pair.words[0].span.start..pair.words[pair.words.len() - 1].span.end;
            self.splices.push((words, after.clone()));
        } else {
            self.moved.entry(format!("{prefix}{to}")).or_default().push(format!("{name} = {value}"));
            match stands {
                Stands::OnItsLine => {
                    self.splices
                        .push((pair.span.clone(), format!("# {key}: under [{prefix}{to}] at the end")));
                }
                Stands::InBraces => self.splices.push((self.with_comma(pair.span.clone()), String::new())),
            }
        }
        self.changes.push((before, after));
        true
    }

    /// A pair in braces with the comma that belongs to it: that behind it, or else that before.
    fn with_comma(&self, span: Range<usize>) -> Range<usize> {
        let after = &self.text[span.end..];
        let blank = after.len() - after.trim_start().len();
        if after[blank..].starts_with(',') {
            let rest = &after[blank + 1..];
            return span.start..span.end + blank + 1 + (rest.len() - rest.trim_start_matches(' ').len());
        }
        let before = self.text[..span.start].trim_end();
        if before.ends_with(',') { before.len() - 1..span.end } else { span }
    }

    fn finish(self) -> Option<Upgraded> {
        let Self { text, mut splices, changes, moved, .. } = self;
        if splices.is_empty() {
            return None;
        }
        splices.sort_by_key(|(span, _)| span.start);
        let mut out = String::with_capacity(text.len() + 64);
        let mut at = 0;
        for (span, new) in splices {
            out.push_str(&text[at..span.start]);
            out.push_str(&new);
            at = span.end;
        }
        out.push_str(&text[at..]);
        let line_end = if text.contains("\r\n") { "\r\n" } else { "\n" };
        for (table, lines) in moved {
            if !out.ends_with('\n') {
                out.push_str(line_end);
            }
            out += &format!("{line_end}[{table}]{line_end}");
            lines.iter().for_each(|line| out += &format!("{line}{line_end}"));
        }
        Some(Upgraded { text: out, changes })
    }
}
