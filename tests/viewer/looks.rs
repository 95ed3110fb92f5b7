//! Draws cakes in every way, to be looked at: the pictures lie in the target folder's `tmp`.
//!
//! They are small drafts unless `CRUMBLINE_LOOKS` is set: it picks some of them by name, separated by
//! commas, or `all`, and draws those at full size.

use std::{path::PathBuf, time::Instant};

use crumbline::{
    model::Model,
    viewer::{
        CakeFileSource, CakeSource, Ground, Lens, PictureOptions, Section, Showing, Stage, Studio, View,
        animate,
    },
};

use crate::toadstool::toadstool;

fn wanted(name: &str) -> bool {
    let names = std::env::var("CRUMBLINE_LOOKS").unwrap_or_default();
    names.is_empty() || names == "all" || names.split(',').any(|n| n == name)
}

/// At the size asked for when somebody looks, and otherwise as a draft.
fn sized(options: &PictureOptions) -> PictureOptions {
    match std::env::var_os("CRUMBLINE_LOOKS") {
        Some(_) => options.clone(),
        None => PictureOptions { size: (320, 240), takes: 2, ..options.clone() },
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
    assert_eq!(picture.image.dimensions(), options.size);
    let first = picture.image.get_pixel(0, 0);
    assert!(picture.image.pixels().any(|p| p != first), "{name} is empty");
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
        ("half-carved", with(at(Stage::Way(0.2)))),
        ("half-covered", with(at(Stage::Way(0.85)))),
        ("section", with(Showing { section: Some(Section::Bearing(0.0)), ..at(Stage::Finished) })),
        ("section-carved", with(Showing { section: Some(Section::Bearing(60.0)), ..at(Stage::Carved) })),
        ("level", with(Showing { section: Some(Section::Height(165.0)), ..at(Stage::Carved) })),
        ("apart", with(Showing { pull_apart: 40.0, ghost: false, ..at(Stage::Carved) })),
        ("top", PictureOptions { view: View::Top, ..straight }),
        ("clear", PictureOptions { ground: Ground::Transparent, legend: false, ..plain.clone() }),
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
        let cake = CakeFileSource::new(file).load().unwrap_or_else(|e| panic!("{name}: {e}"));
        for (stage, section) in
            [(Stage::Raw, None), (Stage::Carved, None), (Stage::Finished, None), (Stage::Finished, Some(0.0))]
        {
            let cut = if section.is_some() { "-section" } else { "" };
            let name = format!("{name}-{stage}{cut}");
            if wanted(&name) {
                let section = section.map(Section::Bearing);
                draw(&mut studio, &cake.model, &name, &with(Showing { section, ..at(stage) }));
            }
            drawn += 1;
        }
    }
    assert!(drawn >= 12, "only {drawn} pictures of examples");
}

#[test]
fn a_contact_sheet_shows_every_stage_from_every_side() {
    if !wanted("sheet") {
        return;
    }
    let mut studio = Studio::open().unwrap();
    let options = PictureOptions {
        size: if std::env::var_os("CRUMBLINE_LOOKS").is_some() { (1600, 1000) } else { (800, 500) },
        takes: 4,
        ..PictureOptions::default()
    };
    let (sheet, _) = studio.contact_sheet(&toadstool(), &options).unwrap();
    sheet.save(kept_at("sheet.png")).unwrap();
    assert_eq!(sheet.dimensions(), options.size);
    let narrow = PictureOptions { size: (500, 400), ..options };
    assert!(studio.contact_sheet(&toadstool(), &narrow).unwrap_err().to_string().contains("640x480"));
}

#[test]
fn a_turntable_turns_once_round_at_one_scale() {
    let mut studio = Studio::open().unwrap();
    let options = PictureOptions { size: (240, 200), takes: 4, legend: false, ..PictureOptions::default() };
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
    assert!(pictures.windows(2).all(|pair| pair[0] != pair[1]), "the cake stood still");
    let film = animate(pictures, 120).unwrap();
    std::fs::write(kept_at("turntable.gif"), &film).unwrap();
    assert!(film.starts_with(b"GIF89a"));
    assert!(studio.turntable(&toadstool(), &options, 1, |_, _| Ok(())).is_err());
}
