//! A detail that stands in several places.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Angle, Length};

/// The same detail several times: round the axis of the cake, or along a straight line.
///
/// Written once, it is one template, one cutter and one line in every list.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Repeat {
    /// How many there are, the first among them.
    pub count: u32,
    /// How far the first is turned round the axis from where it is written, counter-clockwise seen from above; 0 if left
    /// out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first: Option<Angle>,
    /// How far round the axis the last lies from the first. If left out, they go evenly all the way round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over: Option<Angle>,
    /// How much higher the last lies than the first, the others in between; 0 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rise: Option<Length>,
    /// Instead of round the axis, along a straight line: how far the last lies from the first, [right, back, up].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub along: Option<[Length; 3]>,
    /// How much further each is turned about its own middle than the one before it: an outline counter-clockwise seen from
    /// outside, anything else seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
    /// Every second one is the mirror image; false if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mirror: Option<bool>,
}
