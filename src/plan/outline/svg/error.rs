//! What can be wrong with a drawing, and the fix.

use super::guard::{LARGEST_FILE, MOST_ATTRIBUTES, MOST_DEPTH, MOST_ELEMENTS};
use geom::units::UnitError;

/// Why no path could be read from a drawing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SvgError {
    /// The file is larger than a drawing has to be.
    #[error("the drawing is larger than {} MiB", LARGEST_FILE / (1024 * 1024))]
    TooLarge,
    /// The drawing has too many elements, copies by `use` counted.
    #[error("the drawing has more than {MOST_ELEMENTS} elements")]
    TooManyElements,
    /// An element has too many attributes.
    #[error("an element of the drawing, in line {line}, has more than {MOST_ATTRIBUTES} attributes")]
    TooManyAttributes {
        /// The line that it begins in, from 1.
        line: usize,
    },
    /// Groups lie in groups too often.
    #[error("the groups of the drawing are nested more than {MOST_DEPTH} deep")]
    TooDeep,
    /// An element is used within itself.
    #[error("the element \"{id}\" of the drawing is used within itself")]
    Endless {
        /// The id of the element.
        id: String,
    },
    /// The entities of the file could grow too large when spelled out.
    #[error("the drawing defines entities that could grow without end")]
    Entities,
    /// The style sheet is too large for so many elements.
    #[error("the style sheet of the drawing is too large")]
    StyleSheet,
    /// The file is compressed.
    #[error("the drawing is compressed (svgz)")]
    Compressed,
    /// The file is not UTF-8.
    #[error("the drawing is not UTF-8 text")]
    NotText,
    /// The file is not XML.
    #[error("the drawing is not well-formed XML: {reason}")]
    NotXml {
        /// What the XML reader says, with line and column.
        reason: String,
    },
    /// The file is XML, but no SVG.
    #[error("this is not an SVG drawing: {reason}")]
    NotSvg {
        /// What is missing.
        reason: String,
    },
    /// The drawing does not say how large it is.
    #[error("the drawing gives no real size: {found}")]
    NoRealSize {
        /// What it gives instead.
        found: String,
        /// How tall it is for each number of pixels in an inch, if it has numbers without a unit.
        which: Option<String>,
    },
    /// Width, height or viewBox is no size.
    #[error("the drawing has {attribute}=\"{value}\", which is no size")]
    BadSize {
        /// The attribute.
        attribute: &'static str,
        /// Its value.
        value: String,
    },
    /// There is no path at all.
    #[error("the drawing holds no path")]
    NoPath,
    /// There are several paths, and none was named.
    #[error("the drawing holds {count} paths, and none is named")]
    SeveralPaths {
        /// How many there are.
        count: usize,
        /// The ids of those that have one, sorted.
        ids: Vec<String>,
    },
    /// No path has the id that was named.
    #[error("the drawing has no path with the id \"{id}\"")]
    NoSuchId {
        /// The id.
        id: String,
        /// An id that may have been meant.
        nearest: Option<String>,
        /// The ids that there are, sorted.
        ids: Vec<String>,
    },
    /// No layer has the name that was given.
    #[error("the drawing has no layer called \"{layer}\"")]
    NoSuchLayer {
        /// The name.
        layer: String,
        /// A name that may have been meant.
        nearest: Option<String>,
        /// The names of the groups that have one, sorted.
        layers: Vec<String>,
    },
    /// The id belongs to something that is not drawn as a path.
    #[error("\"{id}\" is a `{element}` of the drawing that shows no path")]
    NotAPath {
        /// The id.
        id: String,
        /// The element that has it.
        element: String,
    },
    /// The id belongs to a group of several paths.
    #[error("\"{id}\" is a group of {count} paths")]
    SeveralInGroup {
        /// The id.
        id: String,
        /// How many paths it holds.
        count: usize,
    },
    /// The data of the path cannot be read to its end.
    #[error("the data of the path{} cannot be read: {reason}", quoted(id))]
    BrokenPath {
        /// The id of the path, if it has one.
        id: Option<String>,
        /// What is wrong and where.
        reason: String,
    },
    /// The path is larger or smaller than anything on a cake.
    #[error("the path is no size for a cake: {0}")]
    Extent(#[from] UnitError),
}

fn quoted(id: &Option<String>) -> String {
    id.as_ref().map(|id| format!(" \"{id}\"")).unwrap_or_default()
}

impl SvgError {
    /// How to fix it.
    pub fn fix(&self) -> String {
        match self {
            Self::TooLarge | Self::TooManyElements | Self::TooManyAttributes { .. } | Self::StyleSheet => {
                "save the one path that is needed as a drawing of its own".to_owned()
            }
            Self::TooDeep => "ungroup the path".to_owned(),
            Self::Endless { .. } => "take that use out".to_owned(),
            Self::Entities => "save the drawing as plain SVG".to_owned(),
            Self::Compressed => "save the drawing as plain SVG, not compressed".to_owned(),
            Self::NotText => "save the drawing as UTF-8".to_owned(),
            Self::NotXml { .. } | Self::NotSvg { .. } => "check that the file is an SVG drawing".to_owned(),
            Self::NoRealSize { which: Some(which), .. } => format!(
                "say how long one unit of the drawing is, as `user_unit = \"1 mm\"`; if it was drawn in pixels it is {which}"
            ),
            Self::NoRealSize { .. } => {
                "say how long one unit of the drawing is, as `user_unit = \"1 mm\"`, or give the drawing a \
                 width and height in mm, cm, in, pt or px"
                    .to_owned()
            }
            Self::BadSize { .. } => "give the drawing a width and height above zero".to_owned(),
            Self::NoPath => "draw a path; text has to be turned into paths first".to_owned(),
            Self::SeveralPaths { ids, .. } if ids.is_empty() => {
                "give the path an id in the drawing, and name it with `id`".to_owned()
            }
            Self::SeveralPaths { ids, .. } => format!("name one with `id`: there are {}", some(ids)),
            Self::NoSuchId { nearest: Some(nearest), .. } => format!("did you mean \"{nearest}\"?"),
            Self::NoSuchId { ids, .. } if ids.is_empty() => "no path has an id; give it one".to_owned(),
            Self::NoSuchId { ids, .. } => format!("there are {}", some(ids)),
            Self::NoSuchLayer { nearest: Some(nearest), .. } => format!("did you mean \"{nearest}\"?"),
            Self::NoSuchLayer { layers, .. } if layers.is_empty() => {
                "no group of the drawing has a name or an id; use `id`, or leave both out".to_owned()
            }
            Self::NoSuchLayer { layers, .. } => format!("there are {}", some(layers)),
            Self::NotAPath { element, .. } if element == "text" => {
                "turn the text into paths in the drawing".to_owned()
            }
            Self::NotAPath { .. } => "name a path that is shown".to_owned(),
            Self::SeveralInGroup { .. } => "name one path, or join them into one".to_owned(),
            Self::BrokenPath { .. } => "draw the path again, or correct its `d` attribute".to_owned(),
            Self::Extent(_) => "check the size of the drawing and `user_unit`".to_owned(),
        }
    }
}

/// The first few of `ids` as prose.
fn some(ids: &[String]) -> String {
    const MOST: usize = 12;
    let shown: Vec<String> = ids.iter().take(MOST).map(|id| format!("\"{id}\"")).collect();
    let more = if ids.len() > MOST { format!(" and {} more", ids.len() - MOST) } else { String::new() };
    shown.join(", ") + &more
}
