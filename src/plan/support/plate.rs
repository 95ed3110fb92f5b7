//! How a board bends on the dowels under it.
//!
//! Kirchhoff's thin plate by the Rayleigh–Ritz method: the deflection is a polynomial, and the one with the
//! least energy of bending, of the springs under it and of the loads on it is found. The dowels push but do not
//! pull. A stiffer answer than the truth, by a few per cent (the tests say how many); moments right over a
//! dowel are those of a load that is spread a little, as a dowel's end spreads it.
//!
//! Newtons, millimetres, megapascals.

use glam::{DVec2, dvec2};
use nalgebra::{DMatrix, DVector};

use crate::design::{Footprint, FootprintShape};
use geom::real;

/// The greatest degree of the polynomials.
const DEGREE: usize = 9;

/// A board as a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// Its outline.
    pub footprint: Footprint,
    /// Diameter of the hole in its middle, mm; it is left out of round boards only.
    pub hole: f64,
    /// Thickness, mm.
    pub thickness: f64,
    /// Modulus of elasticity, MPa.
    pub modulus: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

/// A load at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointLoad {
    /// Where, mm.
    pub at: DVec2,
    /// Downwards, N.
    pub force: f64,
}

/// What stands on a plate.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Loads {
    /// Spread evenly over it, N in all.
    pub spread: f64,
    /// Hung along its edge, N in all.
    pub edge: f64,
    /// At places.
    pub points: Vec<PointLoad>,
}

/// How a plate bends.
#[derive(Debug, Clone, PartialEq)]
pub struct Bent {
    /// Furthest sag of any place below the dowels' heads, mm.
    pub sag: f64,
    /// Where that is, mm.
    pub sag_at: DVec2,
    /// Greatest bending moment in any direction, N·mm per mm of width.
    pub moment: f64,
    /// Where that is, mm.
    pub moment_at: DVec2,
    /// Push of each dowel, N.
    pub pushes: Vec<f64>,
    /// Sag in the middle, mm.
    pub middle: f64,
}

impl Plate {
    /// Bending stiffness, N·mm: E t³ / (12 (1 − ν²)).
    pub fn stiffness(&self) -> f64 {
        self.modulus * real::powi(self.thickness, 3) / (12.0 * (1.0 - real::powi(self.poisson, 2)))
    }

    /// Stress at the faces under a moment of 1 N·mm per mm, MPa: 6 / t².
    pub fn stress(&self, moment: f64) -> f64 {
        6.0 * moment / real::powi(self.thickness, 2)
    }

    /// Bends it over dowels at `supports`; `None` if it would tip off them.
    pub fn bent(&self, supports: &[DVec2], loads: &Loads) -> Option<Bent> {
        let half = self.half();
        let own = |p: DVec2| {
            real::unit_vector(-self.footprint.turn.to_radians()).rotate(p - self.footprint.centre) / half
        };
        let basis = Basis::new();
        let n = basis.len();
        let mut energy = DMatrix::zeros(n, n);
        let mut load = DVector::zeros(n);
        let places = self.places();
        let area: f64 = places.iter().map(|(_, weight)| weight).sum();
        let (d, nu) = (self.stiffness(), self.poisson);
        for &(p, weight) in &places {
            let at = basis.at(p / half, half);
            let scale = d * weight;
            // D ((w_xx + w_yy)² − 2 (1 − ν) (w_xx w_yy − w_xy²)), term by term.
            for i in 0..n {
                let (a, b) = (at.xx[i] + nu * at.yy[i], at.yy[i] + nu * at.xx[i]);
                let c = 2.0 * (1.0 - nu) * at.xy[i];
                for j in 0..=i {
                    energy[(i, j)] += scale * (a * at.xx[j] + b * at.yy[j] + c * at.xy[j]);
                }
            }
            load.axpy(loads.spread * weight / area, &DVector::from_column_slice(&at.w), 1.0);
        }
        energy.fill_upper_triangle_with_lower_triangle();
        let rim = self.rim();
        let round: f64 = rim.iter().map(|(_, weight)| weight).sum();
        for (p, weight) in rim {
            load.axpy(loads.edge * weight / round, &basis.values(p / half), 1.0);
        }
        for point in &loads.points {
            load.axpy(point.force, &basis.values(own(point.at)), 1.0);
        }
        let heads: Vec<DVector<f64>> = supports.iter().map(|&at| basis.values(own(at))).collect();
        let spring = SPRING * d / real::powi(half.max_element(), 2);
        let (solved, pushes) = settled(&energy, &load, &heads, spring)?;
        Some(self.read(&basis, &solved, pushes, &heads))
    }

