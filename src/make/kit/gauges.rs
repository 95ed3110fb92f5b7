//! Gauges: combs and half rings that check the outline at chosen heights, and probes for depth.

use glam::{DVec2, dvec2};

use cakefile::Severity;
use geom::{Region, SteppedPlate, stepped_plate::Top};
use plan::{
    design::{Operation, Tool},
    stack::SlabKind,
};

use super::{
    Group, Silhouette,
    draft::{Draft, Drawer},
    envelope::upper_envelope,
    lettering,
};

/// Heights nearer to each other than this share one tooth or ring, mm.
const APART: f64 = 9.0;

/// A height to check at, with what is there.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Height above the board, mm.
    pub height: f64,
    /// "widest", "narrowest" or the seam.
    pub what: String,
}

/// Where a line is checked: its widest and narrowest place and the top of every layer, from the bottom up.
pub fn stations(drawer: &Drawer<'_>, line: &Silhouette) -> Vec<Station> {
    let station = |height: f64, what: &str| Station { height, what: what.to_owned() };
    let mut found = vec![station(line.widest(), "widest")];
    found.extend(line.waist().map(|height| station(height, "narrowest")));
    let layers = drawer.plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Layer);
    found.extend(layers.map(|slab| station(slab.top, &format!("top of {}", slab.name))));
    // Where the surface lies flatter than 30° its height says more than its radius.
    let flat = |z: f64| (line.radius((z - 1.0).max(0.0)) - line.radius(z + 1.0)).abs() > 3.5;
    let step = |z: f64| (line.radius(z - 1.0) - line.radius(z + 1.0)).abs() > 20.0;
    let inside = |s: &Station| {
        let z = s.height;
        z >= 0.0 && z < line.top - 1.0 && line.radius(z) > 5.0 && (!flat(z) || step(z))
    };
    let mut kept: Vec<Station> = Vec::new();
    for one in found.into_iter().filter(inside) {
        if kept.iter().all(|other| (other.height - one.height).abs() >= APART) {
            kept.push(one);
        }
    }
    kept.sort_by(|a, b| a.height.total_cmp(&b.height));
    kept
}

/// A comb for each line: a spine that stands on the board, with a tooth for each height.
pub fn combs(drawer: &Drawer<'_>) -> Vec<Draft> {
    drawer.sections.iter().map(|line| comb(drawer, line)).collect()
}

fn comb(drawer: &Drawer<'_>, line: &Silhouette) -> Draft {
    /// Half the height of a tooth at its tip and at the spine.
    const TIP: f64 = 1.5;
    const ROOT: f64 = 5.0;
    /// From the widest place to the spine, and the width of the spine.
    const GAP: f64 = 6.0;
    const SPINE: f64 = 40.0;
    let stations = stations(drawer, line);
    let spine = line.reach + GAP;
    let top = stations.last().map_or(line.top, |s| s.height) + 12.0;
    let mut region = scraper_blank(drawer, spine, spine + SPINE, top);
    for station in &stations {
        let tip = line.radius(station.height);
        let (low, high) = (station.height, station.height);
        let tooth = vec![
            dvec2(tip - 20.0, low - TIP),
            dvec2(tip + 4.0, low - TIP),
            dvec2(spine + 1.0, low - ROOT),
            dvec2(spine + 1.0, high + ROOT),
            dvec2(tip + 4.0, high + TIP),
            dvec2(tip - 20.0, high + TIP),
        ];
        region = region.union(&Region::from_simple(tooth));
    }
    let floor = Region::rectangle(dvec2(-1e4, 0.0), dvec2(1e4, 1e4));
    let region = region.intersection(&floor).difference(&line.shadow);
    let mut plate = SteppedPlate::flat(region, drawer.printing.thickness);
    for station in &stations {
        let text = lettering::lines(&[drawer.mm(station.height)], MARK, drawer.fine);
        let extent = text.bounds().map_or(DVec2::ZERO, |(lo, hi)| hi - lo);
        if extent.x < SPINE - 3.0 && station.height > MARK {
            plate.put(
                &text.placed(0.0, dvec2(spine + SPINE / 2.0, station.height)),
                Top::Flat(drawer.printing.thickness + 0.6),
            );
        }
    }
    let mut draft = Draft::plate(Group::Combs, format!("comb, {}", line.title()), plate);
    draft.label = vec![line.name.clone(), "line".into()];
    draft.subject = Some(line.name.clone());
    let tooth = |s: &Station| (dvec2(line.radius(s.height), s.height - ROOT), dvec2(spine, s.height + ROOT));
    draft.keep = stations.iter().map(tooth).collect();
    // Between the teeth it can be cut without touching one.
    let between = stations.windows(2).map(|w| (w[0].height + w[1].height) / 2.0 + 1e-4);
    draft.seams = [vec![], between.collect()];
    draft
}

