//! The window's usual source: a cake file, planned again whenever it or a file that it was made from changes.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use super::source::{CakeSource, Finding, LayerFigures, LoadError, LoadedCake};
use cakefile::world::{FileRead, Recorded, World};
use geom::{Cancel, revolve::at_bearing};
use make::{overview::Overview, solids};
use plan::{Plan, PlanError, Planner, Quality, Source, stack::SlabKind};

/// A cake file in a world of files.
#[derive(Clone)]
pub struct CakeFileSource {
    world: Arc<dyn World>,
    path: PathBuf,
    pantry: Option<PathBuf>,
    planner: Arc<Planner>,
    overview: fn(&Plan) -> Overview,
}

impl CakeFileSource {
    /// The cake in the file at `path`, made from the pantry in the file at `pantry`; where none is named from the one
    /// beside the cake file. Nothing is read yet.
    pub fn new(world: Arc<dyn World>, path: &Path, pantry: Option<&Path>) -> Self {
        let pantry = pantry.map(Path::to_owned);
        Self {
            world,
            path: path.to_owned(),
            pantry,
            planner: Arc::new(Planner::new()),
            overview: Overview::new,
        }
    }

    /// The same with another first screen than that of the plan alone, as one that knows the order.
    #[must_use]
    pub fn with_overview(self, overview: fn(&Plan) -> Overview) -> Self {
        Self { overview, ..self }
    }

    fn plan(&self, world: Arc<dyn World>, cancel: &Cancel) -> Result<Plan, PlanError> {
        let source = Source::read(world, &self.path, self.pantry.as_deref())?;
        self.planner.plan(&source, Quality::Full, cancel)
    }
}

impl CakeSource for CakeFileSource {
    fn load(&self, cancel: &Cancel) -> Result<LoadedCake, LoadError> {
        let world = Arc::new(Recorded::new(self.world.clone()));
        match self.plan(world.clone(), cancel) {
            Ok(plan) => match loaded(&plan, &(self.overview)(&plan)) {
                Ok(cake) => Ok(LoadedCake { files: world.reads(), ..cake }),
                Err(error) => Err(LoadError::Invalid { message: error.to_string(), files: world.reads() }),
            },
            Err(PlanError::Cancelled(stopped)) => Err(stopped.into()),
            Err(error) => Err(LoadError::Invalid { message: error.render(), files: world.reads() }),
        }
    }

    fn main_file(&self) -> Option<PathBuf> {
        Some(self.path.clone())
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
        files: Vec::new(),
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
