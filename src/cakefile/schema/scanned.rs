//! A client's model as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use geom::axis::{Axis, Centre};

use super::{Angle, Size};

/// A model of the shape from a scanner or a modelling program: STL, OBJ, 3MF or glTF. It is stood on its lowest
/// point and made a sound solid; the plan tells what was done to it.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scanned {
    /// The file, relative to the cake file.
    pub file: String,
    /// Unit of the numbers in the file. STL and OBJ have none of their own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<ModelUnit>,
    /// How tall it is to stand above the board, whatever the unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Size>,
    /// Which of the model's axes is up: "z" for STL and 3MF and "y" for OBJ and glTF if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up: Option<Axis>,
    /// Along which of the model's axes its front looks: "-y" where z is up and "z" where y is up if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub front: Option<Axis>,
    /// How far it is turned on the board after that, counter-clockwise seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
    /// How much is cut off at its bottom, so that it has a foot to stand on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_bottom: Option<Size>,
    /// What stands over the middle of the board: the middle of its whole "box" or of its "foot".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub centre: Option<Centre>,
    /// Open seams no wider than this are closed; 0.1 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub close_gaps: Option<Size>,
    /// Holes with a rim no longer than this are filled flat; 60 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill: Option<Size>,
}

/// Unit of the numbers in a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
pub enum ModelUnit {
    /// Millimetres.
    #[serde(rename = "mm")]
    Millimetre,
    /// Centimetres.
    #[serde(rename = "cm")]
    Centimetre,
    /// Metres.
    #[serde(rename = "m")]
    Metre,
    /// Inches.
    #[serde(rename = "in")]
    Inch,
    /// Feet.
    #[serde(rename = "ft")]
    Foot,
}
