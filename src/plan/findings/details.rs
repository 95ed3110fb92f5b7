//! Details: cuts that miss, adds that float or are not seen, details deeper than what they are pressed into, places of
//! one detail that overlap.

mod copies;
mod laid;

use glam::{DVec3, dvec3};

use crate::{
    carve::{Body, Edit, Surface, reaches},
    design::{Copied, Depth, Detail, Operation, Tool},
    fix::{FileEdit, FileValue, Fix},
    lines::Lines,
};
use cakefile::Severity;
use geom::{Cancel, Solid, Tolerance, real};

use super::{Evidence, Finding, FindingCode, rolls};

/// Less than this is no contact, mm³.
const TOUCH: f64 = 1e-3;

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    for copies in e.design.details.chunk_by(Detail::is_copy_of) {
        rolls::check(e, copies, found);
        check_contact(e, copies, found);
        check_inside(e, copies, found);
        copies::check(e, copies, found);
        check_depth(e, &copies[0], found);
        laid::check(e, &copies[0], found);
        check_coverings(e, &copies[0], found);
    }
}

/// What is said of a detail where `some` of its places are meant.
fn called(copies: &[Detail], some: &[&Detail]) -> String {
    let name = copies[0].written_name();
    match (copies.len(), some.len()) {
        (1, _) => format!("\"{name}\""),
        (all, some) if all == some => format!("\"{name}\", in all its {all} places,"),
        (all, some) => format!("\"{name}\", in {some} of its {all} places,"),
    }
}

/// Those of the places of a detail that differ by more than a turn about the axis, as far as it makes a difference on this
/// shape.
fn different<'a>(e: &Evidence<'_>, copies: &'a [Detail]) -> impl Iterator<Item = &'a Detail> {
    let turned = e.lines.is_turned();
    let is_same = move |copy: Copied| copy.number > 1 && copy.turned.is_some();
    copies.iter().filter(move |detail| !(turned && detail.copy.is_some_and(is_same)))
}

/// The places of a detail of which `is` holds.
fn those<'a>(e: &Evidence<'_>, copies: &'a [Detail], is: impl Fn(&Detail) -> bool) -> Vec<&'a Detail> {
    let wrong: Vec<&Detail> = different(e, copies).filter(|detail| is(detail)).collect();
    // The first stands for all that are only turned about the axis.
    if e.lines.is_turned() && wrong.iter().any(|detail| detail.copy.is_some_and(|copy| copy.number == 1)) {
        let turned = |detail: &&Detail| detail.copy.is_some_and(|copy| copy.turned.is_some());
        return copies.iter().filter(|detail| turned(detail) || wrong.contains(detail)).collect();
    }
    wrong
}

/// A detail must meet the shape. Reliefs are made from the surface and meet it wherever they find a seat.
fn check_contact(e: &Evidence<'_>, copies: &[Detail], found: &mut Vec<Finding>) {
    let off = those(e, copies, |detail| !meets(e, detail));
    let Some(detail) = off.first() else { return };
    let name = called(copies, &off);
    let (code, message, fix) = match detail.operation {
        Operation::Cut => (
            FindingCode::CutMisses,
            format!("the cut {name} does not meet the shape"),
            "move it, or take it out",
        ),
        Operation::Add => (
            FindingCode::AddFloats,
            format!("the add {name} does not touch the shape"),
            "move it so that it reaches a few millimetres inside",
        ),
    };
    found.push(finding(Severity::Warning, code, detail, message, fix.into()));
}

/// Whether a detail meets the shape.
fn meets(e: &Evidence<'_>, detail: &Detail) -> bool {
    let cancel = &Cancel::new();
    let surface = Surface { lines: e.lines, depth: 0.0, tolerance: Tolerance::PREVIEW, cancel };
    match &detail.tool {
        Tool::Relief(relief) => surface.seats(relief, detail.operation),
        // One that lies somewhere lies on the surface; that one lies nowhere is told by itself.
        Tool::Roll(_) => true,
        tool if surely_meets(tool, e.lines) => true,
        tool => {
            let plain = Body::plain(e.design, e.lines);
            let solid = surface.solid(tool, detail.operation).unwrap_or_else(|_| Solid::empty());
            Edit::new(0, detail.operation, solid).is_some_and(|edit| {
                let near = plain.solid_near(&edit, plain.meridians(Tolerance::PREVIEW));
                edit.solid.intersection(&near).volume() > TOUCH
            })
        }
    }
}

/// An add must come out of the shape to be seen. Reliefs stand out by their depth.
fn check_inside(e: &Evidence<'_>, copies: &[Detail], found: &mut Vec<Finding>) {
    if copies[0].operation != Operation::Add {
        return;
    }
    let inside = those(e, copies, |detail| lies_inside(&detail.tool, e.lines));
    let Some(detail) = inside.first() else { return };
    found.push(finding(
        Severity::Warning,
        FindingCode::AddInside,
        detail,
        format!("the add {} lies inside the shape, and nothing of it is seen", called(copies, &inside)),
        "move it outwards or make it larger, or take it out".into(),
    ));
}

