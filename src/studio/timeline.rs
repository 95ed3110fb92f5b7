//! The making of a cake as a timeline, from raw stack to finished cake: which step a showing is at, and what
//! is there then.
//!
//! Between the named stages each step is the real surface moved a stated distance: the knife comes in
//! evenly from outside until it is on the carved line, and then the coats grow outwards from it.

use super::{Look, OffcutView, Showing};
use formats::model::{Bearing, Between, Model, Part, PartKind, Rgb};
use geom::units::UnitStyle;

/// How far the making has come.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Step {
    /// Nothing is cut yet.
    #[default]
    Raw,
    /// Carving, before the knife is on the carved line.
    Carving {
        /// Share of the distance behind it, 0 to 1.
        share: f64,
        /// How far outside the carved line it is, mm.
        off: f64,
    },
    /// The knife is on the carved line everywhere.
    Carved,
    /// A coat is going on.
    Coating {
        /// Its place in the list of coverings, 0 outermost.
        index: usize,
        /// What it is made of.
        material: String,
        /// How much of it is on, mm.
        laid: f64,
        /// How thick it becomes, mm.
        whole: f64,
    },
    /// Every coat but the outermost is on.
    Coated,
    /// Everything is on.
    Finished,
}

impl Step {
    /// The step in words, lengths in the maker's unit.
    pub fn describe(&self, style: UnitStyle) -> String {
        match self {
            Self::Raw => "The raw stack, before carving".into(),
            Self::Carving { share, off } => {
                format!("Carving {}: {} to the line", percent(*share), style.length(*off))
            }
            Self::Carved => "Carved".into(),
            Self::Coating { material, laid, whole, .. } => {
                let (done, all) = (style.in_own(*laid), style.length_alone(*whole));
                format!("Coating {}: {done} of {all} {material}", percent(laid / whole))
            }
            Self::Coated => "Coated, before the outermost covering".into(),
            Self::Finished => "Finished".into(),
        }
    }
}

fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

/// The colour of what is to be shaved off.
pub const SHAVED_OFF: Rgb = Rgb(226, 178, 110);

/// The colour of what is carved off where it is hatched.
pub const OFF: Rgb = Rgb(244, 176, 128);

/// The colour of fillings while colour means depth.
const BETWEEN: Rgb = Rgb(176, 178, 182);

/// How much a board or dowel carries, in steps whose colours differ in lightness too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoadLevel {
    /// Up to half of what it may.
    Light,
    /// Up to all of what it may.
    Full,
    /// More.
    Over,
}

impl LoadLevel {
    /// All of them, the lightest first.
    pub const ALL: [Self; 3] = [Self::Light, Self::Full, Self::Over];

    /// That of a share of what may be carried.
    pub fn of(share: f64) -> Self {
        match share {
            s if s <= 0.5 => Self::Light,
            s if s <= 1.0 => Self::Full,
            _ => Self::Over,
        }
    }

    /// Its colour.
    pub fn colour(self) -> Rgb {
        match self {
            Self::Light => Rgb(196, 214, 188),
            Self::Full => Rgb(222, 158, 54),
            Self::Over => Rgb(150, 22, 40),
        }
    }

    /// What the legend calls it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Light => "up to half of its load",
            Self::Full => "up to all of its load",
            Self::Over => "more than it may carry",
        }
    }
}

/// How much of a part is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Completion {
    /// All of it.
    Complete,
    /// As much as the step has made or left of it.
    Partial,
}

/// One model at the step that a showing asks for.
pub struct Timeline {
    /// The step.
    pub step: Step,
    /// Whether the finished cake must be shown as its coats, because the inside shows.
    opened: bool,
    /// Whether the model holds the finished cake as one solid.
    has_finished: bool,
    /// Whether there are coats under the outermost.
    inner_coats: bool,
    /// Whether there are coats at all.
    any_coats: bool,
}

impl Timeline {
    /// Finds the step that the showing asks for. A model that does not know what lies between its
    /// stages is shown at the nearest one.
    pub fn of(model: &Model, showing: &Showing) -> Self {
        let fraction = showing.stage.fraction();
        let step = match &model.between {
            Some(between) => step_of(model, between.as_ref(), fraction * 3.0),
            None => [Step::Raw, Step::Carved, Step::Coated, Step::Finished]
                .into_iter()
                .nth((fraction * 3.0).round() as usize)
                .unwrap_or(Step::Finished),
        };
        let hides_some = model.parts.iter().any(|part| showing.hidden.contains(&part.name));
        let has = |kind| model.parts.iter().any(|p| p.kind == kind);
        let opened = showing.section.is_some() || showing.pull_apart > 0.0 || hides_some;
        let inner_coats = model.parts.iter().any(|p| p.kind == PartKind::Covering && p.index > 0);
        Self {
            step,
            opened,
            has_finished: has(PartKind::Finished),
            inner_coats,
            any_coats: has(PartKind::Covering),
        }
    }

