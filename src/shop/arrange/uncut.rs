//! The shape that slabs have to hold: the carved one before anything is cut out of it, since a pan has to hold what it is
//! cut from.

use glam::DVec3;

use geom::{Cancel, Cancelled, Region, Tolerance};
use plan::{
    carve::{Body, Edited},
    design::Operation,
};

use super::needs::{DIRECTIONS, direction};

/// A body without its cuts. Adds are joined to it once, not once for every height that is looked at.
pub struct Uncut {
    /// The body without cuts and adds; a body that is not turned with all of them.
    plain: Body,
    /// What stands in the bays of its adds.
    added: Vec<Edited>,
    /// Height of its top, mm.
    pub height: f64,
    tolerance: Tolerance,
}

/// How far a part of the shape reaches, seen from above, mm.
pub struct Reach {
    /// In each direction.
    pub each: [f64; DIRECTIONS],
    /// From the axis.
    pub furthest: f64,
}

impl Uncut {
    /// `body` without its cuts, rounds within `tolerance`.
    ///
    /// # Errors
    /// [`Cancelled`] once `cancel` asks to stop.
    pub fn new(body: &Body, tolerance: Tolerance, cancel: &Cancel) -> Result<Self, Cancelled> {
        let mut joined = body.clone();
        joined.edits.retain(|edit| edit.operation == Operation::Add);
        let (_, height) = joined.heights();
        let bare = joined.free.is_some() || joined.edits.is_empty();
        let added = if bare { Vec::new() } else { joined.edited(joined.meridians(tolerance), cancel)? };
        let plain = joined.without_edits();
        Ok(Self { plain, added, height, tolerance })
    }

    /// What a level knife at height `z` lays bare, seen from above. At a height where a level face lies, what stands
    /// above it.
    pub fn outline_at(&self, z: f64) -> Region {
        /// Looked up this far above, so that the foot and seams are found too, mm.
        const ABOVE: f64 = 1e-6;
        let at = z.clamp(0.0, self.height - 2.0 * ABOVE) + ABOVE;
        let below_top = self.plain.free.is_some() || at < self.plain.heights().1;
        let plain = if below_top { self.plain.outline_at(z, self.tolerance) } else { Region::default() };
        let added = self.added.iter().map(|edited| edited.mesh.section(at)).filter(|part| !part.is_empty());
        added.fold(plain, |all, part| all.union(&part))
    }

    /// How far it reaches between two heights.
    pub fn reach_between(&self, low: f64, high: f64) -> Reach {
        let mut reach = Reach { each: [f64::NEG_INFINITY; DIRECTIONS], furthest: 0.0 };
        let directions: [_; DIRECTIONS] = std::array::from_fn(direction);
        let mut meet = |p: glam::DVec2| {
            for (each, u) in reach.each.iter_mut().zip(&directions) {
                *each = each.max(p.dot(*u));
            }
            reach.furthest = reach.furthest.max(p.length());
        };
        match self.plain.layered() {
            Some(mesh) => {
                mesh.each_between(low, high, |_, corners| corners.iter().for_each(|p| meet(p.truncate())));
            }
            None => {
                for edited in &self.added {
                    let mut piece = |_, corners: [DVec3; 3]| corners.iter().for_each(|p| meet(p.truncate()));
                    edited.mesh.each_between(low, high, &mut piece);
                }
                let shadow = self.plain.shadow_between(low, high, self.tolerance);
                shadow.contours().iter().flatten().for_each(|p| meet(*p));
            }
        }
        if reach.each[0] == f64::NEG_INFINITY {
            reach.each = [0.0; DIRECTIONS];
        }
        reach
    }

    /// Volume between two heights without that of adds, mm³.
    pub fn volume_between(&self, low: f64, high: f64) -> f64 {
        self.plain.volume_between(low, high, &[])
    }
}

#[cfg(test)]
mod tests {
    use cakefile::CakeFile;
    use glam::dvec2;
    use plan::{Planner, Source};

    use super::*;

    const URN: &str = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[60, 0], [80, 90], [0, 120]]\n[[tier]]\n\
                       name = \"one\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 120\n[[detail]]\nname = \"ball\"\n\
                       cut = \"sponge\"\nball = { centre = [60, 20, 70], diameter = 40 }\n[[detail]]\nname = \"knob\"\n\
                       add = \"sponge\"\nball = { centre = [0, -85, 80], diameter = 44 }\n[[detail]]\nname = \"crown\"\n\
                       add = \"sponge\"\nball = { centre = [0, 0, 118], diameter = 30 }\n";

    /// Against a boolean of the part at each height, whose rounds have other corners within the same tolerance.
    #[test]
    fn adds_reach_as_far_as_in_a_boolean_of_the_part() {
        let files = cakefile::world::Disk::new();
        let source = Source::new(CakeFile::from_text("x", "", URN), std::sync::Arc::new(files));
        let planner = Planner::new();
        let design = planner.understand(&source, &Cancel::new(), |_, _| ()).unwrap().design;
        let cancel = Cancel::new();
        let lines = planner.lines(&design, &cancel).unwrap();
        let target = planner.target(&design, &lines, &cancel).unwrap();
        let uncut = Uncut::new(&target.0, design.preview, &cancel).unwrap();
        let mut whole = target.0.clone();
        whole.edits.retain(|edit| edit.operation == Operation::Add);
        assert!((uncut.height - whole.heights().1).abs() < 1e-9 && uncut.height > 130.0);
        for z in [5.0, 60.0, 75.0, 95.0, 112.0, 121.0, 130.0] {
            let shadow = whole.shadow_between(z, z + 5.0, design.preview);
            let reach = uncut.reach_between(z, z + 5.0);
            for (i, each) in reach.each.iter().enumerate() {
                let expected =
                    shadow.contours().iter().flatten().map(|p| p.dot(direction(i))).fold(f64::MIN, f64::max);
                assert!((each - expected).abs() < design.preview.chord_mm(), "{z} {i}: {each} {expected}");
            }
            let (ours, theirs) = (uncut.outline_at(z), whole.outline_at(z, design.preview));
            assert!((ours.area() - theirs.area()).abs() < 1e-2 * theirs.area(), "{z}");
            for p in [dvec2(0.0, -95.0), dvec2(60.0, 20.0), dvec2(0.0, 5.0)] {
                assert_eq!(ours.contains(p), theirs.contains(p), "{z} {p}");
            }
        }
    }
}
