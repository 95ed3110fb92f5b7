//! An outline as written in a cake file, made into a path in millimetres.

use kurbo::{Affine, Arc, BezPath, Circle, Point, Rect, Shape, Vec2};

use super::{
    Loader,
    svg::{self, SvgQuery},
};
use crate::{
    cakefile::{
        Diagnostic, FieldPath, exactly_one,
        schema::{Length, Outline, Stroke, SvgPath},
    },
    units::Unit,
};

/// How an outline's own coordinates lie: what a drawing's origin is moved to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Placement {
    /// A half outline: the axis at x = 0, the lowest point at y = 0.
    OnAxis,
    /// A detail: the middle of its bounding box at the origin.
    Centred,
}

/// Curves stay within this of the true arc, mm; far below any flattening.
const ARC_ERROR: f64 = 1e-6;

/// Reads the outline at `field`. Notes about a drawing, as ignored text, come back as warnings in
/// `problems`; `None` means that errors were pushed there.
pub fn to_path(
    outline: &Outline,
    unit: Unit,
    placement: Placement,
    field: &FieldPath,
    loader: &dyn Loader,
    problems: &mut Vec<Diagnostic>,
) -> Option<BezPath> {
    let mut given = vec![
        ("points", outline.points.is_some()),
        ("draw", outline.draw.is_some()),
        ("svg", outline.svg.is_some()),
    ];
    if placement == Placement::Centred {
        given.push(("circle", outline.circle.is_some()));
        given.push(("rectangle", outline.rectangle.is_some()));
    } else if outline.circle.is_some() || outline.rectangle.is_some() {
        let key = if outline.circle.is_some() { "circle" } else { "rectangle" };
        problems.push(
            Diagnostic::error(field.key(key), format!("a turned shape cannot be given as a {key}"))
                .mend("give its half outline by `points`, by `from` and `draw`, or by `svg`"),
        );
        return None;
    }
    let kind = exactly_one(&given, field).map_err(|problem| problems.push(problem)).ok()?;
    if outline.from.is_some() != outline.draw.is_some() {
        problems.push(
            Diagnostic::error(field.clone(), "`from` and `draw` belong together")
                .mend("`from` says where the first piece of `draw` begins"),
        );
        return None;
    }
    let mut reader = Reader { unit, problems };
    match kind {
        "points" => reader.polyline(outline.points.as_deref()?, &field.key("points"), placement),
        "draw" => reader.strokes(outline.from.as_ref()?, outline.draw.as_deref()?, field, placement),
        "svg" => drawing(outline.svg.as_ref()?, unit, placement, &field.key("svg"), loader, problems),
        "circle" => {
            let diameter = reader.length(outline.circle.as_ref()?.to_mm(unit), field.key("circle"))?;
            Some(Circle::new(Point::ORIGIN, diameter / 2.0).to_path(ARC_ERROR))
        }
        _ => {
            let size = outline.rectangle.as_ref()?;
            let at = field.key("rectangle");
            let width = reader.length(size[0].to_mm(unit), at.index(0));
            let height = reader.length(size[1].to_mm(unit), at.index(1));
            let (w, h) = (width?, height?);
            Some(Rect::new(-w / 2.0, -h / 2.0, w / 2.0, h / 2.0).to_path(ARC_ERROR))
        }
    }
}

struct Reader<'a> {
    unit: Unit,
    problems: &'a mut Vec<Diagnostic>,
}

