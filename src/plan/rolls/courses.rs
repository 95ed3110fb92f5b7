//! The line that a roll is laid along: where its middle comes, and which way is out of the surface there.

use glam::{DVec2, DVec3, dvec2, dvec3};

use super::ground::{Ground, OnOutline};
use crate::{
    carve::Surface,
    design::{Along, Nowhere, Relief, Roll},
};
use geom::{
    Cancel, Region, Tolerance, bearing_difference,
    real::{angle_between, angle_from_to, hypot, unit_vector},
    revolve::{at_bearing, bearing_of},
    sweep,
};

/// The middle line of a roll.
pub(super) struct Course {
    /// Places along it.
    pub places: Vec<Spot>,
    /// Whether it goes back to where it begins.
    pub closed: bool,
    /// Radius and height of a level ring about the axis, if it is all of one.
    pub ring: Option<DVec2>,
}

/// A place on a middle line, and the direction out of the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub at: DVec3,
    pub out: DVec3,
}

/// A place on the surface below a middle line.
type OnSurface = Spot;

/// Places on a surface that is not turned are this far apart, mm.
const APART: f64 = 2.0;
/// Directions out of the surface that differ by more have others between them, degrees.
const FAN: f64 = 12.0;

/// Where the middle lines of `roll` lie.
///
/// # Errors
/// When there is no such edge.
pub(super) fn courses(
    roll: &Roll,
    ground: &Ground<'_>,
    tolerance: Tolerance,
) -> Result<Vec<Course>, Nowhere> {
    let off = roll.stand_off();
    match &roll.along {
        Along::Foot => {
            // It lies on the board and against the side.
            let height = roll.diameter / 2.0 * (1.0 - Roll::FLATTENED);
            match ground.form {
                None => Ok(ring(roll, foot(ground, height, off), tolerance)),
                Some(_) => on_cut(roll, ground, height, Cut::Foot),
            }
        }
        Along::Rim => match ground.form {
            None => {
                let edge = ground.rim().ok_or(Nowhere::NoRim)?;
                Ok(ring(roll, clear(ground, edge, off), tolerance))
            }
            Some(_) => on_cut(roll, ground, level_top(ground).ok_or(Nowhere::NoRim)?, Cut::Rim),
        },
        Along::Height(height) => {
            let top = ground.top();
            if !(0.0..=top).contains(height) {
                return Err(Nowhere::NoSuchHeight(top));
            }
            match ground.form {
                None => {
                    let edge = ground.outline_at(*height).ok_or(Nowhere::NoSuchHeight(top))?;
                    Ok(ring(roll, clear(ground, edge, off), tolerance))
                }
                Some(_) => on_cut(roll, ground, height.clamp(1e-3, top - BELOW_TOP), Cut::Side),
            }
        }
        Along::Outline(relief) => round_outline(roll, ground, relief),
        Along::Path(places) => along_path(roll, ground, places),
    }
}

/// The middle of a ring on a turned shape: out of the surface from an edge, further where the surface lies nearer than that.
fn clear(ground: &Ground<'_>, edge: OnOutline, off: f64) -> (DVec2, DVec2) {
    let at = |reach: f64| {
        let p = edge.at + edge.out * reach;
        dvec3(p.x, 0.0, p.y)
    };
    let mut reach = off;
    if off > 0.0 {
        for _ in 0..60 {
            let missing = off + ground.depth(at(reach));
            if missing < 1e-9 {
                break;
            }
            reach += missing;
        }
    }
    (edge.at + edge.out * reach, edge.out)
}

/// The middle of a ring at a height that is as far out of the side as it lies off.
fn foot(ground: &Ground<'_>, height: f64, off: f64) -> (DVec2, DVec2) {
    /// Steps in which it is looked for from outside.
    const STEPS: u32 = 400;
    let is_clear = |radius: f64| ground.depth(dvec3(radius, 0.0, height)) <= -off;
    let step = (ground.reach() + off + 1.0) / f64::from(STEPS);
    let steps = (0..STEPS).rev().map(|i| step * f64::from(i));
    // The outermost place: within a step beyond the last that is too near.
    let (mut near, mut far) =
        steps.into_iter().find(|radius| !is_clear(*radius)).map_or((0.0, 0.0), |near| (near, near + step));
    for _ in 0..60 {
        let middle = f64::midpoint(near, far);
        if is_clear(middle) { far = middle } else { near = middle }
    }
    (dvec2(far, height), DVec2::X)
}

