//! What everything weighs and where its mass lies: raw, carved and finished.
//!
//! Volumes are those of the carve; what is missing in a layer counts as patched with the same cake, what stays
//! open beside boards and fillings as filled with the innermost covering, as it is on the bench.

use glam::DVec3;
use rayon::prelude::*;

use crate::{
    carve::{Body, Bulk, Carving, Edited, Sections},
    design::{Design, Dome, FootprintShape},
    geom::{Moments, Region, Tolerance},
    stack::{Slab, SlabKind, Stack},
};

/// How far the cake has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Stacked, not carved.
    Raw,
    /// Carved, not coated.
    Carved,
    /// Coated and decorated.
    Finished,
}

/// Volumes with their centroids, whatever they are made of, mm³.
#[derive(Debug, Clone)]
pub struct Volumes {
    /// Every slab before carving.
    raw: Vec<Moments>,
    /// What is kept of every slab; of a board all of it.
    kept: Vec<Moments>,
    /// What is patched in every layer, and filled beside every board and filling.
    patched: Vec<Moments>,
    /// For every slab the coats above its underside, from the outside in.
    coats_above: Vec<Vec<Moments>>,
    /// For every board the underside of what overhangs right below it, which hangs on what it carries, mm².
    hanging: Vec<Moments>,
    /// Adds on the icing.
    adds: Vec<Option<Moments>>,
}

/// Smaller is round-off of a boolean, mm³.
const CRUMB: f64 = 1.0;

impl Volumes {
    /// Measures what `carving` leaves of `stack` and what `bulk` puts on it.
    pub fn new(design: &Design, stack: &Stack, carving: &Carving, bulk: &Bulk) -> Self {
        let tolerance = design.preview;
        let target = (&carving.target, carving.edited.as_slice());
        let wanted: Vec<Moments> = stack
            .slabs
            .par_iter()
            .map(|slab| target.0.moments_between(slab.bottom, slab.top, target.1))
            .collect();
        let raw: Vec<Moments> = stack.slabs.iter().map(raw).collect();
        let kept: Vec<Moments> =
            (0..stack.slabs.len()).map(|i| kept(stack, carving, i, wanted[i], raw[i], tolerance)).collect();
        let inside: Vec<Moments> = (0..stack.slabs.len())
            .map(|i| match stack.slabs[i].kind {
                // Part of a board that sticks out is not inside; see `patched`.
                SlabKind::Board => Moments::at(carving.slabs[i].volumes.kept, middle(&stack.slabs[i])),
                _ => kept[i],
            })
            .collect();
        let patched = wanted.iter().zip(&inside).map(|(wanted, inside)| rest(*wanted, *inside)).collect();
        let lines: Vec<(&Body, &[Edited])> =
            bulk.bodies.iter().map(|(body, edited)| (body, edited.as_slice())).chain([target]).collect();
        let above = |slab: &Slab| {
            let inside: Vec<Moments> =
                lines.iter().map(|(body, edited)| body.moments_between(slab.bottom, TOP, edited)).collect();
            inside.windows(2).map(|pair| rest(pair[0], pair[1])).collect()
        };
        let coats_above = stack.slabs.par_iter().map(above).collect();
        let depth = design.coverings.iter().map(|coat| coat.thickness).sum();
        let hanging = stack.slabs.iter().map(|slab| match (slab.kind, lines.len()) {
            (SlabKind::Board, 2..) => hanging(lines[0].0, slab.bottom, depth),
            _ => Moments::default(),
        });
        Self { raw, kept, patched, coats_above, hanging: hanging.collect(), adds: bulk.adds.clone() }
    }
}

