//! The outside of a shape, from which every line is inset.

use glam::{DVec2, DVec3, dvec2};
use rayon::prelude::*;

use super::{Inset, Line, LostDetail, ThinPart, thin};
use crate::design::{Form, Shape};
use geom::{
    Cancel, Cancelled, DistanceField, Region, Tolerance, TriMesh, crossing::Views, revolve::at_bearing,
};

/// Detail that less is lost of is filled by a fingertip, mm.
const NOTICED: f64 = 0.5;
/// The outside of a shape, carried on below the board.
#[derive(Debug)]
pub(super) enum Outside {
    /// A half section turned about the axis.
    Turned(CarriedOn),
    /// Silhouettes crossed.
    Crossed {
        /// From the front.
        front: CarriedOn,
        /// From the side.
        side: CarriedOn,
        /// From above.
        above: Option<Region>,
        /// What lies inside all of them.
        finished: Form,
    },
    /// Any other solid.
    Free {
        /// The solid.
        finished: Form,
        /// Step of the lattice on which its levels are found, mm.
        step: f64,
    },
}

impl Outside {
    /// The outside of `shape`, for insets down to `deepest` mm; levels of a free shape on a lattice of `step` mm.
    pub fn new(shape: &Shape, deepest: f64, step: f64) -> Self {
        match shape {
            Shape::Turned(profile) => Self::Turned(CarriedOn::half(profile.section(), deepest)),
            Shape::Crossed(crossed) => Self::Crossed {
                front: CarriedOn::whole(&crossed.front, deepest),
                side: CarriedOn::whole(&crossed.side, deepest),
                above: crossed.above.clone(),
                finished: crossed.form.clone(),
            },
            Shape::Free(form) => Self::Free { finished: form.clone(), step },
        }
    }

    /// What lies inside at each of `depths`.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn insets(
        &self,
        depths: &[f64],
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Vec<Inset>, Cancelled> {
        match self {
            Self::Free { finished, step } => {
                let meshes = finished.depths().insets(depths, *step, cancel)?;
                Ok(meshes.into_par_iter().map(|mesh| Form::new(mesh).into()).collect())
            }
            _ => depths.iter().map(|depth| self.inset(*depth, tolerance, cancel)).collect(),
        }
    }

    /// What lies `depth` mm inside.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn inset(&self, depth: f64, tolerance: Tolerance, cancel: &Cancel) -> Result<Inset, Cancelled> {
        cancel.check()?;
        Ok(match self {
            Self::Turned(section) => Inset { section: section.inset(depth, tolerance), solid: None },
            Self::Crossed { finished, .. } | Self::Free { finished, .. } if depth == 0.0 => {
                finished.clone().into()
            }
            Self::Free { finished, step } => {
                let mesh = finished.depths().insets(&[depth], *step, cancel)?.pop().unwrap_or_default();
                Form::new(mesh).into()
            }
            Self::Crossed { front, side, above, .. } => {
                let (front, side) = (front.inset(depth, tolerance), side.inset(depth, tolerance));
                let above = above.as_ref().map(|above| above.inset(depth, tolerance));
                let views = Views { front: &front, side: &side, above: above.as_ref() };
                Form::new(views.crossed().to_mesh()).into()
            }
        })
    }

    /// What of the inset lies in a box, closed outside it, where that is quicker than all of it.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn near(
        &self,
        depth: f64,
        within: (DVec3, DVec3),
        cancel: &Cancel,
    ) -> Result<Option<TriMesh>, Cancelled> {
        match self {
            Self::Free { finished, step } => {
                finished.depths().inset_within(within, depth, *step, cancel).map(Some)
            }
            Self::Turned(_) | Self::Crossed { .. } => Ok(None),
        }
    }

    /// What is left while the knife is still `by` mm off `carved`.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn before(
        &self,
        carved: &Line,
        by: f64,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Inset, Cancelled> {
        match self {
            Self::Turned(_) => {
                let section = CarriedOn::half(&carved.section, by).inset(-by, tolerance);
                Ok(Inset { section, solid: None })
            }
            Self::Crossed { .. } | Self::Free { .. } => self.inset(carved.depth - by, tolerance, cancel),
        }
    }

    /// How far `p` lies inside, mm; negative outside.
    pub fn depth_at(&self, p: DVec3) -> f64 {
        match self {
            Self::Turned(section) => section.depth(dvec2(p.truncate().length(), p.z)),
            Self::Crossed { front, side, above, .. } => {
                let seen = front.depth(dvec2(p.x, p.z)).min(side.depth(dvec2(p.y, p.z)));
                above.as_ref().map_or(seen, |above| seen.min(above.depth(p.truncate())))
            }
            Self::Free { finished, .. } => finished.depths().at(p),
        }
    }

    /// What the finished line holds beyond an even coat over the carved one, worst first.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn lost(
        &self,
        carved: &Line,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Vec<LostDetail>, Cancelled> {
        cancel.check()?;
        match self {
            Self::Turned(section) => Ok(section.lost(carved.depth, tolerance)),
            Self::Crossed { finished, .. } | Self::Free { finished, .. } => {
                lost_of(&finished.mesh, carved, cancel)
            }
        }
    }
}

