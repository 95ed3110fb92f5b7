//! What must never pass in silence: each with the finding that tells, and its fix.

use cakefile::Severity;
use plan::{Plan, findings::Finding, support::Answer};

use super::{check, turned};
use crate::plans::plan;

fn found<'a>(plan: &'a Plan, code: &str) -> &'a Finding {
    let known: Vec<&str> = plan.findings.iter().map(|found| found.code.as_str()).collect();
    plan.findings
        .iter()
        .find(|found| found.code.as_str() == code)
        .unwrap_or_else(|| panic!("no {code} in {known:?}"))
}

/// A tall drum on a tall drum, with whatever stands in the lower tier, under the upper one, and at the end.
fn drums(dowels: &str, board: &str, rest: &str) -> Plan {
    plan(&format!(
        "crumbline = 1\nname = \"Drums\"\n[board]\nround = 300\nthickness = 12\n\
         material = \"plywood board\"\n[shape.turned]\npoints = [[90, 0], [90, 184]]\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 5\n\
         [[tier]]\nname = \"lower\"\n{dowels}\n[[tier.layer]]\npan = {{ round = 200 }}\nheight = 100\n\
         [[tier]]\nname = \"upper\"\n{board}\n[[tier.layer]]\npan = {{ round = 200 }}\nheight = 80\n{rest}\n"
    ))
}

const BOARD: &str = "board = { round = 150, thickness = 4, hole = 14, material = \"plywood board\" }";
const DOWELS: &str = "dowels = { count = 5, diameter = 8, circle = 110 }";
const CENTRE: &str = "[centre_dowel]\ndiameter = 12\nheight = 160\n";

#[test]
fn a_sound_cake_has_nothing_to_fix_on_the_bench() {
    let cake = drums(DOWELS, BOARD, &format!("{CENTRE}[support]\nwedged = true\n"));
    let wanting: Vec<_> = cake
        .findings
        .iter()
        .filter(|found| found.severity >= Severity::Warning)
        .map(|f| &f.message)
        .collect();
    assert_eq!(wanting, [] as [&String; 0]);
}

/// Hard braking is 0.8 of gravity, a mat that does not slip holds 0.6 (EN 12195-1 and its annex B): what is not wedged
/// slides, and to say that it is wedged is the fix that is offered.
#[test]
fn a_box_that_is_not_wedged_is_a_warning() {
    let loose = drums(DOWELS, BOARD, CENTRE);
    let slides = check(&loose, "slides-in-car");
    assert_eq!((slides.answer(), slides.margin.total_cmp(&1.0).is_gt()), (Answer::Careful, true));
    assert!(
        slides.fix.words.contains("wedge or strap its box") && slides.fix.edit.is_some(),
        "{:?}",
        slides.fix
    );
    let wedged = drums(DOWELS, BOARD, &format!("{CENTRE}[support]\nwedged = true\n"));
    assert!(wedged.support.checks.iter().all(|check| check.code.as_str() != "slides-in-car"));
}

#[test]
fn no_dowels_at_all() {
    let cake = drums("", BOARD, "");
    let told = found(&cake, "board-without-dowels");
    assert!(told.message.contains("no dowel carries upper board"), "{}", told.message);
    assert!(told.severity >= Severity::Warning && !told.fix.words.is_empty());
    assert!(check(&cake, "sponge-pressed").said.contains("no dowels carry that"));
}

#[test]
fn dowels_shorter_than_the_gap() {
    let cake = drums("dowels = { count = 5, diameter = 8, circle = 110, length = 92 }", BOARD, CENTRE);
    let told = found(&cake, "dowel-too-short");
    assert!(told.message.contains("end 8 mm below it"), "{}", told.message);
    assert!(told.fix.words.starts_with("cut them to 100 mm; tried"), "{}", told.fix.words);
    assert_eq!(told.severity, Severity::Error);
    let cake = drums("dowels = { count = 5, diameter = 8, circle = 110, length = 104 }", BOARD, CENTRE);
    assert!(found(&cake, "dowel-too-long").message.contains("4 mm above"));
}

#[test]
fn a_dowel_outside_its_board() {
    let cake = drums("dowels = { diameter = 8, at = [[50, 0], [-50, 0], [0, 50], [0, -78]] }", BOARD, CENTRE);
    let told = found(&cake, "dowel-outside-board");
    assert!(told.message.starts_with("1 of the 4 dowels under upper board"), "{}", told.message);
    assert_eq!(told.severity, Severity::Error);
}

