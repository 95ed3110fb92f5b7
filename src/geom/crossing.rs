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

use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2};

use super::{NotSolid, Region, Solid, Tolerance, TriMesh};

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

/// A face smaller than this is none, mm².
const LEAST_FACE: f64 = 1e-4;

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

/// Rows of a softened crossing lie at most this far apart, mm.
const ROW: f64 = 3.0;

/// Closed meshes, each over stretches that go on from height to height without a step.
fn towers(front: &Rows, side: &Rows, softening: Softening, tolerance: Tolerance) -> Vec<TriMesh> {
    let mut runs: Vec<Run> = Vec::new();
    for pair in front.beside(side) {
        match runs.iter_mut().find(|run| run.goes_on(&pair)) {
            Some(run) => run.bands.push(pair),
            None => runs.push(Run { bands: vec![pair], held: Vec::new() }),
        }
    }
    hold_corners(&mut runs, softening);
    let half = |ends: DVec2| (ends.y - ends.x) / 2.0;
    let widest =
        |view: &Rows| view.bands.iter().flat_map(|b| [half(b.at_low), half(b.at_high)]).fold(0.0, f64::max);
    let largest = dvec2(widest(front), widest(side)).min(DVec2::splat(softening.most()));
    let quarter = quarter(softening.exponent(), largest, tolerance);
    let stands = |run: &Run| {
        let foot = run.end(false).height;
        runs.iter().any(|below| (below.end(true).height - foot).abs() <= LEVEL)
    };
    runs.iter().map(|run| tower(&run.rows(softening, &quarter, stands(run)))).collect()
}

/// A stretch of the front with one of the side, over heights through which both go on.
struct Run {
    bands: Vec<(Band, Band)>,
    /// Corners that another run goes on from, which has room for less: so much roundness there, and so on.
    held: Vec<Held>,
}

/// A corner of a section, by its sides: left or right, front or back.
type Side4 = [bool; 2];

/// All corners of a section, counter-clockwise from the right of the back.
const SIDES: [Side4; 4] = [[true, true], [false, true], [false, false], [true, false]];

/// A corner that may be no rounder at a height than that of the run it meets there.
struct Held {
    corner: Side4,
    height: f64,
    radii: DVec2,
}

/// What stands on another run reaches so far into it, mm: solids that only touch are no one solid.
const ROOT: f64 = 0.01;
/// How fast corners may grow rounder with height, away from where they are held.
const GROWS: f64 = 2.0;
/// Ends that are closer than this are one, mm.
const SAME: f64 = 1e-6;

impl Run {
    fn goes_on(&self, (c, d): &(Band, Band)) -> bool {
        self.bands.last().is_some_and(|(a, b)| {
            (c.low - a.high).abs() <= LEVEL
                && a.at_high.distance(c.at_low) < SAME
                && b.at_high.distance(d.at_low) < SAME
        })
    }

    /// The lower (or upper) end: its height and the ends of both views there.
    fn end(&self, upper: bool) -> Section {
        let (a, b) = if upper { &self.bands[self.bands.len() - 1] } else { &self.bands[0] };
        if upper {
            Section { height: a.high, front: a.at_high, side: b.at_high }
        } else {
            Section { height: a.low, front: a.at_low, side: b.at_low }
        }
    }

    /// How round a corner is in both directions, mm.
    fn radii(&self, section: &Section, corner: Side4, softening: Softening) -> DVec2 {
        let own = softening.radii(section.half());
        let held = self.held.iter().filter(|held| held.corner == corner);
        held.fold(own, |radii, held| radii.min(held.radii + GROWS * (section.height - held.height).abs()))
    }

    /// The points of all rows, from the lowest up; one more below where it stands on another run.
    fn rows(&self, softening: Softening, quarter: &[DVec2], stands: bool) -> Vec<Vec<DVec3>> {
        let mut rows = Vec::new();
        if stands {
            let row = self.row(&self.end(false), softening, quarter);
            rows.push(row.into_iter().map(|p| p - DVec3::Z * ROOT).collect());
        }
        for (i, (a, b)) in self.bands.iter().enumerate() {
            let pieces = ((a.high - a.low) / ROW).ceil().max(1.0) as u32;
            for k in u32::from(i > 0)..=pieces {
                // The last exactly at its end, so that runs on each other touch.
                let share = f64::from(k) / f64::from(pieces);
                let height = if k == pieces { a.high } else { a.low + (a.high - a.low) * share };
                let section = Section { height, front: a.at(height), side: b.at(height) };
                rows.push(self.row(&section, softening, quarter));
            }
        }
        rows
    }

