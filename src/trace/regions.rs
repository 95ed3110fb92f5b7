//! Which of the edges in a picture are the outline: the largest region or all, without speckles.

use glam::{DVec2, dvec2};

use super::{Keep, TraceError, contours::Contour};
use crate::geom::region::signed_area;

/// The edges that are kept, in pixels, right and up.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Regions {
    /// Outer edges counter-clockwise, each followed by its holes, clockwise; the largest region first.
    pub contours: Vec<Vec<DVec2>>,
    /// How many regions that are no speckles are left out.
    pub left_out: usize,
    /// How many speckles and small holes are dropped.
    pub speckles: usize,
}

/// More regions and holes than this, none of them a speckle, are no outline.
const MOST: usize = 4000;

/// Turns the edges of a picture of so many pixels `height` upright and chooses among them. `speckle` gives
/// the area, in square pixels, that a region must have at least, from the size of the largest one.
pub(super) fn choose(
    edges: Vec<Contour>,
    height: f64,
    keep: Keep,
    fill_holes: bool,
    speckle: impl Fn(DVec2) -> f64,
) -> Result<Option<Regions>, TraceError> {
    let upright =
        |contour: Contour| -> Vec<DVec2> { contour.into_iter().map(|p| dvec2(p.x, height - p.y)).collect() };
    let all: Vec<(f64, Vec<DVec2>)> =
        edges.into_iter().map(upright).map(|contour| (signed_area(&contour), contour)).collect();
    let Some((_, largest)) = all.iter().max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(area, _)| *area > 0.0)
    else {
        return Ok(None);
    };
    let (lo, hi) = bounds(largest);
    let least = speckle(hi - lo);
    let count = all.len();
    let (mut outers, mut holes): (Vec<_>, Vec<_>) =
        all.into_iter().filter(|(area, _)| area.abs() >= least).partition(|(area, _)| *area > 0.0);
    let speckles = count - outers.len() - holes.len();
    if outers.len() + holes.len() > MOST {
        return Err(TraceError::Noise);
    }
    // A stable order: by size, then as found.
    outers.sort_by(|a, b| b.0.total_cmp(&a.0));
    holes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let boxes: Vec<(DVec2, DVec2)> = outers.iter().map(|(_, contour)| bounds(contour)).collect();
    // The smallest region around a point is the last one that holds it.
    let owner = |p: DVec2| {
        (0..outers.len()).rev().find(|&i| {
            let (lo, hi) = boxes[i];
            p.cmpge(lo).all() && p.cmple(hi).all() && holds(&outers[i].1, p)
        })
    };
    let mut owned: Vec<Vec<Vec<DVec2>>> = vec![Vec::new(); outers.len()];
    if !fill_holes {
        for (_, hole) in holes {
            if let Some(owner) = owner(hole[0]) {
                owned[owner].push(hole);
            }
        }
    }
    let kept = if keep == Keep::All { outers.len() } else { outers.len().min(1) };
    let left_out = if fill_holes {
        // What lies inside the filled region is no loss.
        outers[kept..].iter().filter(|(_, contour)| !holds(&outers[0].1, contour[0])).count()
    } else {
        outers.len() - kept
    };
    let contours = outers
        .into_iter()
        .zip(owned)
        .take(kept)
        .flat_map(|((_, outer), holes)| std::iter::once(outer).chain(holes))
        .collect();
    Ok(Some(Regions { contours, left_out, speckles }))
}

/// Lower left and upper right corner of the box around points.
pub(super) fn bounds(points: &[DVec2]) -> (DVec2, DVec2) {
    let first = points.first().copied().unwrap_or_default();
    points.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p)))
}

/// Whether a contour runs round a point.
fn holds(contour: &[DVec2], p: DVec2) -> bool {
    let mut inside = false;
    for (i, &a) in contour.iter().enumerate() {
        let b = contour[(i + 1) % contour.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y) {
            inside = !inside;
        }
    }
    inside
}
