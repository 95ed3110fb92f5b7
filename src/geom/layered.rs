//! A mesh with its triangles sorted by height: what is cut, or measured between two heights, meets only those there.
//!
//! Triangles are looked at in the order of the mesh, so that every figure is that of [`TriMesh`] to the last digit.

use std::{ops::RangeInclusive, sync::Arc};

use glam::DVec3;

use crate::{Moments, Region, TriMesh, mesh::volume_along_x};

/// A mesh and which of its triangles reach into each of even layers from its lowest to its highest point.
#[derive(Debug, Clone)]
pub struct LayeredMesh {
    mesh: Arc<TriMesh>,
    low: f64,
    /// Thickness of a layer, mm.
    thickness: f64,
    /// Triangles of each layer, rising, one layer after the other.
    triangles: Vec<u32>,
    /// Where each layer begins in that list, and last where the last one ends.
    starts: Vec<u32>,
}

/// Most layers.
const MOST: f64 = 256.0;

/// Layers that a triangle lies in on average, at most: the lists stay short where triangles are high.
const MOST_EACH: f64 = 3.0;

/// A range of more than this share of all layers is looked at in the whole mesh.
const WIDE: f64 = 0.4;

impl LayeredMesh {
    /// Sorts the triangles of `mesh`.
    pub fn new(mesh: Arc<TriMesh>) -> Self {
        let (lo, hi) = mesh.bounds().unwrap_or_default();
        let (low, height) = (lo.z, (hi.z - lo.z).max(f64::MIN_POSITIVE));
        let span = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|v| mesh.positions[v as usize].z);
            (a.min(b).min(c), a.max(b).max(c))
        };
        let all: f64 = mesh.triangles.iter().map(span).map(|(low, high)| high - low).sum();
        let mean = all / mesh.len().max(1) as f64;
        let count = ((MOST_EACH - 1.0) * height / mean.max(height / MOST)).clamp(1.0, MOST).floor();
        let mut layered = Self {
            mesh: mesh.clone(),
            low,
            thickness: height / count,
            triangles: Vec::new(),
            starts: Vec::new(),
        };
        layered.starts = vec![0; count as usize + 1];
        let layers = |layered: &Self, t: &[u32; 3]| {
            let (low, high) = span(t);
            layered.layers(low, high)
        };
        for t in &mesh.triangles {
            for layer in layers(&layered, t) {
                layered.starts[layer + 1] += 1;
            }
        }
        for layer in 1..layered.starts.len() {
            layered.starts[layer] += layered.starts[layer - 1];
        }
        layered.triangles = vec![0; layered.starts.last().map_or(0, |end| *end as usize)];
        let mut next = layered.starts.clone();
        for (number, t) in (0u32..).zip(&mesh.triangles) {
            for layer in layers(&layered, t) {
                layered.triangles[next[layer] as usize] = number;
                next[layer] += 1;
            }
        }
        layered
    }

    /// The mesh.
    pub fn mesh(&self) -> &Arc<TriMesh> {
        &self.mesh
    }

    /// The layers from the one of height `low` to that of `high`.
    fn layers(&self, low: f64, high: f64) -> RangeInclusive<usize> {
        let last = self.starts.len() - 2;
        // The same for a triangle and for what asks for it, so that round-off leaves none out. A float below 0 becomes 0.
        let layer = |z: f64| (((z - self.low) / self.thickness) as usize).min(last);
        layer(low)..=layer(high)
    }

    fn of_layers(&self, layers: RangeInclusive<usize>) -> &[u32] {
        &self.triangles[self.starts[*layers.start()] as usize..self.starts[layers.end() + 1] as usize]
    }

    /// Calls `each` with all triangles that reach between two heights, and with some more, rising.
    fn each_near(&self, low: f64, high: f64, mut each: impl FnMut(&mut dyn Iterator<Item = usize>)) {
        let layers = self.layers(low, high);
        let count = layers.end() - layers.start() + 1;
        if count == 1 {
            return each(&mut self.of_layers(layers).iter().map(|t| *t as usize));
        }
        if count as f64 > WIDE * (self.starts.len() - 1) as f64 {
            return each(&mut (0..self.mesh.len()));
        }
        // Each once: a bit for every triangle.
        let mut bits = vec![0u64; self.mesh.len().div_ceil(64)];
        for t in self.of_layers(layers) {
            bits[*t as usize / 64] |= 1 << (t % 64);
        }
        each(&mut bits.into_iter().enumerate().flat_map(|(word, mut bits)| {
            std::iter::from_fn(move || {
                let bit = bits.trailing_zeros() as usize;
                (bit < 64).then(|| {
                    bits &= bits - 1;
                    word * 64 + bit
                })
            })
        }));
    }

    /// [`TriMesh::each_between`].
    pub fn each_between(&self, low: f64, high: f64, mut each: impl FnMut(usize, [DVec3; 3])) {
        self.each_near(low, high, |near| self.mesh.each_of_between(near, low, high, &mut each));
    }

    /// [`TriMesh::volume_between`].
    pub fn volume_between(&self, low: f64, high: f64) -> f64 {
        let mut volume = 0.0;
        self.each_between(low, high, |_, piece| volume += volume_along_x(piece));
        volume
    }

    /// [`TriMesh::moments_between`].
    pub fn moments_between(&self, low: f64, high: f64) -> Moments {
        let mut found = Moments::default();
        self.each_between(low, high, |_, piece| found.add_along_x(piece));
        found
    }

    /// [`TriMesh::section`].
    pub fn section(&self, z: f64) -> Region {
        let here = self.of_layers(self.layers(z, z)).iter();
        self.mesh.section_of(here.map(|t| &self.mesh.triangles[*t as usize]), z)
    }
}

