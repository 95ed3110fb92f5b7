//! Level outlines at heights, joined into one solid.
//!
//! Every outline is divided at its foremost, rightmost, hindmost and leftmost point, and between these by arc length;
//! points of equal parameter are joined by straight lines, or by curves that run smoothly through all outlines. So a
//! circle over a square meets its sides in the middle and its corners half way between, and corners of outlines stay
//! corners of the solid.

use glam::{DVec2, DVec3, dvec2};

use super::{Cancel, Cancelled, Region, Tolerance, TriMesh, region::signed_area, ruled::ruled};

/// An outline at a height.
#[derive(Debug, Clone, PartialEq)]
pub struct LoftSection {
    /// Height, mm.
    pub height: f64,
    /// Its corners (right, back), mm, in either direction; a single point for a tip.
    pub outline: Vec<DVec2>,
}

/// Why outlines make no solid.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LoftError {
    /// Fewer than two outlines.
    #[error("one outline alone makes no solid")]
    TooFew,
    /// An outline lies no higher than the one before it.
    #[error("the outline at height {height:.1} mm lies no higher than the one before it")]
    NotRising {
        /// Index in the list, from 0.
        index: usize,
        /// Its height, mm.
        height: f64,
    },
    /// An outline that encloses nothing, or a tip between two others.
    #[error("the outline at height {height:.1} mm encloses nothing")]
    Empty {
        /// Index in the list, from 0.
        index: usize,
        /// Its height, mm.
        height: f64,
    },
    /// The work was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// Between two outlines the surface would intersect itself.
    #[error("the surface between heights {low:.1} and {high:.1} mm would run through itself")]
    IntersectsItself {
        /// Index of the upper outline in the list, from 0.
        index: usize,
        /// Height of the lower one, mm.
        low: f64,
        /// Height of the upper one, mm.
        high: f64,
    },
}

/// The solid through `sections`, from the lowest to the highest; `smooth` joins them by curves within `tolerance`.
///
/// # Errors
/// When the outlines do not rise, enclose nothing, or cannot be joined without the surface intersecting itself; and
/// once `cancel` asks to stop.
pub fn loft(
    sections: &[LoftSection],
    smooth: bool,
    tolerance: Tolerance,
    cancel: &Cancel,
) -> Result<TriMesh, LoftError> {
    check(sections)?;
    let outlines: Vec<Parametrised> =
        sections.iter().map(|section| Parametrised::new(&section.outline)).collect();
    let mut parameters: Vec<f64> = outlines.iter().flat_map(Parametrised::parameters).collect();
    parameters.sort_by(f64::total_cmp);
    parameters.dedup_by(|b, a| *b - *a < SAME_PARAMETER);
    let given: Vec<Vec<DVec3>> = outlines
        .iter()
        .zip(sections)
        .map(|(o, section)| parameters.iter().map(|t| o.at(*t).extend(section.height)).collect())
        .collect();
    let rows = if smooth { smoothed(&given, tolerance) } else { with_rows_between(&given) };
    refuse_crossings(&rows, sections, cancel)?;
    Ok(ruled(&rows, cancel)?)
}

/// Parameters of an outline nearer than this are equal.
const SAME_PARAMETER: f64 = 1e-6;
/// An outline of less area encloses nothing, mm².
const LEAST_AREA: f64 = 1e-3;

fn check(sections: &[LoftSection]) -> Result<(), LoftError> {
    if sections.len() < 2 {
        return Err(LoftError::TooFew);
    }
    for (index, section) in sections.iter().enumerate() {
        let height = section.height;
        if index > 0 && height <= sections[index - 1].height {
            return Err(LoftError::NotRising { index, height });
        }
        let is_end = index == 0 || index + 1 == sections.len();
        let is_tip = section.outline.len() == 1 && is_end;
        let inside = Region::even_odd(vec![section.outline.clone()]);
        let crosses = (inside.area() - signed_area(&section.outline).abs()).abs() > LEAST_AREA;
        if !is_tip && (inside.area() < LEAST_AREA || crosses) {
            return Err(LoftError::Empty { index, height });
        }
    }
    Ok(())
}

/// An outline with a parameter at every corner: 0 foremost, 1 rightmost, 2 hindmost, 3 leftmost, between these in
/// proportion to arc length. A corner that is two of these has all parameters between them.
struct Parametrised {
    /// Parameters, rising from 0 to 4, each with its point.
    knots: Vec<(f64, DVec2)>,
}

