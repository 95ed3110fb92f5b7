//! Everything that is done for a cake, with what follows what.

use super::{Cooled, Task};
use crate::{
    amounts::{Amounts, oven_loads},
    work::{WorkKind, WorkMinutes, board_minutes, detail_minutes},
};
use make::{
    icing::LaidIcing,
    language::{self, Language},
    rolled::drying_hours,
};
use plan::{
    Plan,
    design::{Covering, Depth, Detail, FinishKind, FootprintShape, Material, MaterialKind, Operation, Tool},
    finishes::PutOn,
    stack::SlabKind,
};

/// When a task may be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// Within working days; the night may lie between.
    ByDay,
    /// Within one working day.
    Unbroken,
    /// At any hour.
    Any,
}

/// A task before it has a time.
pub struct Planned {
    pub what: Task,
    /// Minutes of work.
    pub work: f64,
    /// Hours of waiting after it.
    pub waits: f64,
    pub when: When,
    /// Tasks that follow it, by their place in the list.
    pub then: Vec<usize>,
}

/// What share of the errands is done before the bakes; the rest is boxing (common practice, no source).
const BEFORE_BAKING: f64 = 0.75;
/// Minutes to put on a part that was modelled before (common practice, no source).
const PUT_ON: f64 = 5.0;

/// Tasks in the order of the work, each before those that follow it.
#[derive(Default)]
struct List {
    tasks: Vec<Planned>,
    /// Those that follow one another.
    chain: Vec<usize>,
}

impl List {
    /// Adds a task that stands beside the others.
    fn add(&mut self, what: Task, work: f64, waits: f64) -> usize {
        self.tasks.push(Planned { what, work, waits, when: When::ByDay, then: Vec::new() });
        self.tasks.len() - 1
    }

    /// Adds a task that follows the one before.
    fn follow(&mut self, what: Task, work: f64, waits: f64) -> usize {
        let added = self.add(what, work, waits);
        if let Some(&before) = self.chain.last() {
            self.tasks[before].then.push(added);
        }
        self.chain.push(added);
        added
    }
}

