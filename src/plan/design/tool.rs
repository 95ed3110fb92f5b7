//! The forms of cuts and adds, as numbers; [`crate::carve`] makes solids of them.

use glam::{DVec2, DVec3};

use super::{Roll, Side};
use geom::Region;

/// The form of a detail, mm. Coordinates are [right, back, up] from the middle of the board's top.
#[derive(Debug, Clone, PartialEq)]
pub enum Tool {
    /// A box turned about the upright.
    Box {
        /// Its middle.
        centre: DVec3,
        /// Width, depth, height.
        size: DVec3,
        /// Degrees counter-clockwise seen from above.
        turn: f64,
    },
    /// A ball.
    Ball {
        /// Its middle.
        centre: DVec3,
        /// Radius.
        radius: f64,
    },
    /// A cylinder or cone.
    Cylinder {
        /// Middle of one end.
        from: DVec3,
        /// Middle of the other end.
        to: DVec3,
        /// Radius at `from`.
        from_radius: f64,
        /// Radius at `to`; may be 0.
        to_radius: f64,
    },
    /// A ring.
    Ring {
        /// Its middle.
        centre: DVec3,
        /// Direction through the hole, of length 1.
        axis: DVec3,
        /// Radius to the middle of the bar.
        radius: f64,
        /// Radius of the bar.
        bar_radius: f64,
    },
    /// A round bar: the union of balls along a path, so that its ends are round.
    Bar {
        /// Points along the path with the radius there, close enough to join straight.
        stations: Vec<(DVec3, f64)>,
    },
    /// A sausage laid along an edge of the surface.
    Roll(Roll),
    /// Everything beyond a plane.
    HalfSpace {
        /// A point on the plane.
        point: DVec3,
        /// Direction towards what is cut away, of length 1.
        normal: DVec3,
    },
    /// An outline pressed into the surface or raised from it.
    Relief(Relief),
}

/// An outline on the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Relief {
    /// The outline about its middle: right and up seen from outside, as it is cut. On the top, up is towards the back.
    pub outline: Region,
    /// How far it is turned about its middle where it lies, degrees counter-clockwise seen from outside.
    pub spin: f64,
    /// Height of its middle; of no meaning on the top.
    pub height: f64,
    /// Bearing of its middle, degrees.
    pub bearing: f64,
    /// The way in which it lies on the surface.
    pub lies: Lies,
    /// How far it is pressed in or raised, square to the surface.
    pub depth: f64,
    /// The letters that it is of, if it is words.
    pub letters: Option<Letters>,
    /// How wide it is, mm, if it is a line.
    pub line: Option<f64>,
}

/// The letters of an outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Letters {
    /// What is written.
    pub words: String,
    /// Height of a capital, mm.
    pub capital: f64,
    /// How far the outline is turned from upright letters, degrees counter-clockwise.
    pub turn: f64,
}

/// How an outline lies on the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lies {
    /// On the side, straight in along the normal of its middle.
    Flat,
    /// On the side, wrapped round it as a strip of paper.
    Wrapped,
    /// Straight in from a side, where it is drawn; the bearing is that of the side.
    Drawn(Drawn),
    /// On the top, straight down; its middle as seen from above.
    Top(DVec2),
}

/// Where an outline lies that goes straight in from a side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    /// From which side it goes in, as far as the middle of the cake.
    pub side: Side,
    /// How far its middle lies right (seen from the front) or back (seen from a side) of the middle, mm.
    pub across: f64,
}

impl Drawn {
    /// Bearing of a side, degrees.
    pub fn bearing(side: Side) -> f64 {
        match side {
            Side::Front => 0.0,
            Side::Right => 90.0,
            Side::Back => 180.0,
            Side::Left => 270.0,
        }
    }
}

impl Relief {
    /// The outline as it lies, turned about its middle.
    pub fn lying(&self) -> Region {
        if self.spin == 0.0 {
            return self.outline.clone();
        }
        self.outline.placed(self.spin.to_radians(), DVec2::ZERO)
    }

    /// Furthest distance of the outline from its middle, mm.
    pub fn reach(&self) -> f64 {
        self.outline.contours().iter().flatten().map(|p: &DVec2| p.length()).fold(0.0, f64::max)
    }

    /// Where it is drawn, if it goes straight in from a side there.
    pub fn drawn(&self) -> Option<Drawn> {
        match self.lies {
            Lies::Drawn(drawn) => Some(drawn),
            Lies::Flat | Lies::Wrapped | Lies::Top(_) => None,
        }
    }

    /// Its middle seen from above, if it lies on the top.
    pub fn on_top(&self) -> Option<DVec2> {
        match self.lies {
            Lies::Top(at) => Some(at),
            Lies::Flat | Lies::Wrapped | Lies::Drawn(_) => None,
        }
    }
}
