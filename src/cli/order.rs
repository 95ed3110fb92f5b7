//! `amounts`, `quote`, `timetable` and `batch`: what an order takes, costs, and when it is due.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use clap::Args;
use image::RgbaImage;
use jiff::civil::DateTime;
use serde::Serialize;

use super::{
    cake::{CakeArgs, FileArgs},
    error::CliError,
    fault::{Job, tell_fault},
    language::LanguageArgs,
    output::waiting,
    progress::ProgressBars,
    run::{Outcome, json_text, print},
    talk::note,
};
use cakefile::{
    CakeFile, CakeFileError,
    world::{Content, World},
};
use formats::export::{FileSet, pdf::pdf, slug, write_atomic};
use geom::Cancel;
use make::{kit::Kit, language::Language, overview::Overview};
use plan::{Plan, PlanError, Planner, Quality, Source, shared_pantry};
use shop::{
    amounts::{self, Amounts},
    batch::{self, Batch},
    maker_look::MakerLook,
    order_check::{self, OrderCheck},
    overview::overview,
    quote::{self, ClientPage, Quote, Side},
    timetable::{self, Timetable},
};

/// Flags of `amounts`.
#[derive(Debug, Args)]
pub struct AmountsArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// Print the amounts as JSON.
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub language: LanguageArgs,
    /// Write the shopping list as CSV here.
    #[arg(long, value_name = "FILE")]
    pub shopping: Option<PathBuf>,
}

/// Flags of `quote`.
#[derive(Debug, Args)]
pub struct QuoteArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// Count the plastic of the tools that are worth printing in.
    #[arg(long)]
    pub printed: bool,
    /// The time that counts as now, as "2026-12-01 08:00". Left out: now, by the clock of this computer.
    #[arg(long, value_name = "TIME", value_parser = time)]
    pub today: Option<DateTime>,
    /// Write the pages although the order check has open points, with INCOMPLETE across them.
    #[arg(long)]
    pub incomplete: bool,
    /// The picture for the client's page, a PNG or JPEG. Left out: the finished cake is drawn.
    #[arg(long, value_name = "FILE", conflicts_with = "no_picture")]
    pub picture: Option<PathBuf>,
    #[command(flatten)]
    pub language: LanguageArgs,
    /// Put no picture on the client's page.
    #[arg(long)]
    pub no_picture: bool,
    /// Print the quote as JSON.
    #[arg(long)]
    pub json: bool,
    /// Write the client's page (PDF), the bench page (PDF, CSV) and the quote (JSON) here.
    #[arg(short, long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
}

/// Flags of `timetable`.
#[derive(Debug, Args)]
pub struct TimetableArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// The time that counts as now, as "2026-12-01 08:00". Left out: now, by the clock of this computer.
    #[arg(long, value_name = "TIME", value_parser = time)]
    pub today: Option<DateTime>,
    #[command(flatten)]
    pub language: LanguageArgs,
    /// Print the timetable as JSON.
    #[arg(long)]
    pub json: bool,
    /// Write it as an iCalendar file here.
    #[arg(short, long, value_name = "FILE.ics")]
    pub out: Option<PathBuf>,
}

/// Flags of `batch`.
#[derive(Debug, Args)]
pub struct BatchArgs {
    /// The folder with the orders: every file in it whose name ends in .cake.toml.
    pub folder: PathBuf,
    /// The pantry, and what may be read.
    #[command(flatten)]
    pub files: FileArgs,
    /// Print the batch as JSON.
    #[arg(long)]
    pub json: bool,
    /// Write the orders and the shopping list as CSV here.
    #[arg(short, long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
}

pub(super) fn time(text: &str) -> Result<DateTime, String> {
    let tidy = text.trim().replacen(' ', "T", 1);
    tidy.parse().map_err(|_| "write it as \"2026-12-01 08:00\"".into())
}

fn sound(plan: &Plan) -> Outcome {
    if plan.has_errors() { Outcome::Unsound } else { Outcome::Sound }
}

/// Prints what to bake, mix and buy.
///
/// # Errors
/// A wrong cake or pantry file, or a file that cannot be written.
pub fn amounts(args: &AmountsArgs) -> Result<Outcome, CliError> {
    let language = args.language.read(&args.source.files)?;
    let plan = args.source.plan()?;
    let amounts = Amounts::new(&plan);
    let text = if args.json { json_text(&amounts)? } else { amounts::text(&amounts, &plan, &language) };
    print(&text)?;
    if let Some(out) = &args.shopping {
        let list = amounts::csv(&amounts.shopping)?;
        write_atomic(out, |w| w.write_all(&list))?;
    }
    Ok(sound(&plan))
}

