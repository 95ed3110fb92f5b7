//! The half outline of a turned shape: checked until it bounds one solid that stands on the board.
//!
//! An undercut and a hollow are fine. Refused, with the place named: an outline left of the axis,
//! one that does not reach the board or dips below it, one that crosses or retraces itself, one that
//! pinches the shape to nothing on the axis, and one that bounds no area or several pieces.

use glam::{DVec2, dvec2};

use geom::units::UnitStyle;
use geom::{Region, Tolerance, region};

/// Points closer than this are one point, mm: a hundredth of what a printer can place.
const SAME_POINT: f64 = 1e-4;

/// A checked half outline, as straight pieces in the (radius, height) half-plane.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    section: Region,
}

/// Why an outline is not the half outline of a solid. Places are (radius, height) in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ProfileError {
    /// A point lies on the other side of the axis.
    LeftOfAxis {
        /// The point furthest out on the wrong side.
        at: DVec2,
    },
    /// The lowest point is not at height 0.
    NotOnBoard {
        /// The lowest point.
        at: DVec2,
    },
    /// The shape meets the board in a point or along a circle line only.
    NoFoot {
        /// Where it touches.
        at: DVec2,
    },
    /// Two pieces of the outline cross.
    CrossesItself {
        /// Where.
        at: DVec2,
    },
    /// The outline runs back along itself.
    DoublesBack {
        /// Where it turns.
        at: DVec2,
    },
    /// The outline touches the axis between its ends.
    Pinched {
        /// Where.
        at: DVec2,
    },
    /// There is nothing inside.
    Empty,
}

impl std::fmt::Display for ProfileError {
    /// In millimetres.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.told(UnitStyle::default()))
    }
}

impl std::error::Error for ProfileError {}

impl ProfileError {
    /// What is wrong, in the maker's own unit.
    pub fn told(&self, style: UnitStyle) -> String {
        let mm = |mm: f64| style.length_fine(mm);
        match self {
            Self::LeftOfAxis { at } => {
                format!("the outline crosses the axis: radius {} at height {}", mm(at.x), mm(at.y))
            }
            Self::NotOnBoard { at } => {
                let side = if at.y > 0.0 { "above" } else { "below" };
                format!("the outline's lowest point lies {side} the board, at height {}", mm(at.y))
            }
            Self::NoFoot { at } => {
                format!("the shape has no foot to stand on: it only touches the board at radius {}", mm(at.x))
            }
            Self::CrossesItself { at } => {
                format!("the outline crosses itself near radius {}, height {}", mm(at.x), mm(at.y))
            }
            Self::DoublesBack { at } => {
                format!("the outline doubles back on itself at radius {}, height {}", mm(at.x), mm(at.y))
            }
            Self::Pinched { at } => {
                format!("the outline pinches the shape to nothing on the axis at height {}", mm(at.y))
            }
            Self::Empty => "the outline encloses nothing".into(),
        }
    }
}

impl ProfileError {
    /// How to fix it.
    pub fn fix(&self) -> &'static str {
        match self {
            Self::LeftOfAxis { .. } => "radii are measured from the axis outwards and cannot be below zero",
            Self::NotOnBoard { .. } => {
                "move the outline so that its lowest point is at height 0, the top of the board"
            }
            Self::NoFoot { .. } => {
                "start it with a flat stretch on the board, or from a radius above zero at height 0"
            }
            Self::CrossesItself { .. } => {
                "move the points there so that the outline runs round the shape once"
            }
            Self::DoublesBack { .. } => "take out the piece that runs back along the one before",
            Self::Pinched { .. } => "keep the radius there above zero, or make two shapes of it",
            Self::Empty => "give at least two points that are not both on the axis",
        }
    }
}

impl Profile {
    /// Builds the profile from an outline's points in order, closing it along the board and the axis
    /// (or upon itself, where its ends meet).
    ///
    /// Points that add nothing at `tolerance`/10 are left out first, so a million points cost no
    /// more than they say.
    ///
    /// # Errors
    /// The first reason found why this bounds no solid.
    pub fn new(points: &[DVec2], tolerance: Tolerance) -> Result<Self, ProfileError> {
        let contour = close(snapped(points)?)?;
        if contour.len() < 3 {
            return Err(ProfileError::Empty);
        }
        refuse_spikes(&contour)?;
        let contour = simplified(contour, tolerance.chord_mm() / 10.0);
        if contour.len() < 3 || region::signed_area(&contour).abs() < SAME_POINT {
            return Err(ProfileError::Empty);
        }
        // Before crossings: where the outline pinches it also meets the axis that it closes along.
        refuse_pinches(&contour)?;
        if let Some(at) = crossing(&contour) {
            return Err(ProfileError::CrossesItself { at });
        }
        let section = Region::from_simple(contour).snapped();
        let foot = section.edges().find(|(a, b)| a.y == 0.0 && b.y == 0.0);
        if foot.is_none() {
            let at = section.edges().map(|e| e.0).find(|p| p.y == 0.0).unwrap_or_default();
            return Err(ProfileError::NoFoot { at });
        }
        Ok(Self { section })
    }

