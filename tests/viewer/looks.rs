//! Draws cakes in every way and checks that the right piece is where it has to be, in its colour. The pictures
//! are kept in the target folder's `tmp`, to be looked at.
//!
//! They are small drafts unless `CRUMBLINE_LOOKS` is set: it picks some of them by name, separated by
//! commas, or `all`, and draws those at full size.

use std::{path::PathBuf, sync::Arc, time::Instant};

use crumbline::{
    cakefile::world::Disk,
    geom::Cancel,
    model::{Model, Part, PartKind, Rgb},
    viewer::{
        Background, CakeFileSource, CakeSource, Lens, PictureOptions, Section, Showing, Stage, Studio, View,
        animate, build_scene,
    },
};

use crate::{
    expected::{Expected, is_grey},
    golden::mean_difference,
    toadstool::toadstool,
};

fn wanted(name: &str) -> bool {
    let names = std::env::var("CRUMBLINE_LOOKS").unwrap_or_default();
    names.is_empty() || names == "all" || names.split(',').any(|n| n == name)
}

/// At the full size when pictures are picked by name, and otherwise as a draft.
fn sized(options: &PictureOptions) -> PictureOptions {
    match std::env::var_os("CRUMBLINE_LOOKS") {
        Some(_) => options.clone(),
        None => PictureOptions { size: (320, 240), samples: 2, ..options.clone() },
    }
}

fn kept_at(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name)
}

fn draw(studio: &mut Studio, model: &Model, name: &str, options: &PictureOptions) {
    let start = Instant::now();
    let options = &sized(options);
    let picture = studio.picture(model, options).unwrap_or_else(|e| panic!("{name}: {e}"));
    picture.image.save(kept_at(&format!("{name}.png"))).unwrap();
    eprintln!("{name}: {:.1} s", start.elapsed().as_secs_f64());
    let scene = build_scene(model, &options.showing).unwrap();
    let expected = Expected::of(&scene, &picture.pose, options.size);
    // The legend is beside the cake, its colours with it.
    let legend =
        if options.legend { options.size.0 - (0.27 * f64::from(options.size.1)) as u32 } else { u32::MAX };
    expected.agreement(&picture.image, |x, _| x >= legend).assert(name);
}

fn at(stage: Stage) -> Showing {
    Showing { stage, ..Showing::default() }
}

fn with(showing: Showing) -> PictureOptions {
    PictureOptions { showing, ..PictureOptions::default() }
}

#[test]
fn every_kind_of_picture_can_be_drawn() {
    let model = toadstool();
    for part in &model.parts {
        part.mesh.check().unwrap_or_else(|e| panic!("{}: {e}", part.name));
    }
    let mut studio = Studio::open().expect("a driver, if only on the processor");
    let plain = PictureOptions::default();
    let straight = PictureOptions { view: View::Front, lens: Lens::Orthographic, ..plain.clone() };
    let pictures = [
        ("carved", plain.clone()),
        ("front", straight.clone()),
        ("raw", with(at(Stage::Raw))),
        ("coated", with(at(Stage::Coated))),
        ("finished", with(at(Stage::Finished))),
        ("half-carved", with(at(Stage::Fraction(0.2)))),
        ("half-covered", with(at(Stage::Fraction(0.85)))),
        ("section", with(Showing { section: Some(Section::Bearing(0.0)), ..at(Stage::Finished) })),
        ("section-carved", with(Showing { section: Some(Section::Bearing(60.0)), ..at(Stage::Carved) })),
        ("level", with(Showing { section: Some(Section::Height(165.0)), ..at(Stage::Carved) })),
        ("apart", with(Showing { pull_apart: 40.0, ghost: false, ..at(Stage::Carved) })),
        ("top", PictureOptions { view: View::Top, ..straight }),
        ("clear", PictureOptions { background: Background::Transparent, legend: false, ..plain.clone() }),
    ];
    for (name, options) in pictures.iter().filter(|(name, _)| wanted(name)) {
        draw(&mut studio, &model, name, options);
    }
}

#[test]
fn the_shipped_examples_can_be_drawn() {
    let examples = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("assets/examples");
    let mut studio = Studio::open().expect("a driver, if only on the processor");
    let mut drawn = 0;
    for folder in std::fs::read_dir(examples).unwrap() {
        let folder = folder.unwrap().path();
        if !folder.is_dir() {
            // A pantry that several examples share.
            continue;
        }
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        let file = std::fs::read_dir(&folder).unwrap().map(|f| f.unwrap().path());
        let file = file.into_iter().find(|f| f.extension().is_some_and(|e| e == "toml")).unwrap();
        let cake = CakeFileSource::new(Arc::new(Disk::new()), &file, None)
            .load(&Cancel::new())
            .unwrap_or_else(|e| panic!("{name}: {e}"));
        for (stage, section) in
            [(Stage::Raw, None), (Stage::Carved, None), (Stage::Finished, None), (Stage::Finished, Some(0.0))]
        {
            let cut = if section.is_some() { "-section" } else { "" };
            let name = format!("{name}-{stage}{cut}");
            // White icing cannot be told from the light ground by its colour: it is held to where something is.
            let is_white = |part: &Part| {
                let Rgb(r, g, b) = part.colour;
                part.kind == PartKind::Finished && r.min(g).min(b) > 225
            };
            let is_white = stage == Stage::Finished && cake.model.parts.iter().any(is_white);
            if wanted(&name) {
                let section = section.map(Section::Bearing);
                let background = if is_white { Background::Transparent } else { Background::Plain };
                let options = PictureOptions { background, ..with(Showing { section, ..at(stage) }) };
                draw(&mut studio, &cake.model, &name, &options);
            }
            drawn += 1;
        }
    }
    assert_eq!(drawn, 7 * 4, "seven examples, four pictures each");
}