/// Prints what to charge and writes both pages.
///
/// # Errors
/// A wrong cake or pantry file, tools that cannot be printed, or a file that cannot be written.
pub fn quote(args: &QuoteArgs) -> Result<Outcome, CliError> {
    let language = args.language.read(&args.source.files)?;
    let (source, bars) = (args.source.source()?, ProgressBars::new());
    let plan = Planner::new().plan_telling(&source, Quality::Full, &Cancel::new(), &bars)?;
    let look = maker_look(&source, &plan)?;
    let amounts = Amounts::new(&plan);
    let plastic = if args.printed { plastic(&plan)? } else { 0.0 };
    let quote = Quote::new(&plan, &amounts, plastic).map_err(|error| CliError::Usage {
        what: format!("{}: {error}", args.source.cake.display()),
        fix: error.fix().into(),
    })?;
    let check = OrderCheck::new(&plan, &amounts, Ok(&quote), args.today.unwrap_or_else(now));
    let json = json_text(&CheckedQuote { order_check: &check, quote: &quote })?;
    if args.json {
        print(&json)?;
    } else {
        print(&order_check::text(&check, &language))?;
        print(&quote::text(&quote, &language))?;
    }
    if let Some(folder) = &args.out {
        if !check.is_clear() && !args.incomplete {
            return Err(CliError::Usage {
                what: format!("no quote is written: the order check has {} open", check.open.len()),
                fix: "fix what stands as open under \"Order check\"; or add --incomplete, which writes the pages \
                       with INCOMPLETE across them"
                    .into(),
            });
        }
        let slug = slug(&quote.name);
        let paper = &plan.design.paper;
        let picture = if args.no_picture { None } else { picture(args, &plan)? };
        let client_page = ClientPage { picture, look, language };
        let mut set = FileSet::in_folder(folder, &waiting)?;
        for (side, name) in [(Side::Client, "quote"), (Side::Bench, "bench-costs")] {
            let title = quote::title(&quote, side, &client_page.language);
            let pages = quote::pages(&quote, &check, paper, side, &client_page);
            let bytes = pdf(&title, &pages).map_err(make::sheets::SheetError::from)?;
            set.add(&folder.join(format!("{slug}-{name}.pdf")), |w| w.write_all(&bytes))?;
        }
        let table = quote::csv(&quote)?;
        set.add(&folder.join(format!("{slug}-bench-costs.csv")), |w| w.write_all(&table))?;
        set.add(&folder.join(format!("{slug}-bench-costs.json")), |w| w.write_all(json.as_bytes()))?;
        let written = set.commit()?;
        if !args.json {
            print(&format!("\nWrote {} files to {}\n", written.len(), folder.display()))?;
        }
    }
    Ok(sound(&plan))
}

/// The maker's colours and logo; what was done so that letters can be read is said.
pub(super) fn maker_look(source: &Source, plan: &Plan) -> Result<MakerLook, CliError> {
    let look = MakerLook::of(source, &plan.pantry.maker)?;
    if let Some(remark) = look.remark() {
        note(&format!("note: {remark}\n"));
    }
    Ok(look)
}

/// What the client's page shows of the cake: the maker's own picture, or the finished cake where this program can draw.
fn picture(args: &QuoteArgs, plan: &Plan) -> Result<Option<Arc<RgbaImage>>, CliError> {
    let Some(file) = &args.picture else { return drawn(plan) };
    let refused = |what: String| CliError::Usage {
        what: format!("{}: {what}", file.display()),
        fix: "name a picture that is a PNG or a JPEG, or add --no-picture".into(),
    };
    let read = args.source.files.disk().read(file, Content::Picture);
    let bytes = read.map_err(|error| refused(error.to_string()))?.bytes;
    let image = image::load_from_memory(&bytes).map_err(|error| refused(error.to_string()))?;
    Ok(Some(Arc::new(image.into_rgba8())))
}

#[cfg(feature = "viewer")]
fn drawn(plan: &Plan) -> Result<Option<Arc<RgbaImage>>, CliError> {
    super::look::finished(plan).map(|image| image.map(Arc::new))
}

#[cfg(not(feature = "viewer"))]
fn drawn(_: &Plan) -> Result<Option<Arc<RgbaImage>>, CliError> {
    note(
        "note: this crumbline draws no pictures; the client's page has none (--picture FILE puts yours there)\n",
    );
    Ok(None)
}

/// A quote as JSON, with what keeps its order from being met.
#[derive(Serialize)]
struct CheckedQuote<'a> {
    order_check: &'a OrderCheck,
    #[serde(flatten)]
    quote: &'a Quote,
}

/// What keeps the order of `plan` from being met at the time `today`, and the first screen with it in `language`.
pub(super) fn first_screen(
    plan: &Plan,
    today: Option<DateTime>,
    language: &Language,
) -> (OrderCheck, Overview) {
    let amounts = Amounts::new(plan);
    let quote = Quote::new(plan, &amounts, 0.0);
    let check = OrderCheck::new(plan, &amounts, quote.as_ref(), today.unwrap_or_else(now));
    let overview = overview(plan, &amounts, &check, language);
    (check, overview)
}

