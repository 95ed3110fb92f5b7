//! Valid cakes of every kind, drawn from a tape of numbers.
//!
//! Every struct of the cake file's schema is written out field by field, so that a new key does not compile until it is
//! drawn here too. A tape that has run out gives the simplest choice everywhere: a shorter tape is a simpler cake, and
//! proptest shrinks a cake that fails by shortening its tape.

// The tests of each member use their part of it.
#![allow(dead_code)]

mod details;
mod finishes;
mod outlines;
mod pantry;
mod settings;
mod shapes;
mod stack;
mod tape;

use std::{collections::BTreeMap, path::Path, sync::Arc};

use cakefile::{
    CakeFile,
    schema::{Cake, FORMAT_VERSION},
    schema_pantry::PantryFile,
    world::{Memory, World},
};
use plan::{Source, pantry::Pantry};

pub use tape::{Tape, any_tape};

/// Where the cake file lies, among the files that it names.
const FOLDER: &str = "cakes";

/// A cake file, the files that it names, and the pantry file that it is made from.
#[derive(Debug, Clone)]
pub struct AnyCake {
    /// What the file says.
    pub cake: Cake,
    /// Drawings, pictures and models by name.
    pub files: BTreeMap<String, Vec<u8>>,
    /// The pantry, or the one that comes with the program.
    pub pantry: Option<PantryFile>,
}

impl AnyCake {
    /// The cake that `numbers` stand for.
    pub fn drawn(numbers: &[u32]) -> Self {
        let mut t = Tape::new(numbers);
        let pantry = t.maybe(4, pantry::any_pantry_file);
        t.unit =
            *t.pick(&[geom::units::Unit::Millimetre, geom::units::Unit::Inch, geom::units::Unit::Centimetre]);
        let (shape, size) = shapes::any_shape(&mut t);
        let materials = stack::any_materials(&mut t);
        let tiers = stack::any_tiers(&mut t, &size);
        let stack_height = stack::height(&tiers);
        let mut zones = Vec::new();
        let mut cake = Cake {
            crumbline: FORMAT_VERSION,
            name: t.name(),
            unit: Some(t.unit),
            units: t.maybe(4, settings::any_units),
            notes: t.maybe(6, Tape::name),
            board: t.maybe(3, |t| stack::presentation_board(t, &size)),
            coverings: {
                let coverings = stack::any_coverings(&mut t, &shape, &size);
                zones.extend(coverings.iter().flat_map(|covering| covering.zones.clone()));
                coverings
            },
            centre_dowel: t.maybe(4, |t| stack::any_centre_dowel(t, stack_height)),
            tiers,
            details: details::any_details(&mut t, &shape, &size, &zones),
            shape,
            materials,
            limits: t.maybe(5, settings::any_limits),
            accuracy: Some(settings::any_accuracy(&mut t)),
            paper: t.maybe(4, settings::any_paper),
            carving: t.maybe(4, settings::any_carving),
            icing: t.maybe(4, settings::any_icing),
            printing: t.maybe(3, settings::any_printing),
            support: t.maybe(4, settings::any_support),
            pantry: t.maybe(5, pantry::any_pantry),
            order: t.maybe(4, settings::any_order),
            offer: None,
        };
        let coverings = cake.coverings.iter().map(|coat| coat.material.clone());
        let zones = cake.coverings.iter().flat_map(|coat| coat.zones.iter().map(|zone| zone.name.clone()));
        let names: Vec<String> =
            coverings.chain(zones).chain(cake.details.iter().map(|detail| detail.name.clone())).collect();
        cake.offer = t.maybe(4, |t| settings::any_offer(t, &names));
        Self { cake, files: t.files, pantry }
    }

    /// The cake file as text.
    pub fn text(&self) -> String {
        toml::to_string(&self.cake).expect("a cake file can be written")
    }

    /// The pantry file as text.
    pub fn pantry_text(&self) -> Option<String> {
        self.pantry.as_ref().map(|pantry| toml::to_string(pantry).expect("a pantry file can be written"))
    }

    /// What it is planned from.
    ///
    /// # Errors
    /// When the pantry file is refused, with what is said about it.
    pub fn source(&self) -> Result<Source, String> {
        let folder = Path::new(FOLDER);
        let files = self.files.iter();
        let world =
            files.fold(Memory::new(), |world, (name, bytes)| world.with(folder.join(name), bytes.clone()));
        let world: Arc<dyn World> = Arc::new(world);
        let source = Source::new(CakeFile::from_text("any.cake.toml", folder, self.text()), world);
        let Some(pantry) = self.pantry_text() else { return Ok(source) };
        let file = CakeFile::from_text("pantry.toml", folder, pantry);
        let pantry = Pantry::usual().with_file(&file).map_err(|error| {
            error.problems().iter().map(|problem| problem.message.clone()).collect::<Vec<_>>().join("; ")
        })?;
        Ok(source.with_pantry(pantry))
    }

    /// Writes the cake file and everything that it names into `folder`.
    ///
    /// # Errors
    /// When the disk refuses.
    pub fn write(&self, folder: &Path) -> std::io::Result<()> {
        std::fs::write(folder.join("any.cake.toml"), self.text())?;
        for (name, bytes) in &self.files {
            std::fs::write(folder.join(name), bytes)?;
        }
        match self.pantry_text() {
            Some(text) => std::fs::write(folder.join("pantry.toml"), text),
            None => Ok(()),
        }
    }
}
