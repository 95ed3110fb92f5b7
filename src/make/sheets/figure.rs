//! A figure: one thing at true size with its title and what to know about it.

use glam::{DVec2, dvec2};

use formats::drawing::{Drawing, Face, Lettering, Pen, lines};

/// One thing at true size.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Its name for files, as "front-silhouette".
    pub slug: String,
    /// Its title.
    pub title: String,
    /// What to know about it.
    pub notes: Vec<String>,
    /// The thing.
    pub drawing: Drawing,
}

/// What a line on a sheet stands for.
pub type Key = Vec<(Pen, String)>;

/// Size of titles, mm.
pub const TITLE: f64 = 4.4;
/// Size of notes, mm.
pub const NOTE: f64 = 3.3;
/// From line to line of notes, by their size.
const LEADING: f64 = 1.32;
/// Notes under a narrow thing run at least this wide, mm.
const NARROW: f64 = 88.0;
/// Between notes and thing, mm.
const GAP: f64 = 3.0;

/// A drawing with its upper left corner at the origin, and its size.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// The drawing.
    pub drawing: Drawing,
    /// Width and height, mm.
    pub size: DVec2,
}

impl Figure {
    /// Upper left and lower right corner of the thing.
    pub fn bounds(&self) -> (DVec2, DVec2) {
        self.drawing.bounds().unwrap_or_default()
    }

    /// Title, notes and thing, one below the other.
    pub fn cell(&self) -> Cell {
        let (lo, hi) = self.bounds();
        let wide = (hi.x - lo.x).max(NARROW);
        let mut drawing = Drawing::new();
        let mut y = 0.0;
        for line in lines(&self.title, wide, TITLE, Face::Bold) {
            y += TITLE * LEADING;
            drawing.text(Lettering::new(line, dvec2(0.0, y - TITLE * 0.3), TITLE).bold());
        }
        y = words_below(&mut drawing, &self.notes, wide, y);
        y += GAP;
        drawing.extend(&self.drawing, dvec2(-lo.x, y - lo.y));
        let right = drawing.bounds().map_or(wide, |(_, hi)| hi.x).max(wide);
        Cell { drawing, size: dvec2(right, y + hi.y - lo.y) }
    }
}

/// Writes notes in lines `wide` mm wide from `y` down; returns where they end.
pub fn words_below(drawing: &mut Drawing, notes: &[String], wide: f64, mut y: f64) -> f64 {
    for line in notes.iter().flat_map(|note| lines(note, wide, NOTE, Face::Plain)) {
        y += NOTE * LEADING;
        drawing.text(Lettering::new(line, dvec2(0.0, y - NOTE * 0.3), NOTE));
    }
    y
}
