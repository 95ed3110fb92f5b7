//! Outlines: from points, strokes, drawings and pictures to paths in millimetres, and on to straight pieces.

mod as_drawn;
mod drawn;
mod from_picture;
mod from_svg;
mod from_text;
mod reading;
mod silhouette;
pub mod svg;
pub mod trace_words;

use glam::{DVec2, dvec2};
use kurbo::{BezPath, PathEl, Point};

use geom::{Region, Tolerance};

pub use as_drawn::{DrawnOn, to_path_as_drawn};
pub use drawn::{Placement, to_path};
pub use from_picture::TracedPicture;
pub(crate) use reading::Reading;
pub use silhouette::{Silhouette, View, to_silhouette};

/// The corner points of a path's pieces, curves made straight within `tolerance`: one list for each
/// subpath, in order, a closed one without its first point repeated.
pub fn flattened(path: &BezPath, tolerance: Tolerance) -> Vec<Vec<DVec2>> {
    let mut lines: Vec<Vec<DVec2>> = Vec::new();
    kurbo::flatten(path, tolerance.chord_mm(), |piece| match piece {
        PathEl::MoveTo(p) => lines.push(vec![dvec2(p.x, p.y)]),
        PathEl::LineTo(p) => {
            if let Some(line) = lines.last_mut() {
                line.push(dvec2(p.x, p.y));
            }
        }
        _ => {}
    });
    for line in &mut lines {
        if line.len() > 2 && line.first() == line.last() {
            line.pop();
        }
    }
    lines.retain(|line| line.len() > 1);
    lines
}

/// The lines that a path runs along, curves made straight within `tolerance`: one for each subpath, in order, a closed
/// one with its first point once more at its end.
pub fn lines_along(path: &BezPath, tolerance: Tolerance) -> Vec<Vec<DVec2>> {
    let mut lines: Vec<Vec<DVec2>> = Vec::new();
    kurbo::flatten(path, tolerance.chord_mm(), |piece| match (piece, lines.last_mut()) {
        (PathEl::MoveTo(p), _) => lines.push(vec![dvec2(p.x, p.y)]),
        (PathEl::LineTo(p), Some(line)) => line.push(dvec2(p.x, p.y)),
        (PathEl::ClosePath, Some(line)) => line.extend(line.first().copied()),
        _ => {}
    });
    lines.iter_mut().for_each(Vec::dedup);
    lines.retain(|line| line.len() > 1);
    lines
}

/// The outline of a region as a path of closed straight pieces.
pub fn closed_path(region: &Region) -> BezPath {
    let mut path = BezPath::new();
    for contour in region.contours() {
        let mut points = contour.iter().map(|p| Point::new(p.x, p.y));
        if let Some(first) = points.next() {
            path.move_to(first);
            points.for_each(|p| path.line_to(p));
            path.close_path();
        }
    }
    path
}

/// Whether a path comes back to where it began.
pub fn is_closed(path: &BezPath) -> bool {
    let elements = path.elements();
    let start = elements.first().and_then(PathEl::end_point);
    match elements.last() {
        Some(PathEl::ClosePath) => true,
        Some(last) => elements.len() > 2 && last.end_point() == start,
        None => false,
    }
}