    /// The half section: right of the axis, above the board.
    pub fn section(&self) -> &Region {
        &self.section
    }

    /// Height, mm.
    pub fn height(&self) -> f64 {
        self.section.bounds().map_or(0.0, |(_, hi)| hi.y)
    }

    /// Greatest radius, mm.
    pub fn radius(&self) -> f64 {
        self.section.bounds().map_or(0.0, |(_, hi)| hi.x)
    }
}

/// Puts points that mean the axis or the board exactly there, drops repeats, refuses the rest.
fn snapped(points: &[DVec2]) -> Result<Vec<DVec2>, ProfileError> {
    let snap = |x: f64| if x.abs() < SAME_POINT { 0.0 } else { x };
    let mut kept: Vec<DVec2> = Vec::with_capacity(points.len());
    for p in points.iter().map(|p| dvec2(snap(p.x), snap(p.y))) {
        if kept.last().is_none_or(|last| last.distance(p) >= SAME_POINT) {
            kept.push(p);
        }
    }
    let Some(lowest) = kept.iter().copied().min_by(|a, b| a.y.total_cmp(&b.y)) else {
        return Err(ProfileError::Empty);
    };
    if let Some(&at) = kept.iter().filter(|p| p.x < 0.0).min_by(|a, b| a.x.total_cmp(&b.x)) {
        return Err(ProfileError::LeftOfAxis { at });
    }
    if lowest.y != 0.0 {
        return Err(ProfileError::NotOnBoard { at: lowest });
    }
    Ok(kept)
}

/// Closes an open outline along the board and the axis.
fn close(mut points: Vec<DVec2>) -> Result<Vec<DVec2>, ProfileError> {
    let (Some(&first), Some(&last)) = (points.first(), points.last()) else {
        return Err(ProfileError::Empty);
    };
    if points.len() > 2 && first.distance(last) < SAME_POINT {
        points.pop();
        return Ok(points);
    }
    for end in [last, first] {
        if end.x > 0.0 {
            points.push(dvec2(0.0, end.y));
        }
    }
    points.dedup_by(|a, b| a.distance(*b) < SAME_POINT);
    if points.len() > 1 && points[0].distance(points[points.len() - 1]) < SAME_POINT {
        points.pop();
    }
    Ok(points)
}

/// Refuses corners where the outline turns straight back on itself. Corners on the axis may: that is
/// where it closes.
fn refuse_spikes(contour: &[DVec2]) -> Result<(), ProfileError> {
    let n = contour.len();
    for i in 0..n {
        let (before, at, after) = (contour[(i + n - 1) % n], contour[i], contour[(i + 1) % n]);
        let (a, b) = (before - at, after - at);
        let straight_back = a.perp_dot(b).abs() <= 1e-9 * a.length() * b.length() && a.dot(b) > 0.0;
        if straight_back && at.x > 0.0 {
            return Err(ProfileError::DoublesBack { at });
        }
    }
    Ok(())
}

/// Refuses a solid that falls apart into two on the axis: more than one way from off the axis onto it.
fn refuse_pinches(contour: &[DVec2]) -> Result<(), ProfileError> {
    let n = contour.len();
    let point = |i: usize| contour[i % n];
    let landings: Vec<usize> = (1..=n).filter(|&i| point(i - 1).x > 0.0 && point(i).x == 0.0).collect();
    if landings.len() < 2 {
        return Ok(());
    }
    // Where it leaves again at once it only touches; the other is where the outline ends.
    let touch = landings.iter().find(|&&i| point(i + 1).x > 0.0).unwrap_or(&landings[0]);
    Err(ProfileError::Pinched { at: point(*touch) })
}

/// Leaves out points within `error` mm of the straight line that replaces them.
fn simplified(contour: Vec<DVec2>, error: f64) -> Vec<DVec2> {
    /// Below this, simplifying costs more than it saves.
    const FEW: usize = 4096;
    if contour.len() < FEW {
        return contour;
    }
    let path: clipper2_rust::PathD =
        contour.iter().map(|p| clipper2_rust::PointD { x: p.x, y: p.y }).collect();
    let path = clipper2_rust::simplify_path(&path, error, true);
    path.iter().map(|p| dvec2(p.x, p.y)).collect()
}

