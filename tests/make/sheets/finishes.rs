//! What is painted and dusted on: on the cutting sheet, on the solids, in files.

use formats::model::{Part, PartKind, Rgb};
use make::solids::model;
use plan::Plan;

use super::rolls::steps;
use crate::plans::plan;

const DRUM: &str = "crumbline = 2\nname = \"Drum\"\n[shape.turned]\npoints = [[100, 0], [100, 130]]\n[[covering]]\n\
                    material = \"rolled icing\"\nthickness = 4\ncolour = \"#ffffff\"\n\
                    finish = [{ kind = \"dust\", colour = \"#704020\", fade = [0, 65] }]\n[[covering.zone]]\nname = \"band\"\n\
                    between = [100, 130]\ncolour = \"#446688\"\nfinish = [{ kind = \"lustre\", colour = \"#c9a227\", for_show = true }]\n\
                    [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 260 }\nheight = 130\n\
                    [[detail]]\nname = \"line\"\ncut = \"icing\"\noutline = { shape = { circle = 30 }, height = 60, depth = 2 }\n\
                    finish = [{ kind = \"paint\", colour = \"#102030\", coats = 1 }]\n";

fn parts(plan: &Plan) -> Vec<Part> {
    model(plan, plan.design.preview).unwrap().parts
}

/// By what is brushed on 100 cm² (common practice, no source) and the sides of cylinders, 2π r h.
#[test]
fn steps_say_what_goes_on_where_how_often_and_how_much() {
    let plan = plan(DRUM);
    let told = steps(&plan, "en");
    let at = |begins: &str| {
        told.iter().position(|step| step.starts_with(begins)).unwrap_or_else(|| panic!("{begins}: {told:#?}"))
    };
    let care = at("For painting and dusting take only what its label calls edible");
    // 0.1 g on 100 cm², half of 2π × 10 × 6.5 cm² of the fading side: 0.2 g.
    let dust = at("Dust the rolled icing once with petal dust #704020, 0.2 g in all");
    assert!(
        told[dust].contains("full at height 0 mm and fades to nothing at height 65 mm"),
        "{}",
        told[dust]
    );
    let lustre = at("Stir");
    assert!(told[lustre].contains("of lustre dust #c9a227 into"), "{}", told[lustre]);
    assert!(told[lustre].contains("paint band 2 times"), "{}", told[lustre]);
    assert!(told[lustre].contains("for show only: take it off before serving"), "{}", told[lustre]);
    let line = at("Paint line once with edible paint #102030, 0.1 g in all");
    assert!(care < dust && dust < lustre && lustre < line, "{told:#?}");
    let german = steps(&plan, "de");
    assert!(
        german.iter().any(|step| step.contains("einmal mit Puderfarbe #704020 bestäuben, 0,2 g")),
        "{german:#?}"
    );
}

#[test]
fn what_is_put_on_is_on_the_finished_parts_only() {
    let plan = plan(DRUM);
    let parts = parts(&plan);
    let tints = |kind: PartKind, name: &str| {
        let part = parts.iter().find(|part| part.kind == kind && part.name == name);
        part.unwrap_or_else(|| panic!("{name}")).tints.clone()
    };
    let dust = tints(PartKind::Finished, "finished");
    assert_eq!((dust.len(), dust[0].fade, dust[0].metal), (1, Some([0.0, 65.0]), 0.0));
    assert!(tints(PartKind::Finished, "finished, band")[0].metal > 0.5);
    // A cut without a colour of its own is painted on the icing.
    let line = parts.iter().find(|part| part.kind == PartKind::Inlay).unwrap();
    assert_eq!((line.colour, line.tints[0].colour), (Rgb(255, 255, 255), Rgb(16, 32, 48)));
    let is_seen = |part: &&Part| matches!(part.kind, PartKind::Finished | PartKind::Inlay | PartKind::Add);
    let bare: Vec<&Part> = parts.iter().filter(|part| !is_seen(part)).collect();
    assert!(bare.len() > 3 && bare.iter().all(|part| part.tints.is_empty()));
}
