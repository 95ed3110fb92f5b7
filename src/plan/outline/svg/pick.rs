//! Finds the paths of a drawing that are wanted.

use svgtypes::PathParser;
use usvg::{
    Group, Node, Path, Tree,
    roxmltree::{self, Document},
};

use super::{SvgError, is_shape};
use cakefile::nearest;

/// The path called `id`, all paths of the group called `id`, or all paths of the drawing.
pub(super) fn paths<'t>(
    tree: &'t Tree,
    id: Option<&str>,
    document: &Document,
) -> Result<Vec<&'t Path>, SvgError> {
    match id {
        Some(id) => named(tree, id, document),
        None => Some(all(tree.root())).filter(|all| !all.is_empty()).ok_or(SvgError::NoPath),
    }
}

fn named<'t>(tree: &'t Tree, id: &str, document: &Document) -> Result<Vec<&'t Path>, SvgError> {
    if let Some(path) = all(tree.root()).into_iter().find(|path| path.id() == id) {
        return Ok(vec![path]);
    }
    let grouped = group(tree.root(), id).map(all).unwrap_or_default();
    if !grouped.is_empty() {
        return Ok(grouped);
    }
    if let Some(node) = document.descendants().find(|node| node.attribute("id") == Some(id)) {
        let element = node.tag_name().name().to_owned();
        return Err(SvgError::NotAPath { id: id.to_owned(), element });
    }
    let ids = ids(tree);
    let nearest = nearest(id, ids.iter().map(String::as_str)).map(str::to_owned);
    Err(SvgError::NoSuchId { id: id.to_owned(), nearest, ids })
}

/// All paths in `group`, at any depth, in drawing order.
pub(super) fn all(group: &Group) -> Vec<&Path> {
    let mut found = Vec::new();
    let mut open: Vec<&Node> = group.children().iter().rev().collect();
    while let Some(node) = open.pop() {
        match node {
            Node::Path(path) => found.push(path.as_ref()),
            Node::Group(group) => open.extend(group.children().iter().rev()),
            Node::Image(_) | Node::Text(_) => {}
        }
    }
    found
}

fn group<'t>(root: &'t Group, id: &str) -> Option<&'t Group> {
    let mut open = vec![root];
    while let Some(group) = open.pop() {
        if group.id() == id {
            return Some(group);
        }
        open.extend(group.children().iter().filter_map(|node| match node {
            Node::Group(group) => Some(group.as_ref()),
            _ => None,
        }));
    }
    None
}

/// The ids of all paths that have one, sorted.
pub(super) fn ids(tree: &Tree) -> Vec<String> {
    let ids = all(tree.root()).into_iter().map(|path| path.id().to_owned());
    let mut ids: Vec<String> = ids.filter(|id| !id.is_empty()).collect();
    ids.sort();
    ids.dedup();
    ids
}

/// Refuses path data that cannot be read to its end, of which usvg would draw the first part. Looks at
/// what `id` names, or at everything.
pub(super) fn check_path_data(document: &Document, id: Option<&str>) -> Result<(), SvgError> {
    let wanted = |node: &roxmltree::Node| {
        is_shape(node) && id.is_none_or(|id| node.ancestors().any(|node| node.attribute("id") == Some(id)))
    };
    for node in document.descendants().filter(wanted) {
        let Some(data) = node.attribute("d") else { continue };
        if let Some(error) = PathParser::from(data).find_map(Result::err) {
            let id = node.attribute("id").map(str::to_owned);
            return Err(SvgError::BrokenPath { id, reason: error.to_string() });
        }
    }
    Ok(())
}
