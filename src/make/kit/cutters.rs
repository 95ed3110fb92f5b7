//! Cutters and stamps from the outlines of details.
//!
//! Both are printed with the working side up and used with it down, so they are drawn mirrored: the piece
//! that is cut, and the mark that is pressed, then lie as the maker drew them. A cutter's inner wall is the
//! outline itself, upright; outside it thickens in a step, and a flange at the back takes the thumb. An
//! outline in several parts, or with a hole in it, is several walls: their flanges are joined by bridges,
//! which stay clear of the paste. The block of a stamp in several parts, as of letters, is joined in the same way.

use glam::DVec2;

use cakefile::Severity;
use geom::{Region, SteppedPlate, stepped_plate::Top};
use plan::design::{Design, Detail, Operation, Relief, Tool};

use super::{
    Group,
    draft::{Draft, Drawer},
    jigs,
};
use crate::{language::Language, shared_name::shared_name_of};

/// Flange: how far it reaches out, and how thick it is, mm.
const FLANGE: f64 = 6.0;
const FLANGE_THICKNESS: f64 = 3.0;
/// From the bed to the cutting edge, mm.
const CUTTER_HEIGHT: f64 = 15.0;
/// Width of a bridge, mm.
const BRIDGE: f64 = 6.0;
/// Bridges longer than this would sag: the parts are printed as cutters of their own, mm.
const LONGEST_BRIDGE: f64 = 60.0;

/// Details of one outline, with that outline; never empty.
pub struct Alike<'a> {
    /// The first of them.
    pub relief: &'a Relief,
    /// All of them.
    pub details: Vec<&'a Detail>,
    /// Whether they are pressed in rather than put on.
    pub pressed: bool,
}

impl Alike<'_> {
    /// What they are called together, as "petal × 12".
    pub fn name(&self) -> String {
        shared_name_of(&self.details, Language::english())
    }

    /// The name of the first, by which parts are told whose they are.
    pub fn subject(&self) -> String {
        self.details.first().map_or_else(String::new, |detail| detail.name.clone())
    }
}

/// Each different outline of `design`, with the details that have it.
pub fn alike(design: &Design) -> Vec<Alike<'_>> {
    let mut found: Vec<Alike<'_>> = Vec::new();
    for detail in &design.details {
        let Detail { tool: Tool::Relief(relief), operation, .. } = detail else { continue };
        let pressed = *operation == Operation::Cut;
        let same = found.iter_mut().find(|d| {
            d.relief.outline == relief.outline && d.relief.depth == relief.depth && d.pressed == pressed
        });
        match same {
            Some(alike) => alike.details.push(detail),
            None => found.push(Alike { relief, details: vec![detail], pressed }),
        }
    }
    found
}

/// A cutter for each different outline.
pub fn cutters(drawer: &Drawer<'_>) -> Vec<Draft> {
    alike(&drawer.plan.design).iter().flat_map(|alike| cutter(drawer, alike)).collect()
}

fn cutter(drawer: &Drawer<'_>, alike: &Alike<'_>) -> Vec<Draft> {
    let (fine, blade) = (drawer.fine, drawer.printing.blade);
    let outline = alike.relief.outline.mirrored();
    let name = format!("cutter, {}", alike.name());
    let thin = outline.outset(blade, fine).difference(&outline);
    let thick = outline.outset(2.0 * blade, fine).difference(&outline);
    let flange = outline.outset(2.0 * blade + FLANGE, fine).difference(&outline);
    let (flange, apart) = bridged(&flange);
    let mut plate = SteppedPlate::flat(flange.clone(), FLANGE_THICKNESS);
    let edge = (alike.relief.depth + 2.0).clamp(4.0, 8.0);
    plate.put(&thick, Top::Flat(CUTTER_HEIGHT - edge));
    plate.put(&thin, Top::Flat(CUTTER_HEIGHT));
    let groups = if apart { flange.pieces() } else { vec![flange] };
    let of = groups.len();
    groups
        .iter()
        .enumerate()
        .map(|(i, group)| {
            let name = if of > 1 { format!("{name}, part {}", i + 1) } else { name.clone() };
            let mut draft = Draft::plate(Group::Cutters, name, plate.within(group));
            draft.quiet = true;
            draft.subject = Some(alike.subject());
            draft.small = true;
            draft.label = vec![alike.name()];
            if i == 0 {
                say_what_is_lost(drawer, alike, &mut draft, of);
            }
            draft
        })
        .collect()
}

fn say_what_is_lost(drawer: &Drawer<'_>, alike: &Alike<'_>, draft: &mut Draft, parts: usize) {
    /// Less is rounded off by the dough itself, mm².
    const NOTICED: f64 = 1.0;
    let (fine, blade) = (drawer.fine, drawer.printing.blade);
    let outline = &alike.relief.outline;
    // The wall stands outside: a notch narrower than two walls is filled by it.
    let filled = outline.outset(blade, fine).inset(blade, fine).difference(outline).area();
    if filled > NOTICED {
        draft.note(
            Severity::Warning,
            "notch-too-narrow",
            format!(
                "notches narrower than two walls ({:.1} mm) are filled: {filled:.0} mm² of the outline",
                2.0 * blade
            ),
            "open the notches in the drawing, or cut them by hand",
        );
    }
    if parts > 1 {
        draft.note(
            Severity::Note,
            "separate-cutters",
            format!("the outline lies in {parts} parts too far from each other for a bridge"),
            "cut each part on its own and lay them out with the paper template",
        );
    }
}

