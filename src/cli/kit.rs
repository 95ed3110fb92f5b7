//! The bench kit of a cake, as files: tools to print, templates and the cutting sheet.

use std::{
    collections::BTreeMap,
    io::Write as _,
    path::{Path, PathBuf},
    sync::Arc,
};

use clap::Args;

use super::{
    cake::CakeArgs,
    error::CliError,
    job,
    language::LanguageArgs,
    made_from::Noting,
    output,
    progress::ProgressBars,
    run::{Outcome, print},
};
use cakefile::Severity;
use formats::export::{
    ExportError, FileNames, FileSet, MeshF32,
    files::{MadeFrom, Replaced},
    slug, stl, threemf,
};
use geom::{progress::Progress, units::LONGEST};
use make::{
    kit::{self, Bed, Group, Kit},
    language::Language,
    sheets::{self, SheetError, SheetFile, Template},
};
use plan::{
    Plan,
    design::{Paper, PaperSize, Printing},
};

/// Flags of `kit`. Settings left out come from the cake file's `[printing]`, else from the pantry's.
#[derive(Debug, Args)]
pub struct KitArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// The folder to write into; made if it is not there. Left out: a folder beside the cake file, named after it.
    #[arg(short, long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Only say what a kit of this cake can hold, with the names that `--only` takes.
    #[arg(long)]
    pub list: bool,
    /// Only these, separated by commas, each whole; if left out, all templates, the cutting sheet and the printed
    /// parts that are worth it.
    #[arg(long, value_name = "NAMES", value_delimiter = ',', value_parser = wanted, conflicts_with = "all")]
    pub only: Vec<Wanted>,
    /// Every printed part that can be drawn, worth printing or not.
    #[arg(long)]
    pub all: bool,
    #[command(flatten)]
    pub language: LanguageArgs,
    /// Size of the paper: A4, A3, Letter or Tabloid.
    #[arg(long, value_name = "SIZE", value_parser = paper_size)]
    pub paper: Option<PaperSize>,
    /// Room on the printer in mm, as 220x220x250.
    #[arg(long, value_name = "WxDxH", value_parser = bed)]
    pub bed: Option<glam::DVec3>,
    /// Bore of the nozzle, as "0.4 mm".
    #[arg(long, value_name = "LENGTH")]
    pub nozzle: Option<String>,
    /// Thickness of flat tools.
    #[arg(long, value_name = "LENGTH")]
    pub thickness: Option<String>,
    /// Width of a working edge before its bevel.
    #[arg(long, value_name = "LENGTH")]
    pub scraper_edge: Option<String>,
    /// Clearance all round between parts that join.
    #[arg(long, value_name = "LENGTH")]
    pub clearance: Option<String>,
    /// How far below the board's top the scrapers stand.
    #[arg(long, value_name = "LENGTH")]
    pub stand_below: Option<String>,
}

/// One thing that can be asked for alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// Tools to print.
    Printed(Group),
    /// Templates on paper.
    Templates(Template),
    /// The cutting sheet.
    CuttingSheet,
}

impl Wanted {
    fn all() -> Vec<Self> {
        let printed = Group::ALL.map(Self::Printed);
        let templates = Template::ALL.map(Self::Templates);
        printed.into_iter().chain(templates).chain([Self::CuttingSheet]).collect()
    }

    fn name(self) -> &'static str {
        match self {
            Self::Printed(group) => group.name(),
            Self::Templates(template) => template.name(),
            Self::CuttingSheet => "cutting-sheet",
        }
    }
}

fn wanted(text: &str) -> Result<Wanted, String> {
    let all = Wanted::all();
    all.iter().copied().find(|wanted| wanted.name() == text).ok_or_else(|| {
        let names: Vec<&str> = all.iter().map(|wanted| wanted.name()).collect();
        let close = cakefile::nearest(text, names.iter().copied());
        let close = close.map_or_else(String::new, |name| format!("did you mean \"{name}\"? "));
        format!("{close}There are: {}", names.join(", "))
    })
}

