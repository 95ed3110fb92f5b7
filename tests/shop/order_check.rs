//! What keeps an order from being met is told with its fix, and the client's page says so.

use cakefile::CakeFile;
use formats::export::svg::svg;
use make::language::Language;
use plan::{Plan, pantry::Pantry};
use shop::{
    amounts::Amounts,
    order_check::{self, Concern, NoteKind, OrderCheck},
    overview::overview,
    quote::{self, Quote, Side},
};

use crate::{
    orders_text::{CAKE, PRICES},
    plans::source,
};

const BOARD: &str = "[board]\nround = 180\nthickness = 12\n";
const TODAY: &str = "2026-11-20T08:00";

/// The plan of [`CAKE`] on a board with `more` under it, by the priced pantry with `pantry` over it.
fn plan(board: &str, more: &str, pantry: &str) -> Plan {
    let priced = Pantry::usual().with_file(&CakeFile::from_text("prices.toml", "", PRICES)).unwrap();
    let own = CakeFile::from_text("own.toml", "", format!("crumbline = 1\n{pantry}"));
    let pantry = if pantry.is_empty() { priced } else { priced.with_file(&own).unwrap() };
    let file = CakeFile::from_text("x.cake.toml", "", format!("{CAKE}{board}{more}"));
    Plan::new(&source(&file).with_pantry(pantry)).unwrap()
}

fn checked(plan: &Plan) -> (OrderCheck, Quote) {
    let amounts = Amounts::new(plan);
    let quote = Quote::new(plan, &amounts, 0.0).unwrap();
    (OrderCheck::new(plan, &amounts, Ok(&quote), TODAY.parse().unwrap()), quote)
}

/// What is open, with its words.
fn open(board: &str, more: &str, pantry: &str) -> Vec<(Concern, String)> {
    let (check, _) = checked(&plan(board, more, pantry));
    check
        .open
        .into_iter()
        .map(|point| (point.concern, format!("{}; fix: {}", point.message, point.fix)))
        .collect()
}

fn client(plan: &Plan) -> String {
    let (check, quote) = checked(plan);
    svg("", &quote::pages(&quote, &check, &plan.design.paper, Side::Client, &Default::default())[0])
}

#[test]
fn nothing_is_open_where_all_is_met() {
    let order = "[order]\nserves = 3\ndeliver = \"2026-12-05 10:00\"\nwithout = [\"nuts\", \"sesame\"]\n";
    assert_eq!(open(BOARD, order, ""), []);
    let page = client(&plan(BOARD, order, ""));
    for part in [
        "Contains: egg, milk, wheat (gluten).",
        "The labels name no other of the 14",
        "Deposit, when you order",
    ] {
        assert!(page.contains(part), "{part} in {page}");
    }
    for part in ["INCOMPLETE", "Not declared"] {
        assert!(!page.contains(part), "{part} in {page}");
    }
}

