//! Rolls: where each lies, how long it is, what it holds, and what is told of one that cannot lie so.
//!
//! Rings and tori are those of Pappus's theorems, arcs and helices those of any handbook. A roll lies off the surface by nine
//! tenths of its half thickness.

use std::f64::consts::PI;

use cakefile::{CakeFile, edit::Document};
use geom::uncancelled;
use plan::{
    Plan, PlanError,
    carve::{Body, add_solids},
    design::{Roll, Strand, Tool},
    rolls::PITCH,
};

use crate::{
    plans::{plan, planned},
    support::assert_close,
};

/// Half a thickness of 6 mm, less its tenth.
const OFF: f64 = 2.7;

const DRUM: &str = "[shape.turned]\npoints = [[100, 0], [100, 130], [0, 130]]\n";
/// A pot of radius 70 at its foot and 100 at its rim.
const POT: &str = "[shape.turned]\npoints = [[70, 0], [100, 130], [0, 130]]\n";
const BOX: &str = "[shape.crossed]\nheight_tolerance = 1\nfront = { points = [[-100, 0], [100, 0], [100, 130], [-100, 130]] }\n\
                   side = { points = [[-80, 0], [80, 0], [80, 130], [-80, 130]] }\n";

fn text(shape: &str, roll: &str, zones: &str) -> String {
    format!(
        "crumbline = 2\nname = \"rolls\"\naccuracy = {{ tool = 0.02 }}\n{shape}[[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
         {zones}[[covering]]\nmaterial = \"ganache\"\nthickness = 6\n[[tier]]\nname = \"only\"\n[[tier.layer]]\n\
         pan = {{ round = 280 }}\nheight = 130\n[[detail]]\nname = \"rope\"\nadd = \"icing\"\nroll = {{ {roll} }}\n"
    )
}

fn rolled(shape: &str, roll: &str) -> Plan {
    plan(&text(shape, roll, ""))
}

fn roll(plan: &Plan) -> &Roll {
    match &plan.design.details[0].tool {
        Tool::Roll(roll) => roll,
        other => panic!("{other:?}"),
    }
}

/// Radius and height of the only ring.
fn ring(plan: &Plan) -> (f64, f64) {
    match roll(plan).strands() {
        [Strand::Ring { radius, height, thick }] => {
            assert_eq!(*thick, 3.0);
            (*radius, *height)
        }
        other => panic!("{other:?}"),
    }
}

fn places(plan: &Plan) -> Vec<glam::DVec3> {
    roll(plan).places().map(|(p, _)| p).collect()
}

fn length(plan: &Plan) -> f64 {
    roll(plan).strands().iter().map(Strand::along).sum()
}

fn codes(plan: &Plan) -> Vec<&str> {
    let all = plan.findings.iter().map(|finding| finding.code.as_str());
    all.filter(|code| code.starts_with("roll") || code.starts_with("add") || code.starts_with("copies"))
        .collect()
}

/// The solid that is drawn and cut: the torus less what lies in the cake, a segment of its section (CRC Standard
/// Mathematical Tables) turned about the axis (Pappus).
#[test]
fn a_ring_round_a_drum_is_a_torus_less_its_flat() {
    let plan = rolled(DRUM, "along = { height = 40 }, diameter = 6");
    assert_eq!(ring(&plan), (100.0 + OFF, 40.0));
    assert_close("length", length(&plan), 2.0 * PI * (100.0 + OFF), 1e-12);
    // What is rolled is all on the cake.
    let rolled = plan.bulk.adds[0].as_ref().unwrap().amount;
    assert_close("rolled", rolled, PI * 9.0 * 2.0 * PI * (100.0 + OFF), 1e-9);
    let (r, d): (f64, f64) = (3.0, OFF);
    let flat = r * r * (d / r).acos() - d * (r * r - d * d).sqrt();
    let moment = 2.0 / 3.0 * (r * r - d * d).powf(1.5);
    let outside = 2.0 * PI * ((PI * r * r - flat) * (100.0 + d) + moment);
    let body = Body::plain(&plan.design, &plan.lines);
    let tolerance = plan.design.tool;
    let made = uncancelled(|cancel| add_solids(&plan.design, &plan.lines, &body, tolerance, cancel));
    let solid = made[0].as_ref().unwrap();
    solid.to_mesh().check().unwrap();
    assert_close("solid", solid.volume(), outside, 4e-3);
    assert!(codes(&plan).is_empty(), "{:?}", plan.findings);
}

