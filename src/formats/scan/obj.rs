//! OBJ → triangles: corners and faces; everything else is for pictures and passed over.
//!
//! Why not `tobj` 4: it does not say in which line a file goes wrong, reads `f32` only, and cuts every polygon
//! as if it were convex. A test holds the two against each other.

use std::borrow::Cow;

use glam::{DVec3, dvec3};

use super::{Axis, MOST_TRIANGLES, Model, ScanError, cut::cut};
use geom::TriMesh;

/// Cutting a polygon into triangles takes at most as long as the square of its corners says. All that are cut may come
/// to this, about 4 s.
const MOST_SQUARED: usize = 2_000_000_000;

/// Reads an OBJ file.
pub(super) fn read(bytes: &[u8]) -> Result<Model, ScanError> {
    // A byte order mark is no part of the first line.
    let text = String::from_utf8_lossy(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes));
    let mut mesh = TriMesh::default();
    let mut left_out = LeftOut::default();
    let mut face = Vec::new();
    let mut squared = 0usize;
    for (number, line) in logical_lines(&text) {
        let mut words = line.split_ascii_whitespace();
        match words.next() {
            Some("v") => mesh.positions.push(corner(words, number)?),
            Some("f") => {
                face.clear();
                for word in words {
                    face.push(index(word, mesh.positions.len(), number)?);
                }
                squared += if face.len() > 4 { face.len().saturating_pow(2) } else { 0 };
                if squared > MOST_SQUARED {
                    let problem = format!(
                        "a face of {} corners: with those before it more than are cut into triangles",
                        face.len()
                    );
                    return Err(ScanError::Line { number, problem });
                }
                if face.len() < 3 {
                    return Err(ScanError::Line {
                        number,
                        problem: "a face needs three corners or more".into(),
                    });
                }
                add_face(&mut mesh, &face);
                if mesh.len() > MOST_TRIANGLES {
                    return Err(ScanError::TooMany { triangles: mesh.len() });
                }
            }
            Some("l" | "p") => left_out.lines += 1,
            Some("curv" | "curv2" | "surf") => left_out.curves += 1,
            _ => {}
        }
    }
    Ok(Model { mesh, unit: None, axes: (Axis::Y, Axis::Z), notes: left_out.notes() })
}

/// Lines with their numbers, those that end in a backslash joined with the next.
fn logical_lines(text: &str) -> impl Iterator<Item = (usize, Cow<'_, str>)> {
    let mut lines = text.lines().map(without_comment).enumerate();
    std::iter::from_fn(move || {
        let (index, line) = lines.next()?;
        let Some(begun) = continued(line) else { return Some((index + 1, line.into())) };
        let mut whole = begun.to_owned();
        for (_, next) in lines.by_ref() {
            whole.push(' ');
            match continued(next) {
                Some(begun) => whole.push_str(begun),
                None => {
                    whole.push_str(next);
                    break;
                }
            }
        }
        Some((index + 1, whole.into()))
    })
}

/// A line without the backslash at its end, if it has one.
fn continued(line: &str) -> Option<&str> {
    line.trim_end().strip_suffix('\\')
}

fn without_comment(line: &str) -> &str {
    line.split('#').next().unwrap_or("")
}

fn corner<'a>(mut words: impl Iterator<Item = &'a str>, number: usize) -> Result<DVec3, ScanError> {
    let mut next = || words.next().and_then(|word| word.parse::<f64>().ok()).filter(|x| x.is_finite());
    match (next(), next(), next()) {
        (Some(x), Some(y), Some(z)) => Ok(dvec3(x, y, z)),
        _ => Err(ScanError::Line { number, problem: "a corner needs three numbers".into() }),
    }
}

/// The corner that a word of a face names: counted from 1, or backwards from the last one.
fn index(word: &str, count: usize, number: usize) -> Result<u32, ScanError> {
    let written = word.split('/').next().unwrap_or("");
    let named: i64 = written
        .parse()
        .map_err(|_| ScanError::Line { number, problem: format!("\"{word}\" names no corner") })?;
    let from_start = if named < 0 { count as i64 + named } else { named - 1 };
    match u32::try_from(from_start) {
        Ok(index) if (index as usize) < count => Ok(index),
        _ => Err(ScanError::Line {
            number,
            problem: format!("corner {named} is named, but there are only {count} so far"),
        }),
    }
}

/// Adds a polygon in triangles; one that is not convex is cut where it lies flattest.
fn add_face(mesh: &mut TriMesh, face: &[u32]) {
    if let [a, b, c] = *face {
        mesh.triangles.push([a, b, c]);
        return;
    }
    let corners: Vec<DVec3> = face.iter().map(|v| mesh.positions[*v as usize]).collect();
    mesh.triangles.extend(cut(&corners).into_iter().map(|t| t.map(|i| face[i])));
}

#[derive(Default)]
struct LeftOut {
    lines: usize,
    curves: usize,
}

impl LeftOut {
    fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.lines > 0 {
            notes.push(format!("{} loose lines and points were left out", self.lines));
        }
        if self.curves > 0 {
            notes.push(format!(
                "{} curved surfaces were left out: only polygons are read, so export it as polygons",
                self.curves
            ));
        }
        notes
    }
}
