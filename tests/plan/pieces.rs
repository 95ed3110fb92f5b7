//! Layers laid of pieces of sheet cakes: against areas and volumes by hand, and what is refused.

use cakefile::CakeFile;
use glam::dvec3;
use plan::{
    PlanError,
    findings::FindingCode,
    stack::{LaidPiece, laid_pieces, sheet_cakes},
};

use crate::{
    plans::{plan, planned},
    support::assert_close,
};

/// A letter L of strips 60 mm wide, 200 × 160 × 80 mm, out of two layers of pieces; `layers` in their place.
fn letter(layers: &str) -> String {
    format!(
        "crumbline = 1\nname = \"L\"\n[[shape.sections.at]]\nheight = 0\noutline = {{ points = {OUTLINE} }}\n\
         [[shape.sections.at]]\nheight = 80\noutline = {{ points = {OUTLINE} }}\n[[tier]]\nname = \"body\"\n{layers}"
    )
}

const OUTLINE: &str = "[[-100, -80], [100, -80], [100, -20], [-40, -20], [-40, 80], [-100, 80]]";

/// An upright and a foot, 6 mm larger all round; the foot under the upright in the first layer, beside it in the second.
const LAYERS: &str = "[[tier.layer]]\npan = { rectangle = [\"13 in\", \"9 in\"] }\nheight = 40\npieces = [\n\
    { size = [212, 72], at = [0, -50] },\n{ size = [72, 100], at = [-70, 36] },\n]\n\
    [[tier.layer]]\npan = { rectangle = [\"13 in\", \"9 in\"] }\nheight = 40\npieces = [\n\
    { size = [172, 72], at = [-70, 0], turn = 90 },\n{ size = [140, 72], at = [36, -50] },\n]\n";

/// Area of the L: 200 × 60 + 60 × 100. Raw: 212 × 72 + 72 × 100 in either layer.
#[test]
fn volumes_are_those_by_hand() {
    let plan = plan(&letter(LAYERS));
    for slab in &plan.carving.slabs {
        assert_close("raw", slab.volumes.raw, (212.0 * 72.0 + 72.0 * 100.0) * 40.0, 1e-9);
        assert_close("kept", slab.volumes.kept, (200.0 * 60.0 + 60.0 * 100.0) * 40.0, 1e-6);
        assert!(slab.volumes.shortfall <= 1e-6 * slab.volumes.kept, "{:?}", slab.volumes);
        assert_close("spare", slab.spare.unwrap().least, 6.0, 1e-6);
    }
    let errors: Vec<_> = plan.findings.iter().filter(|f| f.code.is_of_stack()).collect();
    assert!(errors.is_empty(), "{errors:?}");
}

/// Under the join the knife meets no surface: from the middle of the corner of the L the nearest is its outer side, and
/// what lies in the notch lies outside.
#[test]
fn a_join_is_no_surface() {
    let plan = plan(&letter(LAYERS));
    // The join of the first layer lies at y = −14, from x = −106 to −34.
    assert_close("in the join", plan.stack.depth(dvec3(-70.0, -14.0, 20.0)), 36.0, 1e-9);
    assert_close("in the upright", plan.stack.depth(dvec3(-96.0, -14.0, 20.0)), 10.0, 1e-9);
    assert_close("in the notch", plan.stack.depth(dvec3(0.0, 6.0, 20.0)), -20.0, 1e-9);
}

/// 212 × 72 and 172 × 72 lie end to end in no pan of 330 mm; beside each other, and the others behind them, all fit in one.
#[test]
fn all_layers_share_their_sheet_cakes() {
    let plan = plan(&letter(LAYERS));
    let sheets = sheet_cakes(&plan.stack, &plan.pantry);
    assert_eq!(sheets.len(), 1, "{sheets:?}");
    let letters: Vec<String> = laid_pieces(&plan.stack).iter().map(LaidPiece::letter).collect();
    assert_eq!(letters, ["A", "B", "C", "D"]);
    let raw: f64 = plan.carving.slabs.iter().map(|slab| slab.volumes.raw).sum();
    assert_close("in pieces", sheets[0].used(&plan.stack), raw, 1e-9);
    assert_close("its height", sheets[0].height(&plan.stack), 40.0, 1e-9);
    // A bake of 40 mm split in two gives the same pieces for two layers of 20 mm.
    let low = LAYERS.replace("height = 40", "height = 20");
    let layer = low.split_once("\n]\n").unwrap().0.to_owned() + "\n]\n";
    let four = plan_of(&[layer.as_str(); 4].concat());
    let sheets = sheet_cakes(&four.stack, &four.pantry);
    assert_eq!(sheets.len(), 1);
    assert!(sheets[0].pieces.iter().all(|place| place.pieces.len() == 2), "{sheets:?}");
}

