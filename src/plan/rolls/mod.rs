//! Where rolled sausages lie: along which line of the surface, and how far out of it.
//!
//! What a roll is laid along is a line of places on the surface, each with the direction out of it (`courses`). The middle
//! of the roll lies square to the surface from there, as far out as the roll is half thick, less what it is flattened by. On
//! a turned shape rings are exact for the straightened outline: every ring has one place in the half-plane. On any other
//! shape the finished surface is cut at the height, and the places beside the cut are moved until the surface is as near as
//! the roll is thick: round a corner, and out of an inward one.

mod courses;
mod ground;
mod strands;

use crate::{
    design::{Design, Laid, Nowhere, Roll, Tool},
    lines::Lines,
};
use geom::{Cancel, Cancelled, Tolerance};
use ground::Ground;

pub use strands::{PITCH, overlaps_itself, thickest_that_fits};

/// Lays every roll of `design`.
///
/// # Errors
/// Once `cancel` asks to stop.
pub(crate) fn lay(design: &mut Design, lines: &Lines, cancel: &Cancel) -> Result<(), Cancelled> {
    let (shape, tolerance) = (design.shape.clone(), design.tool);
    let ground = Ground { lines, form: shape.form() };
    for detail in &mut design.details {
        if let Tool::Roll(roll) = &mut detail.tool {
            cancel.check()?;
            roll.laid = laid(roll, &ground, tolerance, cancel)?;
        }
    }
    Ok(())
}

fn laid(roll: &Roll, ground: &Ground<'_>, tolerance: Tolerance, cancel: &Cancel) -> Result<Laid, Cancelled> {
    let courses = match courses::courses(roll, ground, tolerance) {
        Ok(courses) => courses,
        Err(nowhere) => return Ok(Laid::Nowhere(nowhere)),
    };
    let mut strands = Vec::new();
    for course in &courses {
        cancel.check()?;
        strands.extend(strands::strands(roll, course, tolerance));
    }
    Ok(if strands.is_empty() { Laid::Nowhere(Nowhere::NotBetween) } else { Laid::On(strands) })
}
