//! `check`: whether the kit in a folder is whole, and of this cake as it is now.

use std::{fmt::Write as _, path::PathBuf};

use clap::Args;
use formats::export::files::{self, Checked};

use super::{
    cake::FileArgs,
    error::CliError,
    made_from::compared,
    output::{recovered, waiting},
    run::{Outcome, print},
};

/// Flags of `check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// The folder that the kit was written to.
    pub folder: PathBuf,
    /// Also say whether the kit was made from this cake file, and the files that it names, as they are now.
    #[arg(long, value_name = "FILE")]
    pub cake: Option<PathBuf>,
    /// The pantry that the kit was made from.
    #[command(flatten)]
    pub files: FileArgs,
}

/// Says what is in a kit's folder.
///
/// # Errors
/// When there is no kit, or it or the cake file cannot be read.
pub fn check(args: &CheckArgs) -> Result<Outcome, CliError> {
    let folder = args.folder.display();
    let checked = files::check(&args.folder, &waiting)?.ok_or_else(|| CliError::Usage {
        what: format!("there is no kit in {folder}: it has no {}", files::MANIFEST),
        fix: "name the folder that crumbline kit wrote to".into(),
    })?;
    recovered(checked.recovered);
    let (stale, unknown) = match &args.cake {
        None => (Vec::new(), Vec::new()),
        Some(cake) => {
            let world = args.files.disk();
            cakefile::CakeFile::read(&world, cake)?;
            let pantry = args.files.pantry_for(&world, cake.parent().unwrap_or(std::path::Path::new("")));
            compared(&checked.manifest.made_from, &world, cake, pantry.as_deref())
        }
    };
    print(&text(&checked, &stale, &unknown, &folder.to_string()))?;
    let whole = checked.is_whole() && stale.is_empty();
    Ok(if whole { Outcome::Sound } else { Outcome::Unsound })
}

fn text(checked: &Checked, stale: &[String], unknown: &[String], folder: &str) -> String {
    let made = &checked.manifest.made_from;
    let mut text = format!(
        "The kit of \"{}\" in {folder}: {} files, written by {}\n",
        made.title,
        checked.manifest.members.len(),
        made.program
    );
    for (what, files) in [
        ("Missing", &checked.missing[..]),
        ("Changed since the kit was written", &checked.changed),
        (
            "Of an earlier kit, kept because they had been changed; do not print or follow them",
            &checked.earlier,
        ),
        ("Made from files that are not the same now", stale),
        ("Not of the kit, left alone", &checked.foreign),
        ("Not compared, as they do not lie beside the cake file", unknown),
    ] {
        if !files.is_empty() {
            let _ = write!(
                text,
                "{what}:\n{}",
                files.iter().map(|file| format!("  {file}\n")).collect::<String>()
            );
        }
    }
    text += match (checked.is_whole(), stale.is_empty()) {
        (true, true) => "Every file of it is as it was written.\n",
        (_, false) => "Write the kit again before you print or cut: crumbline kit CAKE --out FOLDER\n",
        (false, true) if checked.missing.is_empty() && checked.changed.is_empty() => {
            "Move what is of an earlier kit somewhere else.\n"
        }
        (false, true) => "Write the kit again: crumbline kit CAKE --out FOLDER\n",
    };
    text
}
