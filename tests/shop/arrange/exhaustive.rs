//! Every stack that there is, counted out one by one, on small cases.

use geom::Cancel;
use shop::arrange::{Effort, Problem, search};

use super::cases::{Case, cases};

/// A slab: pan, height, and what it costs to put it there beside its bake.
type Slabs = Vec<(usize, f64)>;

/// The least cost of all stacks, and how many there are.
struct Every<'a> {
    case: &'a Case,
    problem: &'a Problem<'a>,
    best: Option<f64>,
    count: u64,
}

impl Every<'_> {
    fn grow(&mut self, z: f64, foot: f64, carrier: Option<(f64, bool)>, paid: f64, slabs: &mut Slabs) {
        let rules = &self.case.rules;
        let top = self.case.radii.len() as f64 * super::cases::CELL;
        for (p, pan) in self.case.pans.iter().enumerate() {
            let radius = pan.shape.area().sqrt() / std::f64::consts::PI.sqrt();
            let mut height = rules.thinnest;
            while height <= (pan.level / rules.step).floor() * rules.step + 1e-9 {
                let up = z + height;
                let here = (p, height);
                height += rules.step;
                if up - foot > rules.board_every + 1e-9 || self.widest(z, up) + rules.shave > radius + 1e-9 {
                    continue;
                }
                let over = carrier.map_or(0.0, |(carrier, _)| (radius - carrier).max(0.0));
                let carved = carrier.map_or(0.0, |carrier| self.carved_share(z, up, carrier));
                if over / radius > 0.75 + 1e-9 || carved > rules.overhang + 1e-9 {
                    continue;
                }
                let far = u8::from(over > rules.overhang_mm + 1e-3)
                    + u8::from(
                        carrier.is_some_and(|(_, is_board)| !is_board)
                            && carved * self.widest(z, up) > rules.overhang_mm / 2.0 + 1e-3,
                    );
                let hangs = f64::from(far) * rules.weights.overhang;
                let paid = paid + hangs;
                slabs.push(here);
                if up >= top - 1e-9 {
                    let cost = paid + self.bakes(slabs);
                    self.count += 1;
                    self.best = Some(self.best.map_or(cost, |best: f64| best.min(cost)));
                } else {
                    let next = up + rules.filling;
                    if next < top - 1e-9 {
                        let seam = self.problem.seam_cost(up, next);
                        self.grow(next, foot, Some((radius, false)), paid + seam, slabs);
                    }
                    let board = self.problem.board_at((up * 1000.0).round() as i32);
                    let next = up + rules.board;
                    if let Some(board) = board.filter(|_| next < top - 1e-9) {
                        let seam = self.problem.seam_cost(up, next) + rules.weights.board;
                        self.grow(next, next, Some((board.reach(), true)), paid + seam, slabs);
                    }
                }
                slabs.pop();
            }
        }
    }

    fn widest(&self, low: f64, high: f64) -> f64 {
        let cell = super::cases::CELL;
        let inside = |i: &usize| (*i as f64 + 1.0) * cell > low + 1e-6 && (*i as f64) * cell < high - 1e-6;
        let radii = self.case.radii.iter().enumerate().filter(|(i, _)| inside(i)).map(|(_, r)| *r);
        radii.fold(f64::NEG_INFINITY, f64::max)
    }

    /// How far what is carved hangs over a board, or over what is carved of the slab below, by its half width.
    fn carved_share(&self, low: f64, high: f64, (carrier, is_board): (f64, bool)) -> f64 {
        let (widest, cell) = (self.widest(low, high), super::cases::CELL);
        let here = (low / cell + 1e-6) as usize;
        let under = ((low - self.case.rules.filling - 0.02).max(0.0) / cell) as usize;
        let least = self.case.radii[under.min(here)..=here].iter().copied().fold(f64::INFINITY, f64::min);
        let carried = if is_board { carrier } else { least };
        (widest - carried).max(0.0) / widest
    }

    /// Bakes and oven loads of `slabs`, each pan's slabs dealt to bakes in every way.
    fn bakes(&self, slabs: &Slabs) -> f64 {
        let rules = &self.case.rules;
        let mut cost = 0.0;
        let (mut all, mut loads) = (0, 0);
        for (p, pan) in self.case.pans.iter().enumerate() {
            let heights: Vec<f64> =
                slabs.iter().filter(|(q, _)| *q == p).map(|(_, height)| *height).collect();
            let level = (pan.level / rules.step).floor() * rules.step;
            let bakes = fewest(&heights, level, &mut Vec::new());
            all += bakes;
            loads = loads.max(bakes.div_ceil(pan.count));
            cost += f64::from(bakes)
                * (pan.shape.area() * pan.level / 1000.0 * rules.density * rules.weights.offcut
                    + rules.weights.bake);
        }
        cost + f64::from(loads.max(all.div_ceil(rules.at_once))) * rules.weights.load
    }
}

fn fewest(heights: &[f64], level: f64, bakes: &mut Vec<f64>) -> u32 {
    let Some((first, rest)) = heights.split_first() else { return bakes.len() as u32 };
    let mut best = u32::MAX;
    for i in 0..=bakes.len() {
        if i == bakes.len() {
            bakes.push(*first);
            best = best.min(fewest(rest, level, bakes));
            bakes.pop();
        } else if bakes[i] + first <= level + 1e-9 {
            bakes[i] += first;
            best = best.min(fewest(rest, level, bakes));
            bakes[i] -= first;
        }
    }
    best
}

#[test]
fn the_stack_found_is_the_cheapest_of_all() {
    let (mut with, mut without, mut looked) = (0, 0, 0);
    for case in cases(60, 24) {
        let needs = case.needs();
        let problem = case.problem(&needs);
        let mut every = Every { case: &case, problem: &problem, best: None, count: 0 };
        every.grow(0.0, 0.0, None, 0.0, &mut Vec::new());
        looked += every.count;
        let found = search(&problem, Effort::default(), &Cancel::new()).unwrap();
        match (every.best, found) {
            (Some(best), Some(found)) => {
                with += 1;
                assert!((found.cost - best).abs() < 1e-6, "{} is not {best}: {:?}", found.cost, case.rules);
                assert_eq!(found.gap(), 0.0, "not proved: {:?}", case.rules);
            }
            (None, None) => without += 1,
            (best, found) => panic!("{best:?} against {found:?}: {:?}", case.rules),
        }
    }
    assert!(with > 25 && without > 3, "{with} cases with a stack, {without} without, {looked} stacks in all");
}

/// Where the search may keep only a few half-made stacks, it says how far off it may be, and is no further off.
#[test]
fn a_search_that_stops_early_bounds_its_gap() {
    let (mut stopped, mut unproved) = (0, 0);
    for case in cases(40, 60) {
        let needs = case.needs();
        let problem = case.problem(&needs);
        let Some(best) = search(&problem, Effort::default(), &Cancel::new()).unwrap() else { continue };
        // The usual effort proves nearly all of them.
        if best.gap() > 0.0 {
            unproved += 1;
            continue;
        }
        let Some(early) =
            search(&problem, Effort { first: 1, last: 2, ..Effort::default() }, &Cancel::new()).unwrap()
        else {
            continue;
        };
        assert!(early.bound <= best.cost + 1e-6, "{} is no bound for {}", early.bound, best.cost);
        assert!(early.cost >= best.cost - 1e-6);
        stopped += u32::from(early.gap() > 0.0);
    }
    assert!(stopped > 3 && unproved < 4, "{stopped} searches stopped early, {unproved} unproved");
}
