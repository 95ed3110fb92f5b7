//! The offcut of a carved cake as it is shown: what a cut-away measures is what the plan says, what is lifted off is all that
//! goes, and nothing of it is on a picture of the finished cake.

use std::{path::Path, sync::Arc};

use crumbline::{
    cakefile::{
        CakeFile,
        world::{Disk, World},
    },
    formats::model::{Model, PartKind},
    geom::Tolerance,
    make::solids,
    plan::{Plan, Source},
    viewer::{
        Lens, Look, Margins, OffcutView, PictureOptions, Pose, Showing, Stage, Studio, View, build_scene,
        carve_notes, cut_away,
    },
};

/// The plan of an example.
fn example(name: &str) -> Plan {
    let file = format!("{}/assets/examples/{name}/{name}.cake.toml", env!("CARGO_MANIFEST_DIR"));
    let world: Arc<dyn World> = Arc::new(Disk::new());
    let cake = CakeFile::read(&*world, Path::new(&file)).unwrap();
    Plan::new(&Source::new(cake, world)).unwrap()
}

fn model(plan: &Plan) -> Model {
    solids::model_in_stages(plan, Tolerance::PREVIEW).unwrap()
}

fn showing(offcut: OffcutView) -> Showing {
    Showing { offcut, ..Showing::default() }
}

/// Source: the plan's own carved line and raw radii, at half the height of each layer, and its volumes.
#[test]
fn the_figures_of_a_cut_away_are_those_of_the_plan() {
    let plan = example("toadstool-house");
    let model = model(&plan);
    let scene = build_scene(&model, &showing(OffcutView::CutAway)).unwrap();
    assert_eq!(cut_away(&model).0, View::Front);
    let points = scene.pieces.iter().flat_map(|piece| piece.surface.mesh.positions.iter().copied());
    let margins = Margins { left: 0.1, right: 0.1, top: 0.1, bottom: 0.1 };
    let (size, lens) = ((1200, 900), Lens::Orthographic);
    let pose = Pose::framing(points, View::Front, lens, 4.0 / 3.0, margins);
    let notes = carve_notes(&model, &scene, &pose, size).unwrap();
    let mm_per_pixel = pose.height / f64::from(size.1);
    let style = plan.design.style;
    let carved = plan.lines.all().last().unwrap();
    let mut layers = 0;
    for ((index, slab), carving) in plan.stack.slabs.iter().enumerate().zip(&plan.carving.slabs) {
        let Some(volumes) = model.layers.iter().find(|layer| layer.index == index) else { continue };
        let note = notes.layers.iter().find(|note| note.words[0] == volumes.name).unwrap();
        let said = style.volume_alone(carving.volumes.offcut);
        assert!(note.words[1].starts_with(&format!("{said} offcut")), "{:?}: {said}", note.words);
        let share = (carving.volumes.offcut / carving.volumes.raw * 100.0).round();
        assert!(note.words[1].ends_with(&format!("{share:.0} %")), "{:?}: {share}", note.words);
        // The knife's line at half the height of the layer, and the raw layer's own radius.
        let height = (slab.bottom + slab.top) / 2.0;
        let crossing = carved.section.contours().iter().flat_map(|contour| {
            (0..contour.len()).filter_map(|i| {
                let (a, b) = (contour[i], contour[(i + 1) % contour.len()]);
                let (below, above) = (a.y - height, b.y - height);
                ((below > 0.0) != (above > 0.0)).then(|| a.lerp(b, below / (below - above)).x)
            })
        });
        let inner = crossing.fold(0.0, f64::max);
        let raw =
            model.parts.iter().find(|part| part.kind == PartKind::RawLayer && part.index == index).unwrap();
        let (low, high) = raw.mesh.bounds().unwrap();
        let outer = (high.x - low.x) / 2.0;
        let ([from, to], words) = note.depth.as_ref().expect("each layer of the toadstool is carved");
        assert!(
            ((to.x - from.x) * mm_per_pixel - (outer - inner)).abs() < 0.6,
            "{words}: {} mm",
            outer - inner
        );
        let told = [outer - inner - 0.5, outer - inner, outer - inner + 0.5].map(|mm| style.length_alone(mm));
        assert!(told.contains(words), "{words} instead of {}", told[1]);
        layers += 1;
    }
    assert_eq!(layers, notes.layers.len());
}

/// What is lifted away and what stays on the other half are together all that goes, whatever is lifted.
#[test]
fn half_and_half_shows_all_that_goes() {
    let plan = example("toadstool-house");
    let model = model(&plan);
    let all: f64 = model.layers.iter().map(|layer| layer.offcut).sum();
    for (carved_half, lifted) in [(100.0, 1.0), (0.0, 0.4), (233.0, 0.0)] {
        let scene =
            build_scene(&model, &Showing { carved_half, lifted, ..showing(OffcutView::Halves) }).unwrap();
        let of_offcut: Vec<_> = scene
            .pieces
            .iter()
            .filter(|piece| {
                model.parts[piece.part].kind == PartKind::Offcut && !piece.surface.mesh.is_empty()
            })
            .collect();
        // Lifted shells are whole solids; of the half as baked the cut faces are pieces of their own.
        let shown: f64 = of_offcut.iter().map(|piece| piece.surface.mesh.volume()).sum();
        assert!((shown / all - 1.0).abs() < 0.02, "{shown} of {all} mm³ at {carved_half}°");
        assert!(of_offcut.iter().any(|piece| piece.look == Look::Crumb));
        assert!(of_offcut.iter().any(|piece| piece.look == Look::Offcut));
    }
    let finished =
        build_scene(&model, &Showing { stage: Stage::Finished, ..showing(OffcutView::Halves) }).unwrap();
    assert!(!finished.offcut && finished.pieces.iter().all(|piece| piece.look != Look::Offcut));
}

#[test]
fn look_at_the_offcut_of_every_example() {
    let mut studio = Studio::open().unwrap();
    for name in ["toadstool-house", "garden-urn", "lopsided-bell", "pebble-lantern", "sitting-hen", "boulder"]
    {
        let plan = example(name);
        let model = model(&plan);
        for offcut in [OffcutView::CutAway, OffcutView::Halves] {
            let is_cut_away = offcut == OffcutView::CutAway;
            let options = PictureOptions {
                view: if is_cut_away { cut_away(&model).0 } else { View::ThreeQuarter },
                lens: if is_cut_away { Lens::Orthographic } else { Lens::Perspective },
                size: (800, 600),
                samples: 4,
                showing: showing(offcut),
                ..PictureOptions::default()
            };
            let picture = studio.picture(&model, &options).unwrap();
            let file = format!("{}/offcut-{offcut}-{name}.png", env!("CARGO_TARGET_TMPDIR"));
            picture.image.save(file).unwrap();
        }
    }
}
