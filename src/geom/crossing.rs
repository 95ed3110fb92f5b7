//! Two silhouettes crossed: what lies inside a front view, a side view and, if given, an outline from
//! above, all carried straight through.
//!
//! A front view holds points (right, up), a side view points (back, up), an outline from above points
//! (right, back). The plain crossing has edges where two views meet. A softened one has, at every height and for
//! each stretch of the front with each of the side, a section with round corners; where a shape parts into two,
//! as a body into head and tail, the corners that go on are equally round below and above.
//!
//! With one upright axis the plain crossing holds ∫ w_front(z)·w_side(z) dz, w being the width of a view at
//! height z; this is what its tests are held to.

mod rounded;

use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2};

use super::{NotSolid, Region, Solid, Tolerance};
use rounded::towers;

/// How the upright edges of a crossing are softened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Softening {
    /// Every level section is a superellipse |x/a|ⁿ + |y/b|ⁿ = 1 of this exponent: 2 is an ellipse, more is
    /// squarer.
    Exponent(f64),
    /// Every level section is a rectangle with corners of this radius, mm, or as much of it as fits.
    Corner(f64),
}

/// The views that are crossed.
#[derive(Debug, Clone, Copy)]
pub struct Views<'a> {
    /// Seen from the front: (right, up), mm.
    pub front: &'a Region,
    /// Seen from the right-hand side: (back, up), mm.
    pub side: &'a Region,
    /// Seen from above: (right, back), mm.
    pub above: Option<&'a Region>,
}

/// Past the end of whatever it goes through, mm.
const CLEAR: f64 = 1.0;

impl Views<'_> {
    /// The plain crossing.
    pub fn crossed(&self) -> Solid {
        self.cut_above(along_y(self.front, self.side).intersection(&along_x(self.side, self.front)))
    }

    /// The crossing with its upright edges softened; curves within `tolerance`.
    ///
    /// # Errors
    /// When a stretch of it comes out as no closed solid: a mistake of ours.
    pub fn softened(&self, softening: Softening, tolerance: Tolerance) -> Result<Solid, NotSolid> {
        let solids: Vec<Solid> = towers(&Rows::of(self.front), &Rows::of(self.side), softening, tolerance)
            .iter()
            .map(Solid::from_mesh)
            .collect::<Result<_, _>>()?;
        Ok(self.cut_above(Solid::union_all(&solids)))
    }

    fn cut_above(&self, solid: Solid) -> Solid {
        let Some((above, (lo, hi))) = self.above.zip(solid.bounds()) else { return solid };
        solid.intersection(&Solid::prism(above, lo.z - CLEAR, hi.z + CLEAR))
    }
}

/// A front view carried straight back through everything that `side` shows.
fn along_y(front: &Region, side: &Region) -> Solid {
    let Some((lo, hi)) = side.bounds() else { return Solid::empty() };
    let frame = DAffine3::from_mat3(DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y));
    Solid::prism(front, -hi.x - CLEAR, -lo.x + CLEAR).placed(&frame)
}

/// A side view carried straight across through everything that `front` shows.
fn along_x(side: &Region, front: &Region) -> Solid {
    let Some((lo, hi)) = front.bounds() else { return Solid::empty() };
    let frame = DAffine3::from_mat3(DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X));
    Solid::prism(side, lo.x - CLEAR, hi.x + CLEAR).placed(&frame)
}

/// The stretches of a view at every height.
struct Rows {
    /// From the lowest up; those at the same heights from left to right.
    bands: Vec<Band>,
}

/// A stretch of heights over which both ends run straight.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Band {
    low: f64,
    high: f64,
    /// Left and right end at `low` and at `high`, mm.
    at_low: DVec2,
    at_high: DVec2,
}

/// Heights closer than this are one height, mm.
const LEVEL: f64 = 1e-6;

