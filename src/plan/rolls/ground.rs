//! The finished surface as something that rolls are laid on: how far off it is, and which way is out.

use glam::{DVec2, DVec3, dvec2};

use crate::{design::Form, lines::Lines};
use geom::chain;

/// The finished surface.
pub(super) struct Ground<'a> {
    /// The lines of the cake.
    pub lines: &'a Lines,
    /// Its solid, if it is not turned.
    pub form: Option<&'a Form>,
}

/// Where the outline of a turned shape is met: radius and height, and the outward normal there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct OnOutline {
    pub at: DVec2,
    pub out: DVec2,
}

impl Ground<'_> {
    /// How far `p` lies inside the finished surface, mm; negative outside.
    pub fn depth(&self, p: DVec3) -> f64 {
        // Of crossed silhouettes the lines know no more than how far each is away, which is less than to a corner.
        self.form.map_or_else(|| self.lines.depth_at(p), |form| form.depths().at(p))
    }

    /// The direction out of the surface at a place on it or near it.
    pub fn out(&self, p: DVec3) -> DVec3 {
        /// Half of what the depth is compared over, mm.
        const STEP: f64 = 0.02;
        let along = |axis: DVec3| self.depth(p - axis * STEP) - self.depth(p + axis * STEP);
        DVec3::new(along(DVec3::X), along(DVec3::Y), along(DVec3::Z)).normalize_or_zero()
    }

    /// `p` moved square to the surface until it lies `off` mm outside; at its own height if `level`.
    pub fn at_distance(&self, mut p: DVec3, off: f64, level: bool) -> DVec3 {
        /// Nearer is as good, mm.
        const CLOSE: f64 = 0.01;
        for _ in 0..12 {
            let missing = off + self.depth(p);
            if missing.abs() < CLOSE {
                break;
            }
            let mut out = self.out(p);
            if level {
                out.z = 0.0;
                // Sideways the distance grows more slowly where the surface leans.
                let lean = out.length();
                if lean < 0.05 {
                    break;
                }
                out /= lean * lean;
            }
            p += out * missing;
        }
        p
    }

    /// Where a way from outside first meets the surface within `reach` mm.
    pub fn met(&self, from: DVec3, way: DVec3, reach: f64) -> Option<DVec3> {
        /// Nearer is on it, mm.
        const ON: f64 = 1e-3;
        let mut gone = 0.0;
        // What lies at least so far away is not met on a way as long.
        for _ in 0..400 {
            let p = from + way * gone;
            let outside = -self.depth(p);
            if outside <= ON {
                return Some(p);
            }
            gone += outside.max(ON);
            if gone > reach {
                return None;
            }
        }
        None
    }

    /// Height of the top of the shape, mm.
    pub fn top(&self) -> f64 {
        match self.form.and_then(|form| form.mesh.bounds()) {
            Some((_, hi)) => hi.z,
            None => self.lines.finished().section.bounds().map_or(0.0, |(_, hi)| hi.y),
        }
    }

    /// Furthest that the shape reaches from the axis, mm.
    pub fn reach(&self) -> f64 {
        self.lines.finished().section.bounds().map_or(0.0, |(_, hi)| hi.x)
    }

    /// The outermost place of a turned outline at a height; `None` where it has none.
    pub fn outline_at(&self, height: f64) -> Option<OnOutline> {
        let mut found: Option<(DVec2, usize, usize, f64)> = None;
        let chains = crate::zones::chains(&self.lines.finished().section);
        for (which, line) in chains.iter().enumerate() {
            for (i, pair) in line.windows(2).enumerate() {
                let (a, b) = (pair[0], pair[1]);
                if height < a.y.min(b.y) - LEVEL || height > a.y.max(b.y) + LEVEL {
                    continue;
                }
                let share = if (b.y - a.y).abs() <= LEVEL {
                    if a.x >= b.x { 0.0 } else { 1.0 }
                } else {
                    ((height - a.y) / (b.y - a.y)).clamp(0.0, 1.0)
                };
                let at = a.lerp(b, share);
                if found.is_none_or(|(known, ..)| at.x > known.x + LEVEL) {
                    found = Some((at, which, i, share));
                }
            }
        }
        let (at, which, i, share) = found?;
        let line = &chains[which];
        Some(OnOutline { at, out: normal(line, i, share * line[i].distance(line[i + 1])) })
    }

    /// The edge at which the top of a turned shape begins; `None` where it goes up to a point.
    pub fn rim(&self) -> Option<OnOutline> {
        let chains = crate::zones::chains(&self.lines.finished().section);
        let on_axis = |line: &&Vec<DVec2>| line.last().is_some_and(|p| p.x < 1e-6);
        let high = |line: &Vec<DVec2>| line.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
        let line = chains.iter().filter(on_axis).max_by(|a, b| high(a).total_cmp(&high(b)))?;
        let (edge, length) = (chain::top_begins(line), chain::length(line));
        if length - edge < LEVEL {
            return None;
        }
        let at = chain::stretch(line, edge, length).first().copied()?;
        let i = line.windows(2).position(|pair| pair[1].distance(at) < LEVEL || on(pair, at))?;
        Some(OnOutline { at, out: normal(line, i, line[i].distance(at)) })
    }
}

/// Less apart is the same, mm.
const LEVEL: f64 = 1e-6;

fn on(pair: &[DVec2], p: DVec2) -> bool {
    geom::region::distance_to_segment(p, pair[0], pair[1]) < LEVEL
}

/// The outward normal `along` mm behind the corner `i` of a chain; at a corner half way between those of its two sides.
fn normal(line: &[DVec2], i: usize, along: f64) -> DVec2 {
    // The inside lies left of the chain.
    let side = |i: usize| {
        let way = line[i + 1] - line[i];
        dvec2(way.y, -way.x).normalize_or_zero()
    };
    let own = side(i);
    let next = if along >= line[i].distance(line[i + 1]) - LEVEL && i + 2 < line.len() {
        side(i + 1)
    } else if along <= LEVEL && i > 0 {
        side(i - 1)
    } else {
        own
    };
    (own + next).normalize_or(own)
}
