//! The rules that a cake file is checked against, taken from its own JSON Schema.
//!
//! Editors check a cake file against the schema of [`json_schema`]; the program checks it against
//! [`RuleBook`], which is compiled from that very schema. So the two cannot disagree, and a key that is
//! added to [`Cake`] is known to both at once. The compiler accepts only what schemars makes of the
//! structs in [`super::schema`]; anything else is an error, found by a test.

use std::collections::{BTreeMap, HashMap};

use schemars::{JsonSchema, Schema, generate::SchemaSettings, transform::RecursiveTransform};
use serde_json::Value;

use super::{FieldPath, Step, schema::Cake};

/// The JSON Schema (draft 2020-12) of a cake file, for editors.
pub fn json_schema() -> Value {
    json_schema_of::<Cake>()
}

/// The JSON Schema (draft 2020-12) of a file that holds a `D`.
pub fn json_schema_of<D: JsonSchema>() -> Value {
    SchemaSettings::draft2020_12()
        .for_deserialize()
        .with_transform(RecursiveTransform(drop_null as fn(&mut Schema)))
        .into_generator()
        .into_root_schema_for::<D>()
        .to_value()
}

/// TOML has no null: a key that may be left out is just left out.
fn drop_null(schema: &mut Schema) {
    let Some(object) = schema.as_object_mut() else { return };
    object.retain(|key, value| !(key == "default" && value.is_null()));
    if let Some(Value::Array(types)) = object.get_mut("type") {
        types.retain(|name| name != "null");
        if let [only] = &types[..] {
            let only = only.clone();
            object.insert("type".to_owned(), only);
        }
    }
    if let Some(Value::Array(options)) = object.get_mut("anyOf") {
        options.retain(|option| option.get("type").is_none_or(|name| name != "null"));
        if let [Value::Object(only)] = &options[..] {
            let only = only.clone();
            object.remove("anyOf");
            for (key, value) in only {
                object.entry(key).or_insert(value);
            }
        }
    }
}

/// What one value has to be.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Rule {
    /// The rule of this name in the book.
    Named(String),
    /// A table of known keys.
    Table(BTreeMap<String, Field>),
    /// A table of keys that the maker chooses.
    Map(Box<Rule>),
    /// A list of so many values.
    List { each: Box<Rule>, least: usize, most: usize },
    /// One of these words.
    Choice(Vec<String>),
    /// A length.
    Length,
    /// A length above zero.
    Size,
    /// An angle.
    Angle,
    /// A temperature.
    Temperature,
    /// A colour.
    Colour,
    /// A date with an hour.
    LocalTime,
    /// Any text.
    Text,
    /// A finite number between two bounds, both included.
    Number { least: f64, most: f64 },
    /// A whole number between two bounds, both included.
    Whole { least: i128, most: i128 },
    /// True or false.
    Flag,
}

/// A known key of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Field {
    pub rule: Rule,
    pub required: bool,
}

/// All rules of a kind of file.
#[derive(Debug)]
pub struct RuleBook {
    top: BTreeMap<String, Field>,
    named: HashMap<String, Rule>,
}

impl RuleBook {
    /// The rules of files that hold a `D`.
    pub(super) fn of<D: JsonSchema>() -> Self {
        Self::compile(&json_schema_of::<D>()).expect("a unit test compiles this very schema")
    }

    /// The keys at the top of the file.
    pub(super) fn top(&self) -> &BTreeMap<String, Field> {
        &self.top
    }

    /// Whether a value at `path` is a length.
    pub fn is_length(&self, path: &FieldPath) -> bool {
        let [Step::Key(top), inner @ ..] = path.0.as_slice() else { return false };
        let mut rule = self.top.get(top).map(|field| &field.rule);
        for step in inner {
            rule = match (rule.map(|rule| self.follow(rule)), step) {
                (Some(Rule::Table(fields)), Step::Key(key)) => fields.get(key).map(|field| &field.rule),
                (Some(Rule::Map(each)), Step::Key(_)) | (Some(Rule::List { each, .. }), Step::Index(_)) => {
                    Some(each)
                }
                _ => None,
            };
        }
        matches!(rule.map(|rule| self.follow(rule)), Some(Rule::Length | Rule::Size))
    }

    /// What a rule comes down to once names are followed.
    pub(super) fn follow<'a>(&'a self, mut rule: &'a Rule) -> &'a Rule {
        while let Rule::Named(name) = rule {
            rule = &self.named[name];
        }
        rule
    }

    fn compile(schema: &Value) -> Result<Self, String> {
        let named = schema.get("$defs").and_then(Value::as_object).into_iter().flatten();
        let named = named
            .map(|(name, schema)| Ok((name.clone(), Rule::compile(schema)?)))
            .collect::<Result<HashMap<_, _>, String>>()?;
        let Rule::Table(top) = Rule::compile(schema)? else { return Err("the top is no table".to_owned()) };
        let book = Self { top, named };
        book.check_names()?;
        Ok(book)
    }

    /// Every name that a rule uses is in the book and leads to a rule that is not a name itself.
    fn check_names(&self) -> Result<(), String> {
        let mut rules: Vec<&Rule> = self.named.values().collect();
        rules.extend(self.top.values().map(|field| &field.rule));
        while let Some(rule) = rules.pop() {
            match rule {
                Rule::Named(name) => match self.named.get(name) {
                    Some(Rule::Named(_)) | None => return Err(format!("{name} leads nowhere")),
                    Some(_) => {}
                },
                Rule::Table(fields) => rules.extend(fields.values().map(|field| &field.rule)),
                Rule::Map(each) | Rule::List { each, .. } => rules.push(each),
                _ => {}
            }
        }
        Ok(())
    }
}

