//! The search problem in numbers: what fits where, what carries what, what everything costs.

use glam::DVec2;

use super::{
    clearance::Clearance,
    fit,
    needs::{Needs, Shadow, corners},
    places::Places,
};
use geom::real;
use plan::{
    design::{Footprint, FootprintShape},
    pantry::{Pan, PanShape, loads_needed},
};

/// Heights in the search are whole micrometres, so that the same height is the same.
pub const MICRONS: f64 = 1000.0;

/// What a stack may be, and what it costs. Lengths in mm, costs in grams of offcut.
#[derive(Debug, Clone)]
pub struct Rules {
    /// Heights of slabs are whole steps of this.
    pub step: f64,
    /// Boards are cut, and places measured, to whole marks of the maker's ruler where that will do.
    pub mark: f64,
    /// The thinnest slab.
    pub thinnest: f64,
    /// Least to be shaved off at the side.
    pub shave: f64,
    /// Least to be shaved off on top.
    pub shave_top: f64,
    /// The highest cake without a board.
    pub board_every: f64,
    /// How far what is carved of a slab may reach beyond its carrier, by its own half width.
    pub overhang: f64,
    /// What hangs over further than this until it is carved is told by the plan, and costs `overhang_cost`.
    pub overhang_mm: f64,
    /// Least cake over a board.
    pub cover: f64,
    /// Thickness of a board; boards of fixed sizes by their diameters, none if they are cut to size.
    pub board: f64,
    /// Diameters of boards that are not cut to size.
    pub board_sizes: Vec<f64>,
    /// Thickness of a filling; 0 for none.
    pub filling: f64,
    /// How much may be missing, mm³.
    pub shortfall: f64,
    /// Density of the cake, g/mL.
    pub density: f64,
    /// How many pans bake at once.
    pub at_once: u32,
    /// The most oven loads.
    pub most_loads: Option<u32>,
    /// Height of the foot that carries it all; 0 for none. A board lies on it.
    pub foot: f64,
    /// Height from which on slabs are laid where no foot is, mm: what is below stays as it is.
    pub from: f64,
    /// Height that the stack must reach, mm; `None` for the top of the shape.
    pub to: Option<f64>,
    /// What is saved.
    pub weights: Weights,
}

/// As many whole marks of a ruler as `mm` holds, mm.
fn whole_marks(mm: f64, mark: f64) -> f64 {
    (mm / mark).floor() * mark
}

/// What is saved at what cost, in grams of offcut.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Weights {
    /// A gram of offcut.
    pub offcut: f64,
    /// A bake.
    pub bake: f64,
    /// An oven load.
    pub load: f64,
    /// A board.
    pub board: f64,
    /// A slab that hangs over further than the plan lets pass.
    pub overhang: f64,
    /// A piece in a layer of pieces.
    pub piece: f64,
}

/// What is to be stacked out of which pans, under which rules.
pub struct Problem<'a> {
    /// The shape.
    pub needs: &'a Needs,
    /// Pans that may be used.
    pub pans: Vec<Pan>,
    /// The rules.
    pub rules: Rules,
    /// Where pans and boards fit.
    places: Places,
}

/// A millimetre length on the grid of the search.
pub fn microns(mm: f64) -> i32 {
    (mm * MICRONS).round() as i32
}

/// A length of the search in mm.
pub fn mm(microns: i32) -> f64 {
    f64::from(microns) / MICRONS
}

impl<'a> Problem<'a> {
    /// A problem that nothing is known of yet.
    pub fn new(needs: &'a Needs, pans: Vec<Pan>, rules: Rules) -> Self {
        Self { needs, pans, rules, places: Places::default() }
    }

    /// The same with places that are known already, of a problem with the same shape, shave and boards.
    #[must_use]
    pub fn with_places(self, places: &Places) -> Self {
        Self { places: places.clone(), ..self }
    }

    /// The same problem where nothing costs anything: its stacks are those of this problem.
    #[must_use]
    pub fn without_costs(&self) -> Self {
        let rules = Rules { weights: Weights::default(), ..self.rules.clone() };
        Problem::new(self.needs, self.pans.clone(), rules).with_places(&self.places)
    }

    /// Height of a levelled bake of pan `p`, micrometres.
    pub fn level(&self, p: usize) -> i32 {
        microns(self.pans[p].level)
    }

    /// The thinnest slab, in whole steps, micrometres.
    pub fn thinnest(&self) -> i32 {
        let steps = (self.rules.thinnest / self.rules.step - 1e-6).ceil().max(1.0);
        microns(steps * self.rules.step)
    }

