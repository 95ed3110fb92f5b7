//! Zones of the coverings: which part of each has a colour or a material of its own, how large it is, how much it holds.
//!
//! A zone takes its part of the covering between the covering's two lines; what comes later in the cake file lies over what
//! comes before. On a turned shape a part is told by stretches of the half section's outline: areas are exact (Pappus), and
//! volumes those of the section between the lines. On any other shape a part lies between heights, and both are measured on
//! the meshes. An outline is measured as the solid that it takes of the covering. Cuts and adds are left out of all of it:
//! the parts of a covering share what these change.

mod outlines;
mod place;
mod seen;

use geom::{Cancel, Cancelled, Region, chain, revolve::revolved_volume};
use glam::DVec2;

pub use place::{Owner, Stretch, Window, windows};
pub(crate) use place::{chains, stretches};
pub(crate) use seen::{covered, heights_of};

use crate::{
    design::{Covering, Design, ZonePlace},
    lines::{Line, Lines},
};

/// A part of a covering: a zone, or what no zone takes.
#[derive(Debug, Clone, PartialEq)]
pub struct ZonePart {
    /// Which zone it is; `None` for what no zone takes.
    pub zone: Owner,
    /// Its outer surface, mm².
    pub area: f64,
    /// What it holds without cuts and adds, mm³.
    pub volume: f64,
}

/// A covering with its zones.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatZones {
    /// What no zone takes, then every zone in the order in which it is laid; some may be empty. One part without zones.
    pub parts: Vec<ZonePart>,
    /// How the outline of a turned shape is shared out, or the heights of any other, from the foot up: for each line of the
    /// outline its stretches.
    pub stretches: Vec<Vec<Stretch>>,
    /// The area that each zone would have if nothing lay over it, mm².
    pub alone: Vec<f64>,
}

impl CoatZones {
    /// The share of the covering that the part of `zone` holds, from 0 to 1.
    pub fn share(&self, zone: Owner) -> f64 {
        let all: f64 = self.parts.iter().map(|part| part.volume).sum();
        let own: f64 = self.parts.iter().filter(|part| part.zone == zone).map(|part| part.volume).sum();
        if all > 0.0 { own / all } else { 0.0 }
    }

    /// The parts that there is something of.
    pub fn present(&self) -> impl Iterator<Item = &ZonePart> {
        self.parts.iter().filter(|part| part.area > NOTHING)
    }

    /// The mean density of a covering over its parts, g/mL.
    fn density(&self, covering: &Covering) -> f64 {
        let of = |zone: Owner| {
            zone.map_or(covering.material.density, |zone| covering.zones[zone].material.density)
        };
        let mean: f64 = self.parts.iter().map(|part| self.share(part.zone) * of(part.zone)).sum();
        if mean > 0.0 { mean } else { covering.material.density }
    }
}

/// A smaller part is none, mm².
pub const NOTHING: f64 = 1.0;

/// The zones of every covering of `design`, from the outside in.
///
/// # Errors
/// Once `cancel` asks to stop.
pub fn zones(design: &Design, lines: &Lines, cancel: &Cancel) -> Result<Vec<CoatZones>, Cancelled> {
    let coverings = design.coverings.iter().enumerate();
    coverings.map(|(index, covering)| of_covering(design, lines, index, covering, cancel)).collect()
}

/// Gives every covering the mean density of its zones.
pub(crate) fn weigh(design: &mut Design, zones: &[CoatZones]) {
    for (covering, zones) in design.coverings.iter_mut().zip(zones) {
        if !covering.zones.is_empty() {
            covering.density = zones.density(covering);
        }
    }
}

fn of_covering(
    design: &Design,
    lines: &Lines,
    index: usize,
    covering: &Covering,
    cancel: &Cancel,
) -> Result<CoatZones, Cancelled> {
    let (outer, inner) = (&lines.all()[index], &lines.all()[index + 1]);
    if covering.zones.is_empty() {
        let part = ZonePart { zone: None, area: f64::INFINITY, volume: 1.0 };
        return Ok(CoatZones { parts: vec![part], stretches: Vec::new(), alone: Vec::new() });
    }
    let mut found = if outer.solid.is_some() {
        on_heights(covering, outer, inner)
    } else {
        turned(covering, outer, inner)
    };
    outlines::share_out(design, lines, index, &mut found, cancel)?;
    Ok(found)
}

