//! The sectors of a line: the parts of its turned mesh that cuts and adds reach.

use std::sync::Arc;

use glam::DVec3;

use geom::{MeridianRange, Region, Sector, bearing_difference, revolve::bearing_of};

use super::Edit;

/// Clear of an edit, so that no face that closes a sector lies in one of the edit's, mm.
const CLEAR: f64 = 0.5;
/// Heights at which sectors may begin and end are at most this far apart, mm.
const SEAM_DISTANCE: f64 = 4.0;

/// Sectors that hold all `edits` of a body with `section`, out of `n` meridians, with the number of every edit in
/// each. No two overlap.
pub fn sectors(edits: &[Edit], section: &Region, n: u32) -> Vec<(Sector, Vec<usize>)> {
    let seams: Arc<[f64]> = seams(section).into();
    let mut sectors: Vec<(Sector, Vec<usize>)> = Vec::new();
    for (index, edit) in edits.iter().enumerate() {
        let mut sector = sector(edit, &seams, n);
        let mut held = vec![index];
        // Joining may close the distance to one that was clear before.
        while let Some(i) = sectors.iter().position(|(other, _)| other.overlaps(&sector)) {
            let (other, more) = sectors.swap_remove(i);
            sector = sector.hull(&other);
            held.extend(more);
        }
        held.sort_unstable();
        sectors.push((sector, held));
    }
    sectors
}

/// Heights at which a sector may begin or end, rising: those of points where every wall of the section goes straight
/// on up, and more where these are far apart. A level edge or a tip there would be neither in nor out.
fn seams(section: &Region) -> Vec<f64> {
    /// Nearer than this is at the same height, mm.
    const NEAR: f64 = 1e-3;
    let mut points: Vec<(f64, bool)> = Vec::new();
    for contour in section.contours() {
        for i in 0..contour.len() {
            let [a, b, c] = [0, 1, 2].map(|k| contour[(i + k) % contour.len()].y);
            points.push((b, (a < b && b < c) || (a > b && b > c)));
        }
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let together = points.chunk_by(|a, b| b.0 - a.0 < NEAR);
    let levels: Vec<(f64, bool)> =
        together.map(|level| (level[0].0, level.iter().all(|p| p.1 && p.0 == level[0].0))).collect();
    let mut seams: Vec<f64> = levels.iter().filter(|level| level.1).map(|level| level.0).collect();
    for pair in levels.windows(2) {
        let (low, high) = (pair[0].0, pair[1].0);
        let pieces = ((high - low) / SEAM_DISTANCE).ceil() as u32;
        seams.extend((1..pieces).map(|i| low + (high - low) * f64::from(i) / f64::from(pieces)));
    }
    seams.sort_by(f64::total_cmp);
    seams
}

/// The sector of one edit: in every band the steps that the edit reaches there, and those beside them.
fn sector(edit: &Edit, seams: &Arc<[f64]>, n: u32) -> Sector {
    let band = |z: f64| seams.partition_point(|seam| *seam <= z);
    let all = edit.bearings.meridians(n);
    let mut ranges = vec![MeridianRange::default(); seams.len() + 1];
    if all.is_full(n) {
        ranges[band(edit.heights.0 - CLEAR)..=band(edit.heights.1 + CLEAR)].fill(MeridianRange::full(n));
        return Sector { meridians: n, seams: seams.clone(), ranges };
    }
    // Steps on from the beginning of the range.
    let step = 360.0 / f64::from(n);
    let middle = (f64::from(all.first) + f64::from(all.steps) / 2.0) * step;
    let along =
        |p: DVec3| bearing_difference(bearing_of(p.truncate()), middle) / step + f64::from(all.steps) / 2.0;
    let mesh = edit.solid.to_mesh();
    let mut reach = vec![(u32::MAX, 0); ranges.len()];
    for index in 0..mesh.len() {
        let corners = mesh.corners(index);
        let (at, z) = (corners.map(along), corners.map(|c| c.z));
        let least = |v: [f64; 3]| v[0].min(v[1]).min(v[2]);
        let most = |v: [f64; 3]| v[0].max(v[1]).max(v[2]);
        let first = (least(at).floor() - 1.0).clamp(0.0, f64::from(all.steps)) as u32;
        let end = (most(at).floor() + 2.0).clamp(0.0, f64::from(all.steps)) as u32;
        for reach in &mut reach[band(least(z) - CLEAR)..=band(most(z) + CLEAR)] {
            *reach = (reach.0.min(first), reach.1.max(end));
        }
    }
    for (range, (first, end)) in ranges.iter_mut().zip(reach) {
        if first < end {
            *range = MeridianRange { first: (all.first + first) % n, steps: end - first };
        }
    }
    Sector { meridians: n, seams: seams.clone(), ranges }
}
