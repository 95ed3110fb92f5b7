//! Horizontal sections of a mesh, and the narrowest turned solid round it.

use glam::{DVec2, dvec2};
use rustc_hash::FxHashMap;

use super::{Region, TriMesh};

impl TriMesh {
    /// The cut through a closed mesh at height `z`, seen from above. A level face at that height counts as lying
    /// below it.
    pub fn section(&self, z: f64) -> Region {
        self.section_of(&self.triangles, z)
    }

    /// [`TriMesh::section`], given all triangles that the cut meets and perhaps more, in their order.
    pub(crate) fn section_of<'a>(&self, triangles: impl IntoIterator<Item = &'a [u32; 3]>, z: f64) -> Region {
        let above = |v: u32| self.positions[v as usize].z > z;
        // Where the cut goes on from each edge that it crosses, edges named by their ends in order.
        let mut next_edge: FxHashMap<(u32, u32), (u32, u32)> = FxHashMap::default();
        let mut starts = Vec::new();
        let key = |a: u32, b: u32| if a < b { (a, b) } else { (b, a) };
        for t in triangles {
            // Counter-clockwise from outside, the inside lies left of the line from where an edge comes down
            // through the cut to where the next one goes up.
            let crossing =
                |down: bool| (0..3).find(|&i| above(t[i]) == down && above(t[(i + 1) % 3]) != down);
            let (Some(down), Some(up)) = (crossing(true), crossing(false)) else { continue };
            let edge = |i: usize| key(t[i], t[(i + 1) % 3]);
            next_edge.insert(edge(down), edge(up));
            starts.push(edge(down));
        }
        let point = |(a, b): (u32, u32)| {
            let (a, b) = (self.positions[a as usize], self.positions[b as usize]);
            a.lerp(b, (z - a.z) / (b.z - a.z)).truncate()
        };
        let mut contours = Vec::new();
        for start in starts {
            let mut contour: Vec<DVec2> = Vec::new();
            let mut at = start;
            while let Some(next) = next_edge.remove(&at) {
                contour.push(point(at));
                at = next;
            }
            if contour.len() > 2 {
                contours.push(contour);
            }
        }
        Region::new(contours)
    }

    /// Half section of the narrowest turned solid about the axis that holds the mesh, to within a step of `step` mm
    /// in height; for a mesh that stands on the board.
    pub fn envelope(&self, step: f64) -> Region {
        let Some((lo, hi)) = self.bounds() else { return Region::default() };
        let count = ((hi.z - lo.z) / step).ceil().max(1.0) as usize;
        let height = |k: usize| lo.z + (hi.z - lo.z) * k as f64 / count as f64;
        let place = |z: f64| ((z - lo.z) / (hi.z - lo.z) * count as f64).clamp(0.0, count as f64);
        let mut radii = vec![0.0_f64; count + 1];
        for p in &self.positions {
            let (k, r) = (place(p.z), p.truncate().length());
            for k in [k.floor() as usize, k.ceil() as usize] {
                radii[k] = radii[k].max(r);
            }
        }
        for t in &self.triangles {
            for i in 0..3 {
                let (a, b) = (self.positions[t[i] as usize], self.positions[t[(i + 1) % 3] as usize]);
                if a.z >= b.z {
                    continue;
                }
                let (first, end) = (place(a.z).ceil() as usize, place(b.z).floor() as usize + 1);
                for (k, radius) in radii.iter_mut().enumerate().take(end).skip(first) {
                    let p = a.lerp(b, ((height(k) - a.z) / (b.z - a.z)).clamp(0.0, 1.0));
                    *radius = radius.max(p.truncate().length());
                }
            }
        }
        let mut contour = vec![dvec2(0.0, lo.z)];
        contour.extend(radii.iter().enumerate().map(|(k, r)| dvec2(*r, height(k))));
        contour.push(dvec2(0.0, hi.z));
        Region::new(vec![contour])
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::revolve::{polygon_factor, revolve};

    #[test]
    fn a_ring_is_cut_to_a_ring_and_its_envelope_is_its_outline() {
        let ring = Region::rectangle(dvec2(40.0, 0.0), dvec2(100.0, 80.0));
        let mesh = revolve(&ring, 128);
        let cut = mesh.section(30.0);
        assert!((cut.area() / (PI * (1e4 - 1600.0) * polygon_factor(128)) - 1.0).abs() < 1e-9);
        assert!(mesh.section(80.0).is_empty() && !mesh.section(0.0).is_empty());
        let envelope = mesh.envelope(1.0);
        assert!((envelope.area() - 8000.0).abs() < 1e-6, "{}", envelope.area());
    }
}
