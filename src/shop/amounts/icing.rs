//! Rolled icing by colour: what lies on the cake, and the sheet that it is cut from.
//!
//! A shape without undercut is covered in one piece: a round sheet that reaches from the middle of the top over
//! the side to the board, with the excess of the flat patterns beyond it. This is the (D + 2H) disc that
//! published charts for round cakes agree with at about 4 mm. Other turned shapes are covered in the bands of
//! the flat patterns, with the excess all round each and the pantry's share for rolling. What is not turned is
//! covered with one sheet as large as the cutting sheet says.

use std::f64::consts::TAU;

use serde::Serialize;

use formats::model::Rgb;
use geom::develop::Band;
use make::sheets::{self, DrapedSheet, draped_sheet};
use plan::{Plan, design::MaterialKind, pantry::Pantry};

/// Icing of one covering.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Icing {
    /// What it is.
    pub material: String,
    /// Its colour.
    pub colour: Rgb,
    /// How thick it is rolled, mm.
    pub thickness_mm: f64,
    /// How it is laid.
    pub how: IcingHow,
    /// Surface that it covers, cm².
    pub net_cm2: f64,
    /// Icing cut for it, cm².
    pub cut_cm2: f64,
    /// Mass on the cake.
    pub on_cake_g: f64,
    /// Mass to make.
    pub made_g: f64,
}

/// How icing is laid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "laid")]
pub enum IcingHow {
    /// In one round sheet of this diameter, draped.
    Draped {
        /// Diameter of the sheet, mm.
        diameter_mm: f64,
    },
    /// In so many bands cut from flat patterns.
    Bands {
        /// How many.
        count: usize,
    },
    /// In one sheet of this width and depth, draped.
    Sheet {
        /// Over the cake from left to right, mm.
        across_mm: f64,
        /// Over it from front to back, mm.
        along_mm: f64,
    },
}

/// Icing of every covering of `plan` that is rolled.
pub fn icing(plan: &Plan, pantry: &Pantry) -> Vec<Icing> {
    let volumes = plan.line_volumes();
    let coverings = plan.design.coverings.iter().zip(volumes.windows(2));
    coverings
        .filter(|(covering, _)| covering.material.kind == MaterialKind::Paste)
        .map(|(covering, pair)| {
            let net_mm2 = (pair[0] - pair[1]) / covering.thickness;
            let paper = &plan.design.paper;
            let (how, cut_mm2, rolled) = match sheets::icing_sheet(plan, paper.excess) {
                Some([across_mm, along_mm]) => {
                    (IcingHow::Sheet { across_mm, along_mm }, across_mm * along_mm, false)
                }
                None => laid(&sheets::icing_bands(plan, paper), paper.excess),
            };
            let grams = |mm2: f64| covering.material.mass(mm2 * covering.thickness);
            Icing {
                material: covering.material.name.clone(),
                colour: covering.material.colour,
                thickness_mm: covering.thickness,
                how,
                net_cm2: net_mm2 / 100.0,
                cut_cm2: cut_mm2 / 100.0,
                on_cake_g: grams(net_mm2),
                made_g: grams(cut_mm2) * if rolled { 1.0 + pantry.extra.icing } else { 1.0 },
            }
        })
        .collect()
}

/// How the icing of a turned shape is laid, the area that is cut, and whether what rolling takes is not in it yet.
fn laid(bands: &[Band], excess: f64) -> (IcingHow, f64, bool) {
    if let Some(DrapedSheet { diameter, .. }) = draped_sheet(bands, excess) {
        return (IcingHow::Draped { diameter_mm: diameter }, TAU / 8.0 * diameter * diameter, false);
    }
    let cut = |band: &Band| {
        let flat = &band.flat;
        // The outline of the pattern grown by the excess (Steiner's formula, its corners left out).
        flat.area() + excess * (TAU * (flat.lower + flat.upper) + 2.0 * flat.slant)
    };
    (IcingHow::Bands { count: bands.len() }, bands.iter().map(cut).sum(), true)
}
