//! Whole outlines, filled: what a shape looks like from the front, from the side or from above.
//!
//! Unlike a half outline or a detail a silhouette may have holes and several islands. Refused: what
//! encloses nothing, and typed coordinates that do not stand on the board.

use glam::{DVec2, dvec2};

use super::{Reading, closed_path, drawn, flattened, from_picture, from_svg::Source};
use cakefile::world::Beside;
use cakefile::{Diagnostic, FieldPath, schema::Outline};
use geom::units::UnitStyle;
use geom::{Region, Tolerance, crossing::cleaned, units::Unit};

/// Where a silhouette is seen from, and so what its coordinates mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// From the front or the side: [right of the centre line, up from the board].
    Upright,
    /// From above: [right, back] from the middle.
    Above,
}

/// A whole outline, filled.
#[derive(Debug, Clone, PartialEq)]
pub struct Silhouette {
    /// What it fills, mm. Seen upright its lowest point is at y = 0.
    pub region: Region,
    /// The point of the drawing, mm from its lower left corner, that became the origin; zero for one typed
    /// in the cake file.
    pub origin: DVec2,
}

/// Smaller than anything that could be carved, mm².
const LEAST_AREA: f64 = 1.0;
/// Details of a drawn silhouette that are lower or shorter than this are none, mm: nobody cuts closer.
const DRAWN: f64 = 0.05;
/// A typed outline may miss the board by this much, mm, as its half outline may.
const ON_BOARD: f64 = 1e-4;

/// Reads the outline at `field` as a silhouette. Curves stay within `tolerance`.
///
/// What is typed stays where it is typed: x = 0 is the centre line, and seen upright the lowest point must
/// be at 0. A circle, rectangle or ellipse stands in the middle, upright on the board. A drawing's lowest point comes
/// to stand on the board, and its middle, or the `axis` that is given, on the centre line; seen from above
/// the middle of its bounding box comes to the origin.
///
/// A picture stands on its base, and its middle or the `axis` that is given is the centre line.
///
/// Notes about a drawing or a picture come back as warnings in `problems`; `None` means that errors were pushed
/// there.
pub fn to_silhouette(
    outline: &Outline,
    unit: Unit,
    view: View,
    tolerance: Tolerance,
    field: &FieldPath,
    files: &Beside<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<Silhouette> {
    let given = [
        ("points", outline.points.is_some()),
        ("draw", outline.draw.is_some()),
        ("svg", outline.svg.is_some()),
        ("picture", outline.picture.is_some()),
        ("circle", outline.circle.is_some()),
        ("rectangle", outline.rectangle.is_some()),
        ("ellipse", outline.ellipse.is_some()),
    ];
    drawn::refuse_on_shape(outline, field, problems)?;
    let kind = drawn::kind_of(outline, &given, field, problems)?;
    let silhouette = match kind {
        "svg" => {
            let reading = Reading::new(unit, field.key("svg"), files, problems);
            let source = Source::fetch(outline.svg.as_ref()?, reading)?;
            let region = source.figure(problems)?.region(tolerance);
            let drawing = Silhouette::of_drawing(region, view, source.axis);
            match view {
                View::Upright => Silhouette { region: cleaned(&drawing.region, DRAWN).snapped(), ..drawing },
                View::Above => drawing,
            }
        }
        "picture" => {
            let reading = Reading::new(unit, field.key("picture"), files, problems);
            let region = from_picture::region(outline.picture.as_ref()?, view, tolerance, reading)?;
            Silhouette { region, origin: DVec2::ZERO }
        }
        typed => {
            let mut path = drawn::typed(outline, unit, field, problems)?;
            path.close_path();
            let contours = flattened(&path, tolerance);
            // Whichever way it is drawn round.
            let mut region = Region::even_odd(contours);
            if view == View::Upright
                && let Some((lo, _)) = region.bounds()
            {
                if matches!(typed, "circle" | "rectangle" | "ellipse") {
                    region = region.placed(0.0, dvec2(0.0, -lo.y));
                } else if lo.y.abs() > ON_BOARD {
                    let side = if lo.y > 0.0 { "above" } else { "below" };
                    problems.push(
                        Diagnostic::error(
                            field.key(typed),
                            format!(
                                "the outline's lowest point lies {side} the board, at height {}",
                                UnitStyle::new(unit).length_fine(lo.y)
                            ),
                        )
                        .fix(
                            "move the outline so that its lowest point is at height 0, the top of the board",
                        ),
                    );
                    return None;
                }
            }
            Silhouette { region, origin: DVec2::ZERO }
        }
    };
    if silhouette.region.area() < LEAST_AREA {
        problems.push(
            Diagnostic::error(field.clone(), "the outline encloses nothing")
                .fix("give at least three points that do not lie on one line, or a closed path"),
        );
        return None;
    }
    Some(silhouette)
}

impl Silhouette {
    /// A region of a drawing, moved to where the view has its origin.
    pub(super) fn of_drawing(region: Region, view: View, axis: Option<f64>) -> Self {
        let Some((lo, hi)) = region.bounds() else { return Self { region, origin: DVec2::ZERO } };
        let middle = (lo + hi) / 2.0;
        let up = match view {
            View::Upright => lo.y,
            View::Above => middle.y,
        };
        let origin = dvec2(axis.unwrap_or(middle.x), up);
        Self { region: region.placed(0.0, -origin).snapped(), origin }
    }

    /// The outline as a path of closed straight pieces.
    pub fn path(&self) -> kurbo::BezPath {
        closed_path(&self.region)
    }
}
