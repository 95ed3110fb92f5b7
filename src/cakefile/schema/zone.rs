//! A part of a covering with its own colour or material.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Angle, Colour, Finish, Length, Outline, Size};

/// A part of a covering. Give exactly one of `top`, `side`, `between` and `outline`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Zone {
    /// What it is called.
    pub name: String,
    /// The top of a turned shape: from its middle to its upper edge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub top: Option<bool>,
    /// The side of a turned shape: all that is not its top.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<bool>,
    /// All that lies between two heights above the board: [lower, upper].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub between: Option<[Length; 2]>,
    /// All that lies within an outline on the surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline: Option<ZoneOutline>,
    /// What it is made of, if not what the covering is: rolled where the covering is rolled, spread where it is spread.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Its colour, if not that of its material.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
    /// How thick it is laid over the covering, so that it stands out. If left out, it takes the covering's place and is as
    /// thick.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Size>,
    /// The bearing at which it is joined, counted from the front; that of the covering if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seam: Option<Angle>,
    /// What is painted, brushed or dusted on it at the end, in this order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub finish: Vec<Finish>,
}

/// An outline on the surface. Give `height` on the side, or `top` on the top.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ZoneOutline {
    /// The outline.
    pub shape: Outline,
    /// Height of its middle above the board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// It lies on the top: its middle [right, back] from the middle of the board, seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub top: Option<[Length; 2]>,
    /// Bearing of its middle: 0 at the front, counter-clockwise seen from above. 0 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearing: Option<Angle>,
    /// How far it is turned, counter-clockwise seen from outside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
    /// Wrap it round the side as a paper strip would lie; false (straight in) if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrap: Option<bool>,
}
