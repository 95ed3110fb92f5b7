//! USDZ: what tablets and phones that do not show glTF put into the room.
//!
//! By the USDZ specification (version 1.3) a ZIP archive without compression in which the bytes of every file begin at a
//! multiple of 64; the first file is the scene. Ours is text (the "Usda" format of OpenUSD): metres, y up, one Mesh for each
//! part and one UsdPreviewSurface (version 2.6) for each look. Lengths are written to a thousandth of a millimetre.

mod text;

use std::io::{self, Cursor, Write};

use zip::{CompressionMethod, DateTime, ZipWriter, write::SimpleFileOptions};

use super::MeshF32;
use crate::model::Model;

/// At multiples of so many bytes the files in the archive begin.
const ALIGNMENT: u16 = 64;

/// Name of the scene in the archive.
const SCENE: &str = "cake.usda";

/// Writes every part of `model` as USDZ. `solids` are its parts, rounded to `f32`, in the same order.
///
/// # Errors
/// When `writer` fails, or the scene would be larger than the 4 GiB that the format can hold.
pub fn write(writer: &mut dyn Write, model: &Model, solids: &[MeshF32<'_>]) -> io::Result<()> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    // The earliest date that the format knows: the same cake gives the same bytes.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default())
        .with_alignment(ALIGNMENT);
    archive.start_file(SCENE, options)?;
    text::write(&mut archive, model, solids)?;
    writer.write_all(archive.finish()?.get_ref())
}
