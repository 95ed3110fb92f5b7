//! Whole models to files: the format by the ending, parts that belong together, progress.

use std::{fs, path::Path, sync::Mutex};

use formats::{
    export::{ExportError, Format, write_model, write_stl},
    model::Model,
};
use geom::progress::{NoProgress, Progress};

use crate::models::small_cake;

fn files_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name().into_string().expect("plain names"))
        .collect();
    names.sort();
    names
}

#[test]
fn the_ending_chooses_the_format_in_capitals_or_not() {
    assert_eq!(Format::of(Path::new("a/cake.stl")).unwrap(), Format::Stl);
    assert_eq!(Format::of(Path::new("cake.v2.OBJ")).unwrap(), Format::Obj);
    assert_eq!(Format::of(Path::new("cake.Glb")).unwrap(), Format::Glb);
    assert_eq!(Format::of(Path::new("cake.usdz")).unwrap(), Format::Usdz);
    for unknown in ["cake", "cake.", "cake.step", "folder.stl/cake", ".stl"] {
        let error = Format::of(Path::new(unknown)).unwrap_err();
        assert!(error.to_string().contains(".stl, .obj, .glb or .usdz"), "{error}");
    }
}

#[test]
fn an_obj_comes_with_the_mtl_it_names() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("out/My cake 1.obj");
    let written = write_model(&small_cake(), &path, &NoProgress).unwrap();
    assert_eq!(written, [path.with_file_name("My_cake_1.mtl"), path.clone()]);
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.lines().any(|line| line == "mtllib My_cake_1.mtl"));
    assert_eq!(files_in(&folder.path().join("out")), ["My cake 1.obj", "My_cake_1.mtl"]);
}

#[test]
fn an_stl_of_a_model_holds_every_part() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cake.stl");
    let cake = small_cake();
    assert_eq!(write_model(&cake, &path, &NoProgress).unwrap(), std::slice::from_ref(&path));
    let facets: usize = cake.parts.iter().map(|part| part.mesh.len()).sum();
    assert_eq!(fs::read(&path).unwrap().len(), 84 + 50 * facets);
}

#[test]
fn a_part_that_is_no_solid_is_named_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let mut cake = small_cake();
    cake.parts[2].mesh.triangles.pop();
    for name in ["sub/cake.stl", "sub/cake.obj", "sub/cake.glb", "sub/cake.usdz"] {
        let error = write_model(&cake, &folder.path().join(name), &NoProgress).unwrap_err();
        assert!(matches!(&error, ExportError::NotSolid { part, .. } if part == "layer 2"), "{error}");
    }
    let open = &cake.parts[2].mesh;
    assert!(write_stl(&[open], "open", &folder.path().join("open.stl")).is_err());
    assert!(files_in(folder.path()).is_empty());
}

#[test]
fn a_model_without_parts_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let error = write_model(&Model::default(), &folder.path().join("none.obj"), &NoProgress).unwrap_err();
    assert!(matches!(error, ExportError::Empty { .. }));
}

/// Remembers what it hears.
#[derive(Default)]
struct Heard(Mutex<Vec<String>>);

impl Heard {
    fn note(&self, what: String) {
        self.0.lock().unwrap().push(what);
    }
}

impl Progress for Heard {
    fn start(&self, what: &str, steps: u64) {
        self.note(format!("{what}: {steps}"));
    }

    fn step(&self, done: u64) {
        self.note(done.to_string());
    }

    fn finish(&self) {
        self.note("done".to_owned());
    }
}

#[test]
fn progress_is_told_part_by_part() {
    let folder = tempfile::tempdir().unwrap();
    let heard = Heard::default();
    write_model(&small_cake(), &folder.path().join("cake.stl"), &heard).unwrap();
    let expected = ["checking solids: 4", "1", "2", "3", "4", "done", "writing: 1", "1", "done"];
    assert_eq!(*heard.0.lock().unwrap(), expected);
}
