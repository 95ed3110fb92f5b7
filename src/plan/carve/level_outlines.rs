//! Outlines of one body at many heights.

use std::sync::{Arc, OnceLock};

use geom::{LayeredMesh, Region, Tolerance};

use super::{Body, body::looked_up};

/// Outlines of one body, rounds within a tolerance. What cuts and adds do to it is worked out once for all heights,
/// where [`Body::outline_at`] does so for each.
#[derive(Debug)]
pub struct LevelOutlines<'a> {
    body: &'a Body,
    tolerance: Tolerance,
    /// The whole surface with cuts and adds, once a height asks for it.
    surface: OnceLock<LayeredMesh>,
}

impl<'a> LevelOutlines<'a> {
    /// Nothing is worked out yet.
    pub fn new(body: &'a Body, tolerance: Tolerance) -> Self {
        Self { body, tolerance, surface: OnceLock::new() }
    }

    /// [`Body::outline_at`].
    pub fn at(&self, z: f64) -> Region {
        let (body, at) = (self.body, looked_up(z, self.body.heights()));
        if body.free.is_some() || !body.is_edited_at(at) {
            return body.outline_at(z, self.tolerance);
        }
        self.surface
            .get_or_init(|| LayeredMesh::new(Arc::new(body.mesh(body.meridians(self.tolerance)))))
            .section(at)
    }
}

#[cfg(test)]
mod tests {
    use cakefile::{CakeFile, world::Memory};
    use geom::{Cancel, uncancelled};

    use super::*;
    use crate::{Planner, Source, lines::Lines};

    const CUT: &str = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[60, 0], [80, 90], [0, 120]]\n[[tier]]\n\
                       name = \"one\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 120\n[[detail]]\nname = \"ball\"\n\
                       cut = \"sponge\"\nball = { centre = [60, 20, 70], diameter = 40 }\n[[detail]]\nname = \"knob\"\n\
                       add = \"sponge\"\nball = { centre = [0, -85, 80], diameter = 44 }\n";

    /// The reference is a boolean at each height.
    #[test]
    fn outlines_are_those_of_a_boolean_at_each_height() {
        let source = Source::new(CakeFile::from_text("x", "", CUT), Arc::new(Memory::new()));
        let design = Planner::new().understand(&source, &Cancel::new(), |_, _| ()).unwrap().design;
        let lines = Lines::new(&design, design.tool, &Cancel::new()).unwrap();
        let body = uncancelled(|cancel| Body::new(&design, &lines, 0, design.tool, cancel));
        let outlines = LevelOutlines::new(&body, design.preview);
        let mut edited = 0;
        for z in [0.0, 20.0, 55.0, 62.5, 70.0, 80.0, 101.0, 115.0, 120.0] {
            let (ours, theirs) = (outlines.at(z), body.outline_at(z, design.preview));
            assert!(
                (ours.area() / theirs.area() - 1.0).abs() < 1e-9,
                "{z}: {} {}",
                ours.area(),
                theirs.area()
            );
            edited += u32::from(body.is_edited_at(z));
        }
        assert!(edited > 4, "{edited}");
    }
}
