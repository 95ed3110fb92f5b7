//! Flags as typed.

use std::path::PathBuf;

use clap::{ArgAction, Args as Flags, Parser, Subcommand};
use jiff::civil::DateTime;

#[cfg(feature = "viewer")]
use super::cake::FileArgs;
use super::{cake::CakeArgs, fault::Job, language::LanguageArgs, talk::Talk};

/// Plans carved cakes: which layers to bake, where to cut, what to print, and a mock-up for the client.
#[derive(Debug, Parser)]
#[command(name = "crumbline", version, long_version = super::version::LONG, propagate_version = true)]
#[command(arg_required_else_help = true, disable_help_flag = true)]
#[command(
    after_help = "Exit codes: 0 the cake is sound, 1 the plan found an error, 2 wrong usage or file, 3 a fault of the program."
)]
pub struct Args {
    /// Print help; `crumbline help COMMAND` says more.
    #[arg(short, long, global = true, action = ArgAction::HelpShort)]
    help: Option<bool>,
    /// Say nothing on standard error but errors: no progress, no notes.
    #[arg(short, long, global = true, conflicts_with = "verbose")]
    quiet: bool,
    /// Say on standard error which files are read, and how long it took.
    #[arg(short, long, global = true)]
    verbose: bool,
    /// Write what the program does to a file, to send to whoever helps.
    #[arg(long, global = true, value_name = "FILE")]
    pub log: Option<PathBuf>,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

impl Args {
    /// How much is said beside errors.
    pub fn talk(&self) -> Talk {
        match (self.quiet, self.verbose) {
            (true, _) => Talk::Quiet,
            (_, true) => Talk::Verbose,
            _ => Talk::Usual,
        }
    }
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a commented cake file to start from.
    #[command(after_help = "Example: crumbline new my-cake.cake.toml")]
    New {
        /// The file to write, as my-cake.cake.toml. Nothing is overwritten.
        file: PathBuf,
        /// What the cake is called; made from the file's name if left out.
        #[arg(long)]
        name: Option<String>,
        /// Write a pantry file instead: pans, recipes, packs, hours, each number with its source beside it.
        #[arg(long, conflicts_with = "name")]
        pantry: bool,
    },
    /// Print the JSON Schema of cake files, so that editors complete and check them.
    #[command(after_help = "Example: crumbline schema > cake.schema.json")]
    Schema,
    /// Plan a cake: what to decide, to bake and to carve off, and whether it stands.
    #[command(after_help = "Example: crumbline plan my-cake.cake.toml --out out")]
    Plan(PlanArgs),
    /// Write solids: .stl to print or measure, .obj as a mock-up, .glb and .usdz for the client.
    #[command(after_help = "Example: crumbline export my-cake.cake.toml carved.stl --solid carved")]
    Export(super::export::ExportArgs),
    /// Write the bench kit: tools to print (STL, 3MF), templates and cutting sheet (PDF, SVG).
    #[command(after_help = "Example: crumbline kit my-cake.cake.toml --only scrapers,cutting-sheet")]
    Kit(super::kit::KitArgs),
    /// Say whether the kit in a folder is whole and made from this cake as it is now.
    #[command(
        after_help = "Example: crumbline check my-cake-kit --cake my-cake.cake.toml\n\nExit codes: 0 the kit is whole, 1 it is not, 2 there is no kit or it cannot be read."
    )]
    Check(super::check::CheckArgs),
    /// Write the scale card: a page to print that gives photographs their true scale.
    #[command(after_help = "Example: crumbline card card.pdf --paper letter")]
    Card(super::card::CardArgs),
    /// Trace the outline in a picture: a drawing (SVG) at true size, and a check of it.
    #[command(after_help = "Example: crumbline trace template.jpg outline.svg --height \"9 in\"")]
    Trace(super::trace::TraceArgs),
    /// Find which pans to bake for a cake, how many, and where the boards go.
    #[command(after_help = "Example: crumbline stack my-cake.cake.toml --serve 40 --out stacked.cake.toml")]
    Stack(super::stack::StackArgs),
    /// List everything to bake, mix and buy for a cake, and how many it serves.
    #[command(after_help = "Example: crumbline amounts my-cake.cake.toml --shopping shopping.csv")]
    Amounts(super::order::AmountsArgs),
    /// Work out what to charge: a page for the client, and a bench page with the costs.
    #[command(after_help = "Example: crumbline quote my-cake.cake.toml --out quote")]
    Quote(super::order::QuoteArgs),
    /// Write the client's page: one file to turn the cake, choose and say yes.
    #[command(after_help = "Example: crumbline share my-cake.cake.toml --out page")]
    Share(super::share::ShareArgs),
    /// Write into the cake file what the client chose on the page.
    #[command(after_help = "Example: crumbline choices my-cake.cake.toml letter.txt")]
    Choices(super::share::ChoicesArgs),
    /// Say what must be done when, counted back from the hour that the cake is delivered.
    #[command(after_help = "Example: crumbline timetable my-cake.cake.toml --out times.ics")]
    Timetable(super::order::TimetableArgs),
    /// Plan a folder of orders: one shopping list, oven loads shared, a row for each order.
    #[command(after_help = "Example: crumbline batch orders --out week")]
    Batch(super::order::BatchArgs),
    /// Open the window, in which a cake is made and looked at.
    #[cfg(feature = "viewer")]
    #[command(after_help = "Example: crumbline view my-cake.cake.toml")]
    View {
        /// The cake file; left out, the window's first page.
        cake: Option<PathBuf>,
        #[command(flatten)]
        files: FileArgs,
    },
    /// Draw a cake to a file; needs no window and no screen.
    #[cfg(feature = "viewer")]
    #[command(
        after_help = "Example: crumbline picture my-cake.cake.toml front.png --view front --stage finished"
    )]
    Picture(super::look::PictureArgs),
    /// List the materials that cake files know, with their other names, kinds and densities.
    #[command(after_help = "Example: crumbline materials")]
    Materials(super::lists::MaterialsArgs),
    /// List the pans, boards and dowels of the pantry.
    #[command(after_help = "Example: crumbline pans --pantry pantry.toml")]
    Pans(super::lists::PansArgs),
    /// List the words that files, screens and pages use, and what they mean.
    #[command(after_help = "Example: crumbline words")]
    Words(super::lists::WordsArgs),
    /// Write a cake or pantry file anew in the words of this version, comments and all.
    #[command(after_help = "Example: crumbline upgrade my-cake.cake.toml")]
    Upgrade(super::upgrade::UpgradeArgs),
    /// List the solids that `export` can write.
    #[command(after_help = "Example: crumbline solids my-cake.cake.toml")]
    Solids {
        #[command(flatten)]
        source: CakeArgs,
    },
    /// Write manual pages and completions, for a package.
    #[command(hide = true, after_help = "Example: crumbline shell-files package/usr/share")]
    ShellFiles(super::shell_files::ShellFilesArgs),
}

