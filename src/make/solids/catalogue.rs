//! What solids a plan has, by name, before any of them is made.

use formats::model::{PartKind, Rgb, Tint};
use plan::{
    Plan,
    design::{Covering, Depth, Detail, Finish, Operation, Tool},
    stack::{Slab, SlabKind},
    zones::{Owner, ZonePart},
};

use super::ROUND_OFF;

/// A solid that a plan has.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// What it is called; unique within [`catalogue`].
    pub name: String,
    /// What it is.
    pub kind: PartKind,
    /// Place in the stack or in the list of lines, coverings or details, from 0.
    pub index: usize,
    /// What a part tells as its [`formats::model::Part::index`]: of a detail its place in the cake file, else `index`.
    pub told: usize,
    /// The part of a covering, or of the finished cake, that it is; `None` for all of it.
    pub part: Option<Owner>,
    /// Name of its material.
    pub material: String,
    /// Its colour.
    pub colour: Rgb,
    /// What is painted or brushed on it at the end, if it is seen.
    pub tints: Vec<Tint>,
}

/// Every solid of `plan`: its lines, then what it is put together from, from the board up. The finished line
/// stands for the finished cake. What the plan's volumes say is not there is left out.
pub fn catalogue(plan: &Plan) -> Vec<Entry> {
    let mut entries = lines(plan);
    let listed = |entry: &Entry| entry.kind != PartKind::Finished && is_there(plan, entry);
    entries.extend(parts(plan).into_iter().filter(listed));
    entries
}

/// Whether the volumes of the plan say that there is something.
fn is_there(plan: &Plan, entry: &Entry) -> bool {
    let volumes = || &plan.carving.slabs[entry.index].volumes;
    match entry.kind {
        PartKind::Kept | PartKind::Filling => volumes().kept > ROUND_OFF,
        PartKind::Offcut => volumes().offcut > ROUND_OFF,
        PartKind::Shortfall | PartKind::Fill => volumes().shortfall > ROUND_OFF,
        _ => true,
    }
}

/// The solid inside each line, finished first.
pub(super) fn lines(plan: &Plan) -> Vec<Entry> {
    let line = |(level, line): (usize, &plan::lines::Line)| {
        let (material, colour) = skin(plan, level);
        entry(&line.name, PartKind::Line, level, &material, colour)
    };
    plan.lines.all().iter().enumerate().map(line).collect()
}

/// Everything but the lines.
pub(super) fn parts(plan: &Plan) -> Vec<Entry> {
    let design = &plan.design;
    let mut entries = Vec::new();
    if let Some(board) = &design.board {
        let (material, colour) = (&board.material.name, board.material.colour);
        entries.push(entry("presentation board", PartKind::PresentationBoard, 0, material, colour));
        entries.extend(board.icing.as_ref().map(|icing| {
            let material = &icing.material;
            entry("icing on the board", PartKind::BoardIcing, 0, &material.name, material.colour)
        }));
        let ribbon = board
            .ribbon
            .map(|ribbon| entry("ribbon round the board", PartKind::Ribbon, 0, "ribbon", ribbon.colour));
        entries.extend(ribbon);
    }
    entries.extend((0..plan.stack.slabs.len()).flat_map(|index| of_slab(plan, index)));
    entries.extend(plan.stack.dowels.iter().enumerate().map(|(index, dowel)| {
        entry(&dowel.name, PartKind::Dowel, index, &dowel.material.name, dowel.material.colour)
    }));
    let coverings = design.coverings.iter().enumerate().rev();
    entries.extend(coverings.flat_map(|(index, _)| of_zones(plan, index)));
    entries.extend(finished(plan));
    let details = || design.details.iter().enumerate();
    entries.extend(details().filter_map(|(index, detail)| add(index, detail)));
    entries.extend(details().filter_map(|(index, detail)| inlay(plan, index, detail)));
    entries
}

/// Before and after carving, what is shaved off, what is missing, and what fills the room beside it.
pub(super) fn of_slab(plan: &Plan, index: usize) -> Vec<Entry> {
    let slab: &Slab = &plan.stack.slabs[index];
    let own = |before: &str, kind| {
        entry(&format!("{before}{}", slab.name), kind, index, &slab.material.name, slab.material.colour)
    };
    let mut entries = match slab.kind {
        SlabKind::Layer => vec![
            own("raw ", PartKind::RawLayer),
            own("", PartKind::Kept),
            own("offcut of ", PartKind::Offcut),
            own("shortfall of ", PartKind::Shortfall),
        ],
        SlabKind::Filling => vec![own("raw ", PartKind::RawFilling), own("", PartKind::Filling)],
        SlabKind::Board => vec![own("", PartKind::Board)],
    };
    // What the innermost covering fills beside a board or a filling that does not reach the carved line.
    if let Some(covering) = plan.design.coverings.last().filter(|_| slab.kind != SlabKind::Layer) {
        let name = format!("fill beside {}", slab.name);
        let material = &covering.material;
        entries.push(entry(&name, PartKind::Fill, index, &material.name, material.colour));
    }
    entries
}

