//! What is drawn in white over something: a hole.

use usvg::{Group, Node, Options, Paint, Tree};

/// As light as this is white, of 255: what a program calls white after its colours were converted.
const WHITE: u8 = 250;

/// Whether each path of the drawing is white and has no line round it, in drawing order; `None` if that cannot be told,
/// as where some paths would not be seen at all. All of the drawing's own colours have to be left in `text`.
pub(super) fn whites(text: &str, options: &Options<'_>) -> Option<Vec<bool>> {
    let tree = Tree::from_str(text, options).ok()?;
    let mut whites = Vec::new();
    gather(tree.root(), &mut whites);
    Some(whites)
}

fn gather(group: &Group, whites: &mut Vec<bool>) {
    for node in group.children() {
        match node {
            Node::Path(path) => {
                let filled = path.fill().is_some_and(|fill| match fill.paint() {
                    Paint::Color(colour) => {
                        [colour.red, colour.green, colour.blue].iter().all(|c| *c >= WHITE)
                    }
                    _ => false,
                });
                whites.push(filled && path.stroke().is_none());
            }
            Node::Group(group) => gather(group, whites),
            Node::Image(_) | Node::Text(_) => {}
        }
    }
}
