//! Where zones lie: as stretches of an outline, and as windows through which a section or a solid is seen.

use glam::{DVec2, dvec2};

use crate::design::{Covering, Relief, ZonePlace};
use geom::{Region, chain};

/// A zone by its place in the list of its covering; `None` for what no zone takes.
pub type Owner = Option<usize>;

/// A stretch of an outline that one zone takes, or none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Arc length where it begins, mm; on a shape that is not turned its height.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// Whose it is.
    pub zone: Owner,
}

/// What a zone may take, whatever lies over it.
#[derive(Debug, Clone, PartialEq)]
pub enum Window {
    /// All in a region of the half-plane, turned about the axis.
    Section(Region),
    /// All within an outline, as deep as the covering is thick.
    Outline(Relief),
}

impl Window {
    /// Its region of the half-plane, if it is one.
    pub fn into_section(self) -> Option<Region> {
        match self {
            Self::Section(region) => Some(region),
            Self::Outline(_) => None,
        }
    }
}

/// The outlines of a half section from the foot up, without the foot and the axis.
pub(crate) fn chains(section: &Region) -> Vec<Vec<DVec2>> {
    section.filled().lines_without(|a, b| (a.y == 0.0 && b.y == 0.0) || (a.x == 0.0 && b.x == 0.0))
}

/// Whether a line ends on the axis: it has a top.
fn ends_on_axis(line: &[DVec2]) -> bool {
    /// Points closer to the axis lie on it, mm.
    const ON_AXIS: f64 = 1e-6;
    line.last().is_some_and(|p| p.x < ON_AXIS)
}

/// How a line is shared out among the zones of a covering, from its foot up. `edge` is where its top begins, if that is not
/// to be looked for: on a line that lies inside the one that has the edge.
pub(crate) fn stretches(covering: &Covering, line: &[DVec2], edge: Option<f64>) -> Vec<Stretch> {
    let length = chain::length(line);
    let edge = edge.unwrap_or_else(|| if ends_on_axis(line) { chain::top_begins(line) } else { length });
    let taken: Vec<Vec<(f64, f64)>> = covering
        .zones
        .iter()
        .map(|zone| match zone.place {
            ZonePlace::Top => vec![(edge, length)],
            ZonePlace::Side => vec![(0.0, edge)],
            ZonePlace::Between(low, high) => chain::between(line, low, high),
            ZonePlace::Outline(_) => Vec::new(),
        })
        .collect();
    let mut places: Vec<f64> =
        taken.iter().flatten().flat_map(|&(from, to)| [from, to]).chain([0.0, length]).collect();
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() < SHORT);
    let mut all: Vec<Stretch> = Vec::new();
    for pair in places.windows(2) {
        let middle = f64::midpoint(pair[0], pair[1]);
        let zone = taken.iter().rposition(|own| own.iter().any(|&(from, to)| from < middle && middle < to));
        match all.last_mut() {
            Some(last) if last.zone == zone => last.to = pair[1],
            _ => all.push(Stretch { from: pair[0], to: pair[1], zone }),
        }
    }
    all
}

/// Shorter stretches are rounding, mm.
const SHORT: f64 = 1e-6;

/// What every zone of a covering may take; `outer` is the half section inside the covering's outer line.
pub fn windows(covering: &Covering, outer: &Region) -> Vec<Window> {
    /// Clear of the outermost and the lowest place, mm.
    const CLEAR: f64 = 50.0;
    /// How far windows of a top and a side reach inwards of the covering, as a share of its thickness, and outwards, mm.
    const DEEPER: f64 = 1.02;
    const OUTWARDS: f64 = 2.0;
    let (_, hi) = outer.bounds().unwrap_or_default();
    let lines = chains(outer);
    let strips = |top: bool| {
        let strip = |line: &Vec<DVec2>| {
            let length = chain::length(line);
            let edge = if ends_on_axis(line) { chain::top_begins(line) } else { length };
            let (from, to) = if top { (edge, length) } else { (0.0, edge) };
            chain::strip(&chain::stretch(line, from, to), DEEPER * covering.thickness, OUTWARDS)
        };
        lines.iter().map(strip).fold(Region::default(), |all, one| all.union(&one)).right_half()
    };
    let window = |place: &ZonePlace| match place {
        ZonePlace::Top => Window::Section(strips(true)),
        ZonePlace::Side => Window::Section(strips(false)),
        ZonePlace::Between(low, high) => {
            let low = if *low <= 0.0 { -CLEAR } else { *low };
            let high = if *high >= hi.y { hi.y + CLEAR } else { *high };
            Window::Section(Region::rectangle(dvec2(0.0, low), dvec2(hi.x + CLEAR, high.max(low + SHORT))))
        }
        ZonePlace::Outline(relief) => Window::Outline(relief.clone()),
    };
    covering.zones.iter().map(|zone| window(&zone.place)).collect()
}
