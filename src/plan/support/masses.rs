//! What everything weighs and where its mass lies: raw, carved and finished.
//!
//! Volumes are those of the carve; what is missing in a layer counts as patched with the same cake, what stays
//! open beside boards and fillings as filled with the innermost covering, as it is on the bench.

use glam::DVec3;
use rayon::prelude::*;

use crate::{
    carve::{Body, Bulk, Carving, Edited, Sections},
    design::{Design, Dome, FootprintShape},
    stack::{Slab, SlabKind, Stack},
};
use geom::real;
use geom::{Moments, Region, Tolerance};

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
const ROUND_OFF: f64 = 1.0;

impl Volumes {
    /// Measures what `carving` leaves of `stack` and what `bulk` puts on it.
    pub fn new(design: &Design, stack: &Stack, carving: &Carving, bulk: &Bulk) -> Self {
        let tolerance = design.tool;
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
            (SlabKind::Board, 2..) => hanging(lines[0], slab.bottom, depth),
            _ => Moments::default(),
        });
        Self { raw, kept, patched, coats_above, hanging: hanging.collect(), adds: bulk.adds.clone() }
    }
}

/// Underside of the coats, `thick` in all, right below `height`, as far as they reach past the cake below them.
fn hanging((finished, edited): (&Body, &[Edited]), height: f64, thick: f64) -> Moments {
    /// Clear of seams and faces, mm.
    const CLEAR: f64 = 0.5;
    let low = height - thick - CLEAR;
    if low <= 0.0 {
        return Moments::default();
    }
    let at = |z: f64| {
        let outline = finished.outline_among(z, Tolerance::PREVIEW, edited);
        Moments::of_outline(outline.edges(), height - thick / 2.0)
    };
    rest(at(height - CLEAR.min(thick / 2.0)), at(low))
}

/// Higher than any cake, mm.
const TOP: f64 = 1e6;

/// `all` without `part`, nothing if that is less than round-off.
fn rest(all: Moments, part: Moments) -> Moments {
    let rest = all - part;
    if rest.amount > ROUND_OFF { rest } else { Moments::default() }
}

fn middle(slab: &Slab) -> DVec3 {
    slab.footprint.centroid().extend((slab.bottom + slab.top) / 2.0)
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
    if found.volumes.shortfall <= ROUND_OFF {
        return wanted;
    }
    if !found.general
        && let Some(sections) = Sections::new(slab, &carving.target.section, tolerance)
    {
        return Moments::revolved(&sections.kept);
    }
    sampled(slab, (&carving.target, &carving.edited), found.volumes.kept)
}

/// `volume` with the centroid of what `slab` holds of `target`, seen at a few heights.
fn sampled(slab: &Slab, (target, edited): (&Body, &[Edited]), volume: f64) -> Moments {
    /// Gauss's rule of three points on the stretch from 0 to 1.
    const PLACES: [(f64, f64); 3] =
        [(0.112_701_665_379_258_3, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.887_298_334_620_741_7, 5.0 / 18.0)];
    let level = |(t, weight): (f64, f64)| {
        let z = slab.bottom + t * slab.height();
        let held = target.outline_among(z, Tolerance::PREVIEW, edited).intersection(&outline_of(slab, z));
        Moments::of_outline(held.edges(), z) * weight
    };
    let all: Moments = PLACES.into_iter().map(level).sum();
    all.centroid().map_or_else(Moments::default, |at| Moments::at(volume, at))
}

/// The outline of a slab at a height.
fn outline_of(slab: &Slab, z: f64) -> Region {
    let mut footprint = slab.footprint.clone();
    if let (Some(dome), &FootprintShape::Round { diameter }) = (slab.dome, &footprint.shape) {
        let up = match dome {
            Dome::Up => z - slab.bottom,
            Dome::Down => slab.top - z,
        };
        let radius = (real::powi(diameter / 2.0, 2) - up * up).max(0.0).sqrt();
        footprint.shape = FootprintShape::Round { diameter: 2.0 * radius };
    }
    footprint.region(Tolerance::PREVIEW)
}

/// Masses with their centres, g.
#[derive(Debug, Clone)]
pub struct Masses {
    raw: Vec<Moments>,
    carved: Vec<Moments>,
    /// For every slab everything from it up, raw, carved and finished.
    above: [Vec<Moments>; 3],
    /// What is finished and hangs lower than the lowest slab.
    below: Moments,
}

