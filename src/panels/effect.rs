//! What each fix would do: the cake is planned with it, on a thread of its own, before anybody takes it.

use std::{
    collections::HashMap,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{Arc, Mutex, PoisonError},
    thread,
};

use cakefile::edit::Document;
use geom::Cancel;
use make::overview::{Decision, Overview};
use plan::{Plan, PlanError, Planner, Quality, Source, findings::grouped, support::Answer};

use crate::{planned::Planned, stack::Wake, words::capital};

/// What is otherwise once a fix is done.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// The plan with it was compared with the plan without.
    Compared(Comparison),
    /// The cake cannot be planned with it: why.
    NoPlan(String),
}

/// A plan with a fix beside the one without.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Comparison {
    /// What is settled by it.
    pub settled: Vec<String>,
    /// What is open only then.
    pub opened: Vec<String>,
    /// Figures that become others, each as a short sentence: "mass 3.2 kg → 3.4 kg".
    pub figures: Vec<String>,
}

/// Plans the fixes of the newest plan, the most harmful finding first.
pub struct Effects {
    known: Arc<Mutex<HashMap<String, Effect>>>,
    of: Option<Arc<Plan>>,
    planner: Arc<Planner>,
    cancel: Cancel,
    wake: Wake,
}

/// How the first screen of a plan is made.
pub type MakeOverview = fn(&Plan) -> Overview;

impl Effects {
    /// Nothing is planned yet; `wake` is called when there is something new to show.
    pub fn new(wake: Wake) -> Self {
        Self { known: Arc::default(), of: None, planner: Arc::default(), cancel: Cancel::new(), wake }
    }

    /// What is otherwise once the cake's text is `after`; `None` while that is not known.
    pub fn of(&self, after: &str) -> Option<Effect> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner).get(after).cloned()
    }

    /// Whether the fixes of this plan are being planned, or were.
    pub fn is_of(&self, planned: &Planned) -> bool {
        self.of.as_ref().is_some_and(|plan| Arc::ptr_eq(plan, &planned.plan))
    }

    /// Plans every fix of `planned`, which was made of `source`, instead of those of an older plan.
    pub fn start(&mut self, source: Source, planned: &Planned, overview: MakeOverview) {
        self.cancel.cancel();
        let cancel = Cancel::new();
        self.cancel = cancel.clone();
        // What an older run still finds is not heard.
        self.known = Arc::default();
        self.of = Some(planned.plan.clone());
        let (known, planner, wake) = (self.known.clone(), self.planner.clone(), self.wake.clone());
        let (before, first) = (planned.plan.clone(), planned.overview.clone());
        thread::spawn(move || {
            let document = Document::new(source.cake.clone());
            for group in grouped(&before.findings) {
                let Some(edit) = &group.first.fix.edit else { continue };
                let Ok(applied) = document.apply(&edit.to_edit(&document)) else { continue };
                let after = applied.document.text().to_owned();
                let with = source.with_text(&after);
                let compare = || {
                    let plan = planner.plan(&with, Quality::Full, &cancel)?;
                    Ok(compared((&before, &first), (&plan, &overview(&plan))))
                };
                let effect = match catch_unwind(AssertUnwindSafe(compare)) {
                    Ok(Ok(comparison)) => Effect::Compared(comparison),
                    Ok(Err(_)) if cancel.is_cancelled() => return,
                    Ok(Err(error)) => Effect::NoPlan(PlanError::to_string(&error)),
                    Err(_) => Effect::NoPlan("internal error: the program is at fault".into()),
                };
                known.lock().unwrap_or_else(PoisonError::into_inner).insert(after, effect);
                wake();
            }
        });
    }
}

impl Drop for Effects {
    fn drop(&mut self) {
        self.cancel.cancel();
    }
}

impl Comparison {
    /// Whether nothing that a maker is told is otherwise.
    pub fn is_nothing(&self) -> bool {
        *self == Self::default()
    }
}

