//! The page as a file.

use std::sync::Arc;

use cakefile::{CakeFile, schema::Cake, world::Memory};
use geom::progress::NoProgress;
use jiff::civil::date;
use make::language::Language;
use plan::{Plan, Source, pantry::Pantry};
use shop::{
    amounts::Amounts,
    maker_look::MakerLook,
    order_check::OrderCheck,
    quote::Quote,
    share::{self, Facts, MESH_BUDGET, Meshes, Page, Parts, Picture, WorkedOut},
};

use crate::{
    orders_text::CAKE,
    plans,
    reference::{asked, python},
    repository,
};

/// A cake with its page's other parts.
pub struct Made {
    pub plan: Plan,
    pub cake: Cake,
    pub quote: Quote,
    pub check: OrderCheck,
    pub source: Source,
    /// Prices of sizes that are offered without one.
    pub prices: Vec<WorkedOut>,
}

impl Made {
    fn of(source: &Source) -> Self {
        let cake = source.cake.parse().document.expect("a cake");
        let plan = Plan::new(source).unwrap_or_else(|error| panic!("{error:?}"));
        let amounts = Amounts::new(&plan);
        let quote = Quote::new(&plan, &amounts, 0.0).unwrap();
        let check = OrderCheck::new(&plan, &amounts, Ok(&quote), date(2026, 11, 20).at(8, 0, 0, 0));
        Self { plan, cake, quote, check, source: source.clone(), prices: Vec::new() }
    }

    /// A cake with the usual pantry.
    pub fn of_text(text: &str) -> Self {
        Self::of(&plans::source(&CakeFile::from_text("test.cake.toml", "", text)))
    }

    fn page(&self, language: &Language, pictures: &[Picture], before: Option<&Facts>) -> String {
        let parts = Parts::new(&self.plan, language).unwrap();
        let meshes = Meshes::new(&parts, MESH_BUDGET, &NoProgress);
        share::page(&Page {
            plan: &self.plan,
            quote: &self.quote,
            check: &self.check,
            parts: &parts,
            meshes: &meshes,
            pictures,
            mark: &share::mark(&self.cake, &self.plan.offer),
            files: &["cake.glb".to_owned(), "cake.usdz".to_owned()],
            before,
            prices: &self.prices,
            look: &MakerLook::of(&self.source, &self.plan.pantry.maker).unwrap(),
            language,
        })
    }
}

/// A cake of one layer with prices, under `name`, with more in its file.
pub fn small(name: &str, more: &str) -> Made {
    let name = toml::Value::String(name.to_owned()).to_string();
    let text = CAKE.replacen("name = \"x\"", &format!("name = {name}"), 1) + more;
    let pantry =
        std::fs::read_to_string(repository::root().join("assets/examples/priced.pantry.toml")).unwrap();
    let pantry = Pantry::usual().with_file(&CakeFile::from_text("pantry.toml", "", pantry)).unwrap();
    Made::of(&plans::source(&CakeFile::from_text("test.cake.toml", "", text)).with_pantry(pantry))
}

/// A picture that does not grow small: every pixel another colour.
fn picture(name: &str) -> Picture {
    let mut state = 1_u32;
    let noisy = image::RgbImage::from_fn(1200, 900, |_, _| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        image::Rgb([state, state >> 8, state >> 16].map(|n| (n >> 8) as u8 / 8 + 100))
    });
    Picture::new(name, noisy.into()).unwrap()
}

#[test]
fn the_page_of_the_main_example_goes_with_a_letter() {
    let made = Made::of(&plans::example_source("toadstool-house"));
    let parts = Parts::new(&made.plan, Language::english()).unwrap();
    assert_eq!(parts.stages, ["Baked and stacked", "Carved", "With white ganache", "Finished"]);
    // As good as the window's own meshes: the budget takes nothing away.
    let meshes = Meshes::new(&parts, MESH_BUDGET, &NoProgress);
    assert_eq!(meshes.error_mm, 0.0);
    let pictures: Vec<Picture> = ["a", "b", "c", "d"].map(picture).to_vec();
    let page = made.page(Language::english(), &pictures, None);
    assert!(page.len() <= 400_000, "{} bytes", page.len());
    assert!(page.len() > 100_000, "{} bytes", page.len());
}

