//! `materials`, `pans` and `words`: what cake files can name, and what words mean.

use std::path::PathBuf;

use clap::Args;

use super::{
    cake::FileArgs,
    error::CliError,
    run::{Outcome, print},
};
use cakefile::glossary;
use geom::units::Unit;
use make::report::table;
use plan::{
    design::{MaterialKind, material},
    shared_pantry,
};

/// Flags of `materials`.
#[derive(Debug, Args)]
pub struct MaterialsArgs {}

/// Flags of `words`.
#[derive(Debug, Args)]
pub struct WordsArgs {}

/// Flags of `pans`.
#[derive(Debug, Args)]
pub struct PansArgs {
    /// The folder of the pantry file; this folder if left out.
    #[arg(default_value = ".")]
    pub folder: PathBuf,
    /// The pantry, and what may be read.
    #[command(flatten)]
    pub files: FileArgs,
}

/// What a kind of material is used as.
fn used_as(kind: MaterialKind) -> &'static str {
    match kind {
        MaterialKind::Sponge => "cake",
        MaterialKind::Firm => "cast or moulded",
        MaterialKind::Dummy => "dummy, not eaten",
        MaterialKind::Filling => "filling",
        MaterialKind::Coating => "coating",
        MaterialKind::Paste => "rolled icing",
        MaterialKind::Board => "board",
        MaterialKind::Dowel => "dowel",
    }
}

/// Prints the built-in materials.
///
/// # Errors
/// Text that cannot be printed.
pub fn materials(_: &MaterialsArgs) -> Result<Outcome, CliError> {
    let rows = material::built_in_names().filter_map(|name| {
        let found = material::built_in(name)?;
        let density = format!("{} g/mL", found.density);
        Some(vec![
            name.to_owned(),
            used_as(found.kind).to_owned(),
            density,
            material::other_names(name).join(", "),
        ])
    });
    let text = table(&["material", "used as", "density", "also called"], 4, rows.collect());
    print(&format!("{text}\nYour own go under [material.\"name\"] with like = \"...\" and what differs.\n"))
}

/// Prints the pans, boards and dowels of a pantry.
///
/// # Errors
/// A wrong pantry file, or text that cannot be printed.
pub fn pans(args: &PansArgs) -> Result<Outcome, CliError> {
    let world = args.files.disk();
    let named = args.files.pantry_for(&world, &args.folder);
    let pantry = shared_pantry(&world, &args.folder, named.as_deref())?;
    let mm = |mm: f64| format!("{} mm", (mm * 10.0).round() / 10.0);
    let rows = pantry.pans.iter().map(|pan| {
        vec![pan.shape.name(Unit::Millimetre), mm(pan.depth), mm(pan.level), pan.count.to_string()]
    });
    let mut text = table(&["pan", "depth", "stands levelled", "how many"], 1, rows.collect());
    let boards = pantry.boards.iter().map(|board| {
        vec![board.material.clone(), board.round.map_or("from a sheet".into(), mm), mm(board.thickness)]
    });
    text += &format!("\n{}", table(&["board", "round", "thick"], 1, boards.collect()));
    let dowels =
        pantry.dowels.iter().map(|dowel| vec![dowel.material.clone(), mm(dowel.diameter), mm(dowel.length)]);
    text += &format!("\n{}", table(&["dowel", "thick", "long"], 1, dowels.collect()));
    print(&text)
}

/// Prints the words that files, screens and pages use.
///
/// # Errors
/// Text that cannot be printed.
pub fn words(_: &WordsArgs) -> Result<Outcome, CliError> {
    let rows = glossary::TERMS.iter().map(|term| vec![term.name.to_owned(), term.meaning.to_owned()]);
    let mut text = table(&["word", "what it means"], 2, rows.collect());
    text += "\nAlso understood in files: ";
    let others: Vec<String> =
        glossary::KEYS.iter().map(|(other, key)| format!("{other} for {key}")).collect();
    print(&format!("{text}{}.\n", others.join(", ")))
}