#[cfg(test)]
mod tests {
    use glam::{DVec2, dvec2};

    use super::*;
    use crate::revolve::revolve;

    fn meshes() -> [TriMesh; 3] {
        let n = 90;
        let radius = |k: u32| 60.0 + 8.0 * DVec2::from_angle(f64::from(k) * 9.0 / f64::from(n)).y;
        let mut wavy = vec![DVec2::ZERO];
        wavy.extend((0..=n).map(|k| dvec2(radius(k), 120.0 * f64::from(k) / f64::from(n))));
        wavy.push(dvec2(0.0, 120.0));
        let box_like = Region::rectangle(DVec2::ZERO, dvec2(50.0, 80.0));
        [revolve(&Region::from_simple(wavy), 64), revolve(&box_like, 16), TriMesh::default()]
    }

    /// To the last digit what a look at every triangle gives.
    #[test]
    fn figures_are_those_of_the_whole_mesh() {
        let mut cut = 0;
        for mesh in meshes() {
            let layered = LayeredMesh::new(Arc::new(mesh.clone()));
            for (low, high) in [
                (-5.0, 300.0),
                (0.0, 120.0),
                (0.0, 4.0),
                (30.0, 30.4),
                (40.0, 40.0),
                (37.5, 71.0),
                (79.0, 130.0),
            ] {
                assert_eq!(layered.volume_between(low, high), mesh.volume_between(low, high));
                assert_eq!(layered.moments_between(low, high), mesh.moments_between(low, high));
                assert_eq!(layered.section(low), mesh.section(low));
                assert_eq!(layered.section(high), mesh.section(high));
                let (mut ours, mut all) = (Vec::new(), Vec::new());
                layered.each_between(low, high, |t, piece| ours.push((t, piece)));
                mesh.each_between(low, high, |t, piece| all.push((t, piece)));
                assert_eq!(ours, all);
                cut += all.len();
            }
        }
        assert!(cut > 1000, "{cut}");
    }

    /// Far fewer triangles are looked at than there are, and the lists stay short where triangles are high.
    #[test]
    fn few_triangles_are_near_a_height() {
        let [wavy, upright, _] = meshes();
        let (fine, coarse) = (LayeredMesh::new(Arc::new(wavy)), LayeredMesh::new(Arc::new(upright)));
        let near = |layered: &LayeredMesh, z: f64| layered.of_layers(layered.layers(z, z)).len();
        assert!(near(&fine, 61.0) * 20 < fine.mesh.len(), "{}", near(&fine, 61.0));
        assert!(coarse.triangles.len() <= 4 * coarse.mesh.len());
    }
}
