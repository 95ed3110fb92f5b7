//! Part of a turned solid between two of its meridians.
//!
//! Where a cut or an add touches a turned solid in one place, only what stands there need go through a
//! boolean: a wedge with the meridians of the whole ([`super::revolve`]), closed by its section at both
//! ends.

use glam::DVec3;
use manifold_rust::{linalg::Vec2, polygon};

use super::{
    Region, TriMesh,
    revolve::{bearing_of, direction},
};

/// Bearings from `middle` − `half` to `middle` + `half`, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    middle: f64,
    half: f64,
}

impl Arc {
    /// All the way round.
    pub const FULL: Self = Self { middle: 0.0, half: 180.0 };

    /// An arc about the bearing `middle`, no wider than all the way round.
    pub fn new(middle: f64, half: f64) -> Self {
        Self { middle: middle.rem_euclid(360.0), half: half.min(180.0) }
    }

    /// The least arc about the middle of `points` that holds them, seen from above; all the way round if
    /// their bounding box holds the axis.
    pub fn around(points: &[DVec3]) -> Self {
        let Some(&first) = points.first() else { return Self::new(0.0, 0.0) };
        let (lo, hi) = points.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p)));
        if lo.x <= 0.0 && lo.y <= 0.0 && hi.x >= 0.0 && hi.y >= 0.0 {
            return Self::FULL;
        }
        let middle = bearing_of(((lo + hi) / 2.0).truncate());
        let from_middle = points.iter().map(|p| turn(bearing_of(p.truncate()), middle));
        let (least, most) =
            from_middle.fold((0.0f64, 0.0f64), |(least, most), t| (least.min(t), most.max(t)));
        Self::new(middle + (least + most) / 2.0, (most - least) / 2.0)
    }

    /// Whether it goes all the way round.
    pub fn is_full(self) -> bool {
        self.half >= 180.0
    }

    /// Whether a bearing lies in it.
    pub fn holds(self, bearing: f64) -> bool {
        turn(bearing, self.middle).abs() <= self.half
    }

    /// Whether two arcs meet.
    pub fn meets(self, other: Self) -> bool {
        turn(other.middle, self.middle).abs() <= self.half + other.half
    }

    /// The least run of meridians, out of `n`, that holds the arc and one more at each end: the first and
    /// how many steps on the last; all the way round where nearly all are needed.
    pub fn meridians(self, n: u32) -> Meridians {
        let step = 360.0 / f64::from(n);
        let first = ((self.middle - self.half) / step).floor() as i64 - 1;
        let last = ((self.middle + self.half) / step).ceil() as i64 + 1;
        let steps = (last - first) as u32;
        // Past three quarters the whole is no dearer and has no ends.
        if self.is_full() || 4 * steps > 3 * n {
            return Meridians { of: n, first: 0, steps: n };
        }
        Meridians { of: n, first: first.rem_euclid(i64::from(n)) as u32, steps }
    }
}

/// The angle from bearing `from` to bearing `to`, between −180 and 180 degrees.
pub fn turn(to: f64, from: f64) -> f64 {
    (to - from + 180.0).rem_euclid(360.0) - 180.0
}

/// A run of meridians.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meridians {
    /// How many there are all the way round.
    pub of: u32,
    /// The first of the run.
    pub first: u32,
    /// How many steps on the last one stands; as many as there are for all the way round.
    pub steps: u32,
}

impl Meridians {
    /// Whether the run goes all the way round.
    pub fn is_full(self) -> bool {
        self.steps >= self.of
    }

    fn direction(self, meridian: u32) -> DVec3 {
        direction(meridian % self.of, self.of).extend(0.0)
    }
}

