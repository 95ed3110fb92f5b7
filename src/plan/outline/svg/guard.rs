//! Keeps drawings away that would take all the time or memory there is.
//!
//! roxmltree stops entity loops and usvg stops at a million elements, but neither bounds what entities
//! spell out to, how deep usvg recurses on a small stack, or what style rules times elements cost. So
//! all of that is bounded here, before usvg sees the drawing.

use std::collections::{HashMap, hash_map::Entry};

use usvg::roxmltree::{Document, Node, NodeId, ParsingOptions};

use super::SvgError;

/// Most bytes of a drawing.
pub(super) const LARGEST_FILE: usize = 16 * 1024 * 1024;
/// Most elements of a drawing, copies by `use` counted.
pub(super) const MOST_ELEMENTS: usize = 100_000;
/// Most levels of groups, `use` counted.
pub(super) const MOST_DEPTH: usize = 100;
/// Most attributes of an element.
pub(super) const MOST_ATTRIBUTES: usize = 1000;
/// Most bytes that entities may spell out to.
const MOST_ENTITY_BYTES: usize = 64 * 1024 * 1024;
/// Most bytes of style sheets times elements; at some ten nanoseconds each, seconds.
const MOST_STYLE_WORK: usize = 1_000_000_000;

/// The text of a drawing.
pub(super) fn decode(bytes: &[u8]) -> Result<&str, SvgError> {
    const GZIP: &[u8] = &[0x1f, 0x8b];
    if bytes.len() > LARGEST_FILE {
        return Err(SvgError::TooLarge);
    }
    if bytes.starts_with(GZIP) {
        return Err(SvgError::Compressed);
    }
    let text = str::from_utf8(bytes).map_err(|_| SvgError::NotText)?;
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

/// The XML of a drawing. External entities are never read.
pub(super) fn parse(text: &str) -> Result<Document<'_>, SvgError> {
    check_entities(text)?;
    check_attributes(text)?;
    // Text and remarks between elements are nodes, too.
    let nodes_limit = 5 * MOST_ELEMENTS as u32;
    let options = ParsingOptions { allow_dtd: true, nodes_limit, ..ParsingOptions::default() };
    match Document::parse_with_options(text, options) {
        Ok(document) if document.root_element().tag_name().name() == "svg" => Ok(document),
        Ok(document) => {
            let name = document.root_element().tag_name().name();
            Err(SvgError::NotSvg { reason: format!("it begins with <{name}>") })
        }
        Err(usvg::roxmltree::Error::NodesLimitReached) => Err(SvgError::TooManyElements),
        Err(error) => Err(SvgError::NotXml { reason: error.to_string() }),
    }
}

/// Bounds what all references can spell out to: roxmltree follows at most 255 more from each.
fn check_entities(text: &str) -> Result<(), SvgError> {
    const MOST_FOLLOWED: usize = 256;
    let longest = text.match_indices("<!ENTITY").map(|(at, _)| entity_length(&text[at..])).max();
    let references = text.bytes().filter(|&byte| byte == b'&').count();
    match longest {
        Some(longest) if references * MOST_FOLLOWED * longest > MOST_ENTITY_BYTES => Err(SvgError::Entities),
        _ => Ok(()),
    }
}

/// Bounds the attributes of each element: roxmltree compares each with all the others.
fn check_attributes(text: &str) -> Result<(), SvgError> {
    let mut at = 0;
    while let Some(begin) = text[at..].find('<').map(|found| at + found) {
        let tag = &text[begin..];
        let skipped = [("<!--", "-->"), ("<![CDATA[", "]]>"), ("<?", "?>")]
            .into_iter()
            .find(|(opens, _)| tag.starts_with(opens))
            .map(|(_, closes)| tag.find(closes).map_or(tag.len(), |end| end + closes.len()));
        let (length, attributes) = skipped.map_or_else(|| measured(tag), |length| (length, 0));
        if attributes > MOST_ATTRIBUTES {
            let line = 1 + text.bytes().take(begin).filter(|byte| *byte == b'\n').count();
            return Err(SvgError::TooManyAttributes { line });
        }
        at = begin + length;
    }
    Ok(())
}

