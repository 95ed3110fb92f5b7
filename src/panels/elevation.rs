//! The cake as seen from the front or from the side, to scale: how far each line reaches at each height.

use std::sync::Arc;

use geom::{LayeredMesh, Region};
use plan::{
    Plan,
    design::FootprintShape,
    stack::{Dowel, Slab},
};

/// From where the cake is looked at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub enum Seen {
    /// Right is to the right.
    #[default]
    Front,
    /// From the cake's right: its back is to the right.
    Side,
}

/// How far a line reaches at one height, in mm from the middle of the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// The height of the middle of this strip, mm.
    pub height: f64,
    /// From where to where there is cake inside the line.
    pub spans: Vec<(f64, f64)>,
}

/// One line from the board up.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// "finished", "coated", "carved".
    pub name: String,
    /// From the bottom up, [`Profile::step`] apart.
    pub levels: Vec<Level>,
    /// How high each strip is, mm.
    pub step: f64,
}

/// All lines, seen from two sides.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Elevation {
    /// From the front, from the outside in.
    pub front: Vec<Profile>,
    /// From the side, likewise.
    pub side: Vec<Profile>,
}

/// Strips over the whole height.
const STRIPS: u32 = 160;

impl Elevation {
    /// The lines of a plan: of a turned shape its section, of another how far it reaches at each height. Details are
    /// left out.
    pub fn of(plan: &Plan) -> Self {
        let (mut front, mut side) = (Vec::new(), Vec::new());
        for line in plan.lines.all() {
            match &line.solid {
                None => {
                    let profile = turned(&line.name, &line.section);
                    side.push(profile.clone());
                    front.push(profile);
                }
                Some(mesh) => {
                    let mesh = LayeredMesh::new(Arc::clone(mesh));
                    let (lo, hi) = mesh.mesh().bounds().unwrap_or_default();
                    let sections = levels(lo.z, hi.z, |z| mesh.section(z));
                    let seen = |axis: fn(glam::DVec2) -> f64| Profile {
                        name: line.name.clone(),
                        step: (hi.z - lo.z) / f64::from(STRIPS),
                        levels: sections
                            .iter()
                            .map(|(height, section)| Level {
                                height: *height,
                                spans: section
                                    .bounds()
                                    .map(|(lo, hi)| (axis(lo), axis(hi)))
                                    .into_iter()
                                    .collect(),
                            })
                            .collect(),
                    };
                    front.push(seen(|p| p.x));
                    side.push(seen(|p| p.y));
                }
            }
        }
        Self { front, side }
    }

    /// The lines as seen from there, from the outside in.
    pub fn seen(&self, from: Seen) -> &[Profile] {
        match from {
            Seen::Front => &self.front,
            Seen::Side => &self.side,
        }
    }
}

fn levels<T>(low: f64, high: f64, at: impl Fn(f64) -> T) -> Vec<(f64, T)> {
    let step = (high - low) / f64::from(STRIPS);
    let height = |i: u32| low + (f64::from(i) + 0.5) * step;
    (0..STRIPS).map(|i| (height(i), at(height(i)))).collect()
}

fn turned(name: &str, section: &Region) -> Profile {
    let (lo, hi) = section.bounds().unwrap_or_default();
    let spans = |row: Vec<(f64, f64)>| {
        /// Nearer to the axis than this both halves are one, mm.
        const JOINED: f64 = 1e-6;
        let mut spans: Vec<(f64, f64)> = row.iter().rev().map(|(near, far)| (-far, -near)).collect();
        for (near, far) in row {
            match spans.last_mut().filter(|(_, end)| near - *end < JOINED) {
                Some((_, end)) => *end = far,
                None => spans.push((near, far)),
            }
        }
        spans
    };
    let levels = levels(lo.y, hi.y, |z| spans(section.row(z)));
    Profile {
        name: name.to_owned(),
        step: (hi.y - lo.y) / f64::from(STRIPS),
        levels: levels.into_iter().map(|(height, spans)| Level { height, spans }).collect(),
    }
}

/// From where to where a slab reaches, mm.
pub fn reach(slab: &Slab, from: Seen) -> (f64, f64) {
    let footprint = &slab.footprint;
    let turn = footprint.turn.to_radians();
    let (sin, cos) = (turn.sin().abs(), turn.cos().abs());
    let half = |x: f64, y: f64| match from {
        Seen::Front => (x * cos + y * sin) / 2.0,
        Seen::Side => (x * sin + y * cos) / 2.0,
    };
    let middle = match from {
        Seen::Front => footprint.centre.x,
        Seen::Side => footprint.centre.y,
    };
    let half = match &footprint.shape {
        FootprintShape::Round { diameter } => diameter / 2.0,
        FootprintShape::Rectangle { width, depth } => half(*width, *depth),
        pieces @ FootprintShape::Pieces(_) => {
            let [width, depth] = pieces.size();
            half(width, depth)
        }
    };
    (middle - half, middle + half)
}

/// From where to where a dowel reaches, mm.
pub fn dowel_reach(dowel: &Dowel, from: Seen) -> (f64, f64) {
    let middle = match from {
        Seen::Front => dowel.at.x,
        Seen::Side => dowel.at.y,
    };
    (middle - dowel.diameter / 2.0, middle + dowel.diameter / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use cakefile::{CakeFile, world::Memory};
    use plan::Source;

    fn planned(text: &str) -> Plan {
        let cake = CakeFile::from_text("cake", "", text);
        Plan::new(&Source::new(cake, Arc::new(Memory::new()))).expect("a cake")
    }

    /// A cone of 100 mm radius and 200 mm height under 10 mm of ganache: its half width at height z is
    /// 100 (1 - z / 200) outside, and less inside by 10 √(1 + ½²), as its wall leans so.
    #[test]
    fn a_cone_reaches_as_far_as_its_wall_says() {
        let plan = planned(
            "crumbline = 2\nname = \"Cone\"\n[shape.turned]\npoints = [[100, 0], [0, 200]]\n\
             [[covering]]\nmaterial = \"ganache\"\nthickness = 10\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 200\n",
        );
        let elevation = Elevation::of(&plan);
        for (profile, inside) in elevation.front.iter().zip([0.0, 10.0 * 1.25_f64.sqrt()]) {
            for level in &profile.levels {
                let half = (100.0 * (1.0 - level.height / 200.0) - inside).max(0.0);
                let Some((from, to)) = level.spans.first() else { continue };
                assert!(
                    (from + half).abs() < 0.3 && (to - half).abs() < 0.3,
                    "{} at {level:?}",
                    profile.name
                );
            }
        }
        assert_eq!(elevation.front, elevation.side);
    }

    #[test]
    fn a_crossed_shape_is_as_wide_as_each_of_its_silhouettes() {
        let plan = planned(
            "crumbline = 2\nname = \"Wedge\"\n[shape.crossed.front]\npoints = [[-60, 0], [60, 0], [0, 100]]\n\
             [shape.crossed.side]\npoints = [[-40, 0], [40, 0], [40, 100], [-40, 100]]\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { square = 130 }\nheight = 100\n",
        );
        let elevation = Elevation::of(&plan);
        for (front, side) in elevation.front[0].levels.iter().zip(&elevation.side[0].levels) {
            let half = 60.0 * (1.0 - front.height / 100.0);
            assert!((front.spans[0].1 - half).abs() < 0.5, "{front:?}");
            assert!((side.spans[0].0 + 40.0).abs() < 0.5 && (side.spans[0].1 - 40.0).abs() < 0.5, "{side:?}");
        }
    }
}
