//! OBJ with its MTL: named, coloured parts for pictures and general 3D programs.
//!
//! OBJ (course page "OBJ Format"; Wavefront specification, appendix B1, from memory) is text: `v` and `vn`
//! lines, faces `f v//vn` that count from 1 over the whole file, `o` before each part, `usemtl` before the
//! faces of a material, `mtllib` for the file of materials beside it. It has no unit and no word on which
//! way is up; ours are millimetres, y up, said in a comment: (x, y, z) becomes (x, z, −y), so that the
//! front faces +z as in glTF.
//!
//! Viewers differ in how they shade. So each corner carries its own normal, smooth across edges bent by
//! less than [`CREASE`] and broken at sharper ones, and all faces are in one smoothing group: the
//! specification lets given normals win over groups, and programs that look only at the group then still
//! shade round parts smoothly.
//!
//! MTL does not say what space its colours are in; most viewers take `Kd` as it stands for the screen, so
//! it is written in sRGB, 0 to 1, and a comment says so.

mod materials;
mod names;

use std::{
    collections::HashMap,
    io::{self, Write},
    path::{Path, PathBuf},
};

use glam::DVec3;
use rayon::prelude::*;

use super::{MeshF32, PRINTED, corner_normals, shown::y_up};
use crate::model::Model;
pub use materials::Materials;
use names::{Names, safe};

/// Edges bent by more than this, degrees, are shown as edges. Round parts are cut into far smaller steps;
/// the flattest edge that a knife leaves on purpose is a bevel of 45° (our choice).
pub const CREASE: f64 = 40.0;

/// Lines made by one thread at a time.
const SHARE: usize = 1 << 13;

/// Lines held in memory before they are written.
const BATCH: usize = SHARE << 5;

/// Normals are written with four decimals: 0.006° at most.
const NORMAL_STEPS: f64 = 1e4;

/// The file of materials that goes with an OBJ file: beside it and named like it, but for characters that
/// could not stand in a `mtllib` line.
pub fn mtl_path(obj: &Path) -> PathBuf {
    let stem = obj.file_stem().unwrap_or_default().to_string_lossy();
    obj.with_file_name(format!("{}.mtl", safe(&stem, "materials")))
}

/// Writes `model` as OBJ text. `solids` are its parts, rounded to `f32`, in the same order; `library` is the name
/// of the MTL file beside it.
///
/// # Errors
/// When `writer` fails.
pub fn write(
    writer: &mut dyn Write,
    model: &Model,
    solids: &[MeshF32<'_>],
    materials: &Materials,
    library: &str,
) -> io::Result<()> {
    writeln!(writer, "# {}", safe(&model.name, "cake"))?;
    writeln!(writer, "# millimetres, y up, front faces +z")?;
    writeln!(writer, "# {PRINTED}")?;
    writeln!(writer, "mtllib {library}")?;
    let mut names = Names::default();
    let mut counts = Counts { positions: 0, normals: 0 };
    let shadings: Vec<Shading> = solids.par_iter().with_max_len(1).map(Shading::of).collect();
    for ((part, solid), shading) in model.parts.iter().zip(solids).zip(&shadings) {
        writeln!(writer, "o {}", names.unique(&part.name, "part"))?;
        writeln!(writer, "usemtl {}", materials.name_for(part))?;
        writeln!(writer, "s 1")?;
        counts = write_solid(writer, solid, shading, counts)?;
    }
    Ok(())
}

/// How many positions and normals the file has so far.
#[derive(Clone, Copy)]
struct Counts {
    positions: u64,
    normals: u64,
}

/// The normals of a solid as they are written.
struct Shading {
    /// Each normal once.
    normals: Vec<[i32; 3]>,
    /// For each corner of each triangle the number of its normal.
    corners: Vec<[u32; 3]>,
}

impl Shading {
    fn of(solid: &MeshF32<'_>) -> Self {
        let mut shading = corner_normals(solid.positions(), solid.triangles(), CREASE);
        let (normals, to_rounded) = rounded(&shading.normals);
        shading.corners.iter_mut().flatten().for_each(|n| *n = to_rounded[*n as usize]);
        Self { normals, corners: shading.corners }
    }
}

fn write_solid(
    writer: &mut dyn Write,
    solid: &MeshF32<'_>,
    Shading { normals, corners }: &Shading,
    before: Counts,
) -> io::Result<Counts> {
    write_lines(writer, solid.positions(), |line, &p| {
        let [x, y, z] = y_up(p).to_array();
        writeln!(line, "v {x} {y} {z}")
    })?;
    write_lines(writer, normals, |line, n| {
        let [x, y, z] = n.map(|steps| f64::from(steps) / NORMAL_STEPS);
        writeln!(line, "vn {x} {y} {z}")
    })?;
    let faces: Vec<_> = solid.triangles().iter().zip(corners).collect();
    write_lines(writer, &faces, |line, (triangle, corners)| {
        line.extend_from_slice(b"f");
        for (v, n) in triangle.iter().zip(corners.iter()) {
            let position = before.positions + u64::from(*v) + 1;
            let normal = before.normals + u64::from(*n) + 1;
            write!(line, " {position}//{normal}")?;
        }
        writeln!(line)
    })?;
    Ok(Counts {
        positions: before.positions + solid.positions().len() as u64,
        normals: before.normals + normals.len() as u64,
    })
}

/// Normals, y up, rounded to what is written, each once, and the place of each given one among them.
fn rounded(normals: &[DVec3]) -> (Vec<[i32; 3]>, Vec<u32>) {
    let mut place = HashMap::new();
    let mut kept = Vec::new();
    let to_kept = normals
        .iter()
        .map(|n| {
            let steps = [n.x, n.z, -n.y].map(|c| (c * NORMAL_STEPS).round() as i32);
            *place.entry(steps).or_insert_with(|| {
                kept.push(steps);
                (kept.len() - 1) as u32
            })
        })
        .collect();
    (kept, to_kept)
}

/// Writes one line for each item, in order, made by as many threads as there are.
fn write_lines<T: Sync>(
    writer: &mut dyn Write,
    items: &[T],
    line: impl Fn(&mut Vec<u8>, &T) -> io::Result<()> + Sync,
) -> io::Result<()> {
    for batch in items.chunks(BATCH) {
        let texts: Vec<Vec<u8>> = batch
            .par_chunks(SHARE)
            .map(|share| {
                let mut text = Vec::new();
                share.iter().try_for_each(|item| line(&mut text, item)).map(|()| text)
            })
            .collect::<io::Result<_>>()?;
        texts.iter().try_for_each(|text| writer.write_all(text))?;
    }
    Ok(())
}