    fn read(&self, basis: &Basis, solved: &DVector<f64>, pushes: Vec<f64>, heads: &[DVector<f64>]) -> Bent {
        let half = self.half();
        // The plane through the heads that carry is where the board would lie if it were stiff; they hardly move.
        let level = heads.iter().zip(&pushes).filter(|(_, push)| **push > 0.0);
        let highest = level.map(|(head, _)| head.dot(solved)).fold(f64::INFINITY, f64::min);
        let highest = if highest.is_finite() { highest } else { 0.0 };
        let d = self.stiffness();
        let mut bent = Bent {
            sag: 0.0,
            sag_at: DVec2::ZERO,
            moment: 0.0,
            moment_at: DVec2::ZERO,
            pushes,
            middle: basis.values(DVec2::ZERO).dot(solved) - highest,
        };
        let inside = self.places().into_iter().chain(self.rim()).map(|(p, _)| p);
        let turn = real::unit_vector(self.footprint.turn.to_radians());
        for p in inside.chain([DVec2::ZERO]) {
            let at = basis.at(p / half, half);
            let sum = |values: &[f64]| values.iter().zip(solved.iter()).map(|(a, b)| a * b).sum::<f64>();
            let (w, xx, yy, xy) = (sum(&at.w) - highest, sum(&at.xx), sum(&at.yy), sum(&at.xy));
            let moments = (d * (xx + self.poisson * yy), d * (yy + self.poisson * xx));
            let twist = d * (1.0 - self.poisson) * xy;
            let (mean, apart) = ((moments.0 + moments.1) / 2.0, (moments.0 - moments.1) / 2.0);
            let moment = mean.abs() + real::hypot(apart, twist);
            let place = self.footprint.centre + turn.rotate(p);
            if w > bent.sag {
                (bent.sag, bent.sag_at) = (w, place);
            }
            if moment > bent.moment {
                (bent.moment, bent.moment_at) = (moment, place);
            }
        }
        bent
    }

    /// Half of its width and depth, mm.
    fn half(&self) -> DVec2 {
        DVec2::from_array(self.footprint.shape.size()) / 2.0
    }

    /// Places all over it about its own middle, each with the area that it stands for (Gauss's rule).
    fn places(&self) -> Vec<(DVec2, f64)> {
        let half = self.half();
        match self.footprint.shape {
            FootprintShape::Round { .. } => {
                let inner = self.hole / 2.0;
                let spokes = u32::try_from(2 * DEGREE + 2).unwrap_or(20);
                let turn = std::f64::consts::TAU / f64::from(spokes);
                let rings = gauss().map(move |(t, weight)| {
                    let r = inner + (half.x - inner) * t;
                    (r, r * weight * (half.x - inner) * turn)
                });
                rings
                    .flat_map(|(r, weight)| {
                        (0..spokes).map(move |k| (r * real::unit_vector(turn * f64::from(k)), weight))
                    })
                    .collect()
            }
            FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => gauss()
                .flat_map(|(x, a)| {
                    gauss()
                        .map(move |(y, b)| (half * (dvec2(x, y) * 2.0 - 1.0), a * b * 4.0 * half.x * half.y))
                })
                .collect(),
        }
    }

    /// Places along its edge, each with the length that it stands for.
    fn rim(&self) -> Vec<(DVec2, f64)> {
        const STEPS: u32 = 36;
        let half = self.half();
        match self.footprint.shape {
            FootprintShape::Round { .. } => (0..STEPS)
                .map(|k| {
                    let turn = std::f64::consts::TAU / f64::from(STEPS);
                    (half.x * real::unit_vector(turn * f64::from(k)), turn * half.x)
                })
                .collect(),
            FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => gauss()
                .flat_map(|(t, weight)| {
                    let (x, y) = (half.x * (2.0 * t - 1.0), half.y * (2.0 * t - 1.0));
                    let (along, across) = (weight * 2.0 * half.x, weight * 2.0 * half.y);
                    [
                        (dvec2(x, -half.y), along),
                        (dvec2(x, half.y), along),
                        (dvec2(-half.x, y), across),
                        (dvec2(half.x, y), across),
                    ]
                })
                .collect(),
        }
    }
}

/// Stiffness of a dowel, in D / a²: so stiff that it does not matter.
const SPRING: f64 = 1e5;

