//! Measures what a cut-away shows: where the knife's line runs, how deep the knife goes into each layer at half its height,
//! and how much of it goes.

use std::collections::HashSet;

use glam::{DVec2, DVec3, dvec2};

use super::{
    Pose, Scene,
    compose::{CarveNotes, LayerNote, label_width},
    scene::Look,
};
use formats::model::{Model, PartKind};

/// Less than this is not carved, mm.
const NOTHING: f64 = 0.5;
/// Points nearer than this are at one height, mm.
const LEVEL: f64 = 1e-3;

/// What is drawn over the cut-away `scene` of `model`, in a picture of this size seen from `pose`; `None` where nothing is
/// cut away, or the cut is not seen square.
pub fn carve_notes(model: &Model, scene: &Scene, pose: &Pose, size: (u32, u32)) -> Option<CarveNotes> {
    if !scene.offcut || scene.finished_line.is_empty() && !has_caps(scene) {
        return None;
    }
    let at = |p: DVec3| pose.project(p, size);
    let line = |[from, to]: [DVec3; 2]| [at(from), at(to)];
    let right = pose.up.cross((pose.eye - pose.target).normalize());
    let mut notes = CarveNotes {
        finished: scene.finished_line.iter().copied().map(line).collect(),
        ..CarveNotes::default()
    };
    let style = scene.style();
    let u = f64::from(size.1) / 1000.0;
    for layer in &model.layers {
        let (kept, off) = (
            outline(model, scene, layer.index, PartKind::Kept),
            outline(model, scene, layer.index, PartKind::Offcut),
        );
        let raw =
            model.parts.iter().find(|part| part.kind == PartKind::RawLayer && part.index == layer.index)?;
        let (low, high) = raw.mesh.bounds()?;
        let is_joint = |[from, to]: &[DVec3; 2]| {
            [low.z, high.z].iter().any(|z| (from.z - z).abs() < LEVEL && (to.z - z).abs() < LEVEL)
        };
        for edge in &kept {
            if is_joint(edge) { &mut notes.joints } else { &mut notes.carved }.push(line(*edge));
        }
        let cut: HashSet<_> = kept.iter().map(place_of).collect();
        notes.raw.extend(off.iter().filter(|edge| !cut.contains(&place_of(edge))).map(|edge| line(*edge)));
        let middle = (low.z + high.z) / 2.0;
        let furthest = |edges: &[[DVec3; 2]]| crossings(edges, middle, right).reduce(f64::max);
        let inner = furthest(&kept);
        let outer = furthest(&off).into_iter().chain(inner).reduce(f64::max);
        let depth =
            inner.zip(outer).filter(|(inner, outer)| outer - inner > NOTHING).map(|(inner, outer)| {
                let place = |x: f64| at(right * x + DVec3::Z * middle + across(&kept, right));
                ([place(inner), place(outer)], style.length_alone(outer - inner))
            });
        let share = if layer.raw > 0.0 { layer.offcut / layer.raw * 100.0 } else { 0.0 };
        let goes = if layer.offcut > 0.0 {
            format!("{} offcut, {share:.0} %", style.volume_alone(layer.offcut))
        } else {
            "no offcut".to_owned()
        };
        let y = at(DVec3::Z * middle).y;
        notes.layers.push(LayerNote { depth, at: dvec2(0.0, y), words: [layer.name.clone(), goes] });
    }
    // Words stand right of all cake and of all labels.
    let label_end = |layer: &LayerNote| {
        let ([inner, outer], words) = layer.depth.as_ref()?;
        Some((inner.x + outer.x + f64::from(label_width(words, u as f32))) / 2.0)
    };
    let ends = notes.layers.iter().filter_map(label_end);
    let words_at = ends.fold(words_from(scene, &at), f64::max) + 24.0 * u;
    notes.layers.iter_mut().for_each(|layer| layer.at.x = words_at);
    apart(&mut notes.layers, 56.0 * u);
    Some(notes)
}

fn has_caps(scene: &Scene) -> bool {
    scene.pieces.iter().any(|piece| piece.surface.cap.iter().any(|cap| *cap))
}

/// The edges of a layer's cut faces, mm.
fn outline(model: &Model, scene: &Scene, layer: usize, kind: PartKind) -> Vec<[DVec3; 2]> {
    let of_layer = scene.pieces.iter().filter(|piece| {
        let part = &model.parts[piece.part];
        part.kind == kind && part.index == layer && piece.look != Look::Ghost
    });
    of_layer.flat_map(|piece| piece.surface.cap_outline()).collect()
}

/// Where an edge lies, whichever way it runs, in steps of [`LEVEL`].
fn place_of(edge: &[DVec3; 2]) -> [[i64; 3]; 2] {
    let mut ends = edge.map(|p| (p / LEVEL).round().to_array().map(|step| step as i64));
    ends.sort_unstable();
    ends
}

/// Where edges cross a height, mm to the right of the axis.
fn crossings(edges: &[[DVec3; 2]], height: f64, right: DVec3) -> impl Iterator<Item = f64> {
    edges.iter().filter_map(move |[from, to]| {
        let (a, b) = (from.z - height, to.z - height);
        if (a > 0.0) == (b > 0.0) {
            return None;
        }
        Some(from.lerp(*to, a / (a - b)).dot(right))
    })
}

/// The part of the cut's place that is square to the picture, mm.
fn across(edges: &[[DVec3; 2]], right: DVec3) -> DVec3 {
    edges.first().map_or(DVec3::ZERO, |[from, _]| {
        let level = from.truncate().extend(0.0);
        level - right * level.dot(right)
    })
}

/// Where words about layers begin, pixels: right of all cake.
fn words_from(scene: &Scene, at: &impl Fn(DVec3) -> DVec2) -> f64 {
    let of_cake =
        scene.pieces.iter().filter(|piece| matches!(piece.look, Look::Crumb | Look::Offcut | Look::Filling));
    let points = of_cake.flat_map(|piece| &piece.surface.mesh.positions);
    points.map(|p| at(*p).x).fold(0.0, f64::max)
}

/// Moves words apart that would lie on one another; they are given from the bottom up, `room` is what each takes.
fn apart(layers: &mut [LayerNote], room: f64) {
    for i in 1..layers.len() {
        let highest = layers[i - 1].at.y - room;
        layers[i].at.y = layers[i].at.y.min(highest);
    }
}
