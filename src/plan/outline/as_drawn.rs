//! Details that lie where they are drawn: in the same drawing as the shape that they are on.

use kurbo::{Affine, BezPath, Vec2};

use super::{
    Placement, Reading, View,
    from_svg::{self, Source},
    silhouette::Silhouette,
};
use cakefile::world::Beside;
use cakefile::{
    Diagnostic, FieldPath,
    schema::{Outline, SvgPath},
};
use geom::{Tolerance, units::Unit};

/// What a detail is drawn on.
#[derive(Debug, Clone, Copy)]
pub enum DrawnOn<'a> {
    /// The half outline of a turned shape.
    Turned(&'a Outline),
    /// A silhouette as seen from the front, the side or above.
    Silhouette(&'a Outline, View),
}

/// The outline of a detail at the place where it is drawn: [right, up] from where the centre line (or axis) of
/// the shape stands on its base line. `on_field` is where that shape's outline stands in the cake file.
///
/// Both must come from the same SVG drawing; where the detail gives no `user_unit`, the shape's counts.
/// Problems as for [`super::to_path`].
pub fn to_path_as_drawn(
    detail: &Outline,
    on: DrawnOn,
    unit: Unit,
    field: &FieldPath,
    on_field: &FieldPath,
    files: &Beside<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<BezPath> {
    let (DrawnOn::Turned(shape) | DrawnOn::Silhouette(shape, _)) = on;
    let (Some(drawn), Some(ground)) = (&detail.svg, &shape.svg) else {
        let what = if detail.svg.is_some() { "the shape" } else { "the detail" };
        problems.push(
            Diagnostic::error(field.clone(), format!("{what} does not come from an SVG drawing"))
                .fix("a detail lies as drawn only where it and the shape are in the same drawing; otherwise say where it lies"),
        );
        return None;
    };
    if drawn.file != ground.file {
        problems.push(
            Diagnostic::error(
                field.key("svg").key("file"),
                format!("the detail is in {}, but the shape is in {}", drawn.file, ground.file),
            )
            .fix("draw both in one file, or say where the detail lies"),
        );
        return None;
    }
    let user_unit = drawn.user_unit.clone().or_else(|| ground.user_unit.clone());
    let drawn = SvgPath { user_unit, ..drawn.clone() };
    let reading = Reading::new(unit, field.key("svg"), files, problems);
    let path = Source::fetch(&drawn, reading)?.path(problems)?;
    let ground = Source::fetch(ground, Reading::new(unit, on_field.key("svg"), files, problems))?;
    let origin = match on {
        DrawnOn::Turned(_) => from_svg::origin(&ground.path(problems)?, Placement::OnAxis, ground.axis),
        DrawnOn::Silhouette(_, view) => {
            let region = ground.figure(problems)?.region(Tolerance::TOOL);
            let origin = Silhouette::of_drawing(region, view, ground.axis).origin;
            Vec2::new(origin.x, origin.y)
        }
    };
    Some(Affine::translate(-origin) * path)
}
