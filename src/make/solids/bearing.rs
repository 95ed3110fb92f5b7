//! What carries what, to be looked at: how much of what they may bear boards and dowels carry, and the marks of the
//! support check.

use glam::{DVec2, DVec3};

use formats::model::{Bearing, Part, PartKind, Rgb};
use geom::{Hull, Solid, Tolerance, TriMesh, sweep};
use plan::{
    Plan,
    design::Design,
    support::{Carried, CheckCode},
};

use super::{Entry, part};

/// Colour of centres of mass and their plumb lines.
const CENTRE: Rgb = Rgb(38, 70, 140);
/// Colour of edges that something tips over.
const EDGE: Rgb = Rgb(24, 24, 30);
/// Radius of the mark of a centre of mass, more than a dowel's, and of lines, mm.
const BALL: f64 = 9.0;
const LINE: f64 = 1.2;
/// The mark of an edge is at least so long to both sides, mm: a round foot has none.
const EDGE_HALF: f64 = 35.0;

/// The loads of `plan`, and marks for what stands on every level.
pub(super) fn bearing(plan: &Plan) -> (Vec<Bearing>, Vec<Part>) {
    let levels = &plan.support.levels;
    let loads = levels.iter().flat_map(|carried| loads(plan, carried)).collect();
    let marks = levels.iter().enumerate().flat_map(|(i, carried)| marks(&plan.design, i, carried)).collect();
    (loads, marks)
}

/// How much of what it may bear a board carries, by its weakest check, and every dowel under it.
fn loads(plan: &Plan, carried: &Carried) -> Vec<Bearing> {
    let level = &carried.level;
    let share = |code: Option<CheckCode>| {
        let about = plan.support.checks.iter().filter(|check| check.about == level.name);
        about
            .filter(|check| code.is_none_or(|code| check.code == code))
            .filter(|check| check.code.is_of_bearing())
            .map(|check| 1.0 / check.share().max(f64::MIN_POSITIVE))
            .fold(None, |most: Option<f64>, share| Some(most.map_or(share, |most| most.max(share))))
    };
    let board =
        level.slab.zip(share(None)).map(|(index, share)| Bearing { kind: PartKind::Board, index, share });
    // The check speaks for the dowel that bears most if one is slightly short; the others bear in proportion.
    let most = level.pushes.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let of_dowels = share(Some(CheckCode::DowelOverloaded));
    let dowels = level.carriers.iter().zip(&level.pushes).filter_map(move |(&index, push)| {
        Some(Bearing { kind: PartKind::Dowel, index, share: of_dowels? * push / most })
    });
    board.into_iter().chain(dowels).collect()
}

/// The centre of mass of what stands on a level, the plumb line from it, and the edge that it tips over.
fn marks(design: &Design, index: usize, carried: &Carried) -> Vec<Part> {
    let level = &carried.level;
    let Some(centre) = level.load.centroid() else { return Vec::new() };
    let foot = centre.with_z(level.z);
    let named = |what: &str| format!("{what} on {}", level.name);
    let mark = |name: String, colour: Rgb, mesh: TriMesh| {
        (!mesh.is_empty()).then(|| {
            part(
                &Entry {
                    tints: Vec::new(),
                    name,
                    kind: PartKind::Mark,
                    index,
                    told: index,
                    part: None,
                    material: "mark".to_owned(),
                    colour,
                },
                mesh,
            )
        })
    };
    let line = |from: DVec3, to: DVec3| rod(&[(from, LINE), (to, LINE)], design.preview);
    let edge = carried.tipping.and_then(|tipping| edge(&level.seat, tipping.edge, centre.truncate()));
    let at = |p: DVec2| p.extend(level.z);
    [
        mark(named("centre of mass of what stands"), CENTRE, rod(&[(centre, BALL)], design.preview)),
        mark(named("plumb line"), CENTRE, line(centre, foot)),
        edge.and_then(|(a, b)| mark(named("edge to tip over"), EDGE, line(at(a), at(b)))),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn rod(stations: &[(DVec3, f64)], tolerance: Tolerance) -> TriMesh {
    let balls = stations.iter().flat_map(|(centre, radius)| {
        sweep::ball_points(*radius, tolerance).into_iter().map(move |p| *centre + p)
    });
    Solid::hull(&balls.collect::<Vec<_>>()).to_mesh()
}

/// The side of `seat` that `near` lies on, or a line through it square to the way from `centre` where that is longer.
fn edge(seat: &Hull, near: DVec2, centre: DVec2) -> Option<(DVec2, DVec2)> {
    let corners = seat.corners();
    let sides = (0..corners.len()).map(|i| (corners[i], corners[(i + 1) % corners.len()]));
    let distance = |side: &(DVec2, DVec2)| geom::region::distance_to_segment(near, side.0, side.1);
    let (a, b) = sides.min_by(|a, b| distance(a).total_cmp(&distance(b)))?;
    let along = (near - centre).try_normalize().map_or(DVec2::X, DVec2::perp) * EDGE_HALF;
    Some(if a.distance(b) < 2.0 * EDGE_HALF { (near - along, near + along) } else { (a, b) })
}
