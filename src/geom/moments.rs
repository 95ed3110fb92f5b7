//! Amount and first moments of volumes and masses, in one value that adds up.

use glam::{DVec2, DVec3};

use super::{MeridianRange, Region, TriMesh, revolve::direction};
use crate::real;

/// A volume with its first moments, or a mass with them: the centroid is first / amount. Moments of
/// parts add up; those of what is taken out are subtracted.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Moments {
    /// mm³, or whatever it was multiplied to.
    pub amount: f64,
    /// The amount times its place, mm⁴.
    pub first: DVec3,
}

impl Moments {
    /// `amount` of something whose centroid is `at`.
    pub fn at(amount: f64, at: DVec3) -> Self {
        Self { amount, first: amount * at }
    }

    /// The centroid, mm; `None` where there is nothing.
    pub fn centroid(&self) -> Option<DVec3> {
        (self.amount.abs() > f64::MIN_POSITIVE).then(|| self.first / self.amount)
    }

    /// The area that level `edges` enclose at height `z`, mm².
    pub fn of_outline(edges: impl IntoIterator<Item = (DVec2, DVec2)>, z: f64) -> Self {
        let (mut area, mut first) = (0.0, DVec2::ZERO);
        for (a, b) in edges {
            let cross = a.perp_dot(b);
            area += cross / 2.0;
            first += (a + b) * (cross / 6.0);
        }
        Self { amount: area, first: first.extend(area * z) }
    }

    /// `section` (radius ≥ 0, height) turned once about the axis, by Pappus's theorems.
    pub fn revolved(section: &Region) -> Self {
        let found = super::revolve::revolved_properties(section);
        Self::at(found.volume, found.centroid)
    }

    /// The steps of `range` between `n` meridians that `section` makes when it is turned: what the mesh of them
    /// holds, which is a little less than the true round.
    pub fn of_meridian_range(section: &Region, range: MeridianRange, n: u32) -> Self {
        let whole = Self::revolved(section);
        let sine = real::sin(std::f64::consts::TAU / f64::from(n));
        // Of one step, about the axis: ∫∫ r dA and ∫∫ r z dA times the sine.
        let step = sine / std::f64::consts::TAU * f64::from(range.steps);
        // ∫∫ r² dA by Green's theorem: ⅓ ∮ r³ dz.
        let outwards: f64 = section
            .edges()
            .map(|(a, b)| (b.y - a.y) * (a.x + b.x) * (a.x * a.x + b.x * b.x) / 12.0)
            .sum::<f64>()
            * sine;
        let middle = |i: u32| {
            let k = (range.first + i) % n;
            (direction(k, n) + direction((k + 1) % n, n)) / 2.0
        };
        let aside: DVec2 = (0..range.steps).map(middle).sum::<DVec2>() * outwards;
        Self { amount: whole.amount * step, first: aside.extend(whole.first.z * step) }
    }
}

impl TriMesh {
    /// Moments of the part of a closed mesh between two heights, without cutting it: by the divergence theorem
    /// for fields along x, which no level cut face contributes to.
    pub fn moments_between(&self, low: f64, high: f64) -> Moments {
        let mut found = Moments::default();
        self.each_between(low, high, |_, piece| found.add_along_x(piece));
        found
    }
}

impl Moments {
    /// Adds what a triangle of a surface adds to the moments of what lies within it, by the divergence theorem for fields
    /// along x.
    pub(crate) fn add_along_x(&mut self, [a, b, c]: [DVec3; 3]) {
        let out = (b - a).cross(c - a).x / 24.0;
        let sum = a + b + c;
        self.amount += 4.0 * out * sum.x;
        // Over a triangle ∫ f g dA is A/12 (Σf Σg + Σ f g).
        let squares = a.x * a + b.x * b + c.x * c;
        let product = sum.x * sum + squares;
        self.first += out * DVec3::new(product.x / 2.0, product.y, product.z);
    }
}

impl std::ops::Add for Moments {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { amount: self.amount + other.amount, first: self.first + other.first }
    }
}

impl std::ops::Sub for Moments {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + other * -1.0
    }
}

impl std::ops::Mul<f64> for Moments {
    type Output = Self;

    fn mul(self, by: f64) -> Self {
        Self { amount: self.amount * by, first: self.first * by }
    }
}

impl std::iter::Sum for Moments {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::default(), std::ops::Add::add)
    }
}

#[cfg(test)]
mod tests {
    use glam::{dvec2, dvec3};

    use super::*;
    use crate::{Solid, revolve};

    fn frustum() -> Region {
        Region::from_simple(vec![dvec2(0.0, 0.0), dvec2(100.0, 0.0), dvec2(60.0, 120.0), dvec2(0.0, 120.0)])
    }

    /// A frustum R 100 → 60, H 120 has its centroid 50.2040816 above the big face (CRC Standard Mathematical
    /// Tables); of a mesh as well, since every level circle loses the same share.
    #[test]
    fn a_frustum_by_revolution_and_by_mesh() {
        let exact = Moments::revolved(&frustum());
        assert!((exact.amount - 2_463_008.640_41).abs() < 1e-4, "{exact:?}");
        assert!((exact.centroid().unwrap().z - 50.204_081_6).abs() < 1e-7, "{exact:?}");
        let mesh = revolve::revolve(&frustum(), 64).translated(dvec3(30.0, -20.0, 0.0));
        let meshed = mesh.moments_between(-1.0, 200.0);
        let at = meshed.centroid().unwrap();
        assert!(at.distance(dvec3(30.0, -20.0, 50.204_081_6)) < 1e-6, "{at}");
    }

    /// The kernel's own cut is the reference.
    #[test]
    fn between_two_heights_as_if_it_were_cut() {
        let ball =
            Solid::from_mesh(&revolve::revolve(&frustum(), 40).translated(dvec3(7.0, 3.0, 0.0))).unwrap();
        let cut = ball.between(20.0, 70.0).to_mesh().mass_properties();
        let found = ball.to_mesh().moments_between(20.0, 70.0);
        assert!((found.amount / cut.volume - 1.0).abs() < 1e-9, "{found:?} {cut:?}");
        assert!(found.centroid().unwrap().distance(cut.centroid) < 1e-6, "{found:?} {cut:?}");
    }

    #[test]
    fn steps_of_a_revolution_are_what_their_mesh_holds() {
        let (n, range) = (24, MeridianRange { first: 21, steps: 7 });
        let found = Moments::of_meridian_range(&frustum(), range, n);
        let sector = crate::Sector { meridians: n, seams: std::sync::Arc::new([]), ranges: vec![range] };
        let mesh = sector.closed_mesh(&frustum()).mass_properties();
        assert!((found.amount / mesh.volume - 1.0).abs() < 1e-9, "{found:?} {mesh:?}");
        assert!(found.centroid().unwrap().distance(mesh.centroid) < 1e-6, "{found:?} {mesh:?}");
    }
}
