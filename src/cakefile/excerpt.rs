//! One line of a text, cut to what fits on a screen, for showing a problem in it.

use std::ops::Range;

use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

/// A text with its line starts known, so that each of many excerpts costs little.
pub(super) struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
}

impl<'t> Lines<'t> {
    pub fn new(text: &'t str) -> Self {
        let after_newline = |(at, byte): (usize, u8)| (byte == b'\n').then_some(at + 1);
        let starts = std::iter::once(0).chain(text.bytes().enumerate().filter_map(after_newline)).collect();
        Self { text, starts }
    }

    /// The line where `span` begins, with as much of `span` as stands on it marked.
    pub fn excerpt(&self, name: &str, span: Range<usize>) -> Excerpt {
        /// A line of at most so many characters is shown whole.
        const WHOLE: usize = 76;
        /// Of a longer one so many are shown of the marked part, and on either side of it.
        const PART: usize = 30;
        let begin = self.text.floor_char_boundary(span.start);
        let end = self.text.floor_char_boundary(span.end).max(begin);
        let index = self.starts.partition_point(|&start| start <= begin).saturating_sub(1);
        let line_start = self.starts[index];
        let rest = &self.text[begin..];
        let line_end = begin + rest.find('\n').unwrap_or(rest.len());
        let before = &self.text[line_start..begin];
        let marked = self.text[begin..line_end.min(end)].trim_end_matches('\r');
        let after = self.text[begin + marked.len()..line_end].trim_end_matches('\r');
        let column = before.chars().count();
        let length = column + self.text[begin..line_end].chars().count();
        let most = if length <= WHOLE { WHOLE } else { PART };
        let [before, marked, after] =
            [last_characters(before, most), first_characters(marked, most), first_characters(after, most)];
        let [before, marked, after] = [before, marked, after].map(|part| printable(&part));
        Excerpt {
            name: name.to_owned(),
            line: index,
            column,
            mark: (before.len(), marked.len()).into(),
            text: before + &marked + &after,
        }
    }
}

/// A line, or a part of it, with one place in it marked.
#[derive(Debug)]
pub(super) struct Excerpt {
    name: String,
    line: usize,
    column: usize,
    text: String,
    /// The marked bytes of `text`.
    pub mark: SourceSpan,
}

impl SourceCode for Excerpt {
    /// The whole excerpt, whatever is asked for, under the line and column of the mark.
    fn read_span<'a>(
        &'a self,
        _: &SourceSpan,
        _: usize,
        _: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let all = (0, self.text.len()).into();
        let (name, data) = (self.name.clone(), self.text.as_bytes());
        Ok(Box::new(MietteSpanContents::new_named(name, data, all, self.line, self.column, 1)))
    }
}

/// The same text with control characters, which could do things to a terminal, as blanks.
pub(super) fn printable(text: &str) -> String {
    text.replace(|c: char| c.is_control(), " ")
}

fn first_characters(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

fn last_characters(text: &str, most: usize) -> String {
    match text.char_indices().rev().nth(most) {
        Some((at, c)) => format!("…{}", &text[at + c.len_utf8()..]),
        None => text.to_owned(),
    }
}

/// A message of reasonable length, without control characters.
pub(super) fn short_message(message: &str) -> String {
    const MOST: usize = 400;
    printable(&first_characters(message, MOST))
}
