//! A model to write.

// The tests of each member use their part of it.
#![allow(dead_code)]

use formats::model::{Model, Part, PartKind, Rgb};
use geom::TriMesh;
use glam::DVec3;

use crate::meshes::{cuboid, cylinder};

/// A part that is a layer of sponge.
pub fn part(name: &str, material: &str, colour: Rgb, mesh: TriMesh) -> Part {
    let material = material.to_owned();
    let (kind, index, shave_depth) = (PartKind::Kept, 0, Vec::new());
    Part { name: name.to_owned(), kind, index, material, colour, tints: Vec::new(), mesh, shave_depth }
}

/// A small cake: a board, two layers of one sponge, a box of icing on top.
pub fn small_cake() -> Model {
    let at = |z: f64| DVec3::Z * z;
    let sponge = Rgb(240, 214, 140);
    Model {
        name: "Small cake".to_owned(),
        parts: vec![
            part("board", "card", Rgb(200, 200, 205), cylinder(150.0, 4.0, 96).translated(at(-4.0))),
            part("layer 1", "sponge", sponge, cylinder(100.0, 40.0, 64)),
            part("layer 2", "sponge", sponge, cylinder(100.0, 40.0, 64).translated(at(40.0))),
            part("box", "icing", Rgb(255, 0, 51), cuboid(DVec3::new(60.0, 30.0, 20.0)).translated(at(80.0))),
        ],
        ..Model::default()
    }
}
