//! The half outline of a turned shape: both halves of the picture averaged about the axis.
//!
//! The silhouette of a turned body shows the largest radius at each height, so the half outline is one radius for each
//! height; undercuts that only a section would show are not in a silhouette.

use glam::{DVec2, dvec2};
use kurbo::BezPath;

use super::{
    TraceError,
    fit::{self, Fitted},
    smooth::{Ends, Padding},
    tracing::Trace,
};

/// Which half counts.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Half {
    /// The mean of both.
    #[default]
    Both,
    /// The left one, mirrored.
    Left,
    /// The right one.
    Right,
}

/// The half outline of a turned shape, and how far its two halves differ.
#[derive(Debug, Clone, PartialEq)]
pub struct HalfOutline {
    /// The half outline, (radius, height) in mm, from the foot up to the axis.
    pub profile: Fitted,
    /// Where the axis stands, mm right of where the trace has x = 0.
    pub axis: f64,
    /// How much the right half is wider than the left one where they differ most, mm.
    pub asymmetry: f64,
    /// The height of that place, mm.
    pub at_height: f64,
    /// The radius of the wider half there, mm.
    pub at_radius: f64,
    /// The mean of the difference over all heights, whichever is wider, mm.
    pub mean: f64,
}

/// Rows in a pixel.
const ROWS_A_PIXEL: f64 = 2.0;
/// Where the radius changes by more than this for each mm of height, the outline is nearly level.
const NEARLY_LEVEL: f64 = 2.0;
/// A nearly level part may be this much higher on one side than on the other, pixels, and count as symmetric.
const LEVEL_OFFSET: f64 = 1.5;

/// The half outline of `trace`, about an axis that is given in mm or found.
pub(super) fn half_outline(trace: &Trace, half: Half, axis: Option<f64>) -> Result<HalfOutline, TraceError> {
    let rows = Scanlines::of(trace);
    let axis = axis.unwrap_or_else(|| rows.middle());
    let (left, right) = (rows.radii(|span| axis - span.0), rows.radii(|span| span.1 - axis));
    let radius = |i: usize| match half {
        Half::Both => (left[i] + right[i]) / 2.0,
        Half::Left => left[i],
        Half::Right => right[i],
    };
    let radii: Vec<f64> = (0..left.len()).map(|i| radius(i).max(0.0)).collect();
    for (unused_by, side, name) in [(Half::Right, &left, "its left"), (Half::Left, &right, "its right")] {
        if half != unused_by && side.iter().all(|r| *r < trace.pixel) {
            return Err(TraceError::AxisOutside { pixels: trace.pixel_of(dvec2(axis, 0.0)).x, side: name });
        }
    }
    let (asymmetry, at_height, at_radius, mean) = rows.difference(&left, &right);
    let profile = fit_profile(&rows, &radii, trace);
    Ok(HalfOutline { profile, axis, asymmetry, at_height, at_radius, mean })
}

/// Level lines through the outline, evenly spaced, and where they meet it furthest left and right.
struct Scanlines {
    step: f64,
    top: f64,
    /// Leftmost and rightmost x of each row, from the foot up.
    spans: Vec<(f64, f64)>,
}

impl Scanlines {
    fn of(trace: &Trace) -> Self {
        let top = trace.size.y;
        let count = (top / trace.pixel * ROWS_A_PIXEL).ceil().max(1.0) as usize;
        let step = top / count as f64;
        let mut spans = vec![(f64::INFINITY, f64::NEG_INFINITY); count];
        // Row i lies in the middle of its strip.
        let height = |i: usize| (i as f64 + 0.5) * step;
        for contour in trace.outer_contours() {
            for (i, &a) in contour.iter().enumerate() {
                let b = contour[(i + 1) % contour.len()];
                let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
                let first = (low.y / step - 0.5).ceil().max(0.0) as usize;
                for (row, span) in spans.iter_mut().enumerate().skip(first) {
                    if height(row) > high.y {
                        break;
                    }
                    let share = if high.y > low.y { (height(row) - low.y) / (high.y - low.y) } else { 0.5 };
                    let x = low.x + (high.x - low.x) * share;
                    *span = (span.0.min(x), span.1.max(x));
                }
            }
        }
        // A row that nothing crosses, as between two islands, is as wide as the one below.
        for i in 1..count {
            if spans[i].0 > spans[i].1 {
                spans[i] = spans[i - 1];
            }
        }
        if let Some(first) = spans.iter().position(|s| s.0 <= s.1) {
            let span = spans[first];
            spans[..first].fill(span);
        }
        Self { step, top, spans }
    }

