//! Outlines of slabs and boards seen from above.

use std::f64::consts::PI;

use glam::{DVec2, dvec2};

use crate::design::{Footprint, FootprintShape};
use geom::real;
use geom::{Region, Tolerance};

impl Footprint {
    /// Area, mm².
    pub fn area(&self) -> f64 {
        match self.shape {
            FootprintShape::Round { diameter } => PI * diameter * diameter / 4.0,
            FootprintShape::Rectangle { width, depth } => width * depth,
        }
    }

    /// Distance of its furthest point from its middle, mm.
    pub fn reach(&self) -> f64 {
        match self.shape {
            FootprintShape::Round { diameter } => diameter / 2.0,
            FootprintShape::Rectangle { width, depth } => dvec2(width, depth).length() / 2.0,
        }
    }

    /// How far it reaches from the axis in the direction `along`, a unit vector, mm.
    pub fn support(&self, along: DVec2) -> f64 {
        let own = match self.shape {
            FootprintShape::Round { diameter } => diameter / 2.0,
            FootprintShape::Rectangle { width, depth } => {
                let turned = real::unit_vector(-self.turn.to_radians()).rotate(along).abs();
                turned.dot(dvec2(width, depth)) / 2.0
            }
        };
        self.centre.dot(along) + own
    }

    /// `p` as the footprint sees it: from its own middle, turned back.
    fn own(&self, p: DVec2) -> DVec2 {
        real::unit_vector(-self.turn.to_radians()).rotate(p - self.centre)
    }

    /// Distance from `p` to the edge, mm: positive inside, negative outside. Exact.
    pub fn depth(&self, p: DVec2) -> f64 {
        match self.shape {
            FootprintShape::Round { diameter } => diameter / 2.0 - p.distance(self.centre),
            FootprintShape::Rectangle { width, depth } => {
                let over = self.own(p).abs() - dvec2(width, depth) / 2.0;
                -(over.max(DVec2::ZERO).length() + over.x.max(over.y).min(0.0))
            }
        }
    }

    /// The outline as a polygon with its corners on it.
    pub fn region(&self, tolerance: Tolerance) -> Region {
        match self.shape {
            FootprintShape::Round { diameter } => Region::disc(self.centre, diameter / 2.0, tolerance),
            FootprintShape::Rectangle { width, depth } => {
                let half = dvec2(width, depth) / 2.0;
                Region::rectangle(-half, half).placed(self.turn.to_radians(), self.centre)
            }
        }
    }

    /// How far this outline reaches beyond `other` at most, mm; negative if it stays inside. Exact: the signed
    /// distance to a convex outline is greatest at corners, and grows by the radius from the middle of a circle.
    pub fn reach_beyond(&self, other: &Footprint) -> f64 {
        match self.shape {
            FootprintShape::Round { diameter } => diameter / 2.0 - other.depth(self.centre),
            FootprintShape::Rectangle { width, depth } => {
                let turn = real::unit_vector(self.turn.to_radians());
                let half = dvec2(width, depth) / 2.0;
                let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
                let beyond =
                    corners.map(|(x, y)| -other.depth(self.centre + turn.rotate(dvec2(x, y) * half)));
                beyond.into_iter().fold(f64::NEG_INFINITY, f64::max)
            }
        }
    }
}

impl std::fmt::Display for Footprint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.shape {
            FootprintShape::Round { diameter } => write!(f, "round {diameter:.0} mm"),
            FootprintShape::Rectangle { width, depth } if width == depth => write!(f, "square {width:.0} mm"),
            FootprintShape::Rectangle { width, depth } => write!(f, "{width:.0} × {depth:.0} mm"),
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
