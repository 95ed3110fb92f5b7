//! Cuts and adds as solids, grown or shrunk by the coverings.
//!
//! A cut in the finished shape widens in the carved line by the coverings: the solid cut there is every
//! point within their thickness of the tool. An add shrinks by them. Both are exact but for the bottom
//! rim of a pressed-in outline, which stays sharp where a ball would round it, and for the seam where a
//! sponge add meets the shape, where a little less sponge is left than could be.
//!
//! Rounds become polygons that hold as much as the circle does, their corners a little outside it and the middles of
//! their sides a little inside, both within the tolerance: inscribed ones would take a little less than the tool
//! at every cut.

use std::f64::consts::PI;

use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2, dvec3};

use crate::{
    design::{Drawn, Lies, Operation, Relief, Roll, Side, Strand, Tool},
    lines::Lines,
};
use geom::real;
use geom::{
    BearingRange, Cancel, Cancelled, Region, Solid, Tolerance, TriMesh, revolve, rope, sweep, wedge::wedge,
};

/// Everything a tool needs to know about the surface it works on.
#[derive(Clone, Copy)]
pub struct Surface<'a> {
    /// All lines of the cake.
    pub lines: &'a Lines,
    /// How deep inside the finished line the wanted surface lies, mm.
    pub depth: f64,
    /// How far curves may stray.
    pub tolerance: Tolerance,
    /// Asks to stop.
    pub cancel: &'a Cancel,
}

/// How far a raised outline roots below the surface, mm.
const ROOT: f64 = 1.0;

/// Clear of any surface, mm: how far a cut reaches out past it.
pub(super) const CLEAR: f64 = 5.0;

/// How far the part of a shell that a tool is cut out of reaches beyond the tool, mm.
const BESIDE: f64 = 1.0;