    /// The parts that are only partly there.
    pub fn in_progress(&self, model: &Model) -> Vec<Part> {
        let Some(between) = &model.between else { return Vec::new() };
        match &self.step {
            Step::Carving { off, .. } => between.offcuts(*off),
            Step::Coating { index, laid, .. } => between.coat(*index, *laid).into_iter().collect(),
            _ => Vec::new(),
        }
    }

    /// How a part is shown: not at all, in one look, or as a ghost too.
    pub fn appearances(&self, model: &Model, part: &Part, showing: &Showing) -> Vec<(Look, Completion)> {
        use PartKind as Kind;
        if showing.loads {
            let bears = model.bearing.iter().any(|b| b.kind == part.kind && b.index == part.index);
            return match part.kind {
                // A dowel that carries nothing must not hide those that do.
                Kind::Dowel if !bears => vec![(Look::Ghost, Completion::Complete)],
                Kind::PresentationBoard | Kind::Board | Kind::Dowel | Kind::Mark => {
                    vec![(Look::Hardware, Completion::Complete)]
                }
                Kind::Kept => vec![(Look::Ghost, Completion::Complete)],
                Kind::BoardIcing => vec![(Look::Icing, Completion::Complete)],
                _ => Vec::new(),
            };
        }
        let whole = |look| vec![(look, Completion::Complete)];
        let nothing = Vec::new;
        let one_solid = self.step == Step::Finished && self.has_finished && !self.opened;
        let carving = matches!(self.step, Step::Carving { .. });
        let by_depth = showing.offcut == OffcutView::Depth;
        let sponge = if by_depth && !self.is_coated() { Look::Depth } else { Look::Crumb };
        // Around what stays, or what the knife has left of it.
        let hatches = showing.ghost && matches!(showing.offcut, OffcutView::CutAway | OffcutView::Halves);
        let to_go = if by_depth { sponge } else { Look::Offcut };
        match part.kind {
            Kind::PresentationBoard => whole(Look::Hardware),
            Kind::BoardIcing | Kind::Ribbon => whole(Look::Icing),
            Kind::Finished if one_solid => whole(Look::Icing),
            Kind::Finished | Kind::Line | Kind::Mark => nothing(),
            Kind::Add | Kind::Inlay if self.step == Step::Finished => whole(Look::Icing),
            Kind::Add | Kind::Inlay => nothing(),
            _ if one_solid => nothing(),
            Kind::Covering => self.coat(part),
            _ if self.hides_inside() => nothing(),
            Kind::Fill if self.is_coated() => whole(Look::Filling),
            Kind::Fill => nothing(),
            Kind::Board | Kind::Dowel => whole(Look::Hardware),
            Kind::RawLayer if self.step == Step::Raw => whole(Look::Crumb),
            Kind::RawLayer if self.shows_ghost(showing) && !hatches => whole(Look::Ghost),
            Kind::RawLayer => nothing(),
            Kind::RawFilling if self.step == Step::Raw => whole(Look::Filling),
            Kind::RawFilling if carving => vec![(Look::Filling, Completion::Partial)],
            Kind::Offcut if carving => vec![(to_go, Completion::Partial)],
            Kind::Offcut if self.step == Step::Carved && hatches => match &showing.carving {
                Some(carving) if carving.done.contains(&part.index) => nothing(),
                Some(carving) if carving.is_to_come(part.index) => whole(Look::Crumb),
                _ => whole(Look::Offcut),
            },
            // A filling is cut with the layer that lies on it.
            Kind::RawFilling
                if self.step == Step::Carved
                    && showing.offcut == OffcutView::CutAway
                    && showing.carving.as_ref().is_some_and(|carving| carving.is_to_come(part.index + 1)) =>
            {
                whole(Look::Filling)
            }
            // Of the half as baked.
            Kind::RawFilling
                if self.step == Step::Carved && hatches && showing.offcut == OffcutView::Halves =>
            {
                whole(Look::Filling)
            }
            Kind::RawFilling | Kind::Offcut => nothing(),
            Kind::Kept | Kind::Shortfall | Kind::Filling if self.step == Step::Raw => nothing(),
            Kind::Kept => whole(sponge),
            Kind::Shortfall => whole(Look::Shortfall),
            Kind::Filling => whole(Look::Filling),
        }
    }

