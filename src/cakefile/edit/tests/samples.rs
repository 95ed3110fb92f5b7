//! Files to edit: those that come with the program, and random ones in every form that TOML has.

use proptest::{collection::vec, option, prelude::*, sample::Index};

use crate::edit::{Document, EditValue};

/// The files that come with the program.
pub fn files() -> Vec<(String, String)> {
    let top = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let mut folders = vec![format!("{top}/assets/examples"), format!("{top}/tests/cakes/good")];
    for entry in std::fs::read_dir(&folders[0]).expect("the examples are there").flatten() {
        if entry.path().is_dir() {
            folders.push(entry.path().display().to_string());
        }
    }
    let mut files = vec![("starter".to_owned(), crate::starter("First"))];
    for folder in folders {
        for entry in std::fs::read_dir(folder).expect("it is a folder").flatten() {
            let path = entry.path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                files.push((path.display().to_string(), std::fs::read_to_string(&path).expect("it is text")));
            }
        }
    }
    assert!(files.len() >= 9, "{} files", files.len());
    files.sort();
    files
}

/// One of the files that come with the program, some of them with CR LF.
pub fn real() -> impl Strategy<Value = Document> {
    let files = files();
    (any::<Index>(), any::<bool>()).prop_map(move |(index, crlf)| {
        let (name, text) = index.get(&files);
        let text = if crlf { text.replace('\n', "\r\n") } else { text.clone() };
        Document::from_text(name, text)
    })
}

/// A part of a table as text is to be made of it.
#[derive(Debug, Clone)]
enum Part {
    Pair { comment: Option<String>, dots: u8, value: String, behind: Option<String> },
    Blank,
    Comment(String),
}

/// A table below a header, with those below it.
#[derive(Debug, Clone)]
struct Table {
    comment: Option<String>,
    array: bool,
    /// Whether its own header is written, where that can be left out.
    named: bool,
    parts: Vec<Part>,
    inner: Vec<Table>,
}

fn comment() -> impl Strategy<Value = Option<String>> {
    option::weighted(0.2, "# [a-z =\\[\\]{},\"]{0,12}")
}

fn scalar() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("1".to_owned()),
        Just("-0.50".to_owned()),
        Just("0x1F".to_owned()),
        Just("true".to_owned()),
        Just("\"8 1/2 in\"".to_owned()),
        Just("'it is'".to_owned()),
        Just("\"\"\"two\nlines # no comment\"\"\"".to_owned()),
        Just("2026-12-05 10:00:00".to_owned()),
        "\"[a-z #=,]{0,8}\"",
    ]
}

/// A value, lists and tables in braces in one line or several.
fn value() -> impl Strategy<Value = String> {
    scalar().prop_recursive(3, 12, 4, |inner| {
        prop_oneof![
            (vec((inner.clone(), comment()), 0..4), any::<bool>(), any::<bool>())
                .prop_map(|(values, lines, trailing)| list(&values, lines, trailing)),
            (vec((inner, any::<bool>()), 0..4), any::<bool>()).prop_map(|(values, tight)| {
                let entry = |(number, (value, dotted)): (usize, &(String, bool))| {
                    let key = if *dotted { format!("d.k{number}") } else { format!("k{number}") };
                    if tight { format!("{key}={value}") } else { format!("{key} = {value}") }
                };
                let entries: Vec<String> = values.iter().enumerate().map(entry).collect();
                if tight {
                    format!("{{{}}}", entries.join(","))
                } else {
                    format!("{{ {} }}", entries.join(", "))
                }
            }),
        ]
    })
}

fn list(values: &[(String, Option<String>)], lines: bool, trailing: bool) -> String {
    let count = values.len();
    let comma = |number: usize| if number + 1 < count || trailing { "," } else { "" };
    if !lines {
        let values: Vec<&str> = values.iter().map(|(value, _)| value.as_str()).collect();
        return format!("[{}{}]", values.join(", "), if count > 0 { comma(count - 1) } else { "" });
    }
    let mut text = "[\n".to_owned();
    for (number, (value, comment)) in values.iter().enumerate() {
        let comment = comment.as_ref().map_or_else(String::new, |comment| format!("   {comment}"));
        text += &format!("    {value}{}{comment}\n", comma(number));
    }
    text + "]"
}

fn part() -> impl Strategy<Value = Part> {
    prop_oneof![
        6 => (comment(), 0u8..4, value(), comment()).prop_map(|(comment, dots, value, behind)| Part::Pair {
            comment, dots: dots.saturating_sub(1), value, behind
        }),
        1 => Just(Part::Blank),
        1 => "# [a-z]{0,6}".prop_map(Part::Comment),
    ]
}

