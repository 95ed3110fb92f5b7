//! How fast a million triangles go out to STL and come in from it.
//!
//! `cargo bench --no-default-features --bench stl`. References: writing the same bytes; numpy-stl for
//! writing and trimesh for reading with merged corners (`tests/reference/stl_times.py`); stl_io both ways.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs)]
mod python;
#[allow(missing_docs)]
mod row;

use std::{
    f64::consts::TAU,
    fs::{self, File},
    hint::black_box,
    io::{BufReader, Cursor},
    path::Path,
};

use crumbline::{
    export::{NarrowSolid, stl, write_stl, write_whole},
    geom::TriMesh,
};
use glam::DVec3;
use row::{head, medians, row};
use tempfile::TempDir;

fn main() {
    let mesh = ring(1000, 500);
    let bytes = stl_bytes(&mesh);
    let (memory, disk) = (in_memory(), tempfile::tempdir().expect("a folder on the disk"));
    println!("{} triangles, {} bytes, {} threads", mesh.len(), bytes.len(), rayon::current_num_threads());
    head();
    writing(&mesh, &bytes, memory.path());
    writing_whole(&mesh, &bytes, disk.path());
    reading(&bytes);
    against_python(&mesh, &bytes, memory.path());
}

/// A folder in memory where the system has one (Linux), so that a busy disk does not blur the times. It
/// flatters no one: the bytes alone are written fastest there.
fn in_memory() -> TempDir {
    tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).expect("a folder for the files")
}

fn writing(mesh: &TriMesh, bytes: &[u8], folder: &Path) {
    let path = folder.join("ring.stl");
    let soup = stl_io_soup(bytes);
    let [ours, same_bytes, theirs] = medians([
        &mut || write_plain(mesh, &path),
        &mut || fs::write(&path, bytes).expect("written"),
        &mut || stl_io::write_stl(&mut File::create(&path).expect("made"), soup.iter()).expect("written"),
    ]);
    row("STL write vs writing the same bytes", ours, same_bytes, Some(2.0));
    row("STL write vs stl_io", ours, theirs, None);
}

fn writing_whole(mesh: &TriMesh, bytes: &[u8], folder: &Path) {
    let path = folder.join("ring.stl");
    let [ours, same_bytes] =
        medians([&mut || write_stl(&[mesh], "ring", &path).expect("written"), &mut || {
            write_whole(&path, |w| w.write_all(bytes)).expect("written")
        }]);
    row("both whole or not at all, and on the disk", ours, same_bytes, Some(2.0));
}

fn reading(bytes: &[u8]) {
    let [ours, theirs] = medians([&mut || drop(black_box(stl::read(bytes).expect("read"))), &mut || {
        drop(black_box(stl_io::read_stl(&mut BufReader::new(Cursor::new(bytes))).expect("read")))
    }]);
    row("STL read and weld vs stl_io", ours, theirs, None);
    let text = ascii(&ring(200, 250));
    let [ours, theirs] =
        medians([&mut || drop(black_box(stl::read(text.as_bytes()).expect("read"))), &mut || {
            drop(black_box(stl_io::read_stl(&mut Cursor::new(&text)).expect("read")))
        }]);
    row("ASCII STL, 100 000 triangles, vs stl_io", ours, theirs, None);
}

fn against_python(mesh: &TriMesh, bytes: &[u8], folder: &Path) {
    let (read, write) = (folder.join("read.stl"), folder.join("write.stl"));
    fs::write(&read, bytes).expect("written");
    let Some(times) = python::times("stl_times.py", &[&read, &write]) else { return };
    let [ours_write, ours_read] = medians([&mut || write_plain(mesh, &write), &mut || {
        drop(black_box(stl::read(&fs::read(&read).expect("there")).expect("read")))
    }]);
    row("STL write vs numpy-stl", ours_write, times[0], Some(1.0 / 5.0));
    row("STL write vs numpy-stl from its own facets", ours_write, times[1], None);
    row("STL read and weld vs trimesh", ours_read, times[2], Some(1.0 / 5.0));
}

/// Everything that writing takes, from the `f64` mesh on, but for the whole-or-nothing part, which the
/// references do not have.
fn write_plain(mesh: &TriMesh, path: &Path) {
    let solid = NarrowSolid::new(mesh).expect("a solid");
    stl::write(&mut File::create(path).expect("made"), "ring", &[solid]).expect("written");
}

fn stl_bytes(mesh: &TriMesh) -> Vec<u8> {
    let mut bytes = Vec::new();
    stl::write(&mut bytes, "ring", &[NarrowSolid::new(mesh).expect("a solid")]).expect("written");
    bytes
}

fn stl_io_soup(bytes: &[u8]) -> Vec<stl_io::Triangle> {
    let mut reader = Cursor::new(bytes);
    stl_io::create_stl_reader(&mut reader).expect("binary").map(|facet| facet.expect("whole")).collect()
}

fn ascii(mesh: &TriMesh) -> String {
    use std::fmt::Write;
    let mut text = String::from("solid ring\n");
    for index in 0..mesh.len() {
        text.push_str("facet normal 0 0 1\nouter loop\n");
        for p in mesh.corners(index).map(|p| p.as_vec3()) {
            writeln!(text, "vertex {} {} {}", p.x, p.y, p.z).expect("text grows");
        }
        text.push_str("endloop\nendfacet\n");
    }
    text + "endsolid ring\n"
}

/// A wavy ring of 2 × `around` × `across` triangles, 300 mm wide.
fn ring(around: u32, across: u32) -> TriMesh {
    let position = |k: u32| {
        let (u, v) = (f64::from(k / across) / f64::from(around), f64::from(k % across) / f64::from(across));
        let thick = 40.0 + 5.0 * (7.0 * TAU * u).sin();
        let (sin, cos) = (TAU * v).sin_cos();
        let radius = 110.0 + thick * cos;
        DVec3::new(radius * (TAU * u).cos(), radius * (TAU * u).sin(), thick * sin)
    };
    let triangles = (0..around * across).flat_map(|k| {
        let (i, j) = (k / across, k % across);
        let (next_i, next_j) = ((i + 1) % around * across, (j + 1) % across);
        let (i, a, b) = (i * across, j, next_j);
        [[i + a, next_i + a, next_i + b], [i + a, next_i + b, i + b]]
    });
    TriMesh { positions: (0..around * across).map(position).collect(), triangles: triangles.collect() }
}