/// The flange in one piece, its parts joined by bars; and whether some are too far apart for that. The smallest
/// part is held on up to four sides, so that an island does not tilt; and by a bar at its nearest corner where
/// those do not reach anything.
fn bridged(flange: &Region) -> (Region, bool) {
    let mut whole = flange.clone();
    loop {
        let mut parts = whole.pieces();
        if parts.len() < 2 {
            return (whole, false);
        }
        parts.sort_by(|a, b| a.area().total_cmp(&b.area()));
        let (island, rest) = (parts[0].clone(), Region::new(contours(&parts[1..])));
        let mut bars = held_on_all_sides(&island, &rest);
        if bars.is_empty() {
            bars.extend(nearest_bar(&island, &rest));
        }
        let joined = bars.iter().fold(whole.clone(), |whole, bar| whole.union(bar));
        if joined.pieces().len() >= parts.len() {
            return (whole, true);
        }
        whole = joined;
    }
}

fn contours(parts: &[Region]) -> Vec<Vec<DVec2>> {
    parts.iter().flat_map(|part| part.contours().iter().cloned()).collect()
}

/// Bars from the middle of `island` to what lies around it: to the right, back, left and front.
fn held_on_all_sides(island: &Region, rest: &Region) -> Vec<Region> {
    let Some((lo, hi)) = island.bounds() else { return Vec::new() };
    let (middle, half) = ((lo + hi) / 2.0, (hi - lo) / 2.0);
    [DVec2::X, DVec2::Y, DVec2::NEG_X, DVec2::NEG_Y]
        .into_iter()
        .filter_map(|direction| {
            let own = (half * direction).length();
            let crossing = |(a, b): (DVec2, DVec2)| {
                let side = |p: DVec2| direction.perp_dot(p - middle);
                ((side(a) > 0.0) != (side(b) > 0.0))
                    .then(|| (a.lerp(b, side(a) / (side(a) - side(b))) - middle).dot(direction))
            };
            let ahead = rest.edges().filter_map(crossing).filter(|&t| t > own);
            let next = ahead.min_by(f64::total_cmp).filter(|t| t - own <= LONGEST_BRIDGE)?;
            Some(jigs::bar(middle, middle + direction * (next + FLANGE / 2.0), BRIDGE))
        })
        .collect()
}

/// A bar between the two nearest corners, into both flanges; `None` if they are too far apart.
fn nearest_bar(island: &Region, rest: &Region) -> Option<Region> {
    let points = |region: &Region| region.contours().iter().flatten().copied().collect::<Vec<DVec2>>();
    let (from, to) = (points(island), points(rest));
    let pairs = from.iter().flat_map(|&a| to.iter().map(move |&b| (a, b)));
    let (a, b) = pairs.min_by(|x, y| x.0.distance_squared(x.1).total_cmp(&y.0.distance_squared(y.1)))?;
    let along = (b - a).normalize_or(DVec2::X) * FLANGE;
    (a.distance(b) <= LONGEST_BRIDGE).then(|| jigs::bar(a - along, b + along, BRIDGE))
}

/// A stamp for each different outline that is pressed in.
pub fn stamps(drawer: &Drawer<'_>) -> Vec<Draft> {
    alike(&drawer.plan.design)
        .iter()
        .filter(|alike| alike.pressed)
        .flat_map(|alike| stamp(drawer, alike))
        .collect()
}

fn stamp(drawer: &Drawer<'_>, alike: &Alike<'_>) -> Vec<Draft> {
    /// How far the block reaches beyond the outline, how high it is, and how far the outline clears it when
    /// it is pressed to its depth.
    const RIM: f64 = 3.0;
    const BLOCK: f64 = 14.0;
    const SPARE: f64 = 1.0;
    let outline = alike.relief.outline.mirrored();
    let (block, apart) = bridged(&outline.outset(RIM, drawer.fine).filled());
    let mut plate = SteppedPlate::flat(block.clone(), BLOCK);
    plate.put(&outline, Top::Flat(BLOCK + alike.relief.depth + SPARE));
    let groups = if apart { block.pieces() } else { vec![block] };
    let of = groups.len();
    let mut drafts: Vec<Draft> = groups
        .iter()
        .enumerate()
        .map(|(i, group)| {
            let name = format!("stamp, {}", alike.name());
            let name = if of > 1 { format!("{name}, part {}", i + 1) } else { name };
            let mut draft = Draft::plate(Group::Stamps, name, plate.within(group));
            draft.quiet = true;
            draft.small = true;
            draft.subject = Some(alike.subject());
            draft
        })
        .collect();
    if let Some(first) = drafts.first_mut() {
        say_how_it_is_pressed(drawer, alike, first, of);
    }
    drafts
}

fn say_how_it_is_pressed(drawer: &Drawer<'_>, alike: &Alike<'_>, draft: &mut Draft, parts: usize) {
    if parts > 1 {
        draft.note(
            Severity::Note,
            "separate-stamps",
            format!("the outline lies in {parts} parts too far from each other for a bridge"),
            "press each part on its own, at its place on the paper template",
        );
    }
    let seat = drawer.finished().radius(alike.relief.height);
    let half = alike.relief.outline.bounds().map_or(0.0, |(lo, hi)| (hi.x - lo.x) / 2.0);
    // Sagitta of a chord, any handbook.
    let gap = if alike.relief.on_top().is_some() {
        0.0
    } else if half < seat {
        seat - (seat * seat - half * half).sqrt()
    } else {
        seat
    };
    if gap > 0.5 * alike.relief.depth {
        draft.note(
            Severity::Note,
            "rock-the-stamp",
            format!("the stamp is flat and the side is round: at its edges it stands off {gap:.1} mm"),
            "rock it from one edge to the other",
        );
    }
}
