//! Outlines of slabs and boards seen from above.

use std::f64::consts::PI;

use glam::{DVec2, dvec2};

use crate::design::{Footprint, FootprintShape};
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

    /// `p` as the footprint sees it: from its own middle, turned back.
    fn own(&self, p: DVec2) -> DVec2 {
        DVec2::from_angle(-self.turn.to_radians()).rotate(p - self.centre)
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

    /// How far this outline reaches beyond `other` at most, mm; negative if it stays inside. Seen at
    /// its corners, or every two degrees round a circle.
    pub fn reach_beyond(&self, other: &Footprint) -> f64 {
        if let (FootprintShape::Round { diameter: a }, FootprintShape::Round { diameter: b }) =
            (self.shape, other.shape)
        {
            return self.centre.distance(other.centre) + (a - b) / 2.0;
        }
        self.rim().iter().map(|&p| -other.depth(p)).fold(f64::NEG_INFINITY, f64::max)
    }

    fn rim(&self) -> Vec<DVec2> {
        let turn = DVec2::from_angle(self.turn.to_radians());
        match self.shape {
            FootprintShape::Round { diameter } => (0..180)
                .map(|i| self.centre + DVec2::from_angle(PI * f64::from(i) / 90.0) * diameter / 2.0)
                .collect(),
            FootprintShape::Rectangle { width, depth } => {
                [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                    .iter()
                    .map(|&(x, y)| self.centre + turn.rotate(dvec2(x * width, y * depth) / 2.0))
                    .collect()
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
