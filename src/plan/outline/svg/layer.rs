//! Layers: groups with a name that the drawing program shows.
//!
//! SVG knows no layers, so programs that draw write a group for each, with its name in an attribute of
//! their own (`label` in a namespace, `data-name`) or as its id. Any of these is taken.

use usvg::roxmltree::{Document, Node};

use super::SvgError;
use cakefile::nearest;

/// The id that a layer without one is given.
const STAND_IN: &str = "crumbline-layer";

/// A layer that was found, and what has to be written into the drawing so that it can be found by id.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Layer {
    pub id: String,
    /// Bytes to put in at a place of the text.
    pub insertion: Option<(usize, String)>,
}

/// The layer called `name`.
pub(super) fn find(document: &Document, name: &str) -> Result<Layer, SvgError> {
    let groups = || document.descendants().filter(|node| node.tag_name().name() == "g");
    let called = groups().find(|node| label(*node) == Some(name));
    let Some(node) = called.or_else(|| groups().find(|node| node.attribute("id") == Some(name))) else {
        let mut layers: Vec<String> =
            groups().filter_map(|n| label(n).or(n.attribute("id"))).map(str::to_owned).collect();
        layers.sort();
        layers.dedup();
        let nearest = nearest(name, layers.iter().map(String::as_str)).map(str::to_owned);
        return Err(SvgError::NoSuchLayer { layer: name.to_owned(), nearest, layers });
    };
    if let Some(id) = node.attribute("id").filter(|id| !id.is_empty()) {
        return Ok(Layer { id: id.to_owned(), insertion: None });
    }
    // Where the name of the tag ends; a prefix may stand before it.
    let start = node.range().start;
    let tag = &document.input_text()[start..];
    let end = start + tag.find(|c: char| c.is_whitespace() || c == '>' || c == '/').unwrap_or(tag.len());
    Ok(Layer { id: STAND_IN.to_owned(), insertion: Some((end, format!(" id=\"{STAND_IN}\""))) })
}

/// The name of a group that a drawing program shows.
fn label<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    let named = |name: &str| node.attributes().find(|a| a.name() == name && a.namespace().is_some());
    named("label").map(|attribute| attribute.value()).or_else(|| node.attribute("data-name"))
}
