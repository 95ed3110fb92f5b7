//! Any other shape: an estimate from its girths at heights.
//!
//! A taut tape round the shape at each height has a girth; the turned shape with the same girths stands for it. That
//! tells how much more sheet hangs there than lies on the cake, not where round it the pleats gather, nor what lies in
//! a hollow that the tape spans.

use std::sync::Arc;

use cakefile::schema::IcingWay;
use geom::{Cancel, Cancelled, Hull, LayeredMesh, TriMesh, develop::Meridian, real, revolve::bearing_of};
use glam::{DVec2, DVec3, dvec2};

use super::{
    Covers, Laid, Piece, Refused, Sheet, Tuck,
    limits::{TOO_MUCH_FREE, TUCKED},
    turned,
};

/// Heights at which the girth is taken, fewer on a mesh that takes long to cut.
const LEVELS: usize = 48;
const FEW_LEVELS: usize = 24;
const MANY_TRIANGLES: usize = 1_000_000;

/// Directions in which the shape is felt at each height.
const DIRECTIONS: usize = 72;

/// Girths are evened out over this many heights to both sides: a tail or a beak is no step.
const EVENED: usize = 3;

/// How far the shape reaches in each direction at a height.
struct Level {
    height: f64,
    reach: Vec<f64>,
}

impl Level {
    /// Radius of the circle with the girth of a taut tape: the mean reach (Cauchy's formula).
    fn radius(&self) -> f64 {
        self.reach.iter().sum::<f64>() / self.reach.len() as f64
    }
}

pub(super) fn laid(
    mesh: &Arc<TriMesh>,
    asked: Option<IcingWay>,
    ease: Option<f64>,
    cancel: &Cancel,
) -> Result<Laid, Cancelled> {
    let levels = levels(mesh, cancel)?;
    let Some((_, hi)) = mesh.bounds() else { return Ok(nothing()) };
    let mut profile = evened(&levels);
    profile.push(dvec2(0.0, hi.z));
    let meridians: Vec<Meridian> = Meridian::new(&profile).into_iter().collect();
    let mut laid = turned::of_meridians(&meridians, asked, ease, TOO_MUCH_FREE);
    let tuck = deepest(&levels);
    for piece in &mut laid.pieces {
        piece.sheet = match piece.covers {
            Covers::Whole => {
                let [across, along] = sheet_over(mesh);
                Sheet::Rectangle { across, along }
            }
            Covers::Top | Covers::Cap => over(&levels, piece.heights.0, hi.z),
            Covers::Side | Covers::Panel | Covers::Band | Covers::Outline => around(piece),
        };
    }
    let widest = levels.iter().map(Level::radius).fold(0.0, f64::max);
    laid.tuck = tuck.filter(|tuck| laid.way == IcingWay::Draped && tuck.by > TUCKED * widest);
    if let Some(Refused::Ledge { height }) = laid.refused {
        // Of a shape that is not turned a step is told as what it is: a girth that grows upwards.
        laid.refused = Some(Refused::Undercut { by: tuck.map_or(0.0, |tuck| tuck.by), height });
    }
    Ok(laid)
}

fn nothing() -> Laid {
    Laid { way: IcingWay::Draped, pieces: Vec::new(), refused: None, tuck: None }
}

fn levels(mesh: &Arc<TriMesh>, cancel: &Cancel) -> Result<Vec<Level>, Cancelled> {
    /// The lowest and the highest are this share of the height inside.
    const INSIDE: f64 = 1e-3;
    let Some((lo, hi)) = mesh.bounds() else { return Ok(Vec::new()) };
    let count = if mesh.triangles.len() > MANY_TRIANGLES { FEW_LEVELS } else { LEVELS };
    let directions: Vec<DVec2> = (0..DIRECTIONS)
        .map(|i| real::unit_vector(std::f64::consts::TAU * i as f64 / DIRECTIONS as f64))
        .collect();
    let mesh = LayeredMesh::new(mesh.clone());
    let mut levels = Vec::new();
    for k in 0..=count {
        cancel.check()?;
        let share = (k as f64 / count as f64).clamp(INSIDE, 1.0 - INSIDE);
        let height = lo.z + (hi.z - lo.z) * share;
        let outline = mesh.section(height);
        let hull = Hull::of(outline.contours().iter().flatten().copied());
        if hull.corners().len() < 3 {
            continue;
        }
        let reach = |along: &DVec2| hull.corners().iter().map(|p| p.dot(*along)).fold(f64::MIN, f64::max);
        levels.push(Level { height, reach: directions.iter().map(reach).collect() });
    }
    Ok(levels)
}

