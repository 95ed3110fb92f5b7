//! `upgrade`: a file in the words of this version.

use std::path::PathBuf;

use clap::Args;

use super::{
    cake::FileArgs,
    error::CliError,
    run::{Outcome, print},
};
use cakefile::{CakeFileError, upgraded, world::Content};
use formats::export::write_atomic;

/// Flags of `upgrade`.
#[derive(Debug, Args)]
pub struct UpgradeArgs {
    /// The cake file or pantry file.
    pub file: PathBuf,
    /// Write it here instead of in the place of the old one.
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    #[command(flatten)]
    pub files: FileArgs,
}

/// Writes the file in the words of this version and says what changed. Comments, order and every other byte stay.
///
/// # Errors
/// A file that cannot be read or is not text, or one that cannot be written.
pub fn upgrade(args: &UpgradeArgs) -> Result<Outcome, CliError> {
    let name = args.file.display().to_string();
    let file = args.files.disk().read(&args.file, Content::Text);
    let file = file.map_err(|cause| CakeFileError::unreadable(&name, cause))?;
    let text = String::from_utf8(file.bytes.to_vec()).map_err(|_| CliError::Usage {
        what: format!("{name} is not text"),
        fix: "name a cake file or a pantry file".into(),
    })?;
    let Some(upgraded) = upgraded(&text) else {
        return print(&format!("{name} is in the words of this version already\n"));
    };
    let out = args.out.as_deref().unwrap_or(&args.file);
    write_atomic(out, |w| w.write_all(upgraded.text.as_bytes()))?;
    let changes: Vec<String> =
        upgraded.changes.iter().map(|(before, after)| format!("  {before} is now {after}\n")).collect();
    print(&format!("Wrote {}\n{}", out.display(), changes.concat()))
}
