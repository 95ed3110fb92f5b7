//! The cutting sheet: four pages whatever the cake (three where it is cut straight down), and no number that is not the plan's.

use geom::units::UnitStyle;
use make::{
    language::Language,
    sheets::{BEARINGS, CuttingOrder, From, ShapeKind, SheetFile, Steady, ThinKind, cautions, cutting_sheet},
};
use plan::{
    Plan,
    design::{Paper, PaperSize},
    stack::SlabKind,
};

use super::{EXAMPLES, SIZES, named, on, raster::text};
use crate::plans::example;

fn sheet(plan: &Plan, size: PaperSize) -> Vec<SheetFile> {
    cutting_sheet(plan, &on(plan, size), Language::english()).unwrap()
}

fn plain(plan: &Plan) -> String {
    let files = sheet(plan, PaperSize::A4);
    let text = String::from_utf8(named(&files, ".txt").bytes.clone()).unwrap();
    joined(&text)
}

/// Words with single spaces between them, wherever lines were broken.
fn joined(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// As many tiers, layers and dowels as no one bakes.
fn towering() -> Plan {
    let mut text = String::from(
        "crumbline = 1\nname = \"Towering\"\n[shape.turned]\npoints = [[100, 0], [60, 1200]]\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 8\n",
    );
    for tier in 0..10 {
        text +=
            &format!("[[tier]]\nname = \"tier {tier}\"\nfilling = {{ material = \"jam\", thickness = 3 }}\n");
        text += "board = { round = 100, thickness = 4 }\n";
        text += &format!("dowels = {{ count = 8, diameter = {}, circle = 60 }}\n", 5 + tier % 3);
        for _ in 0..4 {
            text += "[[tier.layer]]\npan = { round = 220 }\nheight = 27\n";
        }
    }
    crate::plans::plan(&text)
}

#[test]
fn it_has_four_pages_whatever_the_cake_and_the_paper() {
    let plans = EXAMPLES.map(example).into_iter().chain([towering()]);
    for plan in plans {
        for size in SIZES {
            let files = sheet(&plan, size);
            let Some(info) = text("pdfinfo", &[], named(&files, ".pdf")) else { return };
            let pages = info.lines().find(|line| line.starts_with("Pages:")).unwrap();
            assert_eq!(joined(pages), "Pages: 4", "{} on {size}", plan.design.name);
        }
    }
}

/// No word comes off the page: every word's box, as pdftotext has it, lies within the margins.
#[test]
fn nothing_is_cut_off() {
    for plan in EXAMPLES.map(example).into_iter().chain([towering()]) {
        for size in SIZES {
            let paper = on(&plan, size);
            let Some(boxes) = text("pdftotext", &["-bbox"], named(&sheet(&plan, size), ".pdf")) else {
                return;
            };
            let margin = paper.margin * 72.0 / 25.4;
            let sheet = paper.sheet(false) * 72.0 / 25.4;
            let mut words = 0;
            for line in boxes.lines().filter(|line| line.contains("<word")) {
                let number = |name: &str| -> f64 {
                    let from = line.find(name).unwrap() + name.len() + 2;
                    line[from..].split('"').next().unwrap().parse().unwrap()
                };
                words += 1;
                assert!(number("xMin") > margin - 1.0 && number("xMax") < sheet.x - margin + 1.0, "{line}");
                assert!(number("yMin") > margin - 3.0 && number("yMax") < sheet.y - margin + 3.0, "{line}");
            }
            assert!(words > 300, "{words} words");
        }
    }
}

#[test]
fn the_stack_and_the_dowels_are_the_plans() {
    for name in EXAMPLES {
        let plan = example(name);
        let style = UnitStyle::new(plan.design.unit);
        let order = CuttingOrder::new(&plan, &plan.design.paper);
        let said = plain(&plan);
        assert_eq!(order.stack.len(), plan.stack.slabs.len());
        for (entry, slab) in order.stack.iter().zip(&plan.stack.slabs) {
            assert_eq!((&entry.name, entry.bottom, entry.top), (&slab.name, slab.bottom, slab.top));
            let heights = format!("{} to {}", style.length_alone(slab.bottom), style.length_alone(slab.top));
            assert!(said.contains(&format!("{heights}: {}", slab.name)), "{heights}: {said}");
        }
        assert_eq!(order.dowel_count(), plan.stack.dowels.len());
        for dowel in &plan.stack.dowels {
            let cut = order.dowels.iter().find(|cut| cut.tier == dowel.tier).unwrap();
            assert_eq!(
                (cut.length, cut.diameter, cut.bottom),
                (dowel.length(), dowel.diameter, dowel.bottom)
            );
            assert!(said.contains(&format!("cut to {}", style.length(dowel.length()))), "{said}");
        }
        assert!(said.contains(&format!("All {} counted out again", plan.stack.dowels.len())), "{said}");
    }
}

/// Radii are the shave chart's at the back, where no example has a detail in the sponge; what comes off is the radius of
/// the raw layer there less that, or what lies above where that is less; and each pass takes off no more than was asked
/// for.
#[test]
fn radii_are_the_shave_charts_and_depths_what_lies_outside_them() {
    let plan = example("toadstool-house");
    let chart = plan.shave_map();
    let order = CuttingOrder::new(&plan, &plan.design.paper);
    assert!(order.all_round && order.rows.len() >= 10);
    let back = BEARINGS.iter().position(|&bearing| bearing == 180.0).unwrap();
    let said = plain(&plan);
    for row in &order.rows {
        let level = chart.heights.iter().position(|&z| z == row.height).expect("a height of the chart");
        let column = chart.bearings.iter().position(|&b| b == 180.0).unwrap();
        let reach = row.places[back].unwrap();
        assert!((reach.radius - chart.radius[level][column].unwrap()).abs() < 1e-9);
        let raw = |height: f64| {
            let here = plan.stack.slabs.iter().filter(|slab| slab.bottom <= height && height <= slab.top);
            here.map(|slab| slab.footprint.reach()).fold(0.0, f64::max)
        };
        // A filling is spread to the edge of what it lies on, so it never lies outside the layers beside it.
        let beside = raw(row.height) - reach.radius;
        let top = plan.stack.slabs.last().unwrap().top;
        let above = if reach.radius < raw(top - 1.0) { top - row.height } else { f64::INFINITY };
        // Under the cap nothing is above but cake.
        let exact = if row.height > 191.0 { beside.min(above) } else { beside };
        assert!((reach.depth - exact).abs() < 0.01, "{row:?}: {exact}");
        assert_eq!(reach.from == From::Top, row.height > 191.0 && above < beside, "{row:?}");
        assert!(reach.depth < 0.0 || reach.each() <= plan.design.paper.pass + 1e-9);
        assert!((f64::from(reach.passes) * reach.each() - reach.depth.max(0.0)).abs() < 1e-9);
        let style = UnitStyle::new(plan.design.unit);
        let line = format!(
            "height {}, all round: radius {},",
            style.length_alone(row.height),
            style.length_alone(reach.radius)
        );
        assert!(said.contains(&line), "{line}: {said}");
    }
}

/// A straight side under a wider pan: what comes off is the difference of the radii, in equal passes.
#[test]
fn a_drum_is_shaved_by_the_difference_of_the_radii() {
    let plan = crate::plans::plan(
        "crumbline = 1\nname = \"Drum\"\n[shape.turned]\npoints = [[80, 0], [80, 100]]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 150\n",
    );
    let order = CuttingOrder::new(&plan, &Paper { pass: 6.0, ..plan.design.paper });
    for row in order.rows.iter().filter(|row| row.height < 80.0) {
        let reach = row.places[0].unwrap();
        assert!((reach.radius - 80.0).abs() < 1e-6 && (reach.depth - 20.0).abs() < 1e-6, "{row:?}");
        assert_eq!(reach.passes, 4);
    }
}

/// Off-axis layers are told bearing by bearing: a pan of radius 100 put 10 mm to the right has 30 mm to come
/// off at the right of a drum of 80, and 10 mm at the left.
#[test]
fn a_layer_off_the_middle_is_told_bearing_by_bearing() {
    let plan = crate::plans::plan(
        "crumbline = 1\nname = \"Drum\"\n[shape.turned]\npoints = [[80, 0], [80, 100]]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 150\noffset = [10, 0]\n",
    );
    let order = CuttingOrder::new(&plan, &plan.design.paper);
    assert!(!order.all_round);
    let row = order.rows.iter().find(|row| row.height == 40.0).unwrap();
    let depth =
        |bearing: f64| row.places[BEARINGS.iter().position(|&b| b == bearing).unwrap()].unwrap().depth;
    assert!((depth(90.0) - 30.0).abs() < 1e-3 && (depth(270.0) - 10.0).abs() < 1e-3, "{row:?}");
    // At the front the pan's edge lies √(100² − 10²) from the axis (Pythagoras).
    assert!((depth(0.0) - (9900.0f64.sqrt() - 80.0)).abs() < 1e-3, "{row:?}");
}

/// A radius of 80 out of one of 102 is 22 mm from the side, whatever seam lies nearer: low in a layer that stands out over
/// the one below, where its open underside is nearer, as well.
#[test]
fn what_comes_off_is_what_lies_beside_and_not_the_nearest_face() {
    let plan = crate::plans::plan(
        "crumbline = 1\nname = \"Drum\"\n[shape.turned]\npoints = [[80, 0], [80, 100]]\n[[tier]]\nname = \"only\"\n\
         [[tier.layer]]\npan = { round = 180 }\nheight = 36\n[[tier.layer]]\npan = { round = 204 }\nheight = 80\n",
    );
    let order = CuttingOrder::new(&plan, &Paper { pass: 6.0, ..plan.design.paper });
    let row = |height: f64| order.rows.iter().find(|row| row.height == height).unwrap().places[0].unwrap();
    let nearest = plan.stack.depth(glam::dvec3(80.0, 0.0, 40.0));
    assert!(nearest < 11.0, "the open underside is nearer: {nearest}");
    assert!((row(40.0).depth - 22.0).abs() < 0.01 && row(40.0).from == From::Side, "{:?}", row(40.0));
    assert_eq!(row(40.0).passes, 4);
    assert!((row(20.0).depth - 10.0).abs() < 0.01);
    let dome = crate::plans::plan(
        "crumbline = 1\nname = \"Dome\"\n[shape.turned]\nfrom = [90, 0]\n\
         draw = [{ to = [0, 90], through = [63.64, 63.64] }]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 95\n",
    );
    let order = CuttingOrder::new(&dome, &dome.design.paper);
    // Pythagoras: at height 80 the radius is √(90² − 80²) = 41.2; 59 mm beside it and 15 mm above.
    let near = order.rows.iter().find(|row| row.height == 80.0).unwrap().places[0].unwrap();
    assert!((near.depth - 15.0).abs() < 0.05 && near.from == From::Top, "{near:?}");
}

/// A number is cut straight down along its outline: no radii, no corners, no page of depths.
#[test]
fn a_shape_with_one_outline_is_cut_straight_down() {
    let outline =
        "outline = { points = [[-60, -120], [60, -120], [60, 120], [20, 120], [20, -80], [-60, -80]] }";
    let plan = crate::plans::plan(&format!(
        "crumbline = 1\nname = \"Corner\"\n[shape.sections]\nat = [{{ height = 0, {outline} }}, {{ height = 80, \
         {outline} }}]\n[[covering]]\nmaterial = \"ganache\"\nthickness = 5\n[[tier]]\nname = \"only\"\n\
         [[tier.layer]]\npan = {{ rectangle = [220, 300] }}\nheight = 90\n"
    ));
    assert_eq!(CuttingOrder::new(&plan, &plan.design.paper).kind, ShapeKind::StraightSided);
    let said = plain(&plan);
    assert!(
        said.contains("Cut straight down along it") && said.contains("the same at every height"),
        "{said}"
    );
    for wrong in ["Radius to reach", "comes off", "corners between them", "all round"] {
        assert!(!said.contains(wrong), "{wrong}: {said}");
    }
    let files = sheet(&plan, PaperSize::A4);
    let Some(info) = text("pdfinfo", &[], named(&files, ".pdf")) else { return };
    assert!(joined(&info).contains("Pages: 3"), "{info}");
}

/// A layer of pieces has a page that says how the sheet cake is cut and how they are laid, in the text as well.
#[test]
fn pieces_are_cut_and_laid_as_drawn() {
    let outline =
        "outline = { points = [[-60, -120], [60, -120], [60, 120], [20, 120], [20, -80], [-60, -80]] }";
    let plan = crate::plans::plan(&format!(
        "crumbline = 1\nname = \"Corner\"\n[shape.sections]\nat = [{{ height = 0, {outline} }}, {{ height = 38, \
         {outline} }}]\n[[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ rectangle = [330, 228] }}\nheight = 38\n\
         pieces = [{{ size = [132, 52], at = [0, -100] }}, {{ size = [52, 200], at = [40, 26] }}]\n"
    ));
    let said = joined(&plain(&plan));
    for part in [
        "Sheet cake 1 of sponge, 330 × 228 mm",
        "A (52 × 132 mm)",
        "40 mm right, 26 mm back",
        "pieces A to B, 38 mm high",
        "Cut the sheet cakes into their pieces",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    // 132 × 52 and 52 × 200 of 330 × 228: 76.9 % is left over.
    assert!(said.contains("77 % of it is left over"), "{said}");
    let files = sheet(&plan, PaperSize::A4);
    let Some(info) = text("pdfinfo", &[], named(&files, ".pdf")) else { return };
    assert!(joined(&info).contains("Pages: 4"), "{info}");
    let Some(page) = text("pdftotext", &["-f", "2", "-l", "2"], named(&files, ".pdf")) else { return };
    assert!(page.contains("cutting the sheet cakes") && page.contains("52 × 200 mm"), "{page}");
}

#[test]
fn each_kind_of_shape_is_carved_in_its_own_order() {
    for (name, kind) in [
        ("toadstool-house", ShapeKind::Round),
        ("boulder", ShapeKind::Free),
        ("sitting-hen", ShapeKind::Free),
    ] {
        let plan = example(name);
        assert_eq!(CuttingOrder::new(&plan, &plan.design.paper).kind, kind, "{name}");
        // What is round has no corners to take off.
        assert_eq!(plain(&plan).contains("corners between them"), kind == ShapeKind::Free, "{name}");
    }
}

/// The steps stand in the order of the making, and what could hurt before all of them.
#[test]
fn steps_follow_the_making() {
    let in_order = |plan: &Plan, words: &[&str]| {
        let said = plain(plan);
        let places: Vec<usize> = words
            .iter()
            .map(|words| said.find(words).unwrap_or_else(|| panic!("no {words}: {said}")))
            .collect();
        assert!(places.is_sorted(), "{words:?} at {places:?} in {said}");
    };
    in_order(
        &example("garden-urn"),
        &[
            "Take care",
            "Carve, coat and finish",
            "handle × 2: each roll a sausage of modelling chocolate",
            "Not carved: foot",
            "The centre dowel stands fast",
            "Chill the stack",
            "Carve the side all round",
            "Spread ganache",
            "Build up by hand",
            "Cover it with rolled icing",
            "At once, within minutes, while the outermost coat is soft: press in leaf in front",
            "Band under the neck: roll a sausage of sugar paste",
            "Once it is firm, fix on: handle × 2",
        ],
    );
    in_order(
        &example("toadstool-house"),
        &["details in the cake", "Spread white ganache", "Cover it", "spot × 8"],
    );
    // A ring of 8.4 in across from middle to middle of the bar: 8.4 π = 26 3/8 in.
    assert!(
        plain(&example("garden-urn"))
            .contains("26 3/8 in long, 5/16 in (7.6 mm) thick, in 2 pieces of 13 3/16 in, and lay it round")
    );
    // One that is not fast goes in when all is stacked, before the knife; and nowhere else is it said otherwise.
    let loose =
        crate::plans::plan(&crate::kit::CONE.replace("height = 200 }", "height = 100, fast = false }"));
    in_order(
        &loose,
        &["Chill the stack", "The centre dowel goes in once all is stacked", "Hold the silhouette"],
    );
    assert!(!plain(&loose).contains("stands fast"));
}

/// What is cast or moulded has a line of its own in place of passes.
#[test]
fn what_is_moulded_is_not_carved() {
    let urn = example("garden-urn");
    let order = CuttingOrder::new(&urn, &urn.design.paper);
    let foot = urn.stack.slabs.iter().filter(|slab| slab.tier == 0).map(|slab| slab.top).fold(0.0, f64::max);
    for row in &order.rows {
        assert_eq!(row.moulded, row.height < foot, "{row:?}");
    }
    assert!(plain(&urn).contains("height 1 in: cast or moulded, not carved"));
}

#[test]
fn thin_places_and_turning_over_are_told() {
    let urn = example("garden-urn");
    let order = CuttingOrder::new(&urn, &urn.design.paper);
    // The bowl stands on its own board and tapers down to the stem; the foot has none.
    let tiers: Vec<&str> = order.upside_down.iter().map(|tier| tier.tier.as_str()).collect();
    assert_eq!(tiers, ["bowl"]);
    let said = plain(&urn);
    assert!(said.contains("tapers downward") && said.contains("turn it over with a second pair of hands"));
    // The stem is drawn through radius 1.9 in at height 1.9 in and less at 1.5 in, 9 mm of coverings outside.
    let neck = order.thin.iter().find(|thin| thin.what == ThinKind::Neck).unwrap();
    assert!(
        neck.height > 25.0 && neck.height < 55.0 && neck.thickness < 2.0 * (2.0 * 25.4 - 8.0),
        "{neck:?}"
    );

    let house = example("toadstool-house");
    let order = CuttingOrder::new(&house, &house.design.paper);
    assert!(order.upside_down.is_empty());
    // Dowels of 6 mm on a circle of 56 mm in the stalk: 28 + 3 from the middle to their outside.
    let neck = order.thin.iter().find(|thin| thin.what == ThinKind::Neck).unwrap();
    let over = order.thin.iter().find(|thin| matches!(thin.what, ThinKind::OverDowel(_))).unwrap();
    assert!((over.thickness - (neck.thickness / 2.0 - 31.0)).abs() < 0.1, "{over:?} {neck:?}");
}

/// What a plan has to fix stands first, so that no one bakes from it.
#[test]
fn what_must_be_fixed_comes_first() {
    let bell = example("lopsided-bell");
    let said = plain(&bell);
    assert!(bell.has_errors());
    let (fix, stack) = (said.find("Fix first: do not bake").unwrap(), said.find("Stack, from").unwrap());
    assert!(fix < stack);
    for group in plan::findings::grouped(&bell.findings) {
        let wrong = group.first.severity == cakefile::Severity::Error;
        let message = plan::support::capital(&group.message());
        assert!(!wrong || said.contains(&joined(&message)), "{message}");
    }
    assert!(!plain(&example("toadstool-house")).contains("Fix first"));
}

#[test]
fn the_pages_say_what_the_text_says() {
    let plan = example("toadstool-house");
    let files = sheet(&plan, PaperSize::A4);
    let Some(page) = text("pdftotext", &["-layout"], named(&files, ".pdf")) else { return };
    let page = joined(&page);
    let style = UnitStyle::new(plan.design.unit);
    for slab in &plan.stack.slabs {
        let row = format!("{} {}", style.length_alone(slab.bottom), style.length_alone(slab.top))
            .replace(" mm", "");
        assert!(page.contains(&slab.name) && page.contains(&row), "{}: {row}: {page}", slab.name);
    }
    let order = CuttingOrder::new(&plan, &plan.design.paper);
    for row in &order.rows {
        let reach = row.places[0].unwrap();
        let cells = format!(
            "{} {} {}",
            style.length_alone(row.height),
            style.length_alone(reach.radius),
            style.length_alone(2.0 * reach.radius)
        );
        assert!(page.contains(&cells), "{cells}: {page}");
    }
    for caution in ["food-safe", "timber", "Allergens", "licensing", "chocolate", "fingers"] {
        assert!(page.contains(caution), "{caution}");
    }
    assert!(order.stack.iter().any(|slab| slab.kind == SlabKind::Board));
}

/// Every caution that the sheet must carry, in the plain text as well.
#[test]
fn cautions_stand_on_every_sheet() {
    for name in EXAMPLES {
        let plan = example(name);
        let said = plain(&plan);
        let all = cautions(&Steady::new(&plan, Language::english()), Language::english());
        assert!(all.len() >= 8);
        for caution in all {
            assert!(said.contains(&joined(&caution)), "{name}: {caution}");
        }
    }
}
