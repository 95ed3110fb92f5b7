//! A meridian parted into the fewest flat sheets that lie on it within limits, seams at its edges where that costs no
//! more (the shortest way through a graph whose edges are the sheets, by dynamic programming).

use super::{Meridian, Part, PartForm, Strain, part::is_main};

/// How far a sheet may be strained, and how it may be laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The most that a wrapped sheet may stretch, as a share.
    pub stretch: f64,
    /// The most that a wrapped sheet may gather, as a share.
    pub gather: f64,
    /// The most that the edges of a strip round something that bulges may gather, as a share.
    pub edges: f64,
    /// The most that a disc laid from the middle may gather, as a share.
    pub draped: f64,
    /// The most that the surface under such a disc may go in below something wider, as a share of the widest radius.
    pub tucked: f64,
    /// The most that a sheet may be too short or too long round, mm.
    pub off: f64,
}

/// What is turned over an edge is no longer than this, mm (common practice, no source).
const TURNED: f64 = 15.0;

/// The most that what is turned over an edge may stretch and gather, as shares (common practice, no source).
const TURNED_STRAIN: [f64; 2] = [0.15, 0.30];

/// A sheet narrower than this is a strip that is hard to lay, mm (common practice, no source).
const NARROW: f64 = 15.0;

/// What things cost, where a sheet costs 1: chosen so that a sheet more is taken only to fix two of them.
mod cost {
    /// A sheet that is narrow.
    pub const NARROW: f64 = 0.6;
    /// An edge over which a sheet is turned.
    pub const TURNED: f64 = 0.3;
    /// A strip with gathered edges.
    pub const STRIP: f64 = 0.3;
    /// A sheet that is strained to its limit.
    pub const STRAIN: f64 = 0.5;
    /// A seam where the surface has no edge.
    pub const SEAM: f64 = 0.5;
}

/// What is wrapped round up to the axis is a cone: more strained than this share of the limits, a disc is laid there.
const CONE: f64 = 0.05;

/// A turn of this many degrees is an edge that a seam disappears in.
const FULL_EDGE: f64 = 60.0;

impl Limits {
    /// How near to its limits a part is, 1 at the nearest; `None` beyond one.
    pub fn load(&self, part: &Part) -> Option<f64> {
        self.load_of(part.form, part.strains.iter().copied(), part.turned)
    }

    /// [`Limits::load`] of a part of that form, with these strains, of which that much is turned over an edge below and
    /// above.
    fn load_of(
        &self,
        form: PartForm,
        strains: impl DoubleEndedIterator<Item = Strain> + Clone,
        turned: [f64; 2],
    ) -> Option<f64> {
        let [stretch, gather] = match form {
            PartForm::Disc => [self.stretch, self.draped],
            PartForm::Band => [self.stretch, self.gather],
            PartForm::Strip => [self.stretch, self.edges],
        };
        let load = |strain: &Strain| {
            let share = if strain.share < 0.0 { -strain.share / gather } else { strain.share / stretch };
            share.max(strain.off.abs() / self.off)
        };
        let [most_stretched, most_gathered] = TURNED_STRAIN;
        let is_main = is_main(strains.clone().next()?.along, strains.clone().next_back()?.along, turned);
        let mut main = 0.0_f64;
        for strain in strains {
            if is_main(&strain) {
                main = main.max(load(&strain));
                if main > 1.0 {
                    return None;
                }
            } else if strain.share > most_stretched || strain.share < -most_gathered {
                return None;
            }
        }
        Some(main)
    }
}

