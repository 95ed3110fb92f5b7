//! Quote, timetable and batch.

use cakefile::{CakeFile, schema_pantry::Order};
use geom::{Cancel, progress::NoProgress};
use plan::{
    Plan, Planner,
    pantry::{PanShape, Pantry},
};
use shop::{
    amounts::Amounts,
    arrange::{self, Aim, Effort},
    order_check::OrderCheck,
    quote::{self, Item, Quote},
    timetable::{self, Task, TimeError, Timetable},
    work::{WorkKind, WorkMinutes},
};

use crate::{
    orders_text::{CAKE, PRICES},
    plans::{example, planned, source},
    repository,
};

fn toadstool() -> Plan {
    example("toadstool-house")
}

/// The toadstool house, ordered for this hour.
fn ordered(deliver: &str) -> Plan {
    Plan { order: order(deliver), ..toadstool() }
}

fn priced() -> Pantry {
    Pantry::usual().with_file(&CakeFile::from_text("pantry.toml", "", PRICES)).unwrap()
}

fn order(deliver: &str) -> Order {
    Order {
        client: Some("Village library".into()),
        deliver: Some(deliver.parse().unwrap()),
        travel: Some(25.0),
        serves: None,
        without: None,
        remarks: None,
    }
}

#[test]
fn a_quote_adds_up_to_the_coin_and_guesses_no_price() {
    let plan = Plan { pantry: priced().into(), ..ordered("2026-12-05 10:00") };
    let amounts = Amounts::new(&plan);
    let quote = Quote::new(&plan, &amounts, 0.0).unwrap();
    assert_eq!(quote.costs, quote.lines.iter().map(|line| line.price).sum::<i64>());
    let chocolate = Item::Ingredient("white chocolate".into());
    assert!(quote.unpriced.contains(&chocolate), "{:?}", quote.unpriced);
    assert!(!quote.lines.iter().any(|line| line.what == chocolate));
    // Water out of the tap is neither charged nor missed.
    let water = Item::Ingredient("water".into());
    assert!(amounts.shopping.bought.iter().any(|bought| bought.name == "water"));
    assert!(!quote.lines.iter().any(|line| line.what == water) && !quote.unpriced.contains(&water));
    // An hour of work is 24, whatever the step.
    let work: i64 = quote.group(quote::Group::Work);
    assert!((work as f64 - 2400.0 * quote.minutes / 60.0).abs() < 10.0);
    // Butter: grams used out of a pack of 250 g at 3.19.
    let butter = amounts.shopping.bought.iter().find(|bought| bought.name == "butter").unwrap();
    let line = quote.lines.iter().find(|line| line.what == Item::Ingredient("butter".into())).unwrap();
    assert_eq!(line.price, (butter.used_g / 250.0 * 319.0).round() as i64);
    // With a price for everything there is a price for the cake, and it adds up.
    let text = "crumbline = 1\n[pantry.goods.cream]\nprice = 2\n[pantry.goods.\"white chocolate\"]\nprice = 12\n\
                [pantry.goods.\"rolled icing\"]\nprice = 7\n[pantry.goods.\"gum paste\"]\nprice = 4\n\
                [pantry.goods.\"sugar paste\"]\nprice = 2\n[[pantry.board]]\nthickness = 4\nmaterial = \"plywood board\"\nprice = 30\n\
                [[pantry.dowel]]\ndiameter = 6\nlength = 300\nprice = 0.35\n\
                [[pantry.dowel]]\ndiameter = 12\nlength = 450\nprice = 1.2\n";
    assert_eq!(quote.charged, None);
    let all = priced().with_file(&CakeFile::from_text("all.toml", "", text)).unwrap();
    let plan = Plan { pantry: all.into(), ..plan };
    let quote = Quote::new(&plan, &Amounts::new(&plan), 0.0).unwrap();
    let charged = quote.charged.unwrap_or_else(|| panic!("{:?}", quote.unpriced));
    assert_eq!(charged.net, quote.costs + quote.margin);
    assert_eq!(charged.gross, charged.net + charged.tax);
    assert_eq!(charged.gross, charged.deposit + charged.balance);
    assert_eq!(charged.tax, (charged.net as f64 * 0.19).round() as i64);
    assert_eq!(quote.price(-1205), "-EUR 12.05");
}