/// What `finished` holds beyond an even coat over the carved line: looked at on its corners and half way between them.
fn lost_of(finished: &TriMesh, carved: &Line, cancel: &Cancel) -> Result<Vec<LostDetail>, Cancelled> {
    let Some(mesh) = carved.solid.as_ref().filter(|_| carved.depth > 0.0) else { return Ok(Vec::new()) };
    let to_carved = DistanceField::new(mesh);
    let places = places_on(finished);
    let mut beyond: Vec<(DVec3, f64)> = places
        .into_par_iter()
        .filter(|p| !cancel.is_cancelled() && to_carved.is_beyond(*p, carved.depth + NOTICED))
        .map(|p| (p, -to_carved.at(p) - carved.depth))
        .filter(|(_, by)| *by > NOTICED)
        .collect();
    cancel.check()?;
    beyond.sort_by(|a, b| b.1.total_cmp(&a.1));
    // Places that lie near each other are one: each joins the first, and worst, that it lies near.
    let mut lost: Vec<(LostDetail, Vec<DVec3>)> = Vec::new();
    for (at, by) in beyond {
        let near = |(_, held): &&mut (LostDetail, Vec<DVec3>)| held.iter().any(|p| p.distance(at) < TOGETHER);
        match lost.iter_mut().find(near) {
            Some((detail, held)) => {
                detail.heights = (detail.heights.0.min(at.z), detail.heights.1.max(at.z));
                if held.iter().all(|p| p.distance(at) > TOGETHER / 2.0) {
                    held.push(at);
                }
            }
            None => lost.push((LostDetail { at, by, heights: (at.z, at.z) }, vec![at])),
        }
    }
    Ok(lost.into_iter().map(|(detail, _)| detail).collect())
}

/// Lost detail that lies nearer together is one place, mm.
const TOGETHER: f64 = 12.0;

/// Corners of a surface and the middles of its edges, none of those on the board; every so-manieth of very many.
pub(super) fn places_on(mesh: &TriMesh) -> Vec<DVec3> {
    /// As many are enough to find every edge that matters on a cake.
    const ENOUGH: usize = 30_000;
    let middles = mesh.triangles.iter().flat_map(|t| {
        let p = t.map(|v| mesh.positions[v as usize]);
        [(p[0] + p[1]) / 2.0, (p[1] + p[2]) / 2.0, (p[2] + p[0]) / 2.0]
    });
    let all: Vec<DVec3> = mesh.positions.iter().copied().chain(middles).filter(|p| p.z > ON_BOARD).collect();
    let every = all.len().div_ceil(ENOUGH).max(1);
    all.into_iter().step_by(every).collect()
}

/// What lies lower lies on the board, mm.
const ON_BOARD: f64 = 1e-6;