impl Meridian {
    /// The cheapest way to lay one wrapped sheet between two places within `limits`, with its cost.
    pub fn wrapped(&self, (from, to): (usize, usize), limits: &Limits) -> Option<(Part, f64)> {
        let near = |end: usize| {
            let inside = |&&edge: &&usize| edge > from && edge < to;
            self.edges()
                .iter()
                .filter(inside)
                .copied()
                .filter(move |&edge| self.length(edge.min(end), edge.max(end)) <= TURNED)
                .chain([end])
                .collect::<Vec<usize>>()
        };
        let mut best: Option<(Part, f64)> = None;
        for low in near(from) {
            for high in near(to) {
                if low >= high {
                    continue;
                }
                // Most are beyond a limit, and no part is made of them.
                let turned = [self.length(from, low), self.length(high, to)];
                let strains = self.band_strains((from, to), [low, high]);
                let Some(load) = limits.load_of(PartForm::Band, strains, turned) else { continue };
                if to == self.last() && self.ends_on_axis() && load > CONE {
                    continue;
                }
                let turned = turned.iter().filter(|length| **length > 0.0).count() as f64;
                let narrow = if self.length(from, to) < NARROW { cost::NARROW } else { 0.0 };
                let price = 1.0 + cost::TURNED * turned + cost::STRAIN * load + narrow;
                if best.as_ref().is_none_or(|(_, least)| price < *least) {
                    best = Some((self.band((from, to), [low, high]), price));
                }
            }
        }
        if let Some(radius) = self.strip_radius(from, to)
            && let Some(load) =
                limits.load_of(PartForm::Strip, self.strip_strains((from, to), radius), [0.0; 2])
        {
            let price = 1.0 + cost::STRIP + cost::STRAIN * load;
            if best.as_ref().is_none_or(|(_, least)| price < *least) {
                best = self.strip(from, to).map(|part| (part, price));
            }
        }
        best
    }

    /// All from `from` up to the axis under one disc within `limits`, with its cost.
    pub fn draped(&self, from: usize, limits: &Limits) -> Option<(Part, f64)> {
        if self.ledges().iter().any(|&ledge| ledge > from) || self.undercut(from).0 > limits.tucked {
            return None;
        }
        let part = self.disc(from)?;
        let load = limits.load(&part)?;
        let price = 1.0 + cost::STRAIN * load;
        Some((part, price))
    }

    /// What a seam at a place costs: nothing at an edge.
    pub fn seam_cost(&self, place: usize) -> f64 {
        cost::SEAM * (1.0 - (self.sharpness(place) / FULL_EDGE).min(1.0))
    }
}

