//! A drawing in its own colours, to be shown as it is: a logo.

use usvg::Tree;

use super::{SvgError, guard, options_with};

/// A drawing in its own colours.
#[derive(Debug, Clone)]
pub struct ColouredDrawing {
    /// What is drawn.
    pub tree: Tree,
    /// Elements of the file that are not in it, as "text", each once.
    pub left_out: Vec<String>,
}

/// Reads an SVG drawing in its own colours. What lies in other files is never read.
///
/// # Errors
/// When the text is no SVG, and when the drawing is too large, too deep or refers to itself.
pub fn read_coloured(text: &[u8]) -> Result<ColouredDrawing, SvgError> {
    /// What has to be laid out, decoded or run before it can be seen.
    const LEFT_OUT: [&str; 5] = ["text", "image", "foreignObject", "animate", "script"];
    let text = guard::decode(text)?;
    let document = guard::parse(text)?;
    guard::check_weight(&document)?;
    let names =
        document.descendants().filter(usvg::roxmltree::Node::is_element).map(|node| node.tag_name().name());
    let mut left_out: Vec<String> = names.filter(|name| LEFT_OUT.contains(name)).map(str::to_owned).collect();
    left_out.sort_unstable();
    left_out.dedup();
    let tree = Tree::from_str(text, &options_with(""))
        .map_err(|error| SvgError::NotSvg { reason: error.to_string() })?;
    Ok(ColouredDrawing { tree, left_out })
}
