//! Zones of coverings: how large, how heavy, how laid; what is told of them.

use std::f64::consts::PI;

use cakefile::{CakeFile, Severity};
use plan::{Plan, PlanError, design::IcingWay, icing::Covers};

use crate::{
    plans::{plan, planned},
    support::assert_close,
};

/// A pot of radius 70 at its foot and 100 at its rim, 130 high, under 4 mm of icing with these zones and 6 mm of ganache.
const POT: &str = "[shape.turned]\npoints = [[70, 0], [100, 130], [0, 130]]\n";

const BOX: &str = "[shape.crossed]\nheight_tolerance = 1\nfront = { points = [[-100, 0], [100, 0], [100, 130], [-100, 130]] }\n\
                   side = { points = [[-80, 0], [80, 0], [80, 130], [-80, 130]] }\n";

fn text(shape: &str, zones: &str, more: &str) -> String {
    format!(
        "crumbline = 2\nname = \"zones\"\naccuracy = {{ tool = 0.02 }}\n{shape}[[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
         colour = \"#ffffff\"\n{zones}[[covering]]\nmaterial = \"ganache\"\nthickness = 6\n[[tier]]\nname = \"only\"\n[[tier.layer]]\n\
         pan = {{ round = 280 }}\nheight = 130\n{more}"
    )
}

fn zoned(shape: &str, zones: &str) -> Plan {
    plan(&text(shape, zones, ""))
}

fn zone(name: &str, place: &str) -> String {
    format!("[[covering.zone]]\nname = \"{name}\"\n{place}\n")
}

/// The area of each part of the icing, what no zone takes first, mm².
fn areas(plan: &Plan) -> Vec<f64> {
    plan.zones[0].parts.iter().map(|part| part.area).collect()
}

/// Lateral area of a frustum of a cone, π (r + R) s (any handbook).
fn frustum(r: f64, big: f64, high: f64) -> f64 {
    PI * (r + big) * ((big - r).powi(2) + high * high).sqrt()
}

#[test]
fn zones_of_a_pot_are_a_disc_and_frustums() {
    let zones = zone("top", "top = true\ncolour = \"#fff1d0\"")
        + &zone("band", "between = [0, 30]\ncolour = \"#663388\"");
    let plan = zoned(POT, &zones);
    let at = |z: f64| 70.0 + 30.0 * z / 130.0;
    let exact = [frustum(at(30.0), 100.0, 100.0), PI * 1e4, frustum(70.0, at(30.0), 30.0)];
    for (found, exact) in areas(&plan).into_iter().zip(exact) {
        assert_close("area", found, exact, 1e-9);
    }
    let all: f64 = plan.zones[0].parts.iter().map(|part| part.volume).sum();
    let volumes = plan.line_volumes();
    assert_close("all of the icing", all, volumes[0] - volumes[1], 1e-6);
    assert!(
        plan.findings.iter().all(|finding| !finding.code.as_str().starts_with("zone")),
        "{:?}",
        plan.findings
    );
    // The same with its side as a zone: what comes later has the corner, and areas are the same.
    let sided = zoned(
        POT,
        &(zone("top", "top = true") + &zone("side", "side = true") + &zone("band", "between = [0, 30]")),
    );
    assert!(areas(&sided)[0].abs() < 1e-6);
    assert_close("side", areas(&sided)[2], exact[0], 1e-9);
}

#[test]
fn a_dome_is_top_down_to_half_right() {
    let dome =
        "[shape.turned]\nfrom = [100, 0]\ndraw = [{ to = [0, 100], through = [70.710678, 70.710678] }]\n";
    let plan = zoned(dome, &zone("cap", "top = true"));
    // A cap of a ball, 2π R h (any handbook).
    let exact = 2.0 * PI * 100.0 * 100.0 * (1.0 - 0.5f64.sqrt());
    assert_close("cap", areas(&plan)[1], exact, 0.02);
    assert_close("both", areas(&plan).iter().sum::<f64>(), 2.0 * PI * 1e4, 1e-3);
}

