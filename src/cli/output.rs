//! What is said about the folders that commands write into.

use std::path::Path;

use formats::export::files::{Recovered, Replaced};

use super::{error::tell, talk::note};

/// Says that another run writes into `folder` and this one waits.
pub fn waiting(folder: &Path) {
    note(&format!("waiting: another run is writing into {}\n", folder.display()));
}

/// Says what became of what a killed run had left.
pub fn recovered(recovered: Option<Recovered>) {
    match recovered {
        None => {}
        Some(Recovered::Finished) => note("note: a run that was broken off here has been finished first\n"),
        Some(Recovered::TakenBack) => {
            note("note: a run that was broken off here has been taken back first\n")
        }
    }
}

/// Says which files of the maker's are still there, and where.
pub fn replaced(folder: &Path, replaced: &Replaced) {
    let from = std::fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned());
    let short = |path: &Path| path.strip_prefix(&from).unwrap_or(path).display().to_string();
    for (name, now) in &replaced.set_aside {
        let real = std::fs::canonicalize(name).unwrap_or_else(|_| name.clone());
        tell(&format!(
            "warning: {} was not as this program had written it: yours is now {}\n",
            short(&real),
            short(now)
        ));
    }
    for kept in &replaced.kept {
        tell(&format!(
            "warning: {} is of the kit before and not of this one; it was kept because you had changed it\n",
            short(kept)
        ));
    }
}
