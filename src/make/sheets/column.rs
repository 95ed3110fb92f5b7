//! Sentences and tables one below the other.

use glam::{DVec2, dvec2};

use formats::drawing::{Drawing, Face, Lettering, PALE, Pen, lines, width};

/// A column of text that grows downwards.
pub struct Column {
    /// What is written so far.
    pub drawing: Drawing,
    /// Where the next thing goes.
    pub at: DVec2,
    /// Width, mm.
    pub wide: f64,
    /// Size of the text, mm.
    pub size: f64,
}

/// From line to line, by the size of the text.
const LEADING: f64 = 1.3;
/// Where the base line lies in a line, by the size of the text.
const BASE: f64 = 0.98;

impl Column {
    /// An empty column from `at` down.
    pub fn new(at: DVec2, wide: f64, size: f64) -> Self {
        Self { drawing: Drawing::new(), at, wide, size }
    }

    /// A heading over a line.
    pub fn heading(&mut self, text: &str) {
        let full = self.size * 1.25;
        let size = full * (self.wide / width(text, full, Face::Bold)).min(1.0);
        self.at.y += self.size * 0.7;
        self.drawing.text(Lettering::new(text, self.at + dvec2(0.0, size * BASE), size).bold());
        self.at.y += size * LEADING;
        self.drawing.line(self.at, self.at + dvec2(self.wide, 0.0), Pen::grey(0.2));
        self.at.y += self.size * 0.35;
    }

    /// A paragraph.
    pub fn paragraph(&mut self, text: &str) {
        self.hanging(text, 0.0, Face::Plain);
    }

    /// A paragraph in bold.
    pub fn strong(&mut self, text: &str) {
        self.hanging(text, 0.0, Face::Bold);
    }

    /// A paragraph behind a box to check off.
    pub fn check(&mut self, text: &str) {
        let side = self.size * 0.95;
        let corner = self.at + dvec2(0.0, self.size * 0.14);
        self.drawing.rectangle(corner, corner + DVec2::splat(side), None, Some(Pen::black(0.25)));
        self.hanging(text, self.size * 1.7, Face::Plain);
        self.at.y += self.size * 0.22;
    }

    /// A paragraph behind a dash.
    pub fn item(&mut self, text: &str) {
        let dash = self.at + dvec2(0.0, self.size * BASE);
        self.drawing.text(Lettering::new("–", dash, self.size));
        self.hanging(text, self.size, Face::Plain);
        self.at.y += self.size * 0.12;
    }

    /// Paragraphs, each beside a word in bold; the words stand in a column of their own, as wide as the widest of them.
    pub fn labelled(&mut self, all: &[(&str, &str)]) {
        /// Between label and text, and the least width of the column of labels, by the size of the text.
        const GAP: f64 = 0.6;
        const LEAST: f64 = 4.6;
        let widest = all.iter().map(|(label, _)| width(label, self.size, Face::Bold)).fold(0.0, f64::max);
        let indent = (widest + self.size * GAP).max(self.size * LEAST);
        for (label, text) in all {
            let at = self.at + dvec2(0.0, self.size * BASE);
            self.drawing.text(Lettering::new(*label, at, self.size).bold());
            self.hanging(text, indent, Face::Plain);
            self.at.y += self.size * 0.12;
        }
    }

    fn hanging(&mut self, text: &str, indent: f64, face: Face) {
        for line in lines(text, self.wide - indent, self.size, face) {
            let at = self.at + dvec2(indent, self.size * BASE);
            let line = Lettering::new(line, at, self.size);
            self.drawing.text(if face == Face::Bold { line.bold() } else { line });
            self.at.y += self.size * LEADING;
        }
    }

    /// A table with a heading row; the columns as wide as what stands in them, the rest of the width shared.
    /// Every row but the first begins with a box to check off if `boxes`. Columns from `from_right` on end at
    /// their right edges.
    pub fn table(&mut self, rows: &[Vec<String>], boxes: bool, from_right: usize) {
        let Some(head) = rows.first() else { return };
        let box_wide = if boxes { self.size * 1.7 } else { 0.0 };
        let mut wide = vec![0.0_f64; head.len()];
        for (i, row) in rows.iter().enumerate() {
            let face = if i == 0 { Face::Bold } else { Face::Plain };
            for (cell, wide) in row.iter().zip(&mut wide) {
                *wide = wide.max(width(cell, self.size, face));
            }
        }
        let used: f64 = wide.iter().sum::<f64>() + box_wide;
        // Too much for the width: smaller text in this table alone.
        let least = self.size * 0.8 * (wide.len() - 1) as f64;
        let scale = ((self.wide - least) / used).min(1.0);
        let gap = ((self.wide - used * scale) / (wide.len().max(2) - 1) as f64).min(self.size * 8.0);
        let size = self.size * scale;
        let high = size * LEADING * 1.12;
        for (i, row) in rows.iter().enumerate() {
            if i % 2 == 0 && i > 0 {
                self.drawing.rectangle(self.at, self.at + dvec2(self.wide, high), Some(PALE), None);
            }
            let base = self.at + dvec2(0.0, size * (BASE + 0.1));
            if boxes && i > 0 && row.first().is_some_and(|cell| !cell.is_empty()) {
                let corner = self.at + dvec2(0.0, size * 0.24);
                let side = DVec2::splat(size * 0.95);
                self.drawing.rectangle(corner, corner + side, None, Some(Pen::black(0.25)));
            }
            let mut x = box_wide * scale;
            for (k, (cell, wide)) in row.iter().zip(&wide).enumerate() {
                let ends = k >= from_right;
                let at = base + dvec2(if ends { x + wide * scale } else { x }, 0.0);
                let mut cell = Lettering::new(cell, at, size);
                if i == 0 {
                    cell = cell.bold();
                }
                self.drawing.text(if ends { cell.ending() } else { cell });
                x += wide * scale + gap;
            }
            self.at.y += high;
        }
        self.at.y += self.size * 0.2;
    }
}
