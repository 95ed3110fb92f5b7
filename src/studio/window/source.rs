//! Where the window gets its cake from, and what it shows beside the picture.

use std::path::PathBuf;

use glam::DVec3;

use cakefile::{Diagnostic, Severity, world::FileRead};
use formats::model::Model;
use geom::{Cancel, Cancelled};
use panels::planned::Planned;

/// A cake that can be loaded again and again. The window loads on a thread of its own.
pub trait CakeSource: Send + Sync + 'static {
    /// Reads and plans the cake, unless asked to stop.
    ///
    /// # Errors
    /// [`LoadError::Invalid`] with a message for the maker, [`LoadError::Cancelled`] when asked to stop.
    fn load(&self, cancel: &Cancel) -> Result<LoadedCake, LoadError>;

    /// The file that is watched before anything was read from it; none if the cake is not on disk.
    fn main_file(&self) -> Option<PathBuf> {
        None
    }

    /// Whether a file still holds what it held when it was read.
    fn is_current(&self, _file: &FileRead) -> bool {
        true
    }
}

/// Why no cake was loaded.
#[derive(Debug, Clone, thiserror::Error)]
pub enum LoadError {
    /// There is something wrong with what was read.
    #[error("{message}")]
    Invalid {
        /// For the maker: what is wrong, where, and how to fix it.
        message: String,
        /// The same one by one, where it is the cake file that is wrong.
        problems: Vec<Diagnostic>,
        /// The files that were looked at; the cake is loaded again when one of them changes.
        files: Vec<FileRead>,
    },
    /// The load was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// A cake that was read and planned.
#[derive(Debug, Clone, Default)]
pub struct LoadedCake {
    /// Its solids.
    pub model: Model,
    /// Its layers, bottom up.
    pub layers: Vec<LayerFigures>,
    /// What is to be decided, then what is good to know.
    pub findings: Vec<Finding>,
    /// What to bake, what is hidden, the box, whether it stands and travels: a word and a sentence each.
    pub glance: Vec<(String, String)>,
    /// What the panels show of it.
    pub planned: Option<Planned>,
    /// What is wrong with the file although it could be planned in a way: that it has no layers yet.
    pub problems: Vec<Diagnostic>,
    /// The files that were looked at, those that were missing too; the cake is loaded again when one of them
    /// changes.
    pub files: Vec<FileRead>,
}

/// What becomes of one layer. Volumes in mm³.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LayerFigures {
    /// Its name.
    pub name: String,
    /// Before carving.
    pub raw: f64,
    /// What stays.
    pub kept: f64,
    /// What falls away.
    pub offcut: f64,
    /// What is missing.
    pub shortfall: f64,
}

/// Something the plan has to say.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How bad it is.
    pub severity: Severity,
    /// What it is.
    pub message: String,
    /// How to fix it.
    pub help: Option<String>,
    /// Where on the cake, mm; the eye goes there when the finding is clicked.
    pub place: Option<DVec3>,
}
