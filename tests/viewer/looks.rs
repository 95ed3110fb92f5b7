//! Draws the toadstool in every way, to be looked at.

use std::path::PathBuf;

use crumbline::viewer::{Ground, Lens, PictureOptions, Section, Showing, Stage, Studio, View};

use crate::toadstool::toadstool;

#[test]
fn every_kind_of_picture_can_be_drawn() {
    let model = toadstool();
    for part in &model.parts {
        part.mesh.check().unwrap_or_else(|e| panic!("{}: {e}", part.name));
    }
    let mut studio = Studio::open().expect("a driver, if only on the processor");
    let plain = PictureOptions::default();
    let with = |showing: Showing| PictureOptions { showing, ..plain.clone() };
    let at = |stage: Stage| Showing { stage, ..Showing::default() };
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
    let wanted = std::env::var("CRUMBLINE_LOOKS").unwrap_or_default();
    for (name, options) in
        pictures.iter().filter(|(name, _)| wanted.is_empty() || wanted.split(',').any(|w| w == *name))
    {
        let start = std::time::Instant::now();
        let picture = studio.picture(&model, options).unwrap_or_else(|e| panic!("{name}: {e}"));
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.png"));
        picture.image.save(&path).unwrap();
        eprintln!("{name}: {:?} {}", start.elapsed(), path.display());
    }
}