#[test]
fn edges_of_a_pot_are_those_of_its_cone() {
    // The wall leans by its run over its rise; its normal is level less that lean.
    let slant = (30.0f64 * 30.0 + 130.0 * 130.0).sqrt();
    let out = (130.0 / slant, -30.0 / slant);
    let at = |z: f64| 70.0 + 30.0 * z / 130.0;
    let (radius, height) = ring(&rolled(POT, "along = { height = 50 }, diameter = 6"));
    assert_close("radius", radius, at(50.0) + OFF * out.0, 1e-6);
    assert_close("height", height, 50.0 + OFF * out.1, 1e-6);
    // The rim lies half way between the wall and the top.
    let (x, y) = (out.0, out.1 + 1.0);
    let half = (x * x + y * y).sqrt();
    let (radius, height) = ring(&rolled(POT, "along = { rim = true }, diameter = 6"));
    assert_close("radius of the rim", radius, 100.0 + OFF * x / half, 1e-6);
    assert_close("height of the rim", height, 130.0 + OFF * y / half, 1e-6);
    // At the foot it lies on the board, and touches the wall: its distance from the line of the wall is that of the normal.
    let (radius, height) = ring(&rolled(POT, "along = { foot = true }, diameter = 6"));
    assert_close("height of the foot", height, OFF, 1e-9);
    assert_close("distance from the wall", (radius - 70.0) * out.0 + height * out.1, OFF, 1e-6);
    let (radius, height) = ring(&rolled(POT, "along = { height = 50 }, diameter = 6, sunk = true"));
    assert!((radius - at(50.0)).abs() < 1e-9 && (height - 50.0).abs() < 1e-9);
}

#[test]
fn borders_of_zones_are_the_edges_that_they_end_at() {
    let zones = "[[covering.zone]]\nname = \"top\"\ntop = true\n[[covering.zone]]\nname = \"band\"\nbetween = [0, 30]\n\
                 colour = \"#663388\"\n[[covering.zone]]\nname = \"spot\"\noutline = { shape = { circle = 40 }, top = [20, 10] }\n\
                 [[covering.zone]]\nname = \"patch\"\noutline = { shape = { rectangle = [40, 30] }, height = 65, wrap = true }\n";
    let along = |zone: &str| plan(&text(DRUM, &format!("along = {{ {zone} }}, diameter = 6"), zones));
    let edge = |roll: &str| ring(&rolled(DRUM, &format!("along = {{ {roll} }}, diameter = 6")));
    assert_eq!(ring(&along("zone = \"band\"")), edge("height = 30"));
    assert_eq!(ring(&along("zone = \"band\", border = \"lower\"")), edge("foot = true"));
    assert_eq!(ring(&along("zone = \"top\"")), edge("rim = true"));
    // A circle on a level top, and a rectangle wrapped round the drum: as long as drawn, further out on the side.
    let spot = along("zone = \"spot\"");
    assert_close("round the spot", length(&spot), PI * 40.0, 2e-3);
    assert!(places(&spot).iter().all(|p| (p.z - 130.0 - OFF).abs() < 0.02), "{:?}", places(&spot));
    let patch = along("zone = \"patch\"");
    assert_close("round the patch", length(&patch), 2.0 * (40.0 * (100.0 + OFF) / 100.0 + 30.0), 0.02);
    let off = |p: &glam::DVec3| p.truncate().length() - 100.0;
    assert!(places(&patch).iter().all(|p| (off(p) - OFF).abs() < 0.03));
}

/// Part of a ring, with its ends.
#[test]
fn a_part_of_a_ring_is_an_arc_with_round_ends() {
    let plan = rolled(DRUM, "along = { height = 40 }, diameter = 6, from = 300, to = 60");
    let arc = 2.0 / 3.0 * PI * (100.0 + OFF);
    // Straightened within 0.02 mm.
    assert_close("arc", length(&plan), arc, 2e-4);
    let strand = &roll(&plan).strands()[0];
    assert_close("as it is rolled", strand.length(), arc + 6.0, 2e-4);
    // A cylinder and a ball.
    assert_close("holds", strand.volume(), PI * 9.0 * arc + 4.0 / 3.0 * PI * 27.0, 2e-4);
    assert!(places(&plan).iter().all(|p| p.y < -50.0), "it lies at the front");
    let tapered = rolled(DRUM, "along = { height = 40 }, diameter = 6, from = 300, to = 60, taper = 30");
    assert!(roll(&tapered).strands()[0].volume() < strand.volume());
    let Strand::Line { stations, closed: false } = &roll(&tapered).strands()[0] else { panic!() };
    assert!((stations[0].1 - 0.75).abs() < 1e-9, "a quarter of the half thickness: {}", stations[0].1);
}