/// A box: four sides between heights, and the top with the uppermost of them.
#[test]
fn zones_between_heights_of_a_shape_that_is_not_turned() {
    let plan = zoned(BOX, &(zone("foot", "between = [0, 40]") + &zone("lid", "between = [100, 200]")));
    let round = 2.0 * (200.0 + 160.0);
    let exact = [round * 60.0, round * 40.0, round * 30.0 + 200.0 * 160.0];
    for (found, exact) in areas(&plan).into_iter().zip(exact) {
        assert_close("area", found, exact, 1e-3);
    }
    let laid: Vec<(Option<usize>, Covers)> = plan
        .icing()
        .iter()
        .flat_map(|icing| icing.pieces.iter().map(|piece| (icing.zone, piece.covers)))
        .collect();
    assert_eq!(laid, [(None, Covers::Band), (Some(0), Covers::Band), (Some(1), Covers::Cap)]);
}

/// An outline in the icing takes its area of what lies under it.
#[test]
fn an_outline_takes_its_part() {
    let wrapped = "outline = { shape = { rectangle = [40, 30] }, height = 65, wrap = true }";
    let drum = "[shape.turned]\npoints = [[100, 0], [100, 130], [0, 130]]\n";
    let plan = zoned(drum, &(zone("patch", wrapped) + &zone("top", "top = true")));
    let found = areas(&plan);
    // As large as drawn outside, less by the thickness inside: the mean is measured.
    assert_close("patch", found[1], 1200.0 * 98.0 / 100.0, 2e-3);
    assert_close("rest", found[0] + found[1], 2.0 * PI * 100.0 * 130.0, 1e-9);
    assert_close("top", found[2], PI * 1e4, 1e-9);
    let spot = "outline = { shape = { circle = 30 }, top = [20, 10] }";
    let plan = zoned(drum, &(zone("top", "top = true") + &zone("spot", spot)));
    assert_close("spot", areas(&plan)[2], PI * 225.0, 5e-3);
    assert_close("top around it", areas(&plan)[1] + areas(&plan)[2], PI * 1e4, 1e-9);
    assert_eq!(plan.icing()[2].pieces[0].covers, Covers::Outline);
}

/// Each part is laid by itself: a pot's top as a disc, its side in one sheet, a band in one.
#[test]
fn each_zone_is_laid_by_itself() {
    let plan =
        zoned(POT, &(zone("top", "top = true\nseam = 90") + &zone("band", "between = [0, 30]\nseam = 90")));
    let laid: Vec<(Option<usize>, IcingWay, usize)> =
        plan.icing().iter().map(|icing| (icing.zone, icing.way, icing.pieces.len())).collect();
    assert_eq!(laid.len(), 3, "{laid:?}");
    assert_eq!((laid[0].0, laid[1].0, laid[2].0), (None, Some(0), Some(1)));
    assert!(laid.iter().all(|(_, _, pieces)| *pieces == 1), "{laid:?}");
    let shares: f64 = plan.icing().iter().map(|icing| icing.share).sum();
    assert_close("shares", shares, 1.0, 1e-9);
    assert_eq!(plan.design.coverings[0].zones[1].seam, 90.0);
    assert!(plan.findings.iter().any(|finding| finding.message.contains("`seam` has no meaning here")));
}

/// What is laid over the covering stands out by its thickness: a band of a drum is a ring (any handbook).
#[test]
fn a_thick_zone_is_laid_over_the_covering() {
    let drum = "[shape.turned]\npoints = [[100, 0], [100, 130], [0, 130]]\n";
    let plan = zoned(drum, &zone("belt", "between = [40, 60]\nthickness = 3\nmaterial = \"gum paste\""));
    let ring = PI * (103.0f64.powi(2) - 1e4) * 20.0;
    let added: f64 = plan.bulk.adds.iter().flatten().map(|add| add.amount).sum();
    assert_close("belt", added, ring, 2e-3);
    assert!(plan.design.coverings[0].zones.is_empty());
    assert!(plan.findings.iter().all(|finding| finding.about != "belt"), "{:?}", plan.findings);
}

