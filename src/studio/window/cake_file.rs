//! The window's usual source: a cake file on disk, planned anew whenever it or a drawing changes.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use glam::DVec3;

use super::source::{CakeSource, Finding, LayerFigures, LoadedCake};
use cakefile::world::World;
use make::solids;
use plan::{Plan, Source, carve::Place, stack::SlabKind};

/// A cake file on disk.
#[derive(Clone)]
pub struct CakeFileSource {
    world: Arc<dyn World>,
    path: PathBuf,
    pantry: Option<PathBuf>,
}

impl CakeFileSource {
    /// The cake in the file at `path`, made from the pantry in the file at `pantry`; where none is named from the one
    /// beside the cake file. Nothing is read yet.
    pub fn new(world: Arc<dyn World>, path: &Path, pantry: Option<&Path>) -> Self {
        Self { world, path: path.to_owned(), pantry: pantry.map(Path::to_owned) }
    }
}

impl CakeSource for CakeFileSource {
    fn load(&self) -> Result<LoadedCake, String> {
        let source = Source::read(self.world.clone(), &self.path, self.pantry.as_deref());
        let source = source.map_err(|error| error.render(false))?;
        let plan = Plan::new(&source).map_err(|error| error.render())?;
        Ok(LoadedCake::from(&plan))
    }

    fn files(&self) -> Vec<PathBuf> {
        let folder = self.path.parent().unwrap_or(Path::new(""));
        let text = std::fs::read_to_string(&self.path).unwrap_or_default();
        let drawings = text.parse::<toml::Table>().map(|cake| named_files(&toml::Value::Table(cake)));
        let drawings = drawings.unwrap_or_default().into_iter().map(|name| folder.join(name));
        std::iter::once(self.path.clone()).chain(drawings).collect()
    }
}

/// Every file that a cake file names: the text under each key called `file`.
fn named_files(value: &toml::Value) -> Vec<String> {
    match value {
        toml::Value::Table(table) => table
            .iter()
            .flat_map(|(key, value)| match value.as_str() {
                Some(name) if key == "file" => vec![name.to_owned()],
                _ => named_files(value),
            })
            .collect(),
        toml::Value::Array(array) => array.iter().flat_map(named_files).collect(),
        _ => Vec::new(),
    }
}

impl From<&Plan> for LoadedCake {
    fn from(plan: &Plan) -> Self {
        let slabs = plan.stack.slabs.iter().zip(&plan.carving.slabs);
        let layers =
            slabs.filter(|(slab, _)| slab.kind == SlabKind::Layer).map(|(slab, carving)| LayerFigures {
                name: slab.name.clone(),
                raw: carving.volumes.raw,
                kept: carving.volumes.kept,
                offcut: carving.volumes.offcut,
                shortfall: carving.volumes.shortfall,
            });
        let findings = plan.findings.iter().map(|found| Finding {
            severity: found.severity,
            message: found.message.clone(),
            help: Some(found.fix.words.clone()),
            place: found.place.map(point),
        });
        Self {
            model: solids::model_in_stages(plan, plan.design.preview),
            layers: layers.collect(),
            findings: findings.collect(),
        }
    }
}

fn point(place: Place) -> DVec3 {
    let (sin, cos) = place.bearing.to_radians().sin_cos();
    DVec3::new(place.radius * sin, -place.radius * cos, place.height)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_that_a_cake_names_is_found() {
        let cake =
            "[shape.turned.svg]\nfile = \"a.svg\"\n[[trim]]\n[trim.cut.outline.svg]\nfile = \"sub/b.svg\"\n";
        let names = named_files(&toml::Value::Table(cake.parse().unwrap()));
        assert_eq!(names, ["a.svg", "sub/b.svg"]);
    }

    #[test]
    fn places_lie_on_their_bearing() {
        let right = point(Place { height: 5.0, bearing: 90.0, radius: 10.0 });
        assert!((right - DVec3::new(10.0, 0.0, 5.0)).length() < 1e-12);
    }
}