#[test]
fn a_contact_sheet_shows_every_stage_from_every_side() {
    if !wanted("sheet") {
        return;
    }
    let mut studio = Studio::open().unwrap();
    let options = PictureOptions {
        size: if std::env::var_os("CRUMBLINE_LOOKS").is_some() { (1600, 1000) } else { (800, 500) },
        samples: 4,
        ..PictureOptions::default()
    };
    let (sheet, _) = studio.contact_sheet(&toadstool(), &options).unwrap();
    sheet.save(kept_at("sheet.png")).unwrap();
    assert_eq!(sheet.dimensions(), options.size);
    // Twelve cells in what title, names and legend leave, each with cake in its middle.
    let (width, height) = (f64::from(options.size.0), f64::from(options.size.1));
    let (left, top) = (0.15 * height, 0.13 * height);
    let (cell_width, cell_height) =
        ((width - left - 0.27 * height) / 4.0, (height - top - 0.03 * height) / 3.0);
    for (row, column) in (0..3).flat_map(|row| (0..4).map(move |column| (row, column))) {
        let x = left + (f64::from(column) + 0.5) * cell_width;
        let y = top + (f64::from(row) + 0.5) * cell_height;
        // One of the spots on the cap is white: four places about the middle.
        let seen = [(-9, -9), (9, -9), (-9, 9), (9, 9)]
            .map(|(dx, dy)| sheet.get_pixel((x as i32 + dx) as u32, (y as i32 + dy) as u32).0);
        let coloured = seen.iter().filter(|pixel| !is_grey(**pixel)).count();
        assert!(coloured >= 2, "no cake in row {row}, column {column}: {seen:?}");
    }
    let narrow = PictureOptions { size: (500, 400), ..options };
    assert!(studio.contact_sheet(&toadstool(), &narrow).unwrap_err().to_string().contains("640x480"));
}

/// The model turned about its axis by so many degrees, counter-clockwise seen from above.
fn turned(model: &Model, degrees: f64) -> Model {
    let turn = glam::DQuat::from_rotation_z(degrees.to_radians());
    let mut model = Model { between: None, ..model.clone() };
    for p in model.parts.iter_mut().flat_map(|part| &mut part.mesh.positions) {
        *p = turn * *p;
    }
    model
}

#[test]
fn a_turntable_turns_once_round_at_one_scale() {
    let mut studio = Studio::open().unwrap();
    let options = PictureOptions { size: (240, 200), samples: 4, legend: false, ..PictureOptions::default() };
    let mut pictures = Vec::new();
    studio
        .turntable(
            &toadstool(),
            &PictureOptions { showing: at(Stage::Finished), ..options.clone() },
            6,
            |step, picture| {
                assert_eq!(step as usize, pictures.len());
                pictures.push(picture);
                Ok(())
            },
        )
        .unwrap();
    assert_eq!(pictures.len(), 6);
    // The eye went round by 60 degrees each: as if the cake had been turned the other way.
    for step in 0..pictures.len() {
        let turned = turned(&toadstool(), -60.0 * step as f64);
        let mut first = None;
        let options = PictureOptions { showing: at(Stage::Finished), ..options.clone() };
        let each = |number, image| {
            if number == 0 {
                first = Some(image);
            }
            Ok(())
        };
        studio.turntable(&turned, &options, 2, each).unwrap();
        // The lamp stands still while the eye goes round: the picture from the same side is the nearest of those
        // with the lamp elsewhere.
        let first = first.unwrap();
        let off: Vec<f64> = pictures.iter().map(|picture| mean_difference(&first, picture)).collect();
        let nearest = (1..off.len()).min_by(|a, b| off[*a].total_cmp(&off[*b])).unwrap();
        assert!(if step == 0 { off[0] < 0.5 } else { nearest == step }, "step {step}: {off:?}");
    }
    let off = mean_difference(&pictures[0], &pictures[3]);
    assert!(off > 1.0, "the cake looks alike from both sides: {off}");
    let film = animate(pictures, 120).unwrap();
    std::fs::write(kept_at("turntable.gif"), &film).unwrap();
    assert!(film.starts_with(b"GIF89a"));
    assert!(studio.turntable(&toadstool(), &options, 1, |_, _| Ok(())).is_err());
}
