//! Two silhouettes crossed: what lies inside a front view, a side view and, if given, an outline from
//! above, all carried straight through.
//!
//! A front view holds points (right, up), a side view points (back, up), an outline from above points
//! (right, back). The plain crossing has edges where two views meet; a softened one has rounded sections at
//! every height: either one between the outermost widths of both views, out of which holes and gaps are cut
//! straight through, or one for each stretch of the front with each of the side.
//!
//! With one upright axis the plain crossing holds ∫ w_front(z)·w_side(z) dz, w being the width of a view at
//! height z; this is what its tests are held to.

use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2};

use super::{Region, Solid, Tolerance, TriMesh};

/// How the upright edges of a crossing are softened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Softening {
    /// Every level section is a superellipse |x/a|ⁿ + |y/b|ⁿ = 1 of this exponent: 2 is an ellipse, more is
    /// squarer. Holes and gaps of the views go straight through it.
    Exponent(f64),
    /// Every level section is a rectangle with corners of this radius, mm, or as much of it as fits; one for
    /// each stretch that a view shows at that height.
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
    pub fn softened(&self, softening: Softening, tolerance: Tolerance) -> Solid {
        let whole = matches!(softening, Softening::Exponent(_));
        let (front, side) = (Rows::of(self.front, whole), Rows::of(self.side, whole));
        let solids: Vec<Solid> = runs(&front, &side, softening, tolerance)
            .iter()
            .map(|mesh| Solid::from_mesh(mesh).unwrap_or_else(|_| Solid::empty()))
            .collect();
        let mut solid = Solid::union_all(&solids);
        if whole {
            let (front_gaps, side_gaps) = (front.gaps(self.front), side.gaps(self.side));
            if front_gaps.area() > LEAST_GAP {
                solid = solid.difference(&along_y(&front_gaps, self.side));
            }
            if side_gaps.area() > LEAST_GAP {
                solid = solid.difference(&along_x(&side_gaps, self.front));
            }
        }
        self.cut_above(solid)
    }

    fn cut_above(&self, solid: Solid) -> Solid {
        let Some((above, (lo, hi))) = self.above.zip(solid.bounds()) else { return solid };
        solid.intersection(&Solid::prism(above, lo.z - CLEAR, hi.z + CLEAR))
    }
}

/// Gaps smaller than this are round-off, mm².
const LEAST_GAP: f64 = 1e-4;

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