/// Sticks and wires that the cake file lists are on the client's page too, and no page states a price of nothing.
#[test]
fn the_clients_page_counts_wires_and_states_no_price_of_nothing() {
    let text = include_str!("../../assets/examples/toadstool-house/toadstool-house.cake.toml");
    let more = "\n[[support.hidden]]\nwhat = \"wire\"\ncount = 6\nwhere = \"in the flowers\"\n";
    let file = CakeFile::from_text(
        "toadstool",
        repository::root().join("assets/examples/toadstool-house"),
        format!("{text}{more}"),
    );
    let plan = planned(&file).unwrap();
    let amounts = Amounts::new(&plan);
    let quote = Quote::new(&plan, &amounts, 0.0).unwrap();
    let check = OrderCheck::new(&plan, &amounts, Ok(&quote), "2026-11-20T08:00".parse().unwrap());
    // One board, which a server's knife meets, and six wires.
    assert_eq!(quote.hidden_count(), plan.stack.dowels.len() + 1 + 6);
    let pages = quote::pages(&quote, &check, &plan.design.paper, quote::Side::Client, &Default::default());
    let page = formats::export::svg::svg("", &pages[0]);
    let all = format!("{} in all", quote.hidden_count());
    for part in [
        "1 × plywood board of 4 mm, under cap",
        "6 × pieces of wire, in the flowers",
        &all,
        "The price follows.",
    ] {
        assert!(page.contains(part), "{part} in {page}");
    }
    assert!(!page.contains("EUR 0.00"), "{page}");
}

/// The client's page in German: every word of ours, and nothing beyond the edges of the paper.
#[test]
fn the_clients_page_speaks_german() {
    let german = make::language::Language::shipped("de").unwrap();
    let client_page = quote::ClientPage { language: german, ..Default::default() };
    let priced = Plan::new(&source(&CakeFile::from_text("x", "", CAKE)).with_pantry(priced())).unwrap();
    for (plan, parts) in [
        (toadstool(), ["Angebot", "Holzdübel, 6 mm, in stalk", "Der Preis folgt.", "Rollfondant", "Milch"]),
        (priced, ["Anzahlung bei der Bestellung", " €", "Enthält", "28. November 2026", "Bitte beachten"]),
    ] {
        let amounts = Amounts::new(&plan);
        let quote = Quote::new(&plan, &amounts, 0.0).unwrap();
        let check = OrderCheck::new(&plan, &amounts, Ok(&quote), "2026-11-28T08:00".parse().unwrap());
        let pages = quote::pages(&quote, &check, &plan.design.paper, quote::Side::Client, &client_page);
        let text = formats::export::svg::svg("", &pages[0]);
        for part in parts {
            assert!(text.contains(part), "{part} in {text}");
        }
        for word in ["Deposit", "Hidden", "Contains", "Covered", "board", "dowel", "Please", "November 28"] {
            assert!(!text.contains(word), "{word} in {text}");
        }
        // The word across an unfinished page reaches from corner to corner.
        for placed in pages[0].placed.iter().filter(|placed| placed.at != pages[0].size / 2.0) {
            let (low, high) = placed.drawing.bounds().unwrap();
            let (low, high) = (placed.at + low, placed.at + high);
            assert!(low.min_element() > 9.0 && (pages[0].size - high).min_element() > 9.0, "{low} {high}");
        }
    }
}