/// Everything that is done, each task before those that follow it; materials are named in `language`.
pub fn tasks(plan: &Plan, amounts: &Amounts, language: &Language) -> Vec<Planned> {
    let (times, rates) = (&plan.pantry.times, &plan.pantry.work);
    let minutes = WorkMinutes::new(plan, amounts);
    let details: Vec<(&Detail, f64)> = plan.design.details.iter().zip(detail_minutes(plan)).collect();
    let total = |of: fn(&Detail) -> bool| -> f64 {
        details.iter().filter(|(detail, _)| of(detail)).map(|(_, minutes)| minutes).sum()
    };
    let mut list = List::default();
    let modelled: Vec<&Detail> = plan.design.details.iter().filter(|detail| is_modelled(detail)).collect();
    let thickest = modelled.iter().map(|detail| thickness(&detail.tool)).fold(0.0, f64::max);
    let drying = drying_hours(plan, thickest);
    let model = (!modelled.is_empty()).then(|| list.add(Task::Model, total(is_modelled), drying));
    let icing = plan.design.board.as_ref().and_then(|board| board.icing.as_ref());
    let board = icing.map(|icing| {
        let name = language.name(&icing.material.name).to_owned();
        list.add(Task::Board(name), board_minutes(plan), times.dry)
    });
    let ganaches = ganaches(plan);
    let made: Vec<(usize, bool)> = ganaches
        .iter()
        .map(|(material, is_filling)| {
            (
                list.add(Task::Ganache(language.name(material).to_owned()), rates.mix, times.ganache),
                *is_filling,
            )
        })
        .collect();
    let errands = minutes.of(WorkKind::Errands);
    list.follow(Task::Prepare, errands * BEFORE_BAKING, 0.0);
    let loads = oven_loads(&amounts.bakes, &plan.pantry);
    let batter =
        rates.mix * loads.iter().map(|load| load.bakes).sum::<usize>() as f64 / loads.len().max(1) as f64;
    for (i, load) in loads.iter().enumerate() {
        let baked = load.minutes.unwrap_or(rates.oven);
        let last = i + 1 == loads.len();
        let what = Task::Bake {
            bakes: load.bakes,
            of: load.materials.iter().map(|material| language.name(material).to_owned()).collect(),
            load: i as u32 + 1,
            loads: loads.len() as u32,
            minutes: baked.round() as u32,
            celsius: load.temperature.map(|celsius| celsius.round() as u32),
        };
        let task = list.follow(what, batter + baked, if last { times.cool + times.chill } else { 0.0 });
        list.tasks[task].when = When::Unbroken;
    }
    list.follow(Task::Level, minutes.of(WorkKind::Levelling) + minutes.of(WorkKind::Supports), 0.0);
    let firm = times.firm.unwrap_or_else(|| cooled(plan).map_or(0.0, |stack| half_hours(stack.hours())));
    let filled = list.follow(Task::Fill, minutes.of(WorkKind::Stacking), times.settle + firm);
    // The stack is built on it.
    if let Some(board) = board {
        list.tasks[board].then.push(filled);
    }
    list.follow(Task::Carve, minutes.of(WorkKind::Carving) + total(is_built), 0.0);
    let coverings = |of: fn(&Material) -> bool| -> Vec<String> {
        let kept = plan.design.coverings.iter().enumerate().filter(|(_, covering)| of(&covering.material));
        let names = |(i, covering): (usize, &Covering)| {
            let laid = LaidIcing::of(plan, i, language);
            if !laid.is_empty() {
                return laid.iter().map(|laid| format!("{} {}", laid.name(), laid.brief())).collect();
            }
            let zones = covering.zones.iter().map(|zone| {
                let of = [("zone", &*zone.name), ("material", language.name(&zone.material.name))];
                language::filled(&language.icing.zone, &of)
            });
            // What is spread is spread at once, whatever its colours.
            let all = std::iter::once(language.name(&covering.material.name).to_owned()).chain(zones);
            vec![all.collect::<Vec<_>>().join(", ")]
        };
        kept.flat_map(names).collect()
    };
    let coats = coverings(|material| material.kind != MaterialKind::Paste);
    let each_coat = minutes.of(WorkKind::Coating) / coats.len().max(1) as f64;
    let mut first_coat = None;
    for coat in coats.into_iter().rev() {
        let coat = list.follow(Task::Coat(coat), each_coat, times.set);
        first_coat.get_or_insert(coat);
    }
    let pastes = coverings(|material| material.kind == MaterialKind::Paste);
    let each_paste = (minutes.of(WorkKind::Covering) - board_minutes(plan)) / pastes.len().max(1) as f64;
    let marzipan = coverings(is_marzipan);
    let icing = coverings(|material| material.kind == MaterialKind::Paste && !is_marzipan(material));
    if !marzipan.is_empty() {
        let work = each_paste * marzipan.len() as f64;
        let dries = if icing.is_empty() { times.rest } else { times.marzipan };
        list.follow(Task::Marzipan(marzipan), work, dries);
    }
    if !icing.is_empty() {
        let work = each_paste * icing.len() as f64;
        list.follow(Task::Cover(icing), work, times.rest);
    }
    let mut put_on = total(is_put_on) + modelled.len() as f64 * PUT_ON;
    let pressed = total(is_pressed);
    let last = list.chain.last().map(|last| &mut list.tasks[*last]);
    match last.filter(|last| matches!(last.what, Task::Cover(_) | Task::Coat(_) | Task::Marzipan(_))) {
        // What is pressed in goes in while the coat is soft, within minutes.
        Some(last) if pressed > 0.0 => {
            last.what = Task::Press(Box::new(last.what.clone()));
            last.work += pressed;
            last.when = When::Unbroken;
        }
        _ => put_on += pressed,
    }
    let mut dressed = None;
    if put_on > 0.0 {
        dressed = Some(list.follow(Task::Details, put_on, 0.0));
    }
    let finishing = minutes.of(WorkKind::Finishing);
    if finishing > 0.0 {
        let wet = |put_on: &PutOn<'_>| matches!(put_on.finish.kind, FinishKind::Paint | FinishKind::Lustre);
        let dries = if plan.finishes().iter().any(wet) { times.paint } else { 0.0 };
        list.follow(Task::Finish, finishing, dries);
    }
    list.follow(Task::Box, errands * (1.0 - BEFORE_BAKING), 0.0);
    // The road does not keep the maker's hours.
    let travel = list.follow(Task::Travel, plan.order.travel.unwrap_or(0.0), 0.0);
    list.tasks[travel].when = When::Any;
    if let (Some(model), Some(dressed)) = (model, dressed) {
        list.tasks[model].then.push(dressed);
    }
    for (ganache, is_filling) in made {
        let first_use = if is_filling { filled } else { first_coat.unwrap_or(filled) };
        list.tasks[ganache].then.push(first_use);
    }
    list.tasks
}