/// A coat, counted from 1 on from the outside.
fn of_covering(index: usize, covering: &Covering) -> Entry {
    let material = &covering.material;
    let name = format!("{} {}", material.name, index + 1);
    entry(&name, PartKind::Covering, index, &material.name, material.colour)
}

/// The parts of covering `index`: one for each zone and for what no zone takes.
pub(super) fn of_zones(plan: &Plan, index: usize) -> Vec<Entry> {
    let covering = &plan.design.coverings[index];
    in_zones(plan, index, &of_covering(index, covering))
}

/// The finished cake: a solid for each zone of its outermost covering and for what no zone takes.
pub fn finished(plan: &Plan) -> Vec<Entry> {
    let (material, colour) = skin(plan, 0);
    let whole = entry("finished", PartKind::Finished, 0, &material, colour);
    if plan.design.coverings.is_empty() { vec![whole] } else { in_zones(plan, 0, &whole) }
}

/// `whole` in the parts of covering `index`; as it is if that has no zones.
fn in_zones(plan: &Plan, index: usize, whole: &Entry) -> Vec<Entry> {
    let covering = &plan.design.coverings[index];
    // A coat by itself is shown as it is laid, without what is put on at the end.
    let tints_of = |finishes: &[Finish]| {
        if whole.kind == PartKind::Finished { tints(finishes) } else { Vec::new() }
    };
    if covering.zones.is_empty() {
        return vec![Entry { tints: tints_of(&covering.finishes), ..whole.clone() }];
    }
    let part = |part: &ZonePart| {
        let zone = part.zone.map(|zone| &covering.zones[zone]);
        let material = zone.map_or(&covering.material, |zone| &zone.material);
        Entry {
            name: zone.map_or_else(|| whole.name.clone(), |zone| format!("{}, {}", whole.name, zone.name)),
            part: Some(part.zone),
            material: material.name.clone(),
            colour: material.colour,
            tints: tints_of(zone.map_or(&covering.finishes, |zone| &zone.finishes)),
            ..whole.clone()
        }
    };
    plan.zones[index].present().map(part).collect()
}

fn add(index: usize, detail: &Detail) -> Option<Entry> {
    let material = detail.material.as_ref()?;
    let stands_on_icing = detail.operation == Operation::Add && detail.depth == Depth::Icing;
    stands_on_icing.then(|| Entry {
        told: detail.written_index().unwrap_or(index),
        tints: tints(&detail.finishes),
        ..entry(&detail.name, PartKind::Add, index, &material.name, material.colour)
    })
}

/// The coloured or painted bottom of a detail that is pressed in.
fn inlay(plan: &Plan, index: usize, detail: &Detail) -> Option<Entry> {
    let is_pressed = detail.operation == Operation::Cut && matches!(detail.tool, Tool::Relief(_));
    let (material, colour) = match detail.colour {
        Some(colour) => ("sugar paste".to_owned(), colour),
        // Painted on the covering itself.
        None => Some(skin(plan, 0)).filter(|_| !detail.finishes.is_empty())?,
    };
    is_pressed.then(|| Entry {
        told: detail.written_index().unwrap_or(index),
        tints: tints(&detail.finishes),
        ..entry(&detail.name, PartKind::Inlay, index, &material, colour)
    })
}

fn tints(finishes: &[Finish]) -> Vec<Tint> {
    finishes.iter().map(Finish::tint).collect()
}

/// Material and colour of what one sees with everything outside line `level` taken off.
fn skin(plan: &Plan, level: usize) -> (String, Rgb) {
    let material = match plan.design.coverings.get(level) {
        Some(covering) => Some(&covering.material),
        None => plan.stack.slabs.first().map(|slab| &slab.material),
    };
    material.map_or_else(|| ("sponge".to_owned(), Rgb(236, 205, 146)), |m| (m.name.clone(), m.colour))
}

fn entry(name: &str, kind: PartKind, index: usize, material: &str, colour: Rgb) -> Entry {
    Entry {
        name: name.to_owned(),
        kind,
        index,
        told: index,
        part: None,
        material: material.to_owned(),
        colour,
        tints: Vec::new(),
    }
}