/// All round, or part of it.
fn ring(roll: &Roll, (middle, out): (DVec2, DVec2), tolerance: Tolerance) -> Vec<Course> {
    let spot = |bearing: f64| Spot {
        at: at_bearing(middle.x, middle.y, bearing),
        out: at_bearing(out.x, out.y, bearing),
    };
    let whole = f64::from(tolerance.segments(middle.x).max(24));
    match roll.between {
        None => {
            let count = whole as u32;
            // It begins at the back, where it is joined.
            let places = (0..count).map(|i| spot(180.0 + 360.0 * f64::from(i) / whole)).collect();
            vec![Course { places, closed: true, ring: Some(middle) }]
        }
        Some((from, to)) => {
            let count = ((to - from) / 360.0 * whole).ceil().max(2.0) as u32;
            let at = |i: u32| from + (to - from) * f64::from(i) / f64::from(count);
            let length = middle.x * (to - from).to_radians();
            if length < roll.diameter {
                return Vec::new();
            }
            vec![Course { places: (0..=count).map(|i| spot(at(i))).collect(), closed: false, ring: None }]
        }
    }
}

/// What a roll on a cut surface lies beside.
#[derive(Clone, Copy, PartialEq)]
enum Cut {
    Foot,
    Rim,
    Side,
}

/// A cut is made so far below a level top, mm.
const BELOW_TOP: f64 = 0.02;

/// The height just below a level top of a shape that is not turned; `None` where it goes up to a point, a ridge or a round:
/// a little below the top it is far wider there.
fn level_top(ground: &Ground<'_>) -> Option<f64> {
    /// How far below the top is looked, mm, and the least share of the area there that is level.
    const BELOW: f64 = 2.0;
    const SHARE: f64 = 0.6;
    let form = ground.form?;
    let top = ground.top();
    let area = |z: f64| form.mesh.section(z).area();
    (area(top - BELOW_TOP) > SHARE * area(top - BELOW)).then_some(top - BELOW_TOP)
}

/// Beside the cut through the finished surface at a height.
fn on_cut(roll: &Roll, ground: &Ground<'_>, height: f64, cut: Cut) -> Result<Vec<Course>, Nowhere> {
    let Some(form) = ground.form else { return Ok(Vec::new()) };
    let section = form.mesh.section(height).filled();
    if section.is_empty() {
        return Err(Nowhere::NoSuchHeight(ground.top()));
    }
    let off = roll.stand_off();
    let mut courses = Vec::new();
    for outline in outer_outlines(&section) {
        let beside: Vec<(DVec2, DVec2)> = beside(&outline, off > 0.0);
        let spot = |&(p, out): &(DVec2, DVec2)| {
            let at = p.extend(height);
            let out = match cut {
                Cut::Foot => out.extend(0.0),
                Cut::Rim => (out.extend(0.0) + DVec3::Z).normalize(),
                Cut::Side => ground.out(at + out.extend(0.0) * off.max(0.5)),
            };
            let out = if out == DVec3::ZERO { DVec3::Z } else { out };
            Spot { at, out }
        };
        let on_surface: Vec<OnSurface> = beside.iter().map(spot).collect();
        // Bearings are those of the edge, not of what lies off it.
        for (part, closed) in parts(on_surface, roll) {
            courses.extend(off_surface(part, closed, roll, ground, cut == Cut::Foot));
        }
    }
    if courses.is_empty() { Err(Nowhere::NotBetween) } else { Ok(courses) }
}

/// The outer outlines of a region, with corners no further apart than [`APART`].
fn outer_outlines(region: &Region) -> Vec<Vec<DVec2>> {
    let refined = region.refined(APART);
    let outer = refined.contours().iter().filter(|contour| geom::region::signed_area(contour) > 0.0);
    outer.cloned().collect()
}

/// Places round an outline with the direction out of it; at a corner that goes out several, if `fanned`.
fn beside(outline: &[DVec2], fanned: bool) -> Vec<(DVec2, DVec2)> {
    let n = outline.len();
    let side = |i: usize| {
        let way = outline[(i + 1) % n] - outline[i % n];
        dvec2(way.y, -way.x).normalize_or_zero()
    };
    let mut places = Vec::new();
    for (i, corner) in outline.iter().enumerate() {
        let (before, after) = (side(i + n - 1), side(i));
        let turn = angle_from_to(before, after).to_degrees();
        if fanned && turn > FAN {
            let steps = (turn / FAN).ceil();
            let between = |k: u32| {
                let angle = (turn * f64::from(k) / steps).to_radians();
                (*corner, unit_vector(angle).rotate(before))
            };
            places.extend((0..=steps as u32).map(between));
        } else {
            places.push((*corner, (before + after).normalize_or(after)));
        }
    }
    places
}