impl Surface<'_> {
    /// The solid that `tool` takes from, or adds to, this surface; empty if nothing is left of it.
    ///
    /// # Errors
    /// Once it is asked to stop.
    pub fn solid(&self, tool: &Tool, operation: Operation) -> Result<Solid, Cancelled> {
        self.cancel.check()?;
        let grow = self.growth(operation);
        Ok(match tool {
            Tool::Box { centre, size, turn } => grown_box(*centre, *size, *turn, grow, self.tolerance),
            Tool::Ball { centre, radius } => {
                let section = ball_section(*radius + grow, self.tolerance);
                turned(&section, upright(*centre), self.tolerance)
            }
            Tool::Cylinder { from, to, from_radius, to_radius } => {
                let length = from.distance(*to);
                let section = cone_section(length, *from_radius, *to_radius);
                let axis = (*to - *from) / length;
                turned(&grown(&section, grow, self.tolerance), along(*from, axis), self.tolerance)
            }
            Tool::Ring { centre, axis, radius, bar_radius } => {
                let bar = bar_radius + grow;
                let section = if bar > 0.0 {
                    // Grown past the axis the ring has no hole left.
                    disc_of_area(dvec2(*radius, 0.0), bar, self.tolerance).right_half()
                } else {
                    Region::default()
                };
                turned(&section, along(*centre, *axis), self.tolerance)
            }
            Tool::Bar { stations } => sweep::bar(&self.rounded(stations, grow), 0.0, self.tolerance),
            Tool::Roll(roll) => Solid::union_all(&self.roll_parts(roll)),
            Tool::HalfSpace { point, normal } => self.beyond(*point - *normal * grow, *normal),
            Tool::Relief(relief) => self.relief(relief, operation)?,
        })
    }

    /// How far a tool grows on every side, mm; below zero if it shrinks.
    fn growth(&self, operation: Operation) -> f64 {
        match operation {
            Operation::Cut => self.depth,
            Operation::Add => -self.depth,
        }
    }

    /// The solids whose union is a bar through `stations`, those between two of them that are not `wanted` left out.
    pub(super) fn bar_parts(
        &self,
        stations: &[(DVec3, f64)],
        operation: Operation,
        wanted: impl Fn((DVec3, f64), (DVec3, f64)) -> bool,
    ) -> Vec<Solid> {
        sweep::bar_parts(&self.rounded(stations, self.growth(operation)), self.tolerance, wanted)
    }

    /// The solids whose union is a roll; none while it lies nowhere. It lies on the icing and is as large on every line.
    fn roll_parts(&self, roll: &Roll) -> Vec<Solid> {
        let part = |strand: &Strand| match strand {
            Strand::Ring { radius, height, thick } => {
                let section = disc_of_area(dvec2(*radius, 0.0), *thick, self.tolerance).right_half();
                vec![turned(&section, upright(DVec3::Z * *height), self.tolerance)]
            }
            Strand::Line { stations, closed } => {
                rope::rope_parts(&self.rounded(stations, 0.0), *closed, self.tolerance)
            }
        };
        roll.strands().iter().flat_map(part).collect()
    }

    /// Stations grown, with radii whose polygons hold as much as the circles do.
    fn rounded(&self, stations: &[(DVec3, f64)], grow: f64) -> Vec<(DVec3, f64)> {
        /// Most sides of a bar's rings.
        const MOST: u32 = 64;
        let widest = stations.iter().map(|(_, r)| r + grow).fold(0.0, f64::max);
        let wider = 1.0 / revolve::polygon_factor(self.tolerance.segments(widest).min(MOST)).sqrt();
        stations.iter().map(|&(p, r)| (p, (r + grow) * wider)).collect()
    }

    /// The part beyond a plane of a box well round the cake.
    fn beyond(&self, point: DVec3, normal: DVec3) -> Solid {
        let (_, hi) = self.lines.finished().section.bounds().unwrap_or_default();
        let reach = 2.0 * (hi.x + hi.y + CLEAR);
        let all = Region::rectangle(DVec2::splat(-reach), DVec2::splat(reach));
        Solid::prism(&all, -reach, reach).beyond(point, normal)
    }

    /// An outline pressed in or raised: the outline carried straight through the surface, or wrapped
    /// round it, within the shell between two lines.
    fn relief(&self, relief: &Relief, operation: Operation) -> Result<Solid, Cancelled> {
        let (depths, outline) = self.relief_shell(relief, operation);
        self.shell_within(depths, &outline, relief)
    }

    /// The depths of the outer and the inner side of the shell that an outline is cut out of, and the outline as it
    /// reaches this surface.
    pub(super) fn relief_shell(&self, relief: &Relief, operation: Operation) -> ((f64, f64), Region) {
        match operation {
            Operation::Cut => {
                // A surface outside the finished line is opened just as well.
                let outside = self.depth.min(0.0) - CLEAR;
                let outline = relief.lying().outset(self.depth, self.tolerance);
                ((outside, self.depth + relief.depth), outline)
            }
            Operation::Add => self.raised_shell(relief, ROOT),
        }
    }

    fn raised_shell(&self, relief: &Relief, root: f64) -> ((f64, f64), Region) {
        let outline = relief.lying().inset(self.depth, self.tolerance);
        ((self.depth - relief.depth, self.depth + root), outline)
    }

    /// An outline raised from the surface, with `root` mm of it below the surface.
    ///
    /// # Errors
    /// Once it is asked to stop.
    pub fn raised(&self, relief: &Relief, root: f64) -> Result<Solid, Cancelled> {
        let (depths, outline) = self.raised_shell(relief, root);
        self.shell_within(depths, &outline, relief)
    }

    /// The bottom of an outline that is pressed in, as a skin `thickness` mm thick that lies in the cut.
    ///
    /// # Errors
    /// Once it is asked to stop.
    pub fn floor(&self, relief: &Relief, thickness: f64) -> Result<Solid, Cancelled> {
        let bottom = self.depth + relief.depth;
        let outline = relief.lying().outset(self.depth, self.tolerance);
        self.shell_within((bottom - thickness, bottom), &outline, relief)
    }

    /// All within an outline between two depths inside the finished line: what it takes of a layer there.
    ///
    /// # Errors
    /// Once it is asked to stop.
    pub fn layer(&self, relief: &Relief, depths: (f64, f64)) -> Result<Solid, Cancelled> {
        self.shell_within(depths, &relief.lying(), relief)
    }

    /// Whether `relief` lies on the surface: there is a place for its middle, and something is left of its
    /// outline.
    pub fn seats(&self, relief: &Relief, operation: Operation) -> bool {
        let outline = match operation {
            Operation::Cut => relief.lying().outset(self.depth, self.tolerance),
            Operation::Add => relief.lying().inset(self.depth, self.tolerance),
        };
        !outline.is_empty()
            && match relief.lies {
                Lies::Drawn(drawn) => self.is_seen(relief, drawn, &outline),
                Lies::Flat | Lies::Wrapped => Seat::find(self.lines, relief).is_some(),
                Lies::Top(at) => self.lines.column_at(at).is_some(),
            }
    }

    /// Whether an outline that goes straight in where it is drawn meets the shape: some place in it lies deep enough
    /// inside half way through.
    fn is_seen(&self, relief: &Relief, drawn: Drawn, outline: &Region) -> bool {
        let Some((lo, hi)) = outline.bounds() else { return false };
        let (_, most) = self.lines.finished().section.bounds().unwrap_or_default();
        let frame =
            view_frame(drawn.side) * DAffine3::from_translation(dvec3(drawn.across, relief.height, 0.0));
        let inward = if into_view(drawn.side) { 1.0 } else { -1.0 };
        // A lattice over the outline, looked at in steps from the middle of the cake outwards.
        const STEPS: u32 = 16;
        let share = |i: u32| f64::from(i) / f64::from(STEPS);
        (0..=STEPS).flat_map(|i| (0..=STEPS).map(move |k| (share(i), share(k)))).any(|(u, v)| {
            let p = lo + (hi - lo) * dvec2(u, v);
            outline.contains(p)
                && (0..STEPS).any(|k| {
                    let out = most.x * share(k) * inward;
                    self.lines.depth_at(frame.transform_point3(dvec3(p.x, p.y, out))) > 0.0
                })
        })
    }

    /// The part of the shell between two depths that lies within the outline of `relief`, given as `outline`.
    ///
    /// Both are laid square to the tool first: the kernel sorts out what can meet by upright boxes, and the tool's
    /// long walls fill few of those only while they stand along an axis.
    fn shell_within(
        &self,
        (top, bottom): (f64, f64),
        outline: &Region,
        relief: &Relief,
    ) -> Result<Solid, Cancelled> {
        let fine = self.tolerance;
        let Some((frame, through)) = self.carried(relief, outline) else { return Ok(Solid::empty()) };
        // The tool meets no more of the shell than what stands at its bearings and heights.
        let tool = through.to_mesh().placed(&frame);
        let Some((lo, hi)) = tool.bounds() else { return Ok(Solid::empty()) };
        if !self.lines.is_turned() {
            let near = (lo - CLEAR, hi + CLEAR);
            let inside = |depth| self.lines.solid_near(depth, near, fine, self.cancel);
            let (outer, inner) = (inside(top)?, inside(bottom)?);
            return Ok(through.placed(&frame).intersection(&outer).difference(&inner));
        }
        let inset = |depth| self.lines.inset(depth, fine, self.cancel);
        let (outer, inner) = (inset(top)?, inset(bottom)?);
        let near = outer.section.difference(&inner.section).between(lo.z - BESIDE, hi.z + BESIDE);
        let Some((least, hi)) = near.bounds() else { return Ok(Solid::empty()) };
        let middle = relief.on_top().map_or(relief.bearing, revolve::bearing_of);
        let bearings = bearings_beyond(&tool.positions, least.x, middle);
        let n = fine.segments(hi.x);
        let mesh = wedge(&near, bearings.meridians(n), n).placed(&frame.inverse());
        let shell = Solid::of_closed(&mesh);
        Ok(shell.intersection(&through).placed(&frame))
    }

    /// An outline carried through the surface, and the frame that it stands in; `None` where it lies beside the cake.
    pub(super) fn carried(&self, relief: &Relief, outline: &Region) -> Option<(DAffine3, Solid)> {
        match relief.lies {
            Lies::Drawn(drawn) => Some(self.straight_in(relief, drawn, outline)),
            Lies::Flat | Lies::Wrapped => self.on_seat(relief, outline),
            Lies::Top(at) => self.straight_down(relief, at, outline),
        }
    }

    /// An outline carried straight down onto the top, and the frame it stands in: as deep as the top lies under it and no
    /// further than half way to the underside, so that what lies below stays untouched.
    fn straight_down(&self, relief: &Relief, at: DVec2, outline: &Region) -> Option<(DAffine3, Solid)> {
        let deep = self.depth.abs() + relief.depth;
        let places = outline.contours().iter().flatten().map(|p| at + *p).chain([at]);
        let columns = || places.clone().filter_map(|p| self.lines.column_at(p));
        let lowest = columns().map(|(_, top)| top).reduce(f64::min)?;
        let highest = columns().map(|(_, top)| top).reduce(f64::max)?;
        let half_way = columns().map(|(under, top)| f64::midpoint(under, top)).reduce(f64::min)?;
        let low = (lowest - 2.0 * deep - CLEAR).max(half_way);
        let high = highest.max(low) + 2.0 * deep + CLEAR;
        Some((DAffine3::from_translation(at.extend(0.0)), Solid::prism(outline, low, high)))
    }

    /// An outline carried straight in from a side as far as the middle of the cake, and the frame it stands in.
    fn straight_in(&self, relief: &Relief, drawn: Drawn, outline: &Region) -> (DAffine3, Solid) {
        let (_, most) = self.lines.finished().section.bounds().unwrap_or_default();
        let far = most.x + relief.depth + CLEAR;
        let (low, high) = if into_view(drawn.side) { (0.0, far) } else { (-far, 0.0) };
        let placed = outline.placed(0.0, dvec2(drawn.across, relief.height));
        (view_frame(drawn.side), Solid::prism(&placed, low, high))
    }

    /// An outline carried through the surface where it sits, and the frame that it stands in.
    fn on_seat(&self, relief: &Relief, outline: &Region) -> Option<(DAffine3, Solid)> {
        let fine = self.tolerance;
        let seat = Seat::find(self.lines, relief)?;
        let reach = relief.reach() + self.depth + relief.depth;
        let span = reach + CLEAR;
        Some(if relief.lies == Lies::Wrapped {
            let frame = real::turned_z(relief.bearing.to_radians());
            (frame, wrapped(outline, &seat, reach, fine))
        } else {
            // Inwards no further than the axis, so that the far side of the cake stays untouched.
            let inwards = span.min(seat.at.x.max(relief.depth + self.depth));
            (seat.frame(), Solid::prism(outline, -inwards, span))
        })
    }
}

