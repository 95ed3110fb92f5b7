//! Everything that the program makes of a cake, made and checked.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::{
    cell::RefCell,
    panic::{AssertUnwindSafe, catch_unwind},
    time::{Duration, Instant},
};

use cakefile::schema::Cake;
use formats::{
    export::{self, FileSet},
    model::{Model, Stage},
    scan,
};
use geom::{Cancel, progress::NoProgress};
use glam::DVec3;
use make::{
    kit::{Group, Kit, KitError},
    language::Language,
    overview::Overview,
    report::{self, Explain, Report},
    sheets::{self, Template},
    solids,
};
use plan::{Plan, PlanError, Planner, Quality, Source};
use shop::{
    amounts::Amounts,
    arrange::{Aim, ArrangeError, propose, search::Effort},
    maker_look::MakerLook,
    order_check::OrderCheck,
    quote::{Quote, Side},
    share::{self, Choices, Expected, Facts, MESH_BUDGET, Meshes, Options, Page, Parts},
    timetable::Timetable,
};

use crate::any_cake::AnyCake;

/// What came of a cake.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// Everything was made.
    Made,
    /// The cake file was refused, with its codes of fault.
    Refused(String),
}

/// A fault of the program.
#[derive(Debug, Clone)]
pub struct Fault {
    /// What was being made.
    pub doing: &'static str,
    /// What went wrong.
    pub what: String,
}

/// What is being made, how long each thing before took, and since when.
type Doing = (&'static str, Vec<(&'static str, Duration)>, Option<Instant>);

thread_local! {
    static DOING: RefCell<Doing> =
        const { RefCell::new(("nothing", Vec::new(), None)) };
}

/// From now on the program is making this.
fn doing(what: &'static str) {
    DOING.with_borrow_mut(|(now, times, since)| {
        let start = Instant::now();
        if let Some(since) = since.replace(start) {
            times.push((now, start - since));
        }
        *now = what;
    });
}

/// How long each thing took that was made last on this thread.
pub fn times() -> Vec<(&'static str, Duration)> {
    DOING.with_borrow(|(_, times, _)| times.clone())
}

/// Makes everything of `cake`, and gives a fault instead of a panic.
///
/// # Errors
/// The first fault.
pub fn exercise(cake: &AnyCake) -> Result<Outcome, Fault> {
    DOING.with_borrow_mut(|doing| *doing = ("nothing", Vec::new(), None));
    let made = catch_unwind(AssertUnwindSafe(|| everything(cake)));
    doing("nothing");
    let now = || DOING.with_borrow(|(_, times, _)| times.last().map_or("nothing", |(doing, _)| doing));
    match made {
        Ok(made) => made.map_err(|what| Fault { doing: now(), what }),
        Err(panic) => {
            let text = panic.downcast_ref::<String>().map(String::as_str);
            let text = text.or_else(|| panic.downcast_ref::<&str>().copied()).unwrap_or("no message");
            Err(Fault { doing: now(), what: format!("panicked: {text}") })
        }
    }
}

