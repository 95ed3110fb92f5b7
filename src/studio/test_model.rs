//! A small model for tests.

use formats::model::{Model, Part, PartKind, Rgb};
use geom::{Region, revolve::revolve};

/// A cake of one layer of 200 mm, 40 mm high, that is carved to 100 mm; nothing else.
pub fn one_layer() -> Model {
    let part = |name: &str, kind, radius: f64| {
        let points = [[0.0, 0.0], [radius, 0.0], [radius, 40.0], [0.0, 40.0]];
        let mesh = revolve(&Region::from_simple(points.map(glam::DVec2::from).to_vec()), 24);
        let shave_depth = if kind == PartKind::Kept { vec![50.0; mesh.positions.len()] } else { Vec::new() };
        let (material, colour) = ("sponge".into(), Rgb(232, 196, 128));
        Part { name: name.into(), kind, index: 0, material, colour, tints: Vec::new(), mesh, shave_depth }
    };
    let parts = vec![part("raw", PartKind::RawLayer, 100.0), part("layer", PartKind::Kept, 50.0)];
    Model { parts, ..Model::default() }
}
