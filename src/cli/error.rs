//! What the command line says when it cannot go on.

use std::io::IsTerminal;

use crate::{cakefile::CakeFileError, export::ExportError, plan::PlanError};

/// Exit code for a wrong command, a wrong file, or something that could not be written.
pub const WRONG: u8 = 2;

/// Why a command could not be done.
#[derive(Debug, thiserror::Error)]
pub enum CliError {
    /// The cake file is wrong.
    #[error(transparent)]
    CakeFile(#[from] CakeFileError),
    /// There is no plan.
    #[error(transparent)]
    Plan(PlanError),
    /// A file could not be written.
    #[error(transparent)]
    Export(#[from] ExportError),
    /// The command itself is wrong.
    #[error("{what}")]
    Usage {
        /// What is wrong.
        what: String,
        /// How to mend it.
        mend: String,
    },
    /// Text could not be printed.
    #[error("cannot print: {0}")]
    Print(#[from] std::io::Error),
    /// There is no picture or no window.
    #[cfg(feature = "viewer")]
    #[error(transparent)]
    Viewer(#[from] crate::viewer::ViewerError),
    /// JSON could not be made.
    #[error("cannot write the report as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

impl From<PlanError> for CliError {
    fn from(error: PlanError) -> Self {
        match error {
            PlanError::CakeFile(error) => Self::CakeFile(error),
            other => Self::Plan(other),
        }
    }
}

impl CliError {
    /// Prints the error to standard error, with every cause and the mend.
    pub fn show(&self) {
        let colour =
            std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
        match self {
            // Whoever reads our output has gone away: there is no one to tell.
            Self::Print(error) if error.kind() == std::io::ErrorKind::BrokenPipe => {}
            Self::CakeFile(error) => eprint!("{}", error.render(colour)),
            Self::Usage { what, mend } => eprintln!("error: {what}\n  mend: {mend}"),
            other => {
                eprintln!("error: {other}");
                let mut cause = std::error::Error::source(other);
                while let Some(error) = cause {
                    eprintln!("  because: {error}");
                    cause = error.source();
                }
            }
        }
    }
}