/// The turned shape with the same girths, from the foot up.
fn evened(levels: &[Level]) -> Vec<DVec2> {
    let radii: Vec<f64> = levels.iter().map(Level::radius).collect();
    let last = levels.len().saturating_sub(1);
    let even = |i: usize| {
        let by = EVENED.min(i).min(last - i);
        let near = &radii[i - by..=i + by];
        dvec2(near.iter().sum::<f64>() / near.len() as f64, levels[i].height)
    };
    let mut profile: Vec<DVec2> = (0..levels.len()).map(even).collect();
    // The lowest is cut just above the board.
    if let Some(first) = profile.first_mut() {
        first.y = 0.0;
    }
    profile
}

/// The place that goes in furthest below something wider in its own direction.
fn deepest(levels: &[Level]) -> Option<Tuck> {
    let mut widest = vec![f64::MIN; DIRECTIONS];
    let mut worst: Option<Tuck> = None;
    for level in levels.iter().rev() {
        for (i, (&reach, widest)) in level.reach.iter().zip(&mut widest).enumerate() {
            *widest = widest.max(reach);
            let by = *widest - reach;
            if worst.is_none_or(|worst| by > worst.by) {
                let along = real::unit_vector(std::f64::consts::TAU * i as f64 / DIRECTIONS as f64);
                worst = Some(Tuck { by, height: level.height, bearing: Some(bearing_of(along)) });
            }
        }
    }
    worst
}

/// The sheet over all above a height, as a taut band lies from side to side and from front to back.
fn over(levels: &[Level], from: f64, top: f64) -> Sheet {
    let half = DIRECTIONS / 2;
    let way = |right: usize| {
        let above = levels.iter().filter(|level| level.height >= from);
        let ends = above.flat_map(|level| {
            [
                dvec2(level.reach[right], level.height),
                dvec2(-level.reach[(right + half) % DIRECTIONS], level.height),
            ]
        });
        let points: Vec<DVec2> = ends.collect();
        let lowest = points.iter().map(|p| p.y).fold(top, f64::min);
        way_over(points, lowest)
    };
    Sheet::Rectangle { across: way(0), along: way(DIRECTIONS / 4) }
}

/// A strip as long as the greatest girth and as high as the way up.
fn around(piece: &Piece) -> Sheet {
    let girth = piece.strains.iter().map(|s| s.at.x).fold(0.0, f64::max) * std::f64::consts::TAU;
    let ends = [piece.strains.first(), piece.strains.last()].map(|s| s.map_or(0.0, |s| s.along));
    Sheet::Strip { length: girth, height: ends[1] - ends[0] }
}

/// Width and depth of the sheet that covers a shape: the ways over it from left to right and from front to back, as a
/// taut band lies from board to board, mm.
pub(super) fn sheet_over(mesh: &TriMesh) -> [f64; 2] {
    let views: [fn(&DVec3) -> DVec2; 2] = [|p| dvec2(p.x, p.z), |p| dvec2(p.y, p.z)];
    views.map(|seen| way_over(mesh.positions.iter().map(seen), 0.0))
}