fn everything(cake: &AnyCake) -> Result<Outcome, String> {
    doing("reading");
    let source = match cake.source() {
        Ok(source) => source,
        Err(refused) => return Ok(Outcome::Refused(format!("pantry: {refused}"))),
    };
    doing("planning");
    let planner = Planner::new();
    let plan = match planner.plan(&source, Quality::Full, &Cancel::new()) {
        Ok(plan) => plan,
        Err(PlanError::CakeFile(error)) => {
            let text = error.render(false);
            readable("an error", &text)?;
            let messages: Vec<&str> =
                error.problems().iter().map(|problem| problem.message.as_str()).collect();
            return Ok(Outcome::Refused(messages.join("; ")));
        }
        Err(error) => return Err(format!("no plan: {error}")),
    };
    conserved(&plan)?;
    doing("reporting");
    let report = Report::new(&plan);
    readable(
        "the report",
        &anstream::adapter::strip_str(&report::text(
            &plan,
            &report,
            &Overview::new(&plan),
            Explain::Rules,
            Language::english(),
        ))
        .to_string(),
    )?;
    serde_json::to_string(&report).map_err(|error| error.to_string())?;
    doing("making solids");
    let model = built(&plan)?;
    doing("exporting");
    exported(&model)?;
    doing("making the kit");
    let plastic = kit(&plan)?;
    doing("drawing templates");
    let paper = plan.design.paper;
    let drawn = sheets::templates(&plan, &paper, &Template::ALL, Language::english())
        .map_err(|error| error.to_string())?;
    let cutting =
        sheets::cutting_sheet(&plan, &paper, Language::english()).map_err(|error| error.to_string())?;
    for sheet in drawn.iter().chain(&cutting) {
        match sheet.name.rsplit_once('.').map(|(_, ending)| ending) {
            Some("svg") => well_formed(&sheet.name, &sheet.bytes)?,
            Some("txt") => readable(&sheet.name, &String::from_utf8_lossy(&sheet.bytes))?,
            _ => {}
        }
    }
    doing("counting");
    let amounts = Amounts::new(&plan);
    readable("the amounts", &shop::amounts::text(&amounts, &plan, Language::english()))?;
    let today = jiff::civil::date(2026, 6, 1).at(9, 0, 0, 0);
    let quote = Quote::new(&plan, &amounts, plastic);
    let check = OrderCheck::new(&plan, &amounts, quote.as_ref(), today);
    readable("the order check", &shop::order_check::text(&check, Language::english()))?;
    match quote {
        Ok(quote) => {
            readable("the quote", &shop::quote::text(&quote, Language::english()))?;
            for side in [Side::Client, Side::Bench] {
                let pages = shop::quote::pages(&quote, &check, &paper, side, &Default::default());
                well_formed("the quote's page", formats::export::svg::svg("quote", &pages[0]).as_bytes())?;
            }
            doing("writing the client's page");
            shared(&source, &plan, &cake.cake, &quote, &check)?;
        }
        Err(error) => readable("an error", &error.to_string())?,
    }
    match Timetable::new(&plan, &amounts, today) {
        Ok(table) => readable("the timetable", &shop::timetable::text(&table))?,
        Err(error) => readable("an error", &error.to_string())?,
    }
    doing("finding a stack");
    stacked(&planner, &source)?;
    Ok(Outcome::Made)
}

/// Raw = kept + offcut for each slab, carved = kept + shortfall for all; nothing is below zero.
fn conserved(plan: &Plan) -> Result<(), String> {
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-8 * b.abs().max(1.0);
    for (slab, carved) in plan.stack.slabs.iter().zip(&plan.carving.slabs) {
        let v = carved.volumes;
        let sound = v.kept >= 0.0 && v.offcut >= -1e-8 * v.raw && v.shortfall >= 0.0;
        if !sound || !close(v.kept + v.offcut, v.raw) {
            return Err(format!("{} does not add up: {v:?}", slab.name));
        }
    }
    let held: f64 = plan.carving.slabs.iter().map(|slab| slab.volumes.kept).sum();
    let carved = plan.carving.carved;
    if !close(held + plan.carving.shortfall(), carved) {
        return Err(format!(
            "the carved cake does not add up: {held} and {} is {carved}",
            plan.carving.shortfall()
        ));
    }
    Ok(())
}

/// Every solid, each closed.
fn built(plan: &Plan) -> Result<Model, String> {
    let model = solids::model(plan, plan.design.preview).map_err(|error| error.to_string())?;
    let lines = solids::lines_model(plan, plan.design.preview).map_err(|error| error.to_string())?;
    for part in model.parts.iter().chain(&lines.parts) {
        part.mesh.check().map_err(|defect| format!("{} is no solid: {defect}", part.name))?;
    }
    Ok(model)
}

fn exported(model: &Model) -> Result<(), String> {
    let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
    let client = model.clone().at(Stage::Finished);
    for (ending, model) in [("stl", model), ("obj", model), ("glb", &client), ("usdz", &client)] {
        let path = folder.path().join(format!("cake.{ending}"));
        let mut set = FileSet::new();
        export::add_model(&mut set, model, &path, &NoProgress).map_err(|error| error.to_string())?;
        set.commit().map_err(|error| error.to_string())?;
    }
    let bytes = std::fs::read(folder.path().join("cake.glb")).map_err(|error| error.to_string())?;
    read_again(&bytes, &client)
}

/// Whether a GLB file holds the cake where it is: in metres, y up.
fn read_again(bytes: &[u8], model: &Model) -> Result<(), String> {
    let read = scan::read(bytes, scan::Format::Glb, &|name| Err(std::io::Error::other(name.to_owned())))
        .map_err(|error| error.to_string())?;
    let whole = model.parts.iter().filter_map(|part| part.mesh.bounds());
    let (Some((lo, hi)), Some((low, high))) =
        (read.mesh.bounds(), whole.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))))
    else {
        return Err("a GLB file without a cake".into());
    };
    let ours = [DVec3::new(low.x, low.z, -high.y), DVec3::new(high.x, high.z, -low.y)];
    let off = |(found, ours): (DVec3, DVec3)| (1000.0 * found - ours).abs().max_element();
    let off = [lo, hi].into_iter().zip(ours).map(off).fold(0.0, f64::max);
    if off < 0.05 { Ok(()) } else { Err(format!("a GLB file is off by {off} mm")) }
}

