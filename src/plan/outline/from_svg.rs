//! The SVG drawing that an outline of the cake file names, read and placed.

use kurbo::{BezPath, Shape, Vec2};

use super::{
    Placement, Reading, closed_path,
    svg::{SvgError, SvgFigure, SvgQuery, read_svg_figure, read_svg_path},
};
use cakefile::{Diagnostic, FieldPath, schema::SvgPath, world::Content};
use geom::Tolerance;

/// A drawing that the cake file names: its bytes and what is asked of it.
pub(super) struct Source<'a> {
    bytes: std::sync::Arc<[u8]>,
    query: SvgQuery,
    /// Where the axis or the centre line stands, mm from the left edge of the drawing.
    pub axis: Option<f64>,
    file: &'a str,
    field: FieldPath,
}

impl<'a> Source<'a> {
    /// Fetches the drawing that `source` names.
    pub fn fetch(source: &'a SvgPath, mut reading: Reading) -> Option<Self> {
        if source.id.is_some() && source.layer.is_some() {
            return reading.refuse(
                "layer",
                "`id` and `layer` are both given",
                "`id` names a path or a group, `layer` a group by the name that your program shows",
            );
        }
        let unit = reading.unit;
        let user_unit = reading.value(source.user_unit.as_ref().map(|size| size.to_mm(unit)), "user_unit");
        let axis = reading.value(source.axis.as_ref().map(|length| length.to_mm(unit)), "axis");
        let (user_unit, axis) = (user_unit?, axis?);
        let bytes = reading.load(&source.file, Content::Drawing)?;
        let query = SvgQuery { id: source.id.clone(), layer: source.layer.clone(), user_unit };
        Some(Self { bytes, query, axis, file: &source.file, field: reading.field })
    }

    /// The one path that is meant; of a group of several, what they fill.
    pub fn path(&self, problems: &mut Vec<Diagnostic>) -> Option<BezPath> {
        match read_svg_path(&self.bytes, &self.query) {
            Ok(outline) => {
                self.note(&outline.notes, problems);
                Some(outline.path)
            }
            Err(SvgError::SeveralInGroup { .. }) => {
                // Finer than any tolerance that a cake file is likely to ask for.
                let fine = Tolerance::new(Tolerance::TOOL.chord_mm() / 10.0)?;
                self.figure(problems).map(|figure| closed_path(&figure.region(fine)))
            }
            Err(error) => self.refuse(&error, problems),
        }
    }

    /// Everything that is meant, to be filled.
    pub fn figure(&self, problems: &mut Vec<Diagnostic>) -> Option<SvgFigure> {
        match read_svg_figure(&self.bytes, &self.query) {
            Ok(figure) => {
                self.note(&figure.notes, problems);
                Some(figure)
            }
            Err(error) => self.refuse(&error, problems),
        }
    }

    fn note(&self, notes: &[String], problems: &mut Vec<Diagnostic>) {
        let warning = |note| Diagnostic::warning(self.field.key("file"), format!("{}: {note}", self.file));
        for problem in notes.iter().map(warning) {
            // A shape and its details often come from the same drawing.
            if !problems.contains(&problem) {
                problems.push(problem);
            }
        }
    }

    fn refuse<T>(&self, error: &SvgError, problems: &mut Vec<Diagnostic>) -> Option<T> {
        let message = format!("{}: {error}", self.file);
        problems.push(Diagnostic::error(self.field.key("file"), message).fix(error.fix()));
        None
    }
}

/// The point of a drawing that becomes the origin of the outline in it.
pub(super) fn origin(path: &BezPath, placement: Placement, axis: Option<f64>) -> Vec2 {
    let bounds = path.bounding_box();
    match placement {
        Placement::OnAxis => Vec2::new(axis.unwrap_or(bounds.x0), bounds.y0),
        Placement::Centred => bounds.center().to_vec2(),
    }
}
