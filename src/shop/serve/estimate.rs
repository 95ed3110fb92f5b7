//! How many a cake serves at each scale, from its carved outlines alone.

use glam::DVec2;
use rayon::prelude::*;

use super::{is_fruit_cake, trial::carved};
use crate::{
    amounts::portions_of,
    arrange::Setup,
    scale::{Grow, ScaleError},
};
use geom::{Cancel, Region, Tolerance, real};
use plan::{Planner, carve::Body, pantry::Pantry};

/// The smallest and the greatest scale that is looked at, in hundredths.
pub(super) const HUNDREDTHS: (u32, u32) = (10, 1000);

/// How many a cake serves at each scale, about.
pub(super) struct Estimate<'a> {
    pantry: &'a Pantry,
    /// The carved outlines at even heights, from the bottom up.
    outlines: Vec<Region>,
    /// Height of the carved shape, and what lies over it, mm.
    height: f64,
    coats: f64,
    grow: Grow,
    is_fruit_cake: bool,
    /// A tier is no higher than this, mm.
    highest: f64,
}

impl<'a> Estimate<'a> {
    pub fn new(planner: &Planner, setup: &'a Setup, grow: Grow, cancel: &Cancel) -> Result<Self, ScaleError> {
        /// Height of a slice, mm.
        const SLICE: f64 = 12.0;
        let target = carved(planner, setup, cancel)?;
        let body: &Body = &target.0;
        let (low, high) = body.heights();
        let count = ((high - low) / SLICE).ceil().max(1.0) as u32;
        let middle = |i: u32| low + (high - low) * (f64::from(i) + 0.5) / f64::from(count);
        let outlines = (0..count).into_par_iter().map(|i| body.outline_at(middle(i), Tolerance::PREVIEW));
        Ok(Self {
            pantry: &setup.pantry,
            outlines: outlines.collect(),
            height: high - low,
            coats: setup.coverings,
            grow,
            is_fruit_cake: is_fruit_cake(setup),
            highest: setup.rules.board_every,
        })
    }

    /// About how many it serves at this scale.
    pub fn served(&self, hundredths: u32) -> u32 {
        let factor = f64::from(hundredths) / 100.0;
        let height = match self.grow {
            Grow::Evenly => factor * (self.height + self.coats) - self.coats,
            Grow::Sideways => self.height,
        };
        if height <= 0.0 {
            return 0;
        }
        let more = (factor - 1.0) * self.coats;
        let scaled = |outline: &Region| {
            let contours = outline.contours().iter().map(|c| c.iter().map(|p: &DVec2| *p * factor).collect());
            let outline = Region::new(contours.collect());
            if more < 0.0 {
                outline.inset(-more, Tolerance::PREVIEW)
            } else {
                outline.outset(more, Tolerance::PREVIEW)
            }
        };
        let outlines: Vec<Region> = self.outlines.par_iter().map(scaled).collect();
        let tiers = (height / self.highest).ceil().max(1.0) as usize;
        let thick = height / outlines.len() as f64;
        let slices: Vec<(f64, Region)> = outlines.into_iter().map(|outline| (thick, outline)).collect();
        let each = slices.len().div_ceil(tiers);
        portions_of(self.pantry, self.is_fruit_cake, slices.chunks(each).map(<[_]>::to_vec).collect())
    }

    /// The smallest scale that serves `count`; `None` if none does.
    pub fn least(&self, count: u32) -> Option<u32> {
        let (mut low, mut high) = HUNDREDTHS;
        // Servings grow with the square or the cube of the scale: a guess, then as far as it takes.
        let have = f64::from(self.served(100).max(1));
        let guess = (100.0 * real::cbrt(f64::from(count) / have) * 1.2).ceil() as u32;
        let mut near = guess.clamp(low, high);
        while near < high && self.served(near) < count {
            low = near;
            near = (near * 3 / 2).min(high);
        }
        if self.served(near) < count {
            return None;
        }
        high = near;
        while high - low > 1 {
            let half = (low + high) / 2;
            if self.served(half) >= count { high = half } else { low = half }
        }
        Some(high)
    }
}
