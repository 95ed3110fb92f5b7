//! The solids of the page and the stages of the making at which each is there.
//!
//! Stages are what the window's timeline names: the baked stack, the carved cake, each coat from the inside out, the finished
//! cake. A coat is shown as the whole solid inside its line, which hides what lies under it. Between two stages the page
//! cuts the one that goes or comes at a level that moves; so no further meshes are needed.

use cakefile::FieldPath;
use formats::{
    model::{PartKind, Rgb, Tint},
    tint::seen,
};
use geom::TriMesh;
use make::{
    language::{Language, filled},
    solids::{self, Entry, PartError},
};
use plan::{Plan, offer::Coloured};

/// How a part looks: which of the ways of the page's shader it is drawn in, by their numbers there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// Smooth and satin: coats, adds.
    Icing = 0,
    /// Sponge.
    Crumb = 1,
    /// Between two layers.
    Filling = 2,
    /// Boards and dowels.
    Hardware = 3,
    /// Sponge as it was baked, with a crust.
    Baked = 5,
}

/// A solid of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct ViewPart {
    /// Its surface, mm, z up.
    pub mesh: TriMesh,
    /// What it is.
    pub kind: PartKind,
    /// How it looks.
    pub look: Look,
    /// Its colour as the cake file has it.
    pub colour: Rgb,
    /// What is painted or brushed on it.
    pub tints: Vec<Tint>,
    /// Its colour on the whole, with that.
    pub seen: Rgb,
    /// The first and the last stage at which it is there.
    pub stages: [usize; 2],
    /// The choice of the offer that gives it a colour.
    pub choice: Option<usize>,
}

/// Every solid of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Parts {
    /// The solids, those that hide others later.
    pub parts: Vec<ViewPart>,
    /// What each stage is called, the baked stack first.
    pub stages: Vec<String>,
}

/// The stack before carving.
const BAKED: usize = 0;
/// Carved, without coats.
const CARVED: usize = 1;

impl Parts {
    /// The solids of `plan`, its stages named in `language`.
    ///
    /// # Errors
    /// A solid that cannot be made.
    pub fn new(plan: &Plan, language: &Language) -> Result<Self, PartError> {
        let coats = plan.design.coverings.len().max(1);
        let finished = CARVED + coats;
        let words = &language.share;
        let mut stages = vec![words.baked.clone(), words.carved.clone()];
        for covering in plan.design.coverings.iter().skip(1).rev() {
            let material = language.name(&covering.material.name);
            stages.push(filled(&words.coated, &[("material", material)]));
        }
        stages.push(words.finished.clone());
        let catalogue = solids::catalogue(plan);
        // The finished cake comes in its zones instead of as what its line holds.
        let inner = catalogue.into_iter().filter(|entry| (entry.kind, entry.index) != (PartKind::Line, 0));
        let entries: Vec<Entry> = solids::finished(plan)
            .into_iter()
            .chain(inner)
            .filter(|entry| stages_of(entry, finished).is_some())
            .collect();
        let model = solids::build_all(plan, &entries, plan.design.preview)?;
        let parts = model.parts.into_iter().filter_map(|part| {
            let entry = entries.iter().find(|entry| entry.name == part.name)?;
            Some(ViewPart {
                kind: part.kind,
                look: look(part.kind),
                colour: part.colour,
                seen: seen(&part).stored(),
                tints: part.tints,
                stages: stages_of(entry, finished)?,
                choice: choice(plan, entry),
                mesh: part.mesh,
            })
        });
        Ok(Self { parts: parts.collect(), stages })
    }

    /// The parts of the finished cake.
    pub fn finished(&self) -> impl Iterator<Item = &ViewPart> {
        let last = self.stages.len() - 1;
        self.parts.iter().filter(move |part| part.stages[1] == last)
    }
}

/// The first and the last stage at which `entry` is there; `None` where it is never seen.
fn stages_of(entry: &Entry, finished: usize) -> Option<[usize; 2]> {
    match entry.kind {
        PartKind::PresentationBoard | PartKind::BoardIcing | PartKind::Ribbon => Some([BAKED, finished]),
        PartKind::RawLayer | PartKind::RawFilling => Some([BAKED, BAKED]),
        PartKind::Kept | PartKind::Filling => Some([CARVED, CARVED]),
        // What stands in the cake is seen where the knife lays it bare.
        PartKind::Board | PartKind::Dowel => Some([BAKED, CARVED]),
        // Lines are counted from the outside, the carved one last: that is what is kept of the layers.
        PartKind::Line if finished > entry.index + CARVED => {
            let stage = finished - entry.index;
            Some([stage, stage])
        }
        PartKind::Finished | PartKind::Inlay | PartKind::Add => Some([finished, finished]),
        PartKind::Line
        | PartKind::Offcut
        | PartKind::Shortfall
        | PartKind::Fill
        | PartKind::Covering
        | PartKind::Mark => None,
    }
}

fn look(kind: PartKind) -> Look {
    match kind {
        PartKind::RawLayer => Look::Baked,
        PartKind::Kept => Look::Crumb,
        PartKind::RawFilling | PartKind::Filling => Look::Filling,
        // Icing on the board is not turned in at its foot, as that of the cake is.
        PartKind::PresentationBoard
        | PartKind::BoardIcing
        | PartKind::Ribbon
        | PartKind::Board
        | PartKind::Dowel => Look::Hardware,
        _ => Look::Icing,
    }
}

/// The first choice that gives this part a colour.
fn choice(plan: &Plan, entry: &Entry) -> Option<usize> {
    let chosen = |field: &FieldPath| {
        plan.offer.colours.iter().position(|choice| choice.of.iter().any(|taker| taker.field() == *field))
    };
    let covering = || Coloured::Covering(entry.index).field();
    match (entry.kind, entry.part) {
        (PartKind::Finished | PartKind::Line, Some(Some(zone))) => {
            let zone = &plan.design.coverings[entry.index].zones[zone];
            // One without a colour of its own has that of its covering, whichever is chosen.
            let inherited = || (!zone.is_of_its_own).then(|| chosen(&covering())).flatten();
            chosen(&zone.field).or_else(inherited)
        }
        (PartKind::Finished | PartKind::Line, _) => chosen(&covering()),
        (PartKind::Add | PartKind::Inlay, _) => chosen(&plan.design.details[entry.index].field),
        _ => None,
    }
}