#[test]
fn each_point_is_told_alone_with_its_fix() {
    let detail = "[material.\"nut paste\"]\nlike = \"marzipan\"\n[[detail]]\nname = \"ball\"\nadd = \"icing\"\nmaterial = \
                  \"nut paste\"\nball = { centre = [0, -52, 20], diameter = 20 }\n";
    let handle = "[[detail]]\nname = \"handle\"\nadd = \"icing\"\nmaterial = \"sugar paste\"\nbar = { path = [[50, 0, 20], \
                  [85, 0, 30]], diameter = 10 }\n";
    let declared = "[pantry.goods.\"nut paste\"]\nprice = 3\nallergens = ";
    let paste = "[pantry.goods.\"sugar paste\"]\nprice = 3\nallergens = []\n";
    for (board, more, pantry, concern, parts) in [
        (BOARD, "[order]\nserves = 30\n", "", Concern::Servings, ["30 servings", "--serve 30"]),
        // 152.4 mm under 120 mm leave 16.2 mm all round.
        ("[board]\nround = \"6 in\"\nthickness = 12\n", "", "", Concern::Board, ["16 mm", "round 170 mm"]),
        (
            "[board]\nround = \"2 in\"\nthickness = 12\n",
            "",
            "",
            Concern::Board,
            ["35 mm", "beyond its presentation board"],
        ),
        // The handle ends at 85 mm plus its half thickness, the board at 90.
        (BOARD, handle, paste, Concern::Board, ["with everything that sticks out", "comes within"]),
        (
            BOARD,
            "[pantry.spaces]\nfridge = [500, 170, 300]\n",
            "",
            Concern::Room,
            ["180 mm wide", "fridge holds 500 mm"],
        ),
        (
            BOARD,
            "[pantry.spaces]\nbox = [200, 200, 50]\n",
            "",
            Concern::Room,
            ["52 mm high", "box holds 200 mm"],
        ),
        (
            BOARD,
            "[pantry.goods.sugar]\nprice = 0\n",
            "",
            Concern::Price,
            ["no price for sugar", "[pantry.goods]"],
        ),
        (
            BOARD,
            "[order]\ndeliver = \"2026-11-20 10:00\"\n",
            "",
            Concern::Date,
            ["would have had to begin", "first day"],
        ),
        (BOARD, "[order]\ndeliver = \"2026-11-19 10:00\"\n", "", Concern::Date, ["has passed", "deliver"]),
        (
            BOARD,
            "[order]\nwithout = [\"gluten\"]\n",
            "",
            Concern::Without,
            ["wheat (gluten) in flour, used for sponge", "tell the client"],
        ),
        (
            BOARD,
            "[order]\nwithout = [\"flour\"]\n",
            "",
            Concern::Without,
            ["flour by its name", "tell the client"],
        ),
        (BOARD, "[order]\nwithout = [\" \"]\n", "", Concern::Without, ["names nothing", "take it out"]),
        (
            BOARD,
            detail,
            "[pantry.goods.\"nut paste\"]\nprice = 3\n",
            Concern::UndeclaredAllergens,
            ["say what is in it: allergens of \"nut paste\"", "allergens, [] for none"],
        ),
        (
            BOARD,
            &format!("{detail}[order]\nwithout = [\"nuts\"]\n"),
            &format!("{declared}[\"almond (nuts)\"]\n"),
            Concern::Without,
            ["almond (nuts) in nut paste", "label"],
        ),
    ] {
        let open = open(board, more, pantry);
        assert_eq!(
            open.iter().map(|(concern, _)| *concern).collect::<Vec<_>>(),
            [concern],
            "{more}: {open:?}"
        );
        for part in parts {
            assert!(open[0].1.contains(part), "{part} in {}", open[0].1);
        }
    }
    // Declared to have none, like marzipan or not: nothing is open and marzipan's almonds are not in it.
    assert_eq!(
        open(BOARD, &format!("{detail}[order]\nwithout = [\"nuts\"]\n"), &format!("{declared}[]\n")),
        []
    );
}

/// None of the other's allergens, and not none: it is not declared.
#[test]
fn a_material_like_another_declares_nothing() {
    let text = CAKE.replace(
        "[[tier.layer]]",
        "filling = { material = \"hazelnut spread\", thickness = 5 }\n[[tier.layer]]\npan = { round = \"6 in\" }\nheight \
         = 15\n[[tier.layer]]",
    );
    let text = text.replace("height = 40\n", "height = 20\n")
        + "[material.\"hazelnut spread\"]\nlike = \"buttercream\"\n[order]\nwithout = [\"nuts\"]\n";
    let plan = crate::plans::planned(&CakeFile::from_text("x.cake.toml", "", text)).unwrap();
    let amounts = Amounts::new(&plan);
    assert_eq!(amounts.shopping.undeclared, ["baking powder", "hazelnut spread"]);
    assert!(!amounts.shopping.bought.iter().any(|bought| bought.name == "powdered sugar"));
    let (check, _) = checked(&plan);
    let concerns: Vec<Concern> = check.open.iter().map(|point| point.concern).collect();
    assert!(concerns.starts_with(&[Concern::Without, Concern::UndeclaredAllergens]), "{check:?}");
    assert!(check.open[0].message.contains("hazelnut spread by its name"), "{check:?}");
    let page = client(&plan);
    for part in [
        "Not declared for: baking powder, hazelnut spread; read the label.",
        "INCOMPLETE",
        "The price follows.",
    ] {
        assert!(page.contains(part), "{part} in {page}");
    }
    let said = shop::amounts::text(&amounts, &plan, Language::english());
    assert!(said.contains("Not declared for: baking powder, hazelnut spread."), "{said}");
}