/// The stretches of a view at every height, or one from its leftmost to its rightmost point.
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
    fn of(view: &Region, whole: bool) -> Self {
        let mut levels: Vec<f64> = view.contours().iter().flatten().map(|p| p.y).collect();
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|b, a| *b - *a < LEVEL);
        let row = |y: f64| {
            let row = view.row(y);
            match (row.first(), row.last()) {
                (Some(first), Some(last)) if whole => vec![(first.0, last.1)],
                _ => row,
            }
        };
        let between = |pair: &[f64]| {
            // Looked up inside the band, where no edge begins or ends, and carried on to its ends.
            let (low, high) = (pair[0], pair[1]);
            let (a, b) = (row(low + (high - low) * 0.25), row(low + (high - low) * 0.75));
            let band = move |((a0, a1), (b0, b1)): ((f64, f64), (f64, f64))| {
                let (a, b) = (dvec2(a0, a1), dvec2(b0, b1));
                Band { low, high, at_low: a + (a - b) / 2.0, at_high: b + (b - a) / 2.0 }
            };
            a.into_iter().zip(b).map(band).collect::<Vec<_>>()
        };
        Self { bands: levels.windows(2).flat_map(between).collect() }
    }

    /// What the bands hold and `view` does not.
    fn gaps(&self, view: &Region) -> Region {
        let trapezoid = |b: &Band| {
            vec![
                dvec2(b.at_low.x, b.low),
                dvec2(b.at_low.y, b.low),
                dvec2(b.at_high.y, b.high),
                dvec2(b.at_high.x, b.high),
            ]
        };
        Region::new(self.bands.iter().map(trapezoid).collect()).difference(view)
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

/// Rows of a softened crossing lie at most this far apart, mm.
const ROW: f64 = 3.0;

/// Closed meshes, each over stretches that go on from height to height without a step.
fn runs(front: &Rows, side: &Rows, softening: Softening, tolerance: Tolerance) -> Vec<TriMesh> {
    /// Ends that are closer than this go on without a step, mm.
    const STEP: f64 = 1e-6;
    let half = |ends: DVec2| (ends.y - ends.x) / 2.0;
    let widest =
        |view: &Rows| view.bands.iter().flat_map(|b| [half(b.at_low), half(b.at_high)]).fold(0.0, f64::max);
    let ring = Ring::new(softening, widest(front), widest(side), tolerance);
    let goes_on = |(a, b): &(Band, Band), (c, d): &(Band, Band)| {
        (c.low - a.high).abs() <= LEVEL
            && a.at_high.distance(c.at_low) < STEP
            && b.at_high.distance(d.at_low) < STEP
    };
    let mut runs: Vec<Vec<(Band, Band)>> = Vec::new();
    for pair in front.beside(side) {
        let ends_here = |run: &&mut Vec<(Band, Band)>| run.last().is_some_and(|last| goes_on(last, &pair));
        match runs.iter_mut().find(ends_here) {
            Some(run) => run.push(pair),
            None => runs.push(vec![pair]),
        }
    }
    let rows = |run: &Vec<(Band, Band)>| {
        let mut rows = Vec::new();
        for (i, (a, b)) in run.iter().enumerate() {
            let pieces = ((a.high - a.low) / ROW).ceil().max(1.0) as u32;
            let first = u32::from(i > 0);
            rows.extend((first..=pieces).map(|k| {
                let z = a.low + (a.high - a.low) * f64::from(k) / f64::from(pieces);
                ring.row(a.at(z), b.at(z), z)
            }));
        }
        rows
    };
    runs.iter().map(|run| tower(&rows(run))).collect()
}

/// Points round a section, the same in number at every height.
struct Ring {
    /// For an exponent the points of the ellipse of half widths 1; for a corner the points of a quarter circle.
    unit: Vec<DVec2>,
    corner: Option<f64>,
}

impl Ring {
    fn new(softening: Softening, a: f64, b: f64, tolerance: Tolerance) -> Self {
        match softening {
            Softening::Exponent(n) => {
                let point = |angle: f64| {
                    let d = DVec2::from_angle(angle);
                    d / (d.x.abs().powf(n) + d.y.abs().powf(n)).powf(1.0 / n)
                };
                let quarter = fine_angles(point, dvec2(a, b), tolerance);
                let all = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)];
                let unit = all.iter().enumerate().flat_map(|(i, &(x, y))| {
                    // Every quarter from its own first point on, the last left to the next quarter.
                    let mirrored = move |p: &DVec2| dvec2(p.x * x, p.y * y);
                    let mut points: Vec<DVec2> = quarter.iter().map(mirrored).collect();
                    if i % 2 == 1 {
                        points.reverse();
                    }
                    points.pop();
                    points
                });
                Self { unit: unit.collect(), corner: None }
            }
            Softening::Corner(radius) => {
                let steps = (tolerance.segments(radius.min(a).min(b)) / 4).max(1);
                let angle = |k: u32| std::f64::consts::FRAC_PI_2 * f64::from(k) / f64::from(steps);
                let mut unit: Vec<DVec2> = (0..=steps).map(|k| DVec2::from_angle(angle(k))).collect();
                // Straight up exactly, so that mirrored points meet.
                unit[steps as usize] = DVec2::Y;
                Self { unit, corner: Some(radius) }
            }
        }
    }

    /// The section between the ends of both views at height `z`.
    fn row(&self, front: DVec2, side: DVec2, z: f64) -> Vec<DVec3> {
        let middle = dvec2(front.x + front.y, side.x + side.y) / 2.0;
        let half = (dvec2(front.y - front.x, side.y - side.x) / 2.0).max(DVec2::ZERO);
        let Some(corner) = self.corner else {
            return self.unit.iter().map(|u| (middle + half * *u).extend(z)).collect();
        };
        let radius = corner.min(half.min_element());
        let straight = half - radius;
        let turns = [DVec2::X, DVec2::Y, DVec2::NEG_X, DVec2::NEG_Y];
        let points = turns.iter().flat_map(|turn| {
            self.unit.iter().map(move |u| {
                let direction = turn.rotate(*u);
                let side = turn.rotate(DVec2::ONE);
                middle + straight * side + radius * direction
            })
        });
        points.map(|p| p.extend(z)).collect()
    }
}