impl Rows {
    fn of(view: &Region) -> Self {
        let mut levels: Vec<f64> = view.contours().iter().flatten().map(|p| p.y).collect();
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|b, a| *b - *a < LEVEL);
        let between = |pair: &[f64]| {
            // Looked up inside the band, where no edge begins or ends, and carried on to its ends.
            let (low, high) = (pair[0], pair[1]);
            let (a, b) = (view.row(low + (high - low) * 0.25), view.row(low + (high - low) * 0.75));
            let band = move |((a0, a1), (b0, b1)): ((f64, f64), (f64, f64))| {
                let (a, b) = (dvec2(a0, a1), dvec2(b0, b1));
                Band { low, high, at_low: a + (a - b) / 2.0, at_high: b + (b - a) / 2.0 }
            };
            a.into_iter().zip(b).map(band).collect::<Vec<_>>()
        };
        Self { bands: levels.windows(2).flat_map(between).collect() }
    }

    /// Every band of this view with every one of `other` at the heights that both reach, from the lowest up.
    fn beside(&self, other: &Self) -> Vec<(Band, Band)> {
        let mut both = Vec::new();
        let mut first = 0;
        for a in &self.bands {
            while other.bands.get(first).is_some_and(|b| b.high <= a.low) {
                first += 1;
            }
            for b in other.bands[first..].iter().take_while(|b| b.low < a.high) {
                let (low, high) = (a.low.max(b.low), a.high.min(b.high));
                if high - low > LEVEL {
                    both.push((a.part(low, high), b.part(low, high)));
                }
            }
        }
        both.sort_by(|(a, _), (b, _)| a.low.total_cmp(&b.low));
        both
    }
}

impl Band {
    fn at(&self, z: f64) -> DVec2 {
        self.at_low.lerp(self.at_high, (z - self.low) / (self.high - self.low))
    }

