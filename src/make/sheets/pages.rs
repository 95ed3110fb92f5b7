//! Figures → pages: small ones side by side, large ones over several pages.

use glam::{DVec2, dvec2};

use super::{
    figure::{Cell, Figure, Key},
    frame::{self, Heading, shown_from},
    tiles,
};
use crate::language::{Language, filled};
use formats::drawing::{Drawing, Page, PlacedDrawing};
use plan::design::Paper;

/// A page before it has its number.
pub struct Leaf {
    /// Whether it lies on its side.
    pub on_its_side: bool,
    /// One line of instruction for its head.
    pub line: String,
    /// What stands at the right of its foot.
    pub map: Option<Drawing>,
    /// What it shows.
    pub placed: Vec<PlacedDrawing>,
}

/// Between figures on a page, mm.
const GAP: f64 = 8.0;

/// The pages of `figures`, numbered.
pub fn pages(paper: &Paper, title: &str, key: &Key, figures: &[Figure], language: &Language) -> Vec<Page> {
    let mut leaves = Vec::new();
    let mut upright = Shelves::new(paper, false);
    let mut on_its_side = Shelves::new(paper, true);
    let mut large = Vec::new();
    for figure in figures {
        let cell = figure.cell();
        if upright.fits(&cell) {
            upright.put(cell);
        } else if on_its_side.fits(&cell) {
            on_its_side.put(cell);
        } else {
            upright.put(tiles::overview(paper, figure, language));
            if tiles::can_be_glued(paper, figure) {
                large.push(figure);
            }
        }
    }
    leaves.extend(upright.leaves());
    leaves.extend(on_its_side.leaves());
    leaves.extend(large.into_iter().flat_map(|figure| tiles::leaves(paper, figure, language)));
    let count = leaves.len();
    let number = |(i, leaf): (usize, Leaf)| {
        let heading = Heading {
            title: title.to_owned(),
            page: filled(
                &language.sheet.page,
                &[
                    ("page", &(i + 1).to_string()),
                    ("count", &count.to_string()),
                    ("paper", &paper.size.to_string()),
                ],
            ),
            line: [leaf.line.as_str(), &language.caution.paper]
                .into_iter()
                .filter(|line| !line.is_empty())
                .collect::<Vec<_>>()
                .join(" "),
            key: key.clone(),
            print_at: language.sheet.print_at.clone(),
        };
        let mut page = frame::page(paper, leaf.on_its_side, &heading, leaf.map.as_ref());
        page.placed.extend(leaf.placed);
        page
    };
    leaves.into_iter().enumerate().map(number).collect()
}

/// Figures side by side in rows, page after page.
struct Shelves {
    on_its_side: bool,
    shown: DVec2,
    origin: DVec2,
    /// Where the next figure goes.
    next: DVec2,
    /// Height of the row so far.
    row: f64,
    pages: Vec<Vec<PlacedDrawing>>,
}

impl Shelves {
    fn new(paper: &Paper, on_its_side: bool) -> Self {
        let shown = paper.shown(on_its_side);
        Self { on_its_side, shown, origin: shown_from(paper), next: DVec2::ZERO, row: 0.0, pages: Vec::new() }
    }

    fn fits(&self, cell: &Cell) -> bool {
        cell.size.cmple(self.shown).all()
    }

    fn put(&mut self, cell: Cell) {
        if self.next.x > 0.0 && self.next.x + cell.size.x > self.shown.x {
            self.next = dvec2(0.0, self.next.y + self.row + GAP);
            self.row = 0.0;
        }
        if self.pages.is_empty() || self.next.y + cell.size.y > self.shown.y {
            self.pages.push(Vec::new());
            self.next = DVec2::ZERO;
            self.row = 0.0;
        }
        let at = self.origin + self.next;
        self.next.x += cell.size.x + GAP;
        self.row = self.row.max(cell.size.y);
        if let Some(page) = self.pages.last_mut() {
            page.push(PlacedDrawing { drawing: cell.drawing, at, frame: None });
        }
    }

    fn leaves(self) -> impl Iterator<Item = Leaf> {
        let on_its_side = self.on_its_side;
        self.pages.into_iter().map(move |placed| Leaf { on_its_side, line: String::new(), map: None, placed })
    }
}
