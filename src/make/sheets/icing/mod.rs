//! Patterns for the icing that is cut by a pattern: tops, sides, panels and bands. What is draped is rolled to a size and
//! has none.

mod developed;

use std::f64::consts::TAU;

use glam::{DVec2, dvec2};

use super::figure::{Figure, Key};
use crate::{
    icing::LaidIcing,
    language::{Language, TemplateWords, filled, filled_with},
};
use developed::Developed;
use formats::{
    drawing::{Dash, Drawing, Lettering, Pen, on_paper},
    export::slug,
};
use geom::{
    Region,
    develop::{FlatPattern, PatternForm},
    units::UnitStyle,
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
pub fn key(paper: &Paper, plan: &Plan, language: &Language) -> Key {
    let allowance = language.style(plan.design.style).length_alone(paper.allowance);
    let words = &language.template;
    vec![
        (NET, words.key_trim.clone()),
        (CUT, filled(&words.key_allowance, &[("allowance", &allowance)])),
        (MIDDLE, words.key_middle.clone()),
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
pub fn figures(plan: &Plan, paper: &Paper, halves: Halves, language: &Language) -> Vec<Figure> {
    LaidIcing::all(plan, language)
        .flat_map(|laid| of_covering(plan, paper, &laid, halves, language))
        .collect()
}

fn of_covering(
    plan: &Plan,
    paper: &Paper,
    laid: &LaidIcing<'_>,
    halves: Halves,
    language: &Language,
) -> Vec<Figure> {
    /// Panels that differ by less are cut by one pattern, mm.
    const SAME: f64 = 0.1;
    // Files are named in English, whatever is written in them.
    let english = Language::english();
    let same = |other: &LaidIcing<'_>| other.icing.zone == laid.icing.zone;
    let in_files = LaidIcing::of(plan, laid.icing.covering, english).into_iter().find(same).unwrap_or(*laid);
    let several = LaidIcing::all(plan, language).count() > 1;
    let of = |language: &Language| -> String {
        if let Some(zone) = laid.zone {
            zone.name.clone()
        } else if several {
            language.name(&laid.covering.material.name).to_owned()
        } else {
            language.template.of_icing.clone()
        }
    };
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
        let file = format!("{}-{}", slug(&of(english)), slug(&shared(&in_files, all, english)));
        let (name, of, copies) = (shared(laid, all, language), capital(&of(language)), all.len());
        let style = language.style(plan.design.style);
        let sheet = Pattern { plan, paper, laid, piece, file, name, of, copies, language, style };
        sheet.figure(halves)
    };
    groups.iter().filter_map(figure).collect()
}

/// "panel 1 of 4", or "panels 1, 3 of 4" for several.
fn shared(laid: &LaidIcing<'_>, all: &[usize], language: &Language) -> String {
    let [first, others @ ..] = all else { return String::new() };
    if others.is_empty() {
        return laid.names()[*first].clone();
    }
    let panels: Vec<usize> = (0..laid.icing.pieces.len())
        .filter(|&i| laid.icing.pieces[i].covers == laid.icing.pieces[*first].covers)
        .collect();
    let number = |i: &usize| panels.iter().position(|panel| panel == i).map_or(0, |at| at + 1).to_string();
    let numbers: Vec<String> = all.iter().map(number).collect();
    let said = [("numbers", numbers.join(", ")), ("count", panels.len().to_string())];
    filled_with(&language.template.panels, &said)
}

/// A sheet that is cut by a pattern.
struct Pattern<'a> {
    plan: &'a Plan,
    paper: &'a Paper,
    laid: &'a LaidIcing<'a>,
    piece: &'a Piece,
    /// What it is called in the names of files.
    file: String,
    name: String,
    of: String,
    copies: usize,
    language: &'a Language,
    style: UnitStyle,
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
        self.style.length_alone(mm)
    }

    fn words(&self) -> &TemplateWords {
        &self.language.template
    }

    /// What it is of, and its name.
    fn called(&self) -> [(&'static str, &str); 2] {
        [("of", &self.of), ("name", &self.name)]
    }

    fn figure_of(&self, form: &str, mut notes: Vec<String>, drawing: Drawing) -> Figure {
        if self.copies > 1 {
            notes.insert(0, filled(&self.words().copies, &[("count", &self.copies.to_string())]));
        }
        Figure {
            slug: format!("{}-{form}", self.file),
            title: filled(&self.words().pattern, &self.called()),
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
        let on_surface = self.piece.covers == Covers::Outline;
        let panels = self.laid.icing.pieces.iter().filter_map(|piece| piece.at);
        let mut numbered = false;
        for (i, (middle, inward)) in panels.enumerate() {
            let at = on_paper(middle + inward * INSIDE) + dvec2(0.0, 1.2);
            drawing.text(Lettering::new((i + 1).to_string(), at, 3.4).centred());
            numbered = true;
        }
        let (lo, hi) = drawing.bounds().unwrap_or_default();
        let under = if on_surface { &self.name } else { &self.words().front };
        drawing.text(Lettering::new(under, dvec2((lo.x + hi.x) / 2.0, hi.y + 4.0), 3.4).centred());
        let (low, high) = region.bounds().unwrap_or_default();
        let size = format!("{} × {}", self.mm(high.x - low.x), self.mm(high.y - low.y));
        let mut notes = if on_surface {
            let mut notes = vec![size];
            notes.extend(self.place());
            notes
        } else {
            vec![filled(&self.words().seen_from_above, &[("size", &size)])]
        };
        if numbered {
            notes.push(self.words().panel_numbers.clone());
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
            Covers::Band => self.short_name(),
            _ => self.name.clone(),
        };
        let fold = filled(&self.words().fold, &[("name", &label)]);
        let sheet = Developed { flat, name: &label, fold: &fold, tolerance: self.plan.design.tool };
        let mut figure = self.figure_of(form, notes, sheet.drawing(self.paper, None));
        if halves == Halves::WhereLarge && figure.cell().size.cmpgt(self.paper.shown(false)).any() {
            figure.drawing = sheet.drawing(self.paper, Some(sheet.best_turn(self.paper)));
            figure.title = filled(&self.words().half_pattern, &self.called());
            figure.notes.push(self.words().half_note.clone());
        }
        figure
    }

    /// The name of a band without how many there are.
    fn short_name(&self) -> String {
        let bands = || self.laid.icing.pieces.iter().filter(|piece| piece.covers == Covers::Band);
        let number = bands().take_while(|band| !std::ptr::eq(*band, self.piece)).count() + 1;
        if bands().count() == 1 {
            return self.name.clone();
        }
        let name = &self.language.icing.name_band;
        filled(&self.words().short, &[("name", name), ("number", &number.to_string())])
    }

    fn form(&self, flat: &FlatPattern) -> (&'static str, String) {
        let words = self.words();
        match flat.form() {
            PatternForm::Rectangle { width, height } => {
                let said = [("width", self.mm(width)), ("height", self.mm(height))];
                ("rectangle", filled_with(&words.rectangle, &said))
            }
            PatternForm::AnnularSector { outer, inner, angle } if angle > 359.999 => {
                let form = if inner > 0.0 { &words.ring } else { &words.disc };
                let said = [("outer", self.mm(2.0 * outer)), ("inner", self.mm(2.0 * inner))];
                ("ring", filled_with(form, &said))
            }
            PatternForm::AnnularSector { outer, inner, angle } => {
                let said = [
                    ("angle", self.language.number(angle, 1)),
                    ("outer", self.mm(outer)),
                    ("inner", self.mm(inner)),
                    ("slant", self.mm(flat.slant)),
                ];
                ("sector", filled_with(&words.sector, &said))
            }
        }
    }

    /// Where it comes on the cake and where it is joined.
    fn place(&self) -> Vec<String> {
        let words = self.words();
        let (low, high) = self.piece.heights;
        let heights = if high - low < 0.05 {
            filled(&words.at_height, &[("height", &self.mm(high))])
        } else {
            filled(&words.from_to, &[("low", &self.mm(low)), ("high", &self.mm(high))])
        };
        let mut said = vec![heights];
        match self.piece.covers {
            Covers::Panel => said.push(words.panel_place.clone()),
            Covers::Side | Covers::Band => {
                let middle = self.language.at_bearing(self.laid.seam_bearing() + 180.0);
                let places = [("middle", middle), ("seam", self.laid.seam())];
                said.push(filled_with(&words.middle_and_seam, &places));
            }
            Covers::Whole | Covers::Top | Covers::Cap | Covers::Outline => (),
        }
        for (turned, form) in self.piece.turned.iter().zip([&words.over_lower, &words.over_upper]) {
            if *turned > 0.0 {
                said.push(filled(form, &[("length", &self.mm(*turned))]));
            }
        }
        said
    }

    /// How far it has to be stretched or eased on the cake.
    fn most_off(&self) -> Option<String> {
        /// Less is no error that can be felt, mm.
        const FELT: f64 = 0.2;
        let worst = self.piece.strains.iter().max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()))?;
        let words = self.words();
        let form = if worst.off > 0.0 { &words.stretched } else { &words.eased };
        let said = [
            ("length", self.mm(worst.off.abs())),
            ("share", self.percent(worst.share.abs())),
            ("height", self.mm(worst.at.y)),
        ];
        (worst.off.abs() > FELT).then(|| filled_with(form, &said))
    }

    /// A share in percent, its tenths where it is below one.
    fn percent(&self, share: f64) -> String {
        let percent = 100.0 * share;
        self.language.number(percent, usize::from(percent < 1.0))
    }
}