    fn part(&self, low: f64, high: f64) -> Self {
        let end = |z: f64, own: f64, at: DVec2| if z == own { at } else { self.at(z) };
        Self {
            low,
            high,
            at_low: end(low, self.low, self.at_low),
            at_high: end(high, self.high, self.at_high),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn disc(radius: f64, n: u32) -> Region {
        let point = |i: u32| radius * DVec2::from_angle(2.0 * PI * f64::from(i) / f64::from(n));
        Region::from_simple((0..n).map(|i| point(i) + dvec2(0.0, radius)).collect())
    }

    /// Two circles of radius r crossed are the Steinmetz solid, 16 r³/3 (Harris and Stocker, Handbook of Mathematics
    /// and Computational Science; figures in 2.3 of the check values). Out of polygons of n corners a row is as wide
    /// as its chord, and the integral of the square of a polygon's width is exact below.
    #[test]
    fn two_circles_crossed_are_the_steinmetz_solid() {
        let circle = disc(50.0, 512);
        let views = Views { front: &circle, side: &circle, above: None };
        let solid = views.crossed();
        assert!((solid.volume() / 666_666.666_67 - 1.0).abs() < 1e-4, "{}", solid.volume());
        // The same by the law of rows, exact for the polygon: each band is a prismatoid (Simpson's rule).
        let exact: f64 = Rows::of(&circle)
            .bands
            .iter()
            .map(|b| {
                let (w0, w1) = (b.at_low.y - b.at_low.x, b.at_high.y - b.at_high.x);
                (b.high - b.low) * (w0 * w0 + w0 * w1 + w1 * w1) / 3.0
            })
            .sum();
        assert!((solid.volume() / exact - 1.0).abs() < 1e-9, "{} {exact}", solid.volume());
        solid.to_mesh().check().unwrap();
    }

    /// An ellipse in every section of two crossed circles makes a ball: 4/3 π r³.
    #[test]
    fn circles_softened_to_ellipses_are_a_ball() {
        let circle = disc(50.0, 512);
        let views = Views { front: &circle, side: &circle, above: None };
        let fine = Tolerance::new(0.005).unwrap();
        let ball = views.softened(Softening::Exponent(2.0), fine).unwrap();
        ball.to_mesh().check().unwrap();
        assert!((ball.volume() / (4.0 / 3.0 * PI * 50f64.powi(3)) - 1.0).abs() < 5e-4, "{}", ball.volume());
    }

    /// A rounded box: (a b − (4 − π) r²) h; and a superellipse of exponent 4 has the area
    /// 4 a b Γ(5/4)²/Γ(3/2) = 3.7081493546 a b (DLMF 5.12.1 with half widths a, b; Γ from the same).
    #[test]
    fn sections_have_the_area_of_their_formula() {
        let (front, side) = (
            Region::rectangle(dvec2(-60.0, 0.0), dvec2(60.0, 80.0)),
            Region::rectangle(dvec2(-30.0, 0.0), dvec2(50.0, 80.0)),
        );
        let views = Views { front: &front, side: &side, above: None };
        let fine = Tolerance::new(1e-4).unwrap();
        let rounded = views.softened(Softening::Corner(20.0), fine).unwrap().volume();
        let exact = (120.0 * 80.0 - (4.0 - PI) * 400.0) * 80.0;
        assert!((rounded / exact - 1.0).abs() < 1e-5, "{rounded} {exact}");
        let super_four = views.softened(Softening::Exponent(4.0), fine).unwrap().volume();
        let exact = 3.708_149_354_602_744 * 60.0 * 40.0 * 80.0;
        assert!((super_four / exact - 1.0).abs() < 1e-5, "{super_four} {exact}");
    }

    /// A notch in the side view parts the shape into two; where it begins no level face is left between them, and
    /// every section is what its formula says: a rectangle less (4 − π)/4 r² at each round corner.
    #[test]
    fn what_parts_into_two_has_no_shelf() {
        let front = Region::rectangle(dvec2(-50.0, 0.0), dvec2(50.0, 100.0));
        let notch = [(-90.0, 0.0), (90.0, 0.0), (90.0, 100.0), (40.0, 100.0), (0.0, 50.0), (-40.0, 100.0)];
        let mut side: Vec<DVec2> = notch.map(DVec2::from).to_vec();
        side.push(dvec2(-90.0, 100.0));
        let side = Region::from_simple(side);
        let views = Views { front: &front, side: &side, above: None };
        let mesh = views.softened(Softening::Corner(60.0), Tolerance::TOOL).unwrap().to_mesh();
        mesh.check().unwrap();
        let level_area: f64 = (0..mesh.len())
            .map(|i| mesh.corners(i))
            .filter(|c| c.iter().all(|p| (p.z - 50.0).abs() < 0.1))
            .map(|[a, b, c]| (b - a).cross(c - a).length() / 2.0)
            .sum();
        assert!(level_area < 30.0, "{level_area}");
        let corner = (4.0 - PI) / 4.0;
        let at = |z: f64| mesh.section(z).area();
        assert!((at(10.0) - (100.0 * 180.0 - 4.0 * corner * 2500.0)).abs() < 20.0, "{}", at(10.0));
        // At the top each is 50 long: its outer corners are round by 25, its inner ones too.
        assert!((at(99.9) - 2.0 * (100.0 * 50.0 - 4.0 * corner * 625.0)).abs() < 20.0, "{}", at(99.9));
    }

    #[test]
    fn holes_gaps_steps_and_ridges_hold_together() {
        // A front view with a hole, two legs and a flat step; a side view that ends in a ridge.
        let body = Region::rectangle(dvec2(-60.0, 0.0), dvec2(60.0, 60.0));
        let legs = Region::rectangle(dvec2(-20.0, 0.0), dvec2(20.0, 20.0));
        let head = Region::rectangle(dvec2(-30.0, 60.0), dvec2(10.0, 90.0));
        let hole = Region::rectangle(dvec2(-10.0, 35.0), dvec2(10.0, 50.0));
        let front = body.difference(&legs).difference(&hole).union(&head);
        let side = Region::from_simple(vec![dvec2(-40.0, 0.0), dvec2(40.0, 0.0), dvec2(0.0, 90.0)]);
        let views = Views { front: &front, side: &side, above: None };
        for solid in [
            views.crossed(),
            views.softened(Softening::Exponent(2.5), Tolerance::PREVIEW).unwrap(),
            views.softened(Softening::Corner(15.0), Tolerance::PREVIEW).unwrap(),
        ] {
            solid.to_mesh().check().unwrap();
        }
        // The law of rows: widths of the front times widths of the side, by hand.
        let side_width = |z: f64| 80.0 * (1.0 - z / 90.0);
        let slab = |w: f64, a: f64, b: f64| w * (b - a) * (side_width(a) + side_width(b)) / 2.0;
        let exact = slab(80.0, 0.0, 20.0)
            + slab(120.0, 20.0, 35.0)
            + slab(100.0, 35.0, 50.0)
            + slab(120.0, 50.0, 60.0)
            + slab(40.0, 60.0, 90.0);
        assert!((views.crossed().volume() / exact - 1.0).abs() < 1e-9);
        // With an outline from above only what is in it stays.
        let above = Region::rectangle(dvec2(0.0, -100.0), dvec2(100.0, 100.0));
        let half = Views { above: Some(&above), ..views }.crossed().volume();
        let right = slab(40.0, 0.0, 20.0)
            + slab(60.0, 20.0, 35.0)
            + slab(50.0, 35.0, 50.0)
            + slab(60.0, 50.0, 60.0)
            + slab(10.0, 60.0, 90.0);
        assert!((half / right - 1.0).abs() < 1e-9, "{half} {right}");
    }
}