/// Whether no point of `tool` comes out of the shape by more than a little.
fn lies_inside(tool: &Tool, lines: &Lines) -> bool {
    /// What comes out less far is not seen, mm.
    const SEEN: f64 = 0.2;
    /// Places looked at along a cylinder and round a ring.
    const PLACES: u32 = 32;
    let covered = |(p, radius): (DVec3, f64)| lines.depth_at(p) > radius - SEEN;
    let share = |i: u32| f64::from(i) / f64::from(PLACES);
    match tool {
        Tool::Bar { stations } => stations.iter().copied().all(covered),
        Tool::Roll(roll) => !roll.strands().is_empty() && roll.places().all(covered),
        Tool::Ball { centre, radius } => covered((*centre, *radius)),
        Tool::Box { centre, size, turn } => {
            let frame = real::turned_z(turn.to_radians());
            (0..8).all(|i| {
                let side = |bit: u32| if i & bit == 0 { -0.5 } else { 0.5 };
                let corner = *size * dvec3(side(1), side(2), side(4));
                covered((*centre + frame.transform_vector3(corner), 0.0))
            })
        }
        Tool::Cylinder { from, to, from_radius, to_radius } => (0..=PLACES).all(|i| {
            let s = share(i);
            covered((from.lerp(*to, s), from_radius + (to_radius - from_radius) * s))
        }),
        Tool::Ring { centre, axis, radius, bar_radius } => {
            let (x, y) = axis.any_orthonormal_pair();
            (0..PLACES).all(|i| {
                let way = real::unit_vector(std::f64::consts::TAU * share(i)) * *radius;
                covered((*centre + x * way.x + y * way.y, *bar_radius))
            })
        }
        Tool::HalfSpace { .. } | Tool::Relief(_) => false,
    }
}

/// Whether a place in `tool` lies so deep in it and in the shape that they have far more in common than counts as contact;
/// where none of the few that are looked at does, they may all the same.
fn surely_meets(tool: &Tool, lines: &Lines) -> bool {
    /// Half a ball of this radius about the place lies in both, mm.
    const DEEP: f64 = 2.0;
    /// Places along a cylinder.
    const ALONG: u32 = 8;
    let deep = |(p, radius): (DVec3, f64)| radius > DEEP && p.z > DEEP && lines.depth_at(p) > DEEP;
    match tool {
        Tool::Bar { stations } => stations.iter().copied().any(deep),
        Tool::Ball { centre, radius } => deep((*centre, *radius)),
        Tool::Box { centre, size, .. } => deep((*centre, size.min_element() / 2.0)),
        Tool::Cylinder { from, to, from_radius, to_radius } if from.distance(*to) > DEEP => {
            let share = |i: u32| f64::from(i) / f64::from(ALONG);
            // A cone's wall is nearer than its radius.
            let at = |s: f64| (from.lerp(*to, s), (from_radius + (to_radius - from_radius) * s) / 2.0);
            (0..=ALONG).any(|i| deep(at(share(i))))
        }
        _ => false,
    }
}

/// A detail that belongs to a covering must not go through it.
fn check_depth(e: &Evidence<'_>, detail: &Detail, found: &mut Vec<Finding>) {
    let (Tool::Relief(relief), Operation::Cut) = (&detail.tool, detail.operation) else { return };
    let (there, what) = match detail.depth {
        Depth::Sponge => return,
        Depth::Icing => (e.lines.all().get(1).map_or(0.0, |line| line.depth), "icing"),
        Depth::Coating => (e.lines.carved().depth, "coverings"),
    };
    if relief.depth > there + 1e-9 {
        found.push(finding(
            Severity::Warning,
            FindingCode::PressedThrough,
            detail,
            format!(
                "\"{}\" is pressed in {} deep, but the {what} there {} only {} thick",
                detail.written_name(),
                e.mm(relief.depth),
                if what == "icing" { "is" } else { "are" },
                e.mm(there)
            ),
            Fix::edit(
                "press it in less deep, or cut it in the sponge: cut = \"sponge\"",
                FileEdit::set(detail.field.key("outline").key("depth"), FileValue::Length(there)),
            ),
        ));
    }
}

/// A detail that belongs to a covering the cake does not have.
fn check_coverings(e: &Evidence<'_>, detail: &Detail, found: &mut Vec<Finding>) {
    let none = (0..e.lines.all().len()).all(|level| !reaches(detail, level, e.lines));
    if none && detail.operation == Operation::Cut
        || (e.design.coverings.is_empty() && detail.depth == Depth::Coating)
    {
        found.push(finding(
            Severity::Warning,
            FindingCode::NoSuchCovering,
            detail,
            format!("\"{}\" belongs to a covering that this cake does not have", detail.written_name()),
            "add the covering, or let it belong to the sponge".into(),
        ));
    }
}

pub(super) fn finding(
    severity: Severity,
    code: FindingCode,
    detail: &Detail,
    message: String,
    fix: Fix,
) -> Finding {
    Finding {
        severity,
        code,
        about: detail.written_name().to_owned(),
        message,
        fix,
        place: None,
        field: detail.field.clone(),
    }
}