/// Underside of the coats, `thick` in all, right below `height`, as far as they reach past the cake below them.
fn hanging(finished: &Body, height: f64, thick: f64) -> Moments {
    /// Clear of seams and faces, mm.
    const CLEAR: f64 = 0.5;
    let plain = finished.without_edits();
    let low = height - thick - CLEAR;
    if low <= 0.0 {
        return Moments::default();
    }
    let at = |z: f64| area_moments(&plain.outline_at(z, Tolerance::PREVIEW), height - thick / 2.0);
    rest(at(height - CLEAR.min(thick / 2.0)), at(low))
}

/// Higher than any cake, mm.
const TOP: f64 = 1e6;

/// `all` without `part`, nothing if that is less than round-off.
fn rest(all: Moments, part: Moments) -> Moments {
    let rest = all - part;
    if rest.amount > CRUMB { rest } else { Moments::default() }
}

fn middle(slab: &Slab) -> DVec3 {
    slab.footprint.centre.extend((slab.bottom + slab.top) / 2.0)
}

fn raw(slab: &Slab) -> Moments {
    let FootprintShape::Round { diameter } = slab.footprint.shape else {
        return Moments::at(slab.volume(), middle(slab));
    };
    let Some(dome) = slab.dome else { return Moments::at(slab.volume(), middle(slab)) };
    // A ball's slice from its middle to height h: ∫ z π (R² − z²) dz.
    let (r, h) = (diameter / 2.0, slab.height());
    let up = std::f64::consts::PI * h * h * (r * r / 2.0 - h * h / 4.0) / slab.volume();
    let z = match dome {
        Dome::Up => slab.bottom + up,
        Dome::Down => slab.top - up,
    };
    Moments::at(slab.volume(), slab.footprint.centre.extend(z))
}

fn kept(
    stack: &Stack,
    carving: &Carving,
    i: usize,
    wanted: Moments,
    raw: Moments,
    tolerance: Tolerance,
) -> Moments {
    let (slab, found) = (&stack.slabs[i], &carving.slabs[i]);
    if slab.kind == SlabKind::Board {
        return raw;
    }
    if found.volumes.shortfall <= CRUMB {
        return wanted;
    }
    if !found.general
        && let Some(sections) = Sections::new(slab, &carving.target.section, tolerance)
    {
        return Moments::revolved(&sections.kept);
    }
    sampled(slab, &carving.target, found.volumes.kept)
}

/// `volume` with the centroid of what `slab` holds of `target`, seen at a few heights.
fn sampled(slab: &Slab, target: &Body, volume: f64) -> Moments {
    /// Gauss's rule of three points on the stretch from 0 to 1.
    const PLACES: [(f64, f64); 3] =
        [(0.112_701_665_379_258_3, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.887_298_334_620_741_7, 5.0 / 18.0)];
    let level = |(t, weight): (f64, f64)| {
        let z = slab.bottom + t * slab.height();
        let held = target.outline_at(z, Tolerance::PREVIEW).intersection(&outline_of(slab, z));
        area_moments(&held, z) * weight
    };
    let all: Moments = PLACES.into_iter().map(level).sum();
    all.centroid().map_or_else(Moments::default, |at| Moments::at(volume, at))
}

/// The outline of a slab at a height.
fn outline_of(slab: &Slab, z: f64) -> Region {
    let mut footprint = slab.footprint;
    if let (Some(dome), FootprintShape::Round { diameter }) = (slab.dome, footprint.shape) {
        let up = match dome {
            Dome::Up => z - slab.bottom,
            Dome::Down => slab.top - z,
        };
        let radius = ((diameter / 2.0).powi(2) - up * up).max(0.0).sqrt();
        footprint.shape = FootprintShape::Round { diameter: 2.0 * radius };
    }
    footprint.region(Tolerance::PREVIEW)
}

/// Area of a level region with its centroid, mm².
pub fn area_moments(region: &Region, z: f64) -> Moments {
    let (mut area, mut first) = (0.0, glam::DVec2::ZERO);
    for (a, b) in region.edges() {
        let cross = a.perp_dot(b);
        area += cross / 2.0;
        first += (a + b) * (cross / 6.0);
    }
    Moments { amount: area, first: first.extend(area * z) }
}