impl Outside {
    /// Parts that are thinner than the coats on both their sides, the largest first; `lost` is what
    /// [`Outside::lost`] says of `carved`.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn thin(
        &self,
        carved: &Line,
        lost: &[LostDetail],
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Vec<ThinPart>, Cancelled> {
        // A corner loses less: (√3 − 1) of the depth, where three walls meet squarely.
        if lost.iter().all(|detail| detail.by <= carved.depth) {
            return Ok(Vec::new());
        }
        match self {
            Self::Turned(section) => Ok(section.thin(carved.depth, tolerance)),
            Self::Crossed { finished, .. } => {
                let step = finished.mesh.bounds().map_or(1.0, |(lo, hi)| (hi - lo).max_element()) / COARSE;
                thin::parts(finished, carved, step.max(2.0), cancel)
            }
            Self::Free { finished, step } => thin::parts(finished, carved, *step, cancel),
        }
    }
}

/// Steps along a crossed shape in which its thin parts are looked for.
const COARSE: f64 = 150.0;

impl From<Form> for Inset {
    fn from(form: Form) -> Self {
        Self { section: form.envelope, solid: Some(form.mesh) }
    }
}

/// An outline carried on below the board.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CarriedOn {
    /// All of it, without the hollows that no coat reaches.
    pub outer: Region,
    /// Those hollows.
    hollows: Region,
    /// The outline itself.
    section: Region,
    /// Whether it is half a section, about the axis.
    half: bool,
}

impl CarriedOn {
    /// A half section and its mirror image, for insets down to `deepest` mm.
    pub fn half(section: &Region, deepest: f64) -> Self {
        let half = carried(&section.filled(), section, below(deepest), Some(0.0));
        let outer = half.union(&half.mirrored());
        Self { outer, hollows: section.holes(), section: section.clone(), half: true }
    }

    /// A whole silhouette, all of whose holes go through and are coated.
    pub fn whole(view: &Region, deepest: f64) -> Self {
        // Nothing inside lies nearer to the carried-on end than to a wall.
        let (lo, hi) = view.bounds().unwrap_or_default();
        let outer = carried(view, view, below(deepest).max((hi - lo).max_element()), None);
        Self { outer, hollows: Region::default(), section: view.clone(), half: false }
    }

    /// What lies `depth` mm inside, above the board.
    pub fn inset(&self, depth: f64, tolerance: Tolerance) -> Region {
        let inside = self.outer.inset(depth, tolerance);
        self.above_board(&inside).difference(&self.hollows)
    }

    /// How far `p` lies inside, mm; negative outside.
    pub fn depth(&self, p: DVec2) -> f64 {
        let outside = self.outer.depth(p);
        if self.hollows.is_empty() { outside } else { outside.min(-self.hollows.depth(p)) }
    }

    fn above_board(&self, region: &Region) -> Region {
        let top = region.bounds().map_or(0.0, |(_, hi)| hi.y);
        let shown = if self.half { region.right_half() } else { region.clone() };
        shown.between(0.0, top)
    }

    /// What the finished section holds beyond an even coat of `depth` mm over the carved one.
    pub fn lost(&self, depth: f64, tolerance: Tolerance) -> Vec<LostDetail> {
        if depth == 0.0 {
            return Vec::new();
        }
        let coat = self.outer.inset(depth, tolerance).outset(depth, tolerance);
        let reached = self.above_board(&coat);
        let missing = self.section.filled().difference(&reached);
        let mut lost: Vec<LostDetail> = missing
            .pieces()
            .iter()
            .filter_map(|piece| {
                let (lo, hi) = piece.bounds()?;
                let beyond = |p: &DVec2| -reached.depth(*p);
                let at = *piece.contours()[0].iter().max_by(|a, b| beyond(a).total_cmp(&beyond(b)))?;
                Some(LostDetail { at: at_bearing(at.x, at.y, 0.0), by: beyond(&at), heights: (lo.y, hi.y) })
            })
            .filter(|detail| detail.by > NOTICED)
            .collect();
        lost.sort_by(|a, b| b.by.total_cmp(&a.by));
        lost
    }
}

