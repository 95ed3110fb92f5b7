//! Rolled sausages that are laid along an edge of the surface.

use glam::{DVec2, DVec3, dvec2};

pub use cakefile::schema::Border;

use super::{Immovable, Motion, Relief};

/// A sausage of paste, rolled and laid on the surface. Where it lies is known once the lines of the cake are
/// ([`crate::rolls`]).
#[derive(Debug, Clone, PartialEq)]
pub struct Roll {
    /// What it is laid along.
    pub along: Along,
    /// The zone whose border that is, if it was named.
    pub zone: Option<(String, Border)>,
    /// Bearings between which it lies, degrees, the second beyond the first; `None` for all round.
    pub between: Option<(f64, f64)>,
    /// How thick it is, over both strands if it is twisted, mm.
    pub diameter: f64,
    /// Whether it is pressed in up to its middle.
    pub sunk: bool,
    /// Whether it is two strands twisted round each other.
    pub twisted: bool,
    /// How far from each open end it begins to thin down, mm.
    pub taper: f64,
    /// Thickness at the very ends of a tapered one, mm.
    pub end_diameter: f64,
    /// Where it lies.
    pub laid: Laid,
}

/// What a roll is laid along.
#[derive(Debug, Clone, PartialEq)]
pub enum Along {
    /// The foot, on the board.
    Foot,
    /// The edge at which the top begins.
    Rim,
    /// Where the surface has a height, mm.
    Height(f64),
    /// The border of an outline on the surface.
    Outline(Relief),
    /// A line on the side through these places: bearing in degrees and height in mm.
    Path(Vec<DVec2>),
}

/// Where a roll lies.
#[derive(Debug, Clone, PartialEq)]
pub enum Laid {
    /// It is not known yet.
    Unknown,
    /// Nowhere.
    Nowhere(Nowhere),
    /// On the surface.
    On(Vec<Strand>),
}

/// Why a roll lies nowhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nowhere {
    /// The shape does not reach the height: it ends at this one, mm.
    NoSuchHeight(f64),
    /// The shape has no edge where its top begins: it goes up to a point, a ridge or a round.
    NoRim,
    /// The surface is not met at a place: its bearing in degrees and its height in mm.
    NoSurface(f64, f64),
    /// Nothing of the edge lies between the bearings, or less than the roll is thick.
    NotBetween,
}

/// A sausage, round in section, as it lies.
#[derive(Debug, Clone, PartialEq)]
pub enum Strand {
    /// A level ring about the axis.
    Ring {
        /// Radius of its middle, mm.
        radius: f64,
        /// Height of its middle, mm.
        height: f64,
        /// Its own radius, mm.
        thick: f64,
    },
    /// Balls along a line, close enough to join straight.
    Line {
        /// Points along the line with the radius there, mm.
        stations: Vec<(DVec3, f64)>,
        /// Whether the last is joined to the first.
        closed: bool,
    },
}

impl Strand {
    /// Length of its middle line, mm.
    pub fn along(&self) -> f64 {
        match self {
            Self::Ring { radius, .. } => std::f64::consts::TAU * radius,
            Self::Line { stations, closed } => {
                let open: f64 = stations.windows(2).map(|pair| pair[0].0.distance(pair[1].0)).sum();
                match (stations.first(), stations.last()) {
                    (Some(first), Some(last)) if *closed => open + last.0.distance(first.0),
                    _ => open,
                }
            }
        }
    }

    /// How long it is rolled, with its round ends, mm.
    pub fn length(&self) -> f64 {
        match self {
            Self::Line { stations, closed: false } => {
                let ends = [stations.first(), stations.last()];
                self.along() + ends.iter().flatten().map(|(_, radius)| radius).sum::<f64>()
            }
            _ => self.along(),
        }
    }

