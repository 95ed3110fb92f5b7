//! What a cake file can say, table by table: read from its JSON Schema, so that forms show the same keys with the same
//! help as an editor does.

use std::{collections::BTreeMap, sync::LazyLock};

use cakefile::json_schema;
use serde_json::{Map, Value};

/// A table: which keys it can have.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it is, in a sentence or two.
    pub help: String,
    /// Its keys, in the order of the schema.
    pub entries: Vec<Entry>,
}

/// A key of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// As it stands in the file.
    pub key: String,
    /// What it means, for the maker.
    pub help: String,
    /// Whether a table without it is wrong.
    pub is_required: bool,
    /// What it holds.
    pub kind: Kind,
}

/// What a value is.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// One value.
    Scalar(Scalar),
    /// So many of these in a row, as [right, back].
    Row(Box<Kind>, usize),
    /// Any number of these.
    List(Box<Kind>),
    /// A table, by its name in the schema.
    Table(String),
    /// Names that the maker chooses, each with one of these.
    Map(Box<Kind>),
}

/// One value.
#[derive(Debug, Clone, PartialEq)]
pub enum Scalar {
    /// Text.
    Text,
    /// A colour, as "#d9a7b0".
    Colour,
    /// A day and an hour.
    LocalTime,
    /// Yes or no.
    Flag,
    /// A whole number.
    Whole,
    /// A number without a unit.
    Number,
    /// A length, which may be negative.
    Length,
    /// A length above 0.
    Size,
    /// An angle.
    Angle,
    /// A temperature.
    Temperature,
    /// One of these words, each with its meaning.
    Choice(Vec<(String, String)>),
}

/// All tables of the cake file.
#[derive(Debug)]
pub struct Schema {
    top: Table,
    tables: BTreeMap<String, Table>,
}

impl Schema {
    /// The schema of cake files.
    pub fn of_cakes() -> &'static Self {
        static CAKES: LazyLock<Schema> = LazyLock::new(|| Schema::from(&json_schema()));
        &CAKES
    }

    /// What stands at the top of the file.
    pub fn top(&self) -> &Table {
        &self.top
    }

    /// The table of this name; an empty one if there is none.
    pub fn table(&self, name: &str) -> &Table {
        static NONE: Table = Table { help: String::new(), entries: Vec::new() };
        self.tables.get(name).unwrap_or(&NONE)
    }
}

impl From<&Value> for Schema {
    fn from(schema: &Value) -> Self {
        let empty = Map::new();
        let defs = schema["$defs"].as_object().unwrap_or(&empty);
        let table = |(name, node): (&String, &Value)| {
            node["properties"].is_object().then(|| (name.clone(), table(node, defs)))
        };
        Self { top: self::table(schema, defs), tables: defs.iter().filter_map(table).collect() }
    }
}

fn table(node: &Value, defs: &Map<String, Value>) -> Table {
    let required: Vec<&str> =
        node["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let entries = node["properties"].as_object().into_iter().flatten().map(|(key, node)| Entry {
        key: key.clone(),
        help: help(node),
        is_required: required.contains(&key.as_str()),
        kind: kind(node, defs),
    });
    let mut entries: Vec<Entry> = entries.collect();
    // The schema lists them by the alphabet; a maker thinks of what has to be there first.
    entries.sort_by_key(|entry| (place(&entry.key), !entry.is_required));
    Table { help: help(node), entries }
}

/// Keys that come first in a form, in this order; all others after them.
const FIRST: [&str; 20] = [
    "name",
    "client",
    "deliver",
    "serves",
    "without",
    "material",
    "thickness",
    "colour",
    "way",
    "seam",
    "pan",
    "height",
    "from",
    "to",
    "points",
    "draw",
    "file",
    "cut",
    "add",
    "shape",
];

fn place(key: &str) -> usize {
    FIRST.iter().position(|first| *first == key).unwrap_or(FIRST.len())
}

fn help(node: &Value) -> String {
    node["description"].as_str().unwrap_or_default().replace('\n', " ")
}

