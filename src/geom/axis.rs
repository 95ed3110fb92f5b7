//! Directions along the axes of a model, as a cake file and the formats of models name them.

use glam::DVec3;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A direction along an axis of a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
pub enum Axis {
    /// Where x grows.
    #[serde(rename = "x")]
    X,
    /// Where x falls.
    #[serde(rename = "-x")]
    MinusX,
    /// Where y grows.
    #[serde(rename = "y")]
    Y,
    /// Where y falls.
    #[serde(rename = "-y")]
    MinusY,
    /// Where z grows.
    #[serde(rename = "z")]
    Z,
    /// Where z falls.
    #[serde(rename = "-z")]
    MinusZ,
}

/// What of a model stands over the middle of the board.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Centre {
    /// The middle of the box round it.
    #[default]
    Box,
    /// The middle of what stands on the board.
    Foot,
}

impl Axis {
    /// The direction.
    pub fn direction(self) -> DVec3 {
        match self {
            Self::X => DVec3::X,
            Self::MinusX => DVec3::NEG_X,
            Self::Y => DVec3::Y,
            Self::MinusY => DVec3::NEG_Y,
            Self::Z => DVec3::Z,
            Self::MinusZ => DVec3::NEG_Z,
        }
    }

    /// Where the front looks if nothing says so: as the formats have it that have this axis up.
    pub fn usual_front(self) -> Self {
        match self {
            Self::Z | Self::MinusZ | Self::X | Self::MinusX => Self::MinusY,
            Self::Y => Self::Z,
            Self::MinusY => Self::MinusZ,
        }
    }
}
