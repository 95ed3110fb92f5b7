//! The page as a file.

use cakefile::{CakeFile, schema::Cake};
use geom::progress::NoProgress;
use jiff::civil::date;
use make::language::Language;
use plan::{Plan, Source, pantry::Pantry};
use shop::{
    amounts::Amounts,
    order_check::OrderCheck,
    quote::Quote,
    share::{self, Facts, MESH_BUDGET, Meshes, Page, Parts, Picture},
};

use crate::{orders_text::CAKE, plans, repository};

/// A cake with its page's other parts.
pub struct Made {
    pub plan: Plan,
    pub cake: Cake,
    pub quote: Quote,
    pub check: OrderCheck,
}

impl Made {
    fn of(source: &Source) -> Self {
        let cake = source.cake.parse().document.expect("a cake");
        let plan = Plan::new(source).unwrap_or_else(|error| panic!("{error:?}"));
        let amounts = Amounts::new(&plan);
        let quote = Quote::new(&plan, &amounts, 0.0).unwrap();
        let check = OrderCheck::new(&plan, &amounts, Ok(&quote), date(2026, 11, 20).at(8, 0, 0, 0));
        Self { plan, cake, quote, check }
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
            language,
        })
    }
}

/// A cake of one layer with prices, under `name`, with more in its file.
fn small(name: &str, more: &str) -> Made {
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
