//! The shave depth at the vertices of carved layers, for pictures.

use glam::{DVec2, DVec3};

use formats::model::Part;
use geom::{Region, TriMesh, revolve};
use plan::stack::Stack;

/// How far the shave depth half way along an edge may be from the mean of its ends, mm.
const DEPTH_ERROR: f64 = 0.2;
/// Edges that are always and that are never split for the sake of the shave depth: longer, and shorter, than
/// so many mm.
const DEPTH_EDGES: (f64, f64) = (16.0, 4.0);

/// A mesh with the shave depth at every vertex, mm; without depths where nobody asked for them.
#[derive(Default)]
pub(super) struct DepthMesh {
    mesh: TriMesh,
    depth: Vec<f64>,
}

impl DepthMesh {
    /// No depths.
    pub fn plain(mesh: TriMesh) -> Self {
        Self { mesh, depth: Vec::new() }
    }

    /// A mesh with its depths in `stack`, and more vertices where they would be lost between them.
    pub fn new(mesh: &TriMesh, stack: &Stack) -> Self {
        let (mesh, mut depth) = mesh.with_scalar_field(|p: DVec3| stack.depth(p), DEPTH_ERROR, DEPTH_EDGES);
        // A narrow triangle whose edges are halved may become three corners on a line.
        let mesh = mesh.without_flat();
        depth.extend(mesh.positions[depth.len()..].iter().map(|p| stack.depth(*p)));
        Self { mesh, depth }
    }

    /// The same for a section that is turned with `n` meridians: while the whole stack stands on the axis, depths
    /// are the same all round.
    pub fn turned(section: &Region, n: u32, stack: &Stack) -> Self {
        if !stack.is_coaxial() {
            return Self::new(&revolve::revolve(section, n), stack);
        }
        let depth = |p: DVec2| stack.depth(revolve::at_bearing(p.x, p.y, 0.0));
        let section = section.with_points_where(|a, b| {
            let length = a.distance(b);
            let off = || (depth((a + b) / 2.0) - (depth(a) + depth(b)) / 2.0).abs();
            length > DEPTH_EDGES.0 || (length >= DEPTH_EDGES.1 && off() > DEPTH_ERROR)
        });
        let depth = revolve::spread_over_meridians(&section, n, depth);
        Self { mesh: revolve::revolve(&section, n), depth }
    }

    /// `part` with this surface.
    pub fn given_to(self, part: Part) -> Part {
        Part { mesh: self.mesh, shave_depth: self.depth, ..part }
    }
}