    /// Coverings are counted from the outside in: the first one goes on last.
    fn coat(&self, part: &Part) -> Vec<(Look, Completion)> {
        let completion = match self.step {
            Step::Finished => Completion::Complete,
            Step::Coated if part.index > 0 => Completion::Complete,
            Step::Coating { index, .. } if part.index == index => Completion::Partial,
            Step::Coating { index, .. } if part.index > index => Completion::Complete,
            _ => return Vec::new(),
        };
        vec![(Look::Icing, completion)]
    }

    /// Whether coats hide all that the knife left, so that its depth cannot be seen anywhere.
    fn is_coated(&self) -> bool {
        match self.step {
            Step::Coating { .. } => true,
            Step::Coated => self.inner_coats,
            Step::Finished => self.any_coats,
            _ => false,
        }
    }

    /// Whether nothing inside the coats can be seen.
    fn hides_inside(&self) -> bool {
        self.is_coated() && !self.opened
    }

    fn shows_ghost(&self, showing: &Showing) -> bool {
        showing.ghost && matches!(self.step, Step::Carving { .. } | Step::Carved)
    }

    /// A part's own colour; but while colour means depth, what lies between the layers is grey, so
    /// that it cannot be taken for a depth.
    pub fn colour(&self, model: &Model, part: &Part, look: Look, showing: &Showing) -> Rgb {
        let bears = |b: &&Bearing| b.kind == part.kind && b.index == part.index;
        if let Some(bearing) = model.bearing.iter().find(bears).filter(|_| showing.loads) {
            return LoadLevel::of(bearing.share).colour();
        }
        let between = matches!(part.kind, PartKind::Filling | PartKind::RawFilling);
        match self.step {
            _ if look == Look::Ghost => SHAVED_OFF,
            _ if look == Look::Offcut => OFF,
            Step::Carving { .. } if look == Look::Depth && part.kind == PartKind::Offcut => SHAVED_OFF,
            Step::Carving { .. } | Step::Carved if between && showing.offcut == OffcutView::Depth => BETWEEN,
            _ => part.colour,
        }
    }

    /// What a cake with nothing to show at this step lacks.
    pub fn missing(&self) -> &'static str {
        match self.step {
            Step::Raw => "layers",
            Step::Carving { .. } | Step::Carved => "carved layers",
            Step::Coating { .. } | Step::Coated => "coats",
            Step::Finished => "finished shape",
        }
    }
}

/// The step at this many thirds of the timeline.
fn step_of(model: &Model, between: &dyn Between, thirds: f64) -> Step {
    /// Closer to a named stage than this is at it.
    const AT: f64 = 1e-9;
    let near = |whole: f64| (thirds - whole).abs() < AT;
    match thirds {
        _ if near(0.0) => Step::Raw,
        _ if near(1.0) => Step::Carved,
        _ if near(2.0) => Step::Coated,
        _ if near(3.0) => Step::Finished,
        t if t < 1.0 => Step::Carving { share: t, off: (1.0 - t) * between.start() },
        t if t < 2.0 => coating(model, between, false, t - 1.0).unwrap_or(Step::Carved),
        t => coating(model, between, true, t - 2.0).unwrap_or(Step::Coated),
    }
}

/// The coat that is going on once `share` of the thickness of all inner coats, or of the outermost, is
/// on; `None` if there are no such coats.
fn coating(model: &Model, between: &dyn Between, outermost: bool, share: f64) -> Option<Step> {
    let coats = model.parts.iter().filter(|p| p.kind == PartKind::Covering && (p.index == 0) == outermost);
    let mut coats: Vec<&Part> = coats.collect();
    coats.sort_by_key(|part| std::cmp::Reverse(part.index));
    // The zones of a coat go on together.
    coats.dedup_by_key(|part| part.index);
    let total: f64 = coats.iter().map(|part| between.thickness(part.index)).sum();
    let mut left = share * total;
    for part in coats {
        let whole = between.thickness(part.index);
        if left < whole {
            let (index, material) = (part.index, part.material.clone());
            return Some(Step::Coating { index, material, laid: left, whole });
        }
        left -= whole;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use geom::units::Unit;

    #[test]
    fn steps_are_told_in_the_unit_of_the_maker_first() {
        let carving = Step::Carving { share: 0.5, off: 12.7 };
        assert_eq!(carving.describe(UnitStyle::new(Unit::Inch)), "Carving 50 %: 1/2 in (13 mm) to the line");
        assert_eq!(
            carving.describe(UnitStyle::new(Unit::Centimetre)),
            "Carving 50 %: 1.3 cm (1/2 in) to the line"
        );
        let coating = Step::Coating { index: 0, material: "ganache".into(), laid: 2.0, whole: 4.0 };
        let told = coating.describe(UnitStyle::new(Unit::Millimetre));
        assert_eq!(told, "Coating 50 %: 2 mm of 4 mm ganache");
    }
}
