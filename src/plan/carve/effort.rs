//! How much the cuts and adds of a cake come to, before any of them is made.

use cakefile::Diagnostic;
use geom::{Tolerance, real};

use crate::design::{Along, Design, Detail, Tool};

/// Most triangles that the tools of all cuts and adds may come to. At this many a plan takes about 15 s and 1.2 GB on two
/// cores.
pub const MOST_TRIANGLES: u64 = 1_500_000;

/// What is wrong when the cuts and adds of `design` come to more than is worked on: the first one that is too many.
///
/// # Errors
/// When there are too many, or too large ones for so fine an accuracy.
pub fn check_details(design: &Design) -> Result<(), Diagnostic> {
    // About once round the shape.
    let round = std::f64::consts::TAU * design.shape.radius();
    let coats: f64 = design.coverings.iter().map(|covering| covering.thickness).sum();
    let mut all = 0u64;
    for (index, detail) in design.details.iter().enumerate() {
        all = all.saturating_add(triangles(detail, (coats, round), design.tool));
        if all > MOST_TRIANGLES {
            let message = format!(
                "cuts and adds up to \"{}\", the {} of {}, are more than can be worked out",
                detail.name,
                index + 1,
                design.details.len()
            );
            let fix = "leave some out, draw many small ones as one outline, or make [accuracy] tool coarser";
            return Err(Diagnostic::error(detail.field.clone(), message).fix(fix));
        }
    }
    Ok(())
}

/// About how many triangles a tool has, grown by all coats; it is so far `round` the cake.
fn triangles(detail: &Detail, (coats, round_cake): (f64, f64), tolerance: Tolerance) -> u64 {
    let round = |radius: f64| u64::from(tolerance.segments(radius));
    let rim = round(coats);
    match &detail.tool {
        Tool::Box { .. } => 12 + rim * rim,
        Tool::Ball { radius, .. } => {
            let round = round(radius + coats);
            round * round
        }
        Tool::Cylinder { from_radius, to_radius, .. } => {
            (4 + 2 * rim) * round(from_radius.max(*to_radius) + coats)
        }
        Tool::Ring { radius, bar_radius, .. } => {
            2 * round(radius + bar_radius + coats) * round(bar_radius + coats)
        }
        Tool::Bar { stations } => 128 * stations.len() as u64,
        Tool::Roll(roll) => {
            let along = match &roll.along {
                Along::Path(path) => {
                    let length = |pair: &[glam::DVec2]| {
                        let across = (pair[1].x - pair[0].x).abs() / 360.0 * round_cake;
                        real::hypot(across, pair[1].y - pair[0].y)
                    };
                    path.windows(2).map(length).sum()
                }
                Along::Outline(relief) => relief.outline.perimeter(),
                Along::Foot | Along::Rim | Along::Height(_) => round_cake,
            };
            let around = 2 * round(roll.strand_radius()).min(64);
            // Places along it: on every turn of two strands, or on a bar.
            let places = if roll.twisted { 16.0 / roll.diameter } else { 0.5 };
            around * (along * places).ceil() as u64
        }
        Tool::HalfSpace { .. } => 12,
        Tool::Relief(relief) => {
            let corners: usize = relief.outline.contours().iter().map(Vec::len).sum();
            8 * corners as u64
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Planner, Source};
    use cakefile::{CakeFile, world::Memory};
    use geom::Cancel;
    use std::sync::Arc;

    fn design(cuts: usize, tool: &str) -> Design {
        let cut = |i: usize| {
            format!(
                "[[detail]]\nname = \"{i}\"\ncut = \"sponge\"\nball = {{ centre = [100, 0, 50], diameter = 12 }}\n"
            )
        };
        let text = format!(
            "crumbline = 1\nname = \"many\"\naccuracy = {{ tool = \"{tool}\" }}\n[shape.turned]\n\
             points = [[100, 0], [100, 100], [0, 100]]\n[[covering]]\nmaterial = \"ganache\"\nthickness = 4\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 220 }}\nheight = 100\n{}",
            (0..cuts).map(cut).collect::<String>()
        );
        let source = Source::new(CakeFile::from_text("many", "", &text), Arc::new(Memory::new()));
        Planner::new().understand(&source, &Cancel::new(), |_, _| ()).unwrap().design
    }

    #[test]
    fn many_cuts_are_refused_at_the_first_that_is_too_many() {
        check_details(&design(1000, "0.05 mm")).unwrap();
        let refused = check_details(&design(2000, "0.05 mm")).unwrap_err();
        assert_eq!(refused.path.to_string(), "detail[1464]");
        assert!(refused.message.contains("\"1464\", the 1465 of 2000,"), "{}", refused.message);
        // As many cuts of a coarser mesh are not too many.
        check_details(&design(2000, "0.2 mm")).unwrap();
    }

    /// What is counted is about what is made.
    #[test]
    fn the_count_is_near_the_triangles_that_are_made() {
        let design = design(1, "0.05 mm");
        let lines = crate::lines::Lines::new(&design, design.tool, &Cancel::new()).unwrap();
        let body = crate::carve::Body::new(&design, &lines, 1, design.tool, &Cancel::new()).unwrap();
        let made = body.edits[0].solid.to_mesh().len() as f64;
        let counted = triangles(&design.details[0], (4.0, 600.0), design.tool) as f64;
        assert!((0.4..2.5).contains(&(made / counted)), "{made} {counted}");
    }
}
