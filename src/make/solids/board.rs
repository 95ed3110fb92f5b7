//! The presentation board, the icing on it and the ribbon round it.

use std::f64::consts::FRAC_PI_2;

use glam::{DVec2, dvec2};

use super::surface_of;
use geom::{Region, Solid, SolidError, Tolerance, TriMesh, real, revolve};
use plan::design::{Board, Footprint, FootprintShape, Ribbon};

/// Least and greatest height of the underside and of the top of what is laid there, mm.
type Heights = (f64, f64);

/// How far the edges of a board are rounded, mm: wrapped or sanded, as boards are sold (common practice, no source).
const EASED: f64 = 1.0;
/// How far icing is rounded where it is turned over the edge of a board, mm (common practice, no source).
const TURNED_OVER: f64 = 2.0;
/// Chords of a quarter circle at an edge.
const QUARTER: u32 = 5;

/// The board itself; under icing its upper edge is sharp.
pub(super) fn bare(board: &Board, tolerance: Tolerance) -> TriMesh {
    let heights = (-board.height(), board.thickness - board.height());
    let eased = EASED.min(board.thickness / 4.0);
    let above = if board.icing.is_some() { 0.0 } else { eased };
    slab(&board.footprint, heights, (eased, above), tolerance)
}

/// The icing over it; nothing on one that is bare.
pub(super) fn icing(board: &Board, tolerance: Tolerance) -> TriMesh {
    let laid = |thickness: f64| {
        slab(&board.footprint, (-thickness, 0.0), (0.0, TURNED_OVER.min(thickness)), tolerance)
    };
    board.icing.as_ref().map_or_else(TriMesh::default, |icing| laid(icing.thickness))
}

/// The ribbon round it, from its underside up as far as its edge is upright; nothing without one. One that is wider than the
/// board is high stands up over it.
pub(super) fn ribbon(board: &Board, tolerance: Tolerance) -> Result<TriMesh, SolidError> {
    let Some(ribbon) = board.ribbon else { return Ok(TriMesh::default()) };
    let outside = inset(&board.footprint, -Ribbon::THICKNESS);
    let ring = outside.region(tolerance).difference(&board.footprint.region(tolerance));
    let rounded = board.icing.as_ref().map_or(0.0, |icing| TURNED_OVER.min(icing.thickness));
    let fits = ribbon.width <= board.height();
    let width = if fits { ribbon.width.min(board.height() - rounded) } else { ribbon.width };
    surface_of(&Solid::prism(&ring, -board.height(), width - board.height()))
}

/// The same footprint with its edge `by` mm further in.
fn inset(footprint: &Footprint, by: f64) -> Footprint {
    let shape = match &footprint.shape {
        FootprintShape::Round { diameter } => FootprintShape::Round { diameter: diameter - 2.0 * by },
        FootprintShape::Rectangle { width, depth } => {
            FootprintShape::Rectangle { width: width - 2.0 * by, depth: depth - 2.0 * by }
        }
        FootprintShape::Pieces(_) => footprint.shape.clone(),
    };
    Footprint { shape, ..footprint.clone() }
}

/// A slab over `footprint` whose lower and upper edges are rounded by these radii, mm.
fn slab(
    footprint: &Footprint,
    (low, high): Heights,
    (below, above): (f64, f64),
    tolerance: Tolerance,
) -> TriMesh {
    let narrowest = footprint.shape.size().into_iter().fold(f64::INFINITY, f64::min) / 4.0;
    let (below, above) = (below.min(narrowest), above.min(narrowest));
    // How far in the edge is at which height, from the bottom up.
    let mut edge: Vec<DVec2> = quarter(below).map(|p| dvec2(p.x, low + p.y)).collect();
    let upper: Vec<DVec2> = quarter(above).map(|p| dvec2(p.x, high - p.y)).collect();
    edge.extend(upper.into_iter().rev());
    // Icing may be rounded all down its edge.
    edge.dedup_by(|a, b| a.distance(*b) < 1e-9);
    match footprint.shape {
        FootprintShape::Round { diameter } => {
            let radius = diameter / 2.0;
            let outline = edge.iter().map(|p| dvec2(radius - p.x, p.y));
            let closed = [dvec2(0.0, low)].into_iter().chain(outline).chain([dvec2(0.0, high)]);
            let section = Region::from_simple(closed.collect());
            revolve::revolve(&section, tolerance.segments(radius)).translated(footprint.centre.extend(0.0))
        }
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => stacked(footprint, &edge),
    }
}

/// How far in, and how far from the face, the points of a rounded edge lie, from the face outwards; one point if it is sharp.
fn quarter(radius: f64) -> impl Iterator<Item = DVec2> {
    let chords = if radius > 0.0 { QUARTER } else { 0 };
    (0..=chords).map(move |k| {
        let turned = if chords == 0 { FRAC_PI_2 } else { FRAC_PI_2 * f64::from(k) / f64::from(chords) };
        let toward = real::unit_vector(turned);
        radius * dvec2(1.0 - toward.y, 1.0 - toward.x)
    })
}

/// Rectangles one over the other, closed at both ends.
fn stacked(footprint: &Footprint, edge: &[DVec2]) -> TriMesh {
    const CORNERS: [(f64, f64); 4] = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)];
    let ring = |p: &DVec2| {
        let [width, depth] = inset(footprint, p.x).shape.size();
        CORNERS.map(|(x, y)| footprint.placed(dvec2(x * width, y * depth)).extend(p.y))
    };
    let positions = edge.iter().flat_map(ring).collect();
    let last = 4 * (edge.len() as u32 - 1);
    let mut triangles = vec![[0, 2, 1], [0, 3, 2], [last, last + 1, last + 2], [last, last + 2, last + 3]];
    for below in (0..last).step_by(4) {
        for side in 0..4 {
            let [a, b] = [below + side, below + (side + 1) % 4];
            triangles.extend([[a, b, b + 4], [a, b + 4, a + 4]]);
        }
    }
    TriMesh { positions, triangles }
}
