//! Outlines: from points, strokes and drawings to paths in millimetres, and on to straight pieces.

mod drawn;
pub mod svg;

use std::io;

use glam::{DVec2, dvec2};
use kurbo::{BezPath, PathEl};

use crate::geom::Tolerance;

pub use drawn::{Placement, to_path};

/// Whether a path ends where it began, by a closing stroke or by a last point on the first.
pub fn is_closed(path: &BezPath) -> bool {
    let Some(PathEl::MoveTo(start)) = path.elements().first() else { return false };
    match path.elements().last() {
        Some(PathEl::ClosePath) => true,
        Some(end) => path.elements().len() > 2 && end.end_point() == Some(*start),
        None => false,
    }
}

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

/// Brings the files that a cake file names.
pub trait Loader {
    /// The bytes of the file at `name`, relative to the cake file.
    ///
    /// # Errors
    /// Whatever keeps it from being read.
    fn load(&self, name: &str) -> io::Result<Vec<u8>>;
}