/// Bearings at which what lies within the convex hull of `points` may lie `radius` mm or more from the axis, those of
/// `points` themselves or those about `bearing`, whichever are fewer.
fn bearings_beyond(points: &[DVec3], radius: f64, bearing: f64) -> BearingRange {
    let all = BearingRange::around(points);
    // How far the points lie beside the half-plane of the bearing, and whether all lie before the axis.
    let (out, side) = (revolve::at_bearing(1.0, 0.0, bearing), revolve::at_bearing(1.0, 0.0, bearing + 90.0));
    let widest = points.iter().map(|p| p.dot(side).abs()).fold(0.0, f64::max);
    let behind = points.iter().map(|p| -p.dot(out)).fold(f64::NEG_INFINITY, f64::max);
    if widest >= radius || real::hypot(behind.max(0.0), widest) >= radius {
        return all;
    }
    let half = real::asin(widest / radius).to_degrees();
    if half < all.half() { BearingRange::new(bearing, half) } else { all }
}

/// Right (or back), up, and towards the eye of whoever looks from the front or from the right-hand side.
fn view_frame(side: Side) -> DAffine3 {
    DAffine3::from_mat3(match side {
        Side::Front | Side::Back => DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y),
        Side::Right | Side::Left => DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X),
    })
}

/// The frame of the view that a side is drawn in, and whether the side lies towards the eye (1) or away from it (−1).
pub(super) fn straight_view(side: Side) -> (DAffine3, f64) {
    (view_frame(side), if into_view(side) { 1.0 } else { -1.0 })
}

