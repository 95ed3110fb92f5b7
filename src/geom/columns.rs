//! The volume of a mesh within an upright prism, without a boolean.
//!
//! By the divergence theorem for the vertical field that grows linearly with height between two levels: sides of the
//! prism are upright, so that only the surface itself counts, each of its triangles with the area of its projection
//! within the prism times its height above the lower level.

use glam::{DVec2, DVec3};

use super::TriMesh;

/// An upright convex prism without ends.
#[derive(Debug, Clone)]
pub struct Column {
    /// Its corners, counter-clockwise seen from above, mm.
    corners: Vec<DVec2>,
    middle: DVec2,
    /// A disc of this radius about the middle lies in it.
    inner: f64,
    lo: DVec2,
    hi: DVec2,
}

impl Column {
    /// The column over a convex outline, its corners counter-clockwise.
    pub fn new(corners: Vec<DVec2>) -> Self {
        let middle = corners.iter().sum::<DVec2>() / corners.len().max(1) as f64;
        let lo = corners.iter().copied().fold(DVec2::INFINITY, DVec2::min);
        let hi = corners.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
        let mut column = Self { corners, middle, inner: 0.0, lo, hi };
        let inner =
            column.sides().map(|(a, b)| inside(a, b, middle) / a.distance(b)).fold(f64::INFINITY, f64::min);
        column.inner = inner.max(0.0);
        column
    }

    fn sides(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        (0..self.corners.len()).map(|i| (self.corners[i], self.corners[(i + 1) % self.corners.len()]))
    }
}

/// Above zero where `p` lies left of the line from `a` to `b`: its distance times the length from `a` to `b`.
fn inside(a: DVec2, b: DVec2, p: DVec2) -> f64 {
    (b - a).perp_dot(p - a)
}

impl TriMesh {
    /// Volume of the part of a closed mesh within `column` between two heights, mm³.
    pub fn volume_in(&self, column: &Column, low: f64, high: f64) -> f64 {
        let (mut piece, mut scratch) = (Vec::with_capacity(16), Vec::with_capacity(16));
        let mut volume = 0.0;
        for index in 0..self.len() {
            let corners = self.corners(index);
            if corners.iter().all(|p| p.z <= low) {
                continue;
            }
            let flat = corners.map(DVec3::truncate);
            let (least, most) = (flat[0].min(flat[1]).min(flat[2]), flat[0].max(flat[1]).max(flat[2]));
            if least.cmpge(column.hi).any() || most.cmple(column.lo).any() {
                continue;
            }
            piece.clear();
            piece.extend(corners);
            if flat.iter().any(|p| p.distance_squared(column.middle) > column.inner * column.inner) {
                for (a, b) in column.sides() {
                    if flat.iter().any(|p| inside(a, b, *p) < 0.0) {
                        clip(&mut piece, &mut scratch, |p| inside(a, b, p.truncate()));
                    }
                }
            }
            volume += volume_above(&mut piece, &mut scratch, low, high);
        }
        volume
    }
}

/// The volume between the level `low` and a flat polygon, mm³, heights above `high` counted as `high`.
fn volume_above(piece: &mut Vec<DVec3>, scratch: &mut Vec<DVec3>, low: f64, high: f64) -> f64 {
    if piece.iter().any(|p| p.z < low) {
        clip(piece, scratch, |p| p.z - low);
    }
    if piece.iter().all(|p| p.z <= high) {
        return volume_between_level(piece, low);
    }
    let whole = projected_area(piece) * (high - low);
    if piece.iter().all(|p| p.z >= high) {
        return whole;
    }
    // The part below `high` is lower by its distance to `high`.
    clip(piece, scratch, |p| high - p.z);
    whole + volume_between_level(piece, high)
}

/// The part of a polygon where `side` is not below zero.
fn clip(piece: &mut Vec<DVec3>, scratch: &mut Vec<DVec3>, side: impl Fn(DVec3) -> f64) {
    scratch.clear();
    for i in 0..piece.len() {
        let (a, b) = (piece[i], piece[(i + 1) % piece.len()]);
        let (s, t) = (side(a), side(b));
        if s >= 0.0 {
            scratch.push(a);
        }
        if (s > 0.0 && t < 0.0) || (s < 0.0 && t > 0.0) {
            scratch.push(a.lerp(b, s / (s - t)));
        }
    }
    std::mem::swap(piece, scratch);
}

/// Area of the projection of a polygon onto z = 0, mm²; below zero where it faces down.
fn projected_area(piece: &[DVec3]) -> f64 {
    fan(piece).map(|[a, b, c]| (b - a).truncate().perp_dot((c - a).truncate())).sum::<f64>() / 2.0
}

/// The volume between the plane at height `level` and a flat polygon, mm³; below zero where it lies below.
fn volume_between_level(piece: &[DVec3], level: f64) -> f64 {
    let of = |[a, b, c]: [DVec3; 3]| {
        let area = (b - a).truncate().perp_dot((c - a).truncate()) / 2.0;
        area * ((a.z - level) + (b.z - level) + (c.z - level)) / 3.0
    };
    fan(piece).map(of).sum()
}

fn fan(piece: &[DVec3]) -> impl Iterator<Item = [DVec3; 3]> + '_ {
    (2..piece.len()).map(|i| [piece[0], piece[i - 1], piece[i]])
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;
    use crate::{Region, Solid, Tolerance, revolve};

    /// The kernel's own intersection is the reference, with columns that cross the mesh, hold it and miss it.
    #[test]
    fn the_volume_in_a_column_is_what_a_boolean_leaves() {
        let section = Region::from_simple(
            [(0.0, 0.0), (50.0, 0.0), (30.0, 40.0), (60.0, 90.0), (40.0, 90.0), (20.0, 50.0), (0.0, 50.0)]
                .map(|(x, y)| dvec2(x, y))
                .to_vec(),
        );
        let mesh = revolve::revolve(&section, 60);
        let solid = Solid::from_mesh(&mesh).unwrap();
        let square = Region::rectangle(dvec2(-20.0, -70.0), dvec2(33.0, 21.0)).placed(0.3, dvec2(4.0, -7.0));
        let disc = |x: f64, radius: f64| Region::disc(dvec2(x, 3.0), radius, Tolerance::PREVIEW);
        let mut compared = 0;
        for outline in [square, disc(20.0, 30.0), disc(0.0, 200.0), disc(0.0, 5.0), disc(300.0, 20.0)] {
            let column = Column::new(outline.contours()[0].clone());
            for (low, high) in [(-5.0, 100.0), (10.0, 60.0), (40.0, 50.0), (55.0, 72.5)] {
                let reference = solid.intersection(&Solid::prism(&outline, low, high)).volume();
                let ours = mesh.volume_in(&column, low, high);
                assert!((ours - reference).abs() <= 1e-9 * mesh.volume(), "{low} {high}: {ours} {reference}");
                compared += usize::from(reference > 0.0);
            }
        }
        assert!(compared >= 14, "{compared}");
    }
}