impl Parametrised {
    fn new(outline: &[DVec2]) -> Self {
        if let [tip] = outline {
            return Self { knots: vec![(0.0, *tip), (4.0, *tip)] };
        }
        let mut points = outline.to_vec();
        if signed_area(&points) < 0.0 {
            points.reverse();
        }
        let ends: Vec<DVec2> = [dvec2(0.0, -1.0), dvec2(1.0, 0.0), dvec2(0.0, 1.0), dvec2(-1.0, 0.0)]
            .map(|direction| furthest(&mut points, direction))
            .to_vec();
        let foremost = points.iter().position(|p| *p == ends[0]).unwrap_or(0);
        points.rotate_left(foremost);
        let n = points.len();
        let mut starts = vec![0];
        for end in &ends[1..] {
            let index = points.iter().position(|p| p == end).unwrap_or(0);
            // A corner that is foremost as well as leftmost ends the outline.
            starts.push(if index < starts[starts.len() - 1] { n } else { index });
        }
        starts.push(n);
        let mut knots = Vec::with_capacity(n + 5);
        for quarter in 0..4 {
            let (first, last) = (starts[quarter], starts[quarter + 1]);
            let step = |i: usize| points[i % n].distance(points[(i + 1) % n]);
            let length: f64 = (first..last).map(step).sum();
            knots.push((quarter as f64, points[first % n]));
            let mut along = 0.0;
            for i in first..last.saturating_sub(1) {
                along += step(i);
                knots.push((quarter as f64 + along / length, points[i + 1]));
            }
        }
        knots.push((4.0, points[0]));
        Self { knots }
    }

    /// The parameters of its corners, from 0 to below 4.
    fn parameters(&self) -> impl Iterator<Item = f64> + '_ {
        self.knots[..self.knots.len() - 1].iter().map(|(parameter, _)| *parameter)
    }

    /// The point at a parameter.
    fn at(&self, t: f64) -> DVec2 {
        let next =
            self.knots.partition_point(|(s, _)| *s <= t + SAME_PARAMETER).clamp(1, self.knots.len() - 1);
        let ((from, a), (to, b)) = (self.knots[next - 1], self.knots[next]);
        if a == b {
            // Exactly: points at the same position become one.
            return a;
        }
        a.lerp(b, ((t - from) / (to - from)).clamp(0.0, 1.0))
    }
}

/// The point of a counter-clockwise outline that is furthest in a direction; the middle of an edge where a whole edge
/// is, which then gets a corner there.
fn furthest(points: &mut Vec<DVec2>, direction: DVec2) -> DVec2 {
    /// Corners no further apart in the direction lie equally far, mm.
    const EQUAL: f64 = 1e-9;
    let most = points.iter().map(|p| p.dot(direction)).fold(f64::NEG_INFINITY, f64::max);
    let n = points.len();
    let is_far = |p: DVec2| p.dot(direction) > most - EQUAL;
    let edge = (0..n).find(|&i| is_far(points[i]) && is_far(points[(i + 1) % n]));
    match edge {
        Some(i) => {
            let middle = (points[i] + points[(i + 1) % n]) / 2.0;
            points.insert(i + 1, middle);
            middle
        }
        None => points.iter().copied().find(|p| is_far(*p)).unwrap_or_default(),
    }
}

/// Straight joins, with rows between where the directions of matching edges differ: the ruled surface between edges
/// that are not parallel is curved, and two triangles alone would not follow it.
fn with_rows_between(given: &[Vec<DVec3>]) -> Vec<Vec<DVec3>> {
    /// Rows lie at most this far apart, mm.
    const ROW: f64 = 4.0;
    /// Edges whose directions differ by less than this are parallel (sine of the angle).
    const PARALLEL: f64 = 1e-9;
    let mut rows = vec![given[0].clone()];
    for pair in given.windows(2) {
        let (low, high) = (&pair[0], &pair[1]);
        let n = low.len();
        let curved = (0..n).any(|i| {
            let (a, b) = (low[(i + 1) % n] - low[i], high[(i + 1) % n] - high[i]);
            a.cross(b).length() > PARALLEL * a.length() * b.length()
        });
        let pieces = if curved { ((high[0].z - low[0].z) / ROW).ceil().max(1.0) as u32 } else { 1 };
        for k in 1..=pieces {
            let t = f64::from(k) / f64::from(pieces);
            let z = low[0].z + (high[0].z - low[0].z) * t;
            let at = |(a, b): (&DVec3, &DVec3)| a.lerp(*b, t).with_z(z);
            rows.push(if k == pieces { high.clone() } else { low.iter().zip(high).map(at).collect() });
        }
    }
    rows
}

