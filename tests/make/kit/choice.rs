//! What is worth printing: a rule for each group, on cakes made for the rule and on all examples.

use geom::progress::NoProgress;
use make::kit::{Choice, Extent, Group, Kit, choices, list};
use make::language::Language;
use plan::Plan;

use super::CONE;
use crate::plans::{example, plan};

/// The reason of a choice in words.
fn told(choice: &Choice) -> String {
    choice.reason.told(Language::english())
}

fn proposed(plan: &Plan) -> Vec<Group> {
    let all = choices(plan, &plan.design.printing);
    assert_eq!(all.iter().map(|choice| choice.group).collect::<Vec<_>>(), Group::ALL);
    for choice in &all {
        assert!(told(choice).chars().count() > 10 && !told(choice).contains('\n'), "{choice:?}");
    }
    all.iter().filter(|choice| choice.is_proposed()).map(|choice| choice.group).collect()
}

fn chosen(plan: &Plan) -> Kit {
    Kit::chosen(plan, &plan.design.printing, &NoProgress).unwrap_or_else(|error| panic!("{error}"))
}

/// A cake of `count` details with an outline of five corners, put on or pressed in.
fn starred(count: usize, operation: &str) -> String {
    let detail = |i: usize| {
        format!(
            "[[detail]]\nname = \"petal {}\"\n{operation} = \"icing\"\noutline = {{ shape = {{ points = [[0, 0], \
             [30, 5], [20, 15], [25, 30], [5, 25]] }}, height = 60, bearing = {}, depth = 2 }}\n",
            i + 1,
            i * 360 / count
        )
    };
    let without = CONE.split("[[detail]]").next().unwrap_or_default().to_owned();
    without + &(0..count).map(detail).collect::<String>()
}

#[test]
fn the_scraper_of_the_coat_is_worth_printing_where_no_straight_edge_follows_it() {
    let kit = chosen(&plan(CONE));
    let names: Vec<String> = kit.parts.iter().map(|part| part.name.clone()).collect();
    assert!(names.iter().any(|name| name == "scraper, coated line"), "{names:?}");
    assert!(!names.iter().any(|name| name.contains("carved") || name.contains("finished")), "{names:?}");
    let upright = CONE.replace("[[100, 0], [60, 120]]", "[[90, 0], [90, 120]]");
    assert_eq!(proposed(&plan(&upright)), []);
    // Rolled icing over bare cake: nothing is spread.
    let bare = CONE.replace("material = \"ganache\"", "material = \"marzipan\"");
    assert!(!proposed(&plan(&bare)).contains(&Group::Scrapers));
    // Buttercream outside: the finished line is the one that is scraped.
    let outside = CONE.replace("material = \"rolled icing\"", "material = \"crumb coat\"");
    let scraped = choices(&plan(&outside), &plan(&outside).design.printing);
    assert_eq!(scraped[0].extent, Extent::Of(vec!["finished".into()]));
}

#[test]
fn a_coat_under_two_others_has_a_scraper_too() {
    let three = CONE.replace(
        "[[covering]]\nmaterial = \"ganache\"",
        "[[covering]]\nmaterial = \"marzipan\"\nthickness = 3\n[[covering]]\nmaterial = \"ganache\"",
    );
    let kit = chosen(&plan(&three));
    let names: Vec<String> = kit.parts.iter().map(|part| part.name.clone()).collect();
    assert!(names.iter().any(|name| name == "scraper, under marzipan line"), "{names:?}");
}

#[test]
fn a_comb_is_worth_printing_where_carving_makes_a_curve() {
    assert!(!proposed(&plan(CONE)).contains(&Group::Combs), "a ruler checks a cone");
    let waist = CONE.replace("[[100, 0], [60, 120]]", "[[100, 0], [70, 60], [95, 120]]");
    assert!(proposed(&plan(&waist)).contains(&Group::Combs));
}

#[test]
fn a_cutter_is_worth_printing_from_so_many_cuts_on_and_is_named_by_their_number() {
    let twelve = plan(&starred(12, "add"));
    assert!(proposed(&twelve).contains(&Group::Cutters) && !proposed(&twelve).contains(&Group::Stamps));
    let kit = chosen(&twelve);
    let cutter = kit.parts.iter().find(|part| part.group == Group::Cutters).expect("a cutter");
    assert_eq!(cutter.name, "cutter, petal × 12");
    assert!(!proposed(&plan(&starred(2, "add"))).contains(&Group::Cutters));
    let pressed = plan(&starred(12, "cut"));
    assert!(proposed(&pressed).contains(&Group::Stamps) && !proposed(&pressed).contains(&Group::Cutters));
    // A round cutter is in every drawer, however many there are.
    let shape = "points = [[0, 0], [30, 5], [20, 15], [25, 30], [5, 25]]";
    let round = starred(12, "add").replace(shape, "circle = 30");
    assert!(!proposed(&plan(&round)).contains(&Group::Cutters));
}

