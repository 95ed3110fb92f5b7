//! Text that reaches others: what each format cannot hold, or what would be taken for more than text, taken out at its
//! edge and nowhere else.
//!
//! Names come from cake files, drawings and models of others. What may not stand in text is shown as U+FFFD, the
//! character for what cannot be shown, so that it is seen that something was there.
//!
//! | edge | standard | what is taken out |
//! |---|---|---|
//! | [`lines`], [`line()`]: plain text, PDF, calendars | Unicode, general category Cc; RFC 5545, 3.1 and 3.3.11 (TEXT has no control characters); UAX #9, 2.1 to 2.4, and UTS #39 | control characters but line ends; characters that set the direction of other text |
//! | [`terminal`] | ECMA-48, 8.3.117 (SGR) | the same, but colours that this program sets |
//! | [`xml`]: SVG, 3MF | XML 1.0, production 2 (Char) | the same, and U+FFFE, U+FFFF |
//! | [`cell`]: CSV | RFC 4180; "CSV Injection" (OWASP) | the same; and no cell begins a formula |
//! | [`usd`] | OpenUSD, "Usda File Format Specification" (strings) | the same; quotes and backslashes are escaped |
//! | [`html`] | HTML Living Standard, 13.1.2.3 and 13.3 (escaping a string) | the same as in a line; markup and quotes are escaped |
//! | [`html_json`] | the same, 4.12.1.3 (restrictions for contents of script elements) | nothing: the same characters, escaped |
//! | [`json`] | RFC 8259, 7 | nothing: the same characters, escaped |
//!
//! The marks that only say which way they themselves read (U+200E, U+200F, U+061C) stay: ordinary text needs them.

use std::borrow::Cow;

/// Instead of what cannot stand in text.
const UNSHOWN: char = '\u{fffd}';

/// Whether `c` embeds, overrides or isolates the direction of the text after it (UAX #9, 2.1 to 2.4), so that what is
/// read is not what is written.
fn directs(c: char) -> bool {
    matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Text of one or more lines, which end in a line feed.
pub fn lines(text: &str) -> Cow<'_, str> {
    if text.chars().all(|c| c == '\n' || is_plain(c)) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.replace("\r\n", "\n").chars().map(|c| if c == '\n' { c } else { plain(c) }).collect())
}

/// Text of one line: what would end it is a space.
pub fn line(text: &str) -> Cow<'_, str> {
    if text.chars().all(is_plain) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.replace("\r\n", " ").chars().map(plain).collect())
}

fn is_plain(c: char) -> bool {
    !c.is_control() && !directs(c) && !matches!(c, '\u{2028}' | '\u{2029}')
}

fn plain(c: char) -> char {
    match c {
        '\t' | '\n' | '\r' | '\u{85}' | '\u{2028}' | '\u{2029}' => ' ',
        c if is_plain(c) => c,
        _ => UNSHOWN,
    }
}

/// Text for a terminal: lines, and sequences that set bold, dim, italic, underlined or a colour and nothing else.
pub fn terminal(text: &str) -> Cow<'_, str> {
    if !text.contains('\u{1b}') {
        return lines(text);
    }
    let mut shown = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('\u{1b}') {
        shown += &lines(&rest[..at]);
        let style = style(&rest[at..]);
        match style {
            0 => shown.push(UNSHOWN),
            length => shown += &rest[at..at + length],
        }
        rest = &rest[at + style.max(1)..];
    }
    Cow::Owned(shown + &lines(rest))
}

/// Length of the sequence that `text` begins with, if it only sets a style that still lets text be read; else 0.
fn style(text: &str) -> usize {
    let Some((figures, _)) = text.strip_prefix("\u{1b}[").and_then(|rest| rest.split_once('m')) else {
        return 0;
    };
    let readable = |figure: &str| {
        figure.is_empty()
            || figure.parse().is_ok_and(|code: u8| matches!(code, 0..=4 | 22..=24 | 30..=37 | 39 | 90..=97))
    };
    if figures.split(';').all(readable) { figures.len() + 3 } else { 0 }
}

/// Text of one line for an XML document. The writer still escapes `&`, `<` and quotes.
pub fn xml(text: &str) -> Cow<'_, str> {
    let outside = |c: char| matches!(c, '\u{fffe}' | '\u{ffff}');
    let text = line(text);
    if text.contains(outside) { Cow::Owned(text.replace(outside, "\u{fffd}")) } else { text }
}

/// Text of one line as a string of a USD layer, in its quotes.
pub fn usd(text: &str) -> String {
    format!("\"{}\"", line(text).replace('\\', "\\\\").replace('"', "\\\""))
}

/// Text of one line for a page, between tags or in an attribute's quotes.
pub fn html(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in line(text).chars() {
        match c {
            '&' => shown.push_str("&amp;"),
            '<' => shown.push_str("&lt;"),
            '>' => shown.push_str("&gt;"),
            '"' => shown.push_str("&quot;"),
            '\'' => shown.push_str("&#39;"),
            c => shown.push(c),
        }
    }
    shown
}

/// The JSON text `text` for a script element that holds data: nothing in it ends the element or begins a comment.
pub fn html_json(text: &str) -> String {
    text.replace('<', "\\u003c").replace("-->", "--\\u003e")
}

