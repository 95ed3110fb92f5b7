//! Quote, timetable and batch.

use std::fs;

use assert_cmd::Command;
use crumbline::{
    amounts::Amounts,
    arrange::{self, Aim, Effort},
    cakefile::{CakeFile, schema_pantry::Order},
    geom::{Cancel, progress::NoProgress},
    pantry::Pantry,
    plan::{Plan, Planner},
    quote::{self, Item, Quote},
    timetable::{self, Task, TimeError, Timetable},
};

const PRICES: &str = r#"
crumbline = 1
[pantry.goods.butter]
price = 3.19
[pantry.goods.sugar]
price = 1.29
[pantry.goods.egg]
price = 2.4
[pantry.goods.flour]
price = 0.99
[pantry.goods."powdered sugar"]
price = 1.79
[pantry.money]
hour = 24
overhead = 6
margin = 0.15
tax = 0.19
deposit = 0.5
road = 30
"#;

fn toadstool() -> Plan {
    let text = include_str!("../../assets/examples/toadstool-house/toadstool-house.cake.toml");
    crate::planned(&CakeFile::from_text("toadstool", "assets/examples/toadstool-house", text)).unwrap()
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
    }
}

#[test]
fn a_quote_adds_up_to_the_coin_and_guesses_no_price() {
    let plan = Plan { pantry: priced().into(), ..ordered("2026-12-05 10:00") };
    let amounts = Amounts::new(&plan);
    let quote = Quote::new(&plan, &amounts, 0.0).unwrap();
    assert_eq!(quote.costs, quote.lines.iter().map(|line| line.price).sum::<i64>());
    assert_eq!(quote.net, quote.costs + quote.margin);
    assert_eq!(quote.gross, quote.net + quote.tax);
    assert_eq!(quote.gross, quote.deposit + quote.balance);
    assert_eq!(quote.tax, (quote.net as f64 * 0.19).round() as i64);
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
    assert_eq!(quote.price(-1205), "-12.05 EUR");
}

#[test]
fn the_clients_page_holds_none_of_the_costs() {
    let folder = tempfile::tempdir().unwrap();
    let pantry = folder.path().join("prices.toml");
    fs::write(&pantry, PRICES).unwrap();
    let cake = "assets/examples/toadstool-house/toadstool-house.cake.toml";
    Command::cargo_bin("crumbline")
        .unwrap()
        .args(["quote", cake, "--pantry"])
        .arg(&pantry)
        .arg("--out")
        .arg(folder.path().join("out"))
        .assert()
        .success();
    let words = |name: &str| {
        let file = folder.path().join("out").join(name);
        let output = std::process::Command::new("pdftotext").args(["-layout"]).arg(&file).arg("-").output();
        output
            .ok()
            .filter(|output| output.status.success())
            .map(|o| String::from_utf8_lossy(&o.stdout).into_owned())
    };
    let Some(client) = words("toadstool-house-quote.pdf") else {
        println!("skipped: no pdftotext (poppler-utils)");
        return;
    };
    for part in
        ["Deposit", "milk", "Serves", "Hidden in the cake", "Take out every board, dowel, stick and wire"]
    {
        assert!(client.contains(part), "{part} in {client}");
    }
    let json = fs::read_to_string(folder.path().join("out/toadstool-house-bench-costs.json")).unwrap();
    let quote: serde_json::Value = serde_json::from_str(&json).unwrap();
    // Every dowel of the plan is on the page, with its count and its place.
    let listed = quote["hidden"].as_array().unwrap();
    let count = |hidden: &serde_json::Value| hidden["count"].as_u64().unwrap();
    assert_eq!(listed.iter().map(count).sum::<u64>() as usize, toadstool().stack.dowels.len());
    for hidden in listed {
        let (what, place) = (hidden["what"].as_str().unwrap(), hidden["place"].as_str().unwrap());
        let row = format!("{} × {what}, {place}", count(hidden));
        assert!(client.contains(&row), "{row} in {client}");
    }
    for part in ["margin", "Margin", "overhead", "carving", "powdered sugar", "Work"] {
        assert!(!client.contains(part), "{part} in {client}");
    }
    let bench = words("toadstool-house-bench-costs.pdf").unwrap();
    for part in ["Margin", "carving", "powdered sugar", "Overhead"] {
        assert!(bench.contains(part), "{part} in {bench}");
    }
}

/// Sticks and wires that the cake file lists are on the client's page too, and no page states a price of nothing.
#[test]
fn the_clients_page_counts_wires_and_states_no_price_of_nothing() {
    let text = include_str!("../../assets/examples/toadstool-house/toadstool-house.cake.toml");
    let more = "\n[[support.hidden]]\nwhat = \"wire\"\ncount = 6\nwhere = \"in the flowers\"\n";
    let file = CakeFile::from_text("toadstool", "assets/examples/toadstool-house", format!("{text}{more}"));
    let plan = crate::planned(&file).unwrap();
    let quote = Quote::new(&plan, &Amounts::new(&plan), 0.0).unwrap();
    assert_eq!(quote.hidden_count(), plan.stack.dowels.len() + 6);
    let pages = quote::pages(&quote, &plan.design.paper, quote::Side::Client);
    let page = crumbline::export::svg::svg("", &pages[0]);
    let all = format!("{} in all", quote.hidden_count());
    for part in ["6 × pieces of wire, in the flowers", &all, "The price follows."] {
        assert!(page.contains(part), "{part} in {page}");
    }
    assert!(!page.contains("0.00 EUR"), "{page}");
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
        Plan::new(&crate::source(&file).with_pantry(pantry.clone())).unwrap()
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
    let source = crate::source(&file).with_pantry(pantry);
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
    assert!(at("carve").tight && at("bake").tight);
    // Nothing but the road is done at night.
    for step in made.steps.iter().filter(|step| step.what != Task::Travel) {
        assert!(step.from.hour() >= 8 && (step.to.hour() < 20 || step.to.minute() == 0), "{step:?}");
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

#[test]
fn one_wrong_order_does_not_stop_the_others() {
    let folder = tempfile::tempdir().unwrap();
    let good = |name: &str, height: u32| {
        format!(
            "crumbline = 1\nname = \"{name}\"\n[shape.turned]\npoints = [[80, 0], [70, {height}]]\n[[covering]]\n\
             material = \"ganache\"\nthickness = 5\n[order]\nserves = 20\n"
        )
    };
    fs::write(folder.path().join("a.cake.toml"), good("first", 90)).unwrap();
    fs::write(folder.path().join("b.cake.toml"), "crumbline = 1\nname = 3\n").unwrap();
    fs::write(folder.path().join("c.cake.toml"), good("third", 100)).unwrap();
    fs::write(folder.path().join("notes.txt"), "no order").unwrap();
    let output = Command::cargo_bin("crumbline")
        .unwrap()
        .args(["batch", "--json", "--out"])
        .arg(folder.path().join("out"))
        .arg(folder.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let batch: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let (rows, failed) = (batch["rows"].as_array().unwrap(), batch["failed"].as_array().unwrap());
    assert_eq!((rows.len(), failed.len()), (2, 1), "{batch}");
    let alone: u64 = rows.iter().map(|row| row["loads"].as_u64().unwrap()).sum();
    assert!(batch["loads"].as_u64().unwrap() <= alone);
    let orders = fs::read_to_string(folder.path().join("out/orders.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(orders.as_bytes());
    assert_eq!(reader.records().filter(Result::is_ok).count(), 3);
}
