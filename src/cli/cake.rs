//! Which cake a command is about.

use std::{path::PathBuf, sync::Arc};

use cakefile::world::{Disk, World};
use clap::Args;
use plan::{Plan, Source};

use super::{error::CliError, talk};

/// The cake file and the pantry that it is made from.
#[derive(Debug, Clone, Args)]
pub struct CakeArgs {
    /// The cake file.
    pub cake: PathBuf,
    /// The pantry, and what may be read.
    #[command(flatten)]
    pub files: FileArgs,
}

/// The pantry that cakes are made from, and which files a cake file may name.
#[derive(Debug, Clone, Args)]
pub struct FileArgs {
    /// The pantry file. Left out: `pantry.toml` beside the cake file, or the pantry that comes with the program.
    #[arg(long, value_name = "FILE")]
    pub pantry: Option<PathBuf>,
    /// Also read drawings, pictures and models that a cake file names outside its own folder. Only for cake files that
    /// you trust.
    #[arg(long)]
    pub allow_outside: bool,
}

impl FileArgs {
    /// The files on disk.
    pub fn disk(&self) -> Arc<dyn World> {
        talk::told(Arc::new(Disk::new().allowing_outside(self.allow_outside)))
    }
}

impl CakeArgs {
    /// What the cake is planned from.
    ///
    /// # Errors
    /// A cake file that cannot be read, or every problem of the pantry file.
    pub fn source(&self) -> Result<Source, CliError> {
        self.source_from(self.files.disk())
    }

    fn source_from(&self, world: Arc<dyn World>) -> Result<Source, CliError> {
        Ok(Source::read(world, &self.cake, self.files.pantry.as_deref())?)
    }

    /// The plan of the cake.
    ///
    /// # Errors
    /// Every problem of the cake file or of the pantry file, or a cake that cannot be planned.
    pub fn plan(&self) -> Result<Plan, CliError> {
        self.plan_from(self.files.disk())
    }

    /// The plan of the cake as it is in `world`.
    ///
    /// # Errors
    /// As for [`CakeArgs::plan`].
    pub fn plan_from(&self, world: Arc<dyn World>) -> Result<Plan, CliError> {
        Ok(Plan::new(&self.source_from(world)?)?)
    }
}