/// Up the side it is straight, and round it a helix: √(way round² + rise²).
#[test]
fn a_path_on_a_drum_is_a_helix() {
    let straight = rolled(
        DRUM,
        "along = { path = [{ bearing = 30, height = 20 }, { bearing = 30, height = 110 }] }, diameter = 6",
    );
    assert_close("straight up", length(&straight), 90.0, 1e-6);
    let helix = rolled(
        DRUM,
        "along = { path = [{ bearing = 0, height = 20 }, { bearing = 720, height = 80 }] }, diameter = 6",
    );
    let exact = (2.0 * 2.0 * PI * (100.0 + OFF)).hypot(60.0);
    assert_close("twice round", length(&helix), exact, 1e-3);
    // A wave that ends where it begins has no ends.
    let wave: Vec<String> = (0..=12)
        .map(|i| format!("{{ bearing = {}, height = {} }}", 30 * i, if i % 2 == 0 { 50 } else { 70 }))
        .collect();
    let wave = rolled(DRUM, &format!("along = {{ path = [{}] }}, diameter = 6", wave.join(", ")));
    assert!(roll(&wave).strands()[0].is_closed());
    assert!(length(&wave) > 2.0 * PI * (100.0 + OFF) && codes(&wave).is_empty(), "{:?}", plan_codes(&wave));
}

fn plan_codes(plan: &Plan) -> Vec<(&str, &str)> {
    plan.findings.iter().map(|finding| (finding.code.as_str(), finding.message.as_str())).collect()
}

/// Two strands: each a helix of length √(L² + (2π a n)²) about a straight line, and about a circle ∫ √((R + a cos φ)² + (a n)²) dθ.
#[test]
fn twisted_strands_are_helices() {
    let straight = rolled(
        DRUM,
        "along = { path = [{ bearing = 30, height = 20 }, { bearing = 30, height = 110 }] }, diameter = 6, twisted = true",
    );
    let thick = 6.0 / 2.0 / 1.9;
    let a = 0.9 * thick;
    let turns = 90.0 / (PITCH * 6.0);
    let exact = 90f64.hypot(2.0 * PI * a * turns);
    let strands = roll(&straight).strands();
    assert_eq!(strands.len(), 2);
    for strand in strands {
        assert_close("strand", strand.along(), exact, 3e-3);
        assert_close("thickness", strand.thick(), thick, 1e-9);
    }
    let round = rolled(DRUM, "along = { height = 40 }, diameter = 6, twisted = true");
    let middle = 100.0 + OFF;
    let turns = (2.0 * PI * middle / (PITCH * 6.0)).round();
    let n = 20_000;
    let exact: f64 = (0..n)
        .map(|i| {
            let theta = 2.0 * PI * (f64::from(i) + 0.5) / f64::from(n);
            (middle + a * (turns * theta).cos()).hypot(a * turns) * 2.0 * PI / f64::from(n)
        })
        .sum();
    for strand in roll(&round).strands() {
        assert!(strand.is_closed());
        assert_close("strand all round", strand.along(), exact, 5e-3);
    }
    // Both together are as thick as the roll, all the way round.
    let reach = roll(&round).places().map(|(p, r)| p.truncate().length() + r).fold(0.0, f64::max);
    assert_close("over both", reach, middle + 3.0, 1e-3);
}

