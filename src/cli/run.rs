//! What each command does.

use std::{
    io::Write,
    path::{Path, PathBuf},
};

use serde::Serialize;

use formats::{
    escape,
    export::{FileSet, Format, add_model, slug, write_atomic},
    model::{Part, Stage},
};
use geom::progress::Progress;
use make::{
    language::Language,
    overview::Overview,
    report::{self, Explain, Report},
    solids,
};
use plan::{Plan, carve::ShaveMap};
use shop::order_check::OrderCheck;

use super::{
    args::{Args, Command, PlanArgs},
    cake::CakeArgs,
    error::CliError,
    export::{FINISHED, MOCK_UP_ERROR, lightened},
    job,
    output::waiting,
    progress::ProgressBars,
    talk::note,
};

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Nothing to fix.
    Sound,
    /// The plan found an error in the cake.
    Unsound,
    /// The program itself failed at a part of it; that has been told.
    Failed,
}

impl Outcome {
    /// What the program ends with.
    pub fn exit_code(self) -> u8 {
        match self {
            Self::Sound => 0,
            Self::Unsound => 1,
            Self::Failed => super::fault::FAULT,
        }
    }
}

/// Does what the flags say.
///
/// # Errors
/// Anything that keeps it from being done; nothing is left half written.
pub fn run(args: &Args) -> Result<Outcome, CliError> {
    match &args.command {
        Command::New { file, name, pantry } => new(file, name.as_deref(), *pantry),
        Command::Schema => print(&format!("{:#}\n", cakefile::json_schema())),
        Command::Plan(args) => plan(args),
        Command::Export(args) => super::export::export(args),
        Command::Kit(args) => super::kit::kit(args),
        Command::Check(args) => super::check::check(args),
        Command::Card(args) => super::card::card(args),
        Command::Trace(args) => super::trace::trace(args),
        Command::Stack(args) => super::stack::stack(args),
        Command::Amounts(args) => super::order::amounts(args),
        Command::Quote(args) => super::order::quote(args),
        Command::Share(args) => super::share::share(args),
        Command::Choices(args) => super::share::choices(args),
        Command::Timetable(args) => super::order::timetable(args),
        Command::Batch(args) => super::order::batch(args),
        #[cfg(feature = "viewer")]
        Command::View { cake, files } => super::look::view(cake.as_deref(), files),
        #[cfg(feature = "viewer")]
        Command::Picture(args) => super::look::picture(args),
        Command::Materials(args) => super::lists::materials(args),
        Command::Pans(args) => super::lists::pans(args),
        Command::Words(args) => super::lists::words(args),
        Command::Upgrade(args) => super::upgrade::upgrade(args),
        Command::Solids { source } => list_solids(source),
        Command::ShellFiles(args) => super::shell_files::shell_files(args),
    }
}

/// A value as JSON, in a line that a terminal shows and does not obey.
pub(super) fn json_text(value: &impl Serialize) -> Result<String, CliError> {
    Ok(escape::json(&serde_json::to_string_pretty(value)?).into_owned() + "\n")
}

/// Prints to standard output. Where whoever reads it has gone away, there is no one to tell.
pub(super) fn print(text: &str) -> Result<Outcome, CliError> {
    let mut out = anstream::stdout().lock();
    match out.write_all(escape::terminal(text).as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(Outcome::Sound),
    }
}

fn new(file: &Path, name: Option<&str>, pantry: bool) -> Result<Outcome, CliError> {
    if file.exists() {
        return Err(CliError::Usage {
            what: format!("{} is there already", file.display()),
            fix: "choose another name: nothing is overwritten".into(),
        });
    }
    if pantry {
        write_atomic(file, |w| w.write_all(plan::pantry::USUAL.as_bytes()))?;
        return print(&format!(
            "Wrote {}. Next: crumbline stack my-cake.cake.toml --pantry {0}\n",
            file.display()
        ));
    }
    let stem = file.file_name().unwrap_or_default().to_string_lossy();
    let stem = stem.split('.').next().unwrap_or_default().replace(['-', '_'], " ");
    let name = name.unwrap_or(if stem.is_empty() { "My cake" } else { &stem });
    write_atomic(file, |w| w.write_all(cakefile::starter(name).as_bytes()))?;
    print(&format!("Wrote {}. Next: crumbline plan {0}\n", file.display()))
}

