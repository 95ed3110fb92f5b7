//! The finished, coated and carved lines: one inside the other by the thickness of each covering.
//!
//! For a turned shape the surface that lies d mm inside is the revolved inset of its section, mirrored
//! in the axis so that the axis is no edge. A covering does not lie under the cake: before the inset
//! the section is carried on below the board in the direction its walls have there, and afterwards it
//! is cut at the board. A hollow that no outside reaches is not coated.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError},
};

use glam::{DVec2, dvec2};

use crate::{
    design::{Covering, Design, Tool, Trim},
    geom::{Region, Tolerance},
};

/// One of the lines: the section of the solid inside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// "finished", "coated", "carved", or "under …" for one between them.
    pub name: String,
    /// How far it lies inside the finished line, mm.
    pub depth: f64,
    /// Half section inside the line, right of the axis and above the board.
    pub section: Region,
}

/// Every line of a design, from the outside in: the first is finished, the last carved.
#[derive(Debug, Clone)]
pub struct Lines {
    lines: Vec<Line>,
    lost: Vec<LostDetail>,
    carried_on: CarriedOn,
    /// Insets asked for before, by depth and tolerance: many details ask for the same few.
    insets: Arc<Mutex<HashMap<(u64, u64), Region>>>,
}

/// A place where an even coat over the carved cake does not reach the finished line: a sharp edge is
/// rounded, a thin ridge is missing. The maker builds it up by hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LostDetail {
    /// Radius and height of the furthest point, mm.
    pub at: DVec2,
    /// How far the finished line lies beyond the even coat there, mm.
    pub by: f64,
    /// Lowest and highest point of the place, mm.
    pub heights: (f64, f64),
}

/// The coverings leave no cake.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "the coverings down to \"{covering}\" are {total} mm thick, and nothing of the shape is left inside them"
)]
pub struct NothingLeft {
    /// Place in the list of coverings, from 0.
    pub index: usize,
    /// The covering that takes the last of it.
    pub covering: String,
    /// Thickness down to and with it, mm.
    pub total: f64,
}

impl Lines {
    /// Finds every line of `design`, curves within `tolerance`.
    ///
    /// # Errors
    /// When the coverings leave nothing to carve.
    pub fn new(design: &Design, tolerance: Tolerance) -> Result<Self, NothingLeft> {
        let finished = design.profile.section();
        let carried_on = CarriedOn::new(finished, total(&design.coverings) + deepest_relief(&design.trims));
        let mut lines = vec![Line { name: "finished".into(), depth: 0.0, section: finished.clone() }];
        let mut depth = 0.0;
        for (index, covering) in design.coverings.iter().enumerate() {
            depth += covering.thickness;
            let section = carried_on.inset(depth, tolerance);
            if section.between(0.0, SLIVER).is_empty() || section.is_empty() {
                let covering = covering.material.name.clone();
                return Err(NothingLeft { index, covering, total: depth });
            }
            lines.push(Line { name: line_name(&design.coverings, index), depth, section });
        }
        let lost = carried_on.lost(depth, tolerance);
        Ok(Self { lines, lost, carried_on, insets: Arc::default() })
    }

    /// All lines from the outside in; never empty.
    pub fn all(&self) -> &[Line] {
        &self.lines
    }

    /// The surface after everything.
    pub fn finished(&self) -> &Line {
        &self.lines[0]
    }

    /// Where the knife goes.
    pub fn carved(&self) -> &Line {
        &self.lines[self.lines.len() - 1]
    }

    /// The surface with the outermost covering off; the carved line when there is just one covering.
    pub fn coated(&self) -> &Line {
        &self.lines[1.min(self.lines.len() - 1)]
    }

    /// The half section `depth` mm inside the finished line, or outside it where `depth` is negative; no deeper
    /// than coverings and pressed-in outlines go.
    pub fn inset(&self, depth: f64, tolerance: Tolerance) -> Region {
        let key = (depth.to_bits(), tolerance.chord_mm().to_bits());
        // A panic elsewhere leaves the map whole: it only ever gains finished regions.
        let known = || self.insets.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(region) = known().get(&key) {
            return region.clone();
        }
        let region = self.carried_on.inset(depth, tolerance);
        known().insert(key, region.clone());
        region
    }

    /// The half section that reaches `by` mm beyond the carved line: what is left while the knife is
    /// still that far off it.
    pub fn before_carved(&self, by: f64, tolerance: Tolerance) -> Region {
        CarriedOn::new(&self.carved().section, by).inset(-by, tolerance)
    }

    /// Where an even coat does not reach the finished line, worst first.
    pub fn lost(&self) -> &[LostDetail] {
        &self.lost
    }
}

/// A foot lower than this after the inset is none, mm.
const SLIVER: f64 = 1e-3;

fn total(coverings: &[Covering]) -> f64 {
    coverings.iter().map(|c| c.thickness).sum()
}

/// How deep the deepest outline is pressed in, mm.
fn deepest_relief(trims: &[Trim]) -> f64 {
    let depth = |trim: &Trim| match &trim.tool {
        Tool::Relief(relief) => relief.depth,
        _ => 0.0,
    };
    trims.iter().map(depth).fold(0.0, f64::max)
}

/// Name of the line under covering `index`.
fn line_name(coverings: &[Covering], index: usize) -> String {
    match index {
        _ if index + 1 == coverings.len() => "carved".into(),
        0 => "coated".into(),
        _ => format!("under {}", coverings[index].material.name),
    }
}

