//! A figure larger than a page over several pages that are glued together.

use glam::{DVec2, UVec2, dvec2, uvec2};

use super::{
    figure::{Cell, Figure},
    frame::shown_from,
    pages::Leaf,
};
use crate::language::{Language, filled, filled_with};
use formats::drawing::{BLACK, Dash, Drawing, GREY, Lettering, Mark, PALE, Pen, PlacedDrawing, WHITE};
use geom::real;
use plan::design::Paper;

/// How a figure is laid over pages: columns from the left, rows from the top.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tiling {
    /// Whether the pages lie on their sides.
    pub on_its_side: bool,
    /// Columns and rows.
    pub count: UVec2,
    /// Width and height of what a page shows, mm.
    shown: DVec2,
    /// How far pages lie over each other, mm.
    overlap: f64,
    /// Upper left corner of the first page on the drawing.
    from: DVec2,
}

impl Tiling {
    /// The tiling of what lies between two corners by the fewest pages, upright ones if there is a choice.
    pub fn new(paper: &Paper, lo: DVec2, hi: DVec2) -> Self {
        let upright = Self::with(paper, lo, hi, false);
        let on_its_side = Self::with(paper, lo, hi, true);
        if on_its_side.pages() < upright.pages() { on_its_side } else { upright }
    }

    fn with(paper: &Paper, lo: DVec2, hi: DVec2, on_its_side: bool) -> Self {
        let shown = paper.shown(on_its_side);
        let overlap = paper.overlap;
        let step = shown - DVec2::splat(overlap);
        let fit = |long: f64, step: f64| ((long - overlap) / step - 1e-9).ceil().max(1.0) as u32;
        let size = hi - lo;
        let count = uvec2(fit(size.x, step.x), fit(size.y, step.y));
        let tiling = Self { on_its_side, count, shown, overlap, from: DVec2::ZERO };
        Self { from: (lo + hi - tiling.size()) / 2.0, ..tiling }
    }

    /// How many pages it takes.
    pub fn pages(&self) -> u32 {
        self.count.x * self.count.y
    }

    /// Upper left and lower right corner of tile `at` on the drawing.
    pub fn tile(&self, at: UVec2) -> (DVec2, DVec2) {
        let lo = self.from + at.as_dvec2() * (self.shown - DVec2::splat(self.overlap));
        (lo, lo + self.shown)
    }

    /// Width and height of all pages glued together, mm.
    fn size(&self) -> DVec2 {
        (self.shown - DVec2::splat(self.overlap)) * self.count.as_dvec2() + DVec2::splat(self.overlap)
    }

    fn tiles(&self) -> impl Iterator<Item = UVec2> + use<> {
        let count = self.count;
        (0..count.y).flat_map(move |row| (0..count.x).map(move |column| uvec2(column, row)))
    }
}

/// What a tile is called: its row's letter and its column's number.
pub fn tile_name(at: UVec2) -> String {
    let letter = char::from_u32('A' as u32 + at.y % 26).unwrap_or('A');
    let again = if at.y < 26 { String::new() } else { (at.y / 26).to_string() };
    format!("{letter}{again}{}", at.x + 1)
}

/// The tiles that something shows on.
fn used(tiling: &Tiling, figure: &Figure) -> Vec<UVec2> {
    let shows = |&at: &UVec2| {
        let (lo, hi) = tiling.tile(at);
        !figure.drawing.within(lo, hi).marks.is_empty()
    };
    tiling.tiles().filter(shows).collect()
}

/// The pages of `figure`, blank ones left out.
pub fn leaves(paper: &Paper, figure: &Figure, language: &Language) -> Vec<Leaf> {
    let (lo, hi) = figure.bounds();
    let tiling = Tiling::new(paper, lo, hi);
    let joins = joins(&tiling);
    let tiles = used(&tiling, figure);
    let origin = shown_from(paper);
    tiles
        .iter()
        .map(|&at| {
            let (lo, hi) = tiling.tile(at);
            let frame = Some((origin, origin + tiling.shown));
            let placed = [&figure.drawing, &joins].map(|drawing| PlacedDrawing {
                drawing: drawing.within(lo, hi),
                at: origin - lo,
                frame,
            });
            let mut placed: Vec<PlacedDrawing> = placed.into();
            if tiles.len() == 1 {
                let line = figure.title.clone();
                return Leaf { on_its_side: tiling.on_its_side, line, map: None, placed };
            }
            let mut edge = Drawing::new();
            edge.rectangle(DVec2::ZERO, tiling.shown, None, Some(Pen::grey(0.1)));
            edge.text(Lettering::new(tile_name(at), dvec2(2.0, 10.0), 11.0).bold().ink(GREY));
            placed.push(PlacedDrawing { drawing: edge, at: origin, frame: None });
            Leaf {
                on_its_side: tiling.on_its_side,
                line: filled(
                    &language.template.sheet_of,
                    &[
                        ("figure", &figure.title),
                        ("tile", &tile_name(at)),
                        ("count", &tiles.len().to_string()),
                    ],
                ),
                map: Some(map(&tiling, figure, &tiles, Some(at), SMALL_MAP)),
                placed,
            }
        })
        .collect()
}