#[test]
fn zones_weigh_what_they_are_made_of() {
    let drum = "[shape.turned]\npoints = [[100, 0], [100, 130], [0, 130]]\n";
    let marzipan = zoned(drum, &zone("all", "between = [0, 130]\nmaterial = \"marzipan\""));
    let plain = zoned(drum, "");
    assert_close("density", marzipan.design.coverings[0].density, 1.20, 1e-9);
    let volumes = plain.line_volumes();
    let lighter = (1.35 - 1.20) * (volumes[0] - volumes[1]) / 1000.0;
    let (heavy, light) =
        (plain.support.levels[0].level.load.amount, marzipan.support.levels[0].level.load.amount);
    assert_close("weight", heavy - light, lighter, 1e-3);
}

#[test]
fn what_is_not_as_meant_is_told() {
    let drum = "[shape.turned]\npoints = [[100, 0], [100, 130], [0, 130]]\n";
    let cone = "[shape.turned]\npoints = [[60, 0], [0, 200]]\n";
    for (shape, zones, code, severity, message) in [
        (
            drum,
            zone("high", "between = [140, 160]"),
            "zone-nowhere",
            Severity::Warning,
            "reaches from the board to height",
        ),
        (cone, zone("lid", "top = true"), "zone-nowhere", Severity::Warning, "goes up to a point"),
        (
            drum,
            zone("a", "between = [20, 40]") + &zone("b", "between = [10, 50]"),
            "zone-hidden",
            Severity::Warning,
            "lies over all of it",
        ),
        (
            drum,
            zone("a", "between = [0, 40]") + &zone("b", "between = [30, 60]"),
            "zones-overlap",
            Severity::Note,
            "\"b\" lies over \"a\" there",
        ),
        (
            drum,
            zone("a", "between = [0, 40]") + &zone("b", "between = [42, 90]"),
            "zone-gap",
            Severity::Warning,
            "a strip of 2 mm",
        ),
        (drum, zone("a", "between = [3, 40]"), "zone-gap", Severity::Warning, "below the zone \"a\""),
    ] {
        let plan = zoned(shape, &zones);
        let found: Vec<_> = plan.findings.iter().filter(|finding| finding.code.as_str() == code).collect();
        assert_eq!(found.len(), 1, "{code}: {:?}", plan.findings);
        assert!(found[0].severity == severity && found[0].message.contains(message), "{:?}", found[0]);
    }
}

#[test]
fn zones_that_cannot_be_are_refused_where_they_are_written() {
    let drum = "[shape.turned]\npoints = [[100, 0], [100, 130], [0, 130]]\n";
    for (shape, zones, place, message) in [
        (drum, zone("a", ""), "covering[0].zone[0]", "what kind it is"),
        (drum, zone("a", "top = true\nbetween = [0, 9]"), "covering[0].zone[0]", "between"),
        (drum, zone("a", "between = [9, 9]"), "covering[0].zone[0].between", "no height"),
        (BOX, zone("a", "top = true"), "covering[0].zone[0].top", "no edge of its own"),
        (drum, zone("a", "top = true\nmaterial = \"ganache\""), "covering[0].zone[0].material", "ganache"),
        (drum, zone("a", "top = true") + &zone("a", "side = true"), "covering[0].zone[1].name", "two zones"),
        (drum, zone("a", "top = true\nthickness = 2"), "covering[0].zone[0].thickness", "is not laid over"),
    ] {
        let file = CakeFile::from_text("test", "", text(shape, &zones, ""));
        let Err(PlanError::CakeFile(error)) = planned(&file) else { panic!("{zones} is taken") };
        let told: Vec<_> = error.problems().iter().map(|p| (p.path.to_string(), p.message.clone())).collect();
        assert!(told.iter().any(|(at, what)| at == place && what.contains(message)), "{place}: {told:?}");
    }
}