/// Whether a side is the one that its view is seen from.
fn into_view(side: Side) -> bool {
    matches!(side, Side::Front | Side::Right)
}

/// Where an outline sits on the surface.
pub(super) struct Seat {
    /// Radius and height, mm.
    at: DVec2,
    /// Outward normal in the half-plane.
    normal: DVec2,
    /// Bearing, degrees.
    bearing: f64,
}

impl Seat {
    /// The outermost point of the surface at the relief's height and bearing.
    pub fn find(lines: &Lines, relief: &Relief) -> Option<Self> {
        let finished = lines.finished();
        match &finished.solid {
            Some(mesh) => Self::on_mesh(mesh, relief),
            None => Self::on_section(&finished.section, relief),
        }
    }

    /// A straight way in from outside.
    fn on_mesh(mesh: &TriMesh, relief: &Relief) -> Option<Self> {
        let reach = mesh.positions.iter().map(|p| p.truncate().length()).fold(0.0, f64::max) + CLEAR;
        let way = |radius: f64| revolve::at_bearing(radius, relief.height, relief.bearing);
        let (at, normal) = mesh.first_hit(way(reach), way(0.0))?;
        let out = revolve::at_bearing(1.0, 0.0, relief.bearing);
        // The outline lies square to the half-plane of its bearing, as on a turned surface.
        let normal = dvec2(normal.dot(out), normal.z).try_normalize().unwrap_or(DVec2::X);
        Some(Self { at: dvec2(at.truncate().length(), at.z), normal, bearing: relief.bearing })
    }