#[test]
fn a_tier_without_a_board() {
    let told = drums("", "", "");
    assert!(found(&told, "tier-without-board").fix.words.contains("three or more dowels"));
    // Dowels under it hold up nothing.
    let told = drums(DOWELS, "", "");
    assert!(found(&told, "dowels-without-board").message.contains("hold up nothing"));
}

/// A dowel that stands on cake because there is no board under its tier.
#[test]
fn a_dowel_on_sponge() {
    let cake = plan(
        "crumbline = 1\nname = \"Three\"\n[shape.turned]\npoints = [[90, 0], [90, 184]]\n\
         [[tier]]\nname = \"low\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 60\n\
         [[tier]]\nname = \"middle\"\ndowels = { count = 4, diameter = 6, circle = 100 }\n\
         [[tier.layer]]\npan = { round = 200 }\nheight = 60\n\
         [[tier]]\nname = \"top\"\nboard = { round = 150, thickness = 4 }\n\
         [[tier.layer]]\npan = { round = 200 }\nheight = 60\n",
    );
    assert_eq!(found(&cake, "dowel-on-sponge").severity, Severity::Error);
}

/// The upper half stands off to one side of a foot that is too narrow for it.
#[test]
fn a_centre_of_mass_outside_the_foot() {
    let cake = plan(
        "crumbline = 1\nname = \"Crane\"\n[shape.turned]\npoints = [[30, 0], [30, 150]]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 100 }\nheight = 150\n\
         [[detail]]\nname = \"arm\"\nadd = \"icing\"\nmaterial = \"modelling chocolate\"\n\
         box = { centre = [110, 0, 110], size = [180, 60, 60] }\n",
    );
    let told = found(&cake, "topples");
    assert_eq!(told.severity, Severity::Error);
    assert!(told.message.contains("falls over by itself"), "{}", told.message);
    assert!(check(&cake, "topples").margin < 0.0);
}

#[test]
fn an_unknown_material_is_told_by_the_reader() {
    let text =
        turned("[[90, 0], [90, 80]]", &[80.0]).replace("height = 80", "height = 80\nmaterial = \"granite\"");
    let file = cakefile::CakeFile::from_text("test", "", &text);
    let error = format!("{}", crate::plans::planned(&file).unwrap_err());
    let shown = match crate::plans::planned(&file).unwrap_err() {
        plan::PlanError::CakeFile(error) => error.render(false),
        other => other.to_string(),
    };
    assert!(shown.contains("no material is called \"granite\""), "{error} {shown}");
}

#[test]
fn a_room_at_sixty_degrees() {
    let cake = drums(DOWELS, BOARD, &format!("{CENTRE}\n[support]\nroom = \"60 °C\"\n"));
    let told = found(&cake, "room-too-warm");
    assert!(told.message.contains("at 60 °C") && told.fix.words.contains("24 °C"), "{}", told.message);
    assert_eq!(check(&cake, "room-too-warm").answer(), Answer::No);
    assert_eq!(check(&cake, "coat-slumps").answer(), Answer::No);
    let warm = drums(DOWELS, BOARD, &format!("{CENTRE}\n[support]\nroom = 27\n"));
    assert_eq!(check(&warm, "room-too-warm").answer(), Answer::Careful);
}

#[test]
fn nothing_sharp_for_small_children() {
    let hidden = "[support]\nsmall_children = true\n[[support.hidden]]\nwhat = \"toothpick\"\ncount = 3\n";
    let cake = drums(DOWELS, BOARD, &format!("{CENTRE}\n{hidden}"));
    assert!(found(&cake, "sharp-for-children").message.contains("3 toothpicks"));
    let blunt = hidden.replace("toothpick", "straw");
    let cake = drums(DOWELS, BOARD, &format!("{CENTRE}\n{blunt}"));
    assert!(cake.findings.iter().all(|found| found.code.as_str() != "sharp-for-children"));
    let skewers = DOWELS.replace(" }", ", material = \"bamboo skewer\" }");
    let cake = drums(&skewers, BOARD, &format!("{CENTRE}\n[support]\nsmall_children = true\n"));
    assert!(found(&cake, "sharp-for-children").message.contains("bamboo skewer"));
}