/// The client's page, and a text of choices from it.
fn shared(
    source: &Source,
    plan: &Plan,
    cake: &Cake,
    quote: &Quote,
    check: &OrderCheck,
) -> Result<(), String> {
    let look = MakerLook::of(source, &plan.pantry.maker).map_err(|error| error.to_string())?;
    let language = Language::english();
    let parts = Parts::new(plan, language).map_err(|error| error.to_string())?;
    let meshes = Meshes::new(&parts, MESH_BUDGET, &NoProgress);
    let mark = share::mark(cake, &plan.offer);
    let files = ["cake.glb".to_owned(), "cake.usdz".to_owned()];
    let (pictures, before) = (&[][..], None);
    let page = share::page(&Page {
        plan,
        quote,
        check,
        parts: &parts,
        meshes: &meshes,
        pictures,
        mark: &mark,
        files: &files,
        before,
        prices: &[],
        look: &look,
        language,
    });
    readable("the client's page", page.split("<script").next().unwrap_or_default())?;
    let facts = Facts::of_page(&page).map_err(|error| error.to_string())?;
    if !facts.changed_since(&facts).is_empty() {
        return Err("a page is other than itself".into());
    }
    let options = Options::new(plan, quote, &[], language);
    let expected =
        Expected { name: &plan.design.name, mark: &mark, offer: &plan.offer, allow_earlier: false };
    let chosen = Choices {
        serves: options.sizes.last().map(|size| size.serves),
        colours: options.colours.iter().map(|choice| choice.options[0].tint.clone()).collect(),
        remarks: "| as [written]".into(),
    };
    let text = chosen.text(&expected, language);
    let read = Choices::read(&text, &expected, std::slice::from_ref(language));
    let read = read.map_err(|error| format!("a text of choices is not read: {error}\n{text}"))?;
    if read == chosen { Ok(()) } else { Err(format!("{chosen:?} is read as {read:?}")) }
}

/// The kit, tool by tool; grams of plastic.
fn kit(plan: &Plan) -> Result<f64, String> {
    let mut plastic = 0.0;
    for group in Group::ALL {
        let kit = Kit::new(plan, &plan.design.printing, &[group], &NoProgress)
            .map_err(|error| format!("{}: {error}", group.name()))?;
        for part in &kit.parts {
            let name = part.full_name();
            part.mesh.check().map_err(|defect| format!("{name} is no solid: {defect}"))?;
            plastic += part.plastic.grams * part.copies as f64;
        }
        let fits =
            |error: &&KitError| !matches!(error, KitError::BedTooSmall { .. } | KitError::TooNarrow { .. });
        let fault = kit.left_out.iter().find(fits);
        if let Some(error) = fault {
            return Err(format!("{}: {error}: {error:?}", group.name()));
        }
    }
    Ok(plastic)
}

fn stacked(planner: &Planner, source: &Source) -> Result<(), String> {
    let effort = Effort { first: 12, last: 300, ..Effort::default() };
    match propose(planner, source, &[Aim::Best, Aim::FewestPanSizes], effort, &Cancel::new(), &NoProgress) {
        Ok(found) => found.proposals.iter().try_for_each(|proposal| match proposal.fault() {
            Some(fault) => Err(format!("a stack is proposed that fails its own check: {}", fault.message)),
            None => conserved(&proposal.plan),
        }),
        Err(ArrangeError::NoPans | ArrangeError::ManyPans(_)) => Ok(()),
        Err(error) => Err(format!("no stack: {error}")),
    }
}

/// Whether a maker can read it: no figure that is none, no word of the machine's own.
fn readable(what: &str, text: &str) -> Result<(), String> {
    for wrong in ["NaN", "inf ", "-inf", "panicked", "unwrap", "no closed solid", "Err(", "Some("] {
        if let Some(at) = text.find(wrong) {
            let from = text[..at].rfind('\n').map_or(0, |line| line + 1);
            let line = text[from..].lines().next().unwrap_or_default();
            return Err(format!("{what} says \"{wrong}\": {line}"));
        }
    }
    Ok(())
}

/// Whether a drawing can be read.
fn well_formed(name: &str, bytes: &[u8]) -> Result<(), String> {
    let text = std::str::from_utf8(bytes).map_err(|error| format!("{name}: {error}"))?;
    usvg::roxmltree::Document::parse(text).map(drop).map_err(|error| format!("{name}: {error}"))
}