impl Rule {
    fn compile(schema: &Value) -> Result<Self, String> {
        if let Some(reference) = schema.get("$ref").and_then(Value::as_str) {
            let name = reference.strip_prefix("#/$defs/").ok_or_else(|| unknown(schema))?;
            return Ok(Self::Named(name.to_owned()));
        }
        if let Some(words) = choice(schema) {
            return Ok(Self::Choice(words));
        }
        let kind = schema.get("type").and_then(Value::as_str);
        match (schema.get("format").and_then(Value::as_str), kind) {
            (Some("length"), _) => Ok(Self::Length),
            (Some("size"), _) => Ok(Self::Size),
            (Some("angle"), _) => Ok(Self::Angle),
            (Some("temperature"), _) => Ok(Self::Temperature),
            (Some("colour"), _) => Ok(Self::Colour),
            (None, Some("string")) => Ok(Self::Text),
            (None, Some("boolean")) => Ok(Self::Flag),
            (Some("local-time"), _) => Ok(Self::LocalTime),
            (Some("double"), Some("number")) => {
                let bound = |key: &str| schema.get(key).and_then(Value::as_f64);
                let (least, most) = (bound("minimum"), bound("maximum"));
                Ok(Self::Number { least: least.unwrap_or(f64::MIN), most: most.unwrap_or(f64::MAX) })
            }
            (Some("uint32"), Some("integer")) => {
                let bound = |key: &str| schema.get(key).and_then(Value::as_f64).map(|bound| bound as u32);
                let (least, most) = (bound("minimum").unwrap_or(0), bound("maximum").unwrap_or(u32::MAX));
                Ok(Self::Whole { least: least.into(), most: most.into() })
            }
            (None, Some("array")) => compile_list(schema),
            (None, Some("object")) => compile_table(schema),
            _ => Err(unknown(schema)),
        }
    }
}

fn unknown(schema: &Value) -> String {
    format!("no rule for {schema}")
}

/// The words of an enum, whether its variants carry descriptions (`oneOf`) or not (`enum`).
fn choice(schema: &Value) -> Option<Vec<String>> {
    let word = |value: &Value| value.as_str().map(str::to_owned);
    if let Some(words) = schema.get("enum").and_then(Value::as_array) {
        return words.iter().map(word).collect();
    }
    let options = schema.get("oneOf")?.as_array()?;
    options.iter().map(|option| word(option.get("const")?)).collect()
}

fn compile_list(schema: &Value) -> Result<Rule, String> {
    let each = Box::new(Rule::compile(schema.get("items").ok_or_else(|| unknown(schema))?)?);
    let bound = |key: &str| schema.get(key).and_then(Value::as_u64).map(|bound| bound as usize);
    let (least, most) = (bound("minItems").unwrap_or(0), bound("maxItems").unwrap_or(usize::MAX));
    Ok(Rule::List { each, least, most })
}

fn compile_table(schema: &Value) -> Result<Rule, String> {
    if let Some(each) = schema.get("additionalProperties").filter(|each| each.is_object()) {
        return Ok(Rule::Map(Box::new(Rule::compile(each)?)));
    }
    if schema.get("additionalProperties") != Some(&Value::Bool(false)) {
        return Err(format!("a table that lets unknown keys through: {schema}"));
    }
    let required = schema.get("required").and_then(Value::as_array);
    let is_required = |key: &str| required.is_some_and(|keys| keys.iter().any(|name| name == key));
    let fields = schema.get("properties").and_then(Value::as_object).into_iter().flatten();
    let fields = fields.map(|(key, schema)| {
        Ok((key.clone(), Field { rule: Rule::compile(schema)?, required: is_required(key) }))
    });
    Ok(Rule::Table(fields.collect::<Result<_, String>>()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_whole_schema_compiles() {
        let book = RuleBook::compile(&json_schema()).unwrap();
        assert!(book.top()["shape"].required && !book.top()["unit"].required);
        let Rule::Table(layer) = &book.named["Layer"] else { panic!("a layer is a table") };
        assert_eq!(layer["height"], Field { rule: Rule::Size, required: true });
        assert_eq!(book.named["Unit"], Rule::Choice(vec!["mm".into(), "cm".into(), "in".into()]));
    }

    #[test]
    fn the_schema_of_a_pantry_compiles() {
        let schema = json_schema_of::<super::super::schema_pantry::PantryFile>();
        let book = RuleBook::compile(&schema).unwrap();
        assert!(book.top()["pantry"].required);
        assert!(!schema.to_string().contains("null"));
    }

    #[test]
    fn no_null_is_left_in_the_schema() {
        assert!(!json_schema().to_string().contains("null"));
    }

    #[test]
    fn a_schema_that_cannot_be_checked_is_refused() {
        let loose = serde_json::json!({ "type": "object", "properties": {} });
        assert!(RuleBook::compile(&loose).is_err());
        let dangling = serde_json::json!({
            "type": "object", "additionalProperties": false, "properties": { "a": { "$ref": "#/$defs/B" } },
        });
        assert!(RuleBook::compile(&dangling).is_err());
    }
}