/// The cheapest parts from the foot up that cover `meridian`, each within `limits`. Ledges always part it.
pub fn divide(meridian: &Meridian, limits: &Limits) -> Vec<Part> {
    let last = meridian.last();
    let mut best: Vec<Option<(f64, usize, Part)>> = vec![None; last + 1];
    for to in 1..=last {
        let ledge = meridian.ledges().iter().copied().filter(|&ledge| ledge < to).max().unwrap_or(0);
        for from in ledge..to {
            let before = match from {
                0 => 0.0,
                _ => match &best[from] {
                    Some((price, ..)) => price + meridian.seam_cost(from),
                    None => continue,
                },
            };
            if best[to].as_ref().is_some_and(|(price, ..)| before + 1.0 >= *price) {
                continue;
            }
            let disc = if to == last { meridian.draped(from, limits) } else { None };
            let band = meridian.wrapped((from, to), limits);
            for (part, price) in disc.into_iter().chain(band) {
                let price = before + price;
                if best[to].as_ref().is_none_or(|(least, ..)| price < *least) {
                    best[to] = Some((price, from, part));
                }
            }
        }
    }
    let mut parts = Vec::new();
    let mut at = last;
    while at > 0 {
        // A sheet between neighbours is the frustum itself and always fits.
        let Some((_, from, part)) = best[at].take() else { break };
        parts.push(part);
        at = from;
    }
    parts.reverse();
    parts
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_PI_2, PI, TAU};

    use glam::{DVec2, dvec2};

    use super::*;

    const LIMITS: Limits =
        Limits { stretch: 0.1, gather: 0.15, edges: 0.35, draped: 0.65, tucked: 0.1, off: f64::INFINITY };

    fn parts(profile: &[DVec2], limits: &Limits) -> Vec<Part> {
        divide(&Meridian::new(profile).unwrap(), limits)
    }

    fn quarter() -> Vec<DVec2> {
        (0..=400).map(|i| 100.0 * DVec2::from_angle(FRAC_PI_2 * f64::from(i) / 400.0)).collect()
    }

    /// A quarter of a circle of radius 100 turned about the axis: half a ball. Sheets keep the arc length of the meridian
    /// (a quarter of 2π·100) and are nowhere further off than allowed.
    #[test]
    fn half_a_ball_takes_one_disc_or_as_many_sheets_as_a_length_asks_for() {
        assert_eq!(parts(&quarter(), &LIMITS).len(), 1);
        let mut counts = Vec::new();
        for off in [2.0, 6.0, 20.0] {
            let parts = parts(&quarter(), &Limits { off, ..LIMITS });
            let slants: f64 = parts.iter().map(|part| part.flat.slant).sum();
            assert!((slants - 50.0 * PI).abs() < 0.01);
            for part in &parts {
                assert!(part.strains.iter().all(|strain| strain.off.abs() <= off));
                // The true circumference at half the arc length, by the circle's own formula.
                if part.form == PartForm::Band {
                    let angle = |height: f64| (height / 100.0).asin();
                    let middle = 100.0 * f64::midpoint(angle(part.bottom.y), angle(part.top.y)).cos();
                    let wrong = TAU * (middle - f64::midpoint(part.flat.lower, part.flat.upper)).abs();
                    assert!(wrong <= off + 0.05, "{wrong}");
                }
            }
            assert!(parts.windows(2).all(|pair| pair[0].top == pair[1].bottom));
            counts.push(parts.len());
        }
        assert!(counts[0] > counts[1] && counts[1] > counts[2], "{counts:?}");
    }

    #[test]
    fn a_step_is_parted_at_its_edges() {
        let stepped =
            [(80.0, 0.0), (80.0, 60.0), (50.0, 60.0), (40.0, 120.0), (0.0, 120.0)].map(|(r, z)| dvec2(r, z));
        let parts = parts(&stepped, &LIMITS);
        // The lower side, the ledge, and a disc over all above.
        assert_eq!(parts.len(), 3, "{parts:#?}");
        assert_eq!(parts[0].top, dvec2(80.0, 60.0));
        assert_eq!(parts[1].top, dvec2(50.0, 60.0));
        assert!(parts[..2].iter().all(|part| part.strains.iter().all(|s| s.share.abs() < 1e-9)));
        assert_eq!(parts[2].form, PartForm::Disc);
    }

    /// A bead of radius 60 with a belly of 20 mm in an arc: a strip 2π · 60 long, whose edges gather to 2π · 45.
    #[test]
    fn a_bead_takes_a_strip_with_gathered_edges() {
        let bead: Vec<DVec2> = (0..=100)
            .map(|i| {
                let angle = PI * (f64::from(i) / 100.0 - 0.5);
                dvec2(45.0 + 15.0 * angle.cos(), 20.0 + 20.0 * angle.sin())
            })
            .collect();
        let parts = parts(&bead, &LIMITS);
        assert_eq!(parts.len(), 1, "{parts:#?}");
        assert_eq!(parts[0].form, PartForm::Strip);
        assert!((parts[0].flat.lower - 60.0).abs() < 0.05);
        assert!((parts[0].most_gathered().unwrap().share + 0.25).abs() < 1e-3);
        assert!(parts[0].most_stretched().is_none());
    }

    /// The rim of a flower pot: its narrow underside is turned under with the strip of the rim.
    #[test]
    fn a_narrow_ledge_is_turned_over_with_its_neighbour() {
        let pot =
            [(60.0, 0.0), (75.0, 90.0), (83.0, 90.0), (86.0, 120.0), (0.0, 120.0)].map(|(r, z)| dvec2(r, z));
        let parts = parts(&pot, &LIMITS);
        assert_eq!(parts.len(), 3, "{parts:#?}");
        assert!((parts[1].turned[0] - 8.0).abs() < 1e-9);
        assert!(parts[1].main_strains().all(|strain| strain.share.abs() < 1e-9));
    }
}