    fn row(&self, section: &Section, softening: Softening, quarter: &[DVec2]) -> Vec<DVec3> {
        let (middle, half) = (section.middle(), section.half());
        let corner = |(i, corner): (usize, &Side4)| {
            let radii = self.radii(section, *corner, softening);
            let towards = dvec2(if corner[0] { 1.0 } else { -1.0 }, if corner[1] { 1.0 } else { -1.0 });
            let point = |u: &DVec2| (middle + towards * (half - radii + radii * *u)).extend(section.height);
            let mut points: Vec<DVec3> = quarter.iter().map(point).collect();
            if i % 2 == 1 {
                points.reverse();
            }
            points
        };
        SIDES.iter().enumerate().flat_map(corner).collect()
    }
}

/// Between which ends both views lie at a height.
#[derive(Debug, Clone, Copy)]
struct Section {
    height: f64,
    /// Left and right.
    front: DVec2,
    /// Front and back.
    side: DVec2,
}

impl Section {
    fn middle(&self) -> DVec2 {
        dvec2(self.front.x + self.front.y, self.side.x + self.side.y) / 2.0
    }

    fn half(&self) -> DVec2 {
        let half = dvec2(self.front.y - self.front.x, self.side.y - self.side.x) / 2.0;
        // Narrower is an edge or a tip: mirrored points must fall together there.
        DVec2::select(half.cmpgt(DVec2::splat(SAME)), half, DVec2::ZERO)
    }

    fn holds(&self, p: DVec2) -> bool {
        ((p - self.middle()).abs() - self.half()).max_element() <= SAME
    }

    fn corner(&self, [right, back]: Side4) -> DVec2 {
        dvec2(if right { self.front.y } else { self.front.x }, if back { self.side.y } else { self.side.x })
    }
}

/// Where runs meet they are equally round: in a corner that both have, as the less round of the two; in one that only
/// one of them has and that lies in the other, not at all. So what parts into a head and a tail has no shelf where
/// they part.
fn hold_corners(runs: &mut [Run], softening: Softening) {
    let mut held: Vec<(usize, Held)> = Vec::new();
    for below in 0..runs.len() {
        for above in 0..runs.len() {
            let (top, bottom) = (runs[below].end(true), runs[above].end(false));
            if (top.height - bottom.height).abs() > LEVEL {
                continue;
            }
            for corner in SIDES {
                let height = top.height;
                if top.corner(corner).distance(bottom.corner(corner)) <= SAME {
                    let radii = softening.radii(top.half()).min(softening.radii(bottom.half()));
                    held.push((below, Held { corner, height, radii }));
                    held.push((above, Held { corner, height, radii }));
                    continue;
                }
                let radii = DVec2::ZERO;
                if bottom.holds(top.corner(corner)) {
                    held.push((below, Held { corner, height, radii }));
                }
                if top.holds(bottom.corner(corner)) {
                    held.push((above, Held { corner, height, radii }));
                }
            }
        }
    }
    for (run, held) in held {
        runs[run].held.push(held);
    }
}

impl Softening {
    fn exponent(self) -> f64 {
        match self {
            Self::Exponent(n) => n,
            Self::Corner(_) => 2.0,
        }
    }

    /// The most that a corner is rounded, mm.
    fn most(self) -> f64 {
        match self {
            Self::Exponent(_) => f64::INFINITY,
            Self::Corner(radius) => radius,
        }
    }

    /// How round the corners of a rectangle of half sizes `half` are in both directions, mm.
    fn radii(self, half: DVec2) -> DVec2 {
        match self {
            Self::Exponent(_) => half,
            Self::Corner(radius) => DVec2::splat(radius.min(half.min_element())),
        }
    }
}

/// Points of a corner of radii 1, from straight right to straight up.
fn quarter(exponent: f64, largest: DVec2, tolerance: Tolerance) -> Vec<DVec2> {
    let point = |angle: f64| {
        let d = DVec2::from_angle(angle);
        d / (d.x.abs().powf(exponent) + d.y.abs().powf(exponent)).powf(1.0 / exponent)
    };
    fine_angles(point, largest, tolerance)
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
        if super::region::signed_area(&outline) <= LEAST_FACE {
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
