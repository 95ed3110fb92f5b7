//! Surfaces that cross themselves made into the solids that they enclose.

use glam::dvec3;
use manifold_rust::{
    manifold::Manifold,
    types::{Error as KernelError, MeshGL64, WindingRule},
};

use super::TriMesh;

/// No solid comes of a surface.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct NotRebuilt(&'static str);

impl TriMesh {
    /// Whether two triangles of a closed surface cross or overlap.
    pub fn crosses_itself(&self) -> bool {
        !self.is_surely_apart() && self.crosses_for_the_kernel()
    }

    /// The same by the kernel, which is exact and takes ten times as long.
    pub(super) fn crosses_for_the_kernel(&self) -> bool {
        Manifold::from_mesh_gl64_robust(&kernel_mesh(self)).has_self_intersections()
    }

    /// The solid that a closed surface encloses, wherever it crosses itself, overlaps or lies in itself: all
    /// that it winds round, whichever way.
    ///
    /// # Errors
    /// When every edge is not run along as often one way as the other.
    pub fn rebuilt(&self) -> Result<TriMesh, NotRebuilt> {
        let built = Manifold::from_mesh_gl64_robust(&kernel_mesh(self)).rebuild_solid(WindingRule::Nonzero);
        match built.status() {
            KernelError::NoError => Ok(mesh_of(&built)),
            other => Err(NotRebuilt(other.to_str())),
        }
    }
}

fn kernel_mesh(mesh: &TriMesh) -> MeshGL64 {
    MeshGL64 {
        num_prop: 3,
        vert_properties: mesh.positions.iter().flat_map(|p| p.to_array()).collect(),
        tri_verts: mesh.triangles.iter().flatten().map(|&v| u64::from(v)).collect(),
        ..MeshGL64::default()
    }
}

/// The surface as the kernel has it: where it only touches itself, corners in the same place stay apart.
fn mesh_of(built: &Manifold) -> TriMesh {
    let out = built.get_mesh_gl64(-1);
    let positions: Vec<_> = out
        .vert_properties
        .chunks_exact(out.num_prop.max(3) as usize)
        .map(|v| dvec3(v[0], v[1], v[2]))
        .collect();
    let mut becomes: Vec<u32> = (0..positions.len() as u32).collect();
    for (from, to) in out.merge_from_vert.iter().zip(&out.merge_to_vert) {
        becomes[*from as usize] = *to as u32;
    }
    let triangles =
        out.tri_verts.chunks_exact(3).map(|t| [t[0], t[1], t[2]].map(|v| becomes[v as usize])).collect();
    TriMesh { positions, triangles }.without_strays()
}