/// Points of a quarter of a curve from straight right to straight up, as many as keep it within `tolerance` once it
/// is stretched by `by`.
fn fine_angles(point: impl Fn(f64) -> DVec2, by: DVec2, tolerance: Tolerance) -> Vec<DVec2> {
    /// Pieces that are always made, and the most.
    const PIECES: (u32, usize) = (8, 4096);
    let last = std::f64::consts::FRAC_PI_2;
    let at = |angle: f64| {
        if angle == 0.0 {
            DVec2::X
        } else if angle == last {
            DVec2::Y
        } else {
            point(angle)
        }
    };
    let mut ends: Vec<f64> =
        (1..=PIECES.0).rev().map(|k| last * f64::from(k) / f64::from(PIECES.0)).collect();
    let mut from = 0.0;
    let mut points = vec![DVec2::X];
    while let Some(&to) = ends.last() {
        let middle = (from + to) / 2.0;
        let off = super::region::distance_to_segment(at(middle) * by, at(from) * by, at(to) * by);
        if off > tolerance.chord_mm() && points.len() + ends.len() < PIECES.1 {
            ends.push(middle);
        } else {
            points.push(at(to));
            from = to;
            ends.pop();
        }
    }
    points
}

/// The closed mesh through rows of equally many points, from the lowest to the highest, each counter-clockwise and
/// convex. Rows may shrink to a line or a point at the ends.
fn tower(rows: &[Vec<DVec3>]) -> TriMesh {
    let Some(count) = rows.first().map(Vec::len) else { return TriMesh::default() };
    let mut mesh = TriMesh { positions: rows.concat(), triangles: Vec::new() };
    let vertex = |row: usize, i: usize| (row * count + i % count) as u32;
    for row in 1..rows.len() {
        for i in 0..count {
            let [a, b] = [vertex(row - 1, i), vertex(row - 1, i + 1)];
            let [c, d] = [vertex(row, i + 1), vertex(row, i)];
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    for (row, up) in [(0, false), (rows.len() - 1, true)] {
        let outline: Vec<DVec2> = rows[row].iter().map(|p| p.truncate()).collect();
        if super::region::signed_area(&outline) <= LEAST_GAP {
            continue;
        }
        let middle = rows[row].iter().sum::<DVec3>() / count as f64;
        let centre = mesh.positions.len() as u32;
        mesh.positions.push(middle);
        for i in 0..count {
            let (a, b) = (vertex(row, i), vertex(row, i + 1));
            mesh.triangles.push(if up { [centre, a, b] } else { [centre, b, a] });
        }
    }
    mesh.welded()
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
        let exact: f64 = Rows::of(&circle, true)
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
        let ball = views.softened(Softening::Exponent(2.0), fine);
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
        let rounded = views.softened(Softening::Corner(20.0), fine).volume();
        let exact = (120.0 * 80.0 - (4.0 - PI) * 400.0) * 80.0;
        assert!((rounded / exact - 1.0).abs() < 1e-5, "{rounded} {exact}");
        let super_four = views.softened(Softening::Exponent(4.0), fine).volume();
        let exact = 3.708_149_354_602_744 * 60.0 * 40.0 * 80.0;
        assert!((super_four / exact - 1.0).abs() < 1e-5, "{super_four} {exact}");
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
            views.softened(Softening::Exponent(2.5), Tolerance::PREVIEW),
            views.softened(Softening::Corner(15.0), Tolerance::PREVIEW),
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
