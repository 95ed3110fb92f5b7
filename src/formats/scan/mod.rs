//! Models of the client's: files of meshes → one sound, closed solid that stands on the board.
//!
//! In three steps, each a function of its own: [`read`] brings the triangles out of the file as they are
//! there, [`Placing`] turns, scales and stands them on the board, [`repaired`] makes a solid of them or says
//! where that fails. Files come from anywhere: nothing is allocated on a file's word, nothing is fetched, and
//! nothing outside the folder that the model lies in is opened.

mod components;
mod contacts;
mod cut;
mod debris;
mod error;
mod gltf;
mod gltf_shape;
mod holes;
mod level;
mod obj;
mod placing;
mod reach;
mod repair;
mod seams;
mod sheets;
mod sides;
mod threemf;

use std::io;

use glam::DVec3;

use crate::export::stl;
use geom::TriMesh;

pub use error::{Hole, ScanError, place};
pub use placing::{Axis, Centre, PlacedModel, Placing, Scale};
pub use reach::{Undercut, undercuts};
pub use repair::{RepairOptions, Repaired, repaired, try_repaired};

/// A model as its file has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// Its triangles, in its own unit and with its own axes.
    pub mesh: TriMesh,
    /// How many millimetres one of its units is, if the format says so.
    pub unit: Option<f64>,
    /// Which way is up in its format, and which way its front looks.
    pub axes: (Axis, Axis),
    /// What was left out of the file.
    pub notes: Vec<String>,
}

/// The file formats that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// STL, binary or ASCII.
    Stl,
    /// OBJ.
    Obj,
    /// 3MF.
    ThreeMf,
    /// glTF as JSON.
    Gltf,
    /// glTF in one binary file.
    Glb,
}

impl Format {
    /// The format of a file, by the end of its name.
    ///
    /// # Errors
    /// When the name ends in none of those known.
    pub fn of(name: &str) -> Result<Self, ScanError> {
        let end = name.rsplit_once('.').map_or("", |(_, end)| end).to_ascii_lowercase();
        match end.as_str() {
            "stl" => Ok(Self::Stl),
            "obj" => Ok(Self::Obj),
            "3mf" => Ok(Self::ThreeMf),
            "gltf" => Ok(Self::Gltf),
            "glb" => Ok(Self::Glb),
            _ => Err(ScanError::UnknownFormat),
        }
    }
}

/// Most triangles that a model may have: three times what a carved cake can show; planned they take a gigabyte.
pub const MOST_TRIANGLES: usize = 3_000_000;

/// Reads a model. `beside` brings a file that lies beside it, by the name that the model gives; it must refuse
/// whatever lies elsewhere.
///
/// # Errors
/// When the file is damaged, holds no surface or more than can be worked with, or asks for what is not there.
pub fn read(
    bytes: &[u8],
    format: Format,
    beside: &dyn Fn(&str) -> io::Result<Vec<u8>>,
) -> Result<Model, ScanError> {
    let model = match format {
        Format::Stl => {
            Model { mesh: stl::read(bytes)?, unit: None, axes: (Axis::Z, Axis::MinusY), notes: Vec::new() }
        }
        Format::Obj => obj::read(bytes)?,
        Format::ThreeMf => threemf::read(bytes)?,
        Format::Gltf | Format::Glb => gltf::read(bytes, beside)?,
    };
    if model.mesh.is_empty() {
        return Err(ScanError::Empty);
    }
    if model.mesh.len() > MOST_TRIANGLES {
        return Err(ScanError::TooMany { triangles: model.mesh.len() });
    }
    let used = model.mesh.triangles.iter().flatten().map(|v| model.mesh.positions[*v as usize]);
    match used.into_iter().find(|p| !(p.is_finite() && p.abs().max_element() < FURTHEST)) {
        Some(at) => Err(ScanError::FarOff { at }),
        None => Ok(model),
    }
}

/// No coordinate is as large as this; past it distances lose their meaning.
const FURTHEST: f64 = 1e9;

/// The middle of the box round a mesh and its size.
fn middle_and_size(mesh: &TriMesh) -> (DVec3, DVec3) {
    let used = mesh.triangles.iter().flatten().map(|v| mesh.positions[*v as usize]);
    let (lo, hi) = used.fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(lo, hi), p| (lo.min(p), hi.max(p)));
    ((lo + hi) / 2.0, hi - lo)
}
