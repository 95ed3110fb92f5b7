//! Sausages on the cutting sheet, and the lines that handles are bent to, at true size.

use std::f64::consts::PI;

use make::{
    language::Language,
    rolled::{LONGEST, drying_hours, rolled},
    sheets::{Template, cutting_sheet},
};
use plan::Plan;

use super::named;
use crate::{plans::plan, support::assert_close};

const DRUM: &str = "crumbline = 2\nname = \"Drum\"\n[shape.turned]\npoints = [[100, 0], [100, 130]]\n[[covering]]\n\
                    material = \"rolled icing\"\nthickness = 4\n[[covering.zone]]\nname = \"band\"\nbetween = [0, 30]\ncolour = \"#446688\"\n\
                    [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 260 }\nheight = 130\n";

fn detail(name: &str, form: &str) -> String {
    format!("[[detail]]\nname = \"{name}\"\nadd = \"icing\"\n{form}\n")
}

pub fn steps(plan: &Plan, language: &str) -> Vec<String> {
    let language = Language::shipped(language).unwrap();
    let files = cutting_sheet(plan, &plan.design.paper, &language).unwrap();
    let text = String::from_utf8(named(&files, ".txt").bytes.clone()).unwrap();
    // A step begins with its number or box; lines are broken anywhere.
    let joined = text.split_whitespace().collect::<Vec<_>>().join(" ");
    joined.split("[ ]").map(str::trim).map(str::to_owned).collect()
}

/// How long and how heavy: 2π r of the middle line, π r² of it, by the density of the paste.
#[test]
fn a_roll_is_told_with_its_length_its_pieces_its_mass_and_its_joint() {
    let plan =
        plan(&(DRUM.to_owned() + &detail("rope", "roll = { along = { zone = \"band\" }, diameter = 8 }")));
    let length = 2.0 * PI * (100.0 + 3.6);
    let all = rolled(&plan);
    let [one] = &all[..] else { panic!("{}", all.len()) };
    assert_close("length", one.sausages[0].length, length, 1e-9);
    assert_eq!(one.sausages[0].pieces(), (length / LONGEST).ceil() as u32);
    assert_close("mass", one.mass, one.material.mass(PI * 16.0 * length), 1e-9);
    let told = steps(&plan, "en");
    let step = told.iter().find(|step| step.starts_with("Rope:")).unwrap_or_else(|| panic!("{told:#?}"));
    for part in [
        "651 mm long, 8 mm thick, in 2 pieces of 325 mm",
        "upper border of “band”",
        "first joint at the back",
        "g in all",
    ] {
        assert!(step.contains(part), "{part}: {step}");
    }
    // After the icing, and no step besides names it.
    let at = told.iter().position(|step| step.starts_with("Rope:")).unwrap();
    assert!(told[..at].iter().any(|step| step.contains("rolled icing")));
    assert_eq!(told.iter().filter(|step| step.to_lowercase().contains("rope")).count(), 1, "{told:#?}");
    let german = steps(&plan, "de");
    assert!(german.iter().any(|step| step.contains("oberen Grenze von „band“")), "{german:#?}");
}

#[test]
fn places_and_strands_of_a_roll_are_one_step() {
    let roll = "roll = { along = { height = 60 }, diameter = 6, from = 0, to = 60, twisted = true, taper = 20 }\nrepeat = { count = 4 }";
    let plan = plan(&(DRUM.to_owned() + &detail("swag", roll)));
    let told = steps(&plan, "en");
    let step: Vec<&String> = told.iter().filter(|step| step.contains("wag")).collect();
    assert_eq!(step.len(), 1, "{told:#?}");
    for part in
        ["Swag × 4, each:", "two strands", "tapering to", "once in every 15 mm", "front (0°)", "(60°)"]
    {
        assert!(step[0].contains(part), "{part}: {}", step[0]);
    }
}

/// A half circle of radius 40 is twice as wide as high, drawn at true size; it dries by its
/// thickness.
#[test]
fn a_handle_has_its_bend_at_true_size_and_its_days() {
    let points: Vec<String> = (0..=8)
        .map(|i| {
            let (sin, cos) = (PI * f64::from(i) / 8.0).sin_cos();
            format!("[{}, 0, {}]", 100.0 + 40.0 * sin, 65.0 - 40.0 * cos)
        })
        .collect();
    let handle = detail(
        "handle",
        &format!("bar = {{ path = [{}], diameter = 12 }}\nmirror = true", points.join(", ")),
    );
    let straight = detail("stick", "bar = { path = [[90, 0, 20], [140, 0, 20]], diameter = 8 }");
    let plan = plan(&(DRUM.to_owned() + &handle + &straight));
    let figures = Template::Details.figures(&plan, &plan.design.paper, Language::english());
    let [figure] = &figures[..] else { panic!("{figures:?}") };
    assert_eq!((figure.slug.as_str(), figure.title.as_str()), ("bend-handle", "handle × 2"));
    let (low, high) = figure.bounds();
    // 80 mm from end to end with a round end of 6 mm at each, and 40 mm high with half the thickness outside it.
    assert!((high.x - low.x - 92.0).abs() < 1.0 && (high.y - low.y - 52.0).abs() < 1.0, "{low} {high}");
    // Its path is eight chords, 16 × 40 sin(π/16) long in all, with a round end of 6 mm at each: 136.9 mm.
    assert!(figure.notes[0].contains("137 mm long"), "{:?}", figure.notes);
    let told = steps(&plan, "en");
    let step = told.iter().find(|step| step.contains("handle")).unwrap();
    let days = (drying_hours(&plan, 12.0) / 24.0).ceil();
    assert_eq!(days, (plan.pantry.times.dry * 3.0 / 24.0).ceil());
    assert!(step.contains(&format!("about {days} days")), "{step}");
}
