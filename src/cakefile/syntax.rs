//! Problems of the TOML itself, in a maker's words.

use toml::de::Error;

use super::{Diagnostic, FieldPath};

/// What the parser calls a key that is given twice.
const DUPLICATE: &str = "duplicate key";

/// Whether the parser read everything in spite of `error`.
pub(super) fn leaves_tree_whole(error: &Error) -> bool {
    error.message() == DUPLICATE
}

/// The problems behind the parser's errors: the first of each line, since the others follow from it.
pub(super) fn problems<'a>(text: &'a str, errors: &'a [Error]) -> impl Iterator<Item = Diagnostic> + 'a {
    const MOST_PROBLEMS: usize = 100;
    let line_start = |error: &Error| {
        let start = error.span().map_or(0, |span| span.start.min(text.len()));
        text.as_bytes()[..start].iter().rposition(|&byte| byte == b'\n')
    };
    let mut last_line = None;
    errors
        .iter()
        .take(MOST_PROBLEMS)
        .filter(move |error| last_line.replace(line_start(error)) != Some(line_start(error)))
        .map(|error| problem(text, error))
}

/// The problem behind one error of the parser.
pub(super) fn problem(text: &str, error: &Error) -> Diagnostic {
    let span = error.span().unwrap_or(0..0);
    let place = |message: String| Diagnostic::error(FieldPath::root(), message).at(span.clone());
    if error.message() == DUPLICATE {
        let key = text.get(span.clone()).unwrap_or_default();
        return place(format!("`{key}` is written twice"))
            .fix("keep one of them; a table of which there are several is written [[so]]");
    }
    match Slip::find(text, span.start) {
        Some(slip) => place(slip.message().map_or_else(|| in_a_line(error), str::to_owned)).fix(slip.fix()),
        None => place(in_a_line(error)),
    }
}

fn in_a_line(error: &Error) -> String {
    error.message().replace('\n', "; ")
}

/// The likeliest slip on the line of an error.
enum Slip {
    CurlyQuote,
    Comma,
    NoValue,
    Quote,
    Bracket,
    Unquoted,
}

impl Slip {
    fn find(text: &str, at: usize) -> Option<Self> {
        let start = text.get(..at)?.rfind('\n').map_or(0, |newline| newline + 1);
        let (_, value) = text[start..].lines().next()?.split_once('=')?;
        let value = value.trim();
        let is_number = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
        let number = value.split(['#', ' ']).next().unwrap_or_default().split_once(',');
        if number.is_some_and(|(whole, rest)| is_number(whole) && is_number(rest)) {
            return Some(Self::Comma);
        }
        if value.contains(['“', '”', '„', '‘', '’']) {
            return Some(Self::CurlyQuote);
        }
        match value.chars().next() {
            None => Some(Self::NoValue),
            Some('"' | '\'') => Some(Self::Quote),
            Some('[' | '{') => Some(Self::Bracket),
            Some(first) if value.contains(' ') || first.is_alphabetic() => Some(Self::Unquoted),
            Some(_) => None,
        }
    }

    fn message(&self) -> Option<&'static str> {
        match self {
            Self::CurlyQuote => Some("text stands between curly quotes"),
            Self::Comma => Some("this number is written with a comma"),
            Self::NoValue => Some("nothing is written after the `=`"),
            Self::Unquoted => Some("this cannot be read as a value"),
            Self::Quote | Self::Bracket => None,
        }
    }

    fn fix(&self) -> &'static str {
        match self {
            Self::CurlyQuote => "use straight quotes, as \"8 in\"",
            Self::Comma => "write it with a decimal point, as 4.5",
            Self::NoValue => "write a value there, or take the line out",
            Self::Quote => "text begins and ends with a quote",
            Self::Bracket => "lists are written [1, 2], tables { a = 1, b = 2 }; check commas and brackets",
            Self::Unquoted => "text, and a number with a unit, stands in quotes, as \"8 in\"",
        }
    }
}