/// What is too heavy is simplified within a stated error, as far as that is allowed.
#[test]
fn a_small_budget_is_met_or_said_not_to_be() {
    let made = Made::of(&plans::example_source("toadstool-house"));
    let parts = Parts::new(&made.plan, Language::english()).unwrap();
    let whole = Meshes::new(&parts, usize::MAX, &NoProgress);
    let budget = whole.packed.bytes.len() / 2;
    let lighter = Meshes::new(&parts, budget, &NoProgress);
    assert!(
        lighter.fits(budget) && lighter.error_mm > 0.0 && lighter.error_mm <= 0.8,
        "{}",
        lighter.error_mm
    );
    let least = Meshes::new(&parts, 10, &NoProgress);
    assert!(!least.fits(10) && least.error_mm == 0.8);
}

/// The policy allows this script and this style by their hashes and nothing from elsewhere; and nothing is asked for.
#[test]
fn the_page_is_closed_to_the_network() {
    use base64::{Engine, prelude::BASE64_STANDARD};
    use sha2::{Digest, Sha256};
    let page = small("Plain", "").page(Language::english(), &[picture("front")], None);
    let between = |open: &str, close: &str| {
        let (_, rest) = page.split_once(open).unwrap_or_else(|| panic!("no {open}"));
        rest.split_once(close).unwrap().0
    };
    let policy = between("Content-Security-Policy\" content=\"", "\"");
    let hash = |text: &str| format!("'sha256-{}'", BASE64_STANDARD.encode(Sha256::digest(text.as_bytes())));
    let expected = format!(
        "default-src 'none'; script-src {}; style-src {}; img-src data:; base-uri 'none'; form-action 'none'",
        hash(between("<script>", "</script>")),
        hash(between("<style>", "</style>"))
    );
    assert_eq!(policy, expected);
    assert_eq!(page.matches("<script>").count(), 1);
    for asks in [
        "http:",
        "https:",
        "//cdn",
        "@import",
        "url(",
        " style=",
        " onclick",
        "fetch(",
        "XMLHttp",
        "src=\"http",
    ] {
        assert!(!page.contains(asks), "{asks}");
    }
    let order = |text: &str| page.find(text).unwrap();
    // Before anything that it is to hold for.
    assert!(order("Content-Security-Policy") < order("<style>"));
}

#[test]
fn names_of_any_kind_are_text_and_nothing_else() {
    let evil = "</script><script>alert(1)</script><img src=x onerror=alert(1)>\" onload=\"x' & \u{202e}gnp";
    let quoted = toml::Value::String(evil.to_owned()).to_string();
    let more = format!(
        "[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\n[order]\nclient = {quoted}\nserves = 5\n[[offer.size]]\nserves = 9\n\
         [[offer.colour]]\nname = \"<b>Icing</b>\"\nof = [\"rolled icing\"]\ncolours = [{{ name = \"\\\"><i>🍰 שלום\", colour = \"#f6efe0\" }}]\n\
         [pantry.maker]\nname = {quoted}\naddress = [{quoted}]\nemail = \"a'b@example.org\"\n"
    );
    let made = small(evil, &more);
    let page = made.page(Language::english(), &[picture(evil)], None);
    // The elements are those of a page with harmless names: nothing of a name begins one.
    let harmless = more
        .replace(&quoted, "\"Anna\"")
        .replace("<b>Icing</b>", "Icing")
        .replace("\\\"><i>🍰 שלום", "cream");
    let plain = small("Plain", &harmless).page(Language::english(), &[picture("Plain")], None);
    let tags = |page: &str| {
        let body = page.split_once("</style>").unwrap().1;
        let tags = body.split('<').skip(1).map(|part| part.split([' ', '>']).next().unwrap().to_owned());
        tags.collect::<Vec<_>>()
    };
    assert_eq!(tags(&page), tags(&plain));
    assert!(!page.contains('\u{202e}'));
    assert!(page.contains("&lt;/script&gt;&lt;script&gt;alert(1)") && page.contains("🍰 שלום"));
    assert!(page.contains("href=\"mailto:a&#39;b@example.org\""));
    // Data of the script is JSON whatever is in it.
    let (_, rest) = page.split_once("id=\"model\">").unwrap();
    let model: serde_json::Value = serde_json::from_str(rest.split_once("</script>").unwrap().0).unwrap();
    assert_eq!(model["choices"][0], "<b>Icing</b>");
}

