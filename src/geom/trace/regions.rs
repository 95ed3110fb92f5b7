//! Which of the edges in a picture are the outline: the largest region or all, without speckles; and whether it is drawn
//! as a thin line, whose outside is the outline then.

use glam::DVec2;

use super::{Keep, TraceError};
use crate::region::{signed_area, winding};

/// The edges that are kept, right and up.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Regions {
    /// Outer edges counter-clockwise, each followed by its holes, clockwise; the largest region first.
    pub contours: Vec<Vec<DVec2>>,
    /// How many regions that are no speckles are left out.
    pub left_out: usize,
    /// How many speckles and small holes are dropped.
    pub speckles: usize,
    /// How wide the line is that the outline is drawn as, if holes were filled for that; in the unit of the contours.
    pub line: Option<f64>,
}

/// A picture with more regions and holes, none of them a speckle, is refused.
const MOST: usize = 4000;

/// Chooses among edges, right and up. `speckle` gives the area that a region must have at least, from the size of the
/// largest one.
pub(super) fn choose(
    edges: Vec<Vec<DVec2>>,
    keep: Keep,
    fill_holes: Option<bool>,
    speckle: impl Fn(DVec2) -> f64,
) -> Result<Option<Regions>, TraceError> {
    let all: Vec<(f64, Vec<DVec2>)> =
        edges.into_iter().map(|contour| (signed_area(&contour), contour)).collect();
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
            p.cmpge(lo).all() && p.cmple(hi).all() && winding(&outers[i].1, p) != 0
        })
    };
    let mut owned: Vec<Vec<Vec<DVec2>>> = vec![Vec::new(); outers.len()];
    if fill_holes != Some(true) {
        for (_, hole) in holes {
            if let Some(owner) = owner(hole[0]) {
                owned[owner].push(hole);
            }
        }
    }
    let line = match (fill_holes, outers.first(), owned.first()) {
        (None, Some((_, outer)), Some(holes)) => thin_line(outer, holes),
        _ => None,
    };
    let fill_holes = fill_holes == Some(true) || line.is_some();
    if fill_holes {
        owned.iter_mut().for_each(Vec::clear);
    }
    let kept = if keep == Keep::All { outers.len() } else { outers.len().min(1) };
    let left_out = if fill_holes {
        // What lies inside the filled region is part of it.
        outers[kept..].iter().filter(|(_, contour)| winding(&outers[0].1, contour[0]) == 0).count()
    } else {
        outers.len() - kept
    };
    let contours = outers
        .into_iter()
        .zip(owned)
        .take(kept)
        .flat_map(|((_, outer), holes)| std::iter::once(outer).chain(holes))
        .collect();
    Ok(Some(Regions { contours, left_out, speckles, line }))
}

/// How wide the line is that a region with these holes is; `None` where it is no thin line round most of what it spans.
fn thin_line(outer: &[DVec2], holes: &[Vec<DVec2>]) -> Option<f64> {
    /// A line is no wider than this share of the shorter side of what it is drawn round: a wall as thin would be no cake.
    const WIDEST: f64 = 0.03;
    /// And goes round this share of what lies within it.
    const ROUND: f64 = 0.5;
    let length = |contour: &[DVec2]| -> f64 {
        let next = contour.iter().cycle().skip(1);
        contour.iter().zip(next).map(|(a, b)| a.distance(*b)).sum()
    };
    let whole = signed_area(outer);
    let open: f64 = holes.iter().map(|hole| signed_area(hole).abs()).sum();
    // Both of its sides are edges.
    let sides = length(outer) + holes.iter().map(|hole| length(hole)).sum::<f64>();
    let width = 2.0 * (whole - open) / sides;
    let (lo, hi) = bounds(outer);
    (open >= ROUND * whole && width <= WIDEST * (hi - lo).min_element()).then_some(width)
}

/// Lower left and upper right corner of the box around points; the origin where there are none.
pub(super) fn bounds<'a>(points: impl IntoIterator<Item = &'a DVec2>) -> (DVec2, DVec2) {
    let boxes = points.into_iter().map(|&p| (p, p));
    boxes.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))).unwrap_or_default()
}
