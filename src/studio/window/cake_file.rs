//! The window's usual source: a cake file, planned again whenever it or a file that it was made from changes.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use super::source::{CakeSource, Finding, LayerFigures, LoadError, LoadedCake};
use cakefile::{
    CakeFileError, Diagnostic,
    world::{FileRead, Overlay, Recorded, World},
};
use geom::{Cancel, Cancelled, revolve::at_bearing};
use make::{overview::Overview, solids};
use panels::{Session, outline::TracedPictures, planned::Planned, planning::plan_for_window};
use plan::{Plan, PlanError, Planner, Quality, Source, pantry_file, stack::SlabKind};

/// A cake file in a world of files, with what is not saved of it laid over the files.
#[derive(Clone)]
pub struct CakeFileSource {
    world: Arc<Overlay<Arc<dyn World>>>,
    /// Where the cake lies, and the files beside it that are laid over the others.
    at: Arc<Mutex<Option<Place>>>,
    pantry: Option<PathBuf>,
    /// The maker's own pantry, for cakes that have none beside them.
    usual_pantry: Option<PathBuf>,
    planner: Arc<Planner>,
    overview: fn(&Plan) -> Overview,
    traced: TracedPictures,
    /// What was shown last.
    last: Arc<Mutex<Option<Planned>>>,
}

#[derive(Debug, Clone)]
struct Place {
    cake: PathBuf,
    laid_over: Vec<PathBuf>,
    /// Whether a gesture goes on, so that a coarse plan will do.
    is_dragging: bool,
}

impl CakeFileSource {
    /// The cake in the file at `path`, made from the pantry in the file at `pantry`; where none is named from the one
    /// beside the cake file. Nothing is read yet.
    pub fn new(world: Arc<dyn World>, path: &Path, pantry: Option<&Path>) -> Self {
        let source = Self::without_cake(world, pantry);
        *source.place() = Some(Place { cake: path.to_owned(), laid_over: Vec::new(), is_dragging: false });
        source
    }

    /// No cake until one is edited ([`Self::follow`]).
    pub fn without_cake(world: Arc<dyn World>, pantry: Option<&Path>) -> Self {
        Self {
            world: Arc::new(Overlay::new(world)),
            at: Arc::default(),
            pantry: pantry.map(Path::to_owned),
            usual_pantry: None,
            planner: Arc::new(Planner::new()),
            overview: Overview::new,
            traced: TracedPictures::default(),
            last: Arc::default(),
        }
    }

    /// The same with another first screen than that of the plan alone, as one that knows the order.
    #[must_use]
    pub fn with_overview(self, overview: fn(&Plan) -> Overview) -> Self {
        Self { overview, ..self }
    }

    /// The same with the maker's own pantry, for cakes that have none beside them.
    #[must_use]
    pub fn with_usual_pantry(self, usual_pantry: Option<PathBuf>) -> Self {
        Self { usual_pantry, ..self }
    }

    /// How the first screen is made.
    pub fn overview(&self) -> fn(&Plan) -> Overview {
        self.overview
    }

    /// From now on the cake is that of `session`, as its text is now, saved or not.
    pub fn follow(&self, session: &Session) {
        let cake = session.path().to_owned();
        let mut laid_over: Vec<PathBuf> =
            session.beside().keys().map(|name| cake.with_file_name(name)).collect();
        for (path, bytes) in laid_over.iter().zip(session.beside().values()) {
            self.world.set(path.clone(), bytes.clone());
        }
        self.world.set(cake.clone(), session.text().as_bytes().to_vec());
        laid_over.push(cake.clone());
        let before = self.place().replace(Place {
            cake,
            laid_over: laid_over.clone(),
            is_dragging: session.is_dragging(),
        });
        for path in before.into_iter().flat_map(|place| place.laid_over) {
            if !laid_over.contains(&path) {
                self.world.clear(&path);
            }
        }
    }

    /// What a plan is made from now, with the planner that makes it.
    ///
    /// # Errors
    /// A cake file or a pantry that cannot be read, and where there is no cake.
    pub fn source(&self) -> Result<(Arc<Planner>, Source), PlanError> {
        Ok((self.planner.clone(), self.source_in(self.world.clone())?))
    }

    fn source_in(&self, world: Arc<dyn World>) -> Result<Source, PlanError> {
        let Some(place) = self.place().clone() else { return Err(Cancelled.into()) };
        let folder = place.cake.parent().unwrap_or(Path::new(""));
        let pantry = pantry_file(&world, folder, self.pantry.as_deref(), self.usual_pantry.as_deref());
        Ok(Source::read(world, &place.cake, pantry)?)
    }

    /// Whether an error is about the cake file, and not about the pantry.
    fn is_of_cake(&self, error: &CakeFileError) -> bool {
        self.place().as_ref().is_some_and(|place| place.cake.display().to_string() == error.name())
    }

    fn place(&self) -> MutexGuard<'_, Option<Place>> {
        // It is replaced in one step.
        self.at.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn plan(&self, world: Arc<dyn World>, cancel: &Cancel) -> Result<LoadedCake, LoadFailure> {
        let source = self.source_in(world)?;
        let is_dragging = self.place().as_ref().is_some_and(|place| place.is_dragging);
        let before = self.last.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let quality = if is_dragging { Quality::Draft } else { Quality::Full };
        let (plan, problems) = plan_for_window(&self.planner, &source, quality, cancel)?;
        let plan = Arc::new(plan);
        let planned = match before.filter(|_| is_dragging) {
            // What the order asks for is looked at once the gesture has ended.
            Some(before) => Planned::while_dragging(plan.clone(), Overview::new(&plan), &source, &before),
            None => Planned::new(plan.clone(), (self.overview)(&plan), &source, &self.traced),
        };
        let cake = loaded(&plan, &planned.overview)?;
        *self.last.lock().unwrap_or_else(PoisonError::into_inner) = Some(planned.clone());
        Ok(LoadedCake { planned: Some(planned), problems, ..cake })
    }
}