impl CarriedOn {
    /// Rings that are thinner than coats of `depth` mm on both their sides.
    fn thin(&self, depth: f64, tolerance: Tolerance) -> Vec<ThinPart> {
        let coat = self.outer.inset(depth, tolerance).outset(depth, tolerance);
        let reached = self.above_board(&coat);
        let missing = self.section.filled().difference(&reached);
        let parts = missing.pieces().into_iter().filter_map(|piece| {
            let (lo, hi) = piece.bounds()?;
            let beyond = |p: &DVec2| -reached.depth(*p);
            let at = *piece.contours()[0].iter().max_by(|a, b| beyond(a).total_cmp(&beyond(b)))?;
            if beyond(&at) <= depth {
                return None;
            }
            let inside = |(x, y): (f64, f64)| dvec2(lo.x + (hi.x - lo.x) * x, lo.y + (hi.y - lo.y) * y);
            let thickest = thin::lattice2()
                .map(inside)
                .filter(|p| piece.contains(*p))
                .map(|p| 2.0 * self.outer.depth(p))
                .fold(0.0, f64::max);
            Some(ThinPart {
                at: at_bearing(at.x, at.y, 0.0),
                heights: (lo.y, hi.y),
                thickest,
                volume: geom::revolve::revolved_volume(&piece),
                count: 1,
            })
        });
        thin::grouped(parts.collect())
    }
}

fn counter_clockwise(mut contour: Vec<DVec2>) -> Vec<DVec2> {
    if geom::region::signed_area(&contour) < 0.0 {
        contour.reverse();
    }
    contour
}

/// How far a shape is carried on below the board, mm: twice as deep as insets reach, so that the end is never near
/// the board.
fn below(deepest: f64) -> f64 {
    (2.0 * deepest).max(1.0)
}

/// `outline` with the stretches of `section` that lie on the board carried on `below` mm, nowhere left of `left`.
fn carried(outline: &Region, section: &Region, below: f64, left: Option<f64>) -> Region {
    let left = left.unwrap_or(f64::NEG_INFINITY);
    let lean = |p: DVec2| if p.x == left { 0.0 } else { wall_lean(section, p) };
    let mut whole = outline.clone();
    for (a, b) in foot_edges(section) {
        let skirt = vec![
            dvec2(a.x, 0.0),
            dvec2(b.x, 0.0),
            dvec2(b.x + lean(b) * below, -below),
            dvec2((a.x + lean(a) * below).max(left), -below),
        ];
        whole = whole.union(&Region::new(vec![counter_clockwise(skirt)]));
    }
    whole
}

/// The stretches of the section that lie on the board, each from its smaller to its larger radius.
fn foot_edges(section: &Region) -> Vec<(DVec2, DVec2)> {
    section.edges().filter(|(a, b)| a.y == 0.0 && b.y == 0.0 && a.x < b.x).collect()
}

/// How far the wall that rises from foot point `p` moves outwards for each mm downwards, held to 60°
/// from the upright.
fn wall_lean(section: &Region, p: DVec2) -> f64 {
    const STEEPEST: f64 = 1.732_050_807_568_877_2;
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
        let inset = CarriedOn::half(&section, 10.0).inset(10.0, Tolerance::TOOL);
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
        let lost = CarriedOn::half(&cylinder, 10.0).lost(10.0, Tolerance::new(1e-3).unwrap());
        assert_eq!(lost.len(), 1);
        // A round of radius d in a square corner leaves d (√2 − 1).
        assert!((lost[0].by - 10.0 * (2f64.sqrt() - 1.0)).abs() < 1e-2, "{:?}", lost[0]);
        assert!(lost[0].at.distance(at_bearing(80.0, 100.0, 0.0)) < 1e-6);
    }
}