/// Layers on jam slide in a car, and the check says so; on firm buttercream with dowels through they do not.
#[test]
fn soft_fillings_let_layers_slide() {
    let cake = |filling: &str| {
        plan(&format!(
            "crumbline = 1\nname = \"Soft\"\n[shape.turned]\npoints = [[80, 0], [80, 90]]\n\
             [[tier]]\nname = \"only\"\nfilling = {{ material = \"{filling}\", thickness = 4 }}\n\
             [[tier.layer]]\npan = {{ round = 180 }}\nheight = 43\n\
             [[tier.layer]]\npan = {{ round = 180 }}\nheight = 43\n"
        ))
    };
    for soft in ["jam", "mousse", "fruit curd", "whipped cream"] {
        assert_eq!(check(&cake(soft), "layers-slide").answer(), Answer::No, "{soft}");
    }
    assert_eq!(check(&cake("ganache"), "layers-slide").answer(), Answer::Yes);
}

#[test]
fn settings_that_cannot_be_meant_are_refused() {
    for (wrong, said) in [
        ("room = \"200 °C\"", "no temperature for a cake"),
        ("safety = 0", "this must be 1 to 20"),
        ("braking = -1.0", "this must be 0 to 2"),
        ("apart = [\"lid\"]", "no tier is called"),
        ("two_people_kg = -3", "no weight"),
        ("tilt = 80", "this must be 0 to 60 degrees"),
        ("hidden = [{ what = \"wire\", count = 0 }]", "cannot be counted out"),
    ] {
        let text = turned("[[90, 0], [90, 80]]", &[80.0]) + &format!("[support]\n{wrong}\n");
        let file = cakefile::CakeFile::from_text("test", "", &text);
        let plan::PlanError::CakeFile(error) = crate::plans::planned(&file).unwrap_err() else { panic!() };
        assert!(error.render(false).contains(said), "{wrong}: {}", error.render(false));
    }
}

/// A screw into the end of a dowel holds in plywood of 9 mm or more: common practice, no source.
#[test]
fn a_centre_dowel_is_fast_only_where_its_board_holds_a_screw() {
    let in_board = |board: &str, rest: &str| {
        let text = format!(
            "crumbline = 1\nname = \"Drums\"\n[board]\nround = 300\n{board}\n\
             [shape.turned]\npoints = [[90, 0], [90, 184]]\n\
             [[covering]]\nmaterial = \"ganache\"\nthickness = 5\n\
             [[tier]]\nname = \"lower\"\n{DOWELS}\n[[tier.layer]]\npan = {{ round = 200 }}\nheight = 100\n\
             [[tier]]\nname = \"upper\"\n{BOARD}\n[[tier.layer]]\npan = {{ round = 200 }}\nheight = 80\n{rest}\n"
        );
        let cake = plan(&text);
        let has = |code: &str| cake.findings.iter().any(|found| found.code.as_str() == code);
        [has("tier-slides-off"), has("centre-dowel-not-held")]
    };
    assert_eq!(in_board("thickness = 12\nmaterial = \"plywood board\"", CENTRE), [false, false]);
    assert_eq!(in_board("thickness = 4\nmaterial = \"plywood board\"", CENTRE), [true, false]);
    assert_eq!(in_board("thickness = 12\nmaterial = \"drum board\"", CENTRE), [true, false]);
    let said = format!("{CENTRE}fast = true\n");
    assert_eq!(in_board("thickness = 12\nmaterial = \"drum board\"", &said), [false, true]);
}

#[test]
fn a_raw_layer_that_hangs_over_is_a_note_where_its_carve_does_not() {
    let on = |points: &str| {
        let text = format!(
            "crumbline = 1\nname = \"Stalk\"\n[shape.turned]\npoints = {points}\n\
             [[tier]]\nname = \"low\"\n[[tier.layer]]\npan = {{ round = 120 }}\nheight = 50\n\
             [[tier]]\nname = \"high\"\n[[tier.layer]]\npan = {{ round = 240 }}\nheight = 50\n"
        );
        let cake = plan(&text);
        let code = |code: &str| cake.findings.iter().find(|found| found.code.as_str() == code).cloned();
        (code("overhang"), code("raw-overhang"))
    };
    let (carved, raw) = on("[[50, 0], [50, 50], [60, 100]]");
    let raw = raw.expect("the raw layer is told");
    assert!(carved.is_none() && raw.severity == Severity::Note, "{}", raw.message);
    // 120 − 60 mm.
    assert!(raw.message.contains("60 mm"), "{}", raw.message);
    let (carved, raw) = on("[[50, 0], [50, 50], [112, 51], [112, 100]]");
    let carved = carved.expect("the carved layer is told");
    assert!(raw.is_none() && carved.severity == Severity::Warning, "{}", carved.message);
    // 112 − 50 mm.
    assert!(carved.message.contains("62 mm"), "{}", carved.message);
}