#[test]
fn a_mould_is_worth_printing_for_a_foot_that_is_cast_and_says_how_warm_it_is_filled() {
    let foot = |material: &str| {
        format!(
            "crumbline = 1\nname = \"Cup\"\n[shape.turned]\npoints = [[60, 0], [40, 50], [90, 120]]\n\
             [[tier]]\nname = \"foot\"\n[[tier.layer]]\nmaterial = \"{material}\"\npan = {{ round = 130 }}\nheight = 50\n\
             [[tier]]\nname = \"cup\"\n[[tier.layer]]\npan = {{ round = 200 }}\nheight = 70\n"
        )
    };
    for (material, worth, said) in
        [("modelling chocolate", true, "31 to 32 °C"), ("cereal treat", false, "hand-warm")]
    {
        let plan = plan(&foot(material));
        assert_eq!(proposed(&plan).contains(&Group::FootMould), worth, "{material}");
        let kit = Kit::new(&plan, &plan.design.printing, &[Group::FootMould], &NoProgress).unwrap();
        let found = kit.findings.iter().find(|f| f.code == "hot-casting").expect("a caution");
        assert!(found.fix.words.contains(said), "{material}: {}", found.fix.words);
    }
    assert!(!proposed(&plan(&foot("sponge"))).contains(&Group::FootMould));
}

/// What each example gets by default: nobody prints more than a few beds for one cake.
#[test]
fn the_default_kit_of_every_example_is_a_few_parts() {
    const NONE: &[Group] = &[];
    const SWEPT: &[Group] = &[Group::Scrapers, Group::Combs];
    for (name, groups) in [
        ("toadstool-house", SWEPT),
        ("garden-urn", SWEPT),
        ("lopsided-bell", SWEPT),
        ("pebble-lantern", SWEPT),
        ("boulder", NONE),
        ("sitting-hen", NONE),
    ] {
        let plan = example(name);
        assert_eq!(proposed(&plan), groups, "{name}");
        let kit = chosen(&plan);
        let grams: f64 = kit.parts.iter().map(|part| part.plastic.grams * part.copies as f64).sum();
        assert!(kit.beds.len() <= 3 && kit.parts.len() <= 5 && grams < 150.0, "{name}: {grams:.0} g");
        let text = list(&kit, Language::english());
        assert!(text.contains("Not worth printing for this cake"), "{text}");
        assert_eq!(text.contains("Nothing is worth printing"), groups.is_empty(), "{text}");
        assert_eq!(text.contains("the print is a pattern"), !groups.is_empty(), "{text}");
        assert!(!text.contains(" or use a tool once"), "{text}");
    }
}

#[test]
fn what_it_costs_is_said_if_the_pantry_has_a_price() {
    let list_of = |text: &str| list(&chosen(&plan(text)), Language::english());
    let free = list_of(CONE);
    assert!(free.contains(" g, ") && !free.contains("EUR"), "{free}");
    let priced = CONE.to_owned() + "\n[pantry.money]\ncurrency = \"EUR\"\nplastic = 25\n";
    let plan = plan(&priced);
    let kit = chosen(&plan);
    let grams: f64 = kit.parts.iter().map(|part| part.plastic.grams).sum();
    // Price by mass, to the cent.
    let cost = format!("{:.2} EUR", grams / 1000.0 * 25.0);
    assert!(
        list(&kit, Language::english()).contains(&cost),
        "no {cost} in {}",
        list(&kit, Language::english())
    );
}

/// A line as wide as the nozzle and half as high at 50 mm/s, a quarter longer for moves: 0.4 · 0.2 · 50 = 4 mm³/s, so
/// 1 cm³ takes 250 s and with the moves 312.5 s.
#[test]
fn hours_follow_from_what_a_nozzle_lays_down() {
    let plan = plan(CONE);
    let printing = plan::design::Printing { infill: 1.0, ..super::large() };
    let kit = Kit::new(&plan, &printing, &[Group::DepthGauges], &NoProgress).unwrap();
    let part = &kit.parts[0];
    let hours = part.mesh.volume() / 1000.0 * 312.5 / 3600.0;
    crate::support::assert_close("hours", part.plastic.hours, hours, 1e-9);
}