    /// Whether pan `p` is a half-ball: only used whole, on top, dome up.
    pub fn is_dome(&self, p: usize) -> bool {
        matches!(self.pans[p].shape, PanShape::HalfBall(_))
    }

    /// Cost of one bake in pan `p`.
    pub fn bake_cost(&self, p: usize) -> f64 {
        let grams = self.pans[p].volume(self.pans[p].level) / 1000.0 * self.rules.density;
        self.rules.weights.offcut * grams + self.rules.weights.bake
    }

    /// What cake a seam between two heights displaces, as a cost: it cannot be cut from a bake that is paid.
    pub fn seam_cost(&self, low: f64, high: f64) -> f64 {
        let grams = self.needs.volume_between(low, high) / 1000.0 * self.rules.density;
        self.rules.weights.offcut * grams
    }

    /// Height that the stack must reach, mm.
    pub fn top(&self) -> f64 {
        if let Some(to) = self.rules.to {
            return to;
        }
        let full = self.needs.height + self.rules.shave_top;
        if self.rules.shortfall <= 0.0 {
            return full;
        }
        // What is missing above may be patched.
        let (mut low, mut high) = (0.0, full);
        for _ in 0..40 {
            let half = (low + high) / 2.0;
            let missing = self.needs.volume() - self.needs.volume_below(half);
            if missing <= self.rules.shortfall { high = half } else { low = half }
        }
        high
    }

    /// Where a slab of pan `p` between two heights stands, and what of the shape it leaves out, mm³; `None` if it
    /// does not hold what it must.
    pub fn fit(&self, p: usize, low: f64, high: f64) -> Option<(Footprint, f64)> {
        let cells = self.needs.cells(low, high);
        let rules = &self.rules;
        if let PanShape::HalfBall(d) = self.pans[p].shape {
            return fit::place_dome(d, self.needs, cells, low, rules.shave).map(|placed| (placed, 0.0));
        }
        let shape = self.pans[p].shape;
        let placed = self.places.slab(cells, shape, || match self.needs.shadow(cells) {
            Some(shadow) => fit::place(shape, &shadow, rules.shave, rules.mark),
            None => fit::place(shape, &Shadow::Disc(0.0), 0.0, rules.mark),
        });
        if let Some(placed) = placed {
            return Some((placed, 0.0));
        }
        // Too small, but by no more than may be patched.
        let PanShape::Round(diameter) = self.pans[p].shape else { return None };
        if rules.shortfall <= 0.0 {
            return None;
        }
        let missing = self.needs.outside(cells, diameter / 2.0)?;
        let placed = Footprint { shape: FootprintShape::Round { diameter }, centre: DVec2::ZERO, turn: 0.0 };
        (missing <= rules.shortfall).then_some((placed, missing))
    }

    /// The largest board that fits in the carved shape from height `low` up; `None` if hardly any does.
    pub fn board_at(&self, low: i32) -> Option<Footprint> {
        self.places.board(low, || self.find_board(mm(low)))
    }

    fn find_board(&self, low: f64) -> Option<Footprint> {
        /// A smaller board carries nothing, mm (common practice, no source).
        const SMALLEST: f64 = 50.0;
        let rules = &self.rules;
        let outlines = self.needs.outlines(low, low + rules.board);
        let depth = |p: DVec2| outlines.iter().map(|outline| outline.depth(p)).fold(f64::INFINITY, f64::min);
        let centre = if self.needs.is_turned() {
            DVec2::ZERO
        } else {
            let cells = self.needs.cells(low, low + rules.board);
            match self.needs.shadow(cells)? {
                Shadow::Disc(_) => DVec2::ZERO,
                Shadow::Any(reach) => {
                    (fit::smallest_circle(&corners(&reach)).0 / rules.mark).round() * rules.mark
                }
            }
        };
        let widest = 2.0 * (depth(centre) - rules.cover);
        let diameter = if rules.board_sizes.is_empty() {
            whole_marks(widest, rules.mark)
        } else {
            rules.board_sizes.iter().copied().filter(|d| *d <= widest).fold(0.0, f64::max)
        };
        let round = (diameter >= SMALLEST).then_some(Footprint {
            shape: FootprintShape::Round { diameter },
            centre,
            turn: 0.0,
        });
        if self.needs.is_turned() || !rules.board_sizes.is_empty() {
            return round;
        }
        let long = self.long_board(low, centre, &Clearance::new(outlines, rules.cover));
        match (round, long) {
            (Some(round), Some(long)) => Some(if long.area() > round.area() { long } else { round }),
            (round, long) => round.or(long),
        }
    }