impl Reader<'_> {
    fn length(&mut self, value: Result<f64, crate::units::UnitError>, field: FieldPath) -> Option<f64> {
        value.map_err(|error| self.problems.push(Diagnostic::error(field, error.to_string()))).ok()
    }

    fn point(&mut self, p: &[Length; 2], field: &FieldPath) -> Option<Point> {
        let x = self.length(p[0].to_mm(self.unit), field.index(0));
        let y = self.length(p[1].to_mm(self.unit), field.index(1));
        Some(Point::new(x?, y?))
    }

    fn polyline(
        &mut self,
        points: &[[Length; 2]],
        field: &FieldPath,
        placement: Placement,
    ) -> Option<BezPath> {
        let read: Vec<Option<Point>> =
            points.iter().enumerate().map(|(i, p)| self.point(p, &field.index(i))).collect();
        let points: Vec<Point> = read.into_iter().collect::<Option<_>>()?;
        let Some((&first, rest)) = points.split_first() else {
            self.problems.push(
                Diagnostic::error(field.clone(), "the outline has no points")
                    .mend("give at least two points"),
            );
            return None;
        };
        let mut path = BezPath::new();
        path.move_to(first);
        rest.iter().for_each(|p| path.line_to(*p));
        close_detail(&mut path, placement);
        Some(path)
    }

    fn strokes(
        &mut self,
        from: &[Length; 2],
        draw: &[Stroke],
        field: &FieldPath,
        placement: Placement,
    ) -> Option<BezPath> {
        let mut at = self.point(from, &field.key("from"));
        let mut path = BezPath::new();
        if let Some(p) = at {
            path.move_to(p);
        }
        let draw_field = field.key("draw");
        for (i, stroke) in draw.iter().enumerate() {
            at = self.stroke(&mut path, at, stroke, &draw_field.index(i));
        }
        at?;
        close_detail(&mut path, placement);
        Some(path)
    }

    /// Adds one piece; returns where it ends, or `None` once anything was wrong.
    fn stroke(
        &mut self,
        path: &mut BezPath,
        start: Option<Point>,
        stroke: &Stroke,
        field: &FieldPath,
    ) -> Option<Point> {
        let to = self.point(&stroke.to, &field.key("to"));
        let through = stroke.through.as_ref().map(|p| self.point(p, &field.key("through")));
        let curve = stroke.curve.as_ref().map(|handles| {
            let at = field.key("curve");
            let first = self.point(&handles[0], &at.index(0));
            let second = self.point(&handles[1], &at.index(1));
            Some((first?, second?))
        });
        if through.is_some() && curve.is_some() {
            self.problems.push(
                Diagnostic::error(field.clone(), "a piece is an arc or a curve, not both")
                    .mend("leave out `through` or `curve`"),
            );
            return None;
        }
        let (start, to) = (start?, to?);
        match (through, curve) {
            (Some(through), _) => self.arc(path, start, through?, to, field)?,
            (_, Some(handles)) => {
                let (first, second) = handles?;
                path.curve_to(first, second, to);
            }
            _ if start.distance(to) < ARC_ERROR => {
                self.problems.push(
                    Diagnostic::error(field.key("to"), "this piece has no length: it ends where it begins")
                        .mend("take it out, or move its end"),
                );
                return None;
            }
            _ => path.line_to(to),
        }
        Some(to)
    }

    fn arc(
        &mut self,
        path: &mut BezPath,
        from: Point,
        through: Point,
        to: Point,
        field: &FieldPath,
    ) -> Option<()> {
        match arc_through(from, through, to) {
            Some(arc) => {
                path.extend(arc.append_iter(ARC_ERROR));
                Some(())
            }
            None => {
                self.problems.push(
                    Diagnostic::error(field.key("through"), "no circular arc runs through these three points")
                        .mend("the start, `through` and `to` must differ and not lie on one straight line; leave `through` out for a straight piece"),
                );
                None
            }
        }
    }
}

/// The circular arc that starts at `a`, passes `b` and ends at `c`.
fn arc_through(a: Point, b: Point, c: Point) -> Option<Arc> {
    let (u, v) = (b - a, c - a);
    let cross = u.cross(v);
    if cross.abs() <= 1e-9 * u.hypot() * v.hypot() || cross == 0.0 {
        return None;
    }
    let centre = a + Vec2::new(v.y * u.hypot2() - u.y * v.hypot2(), u.x * v.hypot2() - v.x * u.hypot2())
        / (2.0 * cross);
    let start = (a - centre).atan2();
    let turn = |p: Point| ((p - centre).atan2() - start).rem_euclid(std::f64::consts::TAU);
    // Counter-clockwise if that way meets `b` before `c`.
    let sweep = if turn(b) < turn(c) { turn(c) } else { turn(c) - std::f64::consts::TAU };
    let radius = (a - centre).hypot();
    Some(Arc::new(centre, Vec2::new(radius, radius), start, sweep, 0.0))
}

fn close_detail(path: &mut BezPath, placement: Placement) {
    if placement == Placement::Centred {
        path.close_path();
    }
}

fn drawing(
    source: &SvgPath,
    unit: Unit,
    placement: Placement,
    field: &FieldPath,
    loader: &dyn Loader,
    problems: &mut Vec<Diagnostic>,
) -> Option<BezPath> {
    let mut refuse = |at: FieldPath, text: String, help: Option<String>| {
        let mut problem = Diagnostic::error(at, text);
        problem.help = help;
        problems.push(problem);
    };
    let user_unit = match source.user_unit.as_ref().map(|u| u.to_mm(unit)).transpose() {
        Ok(user_unit) => user_unit,
        Err(error) => {
            refuse(field.key("user_unit"), error.to_string(), None);
            return None;
        }
    };
    let axis = match source.axis.as_ref().map(|a| a.to_mm(unit)).transpose() {
        Ok(axis) => axis,
        Err(error) => {
            refuse(field.key("axis"), error.to_string(), None);
            return None;
        }
    };
    let bytes = match loader.load(&source.file) {
        Ok(bytes) => bytes,
        Err(error) => {
            let help = "give its place relative to the cake file".to_owned();
            refuse(field.key("file"), format!("cannot read {}: {error}", source.file), Some(help));
            return None;
        }
    };
    match svg::read_svg_path(&bytes, &SvgQuery { id: source.id.clone(), user_unit }) {
        Err(error) => {
            refuse(field.key("file"), format!("{}: {error}", source.file), Some(error.mend()));
            None
        }
        Ok(outline) => {
            for note in &outline.notes {
                problems.push(Diagnostic::warning(field.key("file"), format!("{}: {note}", source.file)));
            }
            let bounds = outline.path.bounding_box();
            let origin = match placement {
                Placement::OnAxis => Vec2::new(axis.unwrap_or(bounds.x0), bounds.y0),
                Placement::Centred => bounds.center().to_vec2(),
            };
            Some(Affine::translate(-origin) * outline.path)
        }
    }
}
