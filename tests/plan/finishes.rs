//! What is painted and dusted on: how much it covers, against closed forms; what is refused and told.

use std::f64::consts::PI;

use cakefile::{CakeFile, Severity};
use plan::{
    Plan, PlanError,
    finishes::{PutOn, Under},
};

use crate::{
    plans::{plan, planned},
    support::assert_close,
};

/// A pot of radius 70 at its foot and 100 at its rim, 130 high.
const POT: &str = "[shape.turned]\npoints = [[70, 0], [100, 130], [0, 130]]\n";

/// A box of 200 by 160, 130 high.
const BOX: &str = "[shape.crossed]\nheight_tolerance = 1\nfront = { points = [[-100, 0], [100, 0], [100, 130], [-100, 130]] }\n\
                   side = { points = [[-80, 0], [80, 0], [80, 130], [-80, 130]] }\n";

fn text(shape: &str, of_icing: &str, more: &str) -> String {
    format!(
        "crumbline = 2\nname = \"finishes\"\naccuracy = {{ tool = 0.02 }}\n{shape}[[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
         {of_icing}\n[[covering]]\nmaterial = \"ganache\"\nthickness = 6\n[[tier]]\nname = \"only\"\n[[tier.layer]]\n\
         pan = {{ round = 280 }}\nheight = 130\n{more}"
    )
}

/// What each finish of a cake lies on, its area and what it covers of it, mm².
fn covered(plan: &Plan) -> Vec<(f64, f64)> {
    plan.finishes().iter().map(|put_on| (put_on.area, put_on.covered)).collect()
}

fn dust(fade: &str) -> String {
    format!("finish = [{{ kind = \"dust\", colour = \"#704020\"{fade} }}]\n")
}

/// A frustum of radii r and R and slant s has 2π s ∫ (r + (R − r) t) dt = π (r + R) s; of a powder that fades evenly from its
/// foot to its rim it holds 2π s ∫ (r + (R − r) t) (1 − t) dt = 2π s (r/2 + (R − r)/6).
#[test]
fn a_powder_that_fades_on_a_pot_is_an_integral() {
    let slant = 30f64.hypot(130.0);
    let side = PI * 170.0 * slant;
    let all = covered(&plan(&text(POT, &dust(""), "")));
    assert_close("all of it", all[0].0, side + PI * 1e4, 1e-9);
    assert_eq!(all[0].0, all[0].1);
    let faded = covered(&plan(&text(POT, &dust(", fade = [0, 130]"), "")));
    assert_close("its surface", faded[0].0, side + PI * 1e4, 1e-9);
    assert_close("faded", faded[0].1, 2.0 * PI * slant * (35.0 + 5.0), 1e-9);
    // From the middle of its height: below it is full.
    let at = |z: f64| 70.0 + 30.0 * z / 130.0;
    let full = PI * (70.0 + at(65.0)) * slant / 2.0;
    let rest = 2.0 * PI * slant / 2.0 * (at(65.0) / 2.0 + (100.0 - at(65.0)) / 6.0);
    let half = covered(&plan(&text(POT, &dust(", fade = [65, 130]"), "")));
    assert_close("from the middle", half[0].1, full + rest, 1e-9);
    // Downwards from the rim: the top has it in full.
    let down = covered(&plan(&text(POT, &dust(", fade = [130, 0]"), "")));
    assert_close("downwards", down[0].1, side - 2.0 * PI * slant * 40.0 + PI * 1e4, 1e-9);
}

#[test]
fn half_of_the_sides_of_a_box_is_covered_by_what_fades_over_all_its_height() {
    let sides = 720.0 * 130.0;
    let all = covered(&plan(&text(BOX, &dust(", fade = [0, 130]"), "")));
    assert_close("the box", all[0].0, sides + 200.0 * 160.0, 1e-6);
    assert_close("faded", all[0].1, sides / 2.0, 1e-6);
}

#[test]
fn each_zone_has_its_own_and_the_covering_what_is_left() {
    let zones = "[[covering.zone]]\nname = \"band\"\nbetween = [0, 30]\nfinish = [{ kind = \"lustre\", colour = \"#c9a227\" }]\n\
                 [[covering.zone]]\nname = \"badge\"\noutline = { shape = { circle = 40 }, height = 80 }\n\
                 finish = [{ kind = \"pearl\", fade = [80, 90] }]\n";
    let of_icing = dust("") + zones;
    let plan = plan(&text(POT, &of_icing, ""));
    let found = covered(&plan);
    let slant = 30f64.hypot(130.0);
    let at = |z: f64| 70.0 + 30.0 * z / 130.0;
    let band = PI * (70.0 + at(30.0)) * slant * 30.0 / 130.0;
    let all = PI * 170.0 * slant + PI * 1e4;
    assert_close("band", found[1].1, band, 1e-9);
    // A disc on a slightly curved wall (the layer under it measured): its area within two in a hundred.
    assert_close("badge", found[2].0, PI * 400.0, 0.02);
    // Full below its middle, gone 10 mm above it: the half disc, and of the strips above it the mean. By symmetry the half
    // below is 1/2; above, ∫ 2 √(400 − y²) (1 − y/10) dy from 0 to 10 = 99.3 mm².
    let strips = |n: u32| -> f64 {
        let h = 10.0 / f64::from(n);
        (0..n)
            .map(|i| {
                let y = (f64::from(i) + 0.5) * h;
                2.0 * (400.0 - y * y).sqrt() * (1.0 - y / 10.0) * h
            })
            .sum()
    };
    assert_close("badge, faded", found[2].1, PI * 200.0 + strips(1000), 0.04);
    assert_close("the covering", found[0].0, all - band - found[2].0, 1e-6);
    assert!(matches!(plan.finishes()[1].under, Under::Zone("band")));
    assert_close("grams", plan.finishes()[1].grams(), 0.25 * 2.0 * band / 1e4, 1e-9);
}

