//! The finished outside as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Length, Outline, Scanned, Size};

/// The finished outside. Give exactly one kind.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shape {
    /// A half outline turned about the upright axis, as on a potter's wheel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turned: Option<Outline>,
    /// A front and a side silhouette crossed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crossed: Option<Crossed>,
    /// Outlines from above at several heights, joined.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sections: Option<Sections>,
    /// A model of the shape from a scanner or a modelling program.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scanned: Option<Scanned>,
}

/// A front and a side silhouette crossed: what lies inside both when each is carried straight through.
///
/// Both stand on the board (their lowest points lie at height 0) and meet at their centre lines: x = 0 of
/// points and strokes, the middle of a drawing. Holes go straight through.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Crossed {
    /// Seen from the front: points [right, up].
    pub front: Outline,
    /// Seen from the right-hand side, the front of the cake to the left: points [back, up].
    pub side: Outline,
    /// Seen from above, the front of the cake below: points [right, back]. Only what lies inside it stays.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above: Option<Outline>,
    /// Rounds the upright edges where the silhouettes meet: radius of the corners of every level section.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corner: Option<Size>,
    /// Rounds every level section whole: 2 makes ellipses, 2.5 to 4 squarer ones. Instead of `corner`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub roundness: Option<f64>,
    /// How many times larger the front is than it is drawn; 1 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub front_scale: Option<f64>,
    /// How many times larger the side is than it is drawn; 1 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side_scale: Option<f64>,
    /// How many times larger the outline from above is than it is drawn; 1 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above_scale: Option<f64>,
    /// How far the heights of front and side may differ; 1 mm if left out. What stands out is cut off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_tolerance: Option<Size>,
}

/// Outlines from above at rising heights, the first on the board, joined from each to the next.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sections {
    /// The outlines from the board up.
    pub at: Vec<SectionAt>,
    /// Joins them by curves that run through all of them, instead of straight from each to the next.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub smooth: Option<bool>,
}

/// An outline at a height. Give `outline` or, at the top or bottom, `tip`.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SectionAt {
    /// Height above the board.
    pub height: Length,
    /// Seen from above, the front of the cake below: points [right, back]; a circle, rectangle or ellipse lies about
    /// its own middle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline: Option<Outline>,
    /// The shape ends in this point: [right, back].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip: Option<[Length; 2]>,
    /// How far the middle of the outline stands from the middle of the board: [right, back].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset: Option<[Length; 2]>,
    /// How far the outline is turned, counter-clockwise seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<super::Angle>,
}
