//! What the carved shape needs at each height: how wide a pan, where a board fits, how much cake.
//!
//! The height is cut into cells. Of each cell the shadow is kept as the straight-sided outline around it, one
//! side every five degrees: a little too large, never too small. A shape whose shadows are all discs about the
//! axis is kept as radii, exactly.

use std::f64::consts::TAU;

use glam::{DVec2, dvec2};
use rayon::prelude::*;

use super::{
    problem::narrowest_turn,
    uncut::{Reach, Uncut},
};
use geom::real;
use geom::{Cancel, Cancelled, Region, Tolerance};
use plan::{carve::Body, design::Footprint};

/// Directions in which shadows are looked at.
pub const DIRECTIONS: usize = 72;

/// What the shape needs, cell by cell from the board up.
#[derive(Debug, Clone)]
pub struct Needs {
    /// Height of the shape, mm.
    pub height: f64,
    /// Heights between cells, from 0 to the top, mm.
    bounds: Vec<f64>,
    shadows: Shadows,
    /// Outlines at these heights.
    outlines: Vec<Region>,
    /// Volume below these heights, mm³.
    below: Vec<f64>,
    /// Heights at which the outline jumps.
    ledges: Vec<f64>,
}

#[derive(Debug, Clone)]
enum Shadows {
    /// Radii of discs about the axis.
    Discs(Vec<f64>),
    /// How far each reaches in each direction.
    Any(Vec<[f64; DIRECTIONS]>),
}

/// What must lie inside a pan, seen from above.
#[derive(Debug, Clone, PartialEq)]
pub enum Shadow {
    /// A disc about the axis.
    Disc(f64),
    /// How far it reaches in each direction.
    Any(Box<[f64; DIRECTIONS]>),
}

/// The direction of side `i`.
pub fn direction(i: usize) -> DVec2 {
    real::unit_vector(TAU * i as f64 / DIRECTIONS as f64)
}

/// Heights this near to each other are one, mm: a hundredth, to which ledges are found.
const SEAM: f64 = 0.02;

impl Needs {
    /// Looks at `body` in cells of about `cell` mm, rounds within `tolerance`. What is cut out of the body stays in.
    ///
    /// # Errors
    /// [`Cancelled`] once `cancel` asks to stop.
    pub fn new(body: &Body, cell: f64, tolerance: Tolerance, cancel: &Cancel) -> Result<Self, Cancelled> {
        let shape = Uncut::new(body, tolerance, cancel)?;
        let height = shape.height;
        cancel.check()?;
        let count = (height / cell - 1e-9).ceil().max(1.0) as usize;
        let even: Vec<f64> = (0..=count).map(|i| (i as f64 * cell).min(height)).collect();
        let outlines_of = |heights: &[f64]| -> Result<Vec<Region>, Cancelled> {
            let outline = |z: &f64| cancel.check().map(|()| shape.outline_at(*z));
            heights.par_iter().map(outline).collect()
        };
        let mut outlines: Vec<(f64, Region)> = even.iter().copied().zip(outlines_of(&even)?).collect();
        let ledges = ledges(&shape, &outlines, cancel)?;
        for (ledge, outline) in ledges.iter().zip(outlines_of(&ledges)?) {
            outlines.retain(|(z, _)| (z - ledge).abs() > SEAM || *z == 0.0 || *z == height);
            outlines.push((*ledge, outline));
        }
        outlines.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (bounds, outlines): (Vec<f64>, Vec<Region>) = outlines.into_iter().unzip();
        let cells: Vec<(f64, f64)> = bounds.windows(2).map(|pair| (pair[0], pair[1])).collect();
        let looked: Vec<(Reach, f64)> = cells
            .into_par_iter()
            .map(|(low, high)| {
                cancel.check()?;
                // Just inside, so that a ledge belongs to one cell only.
                let inside = ((high - low) * 0.25).min(SEAM / 2.0);
                let reach = shape.reach_between(low + inside, high - inside);
                Ok((reach, shape.volume_between(low, high)))
            })
            .collect::<Result<_, Cancelled>>()?;
        // A disc of that radius is as wide in every direction, but for the straightening of its edge.
        let slack = 2.0 * tolerance.chord_mm() + 1e-6;
        let round = looked.iter().all(|(reach, _)| reach.each.iter().all(|r| *r >= reach.furthest - slack));
        let shadows = if round {
            Shadows::Discs(looked.iter().map(|(reach, _)| reach.furthest).collect())
        } else {
            Shadows::Any(looked.iter().map(|(reach, _)| reach.each).collect())
        };
        let mut below = vec![0.0];
        for (_, volume) in &looked {
            below.push(below[below.len() - 1] + volume);
        }
        Ok(Self { height, bounds, shadows, outlines, below, ledges })
    }

