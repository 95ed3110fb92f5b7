//! What the command line says when it cannot go on.

use std::io::{IsTerminal, Write};

use cakefile::CakeFileError;
use formats::export::ExportError;
use plan::PlanError;

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
    /// The tools of a cake cannot be made.
    #[error(transparent)]
    Kit(#[from] make::kit::KitError),
    /// The paper sheets of a cake cannot be made.
    #[error(transparent)]
    Sheets(#[from] make::sheets::SheetError),
    /// A solid of a cake cannot be made.
    #[error(transparent)]
    Solid(#[from] make::solids::PartError),
    /// No stack could be looked for.
    #[error(transparent)]
    Arrange(shop::arrange::ArrangeError),
    /// A table could not be made.
    #[error("cannot write a table: {0}")]
    Table(#[from] csv::Error),
    /// The command itself is wrong.
    #[error("{what}")]
    Usage {
        /// What is wrong.
        what: String,
        /// How to fix it.
        fix: String,
    },
    /// Text could not be printed.
    #[error("cannot print: {0}")]
    Print(#[from] std::io::Error),
    /// There is no picture or no window.
    #[cfg(feature = "viewer")]
    #[error(transparent)]
    Viewer(#[from] studio::ViewerError),
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

impl From<shop::arrange::ArrangeError> for CliError {
    fn from(error: shop::arrange::ArrangeError) -> Self {
        match error {
            shop::arrange::ArrangeError::CakeFile(error) => Self::CakeFile(error),
            other => Self::Arrange(other),
        }
    }
}

impl CliError {
    /// Whether it is the program's own fault, and not one of the cake file, the flags or the disk.
    pub fn is_fault(&self) -> bool {
        use make::kit::KitError;
        use plan::carve::CarveError;
        let carve = |error: &PlanError| {
            matches!(error, PlanError::Carve(CarveError::NotSolid(_) | CarveError::NotConserved { .. }))
        };
        match self {
            Self::Plan(error) => carve(error),
            Self::Arrange(shop::arrange::ArrangeError::Plan(error)) => carve(error),
            Self::Solid(_) => true,
            Self::Export(error) => matches!(error, ExportError::NotSolid { .. }),
            Self::Kit(error) => matches!(error, KitError::NotSolid { .. } | KitError::Refused { .. }),
            _ => false,
        }
    }

    /// The error and its causes, for whoever fixes the program.
    pub fn chain(&self) -> String {
        let mut text = format!("{self}");
        let mut cause = std::error::Error::source(self);
        while let Some(error) = cause {
            text += &format!("\nbecause: {error}");
            cause = error.source();
        }
        text
    }

    /// Prints the error to standard error, with every cause and the fix.
    pub fn show(&self) {
        let colour =
            std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
        match self {
            Self::CakeFile(error) => tell(&error.render(colour)),
            Self::Usage { what, fix } => tell(&format!("error: {what}\n  fix: {fix}\n")),
            // What the kernel says of a solid is for the report.
            fault if fault.is_fault() => tell(&format!("error: {fault}\n")),
            other => {
                let mut text = format!("error: {other}\n");
                let mut cause = std::error::Error::source(other);
                while let Some(error) = cause {
                    text += &format!("  because: {error}\n");
                    cause = error.source();
                }
                tell(&text);
            }
        }
    }
}

/// Prints to standard error, and to the log.
pub(super) fn tell(text: &str) {
    super::log::line(text);
    print_error(text);
}

/// Prints to standard error alone. Where that is closed there is no one to tell.
pub(super) fn print_error(text: &str) {
    let _ = std::io::stderr().write_all(formats::escape::terminal(text).as_bytes());
}
