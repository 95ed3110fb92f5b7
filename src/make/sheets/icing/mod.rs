//! Patterns for the icing that is cut by a pattern: tops, sides, panels and bands. What is draped is rolled to a size and
//! has none.

mod developed;

use std::f64::consts::TAU;

use glam::{DVec2, dvec2};

use super::figure::{Figure, Key};
use crate::{icing::LaidIcing, language::Language};
use developed::Developed;
use formats::{
    drawing::{Dash, Drawing, Lettering, Pen, on_paper},
    export::slug,
};
use geom::{
    Region,
    develop::{FlatPattern, PatternForm},
};
use plan::{
    Plan,
    design::Paper,
    icing::{Covers, Piece, Sheet},
    support::capital,
};

const NET: Pen = Pen::black(0.5);
const CUT: Pen = Pen::black(0.35).dashed(Dash::Dashed);
const MIDDLE: Pen = Pen::grey(0.2).dashed(Dash::Middle);

/// What the lines stand for.
pub fn key(paper: &Paper, plan: &Plan) -> Key {
    let allowance = plan.design.style.length_alone(paper.allowance);
    vec![
        (NET, "trim to this on the cake".into()),
        (CUT, format!("cut the icing to this: {allowance} over")),
        (MIDDLE, "middle (or fold), up as the arrow".into()),
    ]
}

/// Whether whole patterns are wanted, or halves of those that are larger than a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Halves {
    /// Whole ones.
    Never,
    /// Halves, to be cut on the fold.
    WhereLarge,
}

/// One figure for each sheet that is cut by a pattern, in the order in which they are laid; panels of one size share one.
pub fn figures(plan: &Plan, paper: &Paper, halves: Halves) -> Vec<Figure> {
    LaidIcing::all(plan, Language::english())
        .flat_map(|laid| of_covering(plan, paper, &laid, halves))
        .collect()
}

fn of_covering(plan: &Plan, paper: &Paper, laid: &LaidIcing<'_>, halves: Halves) -> Vec<Figure> {
    /// Panels that differ by less are cut by one pattern, mm.
    const SAME: f64 = 0.1;
    let names = laid.names();
    let several = LaidIcing::all(plan, Language::english()).count() > 1;
    let of = if several { laid.covering.material.name.as_str() } else { "icing" };
    let mut groups: Vec<(&Piece, Vec<usize>)> = Vec::new();
    for (i, piece) in laid.icing.pieces.iter().enumerate().filter(|(_, piece)| laid.icing.is_patterned(piece))
    {
        let alike = |(other, _): &&mut (&Piece, Vec<usize>)| match (&other.sheet, &piece.sheet) {
            (Sheet::Strip { length: a, height: b }, Sheet::Strip { length: c, height: d }) => {
                (a - c).abs() < SAME && (b - d).abs() < SAME
            }
            _ => false,
        };
        match groups.iter_mut().find(alike) {
            Some((_, all)) => all.push(i),
            None => groups.push((piece, vec![i])),
        }
    }
    let figure = |(piece, all): &(&Piece, Vec<usize>)| {
        let sheet = Pattern { plan, paper, laid, piece, name: shared(&names, all), of, copies: all.len() };
        sheet.figure(halves)
    };
    groups.iter().filter_map(figure).collect()
}

/// "panel 1 of 4", or "panels 1, 3 of 4" for several.
fn shared(names: &[String], all: &[usize]) -> String {
    let [first, others @ ..] = all else { return String::new() };
    let parts = |i: usize| {
        let (what, number) = names[i].split_once(' ')?;
        let (number, count) = number.split_once(" of ")?;
        Some((what, number, count))
    };
    match parts(*first).filter(|_| !others.is_empty()) {
        Some((what, number, count)) => {
            let numbers: Vec<&str> = others.iter().filter_map(|&i| Some(parts(i)?.1)).collect();
            format!("{what}s {number}, {} of {count}", numbers.join(", "))
        }
        None => names[*first].clone(),
    }
}

/// A sheet that is cut by a pattern.
struct Pattern<'a> {
    plan: &'a Plan,
    paper: &'a Paper,
    laid: &'a LaidIcing<'a>,
    piece: &'a Piece,
    name: String,
    of: &'a str,
    copies: usize,
}

