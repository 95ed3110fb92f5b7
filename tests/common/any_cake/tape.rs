//! A tape of numbers, and choices read from it.

use std::collections::BTreeMap;

use cakefile::schema::{Angle, Colour, Length, Size};
use geom::units::{MM_PER_INCH, Unit};
use proptest::{collection::vec, prelude::*};

/// Numbers on a tape: enough for every key of a large cake.
const LONGEST: usize = 700;

/// Any tape. Half of them are short: simple cakes fail in ways that are easy to read.
pub fn any_tape() -> impl Strategy<Value = Vec<u32>> {
    prop_oneof![vec(any::<u32>(), 0..120), vec(any::<u32>(), 120..LONGEST)]
}

/// A tape that is being read.
pub struct Tape<'a> {
    numbers: &'a [u32],
    at: usize,
    /// Unit of the cake file's bare numbers.
    pub unit: Unit,
    /// Files that were drawn on the way, by name.
    pub files: BTreeMap<String, Vec<u8>>,
}

/// Names as makers write them: some differ in nothing that a file name keeps.
const NAMES: [&str; 14] = [
    "leaf",
    "Leaf A",
    "leaf-a",
    "LEAF  a",
    "Blütenblatt",
    "листок",
    "葉",
    "🍰",
    "a/b\\c:d",
    "..",
    "CON",
    "\"quoted\" & <tagged>",
    "=1+1",
    "\u{202e}turned\u{202c}",
];

impl<'a> Tape<'a> {
    /// At its beginning.
    pub fn new(numbers: &'a [u32]) -> Self {
        Self { numbers, at: 0, unit: Unit::default(), files: BTreeMap::new() }
    }

    /// The next number; 0 past the end.
    fn next(&mut self) -> u32 {
        let number = self.numbers.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        number
    }

    /// One of `count`, the first if there is no number left.
    pub fn below(&mut self, count: usize) -> usize {
        self.next() as usize % count
    }

    /// From `least` to `most`.
    pub fn count(&mut self, least: usize, most: usize) -> usize {
        least + self.below(most - least + 1)
    }

    /// True once in so many times; false if there is no number left.
    pub fn chance(&mut self, one_in: u32) -> bool {
        let number = self.next();
        number % one_in == one_in - 1 && number > 0
    }

    /// One of a list.
    pub fn pick<'b, T>(&mut self, list: &'b [T]) -> &'b T {
        &list[self.below(list.len())]
    }

    /// Something, once in so many times.
    pub fn maybe<T>(&mut self, one_in: u32, draw: impl FnOnce(&mut Self) -> T) -> Option<T> {
        self.chance(one_in).then(|| draw(self))
    }

    /// So many of something.
    pub fn list<T>(&mut self, least: usize, most: usize, mut draw: impl FnMut(&mut Self) -> T) -> Vec<T> {
        (0..self.count(least, most)).map(|_| draw(self)).collect()
    }

    /// A number between two, often a round one: what coincides with something else is what fails.
    pub fn number(&mut self, lo: f64, hi: f64) -> f64 {
        let form = self.next();
        let x = lo + (hi - lo) * f64::from(self.next()) / f64::from(u32::MAX);
        let round = |to: f64| ((x / to).round() * to).clamp(lo, hi);
        match form % 4 {
            0 => round(5.0),
            1 => round(1.0),
            2 => round(0.1),
            _ => x,
        }
    }

    /// A number of millimetres as text or as a bare number in the file's unit.
    fn written(&mut self, mm: f64) -> Length {
        match self.next() % 4 {
            1 => Length::from(format!("{mm} mm").as_str()),
            2 => Length::from(format!("{} in", mm / MM_PER_INCH).as_str()),
            3 => Length::from(format!("{} cm", mm / 10.0).as_str()),
            _ => Length::from(mm / self.unit.in_mm()),
        }
    }

    /// The length `mm`, written in some way.
    pub fn length_of(&mut self, mm: f64) -> Length {
        self.written(mm)
    }

    /// The size `mm`, written in some way.
    pub fn size_of(&mut self, mm: f64) -> Size {
        Size(self.written(mm).0)
    }

    /// A length between two, mm.
    pub fn length(&mut self, lo: f64, hi: f64) -> Length {
        let mm = self.number(lo, hi);
        self.written(mm)
    }

    /// A size between two, mm.
    pub fn size(&mut self, lo: f64, hi: f64) -> Size {
        let mm = self.number(lo, hi);
        self.size_of(mm)
    }

    /// A point in space within `reach` of the axis and up to `height`, mm.
    pub fn place(&mut self, reach: f64, height: f64) -> [f64; 3] {
        [self.number(-reach, reach), self.number(-reach, reach), self.number(0.0, height)]
    }

    /// A point as it is written.
    pub fn point(&mut self, p: [f64; 3]) -> [Length; 3] {
        p.map(|along| self.written(along))
    }

    /// An angle; often a quarter, an eighth or a twelfth of a turn.
    pub fn angle(&mut self) -> Angle {
        let degrees = match self.next() % 4 {
            0 => 90.0 * self.below(4) as f64,
            1 => 45.0 * self.below(8) as f64 - 180.0,
            2 => 30.0 * self.below(12) as f64,
            _ => self.number(-360.0, 360.0),
        };
        if self.chance(3) { Angle::from(format!("{degrees} deg").as_str()) } else { Angle::from(degrees) }
    }

    /// A share between two.
    pub fn share(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * f64::from(self.next()) / f64::from(u32::MAX)
    }

    /// A colour.
    pub fn colour(&mut self) -> Colour {
        Colour(format!("#{:06x}", self.next() % 0x100_0000))
    }

    /// A name.
    pub fn name(&mut self) -> String {
        let name = *self.pick(&NAMES);
        // Longer than a file name may be.
        if self.chance(12) { format!("{name} {}", "long ".repeat(60)) } else { name.to_owned() }
    }

    /// Names of which no two are equal, though some may be alike.
    pub fn other_name(&mut self, taken: &[String]) -> String {
        let name = self.name();
        if taken.contains(&name) { format!("{name} {}", taken.len()) } else { name }
    }

    /// Keeps a file, and gives its name.
    pub fn file(&mut self, ending: &str, bytes: Vec<u8>) -> String {
        let name = format!("file-{}.{ending}", self.files.len());
        self.files.insert(name.clone(), bytes);
        name
    }
}