/// Round a box: straight along the sides, a quarter of a circle round each corner.
#[test]
fn a_ring_round_a_box_goes_round_its_corners() {
    let plan = rolled(BOX, "along = { height = 65 }, diameter = 6");
    assert_close("length", length(&plan), 720.0 + 2.0 * PI * OFF, 3e-3);
    for p in places(&plan) {
        assert!((p.z - 65.0).abs() < 0.02, "{p}");
        let beside = glam::dvec2(p.x.abs() - 100.0, p.y.abs() - 80.0);
        let off = beside.max(glam::DVec2::ZERO).length();
        assert!((off - OFF).abs() < 0.15, "{p}: {off}");
    }
    assert!(codes(&plan).is_empty(), "{:?}", plan_codes(&plan));
    // On its upper edge it lies at half a right angle, and at the foot on the board.
    let rim = rolled(BOX, "along = { rim = true }, diameter = 6");
    let aside = OFF / 2f64.sqrt();
    assert_close("rim", length(&rim), 720.0 + 2.0 * PI * aside, 3e-3);
    assert!(places(&rim).iter().all(|p| (p.z - 130.0 - aside).abs() < 0.1));
    let foot = rolled(BOX, "along = { foot = true }, diameter = 6");
    assert!(places(&foot).iter().all(|p| (p.z - OFF).abs() < 0.02));
    let solid = plan.bulk.adds[0].as_ref().unwrap().amount;
    assert_close("holds", solid, PI * 9.0 * (720.0 + 2.0 * PI * OFF), 4e-3);
}

/// Round an L: a quarter circle at each of five corners, and at the inward one it lies off both walls.
#[test]
fn an_inward_corner_is_cut_short() {
    let shape = "[shape.crossed]\nheight_tolerance = 1\nfront = { points = [[-100, 0], [100, 0], [100, 100], [-100, 100]] }\n\
                 side = { points = [[-100, 0], [100, 0], [100, 100], [-100, 100]] }\n\
                 above = { points = [[-100, -100], [100, -100], [100, 0], [0, 0], [0, 100], [-100, 100]] }\n";
    let plan = rolled(shape, "along = { height = 50 }, diameter = 6");
    assert_close("length", length(&plan), 800.0 + 5.0 / 2.0 * PI * OFF - 2.0 * OFF, 6e-3);
    let corner = places(&plan)
        .into_iter()
        .map(|p| p.truncate().distance(glam::dvec2(OFF, OFF)))
        .fold(f64::INFINITY, f64::min);
    assert!(corner < 1.0, "{corner}");
}

/// On scanned and sectioned shapes every place lies off the surface as far as it ought to.
#[test]
fn on_any_other_shape_it_lies_on_the_surface() {
    for name in ["boulder", "sitting-hen"] {
        let file = crate::files::read(crate::repository::example(name)).unwrap();
        for along in ["height = 60", "foot = true"] {
            let more = format!(
                "\n[[detail]]\nname = \"bead\"\nadd = \"icing\"\nroll = {{ along = {{ {along} }}, diameter = \"12 mm\" }}\n"
            );
            let text = along.replace("60", "\"60 mm\"");
            let more = more.replace(along, &text);
            let file = CakeFile::from_text(
                "x.cake.toml",
                crate::repository::example(name).parent().unwrap(),
                file.text().to_owned() + &more,
            );
            let plan = planned(&file).unwrap_or_else(|error| panic!("{error:?}"));
            let detail = plan.design.details.iter().find(|detail| detail.name == "bead").unwrap();
            let Tool::Roll(roll) = &detail.tool else { panic!() };
            assert!(!roll.strands().is_empty(), "{name} {along}: {:?}", roll.laid);
            let form = plan.design.shape.form().unwrap();
            let off: Vec<f64> = roll.places().map(|(p, _)| -form.depths().at(p)).collect();
            let wrong = off.iter().filter(|off| (**off - 5.4).abs() > 0.6).count();
            assert!(wrong * 20 < off.len(), "{name} {along}: {wrong} of {}", off.len());
        }
    }
}

