//! Words as an outline.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Length, Size};

/// Words as an outline of their letters, about their middle.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TextOutline {
    /// What is written. "\n" begins another line; lines are centred one below the other.
    pub words: String,
    /// Height of a capital letter: that of an H. What hangs below the line, as in "g", and accents come on top.
    pub size: Size,
    /// The bold letters of the program's own font, for strokes that are easier to cut; false if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bold: Option<bool>,
    /// A font file beside the cake file, OpenType or TrueType (.ttf, .otf); the program's own font if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub font: Option<String>,
    /// How much further apart the letters stand than the font has them, closer if below 0; 0 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spacing: Option<Length>,
}