/// Every zone with what is said of it by `of`, what no zone takes first.
fn parts(covering: &Covering, of: impl Fn(Owner) -> (f64, f64)) -> Vec<ZonePart> {
    let owners = std::iter::once(None).chain((0..covering.zones.len()).map(Some));
    owners
        .map(|zone| {
            let (area, volume) = of(zone);
            ZonePart { zone, area, volume }
        })
        .collect()
}

fn turned(covering: &Covering, outer: &Line, inner: &Line) -> CoatZones {
    let chains = chains(&outer.section);
    let stretches: Vec<Vec<Stretch>> = chains.iter().map(|line| stretches(covering, line, None)).collect();
    let area = |chosen: &dyn Fn(&Stretch) -> bool, all: &[Vec<Stretch>]| -> f64 {
        let on = |(line, all): (&Vec<DVec2>, &Vec<Stretch>)| -> f64 {
            let own = all.iter().filter(|stretch| chosen(stretch));
            own.map(|stretch| chain::turned_area(&chain::stretch(line, stretch.from, stretch.to))).sum()
        };
        chains.iter().zip(all).map(on).sum()
    };
    let alone = |zone: usize| {
        let only = Covering { zones: vec![covering.zones[zone].clone()], ..covering.clone() };
        let own: Vec<Vec<Stretch>> = chains.iter().map(|line| place::stretches(&only, line, None)).collect();
        area(&|stretch| stretch.zone.is_some(), &own)
    };
    let alone = (0..covering.zones.len()).map(alone).collect();
    let shell = outer.section.difference(&inner.section);
    let regions = sections(covering, &outer.section, &shell);
    let volume = |zone: Owner| revolved_volume(&regions[zone.map_or(0, |zone| zone + 1)]);
    let parts = parts(covering, |zone| (area(&|stretch| stretch.zone == zone, &stretches), volume(zone)));
    CoatZones { parts, stretches, alone }
}

/// The parts of a half section: what no zone takes, then each zone, what lies over it left out. Outlines take nothing here.
/// `outer` is the outer line of the covering.
pub fn sections(covering: &Covering, outer: &Region, section: &Region) -> Vec<Region> {
    let windows: Vec<Option<Region>> =
        windows(covering, outer).into_iter().map(Window::into_section).collect();
    let mut left = section.clone();
    let mut parts = vec![Region::default(); windows.len() + 1];
    for (zone, window) in windows.iter().enumerate().rev() {
        let Some(window) = window else { continue };
        parts[zone + 1] = left.intersection(window);
        left = left.difference(window);
    }
    parts[0] = left;
    parts
}

fn on_heights(covering: &Covering, outer: &Line, inner: &Line) -> CoatZones {
    let (Some(outer), Some(inner)) = (&outer.solid, &inner.solid) else {
        return CoatZones { parts: Vec::new(), stretches: Vec::new(), alone: Vec::new() };
    };
    let top = outer.bounds().map_or(0.0, |(_, hi)| hi.z);
    let upright = [DVec2::ZERO, DVec2::Y * top];
    let stretches = stretches(covering, &upright, None);
    let area = |low: f64, high: f64| {
        let mut area = 0.0;
        outer.each_between(low, high, |_, [a, b, c]| {
            if a.z.max(b.z).max(c.z) > seen::ON_BOARD {
                area += (b - a).cross(c - a).length() / 2.0;
            }
        });
        area
    };
    let volume = |low: f64, high: f64| outer.volume_between(low, high) - inner.volume_between(low, high);
    let sum = |zone: Owner, of: &dyn Fn(f64, f64) -> f64| -> f64 {
        let own = stretches.iter().filter(|stretch| stretch.zone == zone);
        own.map(|stretch| of(stretch.from, stretch.to)).sum()
    };
    let parts = parts(covering, |zone| (sum(zone, &area), sum(zone, &volume)));
    let alone = covering.zones.iter().map(|zone| match zone.place {
        ZonePlace::Between(low, high) => area(low.max(0.0), high.min(top)),
        _ => 0.0,
    });
    let alone = alone.collect();
    CoatZones { parts, stretches: vec![stretches], alone }
}
