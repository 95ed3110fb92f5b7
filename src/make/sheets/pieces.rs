//! How sheet cakes are cut into pieces, and how these are laid: to one scale, each piece with its letter.

use glam::{DVec2, dvec2};

use super::{column::Column, sentences::Sentences, view::plain_body};
use crate::language::filled;
use formats::drawing::{Dash, Drawing, Lettering, PALE, Pen, WHITE, on_paper};
use geom::units::UnitStyle;
use plan::{
    Plan,
    stack::{LaidPiece, SheetCake, SheetPieces, Slab, SlabKind, laid_pieces, sheet_cakes},
};

const EDGE: Pen = Pen::black(0.35);
const CUT: Pen = Pen::black(0.5).dashed(Dash::Dashed);
const CARVED: Pen = Pen::black(0.6);

/// Scales that a drawing may have, as one over this.
const SCALES: [f64; 9] = [2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0];

/// Whether any layer of `plan` is laid of pieces.
pub fn has_pieces(plan: &Plan) -> bool {
    laid_layers(plan).next().is_some()
}

/// The layers that are laid of pieces, with their numbers among the slabs.
fn laid_layers(plan: &Plan) -> impl Iterator<Item = (usize, &Slab)> {
    let layers = plan.stack.slabs.iter().enumerate().filter(|(_, slab)| slab.kind == SlabKind::Layer);
    layers.filter(|(_, slab)| slab.footprint.shape.pieces().is_some())
}

impl Sentences<'_> {
    /// How the sheet cakes are cut, and how the pieces are laid.
    pub fn pieces(&self) -> Vec<String> {
        let plan = self.plan;
        let sheets = sheet_cakes(&plan.stack, &plan.pantry);
        let heights: Vec<String> =
            laid_layers(plan).map(|(_, slab)| format!("{} {}", slab.name, self.mm(slab.height()))).collect();
        let words = &self.language().pieces;
        let mut steps = vec![words.measure.clone(), words.letters.clone()];
        if sheets.iter().flat_map(|sheet| &sheet.pieces).any(|place| place.pieces.len() > 1) {
            steps.push(words.split.clone());
        }
        steps.push(filled(&words.level, &[("heights", &heights.join(", "))]));
        steps.push(words.lay.clone());
        steps
    }

    /// What one sheet cake is cut into, in words.
    pub fn sheet_cake(&self, number: usize, sheet: &SheetCake) -> String {
        let pieces: Vec<String> = sheet.pieces.iter().map(|place| self.sheet_piece(place)).collect();
        let over = 1.0
            - sheet.pieces.iter().map(|p| p.size[0] * p.size[1]).sum::<f64>() / (sheet.pan[0] * sheet.pan[1]);
        filled(
            &self.language().pieces.sheet,
            &[
                ("number", &number.to_string()),
                ("material", self.language().name(&sheet.material.name)),
                ("size", &self.sides(&sheet.pan)),
                ("pieces", &pieces.join(", ")),
                ("share", &format!("{:.0}", 100.0 * over.max(0.0))),
            ],
        )
    }

    fn sheet_piece(&self, place: &SheetPieces) -> String {
        format!("{} ({})", letters(place), self.sides(&place.size))
    }

    /// Where the cuts of one sheet cake lie, in words, in their order.
    pub fn cuts(&self, sheet: &SheetCake) -> Vec<String> {
        let cut = |(i, cut): (usize, &plan::pantry::SheetCut)| {
            let across = cut.from[0] == cut.to[0];
            let (at, from, to) = if across {
                (cut.from[0], cut.from[1], cut.to[1])
            } else {
                (cut.from[1], cut.from[0], cut.to[0])
            };
            let (at, from, to) = (self.mm(at), self.mm(from), self.mm(to));
            let words = &self.language().pieces;
            let form = if across { &words.cut_across } else { &words.cut_along };
            filled(form, &[("number", &(i + 1).to_string()), ("at", &at), ("from", &from), ("to", &to)])
        };
        sheet.cuts.iter().enumerate().map(cut).collect()
    }

    /// Where the pieces of a layer lie, in words.
    pub fn laid(&self, slab: usize) -> Vec<String> {
        let of = &self.plan.stack.slabs[slab];
        let place = |piece: &LaidPiece| {
            let middle = of.footprint.placed(piece.laid.at);
            let turn = piece.laid.turn + of.footprint.turn;
            let turned = if turn == 0.0 {
                String::new()
            } else {
                filled(&self.language().pieces.turned, &[("angle", &format!("{turn:.0}"))])
            };
            format!(
                "{}: {}, {}{turned}",
                piece.letter(),
                self.sides(&[piece.laid.width, piece.laid.depth]),
                self.place(middle)
            )
        };
        laid_pieces(&self.plan.stack).iter().filter(|piece| piece.slab == slab).map(place).collect()
    }

    fn style(&self) -> UnitStyle {
        self.language().style(self.plan.design.style)
    }

    fn sides(&self, size: &[f64; 2]) -> String {
        self.style().sides(size)
    }

    fn place(&self, p: DVec2) -> String {
        self.language().place(self.style(), p.x, p.y)
    }
}

