//! Outlines of slabs and boards seen from above.

use std::f64::consts::PI;

use glam::{DVec2, dvec2};

use crate::design::{Footprint, FootprintShape, Piece};
use geom::real;
use geom::{Region, Tolerance};

impl Footprint {
    /// Area, mm².
    pub fn area(&self) -> f64 {
        match &self.shape {
            FootprintShape::Round { diameter } => PI * diameter * diameter / 4.0,
            FootprintShape::Rectangle { width, depth } => width * depth,
            FootprintShape::Pieces(pieces) => pieces.area(),
        }
    }

    /// The middle of its area, mm.
    pub fn centroid(&self) -> DVec2 {
        match &self.shape {
            FootprintShape::Round { .. } | FootprintShape::Rectangle { .. } => self.centre,
            FootprintShape::Pieces(pieces) => self.placed(pieces.centroid()),
        }
    }

    /// Distance of its furthest point from its middle, mm.
    pub fn reach(&self) -> f64 {
        match &self.shape {
            FootprintShape::Round { diameter } => diameter / 2.0,
            FootprintShape::Rectangle { width, depth } => dvec2(*width, *depth).length() / 2.0,
            FootprintShape::Pieces(pieces) => pieces.corners().map(|p| p.length()).fold(0.0, f64::max),
        }
    }

    /// How far it reaches from the axis in the direction `along`, a unit vector, mm.
    pub fn support(&self, along: DVec2) -> f64 {
        let own = real::unit_vector(-self.turn.to_radians()).rotate(along);
        let beyond = match &self.shape {
            FootprintShape::Round { diameter } => diameter / 2.0,
            FootprintShape::Rectangle { width, depth } => own.abs().dot(dvec2(*width, *depth)) / 2.0,
            FootprintShape::Pieces(pieces) => pieces.corners().map(|p| p.dot(own)).fold(f64::MIN, f64::max),
        };
        self.centre.dot(along) + beyond
    }

    /// `p` as the footprint sees it: from its own middle, turned back.
    fn own(&self, p: DVec2) -> DVec2 {
        let from = p - self.centre;
        if self.turn == 0.0 { from } else { real::unit_vector(-self.turn.to_radians()).rotate(from) }
    }

    /// Where the point `p` of its own frame lies.
    pub fn placed(&self, p: DVec2) -> DVec2 {
        self.centre + real::unit_vector(self.turn.to_radians()).rotate(p)
    }

    /// Distance from `p` to the edge, mm: positive inside, negative outside. Exact.
    pub fn depth(&self, p: DVec2) -> f64 {
        match &self.shape {
            FootprintShape::Round { diameter } => diameter / 2.0 - p.distance(self.centre),
            FootprintShape::Rectangle { width, depth } => {
                let over = self.own(p).abs() - dvec2(*width, *depth) / 2.0;
                -(over.max(DVec2::ZERO).length() + over.x.max(over.y).min(0.0))
            }
            FootprintShape::Pieces(pieces) => pieces.outline().depth(self.own(p)),
        }
    }

    /// The outline as a polygon with its corners on it.
    pub fn region(&self, tolerance: Tolerance) -> Region {
        match &self.shape {
            FootprintShape::Round { diameter } => Region::disc(self.centre, diameter / 2.0, tolerance),
            FootprintShape::Rectangle { width, depth } => {
                let half = dvec2(*width, *depth) / 2.0;
                Region::rectangle(-half, half).placed(self.turn.to_radians(), self.centre)
            }
            FootprintShape::Pieces(pieces) => pieces.outline().placed(self.turn.to_radians(), self.centre),
        }
    }

    /// The convex parts that it is laid of, each with its corners counter-clockwise; the pieces of a layer of pieces, else
    /// the corners of its region.
    pub fn parts(&self, tolerance: Tolerance) -> Vec<Vec<DVec2>> {
        match &self.shape {
            FootprintShape::Round { .. } | FootprintShape::Rectangle { .. } => {
                self.region(tolerance).contours().to_vec()
            }
            FootprintShape::Pieces(pieces) => {
                let placed = |piece: &Piece| piece.corners().map(|p| self.placed(p)).to_vec();
                pieces.list().iter().map(placed).collect()
            }
        }
    }

    /// How far this outline reaches beyond `other` at most, mm; negative if it stays inside. Exact where `other` is convex:
    /// the signed distance to a convex outline is greatest at corners, and grows by the radius from the middle of a
    /// circle. Beyond pieces it is measured along the edges, within a millimetre.
    pub fn reach_beyond(&self, other: &Footprint) -> f64 {
        let beyond = |p: DVec2| -other.depth(p);
        if other.shape.pieces().is_some() {
            /// Furthest apart that two places on an edge lie, mm.
            const APART: f64 = 2.0;
            let edges = self.region(Tolerance::PREVIEW).refined(APART);
            return edges.contours().iter().flatten().map(|p| beyond(*p)).fold(f64::NEG_INFINITY, f64::max);
        }
        match &self.shape {
            FootprintShape::Round { diameter } => diameter / 2.0 + beyond(self.centre),
            FootprintShape::Rectangle { width, depth } => {
                let half = dvec2(*width, *depth) / 2.0;
                let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
                let beyond = corners.map(|(x, y)| beyond(self.placed(dvec2(x, y) * half)));
                beyond.into_iter().fold(f64::NEG_INFINITY, f64::max)
            }
            FootprintShape::Pieces(pieces) => {
                pieces.corners().map(|p| beyond(self.placed(p))).fold(f64::NEG_INFINITY, f64::max)
            }
        }
    }
}

impl std::fmt::Display for Footprint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.shape {
            FootprintShape::Round { diameter } => write!(f, "round {diameter:.0} mm"),
            FootprintShape::Rectangle { width, depth } if width == depth => write!(f, "square {width:.0} mm"),
            FootprintShape::Rectangle { width, depth } => write!(f, "{width:.0} × {depth:.0} mm"),
            FootprintShape::Pieces(pieces) => {
                let [width, depth] = pieces.pan();
                write!(f, "{} pieces of {width:.0} × {depth:.0} mm", pieces.list().len())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against every point of the circle, half a degree apart.
    #[test]
    fn a_circle_reaches_beyond_a_turned_rectangle_as_far_as_its_points() {
        let plate = FootprintShape::Rectangle { width: 120.0, depth: 70.0 };
        let plate = Footprint { shape: plate, centre: dvec2(8.0, -3.0), turn: 35.0 };
        for centre in [DVec2::ZERO, dvec2(90.0, 20.0), dvec2(40.0, 55.0), dvec2(-61.0, 2.0)] {
            let disc = Footprint { shape: FootprintShape::Round { diameter: 60.0 }, centre, turn: 0.0 };
            let at = |i: u32| centre + DVec2::from_angle(PI * f64::from(i) / 360.0) * 30.0;
            let sampled = (0..720).map(|i| -plate.depth(at(i))).fold(f64::NEG_INFINITY, f64::max);
            let exact = disc.reach_beyond(&plate);
            assert!(exact >= sampled - 1e-9 && exact - sampled < 2e-3, "{centre}: {exact} {sampled}");
        }
    }
}
