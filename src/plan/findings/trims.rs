//! Trims: cuts that miss, adds that float, details deeper than what they are pressed into.

use crate::{
    carve::{Body, Edit, Surface, Window, reaches},
    design::{Depth, Operation, Tool, Trim},
    fix::{FileEdit, FileValue, Fix},
};
use cakefile::Severity;
use geom::{Cancel, Solid, Tolerance};

use super::{Evidence, Finding, FindingCode};

/// Less than this is no contact, mm³.
const TOUCH: f64 = 1e-3;

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    for trim in &e.design.trims {
        check_contact(e, trim, found);
        check_depth(e, trim, found);
        check_coverings(e, trim, found);
    }
}

/// A trim must meet the shape. Reliefs are made from the surface and meet it wherever they find a seat.
fn check_contact(e: &Evidence<'_>, trim: &Trim, found: &mut Vec<Finding>) {
    let cancel = &Cancel::new();
    let surface = Surface { lines: e.lines, depth: 0.0, tolerance: Tolerance::PREVIEW, cancel };
    let meets = match &trim.tool {
        Tool::Relief(relief) => surface.seats(relief, trim.operation),
        tool => {
            let plain = Body::plain(e.design, e.lines);
            let solid = surface.solid(tool, trim.operation).unwrap_or_else(|_| Solid::empty());
            Edit::new(0, trim.operation, solid).is_some_and(|edit| {
                let near = plain.solid_in(&Window::of(&edit), plain.meridians(Tolerance::PREVIEW));
                edit.solid.intersection(&near).volume() > TOUCH
            })
        }
    };
    if meets {
        return;
    }
    let (code, message, mend) = match trim.operation {
        Operation::Cut => (
            FindingCode::CutMisses,
            format!("the cut \"{}\" does not meet the shape", trim.name),
            "move it, or take it out",
        ),
        Operation::Add => (
            FindingCode::AddFloats,
            format!("the add \"{}\" does not touch the shape", trim.name),
            "move it so that it reaches a few millimetres inside",
        ),
    };
    found.push(finding(Severity::Warning, code, trim, message, mend.into()));
}

/// A detail that belongs to a covering must not go through it.
fn check_depth(e: &Evidence<'_>, trim: &Trim, found: &mut Vec<Finding>) {
    let (Tool::Relief(relief), Operation::Cut) = (&trim.tool, trim.operation) else { return };
    let (there, what) = match trim.depth {
        Depth::Sponge => return,
        Depth::Icing => (e.lines.all().get(1).map_or(0.0, |line| line.depth), "icing"),
        Depth::Coating => (e.lines.carved().depth, "coverings"),
    };
    if relief.depth > there + 1e-9 {
        found.push(finding(
            Severity::Warning,
            FindingCode::PressedThrough,
            trim,
            format!(
                "\"{}\" is pressed in {} deep, but the {what} there {} only {} thick",
                trim.name,
                e.mm(relief.depth),
                if what == "icing" { "is" } else { "are" },
                e.mm(there)
            ),
            Fix::edit(
                "press it in less deep, or cut it in the sponge: cut = \"sponge\"",
                FileEdit::set(trim.field.key("outline").key("depth"), FileValue::Length(there)),
            ),
        ));
    }
}

/// A trim that belongs to a covering the cake does not have.
fn check_coverings(e: &Evidence<'_>, trim: &Trim, found: &mut Vec<Finding>) {
    let none = (0..e.lines.all().len()).all(|level| !reaches(trim, level, e.lines));
    if none && trim.operation == Operation::Cut
        || (e.design.coverings.is_empty() && trim.depth == Depth::Coating)
    {
        found.push(finding(
            Severity::Warning,
            FindingCode::NoSuchCovering,
            trim,
            format!("\"{}\" belongs to a covering that this cake does not have", trim.name),
            "add the covering, or let it belong to the sponge".into(),
        ));
    }
}

fn finding(severity: Severity, code: FindingCode, trim: &Trim, message: String, fix: Fix) -> Finding {
    Finding { severity, code, about: trim.name.clone(), message, fix, place: None, field: trim.field.clone() }
}