#[test]
fn of_a_detail_what_is_seen_of_it_is_covered() {
    let of = |detail: &str| {
        let plan = plan(&text(POT, "", &format!("\n[[detail]]\nname = \"it\"\n{}{detail}\n", dust(""))));
        let found = plan.finishes();
        (found.len(), found.iter().map(|put_on: &PutOn<'_>| put_on.covered).sum::<f64>())
    };
    // Raised: its face and its edge, 2π r h.
    let raised = PI * 225.0 + 30.0 * PI * 4.0;
    let badge = "outline = { shape = { circle = 30 }, height = 60, depth = 4 }";
    let (count, area) = of(&format!("add = \"icing\"\n{badge}"));
    assert_eq!(count, 1);
    assert_close("raised", area, raised, 5e-3);
    let (count, area) = of(&format!("add = \"icing\"\n{badge}\nrepeat = {{ count = 5 }}"));
    assert_eq!(count, 1, "all its places are one");
    assert_close("five times", area, 5.0 * raised, 5e-3);
    assert_close("pressed", of(&format!("cut = \"icing\"\n{badge}")).1, PI * 225.0, 5e-3);
    // Half of a ball on the flat top, 2π r²: to the accuracy of pictures.
    let ball = "add = \"icing\"\nball = { centre = [0, 0, 130], diameter = 40 }";
    assert_close("half a ball", of(ball).1, 2.0 * PI * 400.0, 0.03);
}

fn problems(text: &str) -> String {
    match planned(&CakeFile::from_text("test", "test.cake.toml", text)) {
        Err(PlanError::CakeFile(error)) => error.render(false),
        Err(other) => other.to_string(),
        Ok(plan) => {
            plan.findings.iter().map(|found| format!("{}: {}\n", found.code, found.message)).collect()
        }
    }
}

#[test]
fn what_cannot_be_is_refused_and_what_is_not_seen_is_told() {
    let finish = |list: &str| text(POT, &format!("finish = [{list}]\n"), "");
    let paint = "{ kind = \"paint\", colour = \"#102030\" }";
    let fading = "{ kind = \"dust\", colour = \"#102030\", fade = [0, 20] }";
    for (text, said) in [
        (finish("{ kind = \"paint\" }"), "this finish has no colour"),
        (finish("{ kind = \"lustre\", colour = \"#102030\", coats = 0 }"), "0 coats"),
        (finish("{ kind = \"dust\", colour = \"#102030\", coats = 7 }"), "7 coats"),
        (finish("{ kind = \"dust\", colour = \"#102030\", fade = [20, 20] }"), "fades over no height"),
        (finish("{ kind = \"gilt\", colour = \"#102030\" }"), "gilt"),
        (finish(&[paint; 5].join(", ")), "5 finishes on one thing; 4 is the most"),
        (finish(&[fading; 3].join(", ")), "more than 2 finishes on one thing fade"),
        (
            text(POT, "", "").replace("\"ganache\"\n", &format!("\"ganache\"\nfinish = [{paint}]\n")),
            "nobody sees this finish: it lies under another covering",
        ),
        (
            text(
                POT,
                "",
                &format!(
                    "[[detail]]\nname = \"a\"\nadd = \"sponge\"\nfinish = [{paint}]\nball = {{ centre = [0, 0, 130], diameter = 40 }}\n"
                ),
            ),
            "nobody sees this finish: the coverings lie over it",
        ),
        (
            text(
                POT,
                "",
                &format!(
                    "[[detail]]\nname = \"a\"\ncut = \"icing\"\nfinish = [{paint}]\nball = {{ centre = [0, 0, 132], diameter = 20 }}\n"
                ),
            ),
            "nobody sees this finish: what is cut away shows the covering",
        ),
        (
            finish("{ kind = \"dust\", colour = \"#102030\", fade = [300, 200] }"),
            "nobody sees the finish on \"rolled icing\": it is gone before it reaches it",
        ),
        (
            text(
                POT,
                &format!(
                    "finish = [{paint}]\n[[covering.zone]]\nname = \"top\"\ntop = true\n[[covering.zone]]\nname = \"side\"\nside = true\n"
                ),
                "",
            ),
            "nobody sees the finish on \"rolled icing\": zones lie over all of it",
        ),
    ] {
        let told = problems(&text);
        assert!(told.contains(said), "{said}\n{told}");
    }
    // And where all is well nothing is told.
    let sound = plan(&finish(&[paint, fading].join(", ")));
    let told: Vec<_> = sound
        .findings
        .iter()
        .filter(|found| found.severity != Severity::Note && found.message.contains("finish"))
        .collect();
    assert!(told.is_empty(), "{told:?}");
}

/// A finish is no part of any solid: all of them are kept when it changes.
#[test]
fn a_finish_changes_no_solid() {
    let bare = plan(&text(POT, "", ""));
    let dusted = plan(&text(POT, &dust(""), ""));
    assert_eq!(bare.line_volumes(), dusted.line_volumes());
    assert_eq!(bare.bulk.outer, dusted.bulk.outer);
}