#[test]
fn the_page_tells_what_the_quote_tells_and_whether_it_is_complete() {
    let order = "[order]\nclient = \"Anna\"\ndeliver = \"2026-12-05 10:00\"\nserves = 3\n[pantry.maker]\nemail = \"a@example.org\"\n";
    let made = small("Drum", order);
    assert!(made.check.is_clear(), "{:?}", made.check.open);
    let page = made.page(Language::english(), &[], None);
    let price = made.quote.price(made.quote.charged.unwrap().gross);
    for part in [
        "For: Anna",
        "Delivered: Saturday 5 December 2026, 10:00",
        "20 November 2026; valid until 4 December 2026",
        &price,
        "Deposit, when you order",
        "Contains: egg, milk, wheat (gluten).",
        "Keep it cold and level on the way",
        "This is what I want",
        "mailto:a@example.org",
        "cake.glb",
        "<svg class=\"outline\"",
        "lang=\"en\"",
    ] {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("INCOMPLETE") && !page.contains("<img"));
    // None of the maker's costs.
    let hour = made.quote.price(made.quote.group(shop::quote::Group::Work));
    assert!(!page.contains(&hour), "{hour}");
    // A point is open: so many are not served.
    let open =
        small("Drum", &order.replace("serves = 3", "serves = 300")).page(Language::english(), &[], None);
    assert!(open.contains("INCOMPLETE") && open.contains("this page is no offer yet"));
    let german = made.page(&Language::shipped("de").unwrap(), &[], None);
    for part in ["lang=\"de\"", "Für: Anna", "So möchte ich sie haben", "Allergene", "Gebacken und gestapelt"]
    {
        assert!(german.contains(part), "{part}");
    }
    let told = german.split("<script").next().unwrap();
    for english in ["This is what", "Price", "Serves", "Drag to", "Your choice", "Finished", "Before"] {
        assert!(!told.contains(english), "{english}");
    }
}

