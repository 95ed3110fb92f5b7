//! An outline as written in a cake file, made into a path in millimetres.

use kurbo::{Affine, Arc, BezPath, Circle, Point, Rect, Shape, Vec2};

use super::{
    Reading, from_picture,
    from_svg::{self, Source},
    from_text,
};
use cakefile::world::Beside;
use cakefile::{
    Diagnostic, FieldPath, exactly_one,
    schema::{Length, Outline, Size, Stroke},
};
use geom::real;
use geom::units::Unit;

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

/// Reads the outline at `field`: a closed path, or, where only a line along it is wanted, one that is open where the
/// outline is. Notes about a drawing, as ignored text, come back as warnings in
/// `problems`; `None` means that errors were pushed there.
pub fn to_path(
    outline: &Outline,
    unit: Unit,
    placement: Placement,
    field: &FieldPath,
    files: &Beside<'_>,
    problems: &mut Vec<Diagnostic>,
) -> Option<BezPath> {
    let mut given = vec![
        ("points", outline.points.is_some()),
        ("draw", outline.draw.is_some()),
        ("svg", outline.svg.is_some()),
        ("picture", outline.picture.is_some()),
    ];
    let about_middle = [
        ("circle", outline.circle.is_some()),
        ("rectangle", outline.rectangle.is_some()),
        ("ellipse", outline.ellipse.is_some()),
    ];
    if placement == Placement::Centred {
        given.extend(about_middle);
        given.push(("text", outline.text.is_some()));
    } else {
        refuse_on_shape(outline, field, problems)?;
        if let Some((key, _)) = about_middle.iter().find(|(_, given)| *given) {
            let article = if *key == "ellipse" { "an" } else { "a" };
            problems.push(
                Diagnostic::error(
                    field.key(key),
                    format!("a turned shape cannot be given as {article} {key}"),
                )
                .fix("give its half outline by `points`, by `from` and `draw`, by `svg` or by `picture`"),
            );
            return None;
        }
    }
    match kind_of(outline, &given, field, problems)? {
        "svg" => {
            let reading = Reading::new(unit, field.key("svg"), files, problems);
            let source = Source::fetch(outline.svg.as_ref()?, reading)?;
            let path = source.path(problems)?;
            Some(Affine::translate(-from_svg::origin(&path, placement, source.axis)) * path)
        }
        "picture" => {
            let reading = Reading::new(unit, field.key("picture"), files, problems);
            from_picture::placed_path(outline.picture.as_ref()?, placement, reading)
        }
        "text" => {
            from_text::path(outline.text.as_ref()?, Reading::new(unit, field.key("text"), files, problems))
        }
        _ => {
            let mut path = typed(outline, unit, field, problems)?;
            if placement == Placement::Centred && outline.stroke.is_none() {
                path.close_path();
            }
            Some(path)
        }
    }
}