/// The length of a tag or a declaration, and how many attributes it has, those that an entity spells out among them.
fn measured(tag: &str) -> (usize, usize) {
    let declares = tag.starts_with("<!");
    let (mut quote, mut attributes) = (None, 0);
    for (at, byte) in tag.bytes().enumerate().skip(1) {
        match (quote, byte) {
            (None, b'>' | b'<') => return (at, attributes),
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(begun), _) if byte == begun => quote = None,
            (None, b'=') => attributes += 1,
            (Some(_), b'=') if declares => attributes += 1,
            _ => {}
        }
    }
    (tag.len(), attributes)
}

/// Length of the value, which stands between the first two quotes of one kind.
fn entity_length(declaration: &str) -> usize {
    let value = declaration.find(['"', '\'']).map_or("", |at| &declaration[at..]);
    let quote = if value.starts_with('"') { '"' } else { '\'' };
    value.get(1..).and_then(|value| value.find(quote)).unwrap_or(0)
}

/// Bounds the work that usvg has with the elements.
pub(super) fn check_weight(document: &Document) -> Result<(), SvgError> {
    let elements = document.descendants().filter(Node::is_element);
    let by_id = elements.clone().rev().filter_map(|node| Some((node.attribute("id")?, node))).collect();
    let total = Scale { by_id, known: HashMap::new() }.weigh(document.root_element(), 0)?.elements;
    let styles = elements.filter(|node| node.tag_name().name() == "style");
    let style_bytes: usize =
        styles.flat_map(|node| node.children()).filter_map(|n| n.text()).map(str::len).sum();
    if style_bytes.saturating_mul(total) > MOST_STYLE_WORK { Err(SvgError::StyleSheet) } else { Ok(()) }
}

/// What an element comes to once every `use` in it is spelled out.
#[derive(Clone, Copy)]
struct Weight {
    elements: usize,
    levels: usize,
}

struct Scale<'a, 'i> {
    by_id: HashMap<&'a str, Node<'a, 'i>>,
    /// `None` while an element is being weighed.
    known: HashMap<NodeId, Option<Weight>>,
}

impl<'a, 'i> Scale<'a, 'i> {
    fn weigh(&mut self, node: Node<'a, 'i>, depth: usize) -> Result<Weight, SvgError> {
        let known = match self.known.entry(node.id()) {
            Entry::Occupied(known) => Some(known.get().ok_or_else(|| endless(node))?),
            Entry::Vacant(vacant) => {
                vacant.insert(None);
                None
            }
        };
        if depth + known.map_or(0, |weight| weight.levels) > MOST_DEPTH {
            return Err(SvgError::TooDeep);
        }
        if let Some(weight) = known {
            return Ok(weight);
        }
        let mut weight = Weight { elements: 1, levels: 0 };
        let used = self.used(node);
        for part in node.children().filter(Node::is_element).chain(used) {
            let part = self.weigh(part, depth + 1)?;
            weight.elements += part.elements;
            weight.levels = weight.levels.max(part.levels + 1);
            if weight.elements > MOST_ELEMENTS {
                return Err(SvgError::TooManyElements);
            }
        }
        self.known.insert(node.id(), Some(weight));
        Ok(weight)
    }

    /// The element of this drawing that a `use` shows.
    fn used(&self, node: Node) -> Option<Node<'a, 'i>> {
        if node.tag_name().name() != "use" {
            return None;
        }
        let target = href(node)?.strip_prefix('#')?;
        self.by_id.get(target).copied()
    }
}

fn endless(node: Node) -> SvgError {
    SvgError::Endless { id: node.attribute("id").unwrap_or_default().to_owned() }
}

/// What an element refers to, in the new spelling or the old one.
pub(super) fn href<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    const XLINK: &str = "http://www.w3.org/1999/xlink";
    node.attribute("href").or_else(|| node.attribute((XLINK, "href"))).map(str::trim)
}
