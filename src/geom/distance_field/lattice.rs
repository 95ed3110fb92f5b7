//! Depths on a lattice, worked out only near the level.
//!
//! Depth changes by no more than the distance between two points (its gradient has length 1). So a point whose depth
//! differs from the level by more than its distance to another point lies on the same side of the level as that one:
//! most of the lattice needs no search at all.

use glam::DVec3;
use rayon::prelude::*;

use super::DistanceField;
use crate::{Cancel, Cancelled};

/// Lattice points along the side of a block.
pub(super) const BLOCK_SIDE: usize = 8;

/// Lattice points in a block.
pub(super) const BLOCK_POINTS: usize = BLOCK_SIDE * BLOCK_SIDE * BLOCK_SIDE;

/// No triangle: the depth here is only known to lie on the right side of every level.
pub(super) const NOT_EXACT: u32 = u32::MAX;

/// A lattice point by its number along each axis. Points 0 along z lie below the board, where nothing is inside;
/// points 1 lie on it. A cell is named by its lowest point.
pub(super) type LatticePoint = [usize; 3];

/// How a block lies to the box that the lattice is clipped to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum ClipSide {
    Within,
    Across,
    Outside,
}

/// Depths at the points of a block.
#[derive(Debug, Clone)]
pub(super) struct BlockSamples {
    pub depth: [f64; BLOCK_POINTS],
    /// The triangle that lies nearest, or [`NOT_EXACT`].
    pub triangle: [u32; BLOCK_POINTS],
}

/// The lattice round a solid.
pub(super) struct Lattice<'a> {
    pub field: &'a DistanceField,
    pub step: f64,
    /// Blocks along each axis.
    pub blocks: [usize; 3],
    /// Blocks near the level, in the order of their numbers.
    pub near: Vec<(usize, BlockSamples)>,
    origin: DVec3,
    /// The index of each block in `near`, or [`NOT_EXACT`].
    near_index: Vec<u32>,
    /// Depth in the middle of each block.
    middles: Vec<f64>,
    /// The first and the last point that may be inside.
    clip: [LatticePoint; 2],
}

impl<'a> Lattice<'a> {
    /// The lattice of `step` mm for `levels`; outside the box `clip`, if given, nothing is inside. It moves no point of
    /// the lattice.
    pub fn new(
        field: &'a DistanceField,
        levels: &[f64],
        step: f64,
        clip: Option<(DVec3, DVec3)>,
        cancel: &Cancel,
    ) -> Result<Self, Cancelled> {
        let (lo, hi) = field.bounds;
        let outside = levels.iter().fold(0.0f64, |most, level| most.max(-level));
        // A cell beyond the last point on every side, and room for levels that fall between.
        let margin = DVec3::splat(outside + 2.5 * step).with_z(step);
        let origin = lo.with_z(0.0) - margin;
        let size = hi + DVec3::splat(outside + 2.5 * step) - origin;
        let blocks = (size / step).to_array().map(|points| (points.ceil() as usize + 1).div_ceil(BLOCK_SIDE));
        let last = blocks.map(|along| along * BLOCK_SIDE - 1);
        let clip = clip.map_or([[0; 3], last], |(lo, hi)| {
            let (lo, hi) = (((lo - origin) / step).floor(), ((hi - origin) / step).ceil());
            let within = |along: DVec3| [0, 1, 2].map(|i| (along[i].max(0.0) as usize).min(last[i]));
            [within(lo), within(hi)]
        });
        let (near, near_index, middles) = (Vec::new(), Vec::new(), Vec::new());
        let mut lattice = Self { field, step, blocks, near, origin, near_index, middles, clip };
        let all = blocks[0] * blocks[1] * blocks[2];
        // A row of blocks at a time, each search starting at the triangle found last.
        let row = |row: usize| {
            let mut near = None;
            let middle = |i| {
                let block = row * blocks[0] + i;
                if lattice.side(block) == ClipSide::Outside {
                    return f64::NEG_INFINITY;
                }
                let (depth, hit) = field.depth(lattice.middle(block), near);
                near = Some(hit.triangle);
                depth
            };
            cancel.check()?;
            Ok((0..blocks[0]).map(middle).collect::<Vec<f64>>())
        };
        let rows: Vec<Vec<f64>> =
            (0..blocks[1] * blocks[2]).into_par_iter().map(row).collect::<Result<_, Cancelled>>()?;
        lattice.middles = rows.concat();
        // From the middle of a block to its furthest point, and a cell on.
        let reach = (3.5 + 1.0) * 3f64.sqrt() * step;
        let chosen: Vec<usize> = (0..all)
            .filter(|block| {
                let passes = levels.iter().any(|l| (lattice.middles[*block] - l).abs() <= reach);
                // Where the clip box ends, what is inside ends too.
                passes || lattice.side(*block) == ClipSide::Across || lattice.jumps(*block, levels)
            })
            .collect();
        lattice.near_index = vec![NOT_EXACT; all];
        let mut chosen = chosen;
        while !chosen.is_empty() {
            let more: Vec<(usize, BlockSamples)> = chosen
                .into_par_iter()
                .with_min_len(4)
                .map(|block| {
                    cancel.check()?;
                    Ok((block, lattice.sampled(block, levels)))
                })
                .collect::<Result<_, Cancelled>>()?;
            for (index, (block, _)) in (lattice.near.len() as u32..).zip(&more) {
                lattice.near_index[*block] = index;
            }
            let begin = lattice.near.len();
            lattice.near.extend(more);
            chosen = lattice.contradicted(begin, levels);
        }
        // In the order of their numbers, so that the surface does not tell in how many steps they were found.
        lattice.near.sort_by_key(|(block, _)| *block);
        for (index, (block, _)) in (0u32..).zip(&lattice.near) {
            lattice.near_index[*block] = index;
        }
        Ok(lattice)
    }

