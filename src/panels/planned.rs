//! What the newest plan says, as panels show it.

use std::{collections::BTreeMap, sync::Arc};

use cakefile::Diagnostic;
use glam::DVec2;
use make::overview::Overview;
use plan::{Plan, Source};

use crate::{
    elevation::Elevation,
    outline::{TracedPictures, Under, outlines_of, pictures_under},
};

/// Lines of outlines, mm, by the paths of the outlines.
pub type OutlinesByPath = BTreeMap<String, Vec<Vec<DVec2>>>;
/// Pictures that outlines were traced from, by the paths of the outlines.
pub type PicturesByPath = BTreeMap<String, Arc<Under>>;

/// A plan with what panels draw of it.
#[derive(Debug, Clone)]
pub struct Planned {
    /// The plan.
    pub plan: Arc<Plan>,
    /// Its first screen.
    pub overview: Arc<Overview>,
    /// Its lines from the front and from the side.
    pub elevation: Arc<Elevation>,
    /// The outlines that lie in other files, by their paths, in mm.
    pub outlines: Arc<OutlinesByPath>,
    /// The pictures that outlines were traced from, by the paths of the outlines.
    pub under: Arc<PicturesByPath>,
    /// The text that was planned.
    pub text: Arc<str>,
}

impl Planned {
    /// What panels show of `plan`, which was made of `source`; `traced` remembers the pictures.
    pub fn new(plan: Arc<Plan>, overview: Overview, source: &Source, traced: &TracedPictures) -> Self {
        let outlines = Arc::new(outlines_of(&plan, source));
        let under = Arc::new(pictures_under(source, traced));
        Self::with(plan, overview, source, (outlines, under))
    }

    /// The same while a gesture goes on: what lies in other files is as it was in `before`.
    pub fn while_dragging(plan: Arc<Plan>, overview: Overview, source: &Source, before: &Self) -> Self {
        Self::with(plan, overview, source, (before.outlines.clone(), before.under.clone()))
    }

    fn with(
        plan: Arc<Plan>,
        overview: Overview,
        source: &Source,
        (outlines, under): (Arc<OutlinesByPath>, Arc<PicturesByPath>),
    ) -> Self {
        Self {
            elevation: Arc::new(Elevation::of(&plan)),
            overview: Arc::new(overview),
            text: source.cake.text().into(),
            outlines,
            under,
            plan,
        }
    }
}

/// What came of planning the text as it was last.
#[derive(Debug, Clone, Default)]
pub struct Outcome {
    /// The last plan that could be made, if there was one.
    pub planned: Option<Planned>,
    /// What is wrong with the newest text, so that there is no plan of it.
    pub problems: Vec<Diagnostic>,
    /// The same as a sentence, where it belongs to no place in the file.
    pub failed: Option<String>,
}