/// A point where two pieces of a closed contour cross or touch, if any: a sweep over heights, so that
/// long outlines cost n log n unless most pieces overlap in height.
fn crossing(contour: &[DVec2]) -> Option<DVec2> {
    let n = contour.len();
    let edge = |i: usize| (contour[i], contour[(i + 1) % n]);
    let mut order: Vec<usize> = (0..n).collect();
    let low = |i: usize| edge(i).0.y.min(edge(i).1.y);
    let high = |i: usize| edge(i).0.y.max(edge(i).1.y);
    order.sort_by(|&a, &b| low(a).total_cmp(&low(b)));
    let mut active: Vec<usize> = Vec::new();
    for i in order {
        active.retain(|&j| high(j) >= low(i));
        for &j in &active {
            let neighbours = (i + 1) % n == j || (j + 1) % n == i;
            if !neighbours && let Some(at) = meeting(edge(i), edge(j)) {
                return Some(at);
            }
        }
        active.push(i);
    }
    None
}

/// Where two segments meet, if they do.
fn meeting((a, b): (DVec2, DVec2), (c, d): (DVec2, DVec2)) -> Option<DVec2> {
    let (r, s) = (b - a, d - c);
    let denominator = r.perp_dot(s);
    if denominator.abs() <= 1e-12 * r.length() * s.length() {
        // Parallel: they meet only if one end lies on the other segment.
        let ends = [(c, a, b), (d, a, b), (a, c, d), (b, c, d)];
        return ends.iter().find(|(p, q, r)| region::distance_to_segment(*p, *q, *r) < 1e-9).map(|e| e.0);
    }
    let t = (c - a).perp_dot(s) / denominator;
    let u = (c - a).perp_dot(r) / denominator;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then(|| a + r * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn profile(points: &[(f64, f64)]) -> Result<Profile, ProfileError> {
        let points: Vec<DVec2> = points.iter().map(|&(r, z)| dvec2(r, z)).collect();
        Profile::new(&points, Tolerance::TOOL)
    }

    #[test]
    fn an_open_outline_closes_along_the_axis_and_the_board() {
        let cylinder = profile(&[(50.0, 0.0), (50.0, 80.0)]).unwrap();
        assert_eq!(cylinder.section().area(), 4000.0);
        let cone = profile(&[(50.0, 0.0), (0.0, 80.0)]).unwrap();
        assert_eq!(cone.section().area(), 2000.0);
    }

    #[test]
    fn a_hollow_and_an_undercut_are_solids() {
        let ring = profile(&[(30.0, 0.0), (50.0, 0.0), (60.0, 80.0), (30.0, 80.0), (30.0, 0.0)]).unwrap();
        assert_eq!(ring.section().area(), (20.0 + 30.0) / 2.0 * 80.0);
    }

    #[test]
    fn what_bounds_no_solid_is_refused_with_its_place() {
        use ProfileError as E;
        let at = |r, z| dvec2(r, z);
        assert_eq!(
            profile(&[(50.0, 0.0), (-3.0, 40.0), (20.0, 80.0)]),
            Err(E::LeftOfAxis { at: at(-3.0, 40.0) })
        );
        assert_eq!(profile(&[(50.0, 4.0), (50.0, 80.0)]), Err(E::NotOnBoard { at: at(50.0, 4.0) }));
        assert_eq!(profile(&[(50.0, -4.0), (50.0, 80.0)]), Err(E::NotOnBoard { at: at(50.0, -4.0) }));
        assert_eq!(profile(&[(0.0, 0.0), (50.0, 50.0), (0.0, 80.0)]), Err(E::NoFoot { at: at(0.0, 0.0) }));
        assert_eq!(
            profile(&[(50.0, 0.0), (50.0, 80.0), (20.0, 80.0), (40.0, 80.0), (10.0, 90.0)]),
            Err(E::DoublesBack { at: at(20.0, 80.0) })
        );
        assert_eq!(profile(&[(50.0, 0.0), (0.0, 40.0), (50.0, 80.0)]), Err(E::Pinched { at: at(0.0, 40.0) }));
        assert!(matches!(
            profile(&[(50.0, 0.0), (50.0, 80.0), (60.0, 40.0), (20.0, 40.0)]),
            Err(E::CrossesItself { .. })
        ));
        assert_eq!(profile(&[]), Err(E::Empty));
        assert_eq!(profile(&[(50.0, 0.0)]), Err(E::Empty));
    }
}