/// Curves through the points of equal parameter: cubic Hermite pieces whose slope at each outline is that from the
/// one below to the one above (Catmull–Rom).
fn smoothed(given: &[Vec<DVec3>], tolerance: Tolerance) -> Vec<Vec<DVec3>> {
    /// Rows between two outlines, at least and at most.
    const ROWS: (f64, f64) = (2.0, 64.0);
    let count = given.len();
    // Sideways movement for each mm upwards.
    let slope = |k: usize, i: usize| {
        let (below, above) = (given[k.saturating_sub(1)][i], given[(k + 1).min(count - 1)][i]);
        (above - below).truncate() / (above.z - below.z)
    };
    let mut rows = vec![given[0].clone()];
    for k in 0..count - 1 {
        let (low, high) = (given[k][0].z, given[k + 1][0].z);
        let rise = high - low;
        // A cubic with these ends strays from its chord by no more than an eighth of what the slopes differ.
        let stray = (0..given[k].len())
            .map(|i| {
                let chord = (given[k + 1][i] - given[k][i]).truncate() / rise;
                ((slope(k, i) - chord).length() + (slope(k + 1, i) - chord).length()) * rise / 8.0
            })
            .fold(0.0, f64::max);
        let pieces = (stray / tolerance.chord_mm()).sqrt().ceil().clamp(ROWS.0, ROWS.1) as u32;
        for piece in 1..=pieces {
            let t = f64::from(piece) / f64::from(pieces);
            let (t2, t3) = (t * t, t * t * t);
            let row = (0..given[k].len()).map(|i| {
                let (a, b) = (given[k][i].truncate(), given[k + 1][i].truncate());
                let flat = a * (2.0 * t3 - 3.0 * t2 + 1.0)
                    + slope(k, i) * rise * (t3 - 2.0 * t2 + t)
                    + b * (3.0 * t2 - 2.0 * t3)
                    + slope(k + 1, i) * rise * (t3 - t2);
                flat.extend(low + rise * t)
            });
            rows.push(if piece == pieces { given[k + 1].clone() } else { row.collect() });
        }
    }
    rows
}

