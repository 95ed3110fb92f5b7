//! An outline taken from a picture, as a cake file writes it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::quantity::Size;

/// An outline traced from a picture that lies beside the cake file: a photograph of a paper template, a
/// drawing, a silhouette. How large it is is seen from the scale card (`crumbline card`) that lies in its
/// plane, or said in one way: `height`, `width`, or `marks` and `distance`.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PictureOutline {
    /// The picture (PNG, JPEG or GIF), relative to the cake file.
    pub file: String,
    /// How high the outline really is, from its lowest to its highest point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Size>,
    /// How wide the outline really is; of a turned shape the whole width, not half of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Size>,
    /// Two points of the picture that are `distance` apart, such as the ends of a ruler: each
    /// [right, down] from the upper left corner of the picture as it is shown, in pixels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marks: Option<[[f64; 2]; 2]>,
    /// How far apart the two `marks` really are.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance: Option<Size>,
    /// Two more points, along a line that is really at right angles to that of `marks`, as two sides of a
    /// sheet of paper are: a picture taken at a tilt from far off is put right along both. Perspective, near
    /// parts larger than far ones, stays in; only the card takes it out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marks_across: Option<[[f64; 2]; 2]>,
    /// How far apart the two `marks_across` really are.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance_across: Option<Size>,
    /// Whether the scale card is in the picture: it gives the scale and takes the camera's perspective out of
    /// all that lies flat in its plane (not the lens's own distortion). Looked for if left out; true if it must
    /// be there, false if it is not to be looked for. A `height`, a `width` or `marks` rule over its scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card: Option<bool>,
    /// What tells the outline from its ground: "brightness", "transparency" or "colour" (how far from the
    /// colour of the picture's border). Transparency if most of the border is transparent, otherwise
    /// brightness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub separate_by: Option<SeparateBy>,
    /// Where brightness, opacity or distance of colour is cut, from 0 to 1; found from the picture (by
    /// Otsu's method) if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub threshold: Option<f64>,
    /// Whether the ground is "light" or "dark"; found from the picture's border if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ground: Option<Ground>,
    /// Spots and holes smaller than a disc of this diameter are dropped; 2 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speckle: Option<Size>,
    /// Keep only the "largest" region or "all" of them; the largest if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keep: Option<Keep>,
    /// Fill every hole; if left out, those of an outline that is drawn as a thin line, whose outside is taken. Turned shapes
    /// are always filled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill_holes: Option<bool>,
    /// How far the smooth outline may stray from the edge in the picture; half a pixel (a whole one where edges
    /// are hard, without grey pixels between), but at least 0.05 mm, if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub error: Option<Size>,
    /// Turn the picture so that the line that the outline stands on is level, if it is tilted by 10
    /// degrees at most; true if left out, and never for details.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub straighten: Option<bool>,
    /// Turned shapes only: which half counts. "both" averages them about the axis; both if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half: Option<Half>,
    /// Where the axis of a turned shape or the centre line of a silhouette stands, in pixels from the left
    /// edge of the picture, at the foot; found from the outline if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis: Option<f64>,
}

/// What tells an outline from its ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum SeparateBy {
    /// Dark on light or light on dark.
    Brightness,
    /// Opaque on transparent.
    Transparency,
    /// Any colour that is not the border's.
    Colour,
}

/// How bright the ground of a picture is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Ground {
    /// The outline is darker.
    Light,
    /// The outline is lighter.
    Dark,
}

/// Which regions of a picture are kept.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Keep {
    /// The one with the largest area.
    #[default]
    Largest,
    /// All that are no speckles.
    All,
}

/// Which half of a picture gives a turned shape.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Half {
    /// The mean of both.
    #[default]
    Both,
    /// The left one, mirrored.
    Left,
    /// The right one.
    Right,
}