/// The uprights of both layers out of a pan of 200 mm, the feet out of the layers' own: a sheet cake of each. Every piece keeps
/// its letter, and what is in pieces is what lies in the layers.
#[test]
fn pieces_of_one_layer_may_come_from_two_pans() {
    let own = ", pan = { square = 200 }";
    let layers = LAYERS
        .replace("at = [-70, 36] }", &format!("at = [-70, 36]{own} }}"))
        .replace("turn = 90 }", &format!("turn = 90{own} }}"));
    let plan = plan_of(&layers);
    let sheets = sheet_cakes(&plan.stack, &plan.pantry);
    let told: Vec<([f64; 2], Vec<String>)> = sheets
        .iter()
        .map(|sheet| {
            let mut letters: Vec<String> =
                sheet.pieces.iter().flat_map(|place| &place.pieces).map(LaidPiece::letter).collect();
            letters.sort();
            (sheet.pan, letters)
        })
        .collect();
    let letters = |all: [&str; 2]| all.map(str::to_owned).to_vec();
    assert_eq!(told, [([330.2, 228.6], letters(["A", "D"])), ([200.0, 200.0], letters(["B", "C"]))]);
    let raw: f64 = plan.carving.slabs.iter().map(|slab| slab.volumes.raw).sum();
    let used: f64 = sheets.iter().map(|sheet| sheet.used(&plan.stack)).sum();
    assert_close("in pieces", used, raw, 1e-9);
}

fn plan_of(layers: &str) -> plan::Plan {
    plan(&letter(layers))
}

/// The cuts of both layers 14 mm apart, or in one line, are told; staggered ones are not.
#[test]
fn joins_in_line_are_a_note() {
    let in_line = |layers: &str| {
        let plan = plan_of(layers);
        let found = plan.findings.iter().filter(|f| f.code == FindingCode::JoinsInLine).count();
        (found, plan.has_errors())
    };
    assert_eq!(in_line(LAYERS), (0, false));
    let first = LAYERS.split_once("\n]\n").unwrap().0;
    let twice = format!("{first}\n]\n{first}\n]\n");
    assert_eq!(in_line(&twice), (1, false));
}

/// Each with the place and the fix, all in one pass.
#[test]
fn bad_pieces_are_refused_with_place_and_fix() {
    let cases = [
        ("size = [140, 72]", "size = [140, 72000]", "tier[0].layer[1].pieces[1].size[1]", "check the unit"),
        ("size = [212, 72]", "size = [340, 72]", "tier[0].layer[0].pieces[0].size", "larger pan"),
        ("at = [-70, 36]", "at = [-70, 30]", "tier[0].layer[0].pieces[1]", "side by side"),
        ("size = [72, 100]", "size = [0, 100]", "tier[0].layer[0].pieces[1].size[0]", "above zero"),
        (
            "rectangle = [\"13 in\", \"9 in\"]",
            "round = \"9 in\"",
            "tier[0].layer[0].pan",
            "leave `pieces` out",
        ),
        ("rectangle = [\"13 in\", \"9 in\"]", "half_ball = \"9 in\"", "tier[0].layer[0].pan", "rectangle"),
        // A piece out of a pan of its own.
        (
            "at = [-70, 36]",
            "at = [-70, 36], pan = { square = 90 }",
            "tier[0].layer[0].pieces[1].size",
            "the piece a larger",
        ),
        (
            "at = [-70, 36]",
            "at = [-70, 36], pan = { round = 200 }",
            "tier[0].layer[0].pieces[1].pan",
            "pan of the layer",
        ),
    ];
    for (from, to, place, fix) in cases {
        let text = letter(&LAYERS.replacen(from, to, 1));
        assert_ne!(text, letter(LAYERS), "{from}");
        let Err(PlanError::CakeFile(error)) = planned(&CakeFile::from_text("test", "", &text)) else {
            panic!("{to} is taken");
        };
        let found = error.problems().iter().find(|d| d.path.to_string() == place);
        let found = found.unwrap_or_else(|| panic!("{to}: {:?}", error.problems()));
        let told = format!("{} {}", found.message, found.help.clone().unwrap_or_default());
        assert!(told.contains(fix), "{to}: {told}");
    }
}

/// Two pieces that lie a fortieth of a millimetre over one another, and hold all of a turned shape: no more than the shape
/// is kept, π · 60² · 40 mm³ by hand.
#[test]
fn pieces_a_little_over_one_another_keep_no_more_than_the_shape() {
    let text = "crumbline = 2\nname = \"Drum\"\nunit = \"mm\"\n[shape.turned]\npoints = [[60, 0], [60, 40], [0, 40]]\n\
        [[tier]]\nname = \"body\"\n[[tier.layer]]\npan = { rectangle = [330, 230] }\nheight = 40\npieces = [\n\
        { size = [70.025, 140], at = [-35, 0] },\n{ size = [70.025, 140], at = [35, 0] },\n]\n";
    let plan = plan(text);
    let volumes = plan.carving.slabs[0].volumes;
    assert_close("kept", volumes.kept, std::f64::consts::PI * 3600.0 * 40.0, 1e-6);
    assert!(volumes.shortfall < 1.0, "{volumes:?}");
    assert_close("carved", plan.carving.carved, volumes.kept + plan.carving.shortfall(), 1e-9);
}