impl Pattern<'_> {
    /// `None` for what is rolled to a size.
    fn figure(&self, halves: Halves) -> Option<Figure> {
        Some(match &self.piece.sheet {
            Sheet::Outline(region) => self.outline(region),
            Sheet::Strip { length, height } => {
                let radius = length / TAU;
                self.developed(FlatPattern { lower: radius, upper: radius, slant: *height }, halves)
            }
            Sheet::Developed(flat) => self.developed(*flat, halves),
            Sheet::Round { .. } | Sheet::Rectangle { .. } => return None,
        })
    }

    fn mm(&self, mm: f64) -> String {
        self.plan.design.style.length_alone(mm)
    }

    fn figure_of(&self, form: &str, mut notes: Vec<String>, drawing: Drawing) -> Figure {
        if self.copies > 1 {
            notes.insert(0, format!("Cut {} of them.", self.copies));
        }
        Figure {
            slug: format!("{}-{}-{form}", slug(self.of), slug(&self.name)),
            title: format!("{}: {}", capital(self.of), self.name),
            notes,
            drawing,
        }
    }

    /// The top of a straight-sided shape, seen from above, with the numbers of its panels.
    fn outline(&self, region: &Region) -> Figure {
        /// Numbers stand so far inside the outline, mm.
        const INSIDE: f64 = 7.0;
        let mut drawing = Drawing::new();
        drawing.region(region, DVec2::ZERO, None, Some(NET));
        if self.paper.allowance > 0.0 {
            let cut = region.outset(self.paper.allowance, self.plan.design.tool);
            drawing.region(&cut, DVec2::ZERO, None, Some(CUT));
        }
        let panels = self.laid.icing.pieces.iter().filter_map(|piece| piece.at);
        let mut numbered = false;
        for (i, (middle, inward)) in panels.enumerate() {
            let at = on_paper(middle + inward * INSIDE) + dvec2(0.0, 1.2);
            drawing.text(Lettering::new((i + 1).to_string(), at, 3.4).centred());
            numbered = true;
        }
        let (lo, hi) = drawing.bounds().unwrap_or_default();
        drawing.text(Lettering::new("front", dvec2((lo.x + hi.x) / 2.0, hi.y + 4.0), 3.4).centred());
        let (low, high) = region.bounds().unwrap_or_default();
        let mut notes =
            vec![format!("{} × {}, seen from above.", self.mm(high.x - low.x), self.mm(high.y - low.y))];
        if numbered {
            notes.push("The numbers are those of the panels.".into());
        }
        self.figure_of("outline", notes, drawing)
    }

    fn developed(&self, flat: FlatPattern, halves: Halves) -> Figure {
        let (form, form_note) = self.form(&flat);
        let mut notes = vec![form_note];
        notes.extend(self.place());
        if let Some(worst) = self.most_off() {
            notes.push(worst);
        }
        let label = match self.piece.covers {
            Covers::Band => self.name.split(" of ").next().unwrap_or(&self.name),
            _ => self.name.as_str(),
        };
        let sheet = Developed { flat, name: label, tolerance: self.plan.design.tool };
        let mut figure = self.figure_of(form, notes, sheet.drawing(self.paper, None));
        if halves == Halves::WhereLarge && figure.cell().size.cmpgt(self.paper.shown(false)).any() {
            figure.drawing = sheet.drawing(self.paper, Some(sheet.best_turn(self.paper)));
            figure.title.push_str(", half");
            figure
                .notes
                .push("Half of it: lay the middle line on a fold, cut both halves at once, open.".into());
        }
        figure
    }

    fn form(&self, flat: &FlatPattern) -> (&'static str, String) {
        match flat.form() {
            PatternForm::Rectangle { width, height } => {
                ("rectangle", format!("Rectangle {} long and {} high.", self.mm(width), self.mm(height)))
            }
            PatternForm::AnnularSector { outer, inner, angle } if angle > 359.999 => {
                let hole =
                    if inner > 0.0 { format!(", {} inside", self.mm(2.0 * inner)) } else { String::new() };
                ("ring", format!("Level: {} across outside{hole}.", self.mm(2.0 * outer)))
            }
            PatternForm::AnnularSector { outer, inner, angle } => {
                let radii = format!("radii {} and {}", self.mm(outer), self.mm(inner));
                let slant = self.mm(flat.slant);
                ("sector", format!("Sector of {angle:.1}°, {radii}, {slant} from edge to edge."))
            }
        }
    }

    /// Where it comes on the cake and where it is joined.
    fn place(&self) -> Vec<String> {
        let (low, high) = self.piece.heights;
        let heights = if high - low < 0.05 {
            format!("At height {}.", self.mm(high))
        } else {
            format!("From height {} to {}.", self.mm(low), self.mm(high))
        };
        let mut said = vec![heights];
        match self.piece.covers {
            Covers::Panel => said.push("Its number stands at its side on the pattern of the top.".into()),
            Covers::Side | Covers::Band => said.push(format!(
                "Its middle line comes {}, the seam {}.",
                Language::english().at_bearing(self.laid.covering.seam + 180.0),
                self.laid.seam()
            )),
            Covers::Whole | Covers::Top | Covers::Cap => (),
        }
        for (turned, edge) in self.piece.turned.iter().zip(["lower", "upper"]) {
            if *turned > 0.0 {
                said.push(format!("{} of it are turned over the {edge} edge.", self.mm(*turned)));
            }
        }
        said
    }

    /// How far it has to be stretched or eased on the cake.
    fn most_off(&self) -> Option<String> {
        /// Less is no error that can be felt, mm.
        const FELT: f64 = 0.2;
        let worst = self.piece.strains.iter().max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()))?;
        let (off, what) = (worst.off.abs(), if worst.off > 0.0 { "stretched" } else { "eased" });
        (off > FELT).then(|| {
            format!(
                "Curved: to be {what} by up to {} round ({} %), at height {}.",
                self.mm(off),
                percent(worst.share.abs()),
                self.mm(worst.at.y)
            )
        })
    }
}

/// A share in percent, its tenths where it is below one.
fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent < 1.0 { format!("{percent:.1}") } else { format!("{percent:.0}") }
}
