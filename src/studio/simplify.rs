//! Simplifies what is too big for the graphics card, and says so.
//!
//! A card takes buffers up to a size of its own. A piece whose vertices or triangles would not fit in one
//! is simplified by `meshopt` until they do. Cut faces of a section are left as they are.

use std::fmt;

use glam::DVec3;
use meshopt::{SimplifyOptions, VertexDataAdapter};

use super::{Surface, Vertex, convert};

/// How far surfaces were simplified.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Simplified {
    /// Triangles of the pieces that were too big.
    pub before: usize,
    /// Triangles that are left of them.
    pub after: usize,
    /// How far the surface moved, mm, as `meshopt` estimates it.
    pub moved_mm: f64,
}

impl Simplified {
    /// Whether anything was simplified.
    pub fn is_some(&self) -> bool {
        self.after < self.before
    }

    /// The one of the two that lost more triangles.
    #[must_use]
    pub fn worse(self, other: Self) -> Self {
        if other.before - other.after > self.before - self.after { other } else { self }
    }

    /// Both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            before: self.before + other.before,
            after: self.after + other.after,
            moved_mm: self.moved_mm.max(other.moved_mm),
        }
    }
}

impl fmt::Display for Simplified {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "Too big for the graphics card: drawn with {} instead of {} triangles, about {:.2} mm off. \
             The plan and every exported file keep the full shape.",
            self.after, self.before, self.moved_mm
        )
    }
}

/// A surface split for drawing: vertices, and triangles as indices into them.
pub type Split = (Vec<Vertex>, Vec<[u32; 3]>);

/// How often a surface is simplified further until it fits.
const TRIES: u32 = 24;

/// Splits `surface` for drawing so that no buffer is larger than `limit` bytes, simplified if need be; `on_grid` as in
/// [`Surface::split`].
pub fn split_within(surface: &Surface, on_grid: bool, limit: u64) -> (Split, Simplified) {
    let fits = |(vertices, triangles): &Split| {
        let bytes = |count: usize, each: u64| count as u64 * each;
        bytes(vertices.len(), convert::VERTEX_BYTES) <= limit
            && bytes(triangles.len(), convert::TRIANGLE_BYTES) <= limit
    };
    let whole = surface.split(on_grid);
    if fits(&whole) {
        return (whole, Simplified::default());
    }
    let before = surface.mesh.len();
    let mut wanted = before.min((limit / convert::TRIANGLE_BYTES) as usize);
    let (mut simpler, mut moved_mm) = (surface.clone(), 0.0f64);
    let mut split = whole;
    for _ in 0..TRIES {
        if fits(&split) || wanted == 0 {
            break;
        }
        let moved;
        (simpler, moved) = simplified_to(&simpler, wanted);
        moved_mm = moved_mm.max(moved);
        split = simpler.split(on_grid);
        wanted = wanted * 3 / 4;
    }
    let after = split.1.len();
    (split, Simplified { before, after, moved_mm })
}

/// The surface with about `wanted` triangles, and how far it moved, mm.
fn simplified_to(surface: &Surface, wanted: usize) -> (Surface, f64) {
    let is_cap = |t: usize| surface.cap.get(t).copied().unwrap_or(false);
    let of = |cap: bool| {
        let triangles = surface.mesh.triangles.iter().enumerate();
        triangles.filter(move |(t, _)| is_cap(*t) == cap).map(|(_, t)| *t)
    };
    let caps: Vec<[u32; 3]> = of(true).collect();
    let outer: Vec<u32> = of(false).flatten().collect();
    let mut locked = vec![false; surface.mesh.positions.len()];
    for v in caps.iter().flatten() {
        locked[*v as usize] = true;
    }
    let middle = surface.mesh.bounds().map_or(DVec3::ZERO, |(lo, hi)| (lo + hi) / 2.0);
    let positions: Vec<[f32; 3]> =
        surface.mesh.positions.iter().map(|&p| (p - middle).as_vec3().to_array()).collect();
    let bytes = meshopt::typed_to_bytes(&positions);
    let vertices =
        VertexDataAdapter::new(bytes, size_of::<[f32; 3]>(), 0).expect("whole vertices, positions first");
    let count = wanted.saturating_sub(caps.len()) * 3;
    let mut moved = 0.0f32;
    let options = SimplifyOptions::ErrorAbsolute;
    let left =
        meshopt::simplify_with_locks(&outer, &vertices, &locked, count, f32::MAX, options, Some(&mut moved));
    let mut simpler = compact(surface, left.as_chunks::<3>().0, &caps);
    simpler.cap = if surface.cap.is_empty() {
        Vec::new()
    } else {
        let outer = simpler.mesh.len() - caps.len();
        (0..simpler.mesh.len()).map(|t| t >= outer).collect()
    };
    (simpler, moved.into())
}