/// The JSON text `text` with the characters that a terminal would act on written as escapes; it means the same.
pub fn json(text: &str) -> Cow<'_, str> {
    if text.chars().all(|c| c == '\n' || is_plain(c)) {
        return Cow::Borrowed(text);
    }
    // Such characters stand in strings only; those below U+0020 are escaped there already. None needs two escapes.
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if c == '\n' || is_plain(c) { shown.push(c) } else { shown += &format!("\\u{:04x}", u32::from(c)) }
    }
    Cow::Owned(shown)
}

/// A cell of a table that no spreadsheet takes for a formula: an apostrophe stands before what would begin one. A
/// semicolon or a line end begins a cell as well where they separate cells, whatever the file's own separator.
pub fn cell(text: &str) -> Cow<'_, str> {
    let text = lines(text);
    let starts = |c: char| matches!(c, ';' | '\n');
    let risky = |c: char| matches!(c, '=' | '+' | '-' | '@' | '＝' | '＋' | '－' | '＠');
    let mut shown = String::new();
    let mut kept = 0;
    let mut before = None;
    for (at, c) in text.char_indices() {
        if risky(c) && before.is_none_or(starts) && !(before.is_none() && is_figure(&text)) {
            shown += &text[kept..at];
            shown.push('\'');
            kept = at;
        }
        before = Some(c);
    }
    if kept == 0 && shown.is_empty() { text } else { Cow::Owned(shown + &text[kept..]) }
}

/// Whether `cell` is a sign and figures, which no spreadsheet runs.
fn is_figure(cell: &str) -> bool {
    let figures = cell.strip_prefix(['-', '+']).unwrap_or(cell);
    figures.starts_with(|c: char| c.is_ascii_digit())
        && figures.chars().all(|c| c.is_ascii_digit() || c == '.')
        && figures.matches('.').count() <= 1
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// The boundaries of XML 1.0, production 2.
    fn is_xml_char(c: char) -> bool {
        matches!(c, '\t' | '\n' | '\r' | '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..)
    }

    #[test]
    fn ordinary_text_stays_as_it_is() {
        for text in ["Café \"Nº 5\" <&>", "كعكة\u{200f}!", "蛋糕 🍰", "a\nb"] {
            for kept in [lines(text), terminal(text), json(text), cell(text)] {
                assert!(matches!(kept, Cow::Borrowed(same) if same == text), "{text}");
            }
        }
        assert_eq!(line("a\r\nb\nc\td"), "a b c d");
    }

    #[test]
    fn what_moves_the_cursor_or_turns_text_round_is_shown_as_one_sign() {
        assert_eq!(
            lines("a\u{1b}[2Jb\u{7}\u{9b}1mc\u{202e}d\u{2066}e\r\n"),
            "a\u{fffd}[2Jb\u{fffd}\u{fffd}1mc\u{fffd}d\u{fffd}e\n"
        );
        assert_eq!(xml("a\u{0}b\u{ffff}"), "a\u{fffd}b\u{fffd}");
        assert_eq!(usd("a\\\"\n\u{0}'"), "\"a\\\\\\\" \u{fffd}'\"");
    }

    #[test]
    fn a_terminal_gets_colours_and_nothing_else() {
        let coloured = "\u{1b}[1m\u{1b}[31mred\u{1b}[0m \u{1b}[4;92mline\u{1b}[m\n";
        assert_eq!(terminal(coloured), coloured);
        for (sent, shown) in [
            ("\u{1b}[8mhidden", "\u{fffd}[8mhidden"),
            ("\u{1b}[2J", "\u{fffd}[2J"),
            ("\u{1b}]0;title\u{7}", "\u{fffd}]0;title\u{fffd}"),
            ("\u{1b}", "\u{fffd}"),
            ("\u{1b}[31", "\u{fffd}[31"),
            ("\u{1b}[31\u{1b}[31mx", "\u{fffd}[31\u{1b}[31mx"),
            ("\u{1b}[1;8mx", "\u{fffd}[1;8mx"),
        ] {
            assert_eq!(terminal(sent), shown, "{sent:?}");
        }
    }

    #[test]
    fn cells_begin_no_formula_wherever_they_are_split() {
        for (text, expected) in [
            ("=1", "'=1"),
            ("-12.05", "-12.05"),
            ("-1-1", "'-1-1"),
            ("\t=1", " =1"),
            ("\r=1", " =1"),
            ("\n=1", "\n'=1"),
            ("a;=cmd;b", "a;'=cmd;b"),
            ("＝1", "'＝1"),
            ("a=b; -c", "a=b; -c"),
            ("-", "'-"),
        ] {
            assert_eq!(cell(text), expected, "{text:?}");
        }
    }

    proptest! {
        #[test]
        fn nothing_that_is_no_text_gets_through(text in any::<String>()) {
            prop_assert!(lines(&text).chars().all(|c| c == '\n' || (!c.is_control() && !directs(c))));
            prop_assert!(line(&text).chars().all(|c| !c.is_control() && !directs(c)));
            prop_assert!(xml(&text).chars().all(is_xml_char));
            prop_assert!(!cell(&text).starts_with(['=', '@', '\t', '\r']));
            let quoted = serde_json::to_string(&text).unwrap();
            let escaped = json(&quoted);
            prop_assert!(escaped.chars().all(|c| !c.is_control() && !directs(c)));
            prop_assert_eq!(serde_json::from_str::<String>(&escaped).unwrap(), text);
        }
    }
}