    fn height(&self, row: usize) -> f64 {
        (row as f64 + 0.5) * self.step
    }

    /// The median of the middles of all rows: one handle or spout does not move it.
    fn middle(&self) -> f64 {
        let mut middles: Vec<f64> = self.spans.iter().map(|(left, right)| (left + right) / 2.0).collect();
        let at = middles.len() / 2;
        *middles.select_nth_unstable_by(at, f64::total_cmp).1
    }

    fn radii(&self, of: impl Fn(&(f64, f64)) -> f64) -> Vec<f64> {
        self.spans.iter().map(of).collect()
    }

    /// How much wider the right side is where it differs most, at which height, and the mean of the amount.
    fn difference(&self, left: &[f64], right: &[f64]) -> (f64, f64, f64, f64) {
        let reach = (LEVEL_OFFSET * ROWS_A_PIXEL) as usize;
        let (mut worst, mut at, mut radius, mut sum) = (0.0_f64, 0.0, 0.0, 0.0);
        for (row, &here) in right.iter().enumerate() {
            let around = &left[row.saturating_sub(reach)..(row + reach + 1).min(left.len())];
            let (least, most) =
                around.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(*x), b.max(*x)));
            let is_nearly_level = most - least > NEARLY_LEVEL * around.len() as f64 * self.step;
            let off = match is_nearly_level {
                true if here > most => here - most,
                true => (here - least).min(0.0),
                false => here - left[row],
            };
            sum += off.abs();
            if off.abs() > worst.abs() {
                (worst, at, radius) = (off, self.height(row), here.max(left[row]));
            }
        }
        (worst, at, radius, sum / right.len() as f64)
    }
}

/// The smooth half outline through one radius a row.
fn fit_profile(rows: &Scanlines, radii: &[f64], trace: &Trace) -> Fitted {
    let last = radii.len() - 1;
    // The first pixel above a flat foot may be ragged.
    let foot = if trace.base.is_some() { ((1.5 * ROWS_A_PIXEL) as usize).min(last) } else { 0 };
    let mut points = vec![dvec2(radii[foot], 0.0)];
    points.extend((foot..=last).map(|row| dvec2(radii[row], rows.height(row))));
    points.push(dvec2(radii[last], rows.top));
    points.push(dvec2(0.0, rows.top));
    points.dedup_by(|a, b| a.distance(*b) < 1e-9);
    let end = if is_pointed(&points, trace.pixel) { Padding::Corner } else { Padding::Mirrored };
    let mut fitted = fit::fit(&points, Ends::Open(Padding::Corner, end), trace.allowed, trace.pixel);
    pin_foot(&mut fitted.path);
    fitted
}

/// Whether the outline comes to the axis in a tip rather than level.
fn is_pointed(points: &[DVec2], pixel: f64) -> bool {
    /// The chord to the tip from this many pixels away must rise by this part of its length.
    const AWAY: f64 = 8.0;
    const RISE: f64 = 0.5;
    let tip = points[points.len() - 1];
    let out = points.iter().rev().find(|p| p.distance(tip) > AWAY * pixel);
    out.is_some_and(|p| (tip.y - p.y) > RISE * p.distance(tip))
}

/// Puts the first point exactly on the board.
fn pin_foot(path: &mut BezPath) {
    if let Some(kurbo::PathEl::MoveTo(p)) = path.elements_mut().first_mut() {
        p.y = 0.0;
    }
}