/// Masses with their centres, g.
#[derive(Debug, Clone)]
pub struct Masses {
    raw: Vec<Moments>,
    carved: Vec<Moments>,
    coats_above: Vec<Moments>,
    adds: Vec<Moments>,
    dowels: Vec<Moments>,
}

impl Masses {
    /// `volumes` in the materials of `stack` and `design`.
    pub fn new(volumes: &Volumes, stack: &Stack, design: &Design) -> Self {
        let of = |slab: &Slab| slab.material.density / 1000.0;
        let innermost = design.coverings.last().map(|covering| covering.material.density / 1000.0);
        let carved = stack.slabs.iter().zip(volumes.kept.iter().zip(&volumes.patched));
        let carved = carved.map(|(slab, (kept, patched))| {
            let patch = if slab.kind == SlabKind::Layer { of(slab) } else { innermost.unwrap_or(0.0) };
            *kept * of(slab) + *patched * patch
        });
        let raw = stack.slabs.iter().zip(&volumes.raw).map(|(slab, raw)| *raw * of(slab));
        let coats = |coats: &Vec<Moments>| {
            let each = coats.iter().zip(&design.coverings);
            each.map(|(coat, covering)| *coat * (covering.material.density / 1000.0)).sum::<Moments>()
        };
        let underside: f64 =
            design.coverings.iter().map(|coat| coat.thickness * coat.material.density / 1000.0).sum();
        let adds = volumes.adds.iter().zip(&design.trims).filter_map(|(add, trim)| {
            add.zip(trim.material.as_ref()).map(|(add, of)| add * (of.density / 1000.0))
        });
        let dowels = stack.dowels.iter().map(|dowel| {
            let at = dowel.at.extend((dowel.bottom + dowel.top) / 2.0);
            Moments::at(dowel.material.mass(dowel.volume()), at)
        });
        Self {
            raw: raw.collect(),
            carved: carved.collect(),
            coats_above: volumes
                .coats_above
                .iter()
                .zip(&volumes.hanging)
                .map(|(above, hanging)| coats(above) + *hanging * underside)
                .collect(),
            adds: adds.collect(),
            dowels: dowels.collect(),
        }
    }

    /// One slab at a stage; coats are not part of it.
    pub fn slab(&self, stage: Stage, i: usize) -> Moments {
        if stage == Stage::Raw { self.raw[i] } else { self.carved[i] }
    }

    /// Everything from slab `i` up, with the dowels that stand there and, once finished, coats and adds.
    pub fn above(&self, stage: Stage, stack: &Stack, i: usize) -> Moments {
        let Some(slab) = stack.slabs.get(i) else { return Moments::default() };
        let slabs: Moments = (i..stack.slabs.len()).map(|k| self.slab(stage, k)).sum();
        let dowels = stack.dowels.iter().zip(&self.dowels);
        let dowels: Moments = dowels.filter(|(d, _)| d.bottom >= slab.bottom - 1e-6).map(|(_, m)| *m).sum();
        let mut all = slabs + dowels;
        if stage == Stage::Finished {
            let on_top = |add: &&Moments| add.centroid().is_some_and(|at| at.z >= slab.bottom);
            all = all + self.coats_above[i] + self.adds.iter().filter(on_top).copied().sum();
        }
        all
    }

    /// The whole cake without its presentation board.
    pub fn all(&self, stage: Stage, stack: &Stack) -> Moments {
        let mut all = self.above(stage, stack, 0);
        if stage == Stage::Finished {
            // What hangs lower than the lowest slab.
            let low = stack.slabs.first().map_or(0.0, |slab| slab.bottom);
            let below = |add: &&Moments| add.centroid().is_some_and(|at| at.z < low);
            all = all + self.adds.iter().filter(below).copied().sum();
        }
        all
    }
}
