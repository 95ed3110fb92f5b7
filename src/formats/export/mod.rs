//! Files out: solids as STL, coloured mock-ups as OBJ, GLB and USDZ, lighter previews, sheets as PDF and SVG, each
//! file atomically.
//!
//! Bytes out; knows [`TriMesh`], [`Model`] and [`crate::drawing::Page`], not cakes. Every solid is rounded from `f64` to the
//! `f32` of the file formats here and nowhere else ([`MeshF32`]), and one that is not closed and
//! outward after that is refused. Same input, same bytes: no clock, no random order, whatever the
//! number of threads, a decimal point whatever the locale.
//!
//! | ending | lengths | up | parts |
//! |---|---|---|---|
//! | `.stl` | mm (the format itself has no unit) | z, front faces −y | one shell after the other |
//! | `.obj` with `.mtl` | mm (said in a comment) | y, front faces +z | named and coloured |
//! | `.glb` | m (glTF has no other) | y, front faces +z | named, coloured, with their finish |
//! | `.usdz` | m (said in the file) | y, front faces +z | named, coloured, with their finish |
//! | `.3mf` | mm (said in the file) | z | named, each at its places on a bed |

mod corner;
mod error;
pub mod files;
mod format;
pub mod glb;
mod mesh_f32;
mod name;
pub mod obj;
pub mod packed;
pub mod pdf;
pub mod png;
pub mod preview;
mod repair;
pub mod same_name;
mod shown;
pub mod stl;
pub mod svg;
pub mod threemf;
mod unique_names;
pub mod usdz;
mod weld;

use std::{
    path::{Path, PathBuf},
    sync::atomic::{AtomicU64, Ordering},
};

use rayon::prelude::*;

pub use corner::{CornerNormals, corner_normals};
pub use error::ExportError;
pub use files::{FileSet, write_atomic};
pub use format::Format;
pub use mesh_f32::MeshF32;
pub use name::slug;
pub use preview::{Preview, simplified};
pub use same_name::FileNames;

use crate::model::{Model, Part};
use geom::{TriMesh, progress::Progress};

/// What stands in every file that can be printed in plastic.
pub const PRINTED: &str = "Printed plastic is not food-safe: keep a barrier film between the print and what is eaten, \
     and use a print once.";

/// Writes every part of `model` to `path`, in the format that the ending of `path` names, and gives
/// back the files that were written. A model for OBJ also gets an MTL file beside it; both appear or
/// neither does.
///
/// # Errors
/// When the ending names no format, a part is not a closed solid once rounded to `f32`, the model has
/// no parts, or a file cannot be written. Nothing is left behind then.
pub fn write_model(model: &Model, path: &Path, progress: &dyn Progress) -> Result<Vec<PathBuf>, ExportError> {
    let mut set = FileSet::new();
    add_model(&mut set, model, path, progress)?;
    set.commit()
}

/// Adds the file, or files, of `model` to an atomic file set.
///
/// # Errors
/// As for [`write_model`].
pub fn add_model(
    set: &mut FileSet,
    model: &Model,
    path: &Path,
    progress: &dyn Progress,
) -> Result<(), ExportError> {
    let format = Format::of(path)?;
    let solids = parts_as_f32(model, progress)?;
    match format {
        Format::Stl => {
            progress.start("writing", 1);
            set.add(path, |w| stl::write(w, &model.name, &solids))?;
            progress.step(1);
        }
        Format::Obj => {
            let materials = obj::Materials::of(model);
            let mtl = obj::mtl_path(path);
            let library = mtl.file_name().unwrap_or_default().to_string_lossy();
            progress.start("writing", 2);
            set.add(&mtl, |w| materials.write(w))?;
            progress.step(1);
            set.add(path, |w| obj::write(w, model, &solids, &materials, &library))?;
            progress.step(2);
        }
        Format::Glb => {
            progress.start("writing", 1);
            set.add(path, |w| glb::write(w, model, &solids))?;
            progress.step(1);
        }
        Format::Usdz => {
            progress.start("writing", 1);
            set.add(path, |w| usdz::write(w, model, &solids))?;
            progress.step(1);
        }
    }
    progress.finish();
    Ok(())
}

/// Writes closed solids that belong together as one binary STL file named `path`, whatever its ending.
/// `name` goes into the header of the file.
///
/// # Errors
/// As for [`write_model`].
pub fn write_stl(solids: &[&TriMesh], name: &str, path: &Path) -> Result<(), ExportError> {
    let meshes = solids
        .iter()
        .map(|solid| MeshF32::new(solid))
        .collect::<Result<Vec<_>, _>>()
        .map_err(|defect| ExportError::NotSolid { part: name.to_owned(), defect })?;
    write_atomic(path, |w| stl::write(w, name, &meshes))
}

fn parts_as_f32<'a>(model: &'a Model, progress: &dyn Progress) -> Result<Vec<MeshF32<'a>>, ExportError> {
    if model.parts.is_empty() {
        return Err(ExportError::Empty { model: model.name.clone() });
    }
    progress.start("checking solids", model.parts.len() as u64);
    let done = AtomicU64::new(0);
    let rounded = |part: &'a Part| {
        let solid = MeshF32::new(&part.mesh);
        progress.step(done.fetch_add(1, Ordering::Relaxed) + 1);
        solid.map_err(|defect| ExportError::NotSolid { part: part.name.clone(), defect })
    };
    let solids: Vec<Result<MeshF32<'a>, ExportError>> =
        model.parts.par_iter().with_max_len(1).map(rounded).collect();
    progress.finish();
    // Of several that are none the first is told.
    solids.into_iter().collect()
}
