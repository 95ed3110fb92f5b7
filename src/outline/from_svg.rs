//! The SVG drawing that an outline of the cake file names, read and placed.

use kurbo::{Affine, BezPath, Shape, Vec2};

use super::{
    Loader, Placement, closed_path,
    svg::{SvgError, SvgFigure, SvgQuery, read_svg_figure, read_svg_path},
};
use crate::{
    cakefile::{Diagnostic, FieldPath, schema::SvgPath},
    geom::Tolerance,
    units::{Unit, UnitError},
};

/// A drawing that the cake file names: its bytes and what is asked of it.
pub(super) struct Source<'a> {
    bytes: Vec<u8>,
    query: SvgQuery,
    /// Where the axis or the centre line stands, mm from the left edge of the drawing.
    pub axis: Option<f64>,
    file: &'a str,
    field: FieldPath,
}

impl<'a> Source<'a> {
    /// Fetches the drawing that `source` names at `field`.
    pub fn fetch(
        source: &'a SvgPath,
        unit: Unit,
        field: &FieldPath,
        loader: &dyn Loader,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<Self> {
        if source.id.is_some() && source.layer.is_some() {
            problems.push(
                Diagnostic::error(field.key("layer"), "`id` and `layer` are both given").mend(
                    "`id` names a path or a group, `layer` a group by the name that your program shows",
                ),
            );
            return None;
        }
        let user_unit = source.user_unit.as_ref().map(|size| size.to_mm(unit));
        let user_unit = read(user_unit, &field.key("user_unit"), problems);
        let axis = source.axis.as_ref().map(|length| length.to_mm(unit));
        let axis = read(axis, &field.key("axis"), problems);
        let (user_unit, axis) = (user_unit?, axis?);
        let bytes = load(&source.file, field, loader, problems)?;
        let query = SvgQuery { id: source.id.clone(), layer: source.layer.clone(), user_unit };
        Some(Self { bytes, query, axis, file: &source.file, field: field.clone() })
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
        problems.push(Diagnostic::error(self.field.key("file"), message).mend(error.mend()));
        None
    }
}

/// `None` if the value is wrong, `Some(None)` if there is none.
pub(super) fn read(
    value: Option<Result<f64, UnitError>>,
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Option<Option<f64>> {
    match value.transpose() {
        Ok(value) => Some(value),
        Err(error) => {
            problems.push(Diagnostic::error(field.clone(), error.to_string()));
            None
        }
    }
}

/// The bytes of a file that the cake file names.
pub(super) fn load(
    file: &str,
    field: &FieldPath,
    loader: &dyn Loader,
    problems: &mut Vec<Diagnostic>,
) -> Option<Vec<u8>> {
    let refuse = |error| {
        let message = format!("cannot read {file}: {error}");
        problems.push(
            Diagnostic::error(field.key("file"), message).mend("give its place relative to the cake file"),
        );
    };
    loader.load(file).map_err(refuse).ok()
}

/// Reads one path, moved as `placement` says.
pub(super) fn placed_path(
    source: &SvgPath,
    unit: Unit,
    placement: Placement,
    field: &FieldPath,
    loader: &dyn Loader,
    problems: &mut Vec<Diagnostic>,
) -> Option<BezPath> {
    let source = Source::fetch(source, unit, field, loader, problems)?;
    let path = source.path(problems)?;
    Some(Affine::translate(-origin(&path, placement, source.axis)) * path)
}

/// The point of a drawing that becomes the origin of the outline in it.
pub(super) fn origin(path: &BezPath, placement: Placement, axis: Option<f64>) -> Vec2 {
    let bounds = path.bounding_box();
    match placement {
        Placement::OnAxis => Vec2::new(axis.unwrap_or(bounds.x0), bounds.y0),
        Placement::Centred => bounds.center().to_vec2(),
    }
}