/// One alone each, with what mends it, which is then no longer told.
#[test]
fn what_cannot_lie_so_is_told() {
    let cone = "[shape.turned]\npoints = [[60, 0], [0, 130]]\n";
    let spire = "[shape.turned]\npoints = [[60, 0], [60, 20], [6, 20], [6, 130], [0, 130]]\n";
    for (shape, roll, code, mended) in [
        (DRUM, "along = { height = 140 }, diameter = 6", "roll-nowhere", false),
        (cone, "along = { rim = true }, diameter = 6", "roll-nowhere", false),
        (
            DRUM,
            "along = { path = [{ bearing = 0, height = 20 }, { bearing = 10, height = 200 }] }, diameter = 6",
            "roll-nowhere",
            false,
        ),
        (DRUM, "along = { height = 40 }, diameter = 6, from = 0, to = 2", "roll-nowhere", false),
        (DRUM, "along = { height = 40 }, diameter = 1.5", "roll-too-thin", true),
        (DRUM, "along = { height = 40 }, diameter = 3, twisted = true", "roll-too-thin", true),
        (DRUM, "along = { height = 2 }, diameter = 10", "roll-in-board", true),
        (spire, "along = { height = 90 }, diameter = 20, sunk = true", "roll-too-thick", true),
        (
            DRUM,
            "along = { path = [{ bearing = 0, height = 20 }, { bearing = 6, height = 80 }, { bearing = 12, height = 20 }] }, diameter = 16",
            "roll-too-thick",
            false,
        ),
    ] {
        let text = text(shape, roll, "");
        let plan = plan(&text);
        assert_eq!(codes(&plan), [code], "{roll}: {:?}", plan_codes(&plan));
        let finding = plan.findings.iter().find(|finding| finding.code.as_str() == code).unwrap();
        assert_eq!(finding.fix.edit.is_some(), mended, "{roll}: {:?}", finding.fix);
        if let Some(edit) = &finding.fix.edit {
            let document = Document::new(CakeFile::from_text("x", "", &text));
            let fixed = document.apply(&edit.to_edit(&document)).unwrap().document.into_file();
            let plan = planned(&fixed).unwrap();
            assert!(codes(&plan).is_empty(), "{roll}: {:?}\n{}", plan_codes(&plan), fixed.text());
        }
    }
}

#[test]
fn what_cannot_be_read_is_refused_where_it_stands() {
    let zones = "[[covering.zone]]\nname = \"band\"\nbetween = [0, 30]\n";
    for (roll, path, words) in [
        (
            "along = { zone = \"bant\" }, diameter = 6",
            "detail[0].roll.along.zone",
            "no zone is called \"bant\"",
        ),
        ("along = { zone = \"band\", rim = true }, diameter = 6", "detail[0].roll.along", "zone"),
        ("along = { }, diameter = 6", "detail[0].roll.along", "foot"),
        ("along = { height = 20 }, diameter = 6, from = 20", "detail[0].roll.from", "`from` without `to`"),
        (
            "along = { height = 20 }, diameter = 6, from = 20, to = 380",
            "detail[0].roll.to",
            "ends where it begins",
        ),
        (
            "along = { path = [{ bearing = 0, height = 20 }] }, diameter = 6",
            "detail[0].roll.along.path",
            "two different places",
        ),
        (
            "along = { height = 20 }, diameter = 6, from = 0, to = 90, end_diameter = 8",
            "detail[0].roll.end_diameter",
            "thinner",
        ),
    ] {
        let file = CakeFile::from_text("x", "", text(DRUM, roll, zones));
        let Err(PlanError::CakeFile(error)) = planned(&file) else { panic!("{roll}") };
        let told = error.problems().iter().any(|problem| {
            let said = format!("{} {}", problem.message, problem.help.clone().unwrap_or_default());
            problem.path.to_string() == path && (said.contains(words) || words == "thinner")
        });
        assert!(told, "{roll}: {:?}", error.problems());
    }
    let cut =
        text(DRUM, "along = { height = 20 }, diameter = 6", "").replace("add = \"icing\"", "cut = \"icing\"");
    assert!(planned(&CakeFile::from_text("x", "", cut)).is_err());
}

/// What stands in several places is laid in each.
#[test]
fn a_roll_is_repeated_and_mirrored() {
    let text = text(DRUM, "along = { height = 40 }, diameter = 6, from = 10, to = 50", "");
    let three = plan(&(text.clone() + "repeat = { count = 3, rise = 20 }\n"));
    assert_eq!(three.design.details.len(), 3);
    let height = |i: usize| match &three.design.details[i].tool {
        Tool::Roll(roll) => roll.places().next().unwrap().0.z,
        _ => panic!(),
    };
    assert!((height(0) - 40.0).abs() < 1e-9 && (height(2) - 60.0).abs() < 1e-9);
    let both = plan(&(text + "mirror = true\n"));
    let mean = |i: usize| match &both.design.details[i].tool {
        Tool::Roll(roll) => {
            let places: Vec<f64> = roll.places().map(|(p, _)| p.x).collect();
            places.iter().sum::<f64>() / places.len() as f64
        }
        _ => panic!(),
    };
    assert!((mean(0) + mean(1)).abs() < 1e-6 && mean(0) > 10.0, "{} {}", mean(0), mean(1));
    assert!(codes(&both).is_empty(), "{:?}", plan_codes(&both));
}