    fn on_section(section: &Region, relief: &Relief) -> Option<Self> {
        /// Heights are looked up just inside, so that the very top is found too.
        const INSIDE: f64 = 1e-6;
        let (_, hi) = section.bounds()?;
        let z = relief.height.clamp(INSIDE, hi.y - INSIDE);
        if (z - relief.height).abs() > 1e-3 {
            return None;
        }
        let (_, r) = *section.row(z).last()?;
        let at = dvec2(r, z);
        let (a, b) = section.edges().filter(|(a, b)| a.distance(*b) > 0.0).min_by(|e, f| {
            let to = |e: &(DVec2, DVec2)| geom::region::distance_to_segment(at, e.0, e.1);
            to(e).total_cmp(&to(f))
        })?;
        // The inside lies left of every edge.
        let normal = -(b - a).normalize().perp();
        Some(Self { at, normal, bearing: relief.bearing })
    }

    /// How far from the axis it lies, mm.
    pub fn radius(&self) -> f64 {
        self.at.x
    }

    /// Right, up and outwards at the seat, seen from outside.
    pub fn frame(&self) -> DAffine3 {
        let (sin, cos) = real::sin_cos(self.bearing.to_radians());
        let radial = dvec3(sin, -cos, 0.0);
        let right = dvec3(cos, sin, 0.0);
        let out = radial * self.normal.x + DVec3::Z * self.normal.y;
        let up = out.cross(right);
        let place = radial * self.at.x + DVec3::Z * self.at.y;
        DAffine3 { matrix3: DMat3::from_cols(right, up, out), translation: place }
    }
}

/// The outline wrapped round the side as a strip of paper would lie, through all radii near the surface.
/// Where it is wider than the way round, it lies double and counts once.
fn wrapped(outline: &Region, seat: &Seat, reach: f64, tolerance: Tolerance) -> Solid {
    /// How far pieces of a strip that goes all the way round lie over each other, mm.
    const LAP: f64 = 0.1;
    let half_way = PI * seat.at.x.max(LEAST_RADIUS);
    let Some((lo, hi)) = outline.bounds() else { return Solid::empty() };
    if lo.x > -half_way && hi.x < half_way {
        return wrapped_strip(outline, seat, reach, tolerance);
    }
    let strip = |from: f64, to: f64| {
        let part = outline.intersection(&Region::rectangle(dvec2(from, lo.y - 1.0), dvec2(to, hi.y + 1.0)));
        wrapped_strip(&part, seat, reach, tolerance)
    };
    strip(-half_way - LAP, LAP).union(&strip(-LAP, half_way + LAP))
}

/// A surface nearer to the axis than this is bent as if it were this far, mm.
const LEAST_RADIUS: f64 = 1e-3;