    /// Blocks taken for clear of a level although a point beside them, in one of the blocks in `near` from `begin` on,
    /// lies on its other side. Depths jump like that where the surface crosses itself or where parts of it nearly
    /// touch; no cell with a crossed edge may lie in a block without cells.
    fn contradicted(&self, begin: usize, levels: &[f64]) -> Vec<usize> {
        let differ = |a: f64, b: f64| levels.iter().any(|level| (a >= *level) != (b >= *level));
        let mut found: Vec<usize> = self.near[begin..]
            .par_iter()
            .with_min_len(16)
            .flat_map_iter(|(block, samples)| {
                let [x, y, z] = self.block_at(*block);
                (0..27usize).filter_map(move |number| {
                    let to = [number % 3, number / 3 % 3, number / 9];
                    let beside = [x + to[0], y + to[1], z + to[2]];
                    // Both are one too large, so that nothing falls below zero.
                    if (0..3).any(|axis| beside[axis] == 0 || beside[axis] > self.blocks[axis]) {
                        return None;
                    }
                    let [i, j, k] = beside.map(|along| along - 1);
                    let other = (k * self.blocks[1] + j) * self.blocks[0] + i;
                    if self.near_index(other).is_some() {
                        return None;
                    }
                    let first = self.first(*block);
                    let side = |to: usize| match to {
                        0 => 0..1,
                        1 => 0..BLOCK_SIDE,
                        _ => BLOCK_SIDE - 1..BLOCK_SIDE,
                    };
                    let contradicts = side(to[2]).any(|k| {
                        side(to[1]).any(|j| {
                            side(to[0]).any(|i| {
                                let local = [i, j, k];
                                let beyond = [0, 1, 2].map(|axis| first[axis] + local[axis] + to[axis] - 1);
                                differ(samples.depth[number_in_block(local)], self.at(beyond).0)
                            })
                        })
                    });
                    contradicts.then_some(other)
                })
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Whether a block lies on another side of a level than one beside it, or inside where the lattice ends, to go by
    /// their middles: depths jump there.
    fn jumps(&self, block: usize, levels: &[f64]) -> bool {
        if self.side(block) == ClipSide::Outside {
            return false;
        }
        let at = self.block_at(block);
        let middle = self.middles[block];
        levels.iter().any(|level| {
            let inside = middle >= *level;
            let differs = |number: usize| {
                let beside = [at[0] + number % 3, at[1] + number / 3 % 3, at[2] + number / 9];
                // Both are one too large, so that nothing falls below zero. Under the lowest block is the foot.
                if beside[2] == 0 {
                    return false;
                }
                if (0..3).any(|axis| beside[axis] == 0 || beside[axis] > self.blocks[axis]) {
                    return inside;
                }
                let [i, j, k] = beside.map(|along| along - 1);
                let other = (k * self.blocks[1] + j) * self.blocks[0] + i;
                self.side(other) != ClipSide::Outside && (self.middles[other] >= *level) != inside
            };
            (0..27).any(differs)
        })
    }

    /// Where a block lies among the others.
    fn block_at(&self, block: usize) -> [usize; 3] {
        let [x, y, _] = self.blocks;
        [block % x, block / x % y, block / (x * y)]
    }

    /// Position of a point, mm.
    pub fn position(&self, [i, j, k]: LatticePoint) -> DVec3 {
        self.origin + DVec3::new(i as f64, j as f64, k as f64) * self.step
    }

    /// The first point of a block.
    pub fn first(&self, block: usize) -> LatticePoint {
        self.block_at(block).map(|along| along * BLOCK_SIDE)
    }

    /// The block of a point, and the point's number in it.
    pub fn block_of(&self, [i, j, k]: LatticePoint) -> (usize, usize) {
        let [x, y, _] = self.blocks;
        (
            (k / BLOCK_SIDE * y + j / BLOCK_SIDE) * x + i / BLOCK_SIDE,
            number_in_block([i % BLOCK_SIDE, j % BLOCK_SIDE, k % BLOCK_SIDE]),
        )
    }

    /// The index of a block in `near`.
    pub fn near_index(&self, block: usize) -> Option<usize> {
        let index = self.near_index[block];
        (index != NOT_EXACT).then_some(index as usize)
    }

    /// Depth at a point, and the nearest triangle if the depth is exact.
    pub fn at(&self, point: LatticePoint) -> (f64, u32) {
        let (block, number) = self.block_of(point);
        match self.near_index(block) {
            Some(index) => {
                let samples = &self.near[index].1;
                (samples.depth[number], samples.triangle[number])
            }
            None if self.is_clipped(point) => (f64::NEG_INFINITY, NOT_EXACT),
            None => (self.middles[block], NOT_EXACT),
        }
    }

    /// Whether nothing is inside at a point, whatever its depth: below the board, outside the clip box, and where the
    /// lattice ends, which is further from the solid than any level.
    fn is_clipped(&self, point: LatticePoint) -> bool {
        let [lo, hi] = self.clip;
        let ends = |axis: usize| point[axis] == 0 || point[axis] + 1 == self.blocks[axis] * BLOCK_SIDE;
        (0..3).any(|axis| ends(axis) || point[axis] < lo[axis] || point[axis] > hi[axis])
    }

    /// How a block lies to the clip box.
    fn side(&self, block: usize) -> ClipSide {
        let first = self.first(block);
        let [lo, hi] = self.clip;
        let last = self.blocks.map(|along| along * BLOCK_SIDE - 1);
        // Cells reach a point on.
        if (0..3).any(|axis| first[axis] + BLOCK_SIDE < lo[axis] || first[axis] > hi[axis]) {
            return ClipSide::Outside;
        }
        let within = |axis: usize| {
            let above = lo[axis] == 0 || first[axis] >= lo[axis];
            above && (hi[axis] == last[axis] || first[axis] + BLOCK_SIDE <= hi[axis])
        };
        if (0..3).all(within) { ClipSide::Within } else { ClipSide::Across }
    }

    /// The middle of a block, no lower than the board.
    fn middle(&self, block: usize) -> DVec3 {
        let middle = self.position(self.first(block)) + DVec3::splat(3.5 * self.step);
        middle.with_z(middle.z.max(0.0))
    }

    fn sampled(&self, block: usize, levels: &[f64]) -> BlockSamples {
        let mut samples =
            BlockSamples { depth: [f64::NEG_INFINITY; BLOCK_POINTS], triangle: [NOT_EXACT; BLOCK_POINTS] };
        let mut sampler = Sampler { lattice: self, levels, first: self.first(block), near: None };
        for four in 0..8 {
            let four = bits(four).map(|bit| bit * 4);
            // One of the middle points: no other is more than two steps away along any axis.
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
        let first = self.first(block);
        let at_end =
            (0..3).any(|axis| first[axis] == 0 || first[axis] + BLOCK_SIDE == self.blocks[axis] * BLOCK_SIDE);
        if at_end || self.side(block) != ClipSide::Within {
            for number in 0..BLOCK_POINTS {
                let along =
                    [number % BLOCK_SIDE, number / BLOCK_SIDE % BLOCK_SIDE, number / BLOCK_SIDE.pow(2)];
                if self.is_clipped([0, 1, 2].map(|axis| first[axis] + along[axis])) {
                    samples.depth[number] = f64::NEG_INFINITY;
                    samples.triangle[number] = NOT_EXACT;
                }
            }
        }
        samples
    }
}

impl BlockSamples {
    /// Takes over the depth of another point, unless this one's own is known.
    fn imply(&mut self, point: [usize; 3], depth: f64) {
        let number = number_in_block(point);
        if self.triangle[number] == NOT_EXACT {
            self.depth[number] = depth;
        }
    }
}

/// Works out points of one block one after the other, each search starting at the triangle found last.
struct Sampler<'a> {
    lattice: &'a Lattice<'a>,
    levels: &'a [f64],
    first: LatticePoint,
    near: Option<u32>,
}

impl Sampler<'_> {
    fn exact(&mut self, point: [usize; 3], samples: &mut BlockSamples) -> (f64, u32) {
        let number = number_in_block(point);
        if samples.triangle[number] == NOT_EXACT {
            let p = self.lattice.position([0, 1, 2].map(|axis| self.first[axis] + point[axis]));
            // Below the board the depth on it is used; it is overwritten afterwards.
            let (depth, hit) = self.lattice.field.depth(p.with_z(p.z.max(0.0)), self.near);
            samples.depth[number] = depth;
            samples.triangle[number] = hit.triangle;
            self.near = Some(hit.triangle);
        }
        (samples.depth[number], samples.triangle[number])
    }

    /// Whether all within `steps` lies on the same side of every level, and not close to it either: points of cells at
    /// the level are to be exact.
    fn is_clear(&self, depth: f64, steps: f64) -> bool {
        let reach = (steps + 0.5) * self.lattice.step;
        self.levels.iter().all(|level| (depth - level).abs() > reach)
    }
}

/// The number of a point in its block.
pub(super) fn number_in_block([i, j, k]: [usize; 3]) -> usize {
    (k * BLOCK_SIDE + j) * BLOCK_SIDE + i
}

/// The lowest three bits.
pub(super) fn bits(number: usize) -> [usize; 3] {
    [number & 1, number >> 1 & 1, number >> 2 & 1]
}