    /// What it holds, mm³: a sausage before it is pressed on or in.
    pub fn volume(&self) -> f64 {
        use std::f64::consts::PI;
        match self {
            // Pappus: the area of the section times the way of its middle.
            Self::Ring { thick, .. } => PI * thick * thick * self.along(),
            Self::Line { stations, closed } => {
                let cone = |(p, r): (DVec3, f64), (q, s): (DVec3, f64)| {
                    PI / 3.0 * (r * r + r * s + s * s) * p.distance(q)
                };
                let open: f64 = stations.windows(2).map(|pair| cone(pair[0], pair[1])).sum();
                let (Some(&first), Some(&last)) = (stations.first(), stations.last()) else { return 0.0 };
                // Half a ball at each end.
                let ball = |radius: f64| 2.0 / 3.0 * PI * radius * radius * radius;
                open + if *closed { cone(last, first) } else { ball(first.1) + ball(last.1) }
            }
        }
    }

    /// Its own greatest radius, mm.
    pub fn thick(&self) -> f64 {
        match self {
            Self::Ring { thick, .. } => *thick,
            Self::Line { stations, .. } => stations.iter().map(|(_, radius)| *radius).fold(0.0, f64::max),
        }
    }

    /// Whether it has no ends.
    pub fn is_closed(&self) -> bool {
        matches!(self, Self::Ring { .. } | Self::Line { closed: true, .. })
    }

    /// Points along its middle, each with its radius, no further apart than `step` mm or as far as they are given; a ring
    /// without its first point again.
    pub fn places(&self, step: f64) -> Vec<(DVec3, f64)> {
        match self {
            Self::Ring { radius, height, thick } => {
                let count = (self.along() / step).ceil().clamp(12.0, 1e4) as u32;
                let bearing = |i: u32| 360.0 * f64::from(i) / f64::from(count);
                let at = |i| (geom::revolve::at_bearing(*radius, *height, bearing(i)), *thick);
                (0..count).map(at).collect()
            }
            Self::Line { stations, .. } => stations.clone(),
        }
    }
}

impl Roll {
    /// Radius of one strand as it is rolled, mm.
    pub fn strand_radius(&self) -> f64 {
        if self.twisted { self.diameter / 2.0 / (1.0 + Self::TOGETHER) } else { self.diameter / 2.0 }
    }

    /// How far the middles of twisted strands lie from the line between them, as a share of a strand's radius: soft strands
    /// are pressed together by a tenth (common practice, no source).
    pub const TOGETHER: f64 = 0.9;

    /// How far a roll that lies on the surface is flattened there, as a share of its half thickness (common practice, no
    /// source).
    pub const FLATTENED: f64 = 0.1;

    /// How far its middle lies outside the surface, mm.
    pub fn stand_off(&self) -> f64 {
        if self.sunk { 0.0 } else { self.diameter / 2.0 * (1.0 - Self::FLATTENED) }
    }

    /// What it is rolled as; empty until it lies somewhere.
    pub fn strands(&self) -> &[Strand] {
        match &self.laid {
            Laid::On(strands) => strands,
            Laid::Unknown | Laid::Nowhere(_) => &[],
        }
    }

    /// Places along its middle lines, each with the radius there, mm; nothing until it lies somewhere.
    pub fn places(&self) -> impl Iterator<Item = (DVec3, f64)> + '_ {
        let step = self.diameter.max(1.0);
        self.strands().iter().flat_map(move |strand| strand.places(step))
    }

    /// The roll moved; where it lies is not known then.
    ///
    /// # Errors
    /// When its edge does not allow it.
    pub(super) fn moved(&self, by: &Motion) -> Result<Self, Immovable> {
        let turns = by.mirrored || by.turn != 0.0;
        if by.shift.truncate() != DVec2::ZERO {
            return Err(Immovable::SideNotStraight);
        }
        let along = match &self.along {
            Along::Outline(_) if turns || by.shift.z != 0.0 => return Err(Immovable::BorderStays),
            Along::Foot | Along::Rim if by.shift.z != 0.0 => return Err(Immovable::EdgeNotRaised),
            Along::Height(height) => Along::Height(height + by.shift.z),
            Along::Path(places) => {
                Along::Path(places.iter().map(|p| dvec2(by.angle(p.x), p.y + by.shift.z)).collect())
            }
            other => other.clone(),
        };
        let between = self.between.map(|(from, to)| {
            let (a, b) = (by.angle(from), by.angle(to));
            (a.min(b), a.max(b))
        });
        Ok(Self { along, between, laid: Laid::Unknown, ..self.clone() })
    }
}