/// The shipped pantry has no prices: no total, and no price of nothing, is printed anywhere.
#[test]
fn no_price_is_told_while_something_has_none() {
    let bare = CakeFile::from_text("x.cake.toml", "", format!("{CAKE}{BOARD}"));
    let plan = crate::plans::planned(&bare).unwrap();
    let (check, quote) = checked(&plan);
    assert_eq!(quote.charged, None);
    let table = String::from_utf8(quote::csv(&quote).unwrap()).unwrap();
    let json = serde_json::to_string(&quote).unwrap();
    assert!(json.contains("\"charged\":null"), "{json}");
    for said in [quote::text(&quote, Language::english()), client(&plan), table] {
        assert!(!said.contains("EUR 0.00") && !said.contains(",0.00") && !said.contains("eposit"), "{said}");
    }
    assert!(order_check::text(&check, Language::english()).contains("nothing has a price yet"));
    // Once something has one, what is left is told by name.
    let flour = "[pantry.goods.flour]\npack = 1000\nprice = 1.5\n";
    let some = CakeFile::from_text("x.cake.toml", "", format!("{CAKE}{BOARD}{flour}"));
    let (check, _) = checked(&crate::plans::planned(&some).unwrap());
    assert!(
        order_check::text(&check, Language::english()).contains(
            "no price for baking powder, butter, egg, milk, sugar, presentation board, hours of work"
        )
    );
}

#[test]
fn an_unsafe_cake_has_no_price_either() {
    let text = format!("{CAKE}{BOARD}").replace("[[60, 0], [60, 40]]", "[[80, 0], [80, 40]]");
    let plan = crate::plans::planned(&CakeFile::from_text("x.cake.toml", "", text)).unwrap();
    let (check, _) = checked(&plan);
    assert_eq!(check.open[0].concern, Concern::Unsafe, "{check:?}");
    assert!(check.open[0].message.contains("to fix first"), "{check:?}");
}

/// What travels apart is measured apart.
#[test]
fn tiers_that_travel_apart_need_no_higher_car() {
    let two = "[[tier]]\nname = \"two\"\nboard = { round = 100, thickness = 4 }\n[[tier.layer]]\npan = { round = \"6 in\" \
               }\nheight = 40\n[pantry.spaces]\nbox = [200, 200, 60]\n";
    let text = format!("{CAKE}{two}{BOARD}").replace("[60, 40]", "[60, 84]");
    let rooms = |text: String| {
        let plan = crate::plans::planned(&CakeFile::from_text("x.cake.toml", "", text)).unwrap();
        checked(&plan).0.open.iter().filter(|point| point.concern == Concern::Room).count()
    };
    assert_eq!(rooms(text.clone()), 1);
    assert_eq!(rooms(format!("{text}[support]\napart = [\"two\"]\n")), 0);
}

/// The first screen in German says of every kind of open point something of its own, and names what it is about.
#[test]
fn the_first_screen_is_german_where_it_is_asked_for() {
    let german = Language::shipped("de").unwrap();
    for code in Concern::ALL.map(Concern::as_str).into_iter().chain(NoteKind::ALL.map(NoteKind::as_str)) {
        assert!(german.finding(code).is_some(), "{code}");
    }
    let plan =
        plan("", "[order]\nserves = 900\nwithout = [\"milk\"]\n", "[pantry.spaces]\nfridge = [10, 10, 10]\n");
    let (check, _) = checked(&plan);
    let said = |language: &Language| {
        let screen = overview(&plan, &Amounts::new(&plan), &check, language);
        screen.text() + &screen.notes()
    };
    let (own, told) = (said(&german), said(Language::english()));
    for part in [
        "Klären",
        "Es sind weniger Portionen als gewünscht",
        "passt die Torte nicht hinein: Kühlschrank",
        "Etwas ist darin, was nicht darin sein soll: Milch",
        "Nirgends steht, auf welcher Tortenplatte sie steht",
        "Ofenfüllung",
    ] {
        assert!(words(&own).contains(part), "{part}: {own}");
    }
    for part in ["servings are wanted", "fridge holds", "without milk", "Decide", "oven load"] {
        assert!(words(&told).contains(part) && !words(&own).contains(part), "{part}: {told}\n{own}");
    }
}

/// Words with single spaces between them, wherever lines were broken.
fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