/// The surface intersects itself where a row does, or runs clockwise.
fn refuse_crossings(rows: &[Vec<DVec3>], sections: &[LoftSection], cancel: &Cancel) -> Result<(), LoftError> {
    for row in &rows[1..rows.len() - 1] {
        cancel.check()?;
        let flat: Vec<DVec2> = row.iter().map(|p| p.truncate()).collect();
        let around = signed_area(&flat);
        let covered = Region::even_odd(vec![flat]).area();
        if (around - covered).abs() > 1e-6 * around.abs() + LEAST_AREA {
            let index =
                sections.partition_point(|section| section.height < row[0].z).clamp(1, sections.len() - 1);
            return Err(LoftError::IntersectsItself {
                index,
                low: sections[index - 1].height,
                high: sections[index].height,
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::revolve::polygon_factor;

    fn circle(radius: f64, middle: DVec2) -> Vec<DVec2> {
        (0..256).map(|i| middle + radius * DVec2::from_angle(2.0 * PI * f64::from(i) / 256.0)).collect()
    }

    fn section(height: f64, outline: Vec<DVec2>) -> LoftSection {
        LoftSection { height, outline }
    }

    /// Cone and frustum against the handbook figures (2.1 of the check values: CRC Standard Mathematical Tables),
    /// with the part of the circle's area that 256 chords enclose.
    #[test]
    fn a_cone_and_a_frustum_hold_what_the_handbook_says() {
        let cone = [section(0.0, circle(100.0, DVec2::ZERO)), section(300.0, vec![DVec2::ZERO])];
        let frustum = [section(0.0, circle(100.0, DVec2::ZERO)), section(120.0, circle(60.0, DVec2::ZERO))];
        for (levels, volume, centroid) in
            [(&cone, 3_141_592.653_59, 75.0), (&frustum, 2_463_008.640_41, 50.204_081_6)]
        {
            let mesh = loft(levels, false, Tolerance::TOOL, &Cancel::new()).unwrap();
            mesh.check().unwrap();
            let measured = mesh.mass_properties();
            assert!((measured.volume / (volume * polygon_factor(256)) - 1.0).abs() < 1e-9, "{measured:?}");
            assert!((measured.centroid.z - centroid).abs() < 1e-6, "{measured:?}");
        }
    }

    /// A leaning cylinder holds as much as an upright one (Cavalieri), smooth or not.
    #[test]
    fn a_leaning_cylinder_holds_as_much_as_an_upright_one() {
        let leaning = |z: f64| section(z, circle(50.0, dvec2(z / 4.0, 0.0)));
        let levels = [leaning(0.0), leaning(30.0), leaning(100.0)];
        for smooth in [false, true] {
            let mesh = loft(&levels, smooth, Tolerance::TOOL, &Cancel::new()).unwrap();
            mesh.check().unwrap();
            let exact = PI * 2500.0 * 100.0 * polygon_factor(256);
            assert!((mesh.volume() / exact - 1.0).abs() < 1e-9, "{}", mesh.volume());
        }
    }

    /// Two like rectangles make a frustum of a pyramid: h/3 (A + B + √(AB)), 2 613 333.333 for 200 → 120 over 100
    /// (2.1 of the check values).
    #[test]
    fn corners_stay_corners() {
        let square = |s: f64| {
            vec![dvec2(-s, -s), dvec2(s, -s), dvec2(s, s), dvec2(-s, s)]
                .into_iter()
                .map(|p| p / 2.0)
                .collect()
        };
        let mesh = loft(
            &[section(0.0, square(200.0)), section(100.0, square(120.0))],
            false,
            Tolerance::TOOL,
            &Cancel::new(),
        )
        .unwrap();
        mesh.check().unwrap();
        assert!((mesh.volume() - 2_613_333.333_333).abs() < 1e-3, "{}", mesh.volume());
        assert!(mesh.positions.iter().any(|p| *p == DVec3::new(100.0, 100.0, 0.0)));
    }

    /// A corner that is foremost and rightmost, or leftmost and hindmost, takes a whole quarter of the outline above it:
    /// over such a triangle every section is closed, and half way up it is the mean of the two (Minkowski sums of
    /// matched points).
    #[test]
    fn a_corner_may_be_furthest_in_two_directions() {
        let corners = [dvec2(40.0, -30.0), dvec2(10.0, 50.0), dvec2(-60.0, 5.0)];
        for turn in 0..8 {
            let by = DVec2::from_angle(f64::from(turn) * PI / 4.0);
            let triangle: Vec<DVec2> = corners.iter().map(|p| by.rotate(*p)).collect();
            for (below, above) in
                [(triangle.clone(), circle(70.0, DVec2::ZERO)), (circle(70.0, DVec2::ZERO), triangle)]
            {
                let levels = [section(0.0, below), section(80.0, above)];
                let mesh = loft(&levels, false, Tolerance::TOOL, &Cancel::new()).unwrap();
                mesh.check().unwrap();
                let [low, middle, high] = [1e-6, 40.0, 80.0 - 1e-6].map(|z| mesh.section(z).area());
                assert!(middle > low.min(high) && middle < low.max(high), "{turn}: {low} {middle} {high}");
            }
        }
        let square = Parametrised::new(&[dvec2(9.0, -9.0), dvec2(0.0, 1.0), dvec2(-9.0, -3.0)]);
        assert_eq!(square.at(0.5), dvec2(9.0, -9.0), "foremost and rightmost");
        assert_eq!(square.at(1.0), dvec2(9.0, -9.0));
        assert_eq!(square.at(2.0), dvec2(0.0, 1.0));
        assert_eq!(square.at(3.0), dvec2(-9.0, -3.0));
    }

    #[test]
    fn a_loft_is_stopped() {
        let wavy = |z: f64| {
            let point = |i: u32| {
                let angle = 2.0 * PI * f64::from(i) / 300.0;
                (50.0 + 4.0 * DVec2::from_angle(9.0 * angle + z).y) * DVec2::from_angle(angle)
            };
            section(z, (0..300).map(point).collect())
        };
        let sections: Vec<LoftSection> = (0..6).map(|k| wavy(20.0 * f64::from(k))).collect();
        let fine = Tolerance::new(1e-3).unwrap();
        crate::test_cancelling::assert_stops(
            |cancel| loft(&sections, true, fine, cancel),
            |mesh| {
                mesh.check().unwrap();
            },
        );
    }

    #[test]
    fn what_makes_no_solid_is_refused_with_its_height() {
        let round = |z: f64| section(z, circle(50.0, DVec2::ZERO));
        let loft = |levels: &[LoftSection]| loft(levels, false, Tolerance::TOOL, &Cancel::new()).unwrap_err();
        assert_eq!(loft(&[round(0.0)]), LoftError::TooFew);
        assert_eq!(loft(&[round(0.0), round(0.0)]), LoftError::NotRising { index: 1, height: 0.0 });
        let tip = section(20.0, vec![DVec2::ZERO]);
        assert_eq!(loft(&[round(0.0), tip, round(40.0)]), LoftError::Empty { index: 1, height: 20.0 });
    }
}
