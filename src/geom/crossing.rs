//! Crossed silhouettes: what lies inside a front view, a side view and, if given, an outline from above, each
//! extruded straight through (the visual hull of parallel projections).
//!
//! A front view holds points (right, up), a side view points (back, up), an outline from above points
//! (right, back). The plain crossing has edges where two views meet. A rounded one has, at every height and for each
//! interval of the front with each of the side, a section with round corners; where a shape divides into two, as a
//! body into head and tail, corners that continue are equally round below and above.
//!
//! With one upright axis the plain crossing holds ∫ w_front(z)·w_side(z) dz, w being the width of a view at
//! height z; this is what its tests are held to.

mod cleaned;
mod rounded;

use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2};
use rayon::prelude::*;

use super::{Cancel, Region, Solid, SolidError, Tolerance, TriMesh};
use rounded::{Rounded, section_meshes};

pub use cleaned::{apart, cleaned};
pub use rounded::{SectionCorner, TighterEdge};

/// How the upright edges of a crossing are rounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EdgeRounding {
    /// Every level section is a superellipse |x/a|ⁿ + |y/b|ⁿ = 1 of this exponent: 2 is an ellipse, more is
    /// squarer.
    Exponent(f64),
    /// Every level section is a rectangle with corners of this radius, mm, or as much of it as fits.
    Radius(f64),
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

/// How far an extrusion reaches past the ends of the solid that it cuts, mm.
const CLEAR: f64 = 1.0;

impl Views<'_> {
    /// The plain crossing.
    pub fn crossed(&self) -> Solid {
        self.cut_above(along_y(self.front, self.side).intersection(&along_x(self.side, self.front)))
    }

    /// [`Views::crossed`] that can be stopped.
    ///
    /// # Errors
    /// When the kernel makes no solid of it, and once `cancel` asks to stop.
    pub fn try_crossed(&self, cancel: &Cancel) -> Result<Solid, SolidError> {
        let (front, side) = (along_y(self.front, self.side), along_x(self.side, self.front));
        self.try_cut_above(front.try_intersection(&side, cancel)?, cancel)
    }

    /// The crossing with its upright edges rounded; curves within `tolerance`. Beside it the edges that are rounded
    /// less than asked for, because the shape divides there.
    ///
    /// # Errors
    /// When a part of it comes out as no closed solid: a fault of this program; and once `cancel` asks to stop.
    pub fn rounded(
        &self,
        rounding: EdgeRounding,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<(Solid, Vec<TighterEdge>), SolidError> {
        let (front, side) = (Trapezoids::of(self.front), Trapezoids::of(self.side));
        let Rounded { meshes, tighter } = section_meshes(&front, &side, rounding, tolerance, cancel)?;
        let within = |(mesh, outlines): &(TriMesh, Vec<Region>)| {
            outlines.iter().try_fold(Solid::from_mesh(mesh)?, |solid, outline| {
                let Some((lo, hi)) = solid.bounds() else { return Ok(solid) };
                solid.try_intersection(&Solid::prism(outline, lo.z - CLEAR, hi.z + CLEAR), cancel)
            })
        };
        let solids: Vec<Solid> = meshes.par_iter().map(within).collect::<Result<_, SolidError>>()?;
        let solid = self.try_cut_above(Solid::try_union_all(&solids, cancel)?, cancel)?;
        Ok((solid, tighter))
    }

    fn cut_above(&self, solid: Solid) -> Solid {
        let Some((above, (lo, hi))) = self.above.zip(solid.bounds()) else { return solid };
        solid.intersection(&Solid::prism(above, lo.z - CLEAR, hi.z + CLEAR))
    }

    fn try_cut_above(&self, solid: Solid, cancel: &Cancel) -> Result<Solid, SolidError> {
        let Some((above, (lo, hi))) = self.above.zip(solid.bounds()) else { return Ok(solid) };
        solid.try_intersection(&Solid::prism(above, lo.z - CLEAR, hi.z + CLEAR), cancel)
    }
}

/// A front view extruded back through everything that `side` shows.
fn along_y(front: &Region, side: &Region) -> Solid {
    let Some((lo, hi)) = side.bounds() else { return Solid::empty() };
    let frame = DAffine3::from_mat3(DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y));
    Solid::prism(front, -hi.x - CLEAR, -lo.x + CLEAR).placed(&frame)
}

/// A side view extruded across through everything that `front` shows.
fn along_x(side: &Region, front: &Region) -> Solid {
    let Some((lo, hi)) = front.bounds() else { return Solid::empty() };
    let frame = DAffine3::from_mat3(DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X));
    Solid::prism(side, lo.x - CLEAR, hi.x + CLEAR).placed(&frame)
}

/// The trapezoidal decomposition of a view by level lines through all its corners.
struct Trapezoids {
    /// From the lowest up; those at the same heights from left to right.
    all: Vec<Trapezoid>,
}

/// A part of a view between two heights with straight sides.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Trapezoid {
    low: f64,
    high: f64,
    /// Left and right end at `low` and at `high`, mm.
    at_low: DVec2,
    at_high: DVec2,
}

/// Heights closer than this are one height, mm.
const LEVEL: f64 = 1e-6;

