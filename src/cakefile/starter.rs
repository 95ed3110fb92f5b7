//! The cake file that a new cake begins with.

use toml::Value;

/// A cake file for a simple cake of two tiers called `name`, with remarks that teach the format.
///
/// It parses without a problem, whatever the name.
pub fn starter(name: &str) -> String {
    const TEXT: &str = include_str!("starter.toml");
    const NAME: &str = "\"First cake\"";
    let quoted = Value::from(single_line(name)).to_string();
    TEXT.replacen(NAME, &quoted, 1)
}

/// Line breaks would turn the name into text of several lines.
fn single_line(name: &str) -> String {
    name.replace(['\n', '\r'], " ")
}