fn kind(node: &Value, defs: &Map<String, Value>) -> Kind {
    if let Some(name) = node["$ref"].as_str().and_then(|path| path.strip_prefix("#/$defs/")) {
        return match defs.get(name) {
            Some(def) if def["properties"].is_object() => Kind::Table(name.to_owned()),
            Some(def) => kind(def, defs),
            None => Kind::Scalar(Scalar::Text),
        };
    }
    if let Some(items) = node.get("items") {
        let one = Box::new(kind(items, defs));
        let (least, most) = (node["minItems"].as_u64(), node["maxItems"].as_u64());
        return match (least, most) {
            (Some(least), Some(most)) if least == most => Kind::Row(one, least as usize),
            _ => Kind::List(one),
        };
    }
    if node["additionalProperties"].is_object() {
        return Kind::Map(Box::new(kind(&node["additionalProperties"], defs)));
    }
    Kind::Scalar(scalar(node))
}

fn scalar(node: &Value) -> Scalar {
    if let Some(choices) = node["oneOf"].as_array() {
        let choice = |node: &Value| Some((node["const"].as_str()?.to_owned(), help(node)));
        return Scalar::Choice(choices.iter().filter_map(choice).collect());
    }
    match (node["format"].as_str(), node["type"].as_str()) {
        (Some("length"), _) => Scalar::Length,
        (Some("size"), _) => Scalar::Size,
        (Some("angle"), _) => Scalar::Angle,
        (Some("temperature"), _) => Scalar::Temperature,
        (Some("colour"), _) => Scalar::Colour,
        (Some("local-time"), _) => Scalar::LocalTime,
        (_, Some("boolean")) => Scalar::Flag,
        (_, Some("integer")) => Scalar::Whole,
        (_, Some("number")) => Scalar::Number,
        _ => Scalar::Text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry<'t>(table: &'t Table, key: &str) -> &'t Entry {
        table.entries.iter().find(|entry| entry.key == key).unwrap_or_else(|| panic!("no {key}"))
    }

    #[test]
    fn every_key_has_help_and_leads_to_a_table_that_is_there() {
        let schema = Schema::of_cakes();
        assert!(schema.tables.len() > 40, "{}", schema.tables.len());
        for (name, table) in schema.tables.iter().map(|(n, t)| (n.as_str(), t)).chain([("", &schema.top)]) {
            for entry in &table.entries {
                assert!(!entry.help.is_empty(), "{name}.{}", entry.key);
                let mut kind = &entry.kind;
                while let Kind::Row(inner, _) | Kind::List(inner) | Kind::Map(inner) = kind {
                    kind = inner;
                }
                if let Kind::Table(inner) = kind {
                    assert!(!schema.table(inner).entries.is_empty(), "{name}.{} → {inner}", entry.key);
                }
            }
        }
    }

    #[test]
    fn kinds_are_those_of_the_file() {
        let schema = Schema::of_cakes();
        let layer = schema.table("Layer");
        assert_eq!(entry(layer, "height").kind, Kind::Scalar(Scalar::Size));
        assert!(entry(layer, "height").is_required && !entry(layer, "turn").is_required);
        assert_eq!(entry(layer, "offset").kind, Kind::Row(Box::new(Kind::Scalar(Scalar::Length)), 2));
        assert_eq!(entry(layer, "pan").kind, Kind::Table("Pan".into()));
        let covering = schema.table("Covering");
        let Kind::Scalar(Scalar::Choice(ways)) = &entry(covering, "way").kind else { panic!("no choice") };
        assert_eq!(
            ways.iter().map(|(word, _)| word.as_str()).collect::<Vec<_>>(),
            ["draped", "disc-and-wrap", "panels", "bands"]
        );
        assert_eq!(entry(schema.top(), "tier").kind, Kind::List(Box::new(Kind::Table("Tier".into()))));
        assert_eq!(entry(schema.top(), "material").kind, Kind::Map(Box::new(Kind::Table("Material".into()))));
    }
}
