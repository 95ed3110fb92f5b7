//! Depths on a lattice, worked out only where the surface may be.
//!
//! Depth changes by no more than one walks. So a point whose depth is further from the level than another point
//! is away lies on the same side of it as that one: most of the lattice needs no search at all.

use glam::DVec3;
use rayon::prelude::*;

use super::Depths;
use crate::{Cancel, Cancelled};

/// Corners along the side of a block.
pub(super) const SIDE: usize = 8;

/// Corners in a block.
pub(super) const CORNERS: usize = SIDE * SIDE * SIDE;

/// No triangle: the depth here is only known to lie on the right side of every level.
pub(super) const NOT_EXACT: u32 = u32::MAX;

/// A corner of the lattice by its number along each axis. Corners 0 along z lie below the board, where nothing
/// is inside; corners 1 lie on it.
pub(super) type Corner = [usize; 3];

/// Depths at the corners of a block.
#[derive(Debug, Clone)]
pub(super) struct Samples {
    pub depth: [f64; CORNERS],
    /// The triangle that lies nearest.
    pub triangle: [u32; CORNERS],
}

/// The lattice round a solid.
pub(super) struct Lattice<'a> {
    pub depths: &'a Depths,
    pub step: f64,
    /// Blocks along each axis.
    pub blocks: [usize; 3],
    /// Blocks near the surface, in the order of their numbers.
    pub near: Vec<(usize, Samples)>,
    origin: DVec3,
    /// Where each block stands in `near`, or [`NOT_EXACT`].
    places: Vec<u32>,
    /// Depth in the middle of each block.
    middles: Vec<f64>,
}

impl<'a> Lattice<'a> {
    pub fn new(depths: &'a Depths, levels: &[f64], step: f64, cancel: &Cancel) -> Result<Self, Cancelled> {
        let (lo, hi) = depths.bounds;
        let outside = levels.iter().fold(0.0f64, |most, level| most.max(-level));
        // Room for a cell beyond the last corner on every side, and for levels that fall between.
        let margin = DVec3::splat(outside + 2.5 * step).with_z(step);
        let origin = lo.with_z(0.0) - margin;
        let size = hi + DVec3::splat(outside + 2.5 * step) - origin;
        let blocks = (size / step).to_array().map(|corners| (corners.ceil() as usize + 1).div_ceil(SIDE));
        let mut lattice =
            Self { depths, step, blocks, near: Vec::new(), origin, places: Vec::new(), middles: Vec::new() };
        let all = blocks[0] * blocks[1] * blocks[2];
        let middle = |block| {
            cancel.check()?;
            Ok(depths.at(lattice.middle(block)))
        };
        lattice.middles =
            (0..all).into_par_iter().with_min_len(64).map(middle).collect::<Result<_, Cancelled>>()?;
        // From the middle of a block to its furthest corner, and a cell on.
        let reach = (3.5 + 1.0) * 3f64.sqrt() * step;
        let chosen: Vec<usize> = (0..all)
            .filter(|block| levels.iter().any(|l| (lattice.middles[*block] - l).abs() <= reach))
            .collect();
        lattice.near = chosen
            .into_par_iter()
            .with_min_len(4)
            .map(|block| {
                cancel.check()?;
                Ok((block, lattice.sampled(block, levels)))
            })
            .collect::<Result<_, Cancelled>>()?;
        lattice.places = vec![NOT_EXACT; all];
        for (place, (block, _)) in (0u32..).zip(&lattice.near) {
            lattice.places[*block] = place;
        }
        Ok(lattice)
    }

    /// Where a corner lies, mm.
    pub fn position(&self, [i, j, k]: Corner) -> DVec3 {
        self.origin + DVec3::new(i as f64, j as f64, k as f64) * self.step
    }

    /// The first corner of a block.
    pub fn first(&self, block: usize) -> Corner {
        let [x, y, _] = self.blocks;
        [block % x, block / x % y, block / (x * y)].map(|along| along * SIDE)
    }

    /// The block of a corner, and the corner's number in it.
    pub fn block_of(&self, [i, j, k]: Corner) -> (usize, usize) {
        let [x, y, _] = self.blocks;
        ((k / SIDE * y + j / SIDE) * x + i / SIDE, inside([i % SIDE, j % SIDE, k % SIDE]))
    }

    /// Where a block stands in `near`.
    pub fn place(&self, block: usize) -> Option<usize> {
        let place = self.places[block];
        (place != NOT_EXACT).then_some(place as usize)
    }

