//! Lines and text on paper at true size: no cakes, no files.
//!
//! Millimetres, x to the right and y down, as on a sheet. What comes from geometry, where y or z points up,
//! is turned over on the way in ([`on_paper`]). Curves are straight pieces already. A [`Page`] places
//! drawings on a sheet and may cut them off at a frame; [`crate::export::pdf`] and [`crate::export::svg`]
//! write pages.

mod lettering;

use std::sync::Arc;

use glam::{DVec2, dvec2};
use image::RgbaImage;

pub use crate::text::{Face, fonts, width};
pub use lettering::{Lettering, fitted, lines};

use crate::model::Rgb;
use geom::Region;

/// Black.
pub const BLACK: Rgb = Rgb(0, 0, 0);
/// A grey that a printer without colours keeps apart from black.
pub const GREY: Rgb = Rgb(110, 110, 110);
/// A tint that text stays legible on.
pub const PALE: Rgb = Rgb(232, 232, 232);
/// The paper.
pub const WHITE: Rgb = Rgb(255, 255, 255);

/// A point of geometry, y up, as a point on paper, y down.
pub fn on_paper(p: DVec2) -> DVec2 {
    dvec2(p.x, -p.y)
}

/// How a line is broken.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Dash {
    /// Not at all.
    #[default]
    Whole,
    /// Long strokes.
    Dashed,
    /// Short strokes.
    Dotted,
    /// Long and short strokes in turn, as of a middle line.
    Middle,
}

impl Dash {
    /// Lengths of strokes and gaps in turn, mm; empty for a whole line.
    pub fn pattern(self) -> &'static [f64] {
        match self {
            Self::Whole => &[],
            Self::Dashed => &[4.0, 2.0],
            Self::Dotted => &[0.8, 1.2],
            Self::Middle => &[7.0, 1.5, 1.5, 1.5],
        }
    }
}

/// What a line is drawn with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Width, mm.
    pub width: f64,
    /// Colour.
    pub ink: Rgb,
    /// How it is broken.
    pub dash: Dash,
}

impl Pen {
    /// A whole black line.
    pub const fn black(width: f64) -> Self {
        Self { width, ink: BLACK, dash: Dash::Whole }
    }

    /// A whole grey line.
    pub const fn grey(width: f64) -> Self {
        Self { width, ink: GREY, dash: Dash::Whole }
    }

    /// The same, broken.
    #[must_use]
    pub const fn dashed(self, dash: Dash) -> Self {
        Self { dash, ..self }
    }
}

/// One thing on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// Lines, closed or open, filled by the non-zero rule if at all.
    Path {
        /// Corners of each line.
        contours: Vec<Vec<DVec2>>,
        /// Whether each line ends where it began.
        closed: bool,
        /// What it is filled with.
        fill: Option<Rgb>,
        /// What it is drawn with.
        pen: Option<Pen>,
    },
    /// A line of text.
    Text(Lettering),
    /// A picture, stretched to its size.
    Picture {
        /// Its pixels.
        image: Arc<RgbaImage>,
        /// Its upper left corner.
        corner: DVec2,
        /// Width and height, mm.
        size: DVec2,
    },
}

/// Things in the order they are drawn, the last on top.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drawing {
    /// The things.
    pub marks: Vec<Mark>,
}

/// A drawing on a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedDrawing {
    /// The drawing.
    pub drawing: Drawing,
    /// Where its origin lies on the sheet, mm.
    pub at: DVec2,
    /// Upper left and lower right corner of the frame it is cut off at, on the sheet.
    pub frame: Option<(DVec2, DVec2)>,
}

/// A sheet of paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Width and height, mm.
    pub size: DVec2,
    /// What is on it, the last on top.
    pub placed: Vec<PlacedDrawing>,
}

impl Page {
    /// A blank sheet.
    pub fn new(size: DVec2) -> Self {
        Self { size, placed: Vec::new() }
    }

    /// Puts `drawing` on it.
    pub fn place(&mut self, drawing: Drawing, at: DVec2) {
        self.placed.push(PlacedDrawing { drawing, at, frame: None });
    }
}

impl Drawing {
    /// Nothing drawn yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// A straight line.
    pub fn line(&mut self, from: DVec2, to: DVec2, pen: Pen) {
        self.polyline(vec![from, to], pen);
    }

    /// Straight lines from corner to corner.
    pub fn polyline(&mut self, points: Vec<DVec2>, pen: Pen) {
        self.marks.push(Mark::Path { contours: vec![points], closed: false, fill: None, pen: Some(pen) });
    }

    /// Closed lines.
    pub fn closed(&mut self, contours: Vec<Vec<DVec2>>, fill: Option<Rgb>, pen: Option<Pen>) {
        self.marks.push(Mark::Path { contours, closed: true, fill, pen });
    }

    /// A region of geometry, y up, about `origin`.
    pub fn region(&mut self, region: &Region, origin: DVec2, fill: Option<Rgb>, pen: Option<Pen>) {
        let place = |c: &Vec<DVec2>| c.iter().map(|&p| origin + on_paper(p)).collect();
        self.closed(region.contours().iter().map(place).collect(), fill, pen);
    }