/// What the pantry says of paper, printer and densities counts where the cake file says nothing, and only there.
#[test]
fn the_pantry_lends_what_the_cake_file_leaves_out() {
    let own = "crumbline = 1\n[pantry.paper]\nsize = \"Letter\"\n[pantry.printing]\nnozzle = 0.6\n\
               [pantry.recipe.sponge]\ndensity = 0.5\n";
    let pantry = Pantry::usual().with_file(&CakeFile::from_text("pantry.toml", "", own)).unwrap();
    let text = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[60, 0], [60, 40]]\n[[tier]]\nname = \"one\"\n\
                [[tier.layer]]\npan = { round = \"6 in\" }\nheight = 40\n";
    let planned = |text: &str| {
        let file = CakeFile::from_text("x.cake.toml", "", text);
        Plan::new(&source(&file).with_pantry(pantry.clone())).unwrap()
    };
    let density = |plan: &Plan| plan.stack.slabs[0].material.density;
    let lent = planned(text);
    assert_eq!(
        (lent.design.paper.size.name(), lent.design.printing.nozzle, density(&lent)),
        ("Letter", 0.6, 0.5)
    );
    let kept = planned(&format!("{text}[paper]\nsize = \"A3\"\n[material.sponge]\ndensity = 0.3\n"));
    assert_eq!((kept.design.paper.size.name(), density(&kept)), ("A3", 0.3));
    // What stays and what is thrown away add up to what is baked, whatever the density.
    let pan = "[[pantry.pan]]\nround = \"6 in\"\ndepth = \"3 in\"\nlevel = 50\n";
    let pantry =
        pantry.with_file(&CakeFile::from_text("pantry.toml", "", format!("crumbline = 1\n{pan}"))).unwrap();
    let file = CakeFile::from_text("x.cake.toml", "", text);
    let source = source(&file).with_pantry(pantry);
    let found = arrange::propose(
        &Planner::new(),
        &source,
        &[Aim::Best],
        Effort::default(),
        &Cancel::new(),
        &NoProgress,
    )
    .unwrap();
    let told = arrange::summary(&found);
    let kept = std::f64::consts::PI * 60.0 * 60.0 * 40.0 / 1000.0 * 0.5;
    let off = told.proposals[0].baked_g - told.proposals[0].offcut_g - kept;
    assert!(off.abs() < 0.001 * kept, "{off} g of {kept} g");
}

#[test]
fn steps_keep_their_order_and_their_waits_back_from_the_hour() {
    let plan = ordered("2026-12-05 10:00");
    let today = "2026-11-20T08:00".parse().unwrap();
    let made = Timetable::new(&plan, &Amounts::new(&plan), today).unwrap();
    assert!(made.findings.is_empty(), "{:?}", made.findings);
    let at = |name: &str| {
        made.steps
            .iter()
            .find(|step| step.what.to_string().starts_with(name))
            .unwrap_or_else(|| panic!("no {name}: {:?}", made.steps))
    };
    let hours = |a: &str, b: &str| at(b).from.duration_since(at(a).to).as_secs_f64() / 3600.0;
    for (a, b, least) in [
        ("bake", "level", 10.0),
        ("fill and stack", "carve", 6.0),
        ("coat", "cover", 2.0),
        ("cover", "put on", 12.0),
        ("model", "put on", 24.0),
    ] {
        assert!(hours(a, b) >= least - 1e-9, "{a} to {b}: {} h", hours(a, b));
    }
    assert_eq!(at("travel").to, made.deliver);
    // The chimney of 26 mm dries for longer than all else takes.
    assert!(at("model").tight && !at("carve").tight);
    // Nothing but the road is done at night.
    for step in made.steps.iter().filter(|step| step.what != Task::Travel) {
        assert!(step.from.hour() >= 8 && (step.to.hour() < 20 || step.to.minute() == 0), "{step:?}");
    }
}