    /// Depth at a corner, and the nearest triangle if the depth is exact.
    pub fn at(&self, corner: Corner) -> (f64, u32) {
        let (block, inside) = self.block_of(corner);
        match self.place(block) {
            Some(place) => {
                let samples = &self.near[place].1;
                (samples.depth[inside], samples.triangle[inside])
            }
            None if corner[2] == 0 => (f64::NEG_INFINITY, NOT_EXACT),
            None => (self.middles[block], NOT_EXACT),
        }
    }

    /// The middle of a block, no lower than the board.
    fn middle(&self, block: usize) -> DVec3 {
        let middle = self.position(self.first(block)) + DVec3::splat(3.5 * self.step);
        middle.with_z(middle.z.max(0.0))
    }

    fn sampled(&self, block: usize, levels: &[f64]) -> Samples {
        let mut samples = Samples { depth: [f64::NEG_INFINITY; CORNERS], triangle: [NOT_EXACT; CORNERS] };
        let mut sampler = Sampler { lattice: self, levels, first: self.first(block), near: None };
        for four in 0..8 {
            let four = bits(four).map(|bit| bit * 4);
            // One of the middle corners: no other is more than two steps away along any axis.
            let (depth, _) = sampler.exact(four.map(|along| along + 1), &mut samples);
            if sampler.is_clear(depth, 2.0 * 3f64.sqrt()) {
                for corner in 0..64 {
                    let corner = [corner % 4, corner / 4 % 4, corner / 16];
                    samples.imply([0, 1, 2].map(|axis| four[axis] + corner[axis]), depth);
                }
                continue;
            }
            for two in 0..8 {
                let two = bits(two);
                let two = [0, 1, 2].map(|axis| four[axis] + 2 * two[axis]);
                let (depth, _) = sampler.exact(two, &mut samples);
                for corner in 1..8usize {
                    let away = f64::from(corner.count_ones()).sqrt();
                    let corner = bits(corner);
                    let corner = [0, 1, 2].map(|axis| two[axis] + corner[axis]);
                    if sampler.is_clear(depth, away) {
                        samples.imply(corner, depth);
                    } else {
                        sampler.exact(corner, &mut samples);
                    }
                }
            }
        }
        if self.first(block)[2] == 0 {
            samples.depth[..SIDE * SIDE].fill(f64::NEG_INFINITY);
            samples.triangle[..SIDE * SIDE].fill(NOT_EXACT);
        }
        samples
    }
}

impl Samples {
    /// Takes over the depth of another corner, unless this one's own is known.
    fn imply(&mut self, corner: [usize; 3], depth: f64) {
        let place = inside(corner);
        if self.triangle[place] == NOT_EXACT {
            self.depth[place] = depth;
        }
    }
}

/// Works out corners of one block one after the other, each near the last.
struct Sampler<'a> {
    lattice: &'a Lattice<'a>,
    levels: &'a [f64],
    first: Corner,
    near: Option<u32>,
}

impl Sampler<'_> {
    fn exact(&mut self, corner: [usize; 3], samples: &mut Samples) -> (f64, u32) {
        let place = inside(corner);
        if samples.triangle[place] == NOT_EXACT {
            let p = self.lattice.position([0, 1, 2].map(|axis| self.first[axis] + corner[axis]));
            // Below the board the depth on it stands in; it is put out afterwards.
            let (depth, hit) = self.lattice.depths.depth(p.with_z(p.z.max(0.0)), self.near);
            samples.depth[place] = depth;
            samples.triangle[place] = hit.triangle;
            self.near = Some(hit.triangle);
        }
        (samples.depth[place], samples.triangle[place])
    }

    /// Whether all within `steps` lies on the same side of every level, and not close to it either: corners of
    /// cells at the surface are better exact.
    fn is_clear(&self, depth: f64, steps: f64) -> bool {
        let reach = (steps + 0.5) * self.lattice.step;
        self.levels.iter().all(|level| (depth - level).abs() > reach)
    }
}

/// The number of a corner in its block.
pub(super) fn inside([i, j, k]: [usize; 3]) -> usize {
    (k * SIDE + j) * SIDE + i
}

/// The lowest three bits.
pub(super) fn bits(number: usize) -> [usize; 3] {
    [number & 1, number >> 1 & 1, number >> 2 & 1]
}
