//! Where the window gets its cake from, and what it shows beside the picture.

use std::path::PathBuf;

use glam::DVec3;

use cakefile::Severity;
use formats::model::Model;

/// A cake that can be read again. The window calls this off the main thread.
pub trait CakeSource: Send + Sync + 'static {
    /// Reads and plans the cake.
    ///
    /// # Errors
    /// A message for the maker: what is wrong and how to mend it. The window shows it over the last
    /// good picture.
    fn load(&self) -> Result<LoadedCake, String>;

    /// The files that the cake is made from; when one of them changes the cake is read again.
    fn files(&self) -> Vec<PathBuf>;
}

/// A cake that was read and planned.
#[derive(Debug, Clone, Default)]
pub struct LoadedCake {
    /// Its solids.
    pub model: Model,
    /// Its layers, bottom up.
    pub layers: Vec<LayerFigures>,
    /// What the plan has to say about it.
    pub findings: Vec<Finding>,
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
    /// How to mend it.
    pub help: Option<String>,
    /// Where on the cake, mm; the eye goes there when the finding is clicked.
    pub place: Option<DVec3>,
}