/// Why there is no cake to show.
#[derive(Debug, thiserror::Error)]
enum LoadFailure {
    #[error(transparent)]
    Plan(#[from] PlanError),
    #[error(transparent)]
    Part(#[from] solids::PartError),
}

impl CakeSource for CakeFileSource {
    fn load(&self, cancel: &Cancel) -> Result<LoadedCake, LoadError> {
        let world = Arc::new(Recorded::new(self.world.clone()));
        let invalid = |message: String, problems: Vec<Diagnostic>| {
            Err(LoadError::Invalid { message, problems, files: world.reads() })
        };
        match self.plan(world.clone(), cancel) {
            Ok(cake) => Ok(LoadedCake { files: world.reads(), ..cake }),
            Err(LoadFailure::Plan(PlanError::Cancelled(stopped))) => Err(stopped.into()),
            Err(LoadFailure::Plan(error)) => {
                let problems = match &error {
                    PlanError::CakeFile(error) if self.is_of_cake(error) => error.problems().to_vec(),
                    // Of the pantry they are told as a whole.
                    _ => Vec::new(),
                };
                invalid(error.render(), problems)
            }
            Err(LoadFailure::Part(error)) => invalid(error.to_string(), Vec::new()),
        }
    }

    fn main_file(&self) -> Option<PathBuf> {
        self.place().as_ref().map(|place| place.cake.clone())
    }

    fn is_current(&self, file: &FileRead) -> bool {
        file.holds_in(&self.world)
    }
}

impl TryFrom<&Plan> for LoadedCake {
    type Error = solids::PartError;

    fn try_from(plan: &Plan) -> Result<Self, Self::Error> {
        loaded(plan, &Overview::new(plan))
    }
}

fn loaded(plan: &Plan, overview: &Overview) -> Result<LoadedCake, solids::PartError> {
    let slabs = plan.stack.slabs.iter().zip(&plan.carving.slabs);
    let layers = slabs.filter(|(slab, _)| slab.kind == SlabKind::Layer).map(|(slab, carving)| LayerFigures {
        name: slab.name.clone(),
        raw: carving.volumes.raw,
        kept: carving.volumes.kept,
        offcut: carving.volumes.offcut,
        shortfall: carving.volumes.shortfall,
    });
    let findings = overview.decide.iter().chain(&overview.know).map(|told| Finding {
        severity: told.severity,
        message: told.what_and_where(),
        help: (!told.fix.is_empty()).then(|| told.fix.clone()),
        place: told.at.map(|place| at_bearing(place.radius, place.height, place.bearing)),
    });
    Ok(LoadedCake {
        model: solids::model_in_stages(plan, plan.design.preview)?,
        layers: layers.collect(),
        findings: findings.collect(),
        glance: overview.lines().into_iter().map(|line| (line.label, line.text)).collect(),
        ..LoadedCake::default()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use cakefile::world::Memory;

    const CONE: &str = "crumbline = 1\n[shape.turned.svg]\nfile = \"cone.svg\"\n";

    fn looked_at(world: Memory) -> Vec<(String, bool)> {
        let source = CakeFileSource::new(Arc::new(world), Path::new("cakes/cone.toml"), None);
        match source.load(&Cancel::new()) {
            Err(LoadError::Invalid { files, .. }) => {
                assert!(files.iter().all(|file| source.is_current(file)));
                let name = |file: &FileRead| file.path.to_string_lossy().replace('\\', "/");
                files.iter().map(|file| (name(file), file.revision.is_some())).collect()
            }
            _ => panic!("none of these is a cake"),
        }
    }

    #[test]
    fn what_was_looked_at_is_told_whether_it_was_there_or_not() {
        let missing = |name: &str| (format!("cakes/{name}"), false);
        let there = |name: &str| (format!("cakes/{name}"), true);
        assert_eq!(looked_at(Memory::new()), [missing("cone.toml")]);
        let world = Memory::new().with("cakes/cone.toml", *b"crumbline = ");
        assert_eq!(looked_at(world), [there("cone.toml"), missing("pantry.toml")]);
        let world = Memory::new().with("cakes/cone.toml", CONE.as_bytes().to_vec());
        assert_eq!(
            looked_at(world.clone()),
            [missing("cone.svg"), there("cone.toml"), missing("pantry.toml")]
        );
        let world =
            world.with("cakes/cone.svg", *b"<svg/>").with("cakes/pantry.toml", *b"crumbline = 1\n[pantry]\n");
        assert_eq!(looked_at(world), [there("cone.svg"), there("cone.toml"), there("pantry.toml")]);
    }

    #[test]
    fn a_cancelled_load_hands_out_nothing() {
        let cancel = Cancel::new();
        cancel.cancel();
        let example = include_str!("../../../assets/examples/lopsided-bell/lopsided-bell.cake.toml");
        let world = Memory::new().with("bell.toml", example.as_bytes().to_vec());
        let source = CakeFileSource::new(Arc::new(world), Path::new("bell.toml"), None);
        let error = source.load(&cancel).unwrap_err();
        assert!(matches!(error, LoadError::Cancelled(_)), "{error}");
        assert!(source.load(&Cancel::new()).is_ok());
    }
}
