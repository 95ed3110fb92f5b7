//! What a plan is made from: a cake file, the maker's pantry, and the files that both name.

use std::{
    fmt,
    path::Path,
    sync::{Arc, LazyLock},
};

use cakefile::{
    CakeFile, CakeFileError,
    world::{Beside, Content, World},
};

use crate::pantry::Pantry;

/// What a pantry file beside a cake file is called.
pub const PANTRY_BESIDE: &str = "pantry.toml";

/// What a plan is made from. The same source gives the same plan, whoever asks for it.
#[derive(Clone)]
pub struct Source {
    /// The cake file.
    pub cake: CakeFile,
    /// The pantry that comes with the program with the maker's own over it. What the cake file says under
    /// `[pantry]` is laid over that when the cake is planned.
    pub pantry: Arc<Pantry>,
    /// Where the files come from that the cake file names.
    pub world: Arc<dyn World>,
}

impl fmt::Debug for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Source").field("cake", &self.cake).finish_non_exhaustive()
    }
}

impl Source {
    /// The cake in `cake`, made from the pantry that comes with the program.
    pub fn new(cake: CakeFile, world: Arc<dyn World>) -> Self {
        static SHIPPED: LazyLock<Arc<Pantry>> = LazyLock::new(|| Arc::new(Pantry::usual()));
        Self { cake, pantry: SHIPPED.clone(), world }
    }

    /// Reads the cake file at `path`, and the pantry file at `pantry`; where none is named the one beside the cake
    /// file, and where there is none the pantry that comes with the program.
    ///
    /// # Errors
    /// A cake file that cannot be read, or every problem of the pantry file at once. What the cake file says is
    /// not looked at yet.
    pub fn read(world: Arc<dyn World>, path: &Path, pantry: Option<&Path>) -> Result<Self, CakeFileError> {
        let cake = CakeFile::read(&world, path)?;
        let pantry = shared_pantry(&world, cake.folder(), pantry)?;
        Ok(Self { pantry, ..Self::new(cake, world) })
    }

    /// The same with another pantry.
    #[must_use]
    pub fn with_pantry(self, pantry: impl Into<Arc<Pantry>>) -> Self {
        Self { pantry: pantry.into(), ..self }
    }

    /// The same with another text of the cake file.
    #[must_use]
    pub fn with_text(&self, text: impl Into<String>) -> Self {
        let cake = CakeFile::from_text(self.cake.name(), self.cake.folder(), text);
        Self { cake, ..self.clone() }
    }

    /// The files that the cake file names.
    pub fn files(&self) -> Beside<'_> {
        Beside::new(&self.world, self.cake.folder())
    }
}

/// The pantry file that counts for every cake in `folder`: the one that is `named`, else the one in the folder, else
/// the maker's own, `usual`, where there is one. `None` where the folder's own counts, or the pantry that comes with
/// the program.
pub fn pantry_file<'p>(
    world: &dyn World,
    folder: &Path,
    named: Option<&'p Path>,
    usual: Option<&'p Path>,
) -> Option<&'p Path> {
    let is_missing = |path: &Path| {
        world.read(path, Content::Text).is_err_and(|error| error.kind() == std::io::ErrorKind::NotFound)
    };
    named.or_else(|| usual.filter(|usual| is_missing(&folder.join(PANTRY_BESIDE)) && !is_missing(usual)))
}

/// The pantry for every cake in `folder`: the file `named`, else the one in the folder, else the one that comes
/// with the program.
///
/// # Errors
/// A named file that cannot be read, or every problem of the file at once.
pub fn shared_pantry(
    world: &dyn World,
    folder: &Path,
    named: Option<&Path>,
) -> Result<Arc<Pantry>, CakeFileError> {
    let beside = folder.join(PANTRY_BESIDE);
    let path = match named {
        Some(named) => named,
        None => match world.read(&beside, Content::Text) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                return Ok(Arc::new(Pantry::usual()));
            }
            _ => {
                // It was not named by the maker, and may have come with the cake file.
                let outside = |cause| CakeFileError::unreadable(&beside.display().to_string(), cause);
                world.may_name(folder, Path::new(PANTRY_BESIDE)).map_err(outside)?;
                &beside
            }
        },
    };
    Ok(Arc::new(Pantry::usual().with_file(&CakeFile::read(world, path)?)?))
}