/// Mass of the tools that are worth printing, which `kit` writes, g.
fn plastic(plan: &Plan) -> Result<f64, CliError> {
    let bars = ProgressBars::new();
    let kit = Kit::chosen(plan, &plan.design.printing, &bars)?;
    Ok(kit.parts.iter().map(|part| part.copies as f64 * part.plastic.grams).sum())
}

/// Prints what must be done when.
///
/// # Errors
/// A wrong cake or pantry file, no date, or a file that cannot be written.
pub fn timetable(args: &TimetableArgs) -> Result<Outcome, CliError> {
    let language = args.language.read(&args.source.files)?;
    let plan = args.source.plan()?;
    let amounts = Amounts::new(&plan);
    let today = args.today.unwrap_or_else(now);
    let made = |language: &Language| {
        Timetable::in_language(&plan, &amounts, today, language).map_err(|error| CliError::Usage {
            what: format!("{}: {error}", args.source.cake.display()),
            fix: error.fix().into(),
        })
    };
    // What programs read is English.
    let made = if args.json { made(Language::english()) } else { made(&language) }?;
    let text = if args.json { json_text(&made)? } else { timetable::text(&made) };
    print(&text)?;
    if let Some(out) = &args.out {
        let calendar = timetable::calendar(&made, args.today.unwrap_or_else(utc));
        write_atomic(out, |w| w.write_all(calendar.as_bytes()))?;
    }
    Ok(if made.findings.is_empty() { sound(&plan) } else { Outcome::Unsound })
}

/// Now in universal time, as calendars are stamped.
fn utc() -> DateTime {
    jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::UTC).datetime()
}

/// Now, by the clock of this computer: orders are written in the maker's own time.
pub(super) fn now() -> DateTime {
    jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::system()).datetime()
}

/// The order in the file `name` of `folder`. Orders come from others: one that is a link out of the folder is refused.
fn order_file(world: &dyn World, folder: &Path, name: &Path) -> Result<CakeFile, CakeFileError> {
    let inside = Path::new(name.file_name().unwrap_or_default());
    let refused = |cause| CakeFileError::unreadable(&name.display().to_string(), cause);
    world.may_name(folder, inside).map_err(refused)?;
    CakeFile::read(world, name)
}

/// Plans a folder of orders.
///
/// # Errors
/// A folder that cannot be read or holds no orders, a wrong pantry file, or a file that cannot be written.
pub fn batch(args: &BatchArgs) -> Result<Outcome, CliError> {
    let world = args.files.disk();
    let named = args.files.pantry_for(&world, &args.folder);
    let pantry = shared_pantry(&world, &args.folder, named.as_deref())?;
    let mut names: Vec<PathBuf> = std::fs::read_dir(&args.folder)
        .map_err(|error| CliError::Usage {
            what: format!("cannot read {}: {error}", args.folder.display()),
            fix: "name the folder that holds the orders".into(),
        })?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.to_string_lossy().ends_with(".cake.toml"))
        .collect();
    names.sort();
    if names.is_empty() {
        return Err(CliError::Usage {
            what: format!("there are no orders in {}", args.folder.display()),
            fix: "orders are files whose names end in .cake.toml".into(),
        });
    }
    let mut unread = Vec::new();
    let orders: Vec<Source> = names
        .iter()
        .filter_map(|name| match order_file(&world, &args.folder, name) {
            Ok(file) => Some(Source::new(file, world.clone()).with_pantry(pantry.clone())),
            Err(error) => {
                unread.push((name.display().to_string(), error.render(false)));
                None
            }
        })
        .collect();
    let batch = Batch::new(&orders, &pantry, &Cancel::new(), &ProgressBars::new());
    let mut batch = batch.map_err(PlanError::from)?;
    batch.failed.extend(unread);
    let text = if args.json { json_text(&batch)? } else { batch::text(&batch) };
    print(&text)?;
    if let Some(folder) = &args.out {
        let (orders, shopping) = batch::csv(&batch)?;
        let mut set = FileSet::in_folder(folder, &waiting)?;
        set.add(&folder.join("orders.csv"), |w| w.write_all(&orders))?;
        set.add(&folder.join("shopping.csv"), |w| w.write_all(&shopping))?;
        set.commit()?;
    }
    for name in &batch.faults {
        tell_fault(Job { command: "batch", cake: Some(Path::new(name)), output: args.out.as_deref() }, "");
    }
    if !batch.faults.is_empty() {
        return Ok(Outcome::Failed);
    }
    let sound = batch.failed.is_empty() && batch.rows.iter().all(|row| row.sound);
    Ok(if sound { Outcome::Sound } else { Outcome::Unsound })
}