fn table() -> impl Strategy<Value = Table> {
    let leaf = (comment(), any::<bool>(), any::<bool>(), vec(part(), 0..4))
        .prop_map(|(comment, array, named, parts)| Table { comment, array, named, parts, inner: Vec::new() });
    leaf.prop_recursive(2, 8, 3, |inner| {
        (comment(), any::<bool>(), any::<bool>(), vec(part(), 0..3), vec(inner, 0..3))
            .prop_map(|(comment, array, named, parts, inner)| Table { comment, array, named, parts, inner })
    })
}

/// A random file: its sections in order, or some of them elsewhere where that is still TOML.
pub fn random() -> impl Strategy<Value = Document> {
    let swaps = vec((any::<Index>(), any::<Index>()), 0..3);
    let form = (any::<bool>(), any::<bool>(), any::<bool>());
    (vec(part(), 0..5), vec(table(), 0..4), swaps, form).prop_map(
        |(top, tables, swaps, (crlf, spaced, ended))| {
            let mut blocks = Vec::new();
            for (number, table) in tables.iter().enumerate() {
                // Two tables of one name in a row are two of an array of tables.
                let name = if table.array { "list".to_owned() } else { format!("t{number}") };
                blocks_of(table, &name, &mut blocks);
            }
            let head = parts(&top);
            let text = |blocks: &[String]| {
                let mut text = head.clone();
                for block in blocks {
                    text += if spaced && !text.is_empty() { "\n" } else { "" };
                    text += block;
                }
                let text = if ended { text } else { text.trim_end_matches('\n').to_owned() };
                if crlf { text.replace('\n', "\r\n") } else { text }
            };
            let in_order = text(&blocks);
            if !blocks.is_empty() {
                for (a, b) in swaps {
                    let (a, b) = (a.index(blocks.len()), b.index(blocks.len()));
                    blocks.swap(a, b);
                }
            }
            let shuffled = Document::from_text("random", text(&blocks));
            if shuffled.tree().is_ok() { shuffled } else { Document::from_text("random", in_order) }
        },
    )
}

fn blocks_of(table: &Table, name: &str, blocks: &mut Vec<String>) {
    let mut block = table.comment.as_ref().map_or_else(String::new, |comment| format!("{comment}\n"));
    let (open, close) = if table.array { ("[[", "]]") } else { ("[", "]") };
    block += &format!("{open}{name}{close}\n{}", parts(&table.parts));
    if table.array || table.named || table.inner.is_empty() {
        blocks.push(block);
    }
    for (number, inner) in table.inner.iter().enumerate() {
        let key = if inner.array { "inner list".to_owned() } else { format!("s{number}") };
        let key = if inner.array { format!("\"{key}\"") } else { key };
        blocks_of(inner, &format!("{name}.{key}"), blocks);
    }
}

fn parts(parts: &[Part]) -> String {
    let mut text = String::new();
    for (number, part) in parts.iter().enumerate() {
        match part {
            Part::Pair { comment, dots, value, behind } => {
                if let Some(comment) = comment {
                    text += &format!("{comment}\n");
                }
                let key = match dots {
                    0 => format!("p{number}"),
                    1 => format!("dot.p{number}"),
                    _ => format!("dot.\"two words\".p{number}"),
                };
                text += &format!("{key} = {value}");
                text += &behind.as_ref().map_or_else(String::new, |comment| format!("  {comment}"));
                text.push('\n');
            }
            Part::Blank => text.push('\n'),
            Part::Comment(comment) => text += &format!("{comment}\n"),
        }
    }
    text
}

/// A value to put into a file.
pub fn edit_value() -> impl Strategy<Value = EditValue> {
    let leaf = prop_oneof![
        any::<i64>().prop_map(EditValue::Integer),
        any::<i32>().prop_map(|number| EditValue::Float(f64::from(number) / 64.0)),
        any::<bool>().prop_map(EditValue::Boolean),
        ".{0,10}".prop_map(EditValue::String),
        Just(EditValue::String("two\nlines".to_owned())),
    ];
    leaf.prop_recursive(3, 12, 3, |inner| {
        let fields = vec(("[a-z ]{1,4}", inner.clone()), 0..3).prop_map(|mut fields| {
            fields.sort_by(|a, b| a.0.cmp(&b.0));
            fields.dedup_by(|a, b| a.0 == b.0);
            fields
        });
        prop_oneof![
            vec(inner, 0..3).prop_map(EditValue::Array),
            fields.clone().prop_map(EditValue::InlineTable),
            fields.clone().prop_map(EditValue::Table),
            vec(fields.prop_map(EditValue::Table), 1..3).prop_map(EditValue::Array),
        ]
    })
}