/// The vertices of `surface` that these triangles use, and the triangles.
fn compact(surface: &Surface, outer: &[[u32; 3]], caps: &[[u32; 3]]) -> Surface {
    let mut index = vec![u32::MAX; surface.mesh.positions.len()];
    let mut simpler = Surface::default();
    for t in outer.iter().chain(caps) {
        let triangle = t.map(|v| {
            let v = v as usize;
            if index[v] == u32::MAX {
                index[v] = simpler.mesh.positions.len() as u32;
                simpler.mesh.positions.push(surface.mesh.positions[v]);
                simpler.depth.extend(surface.depth.get(v));
            }
            index[v]
        });
        simpler.mesh.triangles.push(triangle);
    }
    simpler
}

#[cfg(test)]
mod tests {
    use super::*;
    use geom::{Region, revolve::revolve};

    /// A ball of 60 mm with its depth, here its height, at every vertex.
    fn ball() -> Surface {
        let points = (0..=400).map(|i| {
            let (sin, cos) = (std::f64::consts::PI * (f64::from(i) / 400.0 - 0.5)).sin_cos();
            glam::dvec2(if cos < 1e-9 { 0.0 } else { 60.0 * cos }, 60.0 * sin)
        });
        let mesh = revolve(&Region::from_simple(points.collect()), 400);
        let depth = mesh.positions.iter().map(|p| p.z).collect();
        Surface { mesh, depth, cap: Vec::new() }
    }

    #[test]
    fn what_fits_stays_as_it_is() {
        let (split, said) = split_within(&ball(), false, u64::MAX);
        assert_eq!(split.1.len(), ball().mesh.len());
        assert!(!said.is_some());
    }

    #[test]
    fn what_is_too_big_fits_afterwards_and_is_still_a_ball() {
        let limit = 400_000;
        let ((vertices, triangles), said) = split_within(&ball(), false, limit);
        assert!(vertices.len() as u64 * convert::VERTEX_BYTES <= limit, "{} vertices", vertices.len());
        assert!(triangles.len() as u64 * convert::TRIANGLE_BYTES <= limit, "{} triangles", triangles.len());
        assert!(triangles.len() > 5_000, "too little is left: {}", triangles.len());
        assert!(said.is_some() && said.before == ball().mesh.len() && said.after == triangles.len());
        // The volume of a ball is 4/3 π r³.
        let volume: f64 = triangles
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| vertices[v as usize].position);
                a.dot(b.cross(c)) / 6.0
            })
            .sum();
        let exact = 4.0 / 3.0 * std::f64::consts::PI * 60f64.powi(3);
        assert!((volume / exact - 1.0).abs() < 0.01, "{volume} for {exact}");
        assert!(
            vertices.iter().all(|v| (v.depth - v.position.z).abs() < 1e-9),
            "depths moved to other vertices"
        );
    }

    #[test]
    fn cut_faces_stay() {
        let cut = super::super::keep_inside(&ball(), DVec3::Z, 10.0, "ball").unwrap().unwrap();
        let caps = cut.cap.iter().filter(|cap| **cap).count();
        let ((vertices, triangles), _) = split_within(&cut, false, 400_000);
        let still = triangles.iter().filter(|t| vertices[t[0] as usize].cap).count();
        assert!(caps > 0 && still == caps, "{still} of {caps}");
    }
}