    /// A rectangle between two corners.
    pub fn rectangle(&mut self, a: DVec2, b: DVec2, fill: Option<Rgb>, pen: Option<Pen>) {
        self.closed(vec![vec![a, dvec2(b.x, a.y), b, dvec2(a.x, b.y)]], fill, pen);
    }

    /// A line of text.
    pub fn text(&mut self, lettering: Lettering) {
        if !lettering.text.is_empty() {
            self.marks.push(Mark::Text(lettering));
        }
    }

    /// A picture with its upper left corner at `corner`, as large as fits into `room`; gives back its size, mm.
    pub fn picture(&mut self, image: &Arc<RgbaImage>, corner: DVec2, room: DVec2) -> DVec2 {
        let pixels = DVec2::new(f64::from(image.width()), f64::from(image.height())).max(DVec2::ONE);
        let size = pixels * (room / pixels).min_element();
        self.marks.push(Mark::Picture { image: Arc::clone(image), corner, size });
        size
    }

    /// Another drawing, moved.
    pub fn extend(&mut self, other: &Self, by: DVec2) {
        self.marks.extend(other.marks.iter().map(|mark| mark.moved(by)));
    }

    /// Upper left and lower right corner of what is drawn; `None` when nothing is.
    pub fn bounds(&self) -> Option<(DVec2, DVec2)> {
        let mut all = self.marks.iter().filter_map(Mark::bounds);
        let first = all.next()?;
        Some(all.fold(first, |(lo, hi), (a, b)| (lo.min(a), hi.max(b))))
    }

    /// What of the drawing may show within a frame.
    #[must_use]
    pub fn within(&self, lo: DVec2, hi: DVec2) -> Self {
        let marks = self.marks.iter().filter(|mark| mark.meets(lo, hi)).cloned().collect();
        Self { marks }
    }
}

impl Mark {
    fn moved(&self, by: DVec2) -> Self {
        match self {
            Self::Path { contours, closed, fill, pen } => Self::Path {
                contours: contours.iter().map(|c| c.iter().map(|&p| p + by).collect()).collect(),
                closed: *closed,
                fill: *fill,
                pen: *pen,
            },
            Self::Text(lettering) => Self::Text(Lettering { at: lettering.at + by, ..lettering.clone() }),
            Self::Picture { image, corner, size } => {
                Self::Picture { image: Arc::clone(image), corner: *corner + by, size: *size }
            }
        }
    }

    /// Upper left and lower right corner.
    pub fn bounds(&self) -> Option<(DVec2, DVec2)> {
        match self {
            Self::Path { contours, pen, .. } => {
                let half = DVec2::splat(pen.map_or(0.0, |pen| pen.width / 2.0));
                let mut points = contours.iter().flatten();
                let first = *points.next()?;
                let (lo, hi) = points.fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p)));
                Some((lo - half, hi + half))
            }
            Self::Text(lettering) => Some(lettering.bounds()),
            Self::Picture { corner, size, .. } => Some((*corner, *corner + *size)),
        }
    }

    /// Whether it may show within a frame: for lines, whether any stretch comes into it.
    fn meets(&self, lo: DVec2, hi: DVec2) -> bool {
        let Some((a, b)) = self.bounds() else { return false };
        let overlap = a.cmple(hi).all() && lo.cmple(b).all();
        match self {
            Self::Path { contours, closed, fill, .. } if overlap => {
                let crosses = |c: &Vec<DVec2>| {
                    let last = if *closed { c.len() } else { c.len().saturating_sub(1) };
                    (0..last).any(|i| segment_meets(c[i], c[(i + 1) % c.len()], lo, hi))
                };
                fill.is_some() || contours.iter().any(crosses)
            }
            _ => overlap,
        }
    }
}

/// Whether the straight line from `a` to `b` comes into a frame (Liang and Barsky's clipping).
fn segment_meets(a: DVec2, b: DVec2, lo: DVec2, hi: DVec2) -> bool {
    let d = b - a;
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (along, from_lo, to_hi) in [(d.x, lo.x - a.x, hi.x - a.x), (d.y, lo.y - a.y, hi.y - a.y)] {
        if along == 0.0 {
            if from_lo > 0.0 || to_hi < 0.0 {
                return false;
            }
            continue;
        }
        let (t, u) = (from_lo / along, to_hi / along);
        enter = enter.max(t.min(u));
        leave = leave.min(t.max(u));
    }
    enter <= leave
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_lines_that_come_into_a_frame_are_kept() {
        let mut drawing = Drawing::new();
        let square = |side: f64| {
            let h = side / 2.0;
            vec![vec![dvec2(-h, -h), dvec2(h, -h), dvec2(h, h), dvec2(-h, h)]]
        };
        drawing.closed(square(10.0), None, Some(Pen::black(0.1)));
        drawing.closed(square(100.0), None, Some(Pen::black(0.1)));
        let near = drawing.within(DVec2::splat(-6.0), DVec2::splat(6.0));
        assert_eq!(near.marks, drawing.marks[..1]);
        assert!(drawing.within(DVec2::splat(10.0), DVec2::splat(20.0)).marks.is_empty());
    }
}
