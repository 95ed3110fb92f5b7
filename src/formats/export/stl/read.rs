//! STL → mesh, whatever the file claims about itself.

use std::io::{self, Cursor};

use glam::Vec3;

use super::{FACET, PREAMBLE};
use crate::export::weld::Welder;
use geom::TriMesh;

/// Bytes in which an ASCII file must have come to its first facet, or to its end.
const ASCII_PROBE: usize = 1024;

/// Why an STL file could not be read.
#[derive(Debug, thiserror::Error)]
pub enum StlError {
    /// The file ends too soon, or its number of facets is wrong.
    #[error(
        "the STL file says it has {claimed} facets, but its {bytes} bytes hold {present}; \
         it is cut short or damaged, so copy or export it again"
    )]
    WrongCount {
        /// Facets by the file's own word.
        claimed: u32,
        /// Whole facets that are there.
        present: usize,
        /// Length of the file, bytes.
        bytes: usize,
    },
    /// Too short to be an STL file at all.
    #[error("{bytes} bytes are too few for an STL file; it is cut short, or is something else")]
    TooShort {
        /// Length of the file, bytes.
        bytes: usize,
    },
    /// There is not one facet, or none with three different corners.
    #[error("the STL file holds no surface; export it again with the solid chosen")]
    Empty,
    /// More facets than a mesh can number.
    #[error("the STL file holds {facets} facets, more than can be numbered; make it coarser")]
    TooMany {
        /// Facets in the file.
        facets: usize,
    },
    /// A corner is not a finite point.
    #[error("facet {facet} of the STL file has a corner that is not a number; repair it or export it again")]
    NotFinite {
        /// The facet, counted from 1.
        facet: usize,
    },
    /// A line of an ASCII file does not say what it should.
    #[error("the ASCII STL file cannot be read past facet {facet}; export it again, best as binary STL")]
    Ascii {
        /// Facets read before the bad line.
        facet: usize,
        /// What is wrong there.
        source: io::Error,
    },
}

/// Reads an STL file, binary or ASCII, and welds corners at exactly the same place. Facets with a repeated
/// corner are left out. The mesh is as closed and as clean as the file; [`TriMesh::check`] says how far.
///
/// Memory goes by the length of `bytes`, never by what the file says about itself. A file is binary if its
/// length fits its number of facets (fewer than 50 bytes may follow), even if it begins with "solid".
///
/// # Errors
/// When the file is cut short, says the wrong number of facets, holds none, or has a number that is none.
pub fn read(bytes: &[u8]) -> Result<TriMesh, StlError> {
    let mesh = match binary_facets(bytes) {
        Ok(facets) => weld(facets.iter().map(facet_corners), facets.len())?,
        Err(_) if looks_ascii(bytes) => {
            let facets = ascii_facets(bytes)?;
            weld(facets.iter().copied(), facets.len())?
        }
        Err(wrong) => return Err(wrong),
    };
    if mesh.is_empty() { Err(StlError::Empty) } else { Ok(mesh) }
}

/// The facets of a binary file, if its length fits their number.
fn binary_facets(bytes: &[u8]) -> Result<&[[u8; FACET]], StlError> {
    let too_short = StlError::TooShort { bytes: bytes.len() };
    let Some((preamble, rest)) = bytes.split_at_checked(PREAMBLE) else { return Err(too_short) };
    let Some(&count) = preamble.last_chunk::<4>() else { return Err(too_short) };
    let claimed = u32::from_le_bytes(count);
    let (facets, _) = rest.as_chunks();
    if claimed as usize == facets.len() {
        Ok(facets)
    } else {
        Err(StlError::WrongCount { claimed, present: facets.len(), bytes: bytes.len() })
    }
}

fn facet_corners(facet: &[u8; FACET]) -> [Vec3; 3] {
    // The normal comes first; it says nothing that the corners do not.
    [get(facet, 12), get(facet, 24), get(facet, 36)]
}

fn get(facet: &[u8; FACET], at: usize) -> Vec3 {
    let number = |at: usize| f32::from_le_bytes([facet[at], facet[at + 1], facet[at + 2], facet[at + 3]]);
    Vec3::new(number(at), number(at + 4), number(at + 8))
}

fn looks_ascii(bytes: &[u8]) -> bool {
    let start = bytes[..bytes.len().min(ASCII_PROBE)].trim_ascii_start().to_ascii_lowercase();
    let has = |word: &[u8]| start.windows(word.len()).any(|window| window == word);
    start.starts_with(b"solid") && (has(b"facet") || has(b"endsolid"))
}

/// Reads every solid of an ASCII file. `stl_io` reads one solid, in small letters, with a name and in
/// UTF-8, so the text is brought into that form first.
fn ascii_facets(bytes: &[u8]) -> Result<Vec<[Vec3; 3]>, StlError> {
    let text = String::from_utf8_lossy(bytes).to_ascii_lowercase();
    let mut found = Vec::new();
    for solid in solids(&text) {
        let mut plain = Cursor::new(format!("solid -\n{solid}"));
        let at = |found: &Vec<_>, source| StlError::Ascii { facet: found.len(), source };
        let facets = stl_io::create_stl_reader(&mut plain).map_err(|source| at(&found, source))?;
        for facet in facets {
            let facet = facet.map_err(|source| at(&found, source))?;
            found.push(facet.vertices.map(|corner| Vec3::from_array(corner.0)));
        }
    }
    Ok(found)
}

/// What follows each line that begins a solid.
fn solids(text: &str) -> impl Iterator<Item = &str> {
    let begins = |line: &str| line.trim_start().starts_with("solid");
    let mut starts = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        if begins(line) {
            starts.push((at, at + line.len()));
        }
        at += line.len();
    }
    let ends: Vec<usize> = starts.iter().skip(1).map(|&(line, _)| line).chain([text.len()]).collect();
    starts.into_iter().zip(ends).map(|((_, start), end)| &text[start..end])
}

/// Joins corners at the same place; `count` is how many facets there are.
fn weld(facets: impl Iterator<Item = [Vec3; 3]>, count: usize) -> Result<TriMesh, StlError> {
    if count > (u32::MAX / 3) as usize {
        return Err(StlError::TooMany { facets: count });
    }
    // A closed surface has half as many corners as triangles.
    let mut welder = Welder::for_about(count / 2);
    let mut triangles = Vec::with_capacity(count);
    for (index, corners) in facets.enumerate() {
        let [a, b, c] = corners;
        if !(a.is_finite() && b.is_finite() && c.is_finite()) {
            return Err(StlError::NotFinite { facet: index + 1 });
        }
        let [a, b, c] = [welder.number(a), welder.number(b), welder.number(c)];
        if a != b && b != c && c != a {
            triangles.push([a, b, c]);
        }
    }
    let positions = welder.into_positions().into_iter().map(Vec3::as_dvec3).collect();
    Ok(TriMesh { positions, triangles })
}
