//! Equal `f32` positions → one vertex.

use std::hash::{BuildHasher, RandomState};

use glam::Vec3;
use hashbrown::HashTable;

/// Gives every position a number, equal positions the same one.
pub(super) struct Welder {
    /// Numbers of the positions, found by the positions themselves.
    numbers: HashTable<u32>,
    positions: Vec<Vec3>,
    /// Different in every run, so that no file can be made up of positions that all fall together. It
    /// decides where a number is kept, never which number a position gets.
    seed: u64,
    /// Positions seen lately, with their numbers. Neighbouring triangles tend to follow one another, and
    /// this is small enough to stay near the processor when the table is not.
    lately: Vec<(Vec3, u32)>,
}

/// How many positions are remembered as seen lately; a power of two.
const LATELY: usize = 1 << 11;

impl Welder {
    /// Room for about `expected` different positions.
    pub fn for_about(expected: usize) -> Self {
        Self {
            numbers: HashTable::with_capacity(expected),
            positions: Vec::with_capacity(expected),
            seed: RandomState::new().hash_one(0),
            lately: vec![(Vec3::NAN, u32::MAX); LATELY],
        }
    }

    /// The number of a position, counted in the order of first sight.
    ///
    /// # Panics
    /// When there are more than 2³² different positions.
    pub fn number(&mut self, position: Vec3) -> u32 {
        // Adding zero turns −0.0 into 0.0.
        let position = position + Vec3::ZERO;
        let scattered = scatter(self.seed, position);
        // The table takes its places from the low bits and the highest; these are others.
        let place = (scattered >> 32) as usize % LATELY;
        let (seen, number) = self.lately[place];
        if seen == position {
            return number;
        }
        let number = self.look_up(position, scattered);
        self.lately[place] = (position, number);
        number
    }

    fn look_up(&mut self, position: Vec3, scattered: u64) -> u32 {
        let (positions, seed) = (&mut self.positions, self.seed);
        let entry = self.numbers.entry(
            scattered,
            |&number| same(positions[number as usize], position),
            |&number| scatter(seed, positions[number as usize]),
        );
        let next = u32::try_from(positions.len()).expect("fewer than 2³² positions");
        let number = *entry.or_insert(next).get();
        if number == next {
            positions.push(position);
        }
        number
    }

    /// The positions, by their numbers.
    pub fn into_positions(self) -> Vec<Vec3> {
        self.positions
    }
}

/// Equality of bits, so that even what is not a number equals itself.
fn same(a: Vec3, b: Vec3) -> bool {
    let bits = |p: Vec3| [p.x.to_bits(), p.y.to_bits(), p.z.to_bits()];
    bits(a) == bits(b)
}

/// A number that depends on every bit of the position and looks random.
pub(super) fn scatter(seed: u64, position: Vec3) -> u64 {
    let [x, y, z] = [position.x.to_bits(), position.y.to_bits(), position.z.to_bits()];
    scramble(scramble(seed ^ (u64::from(x) << 32 | u64::from(y))) ^ u64::from(z))
}

/// The finishing mix of the SplitMix64 generator (constants from memory): every bit of the result depends
/// on every bit of `x`.
fn scramble(x: u64) -> u64 {
    let x = x.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_positions_get_one_number_in_the_order_of_first_sight() {
        let mut welder = Welder::for_about(0);
        let (here, there) = (Vec3::new(1.0, -0.0, 3.0), Vec3::new(1.0, 0.5, f32::NAN));
        let numbers = [here, there, here + Vec3::ZERO, there].map(|p| welder.number(p));
        assert_eq!(numbers, [0, 1, 0, 1]);
        // Enough for the table to grow a few times.
        let row: Vec<u32> = (0..5000).map(|x| welder.number(Vec3::X * x as f32 - Vec3::Y)).collect();
        assert_eq!(row, (2..5002).collect::<Vec<_>>());
        assert_eq!(welder.number(Vec3::new(2500.0, -1.0, 0.0)), 2502);
        assert_eq!(welder.into_positions().len(), 5002);
    }
}