fn paper_size(text: &str) -> Result<PaperSize, String> {
    let sizes = [PaperSize::A4, PaperSize::A3, PaperSize::Letter, PaperSize::Tabloid];
    sizes
        .into_iter()
        .find(|size| size.name().eq_ignore_ascii_case(text))
        .ok_or_else(|| "choose A4, A3, Letter or Tabloid".into())
}

fn bed(text: &str) -> Result<glam::DVec3, String> {
    let sides: Option<Vec<f64>> = text.split('x').map(|side| side.trim().parse().ok()).collect();
    match sides.as_deref() {
        Some(&[w, d, h]) if [w, d, h].iter().all(|side| *side > 0.0 && *side <= LONGEST) => {
            Ok(glam::dvec3(w, d, h))
        }
        Some([_, _, _]) => Err(format!("give sides above 0 and up to {LONGEST} mm, as 220x220x250")),
        _ => Err("write width, depth and height in mm, as 220x220x250".into()),
    }
}

impl KitArgs {
    /// The folder that is written into.
    fn folder(&self) -> PathBuf {
        self.out.clone().unwrap_or_else(|| super::job::folder_beside(&self.source.cake, "kit"))
    }

    /// The cake file's settings with the flags over them.
    fn printing(&self, plan: &Plan) -> Result<Printing, CliError> {
        let mut printing = plan.design.printing.clone();
        printing.bed = self.bed.unwrap_or(printing.bed);
        for (text, flag, to) in [
            (&self.nozzle, "--nozzle", &mut printing.nozzle),
            (&self.thickness, "--thickness", &mut printing.thickness),
            (&self.scraper_edge, "--scraper-edge", &mut printing.scraper_edge),
            (&self.clearance, "--clearance", &mut printing.clearance),
            (&self.stand_below, "--stand-below", &mut printing.stand_below),
        ] {
            if let Some(text) = text {
                *to = job::length(text, flag)?;
            }
        }
        // A finer blade than the nozzle prints is no choice.
        printing.blade = printing.blade.max(printing.thinnest_wall());
        match printing.check().into_iter().next() {
            None => Ok(printing),
            Some(wrong) => Err(CliError::Usage {
                what: format!("printing.{}: {}", wrong.key, wrong.message),
                fix: wrong.fix,
            }),
        }
    }
}

impl KitArgs {
    /// What was asked for, as it stands in the manifest.
    fn options(&self, printing: &Printing, paper: &Paper) -> BTreeMap<String, String> {
        let only: Vec<&str> = self.only.iter().map(|wanted| wanted.name()).collect();
        let mm = |mm: f64| format!("{mm} mm");
        BTreeMap::from([
            ("only".into(), only.join(",")),
            ("all".into(), self.all.to_string()),
            ("language".into(), self.language.language.clone()),
            ("paper".into(), paper.size.name().into()),
            ("bed".into(), format!("{}x{}x{}", printing.bed.x, printing.bed.y, printing.bed.z)),
            ("nozzle".into(), mm(printing.nozzle)),
            ("thickness".into(), mm(printing.thickness)),
            ("scraper-edge".into(), mm(printing.scraper_edge)),
            ("clearance".into(), mm(printing.clearance)),
            ("stand-below".into(), mm(printing.stand_below)),
        ])
    }
}