impl Trapezoids {
    /// The decomposition. Trapezoids that continue one another have exactly the same ends where they meet.
    fn of(view: &Region) -> Self {
        let mut levels: Vec<f64> = view.contours().iter().flatten().map(|p| p.y).collect();
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|b, a| *b - *a < LEVEL);
        // Every corner lies exactly on its level.
        let level_of = |y: f64| levels.partition_point(|level| *level < y - LEVEL);
        let mut crossing: Vec<Vec<(DVec2, DVec2)>> = vec![Vec::new(); levels.len()];
        for (a, b) in view.edges() {
            let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
            let (from, to) = (level_of(low.y), level_of(high.y));
            if from < to {
                let edge = (dvec2(low.x, levels[from]), dvec2(high.x, levels[to]));
                crossing[from..to].iter_mut().for_each(|edges| edges.push(edge));
            }
        }
        let mut all = Vec::new();
        for (pair, edges) in levels.windows(2).zip(&mut crossing) {
            let (low, high) = (pair[0], pair[1]);
            let middle = (low + high) / 2.0;
            edges.sort_by(|a, b| edge_at(*a, middle).total_cmp(&edge_at(*b, middle)));
            all.extend(edges.chunks_exact(2).map(|sides| {
                let ends = |z: f64| dvec2(edge_at(sides[0], z), edge_at(sides[1], z));
                Trapezoid { low, high, at_low: ends(low), at_high: ends(high) }
            }));
        }
        Self { all }
    }

    /// Every trapezoid of this view with every one of `other` at the heights that both reach, from the lowest up.
    fn pairs(&self, other: &Self) -> Vec<(Trapezoid, Trapezoid)> {
        let mut both = Vec::new();
        let mut first = 0;
        for a in &self.all {
            while other.all.get(first).is_some_and(|b| b.high <= a.low) {
                first += 1;
            }
            for b in other.all[first..].iter().take_while(|b| b.low < a.high) {
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

/// Where a rising edge is at height `z`; at its ends exactly its corners.
fn edge_at((low, high): (DVec2, DVec2), z: f64) -> f64 {
    if z == high.y { high.x } else { low.x + (high.x - low.x) * ((z - low.y) / (high.y - low.y)) }
}

impl Trapezoid {
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
        // The same by the integral of the widths, exact for the polygon: each slice is a prismatoid (Simpson's rule).
        let exact: f64 = Trapezoids::of(&circle)
            .all
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
    fn circles_rounded_to_ellipses_are_a_ball() {
        let circle = disc(50.0, 512);
        let views = Views { front: &circle, side: &circle, above: None };
        let fine = Tolerance::new(0.005).unwrap();
        let ball = views.rounded(EdgeRounding::Exponent(2.0), fine, &Cancel::new()).unwrap().0;
        ball.to_mesh().check().unwrap();
        assert!((ball.volume() / (4.0 / 3.0 * PI * 50f64.powi(3)) - 1.0).abs() < 5e-4, "{}", ball.volume());
    }

    #[test]
    fn a_rounded_crossing_is_stopped() {
        let circle = disc(50.0, 256);
        let spikes: Vec<DVec2> = (0..=40)
            .map(|k| dvec2(-60.0 + 3.0 * f64::from(k), if k % 2 == 0 { 40.0 } else { 95.0 }))
            .collect();
        let mut comb = vec![dvec2(60.0, 0.0), dvec2(-60.0, 0.0)];
        comb.splice(1..1, spikes.into_iter().rev());
        let comb = Region::from_simple(comb);
        let views = Views { front: &comb, side: &circle, above: Some(&circle) };
        let round = EdgeRounding::Exponent(2.5);
        crate::test_cancelling::assert_stops(
            |cancel| views.rounded(round, Tolerance::TOOL, cancel),
            |(solid, _)| {
                solid.to_mesh().check().unwrap();
            },
        );
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
        let rounded = views.rounded(EdgeRounding::Radius(20.0), fine, &Cancel::new()).unwrap().0.volume();
        let exact = (120.0 * 80.0 - (4.0 - PI) * 400.0) * 80.0;
        assert!((rounded / exact - 1.0).abs() < 1e-5, "{rounded} {exact}");
        let exponent_four =
            views.rounded(EdgeRounding::Exponent(4.0), fine, &Cancel::new()).unwrap().0.volume();
        let exact = 3.708_149_354_602_744 * 60.0 * 40.0 * 80.0;
        assert!((exponent_four / exact - 1.0).abs() < 1e-5, "{exponent_four} {exact}");
    }

    /// A notch in the side view divides the shape into two; where it begins no level face is left between them, and
    /// every section is what its formula says: a rectangle less (4 − π)/4 r² at each round corner.
    #[test]
    fn what_divides_into_two_has_no_level_face_between() {
        let front = Region::rectangle(dvec2(-50.0, 0.0), dvec2(50.0, 100.0));
        let notch = [(-90.0, 0.0), (90.0, 0.0), (90.0, 100.0), (40.0, 100.0), (0.0, 50.0), (-40.0, 100.0)];
        let mut side: Vec<DVec2> = notch.map(DVec2::from).to_vec();
        side.push(dvec2(-90.0, 100.0));
        let side = Region::from_simple(side);
        let views = Views { front: &front, side: &side, above: None };
        let mesh =
            views.rounded(EdgeRounding::Radius(60.0), Tolerance::TOOL, &Cancel::new()).unwrap().0.to_mesh();
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
    fn holes_gaps_steps_and_ridges_make_closed_solids() {
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
            views.rounded(EdgeRounding::Exponent(2.5), Tolerance::PREVIEW, &Cancel::new()).unwrap().0,
            views.rounded(EdgeRounding::Radius(15.0), Tolerance::PREVIEW, &Cancel::new()).unwrap().0,
        ] {
            solid.to_mesh().check().unwrap();
        }
        // The integral of widths of the front times widths of the side, by hand.
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
