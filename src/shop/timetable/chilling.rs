//! How long a cake takes to be cold in its middle: conduction in a cylinder or block that air cools from all sides.
//!
//! The solution of a plate times that of a long cylinder, or of two more plates, each as a series (any textbook of
//! heat transfer: transient conduction with convection, product solutions). The air under a board cools less than
//! that on top, so it is an estimate.

use geom::real;

/// Thermal diffusivity of cake, mm²/s: 0.12 for yellow, pound and chocolate cake (ASHRAE Handbook, Refrigeration,
/// "Thermal Properties of Foods", from memory).
const DIFFUSIVITY: f64 = 0.12;
/// Thermal conductivity of cake, W/(m K): 0.11 for yellow cake (the same, from memory).
const CONDUCTIVITY: f64 = 0.11;
/// Heat transfer to still air in a refrigerator, W/(m² K): free convection, 5 to 10 in textbooks.
const CONVECTION: f64 = 8.0;
/// Of the room, of the refrigerator, and in the middle of a stack that is cold enough to carve, °C: common practice,
/// no source.
const TEMPERATURES: [f64; 3] = [20.0, 4.0, 8.0];
/// Terms of each series. With so many the first hour of the largest cake is right to a thousandth.
const TERMS: u32 = 24;

/// The form of what is cooled, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cooled {
    /// A cylinder.
    Cylinder {
        /// Diameter.
        diameter: f64,
        /// Height.
        height: f64,
    },
    /// A block.
    Block {
        /// Width, depth, height.
        size: [f64; 3],
    },
}

impl Cooled {
    /// Hours from room temperature until the middle is cold enough to carve.
    pub fn hours(self) -> f64 {
        let [room, cold, enough] = TEMPERATURES;
        let wanted = (enough - cold) / (room - cold);
        let series = self.series();
        let left = |hours: f64| -> f64 {
            series
                .iter()
                .map(|(terms, half)| sum(terms, DIFFUSIVITY * hours * 3600.0 / (half * half)))
                .product()
        };
        let mut bounds = (0.0, 1.0);
        while left(bounds.1) > wanted {
            bounds = (bounds.1, 2.0 * bounds.1);
        }
        for _ in 0..40 {
            let middle = 0.5 * (bounds.0 + bounds.1);
            if left(middle) > wanted {
                bounds.0 = middle;
            } else {
                bounds.1 = middle;
            }
        }
        bounds.1
    }

    /// The series whose product it is, each with its half thickness or radius, mm.
    fn series(self) -> Vec<(Vec<Term>, f64)> {
        let biot = |half: f64| CONVECTION * half / 1000.0 / CONDUCTIVITY;
        let plate = |size: f64| (plate(biot(size / 2.0)), size / 2.0);
        match self {
            Self::Cylinder { diameter, height } => {
                vec![(cylinder(biot(diameter / 2.0)), diameter / 2.0), plate(height)]
            }
            Self::Block { size } => size.map(plate).into(),
        }
    }
}

/// One term of a series: its eigenvalue and its coefficient in the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Term {
    eigenvalue: f64,
    coefficient: f64,
}

/// What is left of the difference in temperature in the middle at a Fourier number.
fn sum(terms: &[Term], fourier: f64) -> f64 {
    terms.iter().map(|term| term.coefficient * real::exp(-term.eigenvalue * term.eigenvalue * fourier)).sum()
}

/// A plate: ζ tan ζ = Bi.
fn plate(biot: f64) -> Vec<Term> {
    let pi = std::f64::consts::PI;
    let terms = (0..TERMS).map(|n| {
        let from = f64::from(n) * pi;
        let zero = |z: f64| {
            let (sin, cos) = real::sin_cos(z);
            z * sin - biot * cos
        };
        let z = root(from, from + pi / 2.0, zero);
        let sin = real::sin_cos(z).0;
        Term { eigenvalue: z, coefficient: 4.0 * sin / (2.0 * z + real::sin_cos(2.0 * z).0) }
    });
    terms.collect()
}

