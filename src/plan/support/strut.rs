//! What one upright dowel can carry: crushing, buckling as a whole, buckling of a thin wall.
//!
//! Newtons, millimetres and megapascals (N/mm²), as in any handbook of the strength of materials.

use std::f64::consts::PI;

use crate::stack::Dowel;
use geom::real;

/// A round bar or tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Outer diameter, mm.
    pub diameter: f64,
    /// Thickness of its wall, mm; `None` if it is solid.
    pub wall: Option<f64>,
}

impl From<&Dowel> for Bar {
    fn from(dowel: &Dowel) -> Self {
        Self { diameter: dowel.diameter, wall: dowel.wall }
    }
}

impl Bar {
    /// Diameter of its bore, mm; 0 if it is solid.
    pub fn bore(&self) -> f64 {
        self.wall.map_or(0.0, |wall| (self.diameter - 2.0 * wall).max(0.0))
    }

    /// Area of its cross section, mm².
    pub fn area(&self) -> f64 {
        PI * (real::powi(self.diameter, 2) - real::powi(self.bore(), 2)) / 4.0
    }

    /// Second moment of area about a diameter, mm⁴: π (D⁴ − d⁴) / 64.
    pub fn second_moment(&self) -> f64 {
        PI * (real::powi(self.diameter, 4) - real::powi(self.bore(), 4)) / 64.0
    }

    /// Section modulus in bending, mm³.
    pub fn section_modulus(&self) -> f64 {
        self.second_moment() / (self.diameter / 2.0)
    }

    /// Radius of gyration, mm.
    pub fn gyration(&self) -> f64 {
        (self.second_moment() / self.area()).sqrt()
    }
}

/// How the ends of a strut are held: the factor K by which its length is multiplied.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ends {
    /// Both ends may turn, neither may move sideways: K = 1.
    Pinned,
    /// The foot is held, the head may move sideways as a flagpole's: K = 2.
    FreeHead,
}

impl Ends {
    /// The factor K.
    pub fn factor(self) -> f64 {
        match self {
            Self::Pinned => 1.0,
            Self::FreeHead => 2.0,
        }
    }
}

/// What a strut is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stuff {
    /// Modulus of elasticity along it, MPa.
    pub modulus: f64,
    /// Stress at which it crushes or yields, MPa.
    pub strength: f64,
    /// Poisson's ratio, for thin walls.
    pub poisson: f64,
}

/// Euler's load, N: π² E I / (K L)².
pub fn euler(stuff: &Stuff, bar: &Bar, length: f64, ends: Ends) -> f64 {
    PI * PI * stuff.modulus * bar.second_moment() / real::powi(ends.factor() * length, 2)
}

/// Slenderness K L / r below which Johnson's parabola holds instead of Euler's curve: π √(2 E / σ).
pub fn transition(stuff: &Stuff) -> f64 {
    PI * (2.0 * stuff.modulus / stuff.strength).sqrt()
}

/// Johnson's load of a short strut, N: σ A (1 − σ (K L / r)² / (4 π² E)).
pub fn johnson(stuff: &Stuff, bar: &Bar, length: f64, ends: Ends) -> f64 {
    let slenderness = ends.factor() * length / bar.gyration();
    let loss = stuff.strength * real::powi(slenderness, 2) / (4.0 * PI * PI * stuff.modulus);
    stuff.strength * bar.area() * (1.0 - loss)
}

/// Load at which a straight strut buckles as a whole, N: Johnson's for short ones, Euler's for long ones.
pub fn buckling(stuff: &Stuff, bar: &Bar, length: f64, ends: Ends) -> f64 {
    if ends.factor() * length / bar.gyration() < transition(stuff) {
        johnson(stuff, bar, length, ends)
    } else {
        euler(stuff, bar, length, ends)
    }
}

/// Stress at which the wall of a perfect thin tube wrinkles, MPa: E t / (r √(3 (1 − ν²))), r to the middle of
/// the wall. `None` for a solid bar.
pub fn wrinkling_stress(stuff: &Stuff, bar: &Bar) -> Option<f64> {
    let wall = bar.wall.filter(|wall| 2.0 * wall < bar.diameter)?;
    let radius = (bar.diameter - wall) / 2.0;
    Some(stuff.modulus * wall / (radius * (3.0 * (1.0 - real::powi(stuff.poisson, 2))).sqrt()))
}

/// The share of it that real tubes reach (NASA SP-8007): γ = 1 − 0.901 (1 − e^(−√(r/t) / 16)).
pub fn knock_down(bar: &Bar) -> Option<f64> {
    let wall = bar.wall.filter(|wall| 2.0 * wall < bar.diameter)?;
    let radius = (bar.diameter - wall) / 2.0;
    Some(1.0 - 0.901 * (1.0 - real::exp(-(radius / wall).sqrt() / 16.0)))
}

/// How a strut gives way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Failure {
    /// It is crushed.
    Crushing,
    /// It bows out as a whole.
    Buckling,
    /// Its thin wall wrinkles.
    Wrinkling,
}

/// The load that a strut gives way at, N, and how.
pub fn capacity(stuff: &Stuff, bar: &Bar, length: f64, ends: Ends) -> (f64, Failure) {
    let crushing = (stuff.strength * bar.area(), Failure::Crushing);
    let buckling = (buckling(stuff, bar, length, ends), Failure::Buckling);
    let wrinkling = wrinkling_stress(stuff, bar)
        .zip(knock_down(bar))
        .map(|(stress, share)| (stress * share * bar.area(), Failure::Wrinkling));
    [Some(crushing), Some(buckling), wrinkling]
        .into_iter()
        .flatten()
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or(crushing)
}