/// The parts of a closed line that lie between the bearings of the roll, each with whether it is all of the line.
fn parts(line: Vec<OnSurface>, roll: &Roll) -> Vec<(Vec<OnSurface>, bool)> {
    let Some((from, to)) = roll.between else {
        return vec![(from_the_back(line), true)];
    };
    let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
    let held = |spot: &OnSurface| {
        bearing_difference(bearing_of(spot.at.truncate()), middle.rem_euclid(360.0)).abs() <= half
    };
    let n = line.len();
    let inside: Vec<bool> = line.iter().map(held).collect();
    let Some(first) = (0..n).find(|&i| inside[i] && !inside[(i + n - 1) % n]) else {
        // All of it, or nothing.
        return if inside.iter().all(|held| *held) { vec![(from_the_back(line), true)] } else { Vec::new() };
    };
    let mut found: Vec<Vec<OnSurface>> = Vec::new();
    let mut open = false;
    for i in first..first + n {
        if !inside[i % n] {
            open = false;
            continue;
        }
        if !open {
            found.push(Vec::new());
            open = true;
        }
        if let Some(part) = found.last_mut() {
            part.push(line[i % n]);
        }
    }
    found.into_iter().filter(|part| part.len() > 1).map(|part| (part, false)).collect()
}

/// A closed line from the place nearest to the back on, where it is joined.
fn from_the_back(mut line: Vec<OnSurface>) -> Vec<OnSurface> {
    let off = |spot: &OnSurface| bearing_difference(bearing_of(spot.at.truncate()), 180.0).abs();
    let back = (0..line.len()).min_by(|a, b| off(&line[*a]).total_cmp(&off(&line[*b])));
    line.rotate_left(back.unwrap_or(0));
    line
}

/// The middle line of a roll that lies on these places of the surface; nothing if it is shorter than the roll is thick.
fn off_surface(
    on_surface: Vec<OnSurface>,
    closed: bool,
    roll: &Roll,
    ground: &Ground<'_>,
    level: bool,
) -> Option<Course> {
    let off = roll.stand_off();
    let fanned = fanned(&on_surface, closed);
    let place = |spot: &OnSurface| {
        let at = spot.at + spot.out * off;
        let at = if off > 0.0 { ground.at_distance(at, off, level) } else { at };
        Spot { at, out: spot.out }
    };
    let mut places: Vec<Spot> = fanned.iter().map(place).collect();
    // In an inward corner many come to lie at one place.
    places.dedup_by(|b, a| a.at.distance(b.at) < 0.05);
    let ends = |places: &[Spot]| Some(places.first()?.at.distance(places.last()?.at));
    while closed && places.len() > 2 && ends(&places).is_some_and(|gap| gap < 0.05) {
        places.pop();
    }
    let along: f64 = places.windows(2).map(|pair| pair[0].at.distance(pair[1].at)).sum();
    (places.len() > 1 && along >= roll.diameter).then_some(Course { places, closed, ring: None })
}

/// Places with others between those that look in very different directions.
fn fanned(line: &[OnSurface], closed: bool) -> Vec<OnSurface> {
    let mut all = Vec::new();
    for (i, spot) in line.iter().enumerate() {
        all.push(*spot);
        let next = match line.get(i + 1) {
            Some(next) => next,
            None if closed => &line[0],
            None => break,
        };
        let turn = angle_between(spot.out, next.out).to_degrees();
        let steps = (turn / FAN).ceil();
        if steps > 1.0 && turn < 179.0 {
            all.extend((1..steps as u32).map(|k| {
                let share = f64::from(k) / steps;
                Spot {
                    at: spot.at.lerp(next.at, share),
                    out: spot.out.lerp(next.out, share).normalize_or(spot.out),
                }
            }));
        }
    }
    all
}

