//! Scrapers: plates whose edge is a line of the cake, and the foot that keeps them upright.
//!
//! A scraper stands on the board (or beside the turntable) with its plane through the axis, while the cake
//! turns. It is printed lying down: the working edge is the underside's, and the bevel behind it rises away
//! from it at 45°. The foot is printed apart, lying as it is used, and carries any of the scrapers: the plate
//! drops into its slot, so that it stands square and its own lower edge still rests on the board.

use glam::{DVec2, dvec2};

use cakefile::Severity;
use geom::{Region, SteppedPlate, stepped_plate::Top};

use super::{
    Group, Silhouette,
    draft::{Draft, Drawer},
};

/// Measures that all scrapers of a cake share, mm.
pub struct Stance {
    /// Outer edge.
    pub outer: f64,
    /// Height of the lower edge; below 0 beside a turntable.
    pub floor: f64,
    /// Where what is below the board's top may begin.
    pub clear_of_board: f64,
    /// The foot, from its inner to its outer end.
    pub foot: (f64, f64),
}

/// From the greatest radius to the outer edge: rim, handle and rim.
const BODY: f64 = 48.0;
/// Width of the hole of the handle: three or four fingers in a glove (common practice, no source).
const HANDLE: f64 = 26.0;
/// Length of that hole.
const HANDLE_LENGTH: f64 = 90.0;
/// What reaches over the top of the cake.
const ARM: f64 = 20.0;
/// The bridges that close the slot of the foot at its ends, and how high the foot lies.
const BRIDGE: f64 = 8.0;
const FOOT_HEIGHT: f64 = 5.0;
/// How high the cheeks along the slot stand, and how thick they are.
const CHEEK: f64 = 24.0;
const CHEEK_WALL: f64 = 5.0;
/// How far the foot reaches to both sides of the plate.
const FOOT_HALF: f64 = 40.0;
/// Kept free between the foot and the cake.
const AWAY: f64 = 4.0;

impl Stance {
    /// The stance of all scrapers of a cake, `more` lines among them that may reach further.
    pub fn new(drawer: &Drawer<'_>, more: &[Silhouette]) -> Self {
        let lines = || drawer.lines.iter().filter(|_| drawer.is_round()).chain(more);
        let below = drawer.printing.stand_below;
        let board = drawer.plan.design.board.as_ref();
        let clear_of_board = board
            .filter(|_| below > 0.0)
            .map_or(0.0, |b| b.footprint.reach() + b.footprint.centre.length() + 2.0);
        let low = lines().map(|line| line.widest_between(0.0, CHEEK + 2.0)).fold(0.0, f64::max);
        let inner = (low + AWAY).max(clear_of_board + AWAY);
        let reach = lines().map(|line| line.reach).fold(0.0, f64::max);
        let outer = (reach + BODY).max(inner + 60.0);
        let foot = ((outer - 90.0).max(inner), outer + BRIDGE + drawer.printing.clearance);
        Self { outer, floor: -below, clear_of_board, foot }
    }
}

/// A scraper for each line, those for chosen bearings, and one foot.
pub fn draw(drawer: &Drawer<'_>) -> Vec<Draft> {
    let sections = &drawer.sections;
    let stance = Stance::new(drawer, sections);
    let mut drafts: Vec<Draft> = sections.iter().map(|line| scraper(drawer, &stance, line)).collect();
    drafts.push(foot(drawer, &stance));
    drafts
}

fn scraper(drawer: &Drawer<'_>, stance: &Stance, line: &Silhouette) -> Draft {
    let printing = drawer.printing;
    let dowel = drawer.plan.design.centre_dowel.as_ref().filter(|d| d.height > line.top);
    let inner = dowel.map_or(0.0, |d| (d.diameter + printing.dowel_clearance) / 2.0 + 1.0);
    let mut outline = blank(drawer, inner, stance.outer, stance.floor, line.top + ARM);
    outline = outline
        .difference(&Region::rectangle(dvec2(-1.0, stance.floor - 1.0), dvec2(stance.clear_of_board, 0.0)));
    // The bridge at the inner end of the foot passes under the plate.
    let (from, _) = stance.foot;
    let bridge = Region::rectangle(
        dvec2(from - printing.clearance, stance.floor - 1.0),
        dvec2(from + BRIDGE + printing.clearance, stance.floor + FOOT_HEIGHT + printing.clearance),
    );
    let mut draft = edged(drawer, line, outline.difference(&bridge), "scraper", Group::Scrapers);
    handle(drawer, &mut draft, line, stance.outer);
    draft
}