/// A cake for the timetable: marzipan under icing, ganache, a pressed mark, a thick bar.
const DRESSED: &str = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[95, 0], [95, 190]]\n\
    [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n[[covering]]\nmaterial = \"marzipan\"\nthickness = 4\n\
    [[covering]]\nmaterial = \"ganache\"\nthickness = 4\n\
    [[tier]]\nname = \"one\"\nfilling = { material = \"milk ganache\", thickness = 5 }\n\
    [[tier.layer]]\npan = { round = \"8 in\" }\nheight = 45\nmaterial = \"fruit cake\"\n\
    [[tier.layer]]\npan = { round = \"8 in\" }\nheight = 45\nmaterial = \"fruit cake\"\n\
    [[tier.layer]]\npan = { round = \"8 in\" }\nheight = 45\nmaterial = \"mud cake\"\n\
    [[tier.layer]]\npan = { round = \"8 in\" }\nheight = 45\nmaterial = \"mud cake\"\n\
    [[detail]]\nname = \"mark\"\ncut = \"icing\"\nball = { centre = [0, -95, 90], diameter = 8 }\n\
    [[detail]]\nname = \"bar\"\nadd = \"icing\"\nmaterial = \"gum paste\"\nbar = { path = [[95, 0, 60], [110, 0, 90]], \
    diameter = 26 }\n[order]\ndeliver = \"2026-12-05 10:00\"\n";

/// What a practised maker does, in which order, with what between. The hours are those of common practice: fruit cake
/// 3 to 4 h and mud cake 1 1/2 to 2 h in a pan of 8 in, a bar of 26 mm about a week, a stack 200 mm across and high 6
/// to 8 h in the cold.
#[test]
fn the_timetable_is_that_of_a_practised_maker() {
    let plan = planned(&CakeFile::from_text("x.cake.toml", "", DRESSED)).unwrap();
    let made = Timetable::new(&plan, &Amounts::new(&plan), "2026-11-01T08:00".parse().unwrap()).unwrap();
    let at = |name: &str| {
        let found = made.steps.iter().find(|step| step.what.to_string().contains(name));
        found.unwrap_or_else(|| panic!("no {name}: {}", timetable::text(&made)))
    };
    let hours = |a: &str, b: &str| at(b).from.duration_since(at(a).to).as_secs_f64() / 3600.0;
    // No load is split by the night, and each is long enough.
    let long = |name: &str| at(name).to.duration_since(at(name).from).as_secs_f64() / 3600.0;
    for step in made.steps.iter().filter(|step| matches!(step.what, Task::Bake { .. })) {
        assert_eq!(step.from.date(), step.to.date(), "{step:?}");
    }
    assert!((3.0..4.5).contains(&long("of fruit cake")) && (1.5..2.5).contains(&long("of mud cake")));
    for part in
        ["210 min at 140 °C (fan 120 °C, 275 °F, gas 1)", "105 min at 150 °C (fan 130 °C, 300 °F, gas 2)"]
    {
        at(part);
    }
    // Pressed in at once, put on after the rest.
    let pressed = at(
        "cover with rolled icing as a top and a side wrapped round, seam at the back, and press in the details at once",
    );
    assert_eq!(pressed.from.date(), pressed.to.date());
    assert!(hours("press in", "put on") >= 12.0);
    assert!(hours("cover with marzipan", "press in") >= 24.0);
    assert!(hours("make the milk ganache", "fill and stack") >= 12.0);
    assert!(hours("make the ganache", "coat with ganache") >= 12.0);
    let dries = hours("model the paste", "put on");
    assert!((6.0 * 24.0..9.0 * 24.0).contains(&dries), "{dries}");
    let chills = at("fill and stack").waits - plan.pantry.times.settle;
    assert!((6.0..=8.0).contains(&chills), "{chills}");
    // The maker's own hours come first.
    let mut pantry = Pantry::clone(&plan.pantry);
    pantry.times.firm = Some(1.0);
    let own = Plan { pantry: pantry.into(), ..plan };
    let own = Timetable::new(&own, &Amounts::new(&own), "2026-11-01T08:00".parse().unwrap()).unwrap();
    let fill = own.steps.iter().find(|step| step.what == Task::Fill).unwrap();
    assert_eq!(fill.waits, 1.0 + own_settle());
}

/// Hours that the shipped pantry lets a stack settle.
fn own_settle() -> f64 {
    Pantry::usual().times.settle
}

/// Twelve petals are no twelve times one petal.
#[test]
fn details_that_are_alike_go_faster() {
    let petal = |k: u32| {
        let (sin, cos) = (f64::from(k) * 0.5).sin_cos();
        format!(
            "[[detail]]\nname = \"petal {k}\"\nadd = \"icing\"\nmaterial = \"gum paste\"\nball = {{ centre = [{}, {}, 30], \
             diameter = 14 }}\n",
            60.0 * cos,
            60.0 * sin
        )
    };
    let minutes = |petals: u32| {
        let text = CAKE.to_owned() + &(0..petals).map(petal).collect::<String>();
        let plan = planned(&CakeFile::from_text("x.cake.toml", "", text)).unwrap();
        WorkMinutes::new(&plan, &Amounts::new(&plan)).of(WorkKind::Details)
    };
    assert_eq!((minutes(1), minutes(2), minutes(12)), (12.0, 15.0, 45.0));
}

/// A shipped recipe's rise is its batter's density over the cake's less what the oven takes, a twentieth to a sixth;
/// and the pans reach the height that they are said to reach.
#[test]
fn shipped_recipes_agree_with_their_own_densities() {
    let pantry = Pantry::usual();
    for (name, recipe) in &pantry.recipes {
        let (Some(batter), Some(rise), Some(fill)) = (recipe.batter_density, recipe.rise, recipe.fill())
        else {
            continue;
        };
        let cake = plan::design::material::built_in(name).unwrap().density;
        let lost = 1.0 - rise * cake / batter;
        assert!((0.05..0.17).contains(&lost), "{name} loses {lost}");
        for pan in &pantry.pans {
            assert!(fill * rise * pan.depth >= pan.level, "{name} in {:?}", pan.shape);
        }
        // What is raised by no powder is raised by as much egg as flour.
        let raised = ["baking powder", "baking soda"].iter().any(|powder| recipe.parts.contains_key(*powder));
        assert!(raised || recipe.parts["egg"] >= recipe.parts["flour"], "{name}");
        assert!(recipe.minutes.is_some() && recipe.temperature.is_some(), "{name}");
        assert!(recipe.parts.keys().all(|part| pantry.goods.contains_key(part)), "{name}");
    }
    // Published charts for round fruit cakes: 6 in about 2 1/2 h, 8 in 3 1/4, 10 in 4 1/4, 12 in 5 1/2 (common
    // practice, from memory).
    let fruit = pantry.recipe("fruit cake");
    for (inches, hours) in [(6.0, 2.5), (8.0, 3.25), (10.0, 4.25), (12.0, 5.5)] {
        let pan = pantry.pan(PanShape::Round(25.4 * inches)).unwrap();
        let got = fruit.minutes_in(pan).unwrap() / 60.0;
        assert!((got / hours - 1.0).abs() < 1.0 / 6.0, "{inches} in: {got} h");
    }
}

#[test]
fn a_date_that_cannot_be_met_is_said_with_the_first_that_can() {
    let amounts = Amounts::new(&toadstool());
    let made =
        |deliver: &str, today: &str| Timetable::new(&ordered(deliver), &amounts, today.parse().unwrap());
    let short = made("2026-12-05 10:00", "2026-12-04T12:00").unwrap();
    assert_eq!(short.findings[0].code, "date-not-met");
    let past = made("2026-12-05 10:00", "2026-12-06T12:00").unwrap();
    assert_eq!(past.findings[0].code, "date-in-the-past");
    let undated = Plan { order: Order::default(), ..toadstool() };
    let none = Timetable::new(&undated, &amounts, "2026-12-06T12:00".parse().unwrap());
    assert_eq!(none.unwrap_err(), TimeError::NoDate);
}

/// Read back by the crate that writes it, in its own parser; and the same bytes each time.
#[test]
fn the_calendar_reads_back_and_is_the_same_each_time() {
    let plan = ordered("2026-12-05 10:00");
    let today = "2026-11-20T08:00".parse().unwrap();
    let made = Timetable::new(&plan, &Amounts::new(&plan), today).unwrap();
    let text = timetable::calendar(&made, today);
    assert_eq!(text, timetable::calendar(&made, today));
    // RFC 5545, 3.1: lines end in CR LF and hold at most 75 octets.
    assert!(text.split("\r\n").all(|line| line.len() <= 75 && !line.contains('\n')), "{text}");
    assert_eq!(text.matches("BEGIN:VEVENT").count(), made.steps.len());
    assert!(text.contains("DTEND:20261205T100000"), "{text}");
}
