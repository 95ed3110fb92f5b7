//! How much room the finished cake takes: what a box for it must hold.

use glam::{DVec2, DVec3};

use serde::Serialize;

use crate::{
    Plan,
    design::{Footprint, FootprintShape},
    stack::SlabKind,
};
use geom::{Hull, TriMesh};

/// The room that something takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// Its lowest corner: left, front, bottom, mm.
    pub low: DVec3,
    /// Its highest corner: right, back, top, mm.
    pub high: DVec3,
    /// The greatest distance between two of its points as seen from above, mm.
    pub across: f64,
}

impl Extent {
    /// The extent of `points`; `None` if there are none.
    pub fn of(points: &[DVec3]) -> Option<Self> {
        let (low, high) = points.iter().fold(None, |bounds: Option<(DVec3, DVec3)>, &p| {
            Some(bounds.map_or((p, p), |(low, high)| (low.min(p), high.max(p))))
        })?;
        Some(Self { low, high, across: diameter(&hull(points)) })
    }

    /// Width, depth and height, mm.
    pub fn size(&self) -> DVec3 {
        self.high - self.low
    }
}

/// Sizes closer than this are the same, mm.
const SAME: f64 = 0.05;

/// What is carried: the cake on its presentation board, without the tiers that travel apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Load {
    /// Left to right, mm.
    pub width: f64,
    /// Front to back, mm.
    pub depth: f64,
    /// From the underside of the board to the highest point, mm; of parts that travel apart the highest one if it is
    /// higher.
    pub height: f64,
}

impl Load {
    /// What is carried of `plan`.
    pub fn of(plan: &Plan) -> Self {
        let (low, high) = standing(plan);
        let thickness = plan.design.board.as_ref().map_or(0.0, |board| board.height());
        let mut cuts: Vec<f64> =
            plan.design.support.apart.iter().filter_map(|tier| foot_of(plan, *tier)).collect();
        cuts.sort_by(f64::total_cmp);
        cuts.push(high.z);
        let first = thickness + cuts[0];
        let height = cuts.windows(2).map(|pair| pair[1] - pair[0]).fold(first, f64::max);
        let size = high - low;
        Self { width: size.x, depth: size.y, height }
    }

    /// Whether it goes into a room of this width, depth and height, turned by a quarter if need be.
    pub fn fits(&self, [width, depth, height]: [f64; 3]) -> bool {
        let flat = |w: f64, d: f64| self.width <= w + SAME && self.depth <= d + SAME;
        self.height <= height + SAME && (flat(width, depth) || flat(depth, width))
    }
}

/// The lowest and the highest corner of the finished cake on its presentation board, with every tier set on, mm.
pub fn standing(plan: &Plan) -> (DVec3, DVec3) {
    let extent = plan.extent();
    let (mut low, mut high) = (extent.low, extent.high);
    if let Some(board) = &plan.design.board {
        let (half, centre) = (half_size(&board.footprint).extend(0.0), board.footprint.centre.extend(0.0));
        low = low.min(centre - half).with_z(-board.height());
        high = high.max(centre + half);
    }
    (low, high)
}

/// Height of the underside of a tier, board and all.
fn foot_of(plan: &Plan, tier: usize) -> Option<f64> {
    let slabs = plan.stack.slabs.iter().filter(|slab| slab.tier == tier && slab.kind != SlabKind::Filling);
    slabs.map(|slab| slab.bottom).reduce(f64::min)
}

/// Half of the width and depth of the rectangle round a footprint that is turned.
fn half_size(footprint: &Footprint) -> DVec2 {
    let [width, depth] = footprint.shape.size();
    match footprint.shape {
        FootprintShape::Round { .. } => DVec2::splat(width / 2.0),
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
            let along = geom::real::unit_vector(footprint.turn.to_radians()).abs();
            DVec2::new(width * along.x + depth * along.y, width * along.y + depth * along.x) / 2.0
        }
    }
}

/// Points that span a mesh as it is seen from above, with its heights.
pub(crate) fn spanning(mesh: &TriMesh) -> Vec<DVec3> {
    let Some((low, high)) = mesh.bounds() else { return Vec::new() };
    let corners = hull(&mesh.positions);
    corners.corners().iter().flat_map(|p| [p.extend(low.z), p.extend(high.z)]).collect()
}

