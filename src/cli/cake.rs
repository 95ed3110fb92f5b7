//! Which cake a command is about.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use cakefile::world::{Disk, World};
use clap::Args;
use geom::Cancel;
use plan::{Plan, Planner, Quality, Source, pantry_file};

use super::{error::CliError, progress::ProgressBars, talk};

/// The cake file and the pantry that it is made from.
#[derive(Debug, Clone, Args)]
pub struct CakeArgs {
    /// The cake file.
    pub cake: PathBuf,
    /// The pantry, and what may be read.
    #[command(flatten)]
    pub files: FileArgs,
}

/// The folder of what the program keeps for its user: `CRUMBLINE_CONFIG`, else the system's place for that.
pub fn configuration() -> Option<PathBuf> {
    std::env::var_os("CRUMBLINE_CONFIG").filter(|folder| !folder.is_empty()).map(PathBuf::from).or_else(
        || {
            let own = directories::ProjectDirs::from("", "", "crumbline")?;
            Some(own.config_dir().to_owned())
        },
    )
}

/// The maker's own pantry file, for every cake that has none beside it; it need not be there.
pub fn own_pantry() -> Option<PathBuf> {
    configuration().map(|folder| folder.join("pantry.toml"))
}

/// The pantry that cakes are made from, and which files a cake file may name.
#[derive(Debug, Clone, Args)]
pub struct FileArgs {
    /// The pantry file. Left out: `pantry.toml` beside the cake file, else your own in the configuration folder, else
    /// the program's.
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

    /// The pantry file for cakes in `folder`; `None` where it is the one in the folder, or that of the program.
    pub fn pantry_for(&self, world: &dyn World, folder: &Path) -> Option<PathBuf> {
        let usual = own_pantry();
        pantry_file(world, folder, self.pantry.as_deref(), usual.as_deref()).map(Path::to_owned)
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
        let folder = self.cake.parent().unwrap_or(Path::new(""));
        let pantry = self.files.pantry_for(&world, folder);
        Ok(Source::read(world, &self.cake, pantry.as_deref())?)
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
        let (source, bars) = (self.source_from(world)?, ProgressBars::new());
        Ok(Planner::new().plan_telling(&source, Quality::Full, &Cancel::new(), &bars)?)
    }
}