/// The maker's colours are on the page, light and dark, and every pair of letters and ground that its style makes of them can be
/// read (WCAG 2.2, 1.4.3); on paper it stays black on white.
#[test]
fn the_page_has_the_makers_colours_and_logo() {
    use base64::{Engine, prelude::BASE64_STANDARD};
    use formats::{colour::contrast, model::Rgb};
    let read = |block: &str, name: &str| -> Rgb {
        let (_, rest) =
            block.split_once(&format!("--{name}:#")).unwrap_or_else(|| panic!("no {name} in {block}"));
        let number = u32::from_str_radix(&rest[..6], 16).unwrap();
        Rgb((number >> 16) as u8, (number >> 8) as u8, number as u8)
    };
    let drawing =
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 6\"><path d=\"M0 0h9v6z\"/></svg>";
    let world = Memory::new().with("logo.svg", drawing.as_bytes());
    let file = |text: &str| CakeFile::from_text("test.cake.toml", "", text);
    let named = file(&format!("{CAKE}[pantry.maker]\nname = \"<Bakery>\"\nlogo = \"logo.svg\"\n"));
    let page = Made::of(&Source::new(named, Arc::new(world))).page(Language::english(), &[], None);
    let (_, logo) = page.split_once("<p class=\"logo\"><img src=\"data:image/png;base64,").unwrap();
    let (png, rest) = logo.split_once('"').unwrap();
    let decoded = image::load_from_memory(&BASE64_STANDARD.decode(png).unwrap()).unwrap();
    // 9 : 6 in a room of 560 by 240, shown half as large.
    assert_eq!((decoded.width(), decoded.height()), (360, 240));
    assert!(rest.starts_with(" width=\"180\" height=\"120\" alt=\"&lt;Bakery&gt;\""), "{}", &rest[..60]);
    for (accent, ground) in [("#ffd400", "#fffdf0"), ("#123456", "#101820"), ("#777777", "#787878")] {
        let maker =
            format!("[pantry.maker]\nname = \"Bakery\"\naccent = \"{accent}\"\nground = \"{ground}\"\n");
        let page = small("Drum", &maker).page(Language::english(), &[], None);
        let style = page.split_once("<style>").unwrap().1.split_once("</style>").unwrap().0;
        let blocks: Vec<&str> = style.lines().filter(|line| line.starts_with("@media screen")).collect();
        let is_dark = ground == "#101820";
        assert_eq!(blocks.len(), if is_dark { 1 } else { 2 }, "{blocks:?}");
        assert!(
            blocks[0].contains(&format!("--accent:{accent}"))
                && blocks[0].contains(&format!("--paper:{ground}"))
        );
        for block in blocks {
            for (letters, on) in [
                ("ink", "paper"),
                ("ink", "stage"),
                ("soft", "paper"),
                ("soft", "stage"),
                ("link", "paper"),
                ("link", "stage"),
                ("caution", "paper"),
                ("on-accent", "accent"),
            ] {
                let has = contrast(read(block, letters), read(block, on));
                assert!(has >= 4.5, "{letters} on {on}: {has} in {block}");
            }
        }
    }
    let plain = small("Drum", "[pantry.maker]\nname = \"Bakery\"\n").page(Language::english(), &[], None);
    assert!(!plain.contains("@media screen{") && !plain.contains("class=\"logo\""));
}

/// A second page says what has changed since the first, and nothing else.
#[test]
fn a_later_page_tells_what_has_changed() {
    let coat = |colour: &str| {
        format!(
            "[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\ncolour = \"{colour}\"\n[order]\nserves = 3\n[[offer.colour]]\nname = \
             \"Icing\"\nof = [\"rolled icing\"]\ncolours = [{{ name = \"cream\", colour = \"#f6efe0\" }}]\n"
        )
    };
    let first = small("Drum", &coat("#f6efe0"));
    let before = Facts::of_page(&first.page(Language::english(), &[], None)).unwrap();
    let second = small("Drum", &coat("#123456"));
    let page = second.page(Language::english(), &[], Some(&before));
    let now = Facts::of_page(&page).unwrap();
    assert_eq!(now.changed_since(&before), [["Colour: Icing", "cream (#f6efe0)", "as shown (#123456)"]]);
    assert!(page.contains("What has changed since the page") && page.contains("as shown (#123456)"));
    let same = first.page(Language::english(), &[], Some(&before));
    assert!(same.contains("Nothing has changed since the page"));
    assert!(Facts::of_page("<html></html>").is_err());
}