fn compared((plan, before): (&Plan, &Overview), (other, after): (&Plan, &Overview)) -> Comparison {
    let style = plan.design.style;
    let offcut = |plan: &Plan| plan.carving.slabs.iter().map(|slab| slab.volumes.offcut).sum::<f64>();
    let bake = |overview: &Overview| {
        let bakes = overview.bake.iter().map(|bake| format!("{} × {}", bake.heights_mm.len(), bake.pan));
        bakes.collect::<Vec<_>>().join(", ")
    };
    let size = |overview: &Overview| {
        let room = &overview.room;
        style.sides(&[room.width, room.depth, room.height])
    };
    let stands = |overview: &Overview| word(overview.stands.answer).to_owned();
    let travels = |overview: &Overview| word(overview.travels.answer).to_owned();
    let hidden =
        |overview: &Overview| overview.hidden.iter().map(|hidden| hidden.count).sum::<usize>().to_string();
    let figures = [
        ("stands", stands(before), stands(after)),
        ("travels", travels(before), travels(after)),
        ("to bake", bake(before), bake(after)),
        ("carved off", style.volume_alone(offcut(plan)), style.volume_alone(offcut(other))),
        ("hidden pieces", hidden(before), hidden(after)),
        ("mass", style.mass_alone(before.carried_g), style.mass_alone(after.carried_g)),
        ("box", size(before), size(after)),
    ];
    Comparison {
        settled: only_in(&before.decide, &after.decide),
        opened: only_in(&after.decide, &before.decide),
        figures: figures
            .into_iter()
            .filter(|(_, was, is)| was != is)
            .map(|(what, was, is)| format!("{what} {was} → {is}"))
            .collect(),
    }
}

/// What is told in `these` and not in `those`, where each of `those` stands for one of `these` at most.
fn only_in(these: &[Decision], those: &[Decision]) -> Vec<String> {
    let mut left: Vec<&Decision> = those.iter().collect();
    let mut take = |is_it: &dyn Fn(&Decision) -> bool| {
        let found = left.iter().position(|other| is_it(other));
        found.map(|i| left.swap_remove(i)).is_some()
    };
    // What is the same to the word first, then what is the same with other figures.
    let unequal: Vec<&Decision> = these.iter().filter(|one| !take(&|other| one.what == other.what)).collect();
    let unknown = unequal.into_iter().filter(|one| !take(&|other| is_same(one, other)));
    unknown.map(|one| capital(&one.what)).collect()
}

/// Whether two plans tell the same thing, perhaps with other figures.
fn is_same(one: &Decision, other: &Decision) -> bool {
    match (one.code, other.code) {
        (Some(a), Some(b)) => a == b && one.severity == other.severity,
        (None, None) => one.what == other.what,
        _ => false,
    }
}

fn word(answer: Answer) -> &'static str {
    match answer {
        Answer::Yes => "yes",
        Answer::Careful => "careful",
        Answer::No => "no",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::TracedPictures;
    use cakefile::{CakeFile, world::Memory};
    use std::time::{Duration, Instant};

    /// A drum on a board that is narrower than itself: the board is too small, and a larger one is the fix.
    const CAKE: &str = "crumbline = 2\nname = \"Drum\"\n[board]\nround = 190\nthickness = 12\n[shape.turned]\n\
                        points = [[90, 0], [90, 100], [0, 100]]\n[[tier]]\nname = \"one\"\n[[tier.layer]]\n\
                        pan = { round = 190 }\nheight = 50\n[[tier.layer]]\npan = { round = 190 }\nheight = 60\n";

    fn planned(text: &str) -> (Source, Planned) {
        let source = Source::new(CakeFile::from_text("cake", "", text), Arc::new(Memory::new()));
        let plan = Arc::new(Plan::new(&source).unwrap());
        let overview = Overview::new(&plan);
        let planned = Planned::new(plan, overview, &source, &TracedPictures::default());
        (source, planned)
    }

    #[test]
    fn the_effect_of_a_fix_is_that_of_taking_it() {
        let (source, before) = planned(CAKE);
        let document = Document::new(source.cake.clone());
        let fixes: Vec<cakefile::edit::Edit> = grouped(&before.plan.findings)
            .iter()
            .filter_map(|group| Some(group.first.fix.edit.as_ref()?.to_edit(&document)))
            .collect();
        assert!(!fixes.is_empty(), "{:?}", before.plan.findings);
        let mut effects = Effects::new(Arc::new(|| ()));
        effects.start(source, &before, Overview::new);
        assert!(effects.is_of(&before));
        for fix in fixes {
            let text = document.apply(&fix).unwrap().document.text().to_owned();
            let start = Instant::now();
            let effect = loop {
                match effects.of(&text) {
                    Some(effect) => break effect,
                    None if start.elapsed() > Duration::from_secs(60) => panic!("no effect of {text}"),
                    None => thread::sleep(Duration::from_millis(5)),
                }
            };
            let Effect::Compared(told) = effect else { panic!("{effect:?}") };
            let (_, taken) = planned(&text);
            let open = |planned: &Planned| planned.overview.decide.len();
            assert_eq!(
                open(&taken) + told.settled.len(),
                open(&before) + told.opened.len(),
                "{told:?} of {text}"
            );
            assert!(!told.is_nothing(), "{text}");
        }
    }

    #[test]
    fn nothing_is_otherwise_in_the_same_plan() {
        let (_, one) = planned(CAKE);
        let both = (&*one.plan, &*one.overview);
        assert!(compared(both, both).is_nothing());
    }
}
