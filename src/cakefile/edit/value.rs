//! A value as an edit brings it: a TOML value with the form in which it is to be written.

use serde::{Deserialize, Serialize};
use toml_edit::{Datetime, Item, TableLike, Value};

use crate::{FieldPath, Step};

/// Keys and values of a table, in the order in which they are written.
pub type Fields = Vec<(String, EditValue)>;

/// A TOML value, and for tables and lists of tables the form of it.
///
/// Two forms of the same table are different values to `==`; [`EditValue::says_same`] looks past the form.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EditValue {
    /// Text.
    String(String),
    /// A whole number.
    Integer(i64),
    /// A number with a decimal point. JSON has no word for the numbers that are not finite, so those do not
    /// survive being serialized as JSON.
    Float(f64),
    /// True or false.
    Boolean(bool),
    /// A date, a time, or both.
    Datetime(#[serde(with = "datetime")] Datetime),
    /// A list. Where all that it holds are [`EditValue::Table`]s, it is an array of tables, each below its name
    /// in double brackets; otherwise, and where the place has no room for that, it is written in brackets.
    Array(Vec<EditValue>),
    /// A table in braces, in one line.
    InlineTable(Fields),
    /// A table below its name in brackets. Where the place has no room for that, as in a list in
    /// brackets, it is written in braces.
    Table(Fields),
}

impl EditValue {
    /// A table in braces.
    pub fn inline<K: Into<String>>(fields: impl IntoIterator<Item = (K, Self)>) -> Self {
        Self::InlineTable(fields.into_iter().map(|(key, value)| (key.into(), value)).collect())
    }

    /// A table below its name.
    pub fn table<K: Into<String>>(fields: impl IntoIterator<Item = (K, Self)>) -> Self {
        Self::Table(fields.into_iter().map(|(key, value)| (key.into(), value)).collect())
    }

    /// Its keys and values, if it is a table of either form.
    pub fn fields(&self) -> Option<&Fields> {
        match self {
            Self::InlineTable(fields) | Self::Table(fields) => Some(fields),
            _ => None,
        }
    }

    /// Whether it is written below a name in brackets where the place has room for that.
    pub fn is_below_header(&self) -> bool {
        match self {
            Self::Table(_) => true,
            Self::Array(values) => {
                !values.is_empty() && values.iter().all(|value| matches!(value, Self::Table(_)))
            }
            _ => false,
        }
    }

    /// The value at `path` in it, itself for the empty path.
    pub fn get(&self, path: &FieldPath) -> Option<&Self> {
        path.0.iter().try_fold(self, |value, step| match (value, step) {
            (Self::Array(values), Step::Index(index)) => values.get(*index),
            (value, Step::Key(key)) => {
                value.fields()?.iter().find(|(name, _)| name == key).map(|(_, value)| value)
            }
            _ => None,
        })
    }

    /// Its text, if it is text.
    pub fn as_str(&self) -> Option<&str> {
        if let Self::String(text) = self { Some(text) } else { None }
    }

    /// Its number, if it is a number of either kind.
    pub fn as_number(&self) -> Option<f64> {
        match self {
            Self::Integer(number) => Some(*number as f64),
            Self::Float(number) => Some(*number),
            _ => None,
        }
    }

    /// Whether the file would say the same with either: forms of tables and lists and the order of keys do
    /// not count. A number is never the same as one of the other kind; NaN is the same as NaN.
    pub fn says_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Float(a), Self::Float(b)) => a.to_bits() == b.to_bits() || (a.is_nan() && b.is_nan()),
            (Self::InlineTable(a) | Self::Table(a), Self::InlineTable(b) | Self::Table(b)) => {
                same_fields(a, b)
            }
            (Self::Array(a), Self::Array(b)) => {
                a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.says_same(b))
            }
            (a, b) => a == b,
        }
    }
}

fn same_fields(a: &Fields, b: &Fields) -> bool {
    let find = |key: &str| b.iter().find(|(other, _)| other == key).map(|(_, value)| value);
    a.len() == b.len() && a.iter().all(|(key, value)| find(key).is_some_and(|other| value.says_same(other)))
}

impl From<&Value> for EditValue {
    fn from(value: &Value) -> Self {
        match value {
            Value::String(text) => Self::String(text.value().clone()),
            Value::Integer(number) => Self::Integer(*number.value()),
            Value::Float(number) => Self::Float(*number.value()),
            Value::Boolean(flag) => Self::Boolean(*flag.value()),
            Value::Datetime(when) => Self::Datetime(*when.value()),
            Value::Array(values) => Self::Array(values.iter().map(Self::from).collect()),
            Value::InlineTable(table) => Self::InlineTable(fields_of(table)),
        }
    }
}

impl From<Value> for EditValue {
    fn from(value: Value) -> Self {
        Self::from(&value)
    }
}

impl TryFrom<&Item> for EditValue {
    type Error = NoValue;

    fn try_from(item: &Item) -> Result<Self, NoValue> {
        match item {
            Item::None => Err(NoValue),
            Item::Value(value) => Ok(value.into()),
            Item::Table(table) => Ok(Self::Table(fields_of(table))),
            Item::ArrayOfTables(tables) => {
                Ok(Self::Array(tables.iter().map(|table| Self::Table(fields_of(table))).collect()))
            }
        }
    }
}

/// There is no value in the item.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("there is no value")]
pub struct NoValue;

fn fields_of(table: &dyn TableLike) -> Fields {
    let field = |(key, item): (&str, &Item)| Some((key.to_owned(), EditValue::try_from(item).ok()?));
    table.iter().filter_map(field).collect()
}

macro_rules! from {
    ($($kind:ty => $variant:ident),*) => {$(
        impl From<$kind> for EditValue {
            fn from(value: $kind) -> Self {
                Self::$variant(value.into())
            }
        }
    )*};
}

from!(&str => String, String => String, i64 => Integer, i32 => Integer, u32 => Integer, f64 => Float,
    bool => Boolean, Datetime => Datetime);

impl<V: Into<EditValue>> From<Vec<V>> for EditValue {
    fn from(values: Vec<V>) -> Self {
        Self::Array(values.into_iter().map(Into::into).collect())
    }
}

/// Dates and times as text.
mod datetime {
    use serde::{Deserialize, Deserializer, Serializer, de::Error};
    use toml_edit::Datetime;

    pub fn serialize<S: Serializer>(when: &Datetime, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(when)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Datetime, D::Error> {
        String::deserialize(from)?.parse().map_err(D::Error::custom)
    }
}