/// A long cylinder: ζ J₁(ζ) = Bi J₀(ζ).
fn cylinder(biot: f64) -> Vec<Term> {
    let zero = |z: f64| z * real::bessel_j1(z) - biot * real::bessel_j0(z);
    // A root lies between a zero of J₁ and the next zero of J₀.
    let (mut lower, mut terms) = (0.0, Vec::new());
    while terms.len() < TERMS as usize {
        let upper = next_zero(real::bessel_j0, lower + 1.0);
        let z = root(lower, upper, zero);
        let (j0, j1) = (real::bessel_j0(z), real::bessel_j1(z));
        terms.push(Term { eigenvalue: z, coefficient: 2.0 / z * j1 / (j0 * j0 + j1 * j1) });
        lower = next_zero(real::bessel_j1, upper);
    }
    terms
}

/// The next place after `from` at which a function that swings as slowly as a Bessel function is zero.
fn next_zero(of: fn(f64) -> f64, from: f64) -> f64 {
    const STEP: f64 = 0.1;
    let mut low = from;
    while of(low).is_sign_positive() == of(low + STEP).is_sign_positive() {
        low += STEP;
    }
    root(low, low + STEP, of)
}

/// Where a function that changes its sign between two places is zero.
fn root(low: f64, high: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (low, high);
    let rising = of(high) > 0.0;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if (of(middle) > 0.0) == rising {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First eigenvalue and coefficient: the tables of the one-term approximation in textbooks of heat transfer
    /// ("Coefficients used in the one-term approximation to the series solutions for transient one-dimensional
    /// conduction").
    #[test]
    fn first_terms_are_those_of_the_textbooks() {
        for (biot, plate_row, cylinder_row) in [
            (0.1, (0.3111, 1.0161), (0.4417, 1.0246)),
            (1.0, (0.8603, 1.1191), (1.2558, 1.2071)),
            (10.0, (1.4289, 1.2620), (2.1795, 1.5677)),
            (100.0, (1.5552, 1.2731), (2.3809, 1.6015)),
        ] {
            for (terms, (eigenvalue, coefficient)) in
                [(plate(biot), plate_row), (cylinder(biot), cylinder_row)]
            {
                assert!((terms[0].eigenvalue - eigenvalue).abs() < 1e-4, "{biot}: {:?}", terms[0]);
                assert!((terms[0].coefficient - coefficient).abs() < 2e-4, "{biot}: {:?}", terms[0]);
            }
        }
    }

    /// Explicit finite differences in shells of a cylinder, as a second way to the same number.
    #[test]
    fn the_series_agrees_with_finite_differences() {
        const N: usize = 200;
        let (biot, fourier) = (7.0, 0.3);
        let d = 1.0 / N as f64;
        let step = 0.2 * d * d;
        let mut t = [1.0_f64; N];
        for _ in 0..(fourier / step).round() as usize {
            let old = t;
            for i in 0..N {
                let (r, inner, outer) = ((i as f64 + 0.5) * d, i as f64 * d, (i as f64 + 1.0) * d);
                let flow_in = if i == 0 { 0.0 } else { inner * (old[i - 1] - old[i]) / d };
                // Half a shell of conduction, then the film of air.
                let flow_out = if i + 1 == N {
                    outer * old[i] / (0.5 * d + 1.0 / biot)
                } else {
                    outer * (old[i] - old[i + 1]) / d
                };
                t[i] += step * (flow_in - flow_out) / (r * d);
            }
        }
        let series = sum(&cylinder(biot), fourier);
        assert!((series - t[0]).abs() < 1e-3, "{series} {}", t[0]);
    }

    #[test]
    fn before_it_is_cooled_nothing_has_changed() {
        for terms in [plate(5.0), cylinder(5.0)] {
            assert!((sum(&terms, 0.003) - 1.0).abs() < 1e-3, "{}", sum(&terms, 0.003));
        }
    }

    /// A stack 200 mm across and high needs 6 to 8 h; one of half the size less than a third of that.
    #[test]
    fn a_stack_chills_for_hours() {
        let hours = Cooled::Cylinder { diameter: 200.0, height: 200.0 }.hours();
        assert!((6.0..8.0).contains(&hours), "{hours}");
        let half = Cooled::Cylinder { diameter: 100.0, height: 100.0 }.hours();
        assert!(half > 0.25 * hours && half < 0.45 * hours, "{half} {hours}");
        let block = Cooled::Block { size: [200.0; 3] }.hours();
        assert!(block > hours && block < 1.25 * hours, "{block}");
        // A sheet is cooled from its two faces alone.
        let sheet = Cooled::Block { size: [400.0, 400.0, 50.0] }.hours();
        assert!(sheet < 2.5, "{sheet}");
    }
}
