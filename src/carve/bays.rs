//! The bays of a line: where on its grid cuts and adds stand.

use crate::geom::{Bay, Region, revolve::bearing_of, wedge::turn};

use super::Edit;

/// Clear of an edit, so that no face that closes a bay lies in one of the edit's, mm.
const CLEAR: f64 = 0.5;
/// Rows of the grid are at most this far apart where bays may begin and end, mm.
const ROW: f64 = 4.0;

/// Bays that hold all `edits` of a body with `section`, out of `n` meridians, with the number of every edit in
/// each. No two meet.
pub fn bays(edits: &[Edit], section: &Region, n: u32) -> Vec<(Bay, Vec<usize>)> {
    let rows = rows(section);
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

/// The bay of one edit: for every step the heights that the edit reaches there and in the steps beside it.
fn bay(edit: &Edit, rows: &[f64], n: u32) -> Bay {
    let run = edit.arc.meridians(n);
    let mut reach = vec![(f64::INFINITY, f64::NEG_INFINITY); run.steps as usize];
    if run.is_full() {
        reach.fill(edit.heights);
    } else {
        let step = 360.0 / f64::from(n);
        let middle = (f64::from(run.first) + f64::from(run.steps) / 2.0) * step;
        let mesh = edit.solid.to_mesh();
        // Steps on from the beginning of the run.
        let at = |p: glam::DVec3| turn(bearing_of(p.truncate()), middle) / step + f64::from(run.steps) / 2.0;
        for index in 0..mesh.len() {
            let corners = mesh.corners(index);
            let along = corners.map(at);
            let first = along[0].min(along[1]).min(along[2]).floor() as i64 - 1;
            let last = along[0].max(along[1]).max(along[2]).floor() as i64 + 1;
            let low = corners[0].z.min(corners[1].z).min(corners[2].z);
            let high = corners[0].z.max(corners[1].z).max(corners[2].z);
            for k in first.max(0)..=last.min(i64::from(run.steps) - 1) {
                let span = &mut reach[k as usize];
                *span = (span.0.min(low), span.1.max(high));
            }
        }
        // Steps at the ends of the run that nothing reaches, nor the ones beside them.
        let known = |span: &&(f64, f64)| span.0 <= span.1;
        let (first, last) = (reach.iter().find(known).copied(), reach.iter().rev().find(known).copied());
        let half = reach.len() / 2;
        for (i, span) in reach.iter_mut().enumerate().filter(|(_, span)| span.0 > span.1) {
            *span = if i < half { first } else { last }.unwrap_or(edit.heights);
        }
    }
    let on_rows = |(low, high): (f64, f64)| {
        let below = rows.partition_point(|row| *row <= low - CLEAR);
        let above = rows.partition_point(|row| *row < high + CLEAR);
        (
            below.checked_sub(1).map_or(f64::NEG_INFINITY, |i| rows[i]),
            rows.get(above).copied().unwrap_or(f64::INFINITY),
        )
    };
    Bay::new(n, run.first, reach.into_iter().map(on_rows).collect())
}