/// A strip that goes less than once round, wrapped about the front.
fn wrapped_strip(outline: &Region, seat: &Seat, reach: f64, tolerance: Tolerance) -> Solid {
    let radius = seat.at.x.max(LEAST_RADIUS);
    let inner = (radius - reach - CLEAR).max(radius * 0.05);
    let outer = radius + reach + CLEAR;
    // A chord of length L on a circle of radius R has a sagitta of L²/8R.
    let piece = (8.0 * radius * tolerance.chord_mm()).sqrt();
    // The walls are exact once the outline is fine enough. The caps only need to stay clear of the surface,
    // and at half a radian a chord sags by less than the outline reaches.
    Solid::prism(&outline.refined(piece), inner, outer).warped(radius / 2.0, |p| {
        let (sin, cos) = real::sin_cos(p.x / radius);
        dvec3(p.z * sin, -p.z * cos, seat.at.y + p.y)
    })
}

fn upright(at: DVec3) -> DAffine3 {
    DAffine3::from_translation(at)
}

/// A frame at `at` whose z runs along `axis`.
fn along(at: DVec3, axis: DVec3) -> DAffine3 {
    let (x, y) = axis.any_orthonormal_pair();
    DAffine3 { matrix3: DMat3::from_cols(x, y, axis), translation: at }
}

/// `section` turned about z and then placed: its level polygons hold as much as the circles do.
fn turned(section: &Region, frame: DAffine3, tolerance: Tolerance) -> Solid {
    let Some((_, hi)) = section.bounds() else { return Solid::empty() };
    let meridians = tolerance.segments(hi.x);
    let wider = 1.0 / revolve::polygon_factor(meridians).sqrt();
    let mut mesh = revolve::revolve(section, meridians);
    mesh.positions.iter_mut().for_each(|p| *p = dvec3(p.x * wider, p.y * wider, p.z));
    let solid = Solid::of_closed(&mesh);
    if frame == DAffine3::IDENTITY { solid } else { solid.placed(&frame) }
}

/// A half section grown (or shrunk) all round, the axis being no edge.
fn grown(section: &Region, by: f64, tolerance: Tolerance) -> Region {
    section.union(&section.mirrored()).outset(by, tolerance).right_half()
}

/// Half a disc whose ball, straightened as it is, has the volume of the true one.
fn ball_section(radius: f64, tolerance: Tolerance) -> Region {
    if radius <= 0.0 {
        return Region::default();
    }
    let inscribed = Region::disc(DVec2::ZERO, radius, tolerance).right_half();
    let whole = 4.0 / 3.0 * PI * real::powi(radius, 3);
    let larger = real::cbrt(whole / revolve::revolved_volume(&inscribed));
    let grown = |contour: &Vec<DVec2>| contour.iter().map(|p| *p * larger).collect();
    Region::new(inscribed.contours().iter().map(grown).collect())
}

/// A disc as a polygon of the same area.
fn disc_of_area(centre: DVec2, radius: f64, tolerance: Tolerance) -> Region {
    let wider = 1.0 / revolve::polygon_factor(tolerance.segments(radius)).sqrt();
    Region::disc(centre, radius * wider, tolerance)
}

fn cone_section(length: f64, from_radius: f64, to_radius: f64) -> Region {
    let mut contour = vec![DVec2::ZERO, dvec2(from_radius, 0.0)];
    if to_radius > 0.0 {
        contour.push(dvec2(to_radius, length));
    }
    contour.push(dvec2(0.0, length));
    Region::from_simple(contour)
}

fn grown_box(centre: DVec3, size: DVec3, turn: f64, grow: f64, tolerance: Tolerance) -> Solid {
    let frame = DAffine3 { matrix3: real::rotation_z(turn.to_radians()), translation: centre };
    if grow <= 0.0 {
        let half = size / 2.0 + grow;
        if half.min_element() <= 0.0 {
            return Solid::empty();
        }
        let base = Region::rectangle(-half.truncate(), half.truncate());
        return Solid::prism(&base, -half.z, half.z).placed(&frame);
    }
    let ball = sweep::ball_points(grow, tolerance);
    let half = size / 2.0;
    let corners = (0..8).map(|i| {
        let side = |bit: u32| if i & bit == 0 { -1.0 } else { 1.0 };
        half * dvec3(side(1), side(2), side(4))
    });
    let points: Vec<DVec3> = corners.flat_map(|c| ball.iter().map(move |p| c + *p)).collect();
    Solid::hull(&points).placed(&frame)
}
