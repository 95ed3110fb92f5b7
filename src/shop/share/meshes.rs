//! The meshes of the page, as light as its budget wants them.

use std::sync::atomic::{AtomicU64, Ordering};

use rayon::prelude::*;

use super::parts::Parts;
use formats::export::{packed::Packed, simplified};
use geom::{TriMesh, progress::Progress};

/// Bytes that the packed meshes may take: with base64 a third more, which leaves a page with four pictures below 400 KB.
pub const MESH_BUDGET: usize = 170_000;

/// How far surfaces may stray so that the budget is met, mm: one after the other. What strays by more is no likeness.
const ERRORS: [f64; 5] = [0.05, 0.1, 0.2, 0.4, 0.8];

/// The packed meshes of some parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Meshes {
    /// The meshes, in the order of the parts.
    pub packed: Packed,
    /// How far the surfaces may stray from the true ones, mm; 0 where nothing was taken away.
    pub error_mm: f64,
}

impl Meshes {
    /// The meshes of `parts`, lightened until they fit `budget` bytes or stray by the most that is allowed.
    pub fn new(parts: &Parts, budget: usize, progress: &dyn Progress) -> Self {
        let whole: Vec<&TriMesh> = parts.parts.iter().map(|part| &part.mesh).collect();
        let mut meshes = Self { packed: Packed::new(&whole), error_mm: 0.0 };
        for error_mm in ERRORS {
            if meshes.fits(budget) {
                break;
            }
            let done = AtomicU64::new(0);
            progress.start("simplifying", whole.len() as u64);
            let lighter: Vec<TriMesh> = whole
                .par_iter()
                .with_max_len(1)
                .map(|mesh| {
                    let lighter = simplified(mesh, error_mm).mesh;
                    progress.step(done.fetch_add(1, Ordering::Relaxed) + 1);
                    lighter
                })
                .collect();
            progress.finish();
            let packed = Packed::new(&lighter.iter().collect::<Vec<_>>());
            meshes = Self { packed, error_mm };
        }
        meshes
    }

    /// Whether they take no more than `budget` bytes.
    pub fn fits(&self, budget: usize) -> bool {
        self.packed.bytes.len() <= budget
    }
}