/// Ganaches that are used, each with whether it is a filling, which is used first.
fn ganaches(plan: &Plan) -> Vec<(&str, bool)> {
    let is = |material: &&Material| material.like.contains("ganache");
    let fillings = plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Filling);
    let mut found: Vec<(&str, bool)> = Vec::new();
    let coats = plan.design.coverings.iter().flat_map(|covering| {
        std::iter::once(&covering.material).chain(covering.zones.iter().map(|zone| &zone.material))
    });
    let used = fillings.map(|slab| (&slab.material, true)).chain(coats.map(|material| (material, false)));
    for (material, is_filling) in used.filter(|(material, _)| is(material)) {
        if !found.iter().any(|(name, _)| *name == material.name) {
            found.push((&material.name, is_filling));
        }
    }
    found
}

fn is_marzipan(material: &Material) -> bool {
    material.like == "marzipan"
}

/// Shaped of paste beforehand, and dried. A roll is laid soft.
fn is_modelled(detail: &Detail) -> bool {
    if matches!(detail.tool, Tool::Roll(_)) {
        return false;
    }
    let paste = detail.material.as_ref().is_some_and(|material| material.kind == MaterialKind::Paste);
    detail.operation == Operation::Add && paste
}

/// Cut into the sponge or built onto it.
fn is_built(detail: &Detail) -> bool {
    detail.depth == Depth::Sponge && !is_modelled(detail)
}

/// Pressed into the coat while it is soft.
fn is_pressed(detail: &Detail) -> bool {
    detail.operation == Operation::Cut && detail.depth != Depth::Sponge
}

/// Put on the finished coat and not modelled beforehand.
fn is_put_on(detail: &Detail) -> bool {
    !is_modelled(detail) && !is_built(detail) && !is_pressed(detail)
}

/// The least size of a part, through which it dries, mm.
fn thickness(tool: &Tool) -> f64 {
    match tool {
        Tool::Box { size, .. } => size.min_element(),
        Tool::Ball { radius, .. } => 2.0 * radius,
        Tool::Cylinder { from, to, from_radius, to_radius } => {
            from.distance(*to).min(2.0 * from_radius.max(*to_radius))
        }
        Tool::Ring { bar_radius, .. } => 2.0 * bar_radius,
        Tool::Bar { stations } => 2.0 * stations.iter().map(|(_, radius)| *radius).fold(0.0, f64::max),
        Tool::Roll(roll) => 2.0 * roll.strand_radius(),
        Tool::HalfSpace { .. } => 0.0,
        Tool::Relief(relief) => relief.depth,
    }
}

/// The stack as something that is cooled, as wide on average as it is; `None` without layers.
fn cooled(plan: &Plan) -> Option<Cooled> {
    let slabs = &plan.stack.slabs;
    let top = slabs.iter().map(|slab| slab.top).reduce(f64::max)?;
    let height = top - slabs.iter().map(|slab| slab.bottom).reduce(f64::min)?;
    let mean = slabs.iter().map(|slab| slab.footprint.area() * slab.height()).sum::<f64>() / height;
    let widest = slabs.iter().max_by(|a, b| a.footprint.area().total_cmp(&b.footprint.area()))?;
    Some(match widest.footprint.shape {
        FootprintShape::Round { .. } => {
            Cooled::Cylinder { diameter: 2.0 * (mean / std::f64::consts::PI).sqrt(), height }
        }
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
            // Of pieces the box round them, made as large as they are together.
            let [width, depth] = widest.footprint.shape.size();
            let share = (mean / (width * depth)).sqrt();
            Cooled::Block { size: [width * share, depth * share, height] }
        }
    })
}

/// Rounded up to half an hour.
fn half_hours(hours: f64) -> f64 {
    (2.0 * hours).ceil() / 2.0
}