/// Lines to cut along and crosses to lay on each other, in the middle of every overlap.
fn joins(tiling: &Tiling) -> Drawing {
    let mut drawing = Drawing::new();
    let pen = Pen::grey(0.2).dashed(Dash::Dashed);
    let step = tiling.shown - DVec2::splat(tiling.overlap);
    let all = tiling.size();
    let half = tiling.overlap / 2.0;
    for column in 1..tiling.count.x {
        let x = tiling.from.x + f64::from(column) * step.x + half;
        drawing.line(dvec2(x, tiling.from.y), dvec2(x, tiling.from.y + all.y), pen);
        for row in 0..tiling.count.y {
            let top = tiling.from.y + f64::from(row) * step.y;
            for share in [0.25, 0.75] {
                cross(&mut drawing, dvec2(x, top + share * tiling.shown.y));
            }
        }
    }
    for row in 1..tiling.count.y {
        let y = tiling.from.y + f64::from(row) * step.y + half;
        drawing.line(dvec2(tiling.from.x, y), dvec2(tiling.from.x + all.x, y), pen);
        for column in 0..tiling.count.x {
            let left = tiling.from.x + f64::from(column) * step.x;
            for share in [0.25, 0.75] {
                cross(&mut drawing, dvec2(left + share * tiling.shown.x, y));
            }
        }
    }
    drawing
}

fn cross(drawing: &mut Drawing, at: DVec2) {
    const REACH: f64 = 3.5;
    let pen = Pen::black(0.2);
    drawing.line(at - dvec2(REACH, 0.0), at + dvec2(REACH, 0.0), pen);
    drawing.line(at - dvec2(0.0, REACH), at + dvec2(0.0, REACH), pen);
    let ring = (0..32).map(|i| at + 2.2 * real::unit_vector(std::f64::consts::TAU * f64::from(i) / 32.0));
    drawing.closed(vec![ring.collect()], None, Some(pen));
}

/// Greatest size of the map at the foot of a page, mm.
const SMALL_MAP: DVec2 = DVec2::new(30.0, 18.0);

/// Thinner lines are left out of the map, mm.
const WORTH_MAPPING: f64 = 0.3;

/// The whole figure, small, with its tiles; tile `here` is tinted.
fn map(tiling: &Tiling, figure: &Figure, tiles: &[UVec2], here: Option<UVec2>, most: DVec2) -> Drawing {
    let all = tiling.size();
    let scale = (most.y / all.y).min(most.x / all.x);
    let small = |p: DVec2| (p - tiling.from) * scale;
    let mut drawing = Drawing::new();
    drawing.rectangle(DVec2::ZERO, all * scale, Some(WHITE), None);
    for &at in tiles {
        let (lo, hi) = tiling.tile(at);
        let fill = if Some(at) == here { Some(PALE) } else { None };
        drawing.rectangle(small(lo), small(hi), fill, None);
    }
    for mark in &figure.drawing.marks {
        if let Mark::Path { contours, closed, pen: Some(pen), .. } = mark
            && pen.width >= WORTH_MAPPING
        {
            let contours = contours.iter().map(|c| c.iter().map(|&p| small(p)).collect()).collect();
            let pen = Some(Pen::grey(0.15));
            drawing.marks.push(Mark::Path { contours, closed: *closed, fill: None, pen });
        }
    }
    for &at in tiles {
        let (lo, hi) = tiling.tile(at);
        let pen = Pen { width: if Some(at) == here { 0.5 } else { 0.15 }, ..Pen::black(0.2) };
        drawing.rectangle(small(lo), small(hi), None, Some(pen));
        let size = (most.y / f64::from(tiling.count.y) * 0.4).min(5.0);
        let middle = small((lo + hi) / 2.0) + dvec2(0.0, size * 0.36);
        let name = Lettering::new(tile_name(at), middle, size).bold().centred();
        drawing.text(name.ink(if Some(at) == here { BLACK } else { GREY }));
    }
    drawing
}

/// More sheets than this no one glues together: a print shop prints the drawing whole.
const MOST_SHEETS: u32 = 60;

/// Whether a figure is laid over so few pages that it can be glued together.
pub fn can_be_glued(paper: &Paper, figure: &Figure) -> bool {
    let (lo, hi) = figure.bounds();
    Tiling::new(paper, lo, hi).pages() <= MOST_SHEETS
}

/// Title and notes of a figure that is laid over several pages, with the map of its tiles.
pub fn overview(paper: &Paper, figure: &Figure, language: &Language) -> Cell {
    let words = &language.template;
    const MAP: DVec2 = DVec2::new(80.0, 70.0);
    let (lo, hi) = figure.bounds();
    let tiling = Tiling::new(paper, lo, hi);
    let notes = figure.notes.iter().cloned();
    if !can_be_glued(paper, figure) {
        let said = [("count", tiling.pages().to_string()), ("paper", paper.size.to_string())];
        let sheets = filled_with(&words.print_shop, &said);
        let notes = notes.chain([sheets]).collect();
        let (slug, title) = (figure.slug.clone(), figure.title.clone());
        return Figure { slug, title, notes, drawing: Drawing::new() }.cell();
    }
    let tiles = used(&tiling, figure);
    let (sheets, drawing) = match tiles.len() {
        1 => (words.own_sheet.clone(), Drawing::new()),
        n => {
            let sheets = filled(&words.on_sheets, &[("count", &n.to_string())]);
            (sheets, map(&tiling, figure, &tiles, None, MAP))
        }
    };
    let notes = notes.chain([sheets]).collect();
    Figure { slug: figure.slug.clone(), title: figure.title.clone(), notes, drawing }.cell()
}