fn letters(place: &SheetPieces) -> String {
    place.pieces.iter().map(LaidPiece::letter).collect::<Vec<_>>().join(" + ")
}

/// The page: steps, sheet cakes with their cuts, layers with their pieces and the outline that is cut out of them; returns the
/// height used.
pub fn page(plan: &Plan, sentences: &Sentences<'_>, shown: DVec2, size: f64) -> (Drawing, f64) {
    let mut column = Column::new(DVec2::ZERO, shown.x, size);
    let words = &sentences.language().pieces;
    column.heading(&words.heading);
    sentences.pieces().iter().for_each(|step| column.check(step));
    let sheets = sheet_cakes(&plan.stack, &plan.pantry);
    let layers: Vec<(usize, &Slab)> = laid_layers(plan).collect();
    let around = 2.0 * (size * 2.6);
    let room = shown.y - column.at.y - around;
    // The largest scale at which all fits.
    let drawn = |over: f64| {
        let sheets: Vec<Drawing> = sheets
            .iter()
            .enumerate()
            .map(|(i, sheet)| sheet_drawing(sentences, i, sheet, over, size))
            .collect();
        let layers: Vec<Drawing> =
            layers.iter().map(|(i, slab)| layer_drawing(plan, sentences, *i, slab, over, size)).collect();
        (in_rows(&sheets, shown.x, size), in_rows(&layers, shown.x, size))
    };
    let fits = |(cut, laid): &((Drawing, DVec2), (Drawing, DVec2))| {
        cut.1.y + laid.1.y <= room && cut.1.x.max(laid.1.x) <= shown.x
    };
    let scales = SCALES.iter().map(|over| (*over, drawn(*over)));
    let mut last = None;
    for (over, made) in scales {
        let done = fits(&made);
        last = Some((over, made));
        if done {
            break;
        }
    }
    let Some((over, (cut, laid))) = last else { return (column.drawing, column.at.y) };
    for (title, (drawing, used)) in [(&words.cut_scale, cut), (&words.laid_scale, laid)] {
        column.heading(&filled(title, &[("scale", &over.to_string())]));
        column.drawing.extend(&drawing, column.at);
        column.at.y += used.y;
    }
    (column.drawing, column.at.y)
}

/// Drawings beside each other, as many in a row as fit; with the room that they take.
fn in_rows(all: &[Drawing], wide: f64, size: f64) -> (Drawing, DVec2) {
    let gap = size * 2.0;
    let mut made = Drawing::new();
    let (mut at, mut high, mut most) = (DVec2::ZERO, 0.0_f64, 0.0_f64);
    for drawing in all {
        let Some((lo, hi)) = drawing.bounds() else { continue };
        let own = hi - lo;
        if at.x > 0.0 && at.x + own.x > wide {
            at = dvec2(0.0, at.y + high + gap);
            high = 0.0;
        }
        made.extend(drawing, at - lo);
        at.x += own.x + gap;
        most = most.max(at.x - gap);
        high = high.max(own.y);
    }
    (made, dvec2(most, at.y + high + gap * 0.5))
}

/// Letter and size of a piece, in the middle of its box on paper.
fn label(drawing: &mut Drawing, letter: &str, sides: &str, middle: DVec2, room: DVec2, size: f64) {
    let bold = Lettering::new(letter, middle, size * 1.2).bold().centred();
    let sides_at = |shift: f64, size: f64| Lettering::new(sides, middle + dvec2(0.0, shift), size).centred();
    let small = size * 0.8;
    let turned = room.y > room.x;
    let room_along = room.max_element();
    let scale = (room_along * 0.94 / sides_at(0.0, small).width()).min(1.0);
    drawing.text(bold);
    if turned {
        let at = middle + dvec2(size * 1.3, size * 0.2 + sides_at(0.0, small * scale).width() / 2.0);
        drawing.text(Lettering::new(sides, at, small * scale).turned(90.0));
    } else {
        drawing.text(sides_at(size * 1.15, small * scale));
    }
}