/// A section and its mirror image, carried on below the board.
#[derive(Debug, Clone, PartialEq)]
struct CarriedOn {
    /// Both halves, without the hollows that no coat reaches.
    outer: Region,
    /// Those hollows.
    hollows: Region,
    /// The half section itself.
    section: Region,
}

impl CarriedOn {
    fn new(section: &Region, deepest: f64) -> Self {
        // Twice as deep as the inset reaches, so that the carried-on end is never near the board.
        let below = (2.0 * deepest).max(1.0);
        let mut whole = section.filled();
        for (a, b) in foot_edges(section) {
            let skirt = vec![
                dvec2(a.x, 0.0),
                dvec2(b.x, 0.0),
                dvec2(b.x + wall_lean(section, b) * below, -below),
                dvec2((a.x + wall_lean(section, a) * below).max(0.0), -below),
            ];
            whole = whole.union(&Region::new(vec![counter_clockwise(skirt)]));
        }
        let hollows = section.holes();
        Self { outer: whole.union(&whole.mirrored()), hollows, section: section.clone() }
    }

    /// The half section `depth` mm inside.
    fn inset(&self, depth: f64, tolerance: Tolerance) -> Region {
        let inside = self.outer.inset(depth, tolerance);
        self.half_above_board(&inside).difference(&self.hollows)
    }

    fn half_above_board(&self, region: &Region) -> Region {
        let top = region.bounds().map_or(0.0, |(_, hi)| hi.y);
        region.right_half().between(0.0, top)
    }

    /// What the finished section holds beyond an even coat of `depth` mm over the carved one.
    fn lost(&self, depth: f64, tolerance: Tolerance) -> Vec<LostDetail> {
        /// Less than this is filled by a fingertip, mm.
        const NOTICED: f64 = 0.5;
        if depth == 0.0 {
            return Vec::new();
        }
        let coat = self.outer.inset(depth, tolerance).outset(depth, tolerance);
        let reached = self.half_above_board(&coat);
        let missing = self.section.filled().difference(&reached);
        let mut lost: Vec<LostDetail> = missing
            .pieces()
            .iter()
            .filter_map(|piece| {
                let (lo, hi) = piece.bounds()?;
                let beyond = |p: &DVec2| -reached.depth(*p);
                let at = *piece.contours()[0].iter().max_by(|a, b| beyond(a).total_cmp(&beyond(b)))?;
                Some(LostDetail { at, by: beyond(&at), heights: (lo.y, hi.y) })
            })
            .filter(|detail| detail.by > NOTICED)
            .collect();
        lost.sort_by(|a, b| b.by.total_cmp(&a.by));
        lost
    }
}

fn counter_clockwise(mut contour: Vec<DVec2>) -> Vec<DVec2> {
    if crate::geom::region::signed_area(&contour) < 0.0 {
        contour.reverse();
    }
    contour
}

/// The stretches of the section that lie on the board, each from its smaller to its larger radius.
fn foot_edges(section: &Region) -> Vec<(DVec2, DVec2)> {
    section.edges().filter(|(a, b)| a.y == 0.0 && b.y == 0.0 && a.x < b.x).collect()
}

/// How far the wall that rises from foot point `p` moves outwards for each mm downwards, held to 60°
/// from the upright; 0 on the axis.
fn wall_lean(section: &Region, p: DVec2) -> f64 {
    const STEEPEST: f64 = 1.732_050_807_568_877_2;
    if p.x == 0.0 {
        return 0.0;
    }
    let wall = section.edges().find_map(|(a, b)| {
        if a == p && b.y > 0.0 {
            Some(b)
        } else if b == p && a.y > 0.0 {
            Some(a)
        } else {
            None
        }
    });
    wall.map_or(0.0, |up| ((p.x - up.x) / up.y).clamp(-STEEPEST, STEEPEST))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cone frustum's carved line is parallel to its wall right down to the board.
    #[test]
    fn the_carved_line_runs_parallel_down_to_the_board() {
        let section = Region::from_simple(vec![
            dvec2(0.0, 0.0),
            dvec2(60.0, 0.0),
            dvec2(100.0, 80.0),
            dvec2(0.0, 80.0),
        ]);
        let inset = CarriedOn::new(&section, 10.0).inset(10.0, Tolerance::TOOL);
        // Wall direction (40, 80): a normal distance of 10 is 10·√(40² + 80²)/80 across.
        let across = 10.0 * (40.0f64 * 40.0 + 80.0 * 80.0).sqrt() / 80.0;
        for z in [0.0, 30.0, 60.0] {
            let (_, r) = inset.row(z + 1e-6)[0];
            assert!((r - (60.0 + z * 0.5 - across)).abs() < 1e-5, "{z}: {r}");
        }
        assert!((inset.bounds().unwrap().1.y - 70.0).abs() < 1e-6);
    }

    #[test]
    fn a_sharp_edge_is_reported_by_how_far_the_coat_rounds_it() {
        let cylinder = Region::rectangle(DVec2::ZERO, dvec2(80.0, 100.0));
        let lost = CarriedOn::new(&cylinder, 10.0).lost(10.0, Tolerance::new(1e-3).unwrap());
        assert_eq!(lost.len(), 1);
        // A round of radius d in a square corner leaves d (√2 − 1).
        assert!((lost[0].by - 10.0 * (2f64.sqrt() - 1.0)).abs() < 1e-2, "{:?}", lost[0]);
        assert!(lost[0].at.distance(dvec2(80.0, 100.0)) < 1e-6);
    }
}