    /// Discs about the axis, one a cell, as of a turned shape; no ledges are looked for.
    pub fn discs(radii: Vec<f64>, cell: f64) -> Self {
        let bounds: Vec<f64> = (0..=radii.len()).map(|i| i as f64 * cell).collect();
        let mut below = vec![0.0];
        for r in &radii {
            below.push(below[below.len() - 1] + std::f64::consts::PI * r * r * cell);
        }
        let ends = (0..=radii.len()).map(|i| {
            let near = [i.checked_sub(1), Some(i)].into_iter().flatten().filter_map(|i| radii.get(i));
            near.copied().fold(f64::INFINITY, f64::min)
        });
        let disc = |r: f64| Region::disc(DVec2::ZERO, r.max(1e-3), Tolerance::PREVIEW);
        let outlines = ends.map(disc).collect();
        let height = radii.len() as f64 * cell;
        Self { height, bounds, shadows: Shadows::Discs(radii), outlines, below, ledges: Vec::new() }
    }

    /// Whether every shadow is a disc about the axis.
    pub fn is_turned(&self) -> bool {
        matches!(self.shadows, Shadows::Discs(_))
    }

    /// Degrees by which the narrowest box round the whole shape is turned; `None` for discs about the axis.
    pub fn turn_of_narrowest(&self) -> Option<f64> {
        match self.shadow((0, self.count()))? {
            Shadow::Disc(_) => None,
            Shadow::Any(reach) => Some(narrowest_turn(&reach)),
        }
    }

    /// Heights at which the outline jumps: good places for a seam.
    pub fn ledges(&self) -> &[f64] {
        &self.ledges
    }

    /// The cells that lie between two heights, at least in part.
    pub fn cells(&self, low: f64, high: f64) -> (usize, usize) {
        let count = self.count();
        let from = self.bounds[1..].partition_point(|top| *top <= low + SEAM).min(count);
        let to = self.bounds[..count].partition_point(|bottom| *bottom < high - SEAM);
        (from, to.max(from))
    }

    /// Height of the bottom and the top of a cell, mm.
    pub fn heights(&self, cell: usize) -> (f64, f64) {
        (self.bounds[cell], self.bounds[cell + 1])
    }

    /// What must lie inside a pan whose slab holds these cells; `None` if there is nothing.
    pub fn shadow(&self, (from, to): (usize, usize)) -> Option<Shadow> {
        if from >= to {
            return None;
        }
        Some(match &self.shadows {
            Shadows::Discs(radii) => Shadow::Disc(radii[from..to].iter().copied().fold(0.0, f64::max)),
            Shadows::Any(reach) => {
                let mut all = reach[from];
                for more in &reach[from + 1..to] {
                    all.iter_mut().zip(more).for_each(|(a, b)| *a = a.max(*b));
                }
                Shadow::Any(Box::new(all))
            }
        })
    }

    /// How far the shape between two heights reaches beyond what carries it, mm, and as a share of half its width there:
    /// beyond `board`, or else beyond what is carved of the slab `seam` mm below.
    pub fn overhang(&self, (low, high): (f64, f64), board: Option<&Footprint>, seam: f64) -> (f64, f64) {
        let (from, to) = self.cells(low, high);
        let Some(shadow) = self.shadow((from, to)) else { return (0.0, 0.0) };
        let low = low - seam;
        let below = self.cells(low - 2.0 * SEAM, low).0.min(from);
        let (over, half) = match (&self.shadows, shadow) {
            (Shadows::Discs(radii), Shadow::Disc(r)) => {
                let least = radii[below..=from].iter().copied().fold(f64::INFINITY, f64::min);
                let carried = board.map_or(least, |board| board.depth(DVec2::ZERO));
                (r - carried, r)
            }
            (Shadows::Any(reaches), Shadow::Any(reach)) => {
                let carried = |i: usize| match board {
                    Some(board) => board.support(direction(i)),
                    None => reaches[below..=from].iter().map(|each| each[i]).fold(f64::INFINITY, f64::min),
                };
                let over = (0..DIRECTIONS).map(|i| reach[i] - carried(i)).fold(0.0, f64::max);
                let across = |i: usize| reach[i] + reach[(i + DIRECTIONS / 2) % DIRECTIONS];
                (over, (0..DIRECTIONS / 2).map(across).fold(f64::INFINITY, f64::min) / 2.0)
            }
            _ => (0.0, 1.0),
        };
        (over.max(0.0), over.max(0.0) / half.max(1e-9))
    }

    /// How far the shape reaches from the axis in one cell, mm.
    pub fn reach(&self, cell: usize) -> f64 {
        match &self.shadows {
            Shadows::Discs(radii) => radii[cell],
            Shadows::Any(reach) => corners(&reach[cell]).iter().map(|p| p.length()).fold(0.0, f64::max),
        }
    }

