//! Lines of a text, and the style in which a file is written.

use super::layout::{Bytes, Layout};

/// The first byte of the line that `at` is on.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |newline| newline + 1)
}

/// The byte behind the line that `at` is on, its newline included.
pub(super) fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |newline| at + newline + 1)
}

/// Whether nothing but blanks stands there.
pub(super) fn is_blank(text: &str) -> bool {
    text.bytes().all(|byte| matches!(byte, b' ' | b'\t' | b'\r' | b'\n'))
}

/// The blanks at the beginning of the line that `at` is on, up to `at`.
pub(super) fn indent(text: &str, at: usize) -> &str {
    let before = &text[line_start(text, at)..at];
    &before[..before.len() - before.trim_start_matches([' ', '\t']).len()]
}

/// The first byte behind the blank lines that begin at `at`, which is the first byte of a line.
pub(super) fn past_blank_lines(text: &str, mut at: usize) -> usize {
    while at < text.len() && is_blank(&text[at..line_end(text, at)]) {
        at = line_end(text, at);
    }
    at
}

/// The first byte of the blank lines that end before `at`, which is the first byte of a line; not before
/// `floor`.
pub(super) fn before_blank_lines(text: &str, mut at: usize, floor: usize) -> usize {
    while at > floor {
        let start = line_start(text, at - 1);
        if start < floor || !is_blank(&text[start..at]) {
            break;
        }
        at = start;
    }
    at
}

/// The first byte of the lines of comment that stand directly above `at`, which is the first byte of a line;
/// `at` itself if there are none. `floor` is the end of what stands before.
pub(super) fn comments_above(text: &str, mut at: usize, floor: usize) -> usize {
    while at > floor {
        let start = line_start(text, at - 1);
        if start < floor || !text[start..at].trim_start().starts_with('#') {
            break;
        }
        at = start;
    }
    at
}

/// How a file breaks and spaces its lines.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    /// What ends a line.
    pub newline: &'static str,
    /// Whether an empty line stands between sections.
    pub spaced: bool,
}

impl Style {
    /// The style of a text: that of its first line, and of its headers.
    pub fn of(text: &str, layout: &Layout) -> Self {
        let crlf = text.find('\n').is_some_and(|at| text[..at].ends_with('\r'));
        // Of each header that is not the first thing in the file: whether an empty line is above it.
        let spaced: Vec<bool> = layout
            .sections
            .iter()
            .filter(|section| section.header.is_some())
            .map(|section| comments_above(text, line_start(text, section.start()), 0))
            .filter(|&above| above > 0)
            .map(|above| is_blank(&text[line_start(text, above - 1)..above]))
            .collect();
        let newline = if crlf { "\r\n" } else { "\n" };
        Self { newline, spaced: spaced.is_empty() || spaced.contains(&true) }
    }

    /// The empty line between sections, where the file has them.
    pub fn gap(self) -> &'static str {
        if self.spaced { self.newline } else { "" }
    }
}

/// The text of whole sections, made ready to stand on lines of its own at `at`: the last byte before it ends a
/// line, and it ends one itself; where the file is spaced, empty lines stand on either side. A comment that speaks of
/// what comes next (`below_comment`) stays directly above.
pub(super) fn as_block(text: &str, style: Style, at: usize, sections: &str, below_comment: bool) -> String {
    let before = &text[..at];
    let mut made = String::new();
    if !before.is_empty() && !before.ends_with('\n') {
        made += style.newline;
    }
    let last_line = &before[line_start(text, at.saturating_sub(1))..];
    let below_comment =
        below_comment && !sections.starts_with('#') && last_line.trim_start().starts_with('#');
    let below_gap = is_blank(before) || (before.ends_with('\n') && is_blank(last_line));
    if !below_gap && !below_comment {
        made += style.gap();
    }
    made += sections;
    let after = &text[at..];
    if !after.is_empty() && !is_blank(&after[..line_end(after, 0)]) {
        made += style.gap();
    }
    made
}

/// All lines that `span` is on.
pub(super) fn whole_lines(text: &str, span: &Bytes) -> Bytes {
    line_start(text, span.start)..line_end(text, span.end)
}