/// Length of the hull of points (aside, height) without its edge on the ground, mm.
fn way_over(points: impl IntoIterator<Item = DVec2>, ground: f64) -> f64 {
    /// Nearer to the ground a point stands on it, mm.
    const ON: f64 = 1e-6;
    let hull = Hull::of(points);
    let hull = hull.corners();
    let stands = |p: &DVec2| p.y < ground + ON;
    let edges = (0..hull.len()).map(|i| (hull[i], hull[(i + 1) % hull.len()]));
    edges.filter(|(a, b)| !(stands(a) && stands(b))).map(|(a, b)| a.distance(b)).sum()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_2_PI, FRAC_PI_2, PI};

    use geom::{Region, Solid, revolve::revolve, uncancelled};

    use super::*;

    fn way(mesh: &TriMesh, asked: Option<IcingWay>) -> Laid {
        let mesh = Arc::new(mesh.clone());
        uncancelled(|cancel| laid(&mesh, asked, None, cancel))
    }

    /// A turned mesh with the outline `radius` at shares of its height.
    fn turned(height: f64, radius: impl Fn(f64) -> f64) -> TriMesh {
        let side = (0..=100).map(|i| dvec2(radius(f64::from(i) / 100.0), height * f64::from(i) / 100.0));
        let mut contour = vec![DVec2::ZERO];
        contour.extend(side);
        contour.push(dvec2(0.0, height));
        contour.dedup();
        revolve(&Region::new(vec![contour]), 96)
    }

    /// Half a ball, as a mesh: the sheet gathers by 1 − 2/π at the foot, as in the closed form, and is as wide as the
    /// half circle is long.
    #[test]
    fn the_estimate_of_half_a_ball_is_near_its_closed_form() {
        let ball = turned(90.0, |share| 90.0 * (1.0 - share * share).sqrt());
        let laid = way(&ball, None);
        assert_eq!(laid.way, IcingWay::Draped);
        let worst = laid.pieces[0].most_gathered().unwrap();
        assert!((worst.share - (FRAC_2_PI - 1.0)).abs() < 0.02, "{worst:?}");
        assert!(worst.at.y < 1.0);
        let Sheet::Rectangle { across, along } = laid.pieces[0].sheet else { panic!("a rectangle") };
        assert!((across - 90.0 * PI).abs() < 0.5 && (along - across).abs() < 0.5, "{across} × {along}");
    }

    /// An egg on its side goes in below its widest and is tucked in there; a mushroom is parted.
    #[test]
    fn what_goes_in_a_little_is_tucked_in_and_what_goes_in_far_is_parted() {
        let egg = turned(100.0, |share| 90.0 * (1.0 - (share * 1.6 - 0.6).powi(2)).sqrt());
        let laid = way(&egg, None);
        assert_eq!((laid.way, laid.pieces.len()), (IcingWay::Draped, 1));
        let tuck = laid.tuck.expect("a place to tuck in");
        assert!((tuck.by - 18.0).abs() < 0.5 && tuck.height < 1.0, "{tuck:?}");
        let cap =
            |share: f64| if share < 0.5 { 40.0 } else { 100.0 * ((1.0 - share) * FRAC_PI_2 * 2.0).sin() };
        let mushroom = turned(200.0, cap);
        let laid = way(&mushroom, Some(IcingWay::Draped));
        assert!(matches!(laid.refused, Some(Refused::Undercut { .. })), "{:?}", laid.refused);
        assert!(laid.pieces.len() > 1);
    }

    /// A box that leans: each girth is the same, yet one side hangs over.
    #[test]
    fn a_side_that_hangs_over_is_told_with_its_bearing() {
        let square = Region::rectangle(dvec2(-60.0, -60.0), dvec2(60.0, 60.0));
        let upright = Solid::prism(&square, 0.0, 80.0).to_mesh();
        let mut leaning = upright;
        leaning.positions.iter_mut().for_each(|p| p.x += p.z / 2.0);
        let laid = way(&leaning, None);
        assert_eq!(laid.way, IcingWay::Draped);
        let tuck = laid.tuck.expect("a place to tuck in");
        assert!((tuck.by - 40.0).abs() < 1.0 && tuck.bearing == Some(90.0), "{tuck:?}");
    }
}