impl Command {
    /// What it is called, the cake that it is about, and what it writes.
    pub fn job(&self) -> Job<'_> {
        let job = |command, cake, output| Job { command, cake, output };
        match self {
            Self::New { file, .. } => job("new", None, Some(file.as_path())),
            Self::Schema => job("schema", None, None),
            Self::Plan(args) => job("plan", Some(args.source.cake.as_path()), args.out.as_deref()),
            Self::Export(super::export::ExportArgs { source, file, .. }) => {
                job("export", Some(source.cake.as_path()), Some(file.as_path()))
            }
            Self::Kit(args) => job("kit", Some(args.source.cake.as_path()), args.out.as_deref()),
            Self::Check(args) => job("check", args.cake.as_deref(), None),
            Self::Card(args) => job("card", None, Some(args.file.as_path())),
            Self::Trace(args) => job("trace", None, Some(args.drawing.as_path())),
            Self::Stack(args) => job("stack", Some(args.source.cake.as_path()), args.out.as_deref()),
            Self::Amounts(args) => job("amounts", Some(args.source.cake.as_path()), args.shopping.as_deref()),
            Self::Quote(args) => job("quote", Some(args.source.cake.as_path()), args.out.as_deref()),
            Self::Share(args) => job("share", Some(args.source.cake.as_path()), args.out.as_deref()),
            Self::Choices(args) => job("choices", Some(args.cake.as_path()), args.out.as_deref()),
            Self::Timetable(args) => job("timetable", Some(args.source.cake.as_path()), args.out.as_deref()),
            Self::Batch(args) => job("batch", None, args.out.as_deref()),
            #[cfg(feature = "viewer")]
            Self::View { cake, .. } => job("view", cake.as_deref(), None),
            #[cfg(feature = "viewer")]
            Self::Picture(args) => {
                job("picture", Some(args.source.cake.as_path()), Some(args.file.as_path()))
            }
            Self::Materials(_) => job("materials", None, None),
            Self::Pans(_) => job("pans", None, None),
            Self::Words(_) => job("words", None, None),
            Self::Upgrade(args) => job("upgrade", Some(args.file.as_path()), args.out.as_deref()),
            Self::Solids { source } => job("solids", Some(source.cake.as_path()), None),
            Self::ShellFiles(args) => job("shell-files", None, Some(args.folder.as_path())),
        }
    }
}

/// Flags of `plan`.
#[derive(Debug, Flags)]
pub struct PlanArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// The time that counts as now, as "2026-12-01 08:00". Left out: now, by the clock of this computer.
    #[arg(long, value_name = "TIME", value_parser = super::order::time)]
    pub today: Option<DateTime>,
    #[command(flatten)]
    pub language: LanguageArgs,
    /// Also tell the rules behind the figures, with their sources.
    #[arg(long)]
    pub explain: bool,
    /// Print the report as JSON, with the carving depths.
    #[arg(long)]
    pub json: bool,
    /// Also write the report, the finished and the carved solid as STL, the mock-up as OBJ, and as GLB and
    /// USDZ for the client here.
    #[arg(short, long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
}
