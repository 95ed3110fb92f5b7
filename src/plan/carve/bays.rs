//! The bays of a line: where on its grid cuts and adds stand.

use std::sync::Arc;

use glam::DVec3;

use geom::{Bay, Region, Run, revolve::bearing_of, wedge::turn};

use super::Edit;

/// Clear of an edit, so that no face that closes a bay lies in one of the edit's, mm.
const CLEAR: f64 = 0.5;
/// Rows of the grid are at most this far apart where bays may begin and end, mm.
const ROW: f64 = 4.0;

/// Bays that hold all `edits` of a body with `section`, out of `n` meridians, with the number of every edit in
/// each. No two meet.
pub fn bays(edits: &[Edit], section: &Region, n: u32) -> Vec<(Bay, Vec<usize>)> {
    let rows: Arc<[f64]> = rows(section).into();
    let mut bays: Vec<(Bay, Vec<usize>)> = Vec::new();
    for (index, edit) in edits.iter().enumerate() {
        let mut bay = bay(edit, &rows, n);
        let mut held = vec![index];
        // Joining may close the distance to one that was clear before.
        while let Some(i) = bays.iter().position(|(other, _)| other.meets(&bay)) {
            let (other, more) = bays.swap_remove(i);
            bay = bay.joined(&other);
            held.extend(more);
        }
        held.sort_unstable();
        bays.push((bay, held));
    }
    bays
}

/// Heights at which a bay may begin or end, rising: those of points where every wall of the section goes straight
/// on up, and more where these are far apart. A level edge or a tip there would be neither in nor out.
fn rows(section: &Region) -> Vec<f64> {
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
    let mut rows: Vec<f64> = levels.iter().filter(|level| level.1).map(|level| level.0).collect();
    for pair in levels.windows(2) {
        let (low, high) = (pair[0].0, pair[1].0);
        let pieces = ((high - low) / ROW).ceil() as u32;
        rows.extend((1..pieces).map(|i| low + (high - low) * f64::from(i) / f64::from(pieces)));
    }
    rows.sort_by(f64::total_cmp);
    rows
}

/// The bay of one edit: in every band the steps that the edit reaches there, and those beside them.
fn bay(edit: &Edit, rows: &Arc<[f64]>, n: u32) -> Bay {
    let band = |z: f64| rows.partition_point(|row| *row <= z);
    let arc = edit.arc.meridians(n);
    let mut runs = vec![Run::default(); rows.len() + 1];
    if arc.is_full() {
        runs[band(edit.heights.0 - CLEAR)..=band(edit.heights.1 + CLEAR)].fill(Run { first: 0, steps: n });
        return Bay { of: n, rows: rows.clone(), runs };
    }
    // Steps on from the beginning of the arc.
    let step = 360.0 / f64::from(n);
    let middle = (f64::from(arc.first) + f64::from(arc.steps) / 2.0) * step;
    let along = |p: DVec3| turn(bearing_of(p.truncate()), middle) / step + f64::from(arc.steps) / 2.0;
    let mesh = edit.solid.to_mesh();
    let mut reach = vec![(u32::MAX, 0); runs.len()];
    for index in 0..mesh.len() {
        let corners = mesh.corners(index);
        let (at, z) = (corners.map(along), corners.map(|c| c.z));
        let least = |v: [f64; 3]| v[0].min(v[1]).min(v[2]);
        let most = |v: [f64; 3]| v[0].max(v[1]).max(v[2]);
        let first = (least(at).floor() - 1.0).clamp(0.0, f64::from(arc.steps)) as u32;
        let end = (most(at).floor() + 2.0).clamp(0.0, f64::from(arc.steps)) as u32;
        for reach in &mut reach[band(least(z) - CLEAR)..=band(most(z) + CLEAR)] {
            *reach = (reach.0.min(first), reach.1.max(end));
        }
    }
    for (run, (first, end)) in runs.iter_mut().zip(reach) {
        if first < end {
            *run = Run { first: (arc.first + first) % n, steps: end - first };
        }
    }
    Bay { of: n, rows: rows.clone(), runs }
}
