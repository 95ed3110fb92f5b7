//! What a drawing holds that is left out.

use usvg::roxmltree::{Document, Node};

use super::{guard::href, size::Frame};

/// Notes for the maker, at most one of each kind.
pub(super) fn list(document: &Document, frame: &Frame) -> Vec<String> {
    let has = |test: &dyn Fn(Node) -> bool| document.descendants().filter(Node::is_element).any(test);
    let is = |name: &'static str| move |node: Node| node.tag_name().name() == name;
    let mut notes = Vec::new();
    let mut note = |applies: bool, text: &str| {
        if applies {
            notes.push(text.to_owned());
        }
    };
    note(frame.overruled, "the drawing gives a real size, but `user_unit` goes before it");
    note(has(&is("text")), "the text in the drawing is left out: turn it into paths to use it");
    note(has(&is("image")), "the pictures in the drawing are left out");
    note(has(&is_cut), "clipping and masks in the drawing are left out: paths are taken whole");
    note(has(&is("script")), "scripts in the drawing are not run");
    note(has(&is_elsewhere), "what the drawing takes from other files is left out");
    if let Some(which) = &frame.question {
        notes.push(format!(
            "the drawing is measured in pixels, and 96 to the inch are taken; it is {which}: say which by `user_unit`"
        ));
    }
    notes
}

/// Whether an element is clipped or masked, by an attribute or in its style.
fn is_cut(node: Node) -> bool {
    ["clip-path", "mask"].into_iter().any(|name| {
        let attribute = node.attribute(name).is_some_and(|value| value.trim() != "none");
        attribute || node.attribute("style").is_some_and(|style| style.contains(&format!("{name}:")))
    })
}

/// Whether a `use` shows an element of another file, or a style sheet takes in another one.
fn is_elsewhere(node: Node) -> bool {
    match node.tag_name().name() {
        "use" => href(node).is_some_and(|target| !target.starts_with('#')),
        "style" => node.children().filter_map(|n| n.text()).any(|style| style.contains("@import")),
        _ => false,
    }
}