/// The convex hull of points as seen from above.
fn hull(points: &[DVec3]) -> Hull {
    /// Directions in which the furthest points are looked for first.
    const DIRECTIONS: u32 = 16;
    /// Fewer points are not worth the search.
    const FEW: usize = 1000;
    let flat = || points.iter().map(|p| p.truncate());
    if points.len() < FEW {
        return Hull::of(flat());
    }
    // What lies inside the polygon of some furthest points is no corner.
    let along =
        |k: u32| geom::real::unit_vector(std::f64::consts::TAU * f64::from(k) / f64::from(DIRECTIONS));
    let furthest = (0..DIRECTIONS).filter_map(|k| {
        let along = along(k);
        flat().max_by(|a, b| a.dot(along).total_cmp(&b.dot(along)))
    });
    let inner = Hull::of(furthest);
    let edges: Vec<(DVec2, DVec2)> = inner.edges().collect();
    let outside = |p: &DVec2| edges.iter().any(|(a, b)| (*b - *a).perp_dot(*p - *a) <= 0.0);
    Hull::of(flat().filter(|p| edges.is_empty() || outside(p)))
}

/// The greatest distance between two corners of a hull, by rotating calipers.
fn diameter(hull: &Hull) -> f64 {
    let corners = hull.corners();
    let n = corners.len();
    if n < 3 {
        return if n == 2 { corners[0].distance(corners[1]) } else { 0.0 };
    }
    let mut most = 0.0_f64;
    let mut j = 1;
    for i in 0..n {
        let (a, b) = (corners[i], corners[(i + 1) % n]);
        let height = |k: usize| (b - a).perp_dot(corners[k % n] - a);
        // The corner furthest from an edge moves on as the edge does.
        while height(j + 1) > height(j) {
            j = (j + 1) % n;
        }
        most = most.max(a.distance(corners[j])).max(b.distance(corners[j]));
        most = most.max(a.distance(corners[(j + 1) % n])).max(b.distance(corners[(j + 1) % n]));
    }
    most
}

#[cfg(test)]
mod tests {
    use glam::dvec3;
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn of_a_bar_that_lies_aslant() {
        let points = [dvec3(0.0, 0.0, 1.0), dvec3(30.0, 40.0, 1.0), dvec3(10.0, 15.0, 9.0)];
        let extent = Extent::of(&points).unwrap();
        assert_eq!(extent.size(), dvec3(30.0, 40.0, 8.0));
        assert!((extent.across - 50.0).abs() < 1e-12);
        assert_eq!(Extent::of(&[]), None);
    }

    /// A rectangle 100 by 20, turned by a quarter: 10 to each side, 50 to front and back.
    #[test]
    fn a_board_that_is_turned_takes_its_room_crosswise() {
        let turned = Footprint {
            shape: FootprintShape::Rectangle { width: 100.0, depth: 20.0 },
            centre: DVec2::ZERO,
            turn: 90.0,
        };
        assert!((half_size(&turned) - DVec2::new(10.0, 50.0)).length() < 1e-12);
    }

    #[test]
    fn a_load_may_be_turned_by_a_quarter_and_not_laid_down() {
        let load = Load { width: 400.0, depth: 300.0, height: 200.0 };
        assert!(load.fits([300.0, 400.0, 200.0]) && load.fits([400.0, 300.0, 250.0]));
        assert!(!load.fits([400.0, 400.0, 190.0]) && !load.fits([399.0, 500.0 / 2.0, 300.0]));
    }

    proptest! {
        /// Every pair of points is the reference.
        #[test]
        fn the_greatest_distance_of_any_two(
            at in prop::collection::vec((-50.0..50.0_f64, -50.0..50.0_f64, 0.0..9.0_f64), 1..1500)
        ) {
            let points: Vec<DVec3> = at.into_iter().map(|(x, y, z)| dvec3(x, y, z)).collect();
            let flat: Vec<DVec2> = points.iter().map(|p| p.truncate()).collect();
            let pairs = flat.iter().flat_map(|a| flat.iter().map(move |b| a.distance(*b)));
            let expected = pairs.fold(0.0, f64::max);
            let got = Extent::of(&points).unwrap().across;
            prop_assert!((got - expected).abs() < 1e-9, "{got} {expected}");
        }
    }
}
