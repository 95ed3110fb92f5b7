//! A cake board, and what the presentation board is dressed with.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Angle, Colour, Length, Size};

/// A cake board. Give exactly one of `round`, `square` and `rectangle`.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// Diameter of a round board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<Size>,
    /// Side of a square board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub square: Option<Size>,
    /// [width, depth] of a rectangular board, seen from the front.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rectangle: Option<[Size; 2]>,
    /// Thickness.
    pub thickness: Size,
    /// Diameter of the hole in its middle, for the centre dowel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hole: Option<Size>,
    /// What it is made of; "card board" if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// How far its middle stands from the middle of the presentation board: [right, back].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset: Option<[Length; 2]>,
    /// How far it is turned, counter-clockwise seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
    /// Rolled icing over all of its top; only on the presentation board. Height 0 is the top of the icing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub icing: Option<BoardIcing>,
    /// A ribbon round its edge; only on the presentation board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ribbon: Option<Ribbon>,
}

/// Rolled icing over a presentation board, laid days before the cake stands on it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoardIcing {
    /// What it is made of; "rolled icing" if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Its colour, if not that of its material.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
    /// How thick it is rolled; 3 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Size>,
}

/// A ribbon round the edge of a presentation board, joined at the back.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ribbon {
    /// How wide it is; 15 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Size>,
    /// Its colour; white if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
}
