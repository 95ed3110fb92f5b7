//! Values and keys as text.

use toml_edit::{Key, Value};

use super::{EditValue, lines::Style, value::Fields};

/// A line that is longer than this is broken where a list holds lists or tables.
const WIDEST: usize = 100;
/// What the elements of a broken list are set in by.
const INDENT: &str = "    ";

/// A key, in quotes where it needs them.
pub(super) fn key(name: &str) -> String {
    Key::new(name).display_repr().into_owned()
}

/// A dotted key.
pub(super) fn dotted<'k>(names: impl IntoIterator<Item = &'k str>) -> String {
    names.into_iter().map(key).collect::<Vec<_>>().join(".")
}

/// A value as it stands behind `=` or in a list, in one line unless it is text of several.
pub(super) fn value(value: &EditValue, style: Style) -> String {
    match value {
        EditValue::String(text) => string(text, style),
        EditValue::Integer(number) => number.to_string(),
        EditValue::Float(number) => Value::from(*number).to_string(),
        EditValue::Boolean(flag) => flag.to_string(),
        EditValue::Datetime(when) => when.to_string(),
        EditValue::Array(values) => {
            let values: Vec<String> = values.iter().map(|element| self::value(element, style)).collect();
            format!("[{}]", values.join(", "))
        }
        EditValue::InlineTable(fields) | EditValue::Table(fields) if fields.is_empty() => "{}".to_owned(),
        EditValue::InlineTable(fields) | EditValue::Table(fields) => {
            let fields: Vec<String> = fields.iter().map(|(name, value)| entry(name, value, style)).collect();
            format!("{{ {} }}", fields.join(", "))
        }
    }
}

/// `name = value`, as it stands in a table in braces.
pub(super) fn entry(name: &str, value: &EditValue, style: Style) -> String {
    format!("{} = {}", key(name), self::value(value, style))
}

/// A value as it stands in a section, behind so many characters of its line and below `indent`: a long list of
/// lists or tables goes over several lines.
pub(super) fn wide_value(value: &EditValue, before: usize, indent: &str, style: Style) -> String {
    let line = self::value(value, style);
    match value {
        EditValue::Array(values)
            if before + line.chars().count() > WIDEST
                && values
                    .iter()
                    .any(|value| matches!(value, EditValue::Array(_)) || value.fields().is_some()) =>
        {
            let newline = style.newline;
            let mut made = format!("[{newline}");
            for element in values {
                made += &format!("{indent}{INDENT}{},{newline}", self::value(element, style));
            }
            made + indent + "]"
        }
        _ => line,
    }
}

/// A line of a section: `key = value`, with `key` as it is to be written.
pub(super) fn line(key: &str, value: &EditValue, indent: &str, style: Style) -> String {
    let start = format!("{indent}{key} = ");
    let value = wide_value(value, start.chars().count(), indent, style);
    start + &value + style.newline
}

/// The sections of a value that is written below headers ([`EditValue::is_below_header`]), whose headers begin
/// with `names`.
pub(super) fn sections(names: &[&str], value: &EditValue, style: Style) -> String {
    match value {
        EditValue::Array(tables) => {
            let table = |table: &EditValue| element(names, table, style);
            tables.iter().map(table).collect::<Vec<_>>().join(style.gap())
        }
        table => {
            let fields = table.fields().map_or(&[][..], Vec::as_slice);
            // A table that holds nothing but tables below headers of their own needs none itself.
            let header = fields.is_empty() || !fields.iter().all(|(_, value)| value.is_below_header());
            let header = header.then(|| format!("[{}]{}", dotted(names.iter().copied()), style.newline));
            body(names, header, fields, style)
        }
    }
}

/// The sections of one element of the array of tables that is called `names`.
pub(super) fn element(names: &[&str], table: &EditValue, style: Style) -> String {
    let header = format!("[[{}]]{}", dotted(names.iter().copied()), style.newline);
    body(names, Some(header), table.fields().map_or(&[][..], Vec::as_slice), style)
}

fn body(names: &[&str], header: Option<String>, fields: &[(String, EditValue)], style: Style) -> String {
    let (below, here): (Vec<_>, Vec<_>) = fields.iter().partition(|(_, value)| value.is_below_header());
    let mut parts = Vec::new();
    if let Some(mut own) = header {
        for (name, value) in here {
            own += &line(&key(name), value, "", style);
        }
        parts.push(own);
    }
    for (name, value) in below {
        let mut names = names.to_vec();
        names.push(name);
        parts.push(sections(&names, value, style));
    }
    parts.join(style.gap())
}

/// Text in quotes. In a file with CR LF the parser would take a raw line break for two characters, so there
/// it is escaped.
fn string(text: &str, style: Style) -> String {
    if style.newline == "\n" || !text.contains('\n') {
        return Value::from(text).to_string();
    }
    let mut made = "\"".to_owned();
    for character in text.chars() {
        match character {
            '"' => made += "\\\"",
            '\\' => made += "\\\\",
            '\n' => made += "\\n",
            '\r' => made += "\\r",
            '\t' => made += "\\t",
            character if character.is_control() => made += &format!("\\u{:04X}", u32::from(character)),
            character => made.push(character),
        }
    }
    made + "\""
}

/// The keys and values that dotted keys would need for a table, each as its key and its text.
pub(super) fn dotted_fields(prefix: &str, fields: &Fields, style: Style) -> Vec<(String, String)> {
    let field =
        |(name, value): &(String, EditValue)| (format!("{prefix}.{}", key(name)), self::value(value, style));
    fields.iter().map(field).collect()
}
