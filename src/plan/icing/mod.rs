//! How each rolled covering is laid: in one sheet, as a top and a wrapped side, in panels, or in bands.
//!
//! One rule for the cutting sheet, the patterns, the amounts, the timetable and the report. A way is chosen as the trade
//! does (common practice, no source): one sheet wherever it hangs down without too much to gather; else a top and one
//! side where the side is nearly developable; flat panels on a straight-sided shape with corners; and bands, parted at
//! the edges that the outline has, only where nothing else lies on it. A cake file may ask for another way, which is
//! taken wherever it is possible at all.
//!
//! How far a sheet stretches or gathers round is exact for a turned shape, by the girth at each arc length of the
//! meridian through the middle of the covering. For any other it is an estimate from its girths at heights: the turned
//! shape with the same girths stands for it. What a sheet does along the meridian and in shear is not worked out.

mod free;
mod limits;
mod refused;
mod sheet;
mod straight;
mod turned;
mod zoned;

use std::sync::{Arc, OnceLock};

use cakefile::schema::IcingWay;
use geom::{Cancel, Cancelled, uncancelled};

use crate::{
    design::{Covering, Design, MaterialKind},
    lines::Lines,
    zones::{CoatZones, Owner},
};

pub use limits::{EASES, Outcome, PLEATS, STRETCHES, TEARS, TOO_MUCH};
pub use refused::{Refused, way_name};
pub use sheet::{Covers, Piece, Sheet};
pub use straight::is_straight_sided;

/// How one rolled covering is laid.
#[derive(Debug, Clone, PartialEq)]
pub struct Icing {
    /// Which covering, counted from the outside in.
    pub covering: usize,
    /// Which zone of it; `None` for what no zone takes, and for a covering without zones.
    pub zone: Owner,
    /// The share of the covering that it holds, from 0 to 1.
    pub share: f64,
    /// How it is laid.
    pub way: IcingWay,
    /// Why it is not laid as the cake file asks.
    pub refused: Option<Refused>,
    /// Whether sizes and strains are estimated from girths.
    pub estimated: bool,
    /// The sheets in the order in which they are laid.
    pub pieces: Vec<Piece>,
    /// The deepest place that a draped sheet is pressed in under something wider.
    pub tuck: Option<Tuck>,
}

/// A place that goes in below something wider.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tuck {
    /// How far, mm.
    pub by: f64,
    /// At which height, mm.
    pub height: f64,
    /// At which bearing, degrees; `None` for all round.
    pub bearing: Option<f64>,
}

/// How the rolled coverings of one plan are laid, worked out when first asked for.
#[derive(Debug, Clone, Default)]
pub struct IcingOnDemand(Arc<OnceLock<Vec<Icing>>>);

impl IcingOnDemand {
    /// What was worked out for `design` and `lines`, now or before.
    pub(crate) fn get(&self, design: &Design, lines: &Lines, zones: &[CoatZones]) -> &[Icing] {
        self.0.get_or_init(|| uncancelled(|cancel| icing(design, lines, zones, cancel)))
    }

    /// The same, worked out now unless `cancel` asks to stop.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub(crate) fn try_get(
        &self,
        design: &Design,
        lines: &Lines,
        zones: &[CoatZones],
        cancel: &Cancel,
    ) -> Result<&[Icing], Cancelled> {
        if self.0.get().is_none() {
            let worked_out = icing(design, lines, zones, cancel)?;
            return Ok(self.0.get_or_init(|| worked_out));
        }
        Ok(self.get(design, lines, zones))
    }
}

/// What a way is: its sheets in order, the way, and why the one asked for is not taken.
struct Laid {
    way: IcingWay,
    pieces: Vec<Piece>,
    refused: Option<Refused>,
    tuck: Option<Tuck>,
}

impl Icing {
    /// Area that is rolled or cut, with `allowance` mm all round each sheet, mm².
    pub fn cut_area(&self, allowance: f64) -> f64 {
        self.pieces.iter().map(|piece| piece.sheet.area(allowance)).sum()
    }

    /// Whether any sheet is cut by a pattern of paper.
    pub fn has_patterns(&self) -> bool {
        self.pieces.iter().any(|piece| self.is_patterned(piece))
    }

    /// Whether a sheet of it is cut by a pattern of paper: what is draped is rolled to a size, and what is estimated is cut
    /// on the cake.
    pub fn is_patterned(&self, piece: &Piece) -> bool {
        !self.estimated && piece.sheet.is_pattern()
    }
}

/// How every rolled covering of `design` is laid, from the outside in; one with zones part by part, in the order in which
/// they are laid.
///
/// # Errors
/// Once `cancel` asks to stop.
fn icing(
    design: &Design,
    lines: &Lines,
    zones: &[CoatZones],
    cancel: &Cancel,
) -> Result<Vec<Icing>, Cancelled> {
    let mut all = Vec::new();
    for (index, (covering, zones)) in design.coverings.iter().zip(zones).enumerate() {
        if covering.material.kind != MaterialKind::Paste {
            continue;
        }
        if covering.zones.is_empty() {
            all.push(one(design, lines, index, covering, cancel)?);
        } else {
            all.extend(zoned::icing(design, lines, index, zones, cancel)?);
        }
    }
    Ok(all)
}

fn one(
    design: &Design,
    lines: &Lines,
    index: usize,
    covering: &Covering,
    cancel: &Cancel,
) -> Result<Icing, Cancelled> {
    let outside = &lines.all()[index];
    // What neither stretches nor shrinks as it is bent.
    let middle = outside.depth + covering.thickness / 2.0;
    let ease = design.paper.pattern_error;
    let (laid, estimated) = match &outside.solid {
        None => {
            let section = lines.inset(middle, design.tool, cancel)?.section;
            (turned::laid(&section, covering.way, ease), false)
        }
        Some(mesh) => match straight::Straight::of(mesh, covering.thickness / 2.0, design.tool) {
            Some(straight) => (straight.laid(mesh, covering.way), false),
            None => (free::laid(mesh, covering.way, ease, cancel)?, true),
        },
    };
    let Laid { way, pieces, refused, tuck } = laid;
    Ok(Icing { covering: index, zone: None, share: 1.0, way, refused, estimated, pieces, tuck })
}