/// Makes what the flags ask for and writes it, all or nothing, in the place of the kit that was there. A tool that
/// cannot be made is left out and said to be.
///
/// # Errors
/// A wrong cake file or setting, paper that nothing fits on, or a file that
/// cannot be written.
pub fn kit(args: &KitArgs) -> Result<Outcome, CliError> {
    let noting = Arc::new(Noting::new(args.source.files.disk()));
    let plan = args.source.plan_from(noting.clone())?;
    let printing = args.printing(&plan)?;
    let paper = Paper { size: args.paper.unwrap_or(plan.design.paper.size), ..plan.design.paper };
    let wanted = if args.only.is_empty() { Wanted::all() } else { args.only.clone() };
    let groups: Vec<Group> = wanted
        .iter()
        .filter_map(|wanted| if let Wanted::Printed(group) = wanted { Some(*group) } else { None })
        .collect();
    if args.list {
        return print(&list_of_all(&plan, &printing)?);
    }
    let language = args.language.read(&args.source.files)?;
    let folder = args.folder();
    let bars = ProgressBars::new();
    let mut kit = if args.all || !args.only.is_empty() {
        Kit::new(&plan, &printing, &groups, &bars)?
    } else {
        Kit::chosen(&plan, &printing, &bars)?
    };
    if kit.parts.is_empty() && groups.len() == wanted.len() && !kit.left_out.is_empty() {
        // Nothing is left to write.
        return Err(kit.left_out.swap_remove(0).into());
    }
    let list = (!groups.is_empty()).then(|| kit::list(&kit, &language));
    let sheets = sheets(&plan, &paper, &language, &wanted, &bars)?;
    let made_from = MadeFrom {
        program: concat!("crumbline ", env!("CARGO_PKG_VERSION")).into(),
        title: kit.cake.clone(),
        files: noting.origins(&args.source.cake),
        options: args.options(&printing, &paper),
    };
    let replaced = write(&kit, list.as_deref(), &sheets, &folder, made_from, &bars)?;
    output::replaced(&folder, &replaced);
    if let Some(list) = list {
        print(&format!("{list}\n"))?;
    }
    // The manifest is not counted: nobody asks for it.
    print(&format!("Wrote {} files to {}\n", replaced.written.len() - 1, folder.display()))?;
    if !replaced.removed.is_empty() {
        print(&format!(
            "Removed {} files of the kit before that this one does not have\n",
            replaced.removed.len()
        ))?;
    }
    for error in &kit.left_out {
        writeln!(anstream::stderr().lock(), "left out: {error}")?;
    }
    let worst = plan.has_errors()
        || !kit.left_out.is_empty()
        || kit.findings.iter().any(|f| f.severity == Severity::Error);
    Ok(if worst { Outcome::Unsound } else { Outcome::Sound })
}

/// Everything that a kit can hold: what is printed with what it takes and whether it is written by default, and paper.
fn list_of_all(plan: &Plan, printing: &Printing) -> Result<String, CliError> {
    let bars = ProgressBars::new();
    let (all, chosen) = (Kit::new(plan, printing, &Group::ALL, &bars)?, Kit::chosen(plan, printing, &bars)?);
    let rows = Group::ALL.into_iter().map(|group| {
        let parts = |kit: &Kit| -> usize {
            kit.parts.iter().filter(|part| part.group == group).map(|part| part.copies).sum()
        };
        let of_group = all.parts.iter().filter(|part| part.group == group);
        let grams: f64 = of_group.map(|part| part.copies as f64 * part.plastic.grams).sum();
        vec![
            group.name().to_owned(),
            parts(&all).to_string(),
            parts(&chosen).to_string(),
            format!("{grams:.0} g"),
        ]
    });
    let mut text = "To print\n".to_owned();
    text += &make::report::table(&["name for --only", "parts", "by default", "plastic"], 1, rows.collect());
    text += "\nOn paper, all by default\n";
    for name in Template::ALL.map(Template::name).into_iter().chain([Wanted::CuttingSheet.name()]) {
        text += &format!("  {name}\n");
    }
    Ok(text)
}

/// Sheets by the folder that they go to.
fn sheets(
    plan: &Plan,
    paper: &Paper,
    language: &Language,
    wanted: &[Wanted],
    bars: &ProgressBars,
) -> Result<Vec<(&'static str, SheetFile)>, CliError> {
    let sets: Vec<Template> =
        Template::ALL.into_iter().filter(|template| wanted.contains(&Wanted::Templates(*template))).collect();
    let mut files = Vec::new();
    bars.start("drawing sheets", 2);
    if !sets.is_empty() {
        let templates = sheets::templates(plan, paper, &sets, language).map_err(refused)?;
        files.extend(templates.into_iter().map(|file| (TEMPLATES, file)));
    }
    bars.step(1);
    if wanted.contains(&Wanted::CuttingSheet) {
        // On top, where it is found first.
        let sheet = sheets::cutting_sheet(plan, paper, language).map_err(refused)?;
        files.extend(sheet.into_iter().map(|file| ("", file)));
    }
    bars.finish();
    Ok(files)
}