/// The shape of least energy and what each support pushes with; those that would have to pull are let go.
fn settled(
    energy: &DMatrix<f64>,
    load: &DVector<f64>,
    heads: &[DVector<f64>],
    spring: f64,
) -> Option<(DVector<f64>, Vec<f64>)> {
    let mut bearing: Vec<usize> = (0..heads.len()).collect();
    while bearing.len() >= 3 {
        let mut all = energy.clone();
        bearing.iter().for_each(|&i| all.ger(spring, &heads[i], &heads[i], 1.0));
        let solved = all.cholesky()?.solve(load);
        let pushes: Vec<f64> = heads.iter().map(|head| spring * head.dot(&solved)).collect();
        let worst = bearing.iter().copied().min_by(|&a, &b| pushes[a].total_cmp(&pushes[b]))?;
        if pushes[worst] >= 0.0 {
            let held = |(i, push): (usize, f64)| if bearing.contains(&i) { push } else { 0.0 };
            return Some((solved, pushes.into_iter().enumerate().map(held).collect()));
        }
        bearing.retain(|&i| i != worst);
    }
    None
}

/// Products of Legendre polynomials on the square from −1 to 1.
struct Basis {
    powers: Vec<(usize, usize)>,
}

/// Deflection and curvatures of every polynomial at a place.
struct At {
    w: Vec<f64>,
    xx: Vec<f64>,
    yy: Vec<f64>,
    xy: Vec<f64>,
}

impl Basis {
    fn new() -> Self {
        let powers = (0..=DEGREE).flat_map(|i| (0..=DEGREE - i).map(move |j| (i, j))).collect();
        Self { powers }
    }

    fn len(&self) -> usize {
        self.powers.len()
    }

    fn values(&self, p: DVec2) -> DVector<f64> {
        let (x, y) = (legendre(p.x), legendre(p.y));
        DVector::from_iterator(self.len(), self.powers.iter().map(|&(i, j)| x[i][0] * y[j][0]))
    }

    /// At `p` in units of `half`; curvatures per mm.
    fn at(&self, p: DVec2, half: DVec2) -> At {
        let (x, y) = (legendre(p.x), legendre(p.y));
        let each = |of: &dyn Fn(usize, usize) -> f64| self.powers.iter().map(|&(i, j)| of(i, j)).collect();
        At {
            w: each(&|i, j| x[i][0] * y[j][0]),
            xx: each(&|i, j| x[i][2] * y[j][0] / (half.x * half.x)),
            yy: each(&|i, j| x[i][0] * y[j][2] / (half.y * half.y)),
            xy: each(&|i, j| x[i][1] * y[j][1] / (half.x * half.y)),
        }
    }
}

/// Legendre polynomials up to [`DEGREE`] at `x`, each with its first and second derivative.
fn legendre(x: f64) -> [[f64; 3]; DEGREE + 1] {
    let mut all = [[0.0; 3]; DEGREE + 1];
    all[0] = [1.0, 0.0, 0.0];
    all[1] = [x, 1.0, 0.0];
    for n in 1..DEGREE {
        let k = n as f64;
        let ([p, dp, ddp], [q, dq, ddq]) = (all[n], all[n - 1]);
        let up = (2.0 * k + 1.0) / (k + 1.0);
        let down = k / (k + 1.0);
        all[n + 1] =
            [up * x * p - down * q, up * (p + x * dp) - down * dq, up * (2.0 * dp + x * ddp) - down * ddq];
    }
    all
}

