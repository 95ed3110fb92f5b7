//! A rolled sausage of paste that is laid on the surface, along an edge of it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Angle, Length, Size};

/// A rolled sausage laid on the icing: round the foot or the rim, round the side at a height, along the border of a zone,
/// or along a line on the surface. For adds on the icing only.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RollTool {
    /// What it is laid along.
    pub along: RollAlong,
    /// How thick it is; of two strands twisted together, over both.
    pub diameter: Size,
    /// Bearing at which a part of a ring begins: 0 at the front, counter-clockwise seen from above. All round if `from`
    /// and `to` are left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Angle>,
    /// Bearing at which it ends, counter-clockwise from `from`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Angle>,
    /// Press it in up to its middle; false if left out: it lies on the surface, a tenth of its half thickness flattened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sunk: Option<bool>,
    /// Two strands twisted round each other; false if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub twisted: Option<bool>,
    /// How far from each open end it begins to thin down; 0 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taper: Option<Length>,
    /// Thickness at the very ends of a tapered one; a quarter of `diameter` if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end_diameter: Option<Size>,
}

/// What a roll is laid along. Give exactly one of `foot`, `rim`, `height`, `zone` and `path`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RollAlong {
    /// Round the foot, on the board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foot: Option<bool>,
    /// Round the upper edge, where the top begins.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rim: Option<bool>,
    /// Round the side where the surface has this height above the board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Along the border of the zone of this name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Which border of the zone: "upper" (if left out) or "lower". A zone on the top and one within an outline have only
    /// one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub border: Option<Border>,
    /// Along a line on the side that bends smoothly through these places.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<Vec<OnSide>>,
}

/// A border of a zone that goes round the cake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Border {
    /// Where it ends above.
    Upper,
    /// Where it begins below.
    Lower,
}

/// A place on the side of the cake.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OnSide {
    /// Its bearing: 0 at the front, counter-clockwise seen from above; beyond 360 it goes on round the cake.
    pub bearing: Angle,
    /// Its height above the board.
    pub height: Length,
}