/// The mark is of what the client sees: a comment or a choice leaves it, anything else does not.
#[test]
fn a_mark_holds_until_the_cake_changes() {
    let base = "[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\n[[offer.colour]]\nname = \"Icing\"\nof = [\"rolled icing\"]\n\
                colours = [{ name = \"cream\", colour = \"#f6efe0\" }]\n";
    let mark = |more: &str| {
        let made = small("Drum", more);
        share::mark(&made.cake, &made.plan.offer)
    };
    let first = mark(base);
    assert_eq!(first.len(), 10);
    for same in [
        format!("# as agreed\n{base}"),
        base.replace("thickness = 3", "thickness = 3\ncolour = \"#f6efe0\""),
        format!("{base}[order]\nserves = 9\nremarks = \"With a bow\"\n"),
    ] {
        assert_eq!(mark(&same), first, "{same}");
    }
    for other in
        [base.replace("thickness = 3", "thickness = 4"), format!("{base}[order]\nclient = \"Anna\"\n")]
    {
        assert_ne!(mark(&other), first, "{other}");
    }
}

/// Against html5lib, which parses as the HTML standard says: no parse error, no id twice, nothing that names what is not there;
/// in every language, complete or not, with and without an offer, a logo, pictures and an earlier page.
#[test]
fn pages_are_html_as_the_standard_has_it() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let offer = "[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\n[order]\nserves = 3\n[[offer.size]]\nserves = 9\n\
                 [[offer.colour]]\nname = \"<i>Icing & more\"\nof = [\"rolled icing\"]\ncolours = [{ name = \"cream\\\"\", colour = \"#f6efe0\" }]\n\
                 [pantry.maker]\nname = \"<Bakery>\"\nemail = \"a'b@example.org\"\naccent = \"#ffd400\"\n";
    let mut pages = Vec::new();
    for (i, language) in Language::every_shipped().enumerate() {
        for (k, more) in ["", "[order]\nserves = 300\n", offer].into_iter().enumerate() {
            let mut made = small("A <b>&amp; \"quoted\" name", more);
            made.prices = vec![WorkedOut { serves: 9, coins: 12_300, factor: 1.3 }];
            let before = Facts::of_page(&made.page(&language, &[], None)).unwrap();
            for (before, pictures) in [(None, vec![]), (Some(&before), vec![picture("<front>")])] {
                let file = folder.path().join(format!("{i}-{k}-{}.html", pictures.len()));
                std::fs::write(&file, made.page(&language, &pictures, before)).unwrap();
                pages.push(file);
            }
        }
    }
    let told = asked(&python, "page_html.py", &pages);
    let told = told.as_object().unwrap();
    assert_eq!(told.len(), pages.len());
    for (page, faults) in told {
        assert_eq!(faults, &serde_json::json!([]), "{page}");
    }
}

/// A price that was worked out is told as such, and one that is written down comes before it.
#[test]
fn prices_that_are_worked_out_are_told_as_such() {
    let offer = "[order]\nserves = 3\n[[offer.size]]\nserves = 9\n[[offer.size]]\nserves = 12\nprice = 99\n";
    let mut made = small("Drum", offer);
    let plain = made.page(Language::english(), &[], None);
    assert!(plain.contains(">for about 9<") && !plain.contains("worked out"));
    made.prices = [9, 12].map(|serves| WorkedOut { serves, coins: 12_300, factor: 1.3 }).to_vec();
    let page = made.page(Language::english(), &[], None);
    assert!(page.contains("for about 9: about EUR 123.00") && page.contains("worked out from this cake"));
    assert!(page.contains("for about 12: EUR 99.00") && !page.contains("about 12: about"));
}

/// Zones are parts of the covering; details are what is laid on it.
#[test]
fn zones_are_not_told_as_details() {
    let zones = "[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\n[[covering.zone]]\nname = \"foot band\"\nbetween = [0, 12]\n\
                 colour = \"#6a3a8a\"\n[[detail]]\nname = \"ball\"\nadd = \"icing\"\nball = { centre = [0, 0, 44], diameter = 20 }\n";
    let page = small("Drum", zones).page(Language::english(), &[], None);
    assert!(page.contains("Parts of the covering: foot band<") && page.contains("Details: ball<"));
    let plain = small("Drum", "").page(Language::english(), &[], None);
    assert!(!plain.contains("Details:") && !plain.contains("Parts of the covering"));
}