/// Gauss's rule of ten points on the stretch from 0 to 1: places and weights (Abramowitz and Stegun, table 25.4).
fn gauss() -> impl Iterator<Item = (f64, f64)> + Clone {
    const HALF: [(f64, f64); 5] = [
        (0.148_874_338_981_631_2, 0.295_524_224_714_752_87),
        (0.433_395_394_129_247_2, 0.269_266_719_309_996_36),
        (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
        (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
        (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
    ];
    HALF.into_iter().flat_map(|(x, w)| [((1.0 - x) / 2.0, w / 2.0), ((1.0 + x) / 2.0, w / 2.0)])
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{PI, TAU};

    use super::*;

    fn round(diameter: f64) -> Plate {
        Plate {
            footprint: Footprint {
                shape: FootprintShape::Round { diameter },
                centre: dvec2(12.0, -7.0),
                turn: 0.0,
            },
            hole: 0.0,
            thickness: 4.0,
            modulus: 5000.0,
            poisson: 0.3,
        }
    }

    fn ring(plate: &Plate, n: u32, radius: f64) -> Vec<DVec2> {
        let at = |i| plate.footprint.centre + radius * DVec2::from_angle(TAU * f64::from(i) / f64::from(n));
        (0..n).map(at).collect()
    }

    /// A round plate, simply supported all round, evenly loaded: w = (5 + ν) q a⁴ / (64 (1 + ν) D) and
    /// M = (3 + ν) q a² / 16 in the middle (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells,
    /// equations 67 and 70, from memory).
    #[test]
    fn a_round_plate_held_all_round_its_edge() {
        let plate = round(200.0);
        let (a, q) = (100.0_f64, 1e-3);
        let loads = Loads { spread: q * PI * a * a, ..Loads::default() };
        let bent = plate.bent(&ring(&plate, 24, a), &loads).unwrap();
        let sag = (5.0 + 0.3) * q * a.powi(4) / (64.0 * 1.3 * plate.stiffness());
        assert!((bent.middle / sag - 1.0).abs() < 0.02, "{} {sag}", bent.middle);
        let moment = 3.3 * q * a * a / 16.0;
        assert!((bent.moment / moment - 1.0).abs() < 0.05, "{} {moment}", bent.moment);
        assert!((bent.pushes.iter().sum::<f64>() / loads.spread - 1.0).abs() < 1e-6);
    }

    /// A plate on one ring of supports at a share of its radius bends least over 0.68 a (optics of mirrors on
    /// supports; Timoshenko's formulas give the same).
    #[test]
    fn there_is_a_best_circle() {
        let plate = round(200.0);
        let loads = Loads { spread: 30.0, ..Loads::default() };
        let sag = |radius: f64| plate.bent(&ring(&plate, 12, radius), &loads).unwrap().sag;
        let best = (40..95).map(|r| (sag(f64::from(r)), r)).min_by(|a, b| a.0.total_cmp(&b.0)).unwrap().1;
        assert!((64..=73).contains(&best), "{best}");
    }

    /// A long strip held near both ends is a beam: w = 5 q L⁴ / (384 E I), M = q L² / 8.
    #[test]
    fn a_strip_is_a_beam() {
        let mut plate = round(1.0);
        plate.footprint.shape = FootprintShape::Rectangle { width: 300.0, depth: 20.0 };
        plate.poisson = 0.0;
        let span = 300.0_f64;
        let at = |x, y| plate.footprint.centre + dvec2(x, y);
        let ends = [at(-150.0, -8.0), at(-150.0, 8.0), at(150.0, -8.0), at(150.0, 8.0)];
        let bent = plate.bent(&ends, &Loads { spread: 6.0, ..Loads::default() }).unwrap();
        let (q, inertia) = (6.0 / span, 20.0 * 64.0 / 12.0);
        let sag = 5.0 * q * span.powi(4) / (384.0 * 5000.0 * inertia);
        assert!((bent.middle / sag - 1.0).abs() < 0.02, "{} {sag}", bent.middle);
        assert!((bent.moment * 20.0 / (q * span * span / 8.0) - 1.0).abs() < 0.03, "{}", bent.moment);
    }

    /// A board that reaches past its dowels is a cantilever there: load at its end, w = P l³ / (3 E I).
    #[test]
    fn a_strip_past_its_dowels_is_a_cantilever() {
        let mut plate = round(1.0);
        plate.footprint.shape = FootprintShape::Rectangle { width: 200.0, depth: 20.0 };
        plate.poisson = 0.0;
        let at = |x, y| plate.footprint.centre + dvec2(x, y);
        let dowels = [at(-2.0, -8.0), at(-2.0, 8.0), at(2.0, -8.0), at(2.0, 8.0)];
        let tips = [at(-100.0, 0.0), at(100.0, 0.0)].map(|at| PointLoad { at, force: 1.0 });
        let bent = plate.bent(&dowels, &Loads { points: tips.to_vec(), ..Loads::default() }).unwrap();
        let sag = 98.0_f64.powi(3) / (3.0 * 5000.0 * 20.0 * 64.0 / 12.0);
        assert!((bent.sag / sag - 1.0).abs() < 0.06, "{} {sag}", bent.sag);
    }

    #[test]
    fn a_load_outside_the_dowels_tips_the_board() {
        let plate = round(200.0);
        let load = PointLoad { at: plate.footprint.centre + dvec2(95.0, 0.0), force: 5.0 };
        let loads = Loads { points: vec![load], ..Loads::default() };
        assert!(plate.bent(&ring(&plate, 4, 30.0), &loads).is_none());
    }
}