/// The report as JSON, with the chart.
#[derive(Serialize)]
struct FullReport<'a> {
    #[serde(flatten)]
    report: &'a Report,
    overview: &'a Overview,
    order_check: &'a OrderCheck,
    shave_chart: ShaveMap,
}

fn plan(args: &PlanArgs) -> Result<Outcome, CliError> {
    let language = args.language.read(&args.source.files)?;
    let plan = args.source.plan()?;
    let bars = ProgressBars::new();
    bars.start("writing the report", 1);
    // Threads of their own: both wait for how the icing is laid, which one of them works out.
    let (report, (check, overview)) = std::thread::scope(|scope| {
        let report = scope.spawn(|| Report::new(&plan));
        let first = super::order::first_screen(&plan, args.today, Language::english());
        (report.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)), first)
    });
    let explain = if args.explain { Explain::Rules } else { Explain::Figures };
    bars.finish();
    let words = if language.is_english() {
        report::text(&plan, &report, &overview, explain, &language)
    } else {
        let told = super::order::first_screen(&plan, args.today, &language).1;
        report::text(&plan, &report, &told, explain, &language)
    };
    let shown = if args.json { json(&plan, &report, &overview, &check)? } else { words.clone() };
    print(&shown)?;
    if let Some(folder) = &args.out {
        let texts = [words, json(&plan, &report, &overview, &check)?];
        let written = write_plan(&plan, &texts, folder)?;
        // With --json standard output belongs to the program that reads it.
        written.iter().for_each(|file| note(&format!("wrote {}\n", file.display())));
    }
    Ok(if report.sound { Outcome::Sound } else { Outcome::Unsound })
}

fn json(
    plan: &Plan,
    report: &Report,
    overview: &Overview,
    order_check: &OrderCheck,
) -> Result<String, CliError> {
    let full = FullReport { report, overview, order_check, shave_chart: plan.shave_map() };
    json_text(&full)
}

/// Writes the report as words and as JSON, solids and mock-up; all of them or none.
fn write_plan(plan: &Plan, [words, full]: &[String; 2], folder: &Path) -> Result<Vec<PathBuf>, CliError> {
    let bars = ProgressBars::new();
    let slug = slug(&plan.design.name);
    let file = |ending: &str| folder.join(format!("{slug}-{ending}"));
    bars.start("meshing", 1);
    let catalogue = solids::catalogue(plan);
    let mock_up = solids::build_all(plan, &job::mock_up(&catalogue), plan.design.preview)?;
    let client = job::shown_at(plan, &catalogue, Stage::Finished);
    let client = solids::build_all(plan, &client, plan.design.preview)?;
    // A cake without coverings has one line only.
    let has = |name: &&str| catalogue.iter().any(|entry| entry.name == *name);
    let lines = [FINISHED, "carved"].into_iter().filter(has).map(|name| {
        let named = job::chosen(&catalogue, &[name.to_owned()])?;
        Ok::<_, CliError>((name, job::built(plan, &named, plan.design.tool)?))
    });
    let lines: Vec<_> = lines.collect();
    bars.finish();
    let plain = escape::lines(&anstream::adapter::strip_str(words).to_string()).into_owned();
    let mut set = FileSet::in_folder(folder, &waiting)?;
    set.add(&file("report.txt"), |w| w.write_all(plain.as_bytes()))?;
    set.add(&file("report.json"), |w| w.write_all(full.as_bytes()))?;
    for line in lines {
        let (name, one) = line?;
        add_model(&mut set, &one, &file(&format!("{name}.stl")), &bars)?;
    }
    let mock_up = lightened(mock_up, Format::Obj, MOCK_UP_ERROR, &bars);
    add_model(&mut set, &mock_up, &file("mock-up.obj"), &bars)?;
    let client = lightened(client, Format::Glb, MOCK_UP_ERROR, &bars);
    for format in [Format::Glb, Format::Usdz] {
        add_model(&mut set, &client, &file(&format!("mock-up.{}", format.ending())), &bars)?;
    }
    Ok(set.commit()?)
}

fn list_solids(source: &CakeArgs) -> Result<Outcome, CliError> {
    let plan = source.plan()?;
    let model = solids::build_all(&plan, &solids::catalogue(&plan), plan.design.preview)?;
    let line = |part: &Part| {
        let ml = part.mesh.volume() / 1000.0;
        format!("{:<32} {:<20} {:>9.1} mL {:>8} triangles\n", part.name, part.material, ml, part.mesh.len())
    };
    print(&model.parts.iter().map(line).collect::<String>())
}
