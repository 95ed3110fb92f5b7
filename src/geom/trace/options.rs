//! How a picture is traced.

use glam::DVec2;

use super::{Background, SeparateBy};

/// How large the outline really is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// Its height, mm.
    Height(f64),
    /// Its width, mm.
    Width(f64),
    /// Two points of the picture, [right, down] in pixels, and how far apart they are, mm.
    Marks([DVec2; 2], f64),
    /// The same twice, along lines that are really at right angles: the picture may be foreshortened along any
    /// direction, evenly all over.
    Crossed([([DVec2; 2], f64); 2]),
    /// As the scale card in the picture says.
    Card,
}

/// Which regions are kept.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Keep {
    /// The one with the largest area.
    #[default]
    Largest,
    /// All but speckles.
    All,
}

/// What is done about a scale card in the picture. Where one is used, the camera's perspective is taken out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum CardUse {
    /// Used if there is one.
    #[default]
    IfSeen,
    /// Must be there.
    Needed,
    /// Not looked for.
    Ignored,
}

/// How a picture is traced.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// How large the outline really is.
    pub scale: Scale,
    /// What is done about a scale card.
    pub card: CardUse,
    /// What separates it from its background; found if `None`.
    pub separate_by: Option<SeparateBy>,
    /// Where that is cut, from 0 to 1; Otsu's if `None`.
    pub threshold: Option<f64>,
    /// How bright the background is; found from the border if `None`.
    pub background: Option<Background>,
    /// Regions and holes smaller than a disc of this diameter are dropped, mm.
    pub speckle: f64,
    /// Which of the others are kept.
    pub keep: Keep,
    /// Leave no holes; if `None`, leave none where the outline is drawn as a thin line.
    pub fill_holes: Option<bool>,
    /// How far the outline may stray from the edge in the picture, mm; half a pixel if `None`, a whole one
    /// where edges are hard.
    pub error: Option<f64>,
    /// Turn the picture so that the base is level.
    pub straighten: bool,
    /// Where x = 0 is, pixels from the left edge at the foot; the middle of the outline if `None`.
    pub axis: Option<f64>,
}

impl Options {
    /// The usual way, for an outline of this size.
    pub fn new(scale: Scale) -> Self {
        Self {
            scale,
            card: CardUse::IfSeen,
            separate_by: None,
            threshold: None,
            background: None,
            speckle: 2.0,
            keep: Keep::Largest,
            fill_holes: None,
            error: None,
            straighten: true,
            axis: None,
        }
    }
}
