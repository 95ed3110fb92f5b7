//! The sentences of the cutting sheet, the same on paper and in plain text.

use super::{
    form::{Thin, ThinKind},
    order::{CuttingOrder, DowelCut, Reach},
    taken::From,
};
use geom::units::{Unit, UnitStyle};
use plan::{
    Plan,
    design::FootprintShape,
    stack::{LaidPiece, SlabKind, laid_pieces},
};

/// Cake that is missing by less is filled with the coating, mm.
const MISSING: f64 = -0.05;

/// What stands in the place of radii where the outline is the same at every height.
pub const STRAIGHT_DOWN: &str = "The outline is the same at every height: there are no radii to reach. The outline among \
     the layer templates, laid on top and checked at the foot, is the whole of the carving.";

/// The sentences, each step to be checked off.
pub struct Sentences<'a> {
    pub(super) plan: &'a Plan,
    pub(super) order: &'a CuttingOrder,
    style: UnitStyle,
}

impl<'a> Sentences<'a> {
    /// What to say about `order`.
    pub fn new(plan: &'a Plan, order: &'a CuttingOrder) -> Self {
        Self { plan, order, style: plan.design.style }
    }

    /// A length in the maker's own unit.
    pub fn mm(&self, mm: f64) -> String {
        self.style.length_alone(mm)
    }

    /// A length in the maker's own unit, without the unit.
    pub fn bare(&self, mm: f64) -> String {
        let text = self.mm(mm);
        text.rsplit_once(' ').map_or(text.clone(), |(number, _)| number.to_owned())
    }

    /// The maker's own unit.
    pub fn unit(&self) -> String {
        self.mm(0.0).rsplit(' ').next().unwrap_or_default().to_owned()
    }

    /// What unit bare figures are in.
    pub fn unit_name(&self) -> &'static str {
        match self.plan.design.unit {
            Unit::Millimetre => "figures in millimetres",
            Unit::Centimetre => "figures in centimetres",
            Unit::Inch => "figures in inches",
        }
    }

    /// How much comes off at a place and in how many passes, without the unit.
    pub fn bare_passes(&self, reach: &Reach) -> String {
        match reach.passes {
            _ if reach.depth < MISSING => format!("patch {}", self.bare(-reach.depth)),
            0 => "–".into(),
            n => {
                let top = if reach.from == From::Top { " top" } else { "" };
                format!("{n} × {}{top}", self.bare(reach.each()))
            }
        }
    }

    /// The size of a thing in the stack seen from above.
    pub fn outline(&self, number: usize) -> String {
        let slab = &self.plan.stack.slabs[number];
        if slab.kind == SlabKind::Filling {
            return "to the edge".into();
        }
        // A layer is as wide as its pan, which has the size that its maker gives it.
        let size = |mm: f64| {
            if slab.kind == SlabKind::Layer { self.style.pan_size(mm) } else { self.mm(mm) }
        };
        let outline = match &slab.footprint.shape {
            FootprintShape::Round { diameter } if slab.dome.is_some() => {
                format!("half-ball {}", size(*diameter))
            }
            FootprintShape::Round { diameter } => format!("round {}", size(*diameter)),
            FootprintShape::Rectangle { width, depth } if width == depth => {
                format!("square {}", size(*width))
            }
            FootprintShape::Rectangle { width, depth } => {
                format!("{} × {}", size(*width), size(*depth))
            }
            FootprintShape::Pieces(_) => {
                let laid = laid_pieces(&self.plan.stack);
                let letters: Vec<String> =
                    laid.iter().filter(|piece| piece.slab == number).map(LaidPiece::letter).collect();
                match &letters[..] {
                    [first, .., last] => format!("pieces {first} to {last}"),
                    _ => format!("piece {}", letters.concat()),
                }
            }
        };
        let turned = if slab.footprint.turn == 0.0 { "" } else { ", turned" };
        let aside = if slab.footprint.centre == glam::DVec2::ZERO { "" } else { ", off the middle" };
        format!("{outline}{turned}{aside}")
    }

    /// The size of a thing in the stack.
    pub fn size(&self, slab: usize) -> String {
        let kind = self.plan.stack.slabs[slab].kind;
        let high = self.mm(self.plan.stack.slabs[slab].height());
        match kind {
            SlabKind::Filling => format!("{high} thick"),
            SlabKind::Board => format!("{}, {high} thick", self.outline(slab)),
            SlabKind::Layer => format!("{}, {high} high", self.outline(slab)),
        }
    }

    /// When the centre dowel goes in: a dowel whose foot is fast stands before anything is stacked.
    pub(super) fn centre_dowel(&self) -> Option<&'static str> {
        let dowel = self.plan.design.centre_dowel.as_ref()?;
        Some(if dowel.fast {
            "The centre dowel stands fast in the presentation board before anything is stacked: thread every layer, \
             filling and board over it."
        } else {
            "The centre dowel goes in once all is stacked and firm, before the carving: straight down through the \
             holes of the boards until it stands on the presentation board."
        })
    }

    /// One kind of dowel.
    pub fn dowel(&self, cut: &DowelCut) -> String {
        let standing = if cut.bottom == 0.0 {
            "on the presentation board".to_owned()
        } else {
            format!("from height {}", self.mm(cut.bottom))
        };
        format!(
            "{} × {}: {}, {} thick, cut to {}; they stand {standing}.",
            cut.count,
            cut.name,
            cut.material,
            self.mm(cut.diameter),
            self.style.length(cut.length)
        )
        .replace("they stand", if cut.count == 1 { "it stands" } else { "they stand" })
    }

    /// A thin place.
    pub fn thin(&self, thin: &Thin) -> String {
        let (thickness, height) = (self.style.length(thin.thickness), self.mm(thin.height));
        match &thin.what {
            ThinKind::Neck => format!("Neck: {thickness} across at height {height}."),
            ThinKind::Wall => format!("Wall of the hollow: {thickness} at height {height}."),
            ThinKind::OverDowel(name) if !thin.thickness.is_finite() => {
                format!("\u{201c}{name}\u{201d} stands where no cake is left at height {height}.")
            }
            ThinKind::OverDowel(name) if thin.thickness < 0.0 => format!(
                "\u{201c}{name}\u{201d} comes out of the cake by {} at height {height}.",
                self.style.length(-thin.thickness)
            ),
            ThinKind::OverDowel(name) => {
                format!("Least cake over a dowel: {thickness} at height {height} (\u{201c}{name}\u{201d}).")
            }
        }
    }

    /// When to carve upside down, if at all.
    pub fn turning(&self) -> String {
        if self.order.upside_down.is_empty() {
            "No tier on a board of its own tapers downward enough to be worth carving upside down.".into()
        } else {
            let tiers: Vec<&str> = self.order.upside_down.iter().map(|tier| tier.tier.as_str()).collect();
            format!("Carve upside down and turn over: {} (see the steps).", tiers.join(", "))
        }
    }

    /// How much comes off at a place and in how many passes.
    pub fn passes(&self, reach: &Reach) -> String {
        let top = if reach.from == From::Top { " from the top" } else { "" };
        match reach.passes {
            _ if reach.depth < MISSING => format!("patch {}", self.mm(-reach.depth)),
            0 => "nothing".into(),
            1 => format!("1 pass{top}"),
            n => format!("{n} × {}{top}", self.mm(reach.each())),
        }
    }
}