/// Height of the font of marks on gauges, mm.
const MARK: f64 = 7.0;

fn scraper_blank(drawer: &Drawer<'_>, from: f64, to: f64, top: f64) -> Region {
    super::scraper::blank(drawer, from, to, 0.0, top)
}

/// Half rings of the carved line at every station, and of the other lines at the widest and narrowest.
pub fn rings(drawer: &Drawer<'_>) -> Vec<Draft> {
    if !drawer.is_round() {
        return outline_gauges(drawer);
    }
    let mut drafts = Vec::new();
    for line in &drawer.lines {
        let all = line.name == drawer.carved().name;
        let wanted = |s: &Station| all || !s.what.starts_with("top of");
        drafts.extend(stations(drawer, line).iter().filter(|s| wanted(s)).map(|s| ring(drawer, line, s)));
    }
    drafts
}

/// A half ring with straight legs: it slips over the cake from the side, and its opening is as wide as the
/// cake should be.
fn ring(drawer: &Drawer<'_>, line: &Silhouette, station: &Station) -> Draft {
    /// Width of the ring, and length of its legs.
    const WIDTH: f64 = 14.0;
    const LEGS: f64 = 10.0;
    const TAB: DVec2 = dvec2(92.0, 16.0);
    let radius = line.radius(station.height);
    let u = |r: f64, legs: f64| {
        Region::disc(DVec2::ZERO, r, drawer.fine).union(&Region::rectangle(dvec2(-r, -legs), dvec2(r, 0.0)))
    };
    let above = Region::rectangle(dvec2(-1e4, -LEGS), dvec2(1e4, 1e4));
    let outside = u(radius + WIDTH, LEGS).intersection(&above);
    // A tab to hold it by, which also carries the name.
    let crown = radius + WIDTH;
    let tab = Region::rectangle(dvec2(-TAB.x / 2.0, crown - WIDTH / 2.0), dvec2(TAB.x / 2.0, crown + TAB.y));
    let tab = tab.inset(4.0, drawer.fine).outset(4.0, drawer.fine);
    let region = outside.union(&tab).difference(&u(radius, LEGS + radius + 1.0));
    let height = drawer.mm(station.height);
    let name = format!("ring gauge, {}, height {height}", line.title());
    let mut draft =
        Draft::plate(Group::RingGauges, name, SteppedPlate::flat(region, drawer.printing.thickness));
    draft.label = vec![format!("{} {height}", line.name), format!("⌀ {}", drawer.mm(2.0 * radius))];
    draft.seams = [vec![1e-4], vec![]];
    draft
}

