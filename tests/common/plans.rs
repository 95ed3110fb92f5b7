//! Plans of cake files, made from the pantry that comes with the program.

// The tests of each member use their part of it.
#![allow(dead_code)]

use cakefile::CakeFile;
use geom::Cancel;
use plan::{Plan, PlanError, Planner, Quality, Source};

use crate::{
    files::{disk, read},
    repository,
};

/// What the command line would plan `file` from if there were no pantry beside it.
pub fn source(file: &CakeFile) -> Source {
    Source::new(file.clone(), disk())
}

/// The plan of `file`.
pub fn planned(file: &CakeFile) -> Result<Plan, PlanError> {
    Plan::new(&source(file))
}

/// Plans the cake that `text` describes. It names no other files.
///
/// # Panics
/// With every problem of the cake file, or when volumes do not add up.
pub fn plan(text: &str) -> Plan {
    let file = CakeFile::from_text("test.cake.toml", "", text);
    planned(&file).unwrap_or_else(|error| panic!("{error:?}\n{text}"))
}

/// The example called `name`, as it lies in the repository.
///
/// # Panics
/// With every problem of the cake file, or when volumes do not add up.
pub fn example(name: &str) -> Plan {
    let file = read(repository::example(name)).unwrap_or_else(|error| panic!("{error:?}"));
    planned(&file).unwrap_or_else(|error| panic!("{error:?}"))
}

/// What the example called `name` is planned from.
pub fn example_source(name: &str) -> Source {
    Source::read(disk(), &repository::example(name), None).unwrap_or_else(|error| panic!("{error:?}"))
}

/// What `planner` makes of `source`, in full.
pub fn full(planner: &Planner, source: &Source) -> Plan {
    planner.plan(source, Quality::Full, &Cancel::new()).unwrap()
}
