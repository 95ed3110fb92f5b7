//! Surfaces that intersect themselves made into the solids that they enclose, by winding number.

use glam::dvec3;
use manifold_rust::{
    manifold::Manifold,
    robust::soup::has_self_intersections_with_token,
    types::{Error as KernelError, MeshGL64, WindingRule},
};

use crate::{Cancel, Cancelled, TriMesh};

/// Why a surface is not made into a solid.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotResolved {
    /// It encloses none; in the kernel's words.
    #[error("{0}")]
    NotSolid(&'static str),
    /// The work was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl TriMesh {
    /// [`TriMesh::intersects_itself`] by the kernel, which is exact.
    pub(super) fn intersects_itself_exactly(&self, cancel: &Cancel) -> Result<bool, Cancelled> {
        let body = Manifold::from_mesh_gl64_robust(&kernel_mesh(self));
        let found = has_self_intersections_with_token(body.as_impl(), Some(cancel.token()));
        cancel.check()?;
        Ok(found)
    }

    /// The surface of all points whose winding number is not zero: the solid that a closed surface encloses where it
    /// intersects, overlaps or contains itself.
    ///
    /// # Errors
    /// When an edge is not run along as often in one direction as in the other.
    pub fn without_self_intersections(&self) -> Result<TriMesh, NotResolved> {
        self.try_without_self_intersections(&Cancel::new())
    }

    /// [`TriMesh::without_self_intersections`] that can be stopped.
    ///
    /// # Errors
    /// As there, and once `cancel` asks to stop.
    pub fn try_without_self_intersections(&self, cancel: &Cancel) -> Result<TriMesh, NotResolved> {
        cancel.check()?;
        let resolved = Manifold::from_mesh_gl64_robust(&kernel_mesh(self))
            .rebuild_solid_with_token(WindingRule::Nonzero, Some(cancel.token()));
        match resolved.status() {
            KernelError::NoError => Ok(mesh_of(&resolved)),
            KernelError::Cancelled => Err(Cancelled.into()),
            other => Err(NotResolved::NotSolid(other.to_str())),
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

/// The surface as the kernel has it: where it only touches itself, vertices at the same position stay separate.
fn mesh_of(resolved: &Manifold) -> TriMesh {
    let out = resolved.get_mesh_gl64(-1);
    let positions: Vec<_> = out
        .vert_properties
        .chunks_exact(out.num_prop.max(3) as usize)
        .map(|v| dvec3(v[0], v[1], v[2]))
        .collect();
    let mut merged: Vec<u32> = (0..positions.len() as u32).collect();
    for (from, to) in out.merge_from_vert.iter().zip(&out.merge_to_vert) {
        merged[*from as usize] = *to as u32;
    }
    let mut triangles: Vec<_> =
        out.tri_verts.chunks_exact(3).map(|t| [t[0], t[1], t[2]].map(|v| merged[v as usize])).collect();
    // The kernel lists them by numbers that it hands out as threads ask for them.
    triangles.sort_unstable();
    TriMesh { positions, triangles }.without_unused_vertices()
}