    /// A rectangle cut to a long shape: as wide as deep in proportion as the box around it.
    fn long_board(&self, low: f64, centre: DVec2, clearance: &Clearance) -> Option<Footprint> {
        /// A narrower board carries nothing, mm (common practice, no source).
        const NARROWEST: f64 = 40.0;
        let Shadow::Any(reach) = self.needs.shadow(self.needs.cells(low, low + self.rules.board))? else {
            return None;
        };
        let turn = narrowest_turn(&reach);
        let (along, across) =
            (real::unit_vector(turn.to_radians()), real::unit_vector(turn.to_radians()).perp());
        let points = corners(&reach);
        let span = |axis: DVec2| points.iter().map(|p| (*p - centre).dot(axis).abs()).fold(0.0, f64::max);
        let (w, d) = (span(along), span(across));
        let holds = |share: f64| {
            let (w, d) = (w * share, d * share);
            let rim = (0..16).flat_map(|i| {
                let t = f64::from(i) / 8.0 - 1.0;
                [(t, -1.0), (t, 1.0), (-1.0, t), (1.0, t)]
            });
            rim.chain([(1.0, 1.0)]).all(|(x, y)| clearance.holds(centre + along * (x * w) + across * (y * d)))
        };
        let (mut fits, mut not) = (0.0, 1.0);
        for _ in 0..12 {
            let half = (fits + not) / 2.0;
            if holds(half) { fits = half } else { not = half }
        }
        let [width, deep] = [w, d].map(|half| whole_marks(2.0 * half * fits, self.rules.mark));
        let shape = FootprintShape::Rectangle { width, depth: deep };
        (width.min(deep) >= NARROWEST).then_some(Footprint { shape, centre, turn })
    }

    /// How far what is carved between two heights hangs over `board` under it, or over what is carved of the slab under
    /// it, mm and as a share of its own half width.
    pub fn carved_overhang(&self, heights: (f64, f64), board: Option<&Footprint>) -> (f64, f64) {
        self.needs.overhang(heights, board, self.rules.filling)
    }

    /// How far `above` hangs over until it is carved, mm: nothing carries better than the presentation board.
    pub fn raw_overhang(&self, above: &Footprint, carrier: Option<&Footprint>) -> f64 {
        carrier.map_or(0.0, |carrier| above.reach_beyond(carrier).max(0.0))
    }

    /// What it costs that a slab that stands on `above` hangs over so far, raw in mm, carved in mm and as a share of its
    /// half width; `None` if either is too far. What is carved and not over a board
    /// counts from half as far on.
    pub fn overhang_cost(
        &self,
        above: &Footprint,
        raw: f64,
        (carved, carved_share): (f64, f64),
    ) -> Option<f64> {
        /// What hangs over further than this share of its half width does not stay up until it is carved (common
        /// practice, no source).
        const MOST_RAW: f64 = 0.75;
        let [width, depth] = above.shape.size();
        let half = width.min(depth) / 2.0;
        let rules = &self.rules;
        let (raw_far, carved_far) = (raw > rules.overhang_mm + 1e-3, carved > rules.overhang_mm / 2.0 + 1e-3);
        let stays =
            carved_share <= rules.overhang + 1e-9 && raw <= MOST_RAW.max(rules.overhang) * half + 1e-9;
        let times = f64::from(u8::from(raw_far) + u8::from(carved_far));
        stays.then_some(times * rules.weights.overhang)
    }

    /// Oven loads for so many bakes of each pan.
    pub fn loads(&self, bakes: &[u8]) -> u32 {
        loads_needed(self.pans.iter().zip(bakes.iter().map(|n| u32::from(*n))), self.rules.at_once)
    }
}

/// Degrees by which the narrowest box around a shadow is turned, its longer side along.
pub(super) fn narrowest_turn(reach: &[f64; super::needs::DIRECTIONS]) -> f64 {
    const HALF: usize = super::needs::DIRECTIONS / 2;
    let width = |i: usize| reach[i % (2 * HALF)] + reach[(i + HALF) % (2 * HALF)];
    let narrowest = (0..HALF).min_by(|a, b| width(*a).total_cmp(&width(*b))).unwrap_or(0);
    // The longer side runs across the narrowest direction.
    let turn = narrowest as f64 * 360.0 / (2 * HALF) as f64 + 90.0;
    if turn > 90.0 { turn - 180.0 } else { turn }
}