/// The part of `section` turned about the axis that lies between the ends of `run`, as a closed mesh. Its
/// meridians are those of [`super::revolve::revolve`].
pub fn wedge(section: &Region, run: Meridians) -> TriMesh {
    if run.is_full() {
        return super::revolve::revolve(section, run.of);
    }
    let directions: Vec<DVec3> = (0..=run.steps).map(|k| run.direction(run.first + k)).collect();
    let mut mesh = TriMesh::default();
    // The first vertex of each point, in the order that the triangulation counts them.
    let mut starts = Vec::new();
    for contour in section.contours() {
        let from = starts.len();
        for p in contour {
            starts.push(mesh.positions.len() as u32);
            let up = DVec3::Z * p.y;
            if p.x <= 0.0 {
                mesh.positions.push(up);
            } else {
                mesh.positions.extend(directions.iter().map(|d| *d * p.x + up));
            }
        }
        for i in 0..contour.len() {
            let j = (i + 1) % contour.len();
            join(&mut mesh, run.steps, (starts[from + i], contour[i].x), (starts[from + j], contour[j].x));
        }
    }
    close(&mut mesh, section, run.steps, &starts);
    mesh
}

/// Joins the vertices of one section point to those of the next; each is its first vertex and radius.
fn join(mesh: &mut TriMesh, steps: u32, (a, a_radius): (u32, f64), (b, b_radius): (u32, f64)) {
    for k in 0..steps {
        match (a_radius > 0.0, b_radius > 0.0) {
            (false, false) => {}
            (true, false) => mesh.triangles.push([a + k, a + k + 1, b]),
            (false, true) => mesh.triangles.push([a, b + k + 1, b + k]),
            (true, true) => {
                mesh.triangles.push([a + k, a + k + 1, b + k + 1]);
                mesh.triangles.push([a + k, b + k + 1, b + k]);
            }
        }
    }
}

/// Closes both ends of a wedge with its section.
fn close(mesh: &mut TriMesh, section: &Region, steps: u32, starts: &[u32]) {
    let points: Vec<_> = section.contours().iter().flatten().collect();
    let polygons =
        section.contours().iter().map(|c| c.iter().map(|p| Vec2::new(p.x, p.y)).collect()).collect();
    for t in polygon::triangulate(&polygons, -1.0, true) {
        let corners = [t.x, t.y, t.z].map(|i| i as usize);
        let first = corners.map(|i| starts[i]);
        let last = corners.map(|i| if points[i].x > 0.0 { starts[i] + steps } else { starts[i] });
        mesh.triangles.push(first);
        mesh.triangles.push([last[0], last[2], last[1]]);
    }
}

#[cfg(test)]
mod tests {
    use glam::{dvec2, dvec3};

    use super::*;
    use crate::revolve::revolve;

    /// A quarter of all meridians holds a quarter of the mesh, wherever it begins; a hole, a notch and an
    /// edge on the axis are no hindrance.
    #[test]
    fn a_wedge_holds_its_share() {
        let whole = Region::rectangle(dvec2(0.0, 0.0), dvec2(60.0, 40.0));
        let hole = whole.difference(&Region::rectangle(dvec2(20.0, 10.0), dvec2(30.0, 30.0)));
        let notch = whole.difference(&Region::rectangle(dvec2(-1.0, -1.0), dvec2(50.0, 30.0)));
        for section in [whole, hole, notch] {
            let whole = revolve(&section, 64).volume();
            for first in [0, 5, 60] {
                let part = wedge(&section, Meridians { of: 64, first, steps: 16 });
                part.check().unwrap();
                assert!((part.volume() / whole - 0.25).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn arcs_meet_across_the_front() {
        let (left, right) = (Arc::new(350.0, 15.0), Arc::new(20.0, 20.0));
        assert!(left.meets(right) && !left.meets(Arc::new(180.0, 100.0)));
        assert!(left.holds(336.0) && left.holds(4.0) && !left.holds(6.0) && !left.holds(330.0));
        assert_eq!(Arc::new(10.0, 5.0).meridians(36), Meridians { of: 36, first: 35, steps: 4 });
        assert!(Arc::FULL.meridians(36).is_full());
    }

    #[test]
    fn points_round_the_axis_need_all_of_it() {
        let points = [dvec3(5.0, -9.0, 0.0), dvec3(-3.0, -7.0, 4.0)];
        let arc = Arc::around(&points);
        assert!(points.iter().all(|p| arc.holds(bearing_of(p.truncate()))));
        assert!(!arc.holds(90.0));
        assert!(Arc::around(&[dvec3(5.0, 1.0, 0.0), dvec3(-5.0, -1.0, 0.0)]).is_full());
    }
}