impl Masses {
    /// `volumes` in the materials of `stack` and `design`.
    pub fn new(volumes: &Volumes, stack: &Stack, design: &Design) -> Self {
        let of = |slab: &Slab| slab.material.density / 1000.0;
        let innermost = design.coverings.last().map_or(0.0, |covering| covering.material.density / 1000.0);
        let carved = stack.slabs.iter().zip(volumes.kept.iter().zip(&volumes.patched));
        let carved: Vec<Moments> = carved
            .map(|(slab, (kept, patched))| {
                let patch = if slab.kind == SlabKind::Layer { of(slab) } else { innermost };
                *kept * of(slab) + *patched * patch
            })
            .collect();
        let raw: Vec<Moments> =
            stack.slabs.iter().zip(&volumes.raw).map(|(slab, raw)| *raw * of(slab)).collect();
        // What stands in a slab or on it belongs to the highest slab that it does not begin under.
        let mut dowels = vec![Moments::default(); stack.slabs.len()];
        for dowel in &stack.dowels {
            let at = dowel.at.extend((dowel.bottom + dowel.top) / 2.0);
            add_at(&mut dowels, stack, dowel.bottom, Moments::at(dowel.material.mass(dowel.volume()), at));
        }
        let mut adds = vec![Moments::default(); stack.slabs.len()];
        let mut below = Moments::default();
        for (add, detail) in volumes.adds.iter().zip(&design.details) {
            let Some((add, material)) = add.zip(detail.material.as_ref()) else { continue };
            let mass = add * (material.density / 1000.0);
            let at = mass.centroid().unwrap_or_default().z;
            if !add_at(&mut adds, stack, at, mass) {
                below = below + mass;
            }
        }
        let underside: f64 = design.coverings.iter().map(|coat| coat.thickness * coat.density / 1000.0).sum();
        let coats = volumes.coats_above.iter().zip(&volumes.hanging).map(|(coats, hanging)| {
            let each = coats.iter().zip(&design.coverings);
            let own: Moments = each.map(|(coat, of)| *coat * (of.density / 1000.0)).sum();
            own + *hanging * underside
        });
        let (raw_above, carved_above) = (sums_from(&raw, &dowels), sums_from(&carved, &dowels));
        let adds = sums_from(&adds, &[]);
        let finished = carved_above.iter().zip(coats).zip(&adds).map(|((a, b), c)| *a + b + *c).collect();
        Self { raw, carved, above: [raw_above, carved_above, finished], below }
    }

    /// One slab at a stage; coats are not part of it.
    pub fn slab(&self, stage: Stage, i: usize) -> Moments {
        if stage == Stage::Raw { self.raw[i] } else { self.carved[i] }
    }

    /// Everything from slab `i` up, with the dowels that stand there and, once finished, coats and adds.
    pub fn above(&self, stage: Stage, i: usize) -> Moments {
        self.above[stage as usize].get(i).copied().unwrap_or_default()
    }

    /// The whole cake without its presentation board.
    pub fn all(&self, stage: Stage) -> Moments {
        let below = if stage == Stage::Finished { self.below } else { Moments::default() };
        self.above(stage, 0) + below
    }
}

/// Adds `mass`, which begins at `height`, to the highest slab that does not lie above that; `false` if all do.
fn add_at(to: &mut [Moments], stack: &Stack, height: f64, mass: Moments) -> bool {
    /// Round-off of heights, mm.
    const SEAM: f64 = 1e-6;
    let slab = stack.slabs.iter().rposition(|slab| slab.bottom <= height + SEAM);
    if let Some(i) = slab {
        to[i] = to[i] + mass;
    }
    slab.is_some()
}

/// For each entry the sum of it and all after it, of two lists of which the second may be shorter.
fn sums_from(a: &[Moments], b: &[Moments]) -> Vec<Moments> {
    let mut sum = Moments::default();
    let mut all: Vec<Moments> = (0..a.len())
        .rev()
        .map(|i| {
            sum = sum + a[i] + b.get(i).copied().unwrap_or_default();
            sum
        })
        .collect();
    all.reverse();
    all
}
