//! Details: cuts that miss, adds that float, details deeper than what they are pressed into.

use glam::DVec3;

use crate::{
    carve::{Body, Edit, Surface, reaches},
    design::{Depth, Detail, Operation, Tool},
    fix::{FileEdit, FileValue, Fix},
    lines::Lines,
};
use cakefile::Severity;
use geom::{Cancel, Solid, Tolerance};

use super::{Evidence, Finding, FindingCode};

/// Less than this is no contact, mm³.
const TOUCH: f64 = 1e-3;

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    for detail in &e.design.details {
        check_contact(e, detail, found);
        check_depth(e, detail, found);
        check_coverings(e, detail, found);
    }
}

/// A detail must meet the shape. Reliefs are made from the surface and meet it wherever they find a seat.
fn check_contact(e: &Evidence<'_>, detail: &Detail, found: &mut Vec<Finding>) {
    let cancel = &Cancel::new();
    let surface = Surface { lines: e.lines, depth: 0.0, tolerance: Tolerance::PREVIEW, cancel };
    let meets = match &detail.tool {
        Tool::Relief(relief) => surface.seats(relief, detail.operation),
        tool if surely_meets(tool, e.lines) => true,
        tool => {
            let plain = Body::plain(e.design, e.lines);
            let solid = surface.solid(tool, detail.operation).unwrap_or_else(|_| Solid::empty());
            Edit::new(0, detail.operation, solid).is_some_and(|edit| {
                let near = plain.solid_near(&edit, plain.meridians(Tolerance::PREVIEW));
                edit.solid.intersection(&near).volume() > TOUCH
            })
        }
    };
    if meets {
        return;
    }
    let (code, message, fix) = match detail.operation {
        Operation::Cut => (
            FindingCode::CutMisses,
            format!("the cut \"{}\" does not meet the shape", detail.name),
            "move it, or take it out",
        ),
        Operation::Add => (
            FindingCode::AddFloats,
            format!("the add \"{}\" does not touch the shape", detail.name),
            "move it so that it reaches a few millimetres inside",
        ),
    };
    found.push(finding(Severity::Warning, code, detail, message, fix.into()));
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
                detail.name,
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
            format!("\"{}\" belongs to a covering that this cake does not have", detail.name),
            "add the covering, or let it belong to the sponge".into(),
        ));
    }
}

fn finding(severity: Severity, code: FindingCode, detail: &Detail, message: String, fix: Fix) -> Finding {
    Finding {
        severity,
        code,
        about: detail.name.clone(),
        message,
        fix,
        place: None,
        field: detail.field.clone(),
    }
}