/// Refuses what can only lie on a shape and is none: letters and lines.
pub(super) fn refuse_on_shape(
    outline: &Outline,
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Option<()> {
    let refused = [
        (
            "text",
            outline.text.is_some(),
            "letters lie on a shape and are none",
            "give the shape another outline, and the letters as a detail: outline = { shape = { text = ... }, ... }",
        ),
        (
            "stroke",
            outline.stroke.is_some(),
            "a line lies on a shape and is none",
            "take `stroke` out, or give the line as a detail: outline = { shape = { ..., stroke = 3 }, ... }",
        ),
    ];
    let Some((key, _, message, fix)) = refused.into_iter().find(|(_, given, ..)| *given) else {
        return Some(());
    };
    problems.push(Diagnostic::error(field.key(key), message).fix(fix));
    None
}

/// The one way that an outline is given in, of those that are possible here.
pub(super) fn kind_of<'k>(
    outline: &Outline,
    given: &[(&'k str, bool)],
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Option<&'k str> {
    let kind = exactly_one(given, field).map_err(|problem| problems.push(problem)).ok()?;
    if outline.from.is_some() != outline.draw.is_some() {
        problems.push(
            Diagnostic::error(field.clone(), "`from` and `draw` belong together")
                .fix("`from` says where the first piece of `draw` begins"),
        );
        return None;
    }
    Some(kind)
}

/// The path of an outline that is typed in the cake file, at the coordinates that it is typed with; circles,
/// rectangles and ellipses have their middle at the origin.
pub(super) fn typed(
    outline: &Outline,
    unit: Unit,
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Option<BezPath> {
    let mut reader = Reader { unit, problems };
    if let Some(points) = &outline.points {
        return reader.polyline(points, &field.key("points"));
    }
    if let (Some(from), Some(draw)) = (&outline.from, &outline.draw) {
        return reader.strokes(from, draw, field);
    }
    if let Some(circle) = &outline.circle {
        let diameter = reader.length(circle.to_mm(unit), field.key("circle"))?;
        return Some(Circle::new(Point::ORIGIN, diameter / 2.0).to_path(ARC_ERROR));
    }
    if let Some(size) = &outline.ellipse {
        let (w, h) = reader.across(size, &field.key("ellipse"))?;
        let circle = Circle::new(Point::ORIGIN, 1.0).to_path(ARC_ERROR / w.max(h));
        return Some(Affine::scale_non_uniform(w / 2.0, h / 2.0) * circle);
    }
    let (w, h) = reader.across(outline.rectangle.as_ref()?, &field.key("rectangle"))?;
    Some(Rect::new(-w / 2.0, -h / 2.0, w / 2.0, h / 2.0).to_path(ARC_ERROR))
}

struct Reader<'a> {
    unit: Unit,
    problems: &'a mut Vec<Diagnostic>,
}

impl Reader<'_> {
    fn length(&mut self, value: Result<f64, geom::units::UnitError>, field: FieldPath) -> Option<f64> {
        value.map_err(|error| self.problems.push(Diagnostic::error(field, error.to_string()))).ok()
    }

    /// Width and height, mm.
    fn across(&mut self, size: &[Size; 2], field: &FieldPath) -> Option<(f64, f64)> {
        let width = self.length(size[0].to_mm(self.unit), field.index(0));
        let height = self.length(size[1].to_mm(self.unit), field.index(1));
        Some((width?, height?))
    }

    fn point(&mut self, p: &[Length; 2], field: &FieldPath) -> Option<Point> {
        let x = self.length(p[0].to_mm(self.unit), field.index(0));
        let y = self.length(p[1].to_mm(self.unit), field.index(1));
        Some(Point::new(x?, y?))
    }

    fn polyline(&mut self, points: &[[Length; 2]], field: &FieldPath) -> Option<BezPath> {
        let read: Vec<Option<Point>> =
            points.iter().enumerate().map(|(i, p)| self.point(p, &field.index(i))).collect();
        let points: Vec<Point> = read.into_iter().collect::<Option<_>>()?;
        let Some((&first, rest)) = points.split_first() else {
            self.problems.push(
                Diagnostic::error(field.clone(), "the outline has no points").fix("give at least two points"),
            );
            return None;
        };
        let mut path = BezPath::new();
        path.move_to(first);
        rest.iter().for_each(|p| path.line_to(*p));
        Some(path)
    }

    fn strokes(&mut self, from: &[Length; 2], draw: &[Stroke], field: &FieldPath) -> Option<BezPath> {
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
                    .fix("leave out `through` or `curve`"),
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
                        .fix("take it out, or move its end"),
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
                        .fix("the start, `through` and `to` must differ and not lie on one straight line; leave `through` out for a straight piece"),
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
    if cross.abs() <= 1e-9 * length(u) * length(v) || cross == 0.0 {
        return None;
    }
    let centre = a + Vec2::new(v.y * u.hypot2() - u.y * v.hypot2(), u.x * v.hypot2() - v.x * u.hypot2())
        / (2.0 * cross);
    let start = angle(a - centre);
    let turn = |p: Point| (angle(p - centre) - start).rem_euclid(std::f64::consts::TAU);
    // Counter-clockwise if that way meets `b` before `c`.
    let sweep = if turn(b) < turn(c) { turn(c) } else { turn(c) - std::f64::consts::TAU };
    let radius = length(a - centre);
    Some(Arc::new(centre, Vec2::new(radius, radius), start, sweep, 0.0))
}

/// Length of a vector, mm.
fn length(v: Vec2) -> f64 {
    real::hypot(v.x, v.y)
}

/// Angle of a vector from x, radians counter-clockwise.
fn angle(v: Vec2) -> f64 {
    real::atan2(v.y, v.x)
}