/// A plate from `inner` to `outer` and from `floor` to `ceiling`, its outer corners rounded.
pub fn blank(drawer: &Drawer<'_>, inner: f64, outer: f64, floor: f64, ceiling: f64) -> Region {
    /// Radius of the corners.
    const ROUND: f64 = 10.0;
    let larger = Region::rectangle(dvec2(inner - 3.0 * ROUND, floor - 3.0 * ROUND), dvec2(outer, ceiling));
    let rounded = larger.inset(ROUND, drawer.fine).outset(ROUND, drawer.fine);
    rounded.intersection(&Region::rectangle(dvec2(inner, floor), dvec2(outer, ceiling)))
}

/// The plate `outline` with the line cut out of it and a bevel along that edge.
pub fn edged(drawer: &Drawer<'_>, line: &Silhouette, outline: Region, what: &str, group: Group) -> Draft {
    let printing = drawer.printing;
    let outline = outline.difference(&line.shadow);
    let mut plate = SteppedPlate::flat(outline.clone(), printing.thickness);
    if printing.thickness > printing.scraper_edge {
        let bevel = line.shadow.outset(printing.thickness - printing.scraper_edge, drawer.fine);
        let top = Top::Bevel {
            line: line.shadow.clone(),
            from: printing.scraper_edge,
            to: printing.thickness,
            slope: 1.0,
        };
        plate.put(&outline.intersection(&bevel), top);
    }
    let mut draft = Draft::plate(group, format!("{what}, {}", line.title()), plate);
    draft.working = line.working();
    draft.subject = Some(line.name.clone());
    draft.label = vec![drawer.plan.design.name.clone(), line.title()];
    let reached = line.shadow.area();
    let whole = drawer.plan.lines.all().iter().find(|l| l.name == line.name && line.bearings.is_empty());
    if let Some(hidden) = whole.map(|l| reached - l.section.area()).filter(|a| *a > HIDDEN) {
        draft.note(
            Severity::Note,
            "hollow-not-reached",
            format!(
                "the line goes in behind an outer edge where no tool reaches from the side ({:.1} cm² of the section)",
                hidden / 100.0
            ),
            "shape that part by hand, with the template",
        );
    }
    draft
}

/// Less of a section hidden behind an outer edge is not reported, mm².
const HIDDEN: f64 = 20.0;

/// A hole to put the fingers through, with a raised rim, in the middle of the outer edge.
pub fn handle(drawer: &Drawer<'_>, draft: &mut Draft, line: &Silhouette, outer: f64) {
    /// Width and height of the rim.
    const RIM: f64 = 4.0;
    let super::draft::Body::Plate(plate) = &mut draft.body else { return };
    let middle = dvec2(outer - BODY / 2.0 + 1.0, line.top * 0.55);
    let length = HANDLE_LENGTH.min(line.top * 0.6);
    if length < HANDLE * 1.5 {
        // Too low for a hole: it is held by its upper edge.
        return;
    }
    let half = (length - HANDLE) / 2.0;
    let core = Region::rectangle(middle - dvec2(0.1, half), middle + dvec2(0.1, half));
    let hole = core.outset(HANDLE / 2.0, drawer.fine);
    let rim = hole.outset(RIM, drawer.fine);
    plate.put(&rim, Top::Flat(drawer.printing.thickness + RIM));
    plate.cut(&hole);
    draft.keep.extend(rim.bounds());
}

/// The foot, drawn about its slot: x along the plate, y across it.
fn foot(drawer: &Drawer<'_>, stance: &Stance) -> Draft {
    let printing = drawer.printing;
    let (from, to) = stance.foot;
    let length = to - from;
    let slot_half = printing.thickness / 2.0 + printing.clearance;
    let slot = Region::rectangle(dvec2(BRIDGE, -slot_half), dvec2(length - BRIDGE, slot_half));
    let sole = Region::rectangle(dvec2(0.0, -FOOT_HALF), dvec2(length, FOOT_HALF));
    let sole = sole.inset(8.0, drawer.fine).outset(8.0, drawer.fine);
    let cheeks = Region::rectangle(
        dvec2(BRIDGE, -slot_half - CHEEK_WALL),
        dvec2(length - BRIDGE, slot_half + CHEEK_WALL),
    );
    let mut plate = SteppedPlate::flat(sole, FOOT_HEIGHT);
    plate.put(&cheeks, Top::Flat(CHEEK));
    plate.cut(&slot);
    // Webs hold the cheeks square to the sole.
    for x in [BRIDGE + 6.0, length - BRIDGE - 6.0] {
        for side in [-1.0, 1.0] {
            let near: DVec2 = dvec2(x - 2.0, side * (slot_half + CHEEK_WALL));
            let far = dvec2(x + 2.0, side * (FOOT_HALF - 8.0));
            plate.put(&Region::rectangle(near.min(far), near.max(far)), Top::Flat(FOOT_HEIGHT + 9.0));
        }
    }
    let mut draft = Draft::plate(Group::Scrapers, "scraper foot", plate);
    draft.label = vec!["cake ←".into()];
    draft
}
