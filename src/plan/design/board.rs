//! A board, and what the presentation board is dressed with.

use super::{Footprint, FootprintShape, Material};
use cakefile::FieldPath;
use formats::model::Rgb;

/// A board.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// Its outline.
    pub footprint: Footprint,
    /// Thickness, mm.
    pub thickness: f64,
    /// Diameter of the hole in its middle, mm; 0 for none.
    pub hole: f64,
    /// What it is made of.
    pub material: Material,
    /// Rolled icing over its top.
    pub icing: Option<BoardIcing>,
    /// A ribbon round its edge.
    pub ribbon: Option<Ribbon>,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// Rolled icing over a board.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardIcing {
    /// What it is made of, in its own colour.
    pub material: Material,
    /// How thick it is rolled, mm.
    pub thickness: f64,
}

/// A ribbon round a board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ribbon {
    /// How wide it is, mm.
    pub width: f64,
    /// Its colour.
    pub colour: Rgb,
}

impl Ribbon {
    /// How thick it is drawn, mm (satin ribbon, measured from memory).
    pub const THICKNESS: f64 = 0.4;
    /// How far its ends lie over each other, mm (common practice, no source).
    pub const OVERLAP: f64 = 20.0;
}

impl Board {
    /// The thinnest plywood that a screw through it into the foot of a dowel holds in, mm (common practice, no source).
    pub const SCREWED: f64 = 9.0;

    /// Whether a screw or a flange holds the foot of a centre dowel in it: in plywood that is thick enough, not in the
    /// foam of a drum or in card.
    pub fn holds_screw(&self) -> bool {
        self.material.like == "plywood board" && self.thickness >= Self::SCREWED - 1e-9
    }

    /// From its underside to the top of its icing, mm.
    pub fn height(&self) -> f64 {
        self.thickness + self.icing.as_ref().map_or(0.0, |icing| icing.thickness)
    }

    /// With its icing, g.
    pub fn mass(&self) -> f64 {
        let of = |material: &Material, thickness: f64| material.mass(self.footprint.area() * thickness);
        let icing = self.icing.as_ref().map_or(0.0, |icing| of(&icing.material, icing.thickness));
        of(&self.material, self.thickness) + icing
    }

    /// Width and depth of the sheet of icing that is rolled for it, `allowance` mm larger all round.
    pub fn icing_sheet(&self, allowance: f64) -> [f64; 2] {
        self.footprint.shape.size().map(|side| side + 2.0 * allowance)
    }

    /// How much ribbon goes round it, its ends over each other, mm; `None` without one.
    pub fn ribbon_length(&self) -> Option<f64> {
        self.ribbon?;
        let [width, depth] = self.footprint.shape.size();
        let round = match self.footprint.shape {
            FootprintShape::Round { diameter } => std::f64::consts::PI * diameter,
            FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => 2.0 * (width + depth),
        };
        Some(round + Ribbon::OVERLAP)
    }
}