/// Gauges of a shape that is not round: at every station of the carved line one that is pushed on from the front
/// and one from the back, each open towards the middle.
fn outline_gauges(drawer: &Drawer<'_>) -> Vec<Draft> {
    /// Width of the plate beside the outline.
    const WIDTH: f64 = 14.0;
    /// Lies on the other side of the middle, so that both halves meet.
    const LAP: f64 = 0.5;
    const FAR: f64 = 1e4;
    let target = &drawer.plan.carving.target;
    let name = &drawer.carved().name;
    let mut drafts = Vec::new();
    for station in stations(drawer, drawer.carved()) {
        let outline = target.outline_at(station.height, drawer.fine);
        let height = drawer.mm(station.height);
        for (side, back) in [("front", -1.0), ("back", 1.0)] {
            // What comes on from one side meets the outermost edges only.
            let opening = opening(&outline, back, FAR);
            let hidden = opening.intersection(&half_plane(back)).difference(&outline.filled()).area();
            let half = half_plane(back).outset(LAP, drawer.fine);
            let region = outline.outset(WIDTH, drawer.fine).intersection(&half).difference(&opening);
            // Pieces that the opening cuts off hold nothing together.
            let pieces = region.pieces();
            let Some(largest) = pieces.iter().max_by(|a, b| a.area().total_cmp(&b.area())) else { continue };
            let plate = SteppedPlate::flat(largest.clone(), drawer.printing.thickness);
            let full = format!("outline gauge, {name} line, {side}, height {height}");
            let mut draft = Draft::plate(Group::RingGauges, full, plate);
            draft.label = vec![format!("{name} {height}"), side.into()];
            if hidden > HIDDEN {
                draft.note(
                    Severity::Note,
                    "hollow-not-reached",
                    format!(
                        "the outline goes in behind an outer edge where no gauge reaches from the {side} ({:.1} cm²)",
                        hidden / 100.0
                    ),
                    "check that part with the paper template",
                );
            }
            drafts.push(draft);
        }
    }
    drafts
}

/// Less of an outline hidden behind an outer edge is not reported, mm².
const HIDDEN: f64 = 20.0;

/// Everything in front of the middle (`back` −1) or behind it (1).
fn half_plane(back: f64) -> Region {
    const FAR: f64 = 1e4;
    let (low, high) = if back > 0.0 { (0.0, FAR) } else { (-FAR, 0.0) };
    Region::rectangle(dvec2(-FAR, low), dvec2(FAR, high))
}

/// What a region passes over as it is moved away from a gauge that comes on from the front (`back` −1) or from the
/// back (1), by `far` mm.
fn opening(region: &Region, back: f64, far: f64) -> Region {
    let flip = dvec2(1.0, back);
    let met = upper_envelope(region.edges().map(|(a, b)| (a * flip, b * flip)));
    let moved = met.into_iter().filter_map(|chain| {
        let (first, last) = (chain.first()?.x, chain.last()?.x);
        let ends = [dvec2(last, -far), dvec2(first, -far)];
        let mut contour: Vec<DVec2> = chain.iter().copied().chain(ends).map(|p| p * flip).collect();
        if geom::region::signed_area(&contour) < 0.0 {
            contour.reverse();
        }
        Some(contour)
    });
    Region::new(moved.collect())
}

/// One probe for each depth that a detail is pressed in.
pub fn depths(drawer: &Drawer<'_>) -> Vec<Draft> {
    let cuts = drawer.plan.design.details.iter().filter(|detail| detail.operation == Operation::Cut);
    let mut depths: Vec<f64> = cuts
        .filter_map(|detail| match &detail.tool {
            Tool::Relief(relief) => Some(relief.depth),
            _ => None,
        })
        .collect();
    depths.sort_by(f64::total_cmp);
    depths.dedup_by(|a, b| (*a - *b).abs() < 0.05);
    depths.iter().map(|&depth| probe(drawer, depth)).collect()
}

/// A bar that rests on the surface, upright, with a probe that reaches the bottom of the detail.
fn probe(drawer: &Drawer<'_>, depth: f64) -> Draft {
    /// Half the length of the bar, its height, and half the width of the probe.
    const BAR: f64 = 32.0;
    const HEIGHT: f64 = 20.0;
    const PROBE: f64 = 2.5;
    let bar = Region::rectangle(dvec2(-BAR, 0.0), dvec2(BAR, HEIGHT));
    let probe = Region::rectangle(dvec2(-PROBE, -depth), dvec2(PROBE, 1.0));
    let plate = SteppedPlate::flat(bar.union(&probe), drawer.printing.thickness);
    let mut draft = Draft::plate(Group::DepthGauges, format!("depth gauge, {}", drawer.mm(depth)), plate);
    draft.label = vec![format!("{} deep", drawer.mm(depth))];
    draft
}