    /// Volume below a height, mm³.
    pub fn volume_below(&self, z: f64) -> f64 {
        let last = self.count();
        let i = self.bounds[1..].partition_point(|top| *top <= z).min(last - 1);
        let (low, high) = self.heights(i);
        let share = ((z - low) / (high - low)).clamp(0.0, 1.0);
        self.below[i] + (self.below[i + 1] - self.below[i]) * share
    }

    /// Volume between two heights, mm³.
    pub fn volume_between(&self, low: f64, high: f64) -> f64 {
        (self.volume_below(high) - self.volume_below(low)).max(0.0)
    }

    /// Everything, mm³.
    pub fn volume(&self) -> f64 {
        self.below[self.count()]
    }

    /// Mean area of one cell, mm².
    pub fn area(&self, cell: usize) -> f64 {
        let (low, high) = self.heights(cell);
        (self.below[cell + 1] - self.below[cell]) / (high - low).max(1e-9)
    }

    /// How many cells there are.
    pub fn count(&self) -> usize {
        self.bounds.len() - 1
    }

    /// Outlines that a board between two heights must stay inside.
    pub fn outlines(&self, low: f64, high: f64) -> &[Region] {
        let last = self.count();
        let from = self.bounds.partition_point(|z| *z <= low + SEAM).saturating_sub(1);
        let to = self.bounds.partition_point(|z| *z < high - SEAM).min(last);
        &self.outlines[from..=to.max(from)]
    }

    /// Volume of a turned shape's cells that a round of `radius` leaves out, mm³; `None` if it is not turned.
    pub fn outside(&self, (from, to): (usize, usize), radius: f64) -> Option<f64> {
        let Shadows::Discs(radii) = &self.shadows else { return None };
        let beyond = |i: usize| {
            let ((low, high), r) = (self.heights(i), radii[i]);
            std::f64::consts::PI * (r * r - radius * radius).max(0.0) * (high - low)
        };
        Some((from..to).map(beyond).sum())
    }
}

/// Heights between those of `outlines` at which the outline grows or shrinks by a quarter at once.
fn ledges(shape: &Uncut, outlines: &[(f64, Region)], cancel: &Cancel) -> Result<Vec<f64>, Cancelled> {
    /// A smaller jump is no ledge.
    const JUMP: f64 = 0.25;
    let area = |z: f64| shape.outline_at(z).area();
    let areas: Vec<f64> = outlines.iter().map(|(_, outline)| outline.area()).collect();
    let largest = areas.iter().copied().fold(0.0, f64::max);
    // The very top is no ledge: nothing lies above it.
    let steps = outlines.windows(2).zip(areas.windows(2)).rev().skip(1);
    let mut ledges = Vec::new();
    for (pair, areas) in steps.filter(|(_, areas)| (areas[1] - areas[0]).abs() > JUMP * largest) {
        cancel.check()?;
        let (mut low, mut high) = (pair[0].0, pair[1].0);
        let middle = (areas[0] + areas[1]) / 2.0;
        for _ in 0..12 {
            let half = (low + high) / 2.0;
            if (area(half) > middle) == (areas[1] > areas[0]) { high = half } else { low = half }
        }
        let found = (50.0 * (low + high)).round() / 100.0;
        // A board on it must not dip below an underside.
        ledges.push(if areas[1] > areas[0] && area(found) < middle { found + 0.01 } else { found });
    }
    ledges.reverse();
    Ok(ledges)
}

/// Corners of the outline that touches a shadow in every direction.
pub fn corners(reach: &[f64; DIRECTIONS]) -> Vec<DVec2> {
    (0..DIRECTIONS)
        .map(|i| {
            let j = (i + 1) % DIRECTIONS;
            let (u, v) = (direction(i), direction(j));
            let cross = u.perp_dot(v);
            dvec2(reach[i] * v.y - reach[j] * u.y, reach[j] * u.x - reach[i] * v.x) / cross
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn support(region: &Region) -> [f64; DIRECTIONS] {
        let points: Vec<DVec2> = region.contours().iter().flatten().copied().collect();
        std::array::from_fn(|i| points.iter().map(|p| p.dot(direction(i))).fold(f64::MIN, f64::max))
    }

    #[test]
    fn the_corners_hold_the_region() {
        let region = Region::rectangle(dvec2(-30.0, -10.0), dvec2(50.0, 20.0));
        let around = corners(&support(&region));
        let (lo, hi) = around.iter().fold((around[0], around[0]), |(lo, hi), p| (lo.min(*p), hi.max(*p)));
        assert!(lo.distance(dvec2(-30.0, -10.0)) < 1e-9 && hi.distance(dvec2(50.0, 20.0)) < 1e-9);
    }

    #[test]
    fn volumes_of_cells_add_up() {
        let needs = Needs::discs(vec![50.0, 60.0, 70.0], 10.0);
        let part = std::f64::consts::PI * (0.5 * 2500.0 + 3600.0 + 0.2 * 4900.0) * 10.0;
        assert!((needs.volume_between(5.0, 22.0) - part).abs() < 1e-6);
    }
}