fn refused(error: SheetError) -> CliError {
    match error {
        SheetError::Paper(wrong) => CliError::Usage { what: format!("paper: {wrong}"), fix: wrong.fix() },
        other => other.into(),
    }
}

/// Folder for an STL of each part.
const PARTS: &str = "parts";
/// Folder for a 3MF of each full bed.
const BEDS: &str = "beds";
/// Folder for what is drawn at true size.
const TEMPLATES: &str = "templates";

fn write(
    kit: &Kit,
    list: Option<&str>,
    sheets: &[(&str, SheetFile)],
    folder: &Path,
    made_from: MadeFrom,
    bars: &ProgressBars,
) -> Result<Replaced, CliError> {
    let slug = slug(&kit.cake);
    let meshes = kit
        .parts
        .iter()
        .map(|part| {
            MeshF32::new(&part.mesh)
                .map_err(|defect| ExportError::NotSolid { part: part.full_name(), defect })
        })
        .collect::<Result<Vec<_>, _>>()?;
    let mut set = FileSet::with_manifest(folder, &output::waiting)?;
    output::recovered(set.recovered());
    let mut names = FileNames::new();
    let mut name = |place: &str, file: &str| {
        let (stem, ending) = file.rsplit_once('.').unwrap_or((file, ""));
        folder.join(names.unique(place, stem, &format!(".{ending}")))
    };
    bars.start("writing", (kit.parts.len() + kit.beds.len() + sheets.len() + 1) as u64);
    let mut done = 0;
    let mut step = || {
        done += 1;
        bars.step(done);
    };
    for (part, solid) in kit.parts.iter().zip(&meshes) {
        let title = format!("{}, {}", kit.cake, part.full_name());
        let file = name(PARTS, &format!("{slug}-{}.stl", part.file_stem()));
        set.add(&file, |w| stl::write(w, &title, std::slice::from_ref(solid)))?;
        step();
    }
    for (number, bed) in kit.beds.iter().enumerate() {
        let title = format!("{}, bed {} of {}", kit.cake, number + 1, kit.beds.len());
        let file = name(BEDS, &format!("{slug}-bed-{}-of-{}.3mf", number + 1, kit.beds.len()));
        set.add(&file, |w| threemf::write(w, &title, &items(kit, bed, &meshes)))?;
        step();
    }
    for (place, sheet) in sheets {
        set.add(&name(place, &sheet.name), |w| w.write_all(&sheet.bytes))?;
        step();
    }
    if let Some(list) = list {
        let file = name("", &format!("{slug}-printed-parts.txt"));
        set.add(&file, |w| w.write_all(list.as_bytes()))?;
        step();
    }
    bars.finish();
    Ok(set.commit_with_manifest(made_from)?)
}

/// What lies on a bed, each solid once with all its places.
fn items<'a>(kit: &Kit, bed: &Bed, meshes: &[MeshF32<'a>]) -> Vec<threemf::Item<'a>> {
    let mut items: Vec<(usize, threemf::Item<'a>)> = Vec::new();
    for placed in &bed.placed {
        match items.iter_mut().find(|(part, _)| *part == placed.part) {
            Some((_, item)) => item.places.push(placed.frame()),
            None => items.push((
                placed.part,
                threemf::Item {
                    name: kit.parts[placed.part].full_name(),
                    solid: meshes[placed.part].clone(),
                    places: vec![placed.frame()],
                },
            )),
        }
    }
    items.into_iter().map(|(_, item)| item).collect()
}
