//! A line of the cake as a tool meets it from the side.

use std::sync::Arc;

use glam::{DVec2, Vec2Swizzles as _, dvec2};

use super::envelope::upper_envelope;
use geom::Region;
use plan::lines::Line;

/// The outermost outline of a line: for each height, everything from the axis out to the greatest radius.
///
/// A tool comes from the side while the cake turns, so that what lies behind an outer surface at the same
/// height is out of its reach.
#[derive(Debug, Clone)]
pub struct Silhouette {
    /// Name of the line.
    pub name: String,
    /// Bearings of the section, degrees; none for the line all round.
    pub bearings: Vec<f64>,
    /// Everything inside, right of the axis.
    pub shadow: Arc<Region>,
    /// Height of the top, mm.
    pub top: f64,
    /// Greatest radius, mm.
    pub reach: f64,
}

/// Heights are looked up this far beside a corner, mm.
const BESIDE: f64 = 1e-6;

impl Silhouette {
    /// The silhouette of a line.
    pub fn new(line: &Line) -> Self {
        Self::of(&line.name, Vec::new(), &line.section)
    }

    /// The silhouette of the section at a bearing (degrees) of a line, cuts and adds included.
    pub fn at(line: &Line, bearing: f64, section: &Region) -> Self {
        Self::of(&line.name, vec![bearing], section)
    }

    fn of(name: &str, bearings: Vec<f64>, section: &Region) -> Self {
        // With x and y exchanged, so that the greatest radius is the envelope over the heights.
        let outer = upper_envelope(section.edges().map(|(a, b)| (a.yx(), b.yx())));
        let inside = outer.into_iter().filter_map(|chain| {
            let (first, last) = (chain.first()?.x, chain.last()?.x);
            let side = chain.iter().map(|p| p.yx());
            Some(std::iter::once(dvec2(0.0, first)).chain(side).chain([dvec2(0.0, last)]).collect())
        });
        let shadow = Region::new(inside.collect());
        let hi = shadow.bounds().map_or(DVec2::ZERO, |(_, hi)| hi);
        Self { name: name.to_owned(), bearings, shadow: Arc::new(shadow), top: hi.y, reach: hi.x }
    }

    /// What the line is called on tools, as "carved line".
    pub fn title(&self) -> String {
        if self.bearings.is_empty() {
            return format!("{} line", self.name);
        }
        let bearings: Vec<String> = self.bearings.iter().map(|bearing| format!("{bearing:.0}°")).collect();
        format!("{} line, at {}", self.name, bearings.join(" and "))
    }

    /// Whether the same tool does for both: they differ nowhere by more than can be seen.
    pub fn is_like(&self, other: &Self) -> bool {
        /// Less differs by less than a tenth of a millimetre along an edge of 100 mm, mm².
        const SEEN: f64 = 10.0;
        let off = self.shadow.difference(&other.shadow).area() + other.shadow.difference(&self.shadow).area();
        off < SEEN
    }

    /// Greatest radius at a height, mm: the larger one at a step; 0 outside.
    pub fn radius(&self, height: f64) -> f64 {
        [height - BESIDE, height + BESIDE]
            .into_iter()
            .filter_map(|z| self.shadow.row(z).last().map(|&(_, r)| r))
            .fold(0.0, f64::max)
    }

    /// Greatest radius between two heights, mm.
    pub fn widest_between(&self, low: f64, high: f64) -> f64 {
        let band = self.shadow.between(low, high);
        band.bounds().map_or(0.0, |(_, hi)| hi.x)
    }

    /// The edges that a tool follows, from the foot up: neither the axis nor the board.
    pub fn working(&self) -> Vec<(DVec2, DVec2)> {
        let on_axis = |a: DVec2, b: DVec2| a.x < BESIDE && b.x < BESIDE;
        let on_board = |a: DVec2, b: DVec2| a.y < BESIDE && b.y < BESIDE;
        self.shadow.edges().filter(|&(a, b)| !on_axis(a, b) && !on_board(a, b)).collect()
    }

    /// Height of the widest place, the lowest of several, mm.
    pub fn widest(&self) -> f64 {
        let widest = self.corners().filter(|p| p.x > self.reach - BESIDE);
        widest.map(|p| p.y).fold(f64::INFINITY, f64::min)
    }

    /// Height of the narrowest place below the widest, if the shape has a waist there, mm.
    pub fn waist(&self) -> Option<f64> {
        let widest = self.widest();
        let below = self.corners().filter(|p| p.y < widest && p.x > BESIDE);
        let narrowest = below.min_by(|a, b| a.x.total_cmp(&b.x))?;
        let at_foot = narrowest.y < BESIDE;
        (!at_foot).then_some(narrowest.y)
    }

    fn corners(&self) -> impl Iterator<Item = &DVec2> {
        self.shadow.contours().iter().flatten()
    }
}