fn sheet_drawing(sentences: &Sentences<'_>, i: usize, sheet: &SheetCake, over: f64, size: f64) -> Drawing {
    let mut drawing = Drawing::new();
    let place = |p: [f64; 2]| on_paper(dvec2(p[0], p[1]) / over);
    drawing.rectangle(place([0.0; 2]), place(sheet.pan), Some(WHITE), Some(EDGE));
    for piece in &sheet.pieces {
        let far = [piece.at[0] + piece.size[0], piece.at[1] + piece.size[1]];
        let (a, b) = (place(piece.at), place(far));
        drawing.rectangle(a, b, Some(PALE), None);
        let room = (b - a).abs();
        label(&mut drawing, &letters(piece), &sentences.sides(&piece.size), (a + b) / 2.0, room, size);
    }
    for (number, cut) in sheet.cuts.iter().enumerate() {
        let (a, b) = (place(cut.from), place(cut.to));
        drawing.line(a, b, CUT);
        // At the end of the cut, within it.
        let along = (b - a).normalize_or_zero();
        let at =
            b - along * size * 0.9 + dvec2(-along.y, along.x).abs() * size * 0.5 + dvec2(0.0, size * 0.3);
        drawing.text(Lettering::new((number + 1).to_string(), at, size * 0.75));
    }
    let words = &sentences.language().pieces;
    let named = [("number", (i + 1).to_string()), ("size", sentences.sides(&sheet.pan))];
    let title = filled(&words.sheet_title, &named.each_ref().map(|(place, text)| (*place, text.as_str())));
    drawing.text(Lettering::new(title, place([0.0, sheet.pan[1]]) - dvec2(0.0, size * 0.4), size).bold());
    drawing.text(Lettering::new(&words.front, place([0.0; 2]) + dvec2(0.0, size), size * 0.8));
    drawing
}

fn layer_drawing(
    plan: &Plan,
    sentences: &Sentences<'_>,
    i: usize,
    slab: &Slab,
    over: f64,
    size: f64,
) -> Drawing {
    let mut drawing = Drawing::new();
    let place = |p: DVec2| on_paper(p / over);
    for piece in laid_pieces(&plan.stack).iter().filter(|piece| piece.slab == i) {
        let corners = piece.laid.corners().map(|p| place(slab.footprint.placed(p)));
        drawing.closed(vec![corners.to_vec()], Some(PALE), Some(EDGE));
        let (lo, hi) = corners.iter().fold((corners[0], corners[0]), |(lo, hi), p| (lo.min(*p), hi.max(*p)));
        let sides = sentences.sides(&[piece.laid.width, piece.laid.depth]);
        label(&mut drawing, &piece.letter(), &sides, (lo + hi) / 2.0, hi - lo, size);
    }
    let target = plain_body(plan, plan.lines.all().len() - 1);
    let middle = (slab.bottom + slab.top.min(target.heights().1)) / 2.0;
    let outline = target.outline_at(middle, plan.design.preview);
    let on_page = |contour: &Vec<DVec2>| contour.iter().map(|p| place(*p)).collect();
    drawing.closed(outline.contours().iter().map(on_page).collect(), None, Some(CARVED));
    let cross = size * 0.8;
    drawing.line(dvec2(-cross, 0.0), dvec2(cross, 0.0), EDGE);
    drawing.line(dvec2(0.0, -cross), dvec2(0.0, cross), EDGE);
    let (lo, _) = drawing.bounds().unwrap_or_default();
    let words = &sentences.language().pieces;
    let height = sentences.mm(slab.height());
    let title = filled(&words.layer_title, &[("layer", &slab.name), ("height", &height)]);
    drawing.text(Lettering::new(title, lo - dvec2(0.0, size * 0.4), size).bold());
    let (lo, hi) = drawing.bounds().unwrap_or_default();
    drawing.text(Lettering::new(&words.front, dvec2(lo.x, hi.y + size), size * 0.8));
    drawing
}
