//! The sentences of the cutting sheet, the same on paper and in plain text.

use super::{
    form::{Thin, ThinKind},
    order::{CuttingOrder, DowelCut, Reach},
    taken::From,
};
use crate::language::{Language, filled};
use geom::units::{Unit, UnitStyle};
use plan::{
    Plan,
    design::FootprintShape,
    stack::{LaidPiece, SlabKind, laid_pieces},
};

/// Cake that is missing by less is filled with the coating, mm.
const MISSING: f64 = -0.05;

/// The sentences, each step to be checked off.
pub struct Sentences<'a> {
    pub(super) plan: &'a Plan,
    pub(super) order: &'a CuttingOrder,
    style: UnitStyle,
}

impl<'a> Sentences<'a> {
    /// What to say about `order`.
    pub fn new(plan: &'a Plan, order: &'a CuttingOrder) -> Self {
        Self { plan, order, style: order.language.style(plan.design.style) }
    }

    /// What it is told in.
    pub(super) fn language(&self) -> &'a Language {
        &self.order.language
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
    pub fn unit_name(&self) -> &str {
        let words = &self.language().sheet;
        match self.plan.design.unit {
            Unit::Millimetre => &words.millimetres,
            Unit::Centimetre => &words.centimetres,
            Unit::Inch => &words.inches,
        }
    }

    /// How much comes off at a place and in how many passes, without the unit.
    pub fn bare_passes(&self, reach: &Reach) -> String {
        let words = &self.language().reach;
        match reach.passes {
            _ if reach.depth < MISSING => filled(&words.patch, &[("depth", &self.bare(-reach.depth))]),
            0 => "–".into(),
            n => {
                let passes = format!("{n} × {}", self.bare(reach.each()));
                if reach.from == From::Top { filled(&words.top, &[("passes", &passes)]) } else { passes }
            }
        }
    }

    /// The size of a thing in the stack seen from above.
    pub fn outline(&self, number: usize) -> String {
        let words = &self.language().thing;
        let slab = &self.plan.stack.slabs[number];
        if slab.kind == SlabKind::Filling {
            return words.to_edge.clone();
        }
        // A layer is as wide as its pan, which has the size that its maker gives it.
        let size = |mm: f64| {
            if slab.kind == SlabKind::Layer { self.style.pan_size(mm) } else { self.mm(mm) }
        };
        let outline = match &slab.footprint.shape {
            FootprintShape::Round { diameter } if slab.dome.is_some() => {
                filled(&words.half_ball, &[("size", &size(*diameter))])
            }
            FootprintShape::Round { diameter } => filled(&words.round, &[("size", &size(*diameter))]),
            FootprintShape::Rectangle { width, depth } if width == depth => {
                filled(&words.square, &[("size", &size(*width))])
            }
            FootprintShape::Rectangle { width, depth } => {
                format!("{} × {}", size(*width), size(*depth))
            }
            FootprintShape::Pieces(_) => {
                let laid = laid_pieces(&self.plan.stack);
                let letters: Vec<String> =
                    laid.iter().filter(|piece| piece.slab == number).map(LaidPiece::letter).collect();
                match &letters[..] {
                    [first, .., last] => filled(&words.pieces, &[("first", first), ("last", last)]),
                    _ => filled(&words.piece, &[("letter", &letters.concat())]),
                }
            }
        };
        let turned = if slab.footprint.turn == 0.0 { "" } else { &words.turned };
        let aside = if slab.footprint.centre == glam::DVec2::ZERO { "" } else { &words.aside };
        format!("{outline}{turned}{aside}")
    }

    /// The size of a thing in the stack.
    pub fn size(&self, slab: usize) -> String {
        let kind = self.plan.stack.slabs[slab].kind;
        let high = self.mm(self.plan.stack.slabs[slab].height());
        let words = &self.language().thing;
        let sized = |form: &str| filled(form, &[("size", &high)]);
        match kind {
            SlabKind::Filling => sized(&words.thick),
            SlabKind::Board => format!("{}, {}", self.outline(slab), sized(&words.thick)),
            SlabKind::Layer => format!("{}, {}", self.outline(slab), sized(&words.high)),
        }
    }

    /// When the centre dowel goes in: a dowel whose foot is fast stands before anything is stacked.
    pub(super) fn centre_dowel(&self) -> Option<&'a str> {
        let dowel = self.plan.design.centre_dowel.as_ref()?;
        let words = &self.language().step;
        Some(if dowel.fast { &words.dowel_stands } else { &words.dowel_goes_in })
    }

    /// One kind of dowel.
    pub fn dowel(&self, cut: &DowelCut) -> String {
        let words = &self.language().reach;
        let standing = if cut.bottom == 0.0 {
            words.on_board.clone()
        } else {
            filled(&words.from_height, &[("height", &self.mm(cut.bottom))])
        };
        filled(
            if cut.count == 1 { &words.dowel } else { &words.dowels },
            &[
                ("count", &cut.count.to_string()),
                ("name", &cut.name),
                ("material", &cut.material),
                ("thickness", &self.mm(cut.diameter)),
                ("length", &self.style.length(cut.length)),
                ("standing", &standing),
            ],
        )
    }

    /// A thin place.
    pub fn thin(&self, thin: &Thin) -> String {
        let words = &self.language().reach;
        let (thickness, height) = (self.style.length(thin.thickness.abs()), self.mm(thin.height));
        let (name, form) = match &thin.what {
            ThinKind::Neck => ("", &words.neck),
            ThinKind::Wall => ("", &words.wall),
            ThinKind::OverDowel(name) => {
                let form = match thin.thickness {
                    thickness if !thickness.is_finite() => &words.no_cake,
                    thickness if thickness < 0.0 => &words.comes_out,
                    _ => &words.over_dowel,
                };
                (name.as_str(), form)
            }
        };
        let name = self.language().part(self.plan, name);
        let said = [("thickness", thickness), ("height", height), ("name", name)];
        filled(form, &said.each_ref().map(|(place, text)| (*place, text.as_str())))
    }

    /// When to carve upside down, if at all.
    pub fn turning(&self) -> String {
        let words = &self.language().reach;
        if self.order.upside_down.is_empty() {
            words.not_turned.clone()
        } else {
            let tiers: Vec<&str> = self.order.upside_down.iter().map(|tier| tier.tier.as_str()).collect();
            filled(&words.turned, &[("tiers", &tiers.join(", "))])
        }
    }

    /// How much comes off at a place and in how many passes.
    pub fn passes(&self, reach: &Reach) -> String {
        let words = &self.language().reach;
        let passes = match reach.passes {
            _ if reach.depth < MISSING => return filled(&words.patch, &[("depth", &self.mm(-reach.depth))]),
            0 => return words.nothing.clone(),
            1 => words.pass.clone(),
            n => format!("{n} × {}", self.mm(reach.each())),
        };
        if reach.from == From::Top { filled(&words.from_top, &[("passes", &passes)]) } else { passes }
    }
}