/// Round the outline of a zone, where it meets the surface.
fn round_outline(roll: &Roll, ground: &Ground<'_>, relief: &Relief) -> Result<Vec<Course>, Nowhere> {
    let nowhere = Nowhere::NoSurface(relief.bearing, relief.height);
    let cancel = &Cancel::new();
    let surface = Surface { lines: ground.lines, depth: 0.0, tolerance: Tolerance::TOOL, cancel };
    let reach = 2.0 * (ground.reach() + ground.top() + relief.reach()) + 10.0;
    let mut courses = Vec::new();
    for outline in outer_outlines(&relief.lying().filled()) {
        let ways = surface.ways_in(relief, &outline).ok_or(nowhere)?;
        let met = |&(from, way): &(DVec3, DVec3)| {
            let at = ground.met(from, way, reach)?;
            let out = ground.out(at - way * 0.3);
            Some(Spot { at, out: if out == DVec3::ZERO { -way } else { out } })
        };
        let on_surface: Vec<OnSurface> = ways.iter().map(met).collect::<Option<_>>().ok_or(nowhere)?;
        for (part, closed) in parts(on_surface, roll) {
            courses.extend(off_surface(part, closed, roll, ground, false));
        }
    }
    if courses.is_empty() { Err(Nowhere::NotBetween) } else { Ok(courses) }
}

/// Along a smooth line through places on the side.
fn along_path(roll: &Roll, ground: &Ground<'_>, path: &[DVec2]) -> Result<Vec<Course>, Nowhere> {
    let on_side = |p: DVec2| {
        let nowhere = Nowhere::NoSurface(p.x, p.y);
        let radius = ground.lines.radius_at(p.y.max(1e-6), p.x).ok_or(nowhere)?;
        let at = at_bearing(radius, p.y, p.x);
        let out = ground.out(at + at_bearing(0.3, 0.0, p.x));
        let out = if out == DVec3::ZERO { at_bearing(1.0, 0.0, p.x) } else { out };
        Ok(Spot { at, out })
    };
    let given: Vec<OnSurface> = path.iter().map(|p| on_side(*p)).collect::<Result<_, _>>()?;
    // Smooth on the side rolled out flat, by the mean of how far the places lie from the axis.
    let mean = given.iter().map(|spot| hypot(spot.at.x, spot.at.y)).sum::<f64>() / given.len() as f64;
    let flat = mean.max(1.0) * 1f64.to_radians();
    let places: Vec<DVec3> = path.iter().map(|p| dvec3(p.x * flat, p.y, 0.0)).collect();
    let closed = closes(path);
    let smooth = smooth(&places, closed);
    let mut on_surface = Vec::new();
    for pair in smooth.windows(2) {
        let steps = (pair[0].distance(pair[1]) / APART).ceil().max(1.0) as u32;
        for k in 0..steps {
            let p = pair[0].lerp(pair[1], f64::from(k) / f64::from(steps));
            on_surface.push(on_side(dvec2(p.x / flat, p.y))?);
        }
    }
    if let Some(last) = smooth.last().filter(|_| !closed) {
        on_surface.push(on_side(dvec2(last.x / flat, last.y))?);
    }
    let course = off_surface(on_surface, closed, roll, ground, false);
    course.map(|course| vec![course]).ok_or(Nowhere::NotBetween)
}

/// Whether a path ends where it begins, once or several times round.
fn closes(path: &[DVec2]) -> bool {
    let (Some(first), Some(last)) = (path.first(), path.last()) else { return false };
    let round = (last.x - first.x) / 360.0;
    path.len() > 2 && (round - round.round()).abs() < 1e-6 && (last.y - first.y).abs() < 1e-6
}

/// The smooth line through places; if it closes, it goes on smoothly where it does.
fn smooth(places: &[DVec3], closed: bool) -> Vec<DVec3> {
    let n = places.len();
    if !closed || n < 3 {
        return sweep::smooth(places, Tolerance::TOOL);
    }
    let round = places[n - 1] - places[0];
    let mut longer = vec![places[n - 2] - round];
    longer.extend_from_slice(places);
    longer.push(places[1] + round);
    let line = sweep::smooth(&longer, Tolerance::TOOL);
    let nearest = |p: DVec3| {
        (0..line.len()).min_by(|a, b| line[*a].distance(p).total_cmp(&line[*b].distance(p))).unwrap_or(0)
    };
    let (from, to) = (nearest(places[0]), nearest(places[n - 1]));
    line[from.min(to)..=to.max(from)].to_vec()
}
