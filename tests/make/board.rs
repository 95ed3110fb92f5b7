//! The dressed presentation board: its solids against Pappus's theorem, its heights, and where it may stand in a file.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI, TAU};

use cakefile::CakeFile;
use formats::model::{PartKind, Stage};
use make::{language::Language, sheets, solids};
use plan::{Plan, PlanError, extent::Load};

use crate::{
    plans::{plan, planned},
    support::assert_close,
};

/// A cylinder 160 mm across on a board that is written as given.
fn on(board: &str) -> String {
    format!(
        "crumbline = 2\nname = \"round\"\n[shape.turned]\npoints = [[80, 0], [80, 100]]\n[limits]\nspare = 0\n\
         [accuracy]\npreview = 0.01\n[board]\n{board}\n[[tier]]\nname = \"one\"\n\
         [[tier.layer]]\npan = {{ round = 180 }}\nheight = 100\n"
    )
}

fn solid(plan: &Plan, kind: PartKind) -> Option<geom::TriMesh> {
    let model = solids::model(plan, plan.design.preview).unwrap();
    assert!(model.parts.iter().all(|part| part.mesh.check().is_ok()));
    let of_board = model.parts.into_iter().filter(|part| part.kind.is_of_presentation_board());
    of_board
        .inspect(|part| assert!(Stage::Raw.shows(part.kind)))
        .find(|part| part.kind == kind)
        .map(|p| p.mesh)
}

/// What a rounded edge of radius 1 takes off the section: a square less a quarter disc, drawn with five chords.
fn spandrel() -> f64 {
    1.0 - 5.0 / 2.0 * (FRAC_PI_2 / 5.0).sin()
}

#[test]
fn the_icing_on_a_round_board_holds_what_pappus_says() {
    let plan = plan(&on("round = 300\nthickness = 12\nicing = { thickness = 4 }\nribbon = {}"));
    let (radius, rounded) = (150.0, 2.0);
    let icing = solid(&plan, PartKind::BoardIcing).unwrap();
    // The centroid of the square less its quarter disc lies (10 − 3π) / (12 − 3π) of the radius from the corner
    // (handbook tables of plane sections: quarter-circular spandrel, from memory).
    let from_corner = rounded * (10.0 - 3.0 * PI) / (12.0 - 3.0 * PI);
    let off = TAU * (radius - from_corner) * spandrel() * rounded * rounded;
    assert_close("icing", icing.volume(), PI * radius * radius * 4.0 - off, 3e-4);
    let (low, high) = icing.bounds().unwrap();
    assert_eq!((low.z, high.z), (-4.0, 0.0), "height 0 is the top of the icing");
    let board = solid(&plan, PartKind::PresentationBoard).unwrap().bounds().unwrap();
    assert_eq!((board.0.z, board.1.z), (-16.0, -4.0));
    let ribbon = solid(&plan, PartKind::Ribbon).unwrap();
    let (low, high) = ribbon.bounds().unwrap();
    assert_eq!(
        (low.z, high.z),
        (-16.0, -2.0),
        "15 mm unless said otherwise, but no higher than the edge is upright"
    );
    assert_close("ribbon", ribbon.volume(), PI * (150.4 * 150.4 - 150.0 * 150.0) * 14.0, 2e-2);
    assert_eq!(Load::of(&plan).height, 116.0);
}

#[test]
fn the_icing_on_a_square_board_is_rounded_on_all_sides() {
    let plan = plan(&on("rectangle = [300, 260]\nthickness = 12\nicing = { thickness = 2 }"));
    let icing = solid(&plan, PartKind::BoardIcing).unwrap();
    // Of a width less twice what is rounded off: the integral of (w − 2x)(d − 2x) over the height, x in and out along a
    // quarter circle of radius 2.
    let whole = 300.0 * 260.0 * 2.0;
    let off = 2.0 * (300.0 + 260.0) * (1.0 - FRAC_PI_4) * 4.0 - 4.0 * 8.0 * (5.0 / 3.0 - FRAC_PI_2);
    assert_close("icing", icing.volume(), whole - off, 5e-4);
    assert!(solid(&plan, PartKind::Ribbon).is_none());
}

#[test]
fn a_bare_board_has_its_top_at_height_0() {
    let plan = plan(&on("round = 300\nthickness = 12"));
    let (low, high) = solid(&plan, PartKind::PresentationBoard).unwrap().bounds().unwrap();
    assert_eq!((low.z, high.z), (-12.0, 0.0));
    assert!(solid(&plan, PartKind::BoardIcing).is_none());
}

#[test]
fn icing_weighs_what_it_holds() {
    let [bare, iced] =
        ["", "icing = {}"].map(|more| plan(&on(&format!("round = 300\nthickness = 12\n{more}"))));
    let board = iced.design.board.as_ref().unwrap();
    let icing = board.icing.as_ref().unwrap().material.density * PI * 15.0 * 15.0 * 0.3;
    let lighter = bare.design.board.as_ref().unwrap().mass();
    assert_close("mass of the board", board.mass() - lighter, icing, 1e-9);
}

#[test]
fn the_board_is_iced_first_and_the_ribbon_comes_last() {
    let plan = plan(&on(
        "round = 300\nthickness = 12\nicing = { material = \"marzipan\" }\nribbon = { width = 10 }",
    ));
    for (code, words) in [
        ("en", ["ice the presentation board", "Chill the stack", "Last of all the ribbon"]),
        ("de", ["die Tortenplatte eindecken", "Den Stapel kühlen", "Ganz zuletzt das Band"]),
    ] {
        let language = Language::shipped(code).unwrap();
        let files = sheets::cutting_sheet(&plan, &plan.design.paper, &language).unwrap();
        let text = String::from_utf8(files[1].bytes.clone()).unwrap();
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let places = words.map(|word| text.find(word).unwrap_or_else(|| panic!("{word}: {text}")));
        assert!(places.is_sorted(), "{code}: {places:?}");
        // 300 mm with 25 mm all round; π × 300 mm with 20 mm to spare.
        assert!(text[places[0]..].contains("350 mm") && text[places[2]..].contains("962 mm"), "{text}");
    }
}

#[test]
fn only_the_presentation_board_is_dressed() {
    let written = on("round = 300\nthickness = 3\nribbon = { width = 15 }").replace(
        "name = \"one\"\n",
        "name = \"one\"\nboard = { round = 120, thickness = 3, icing = {}, ribbon = {} }\n",
    );
    let refused = match planned(&CakeFile::from_text("x", "", written.clone())) {
        Err(PlanError::CakeFile(error)) => error.render(false),
        other => panic!("{other:?}"),
    };
    assert!(refused.contains("`icing` belongs to the presentation board"), "{refused}");
    assert!(refused.contains("`ribbon` belongs to the presentation board"), "{refused}");
    let sound = plan(&written.replace(", icing = {}, ribbon = {}", ""));
    let found = sound.findings.iter().find(|found| found.message.contains("stands up over the edge"));
    assert!(found.is_some(), "a ribbon of 15 mm round a board of 3 mm: {:?}", sound.findings);
}
