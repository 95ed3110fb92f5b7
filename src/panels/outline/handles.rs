//! The points of a written outline that can be dragged, and the edits that drag, add and take them out.

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditValue, LengthForm},
};
use geom::units::parse_length;
use glam::{DVec2, dvec2};

/// What a point does to the outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The outline goes through it and may turn there.
    Corner,
    /// An arc passes through it on its way.
    OnArc,
    /// It pulls a curve towards it.
    Handle,
}

/// A point of an outline as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Handle {
    /// Where its two coordinates stand.
    pub path: FieldPath,
    /// Where it is, mm.
    pub at: DVec2,
    /// What it does.
    pub role: Role,
    /// The corner that it belongs to, by its place among the corners: the end of its piece.
    pub piece: usize,
}

/// How the piece that ends in a corner runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Run {
    /// Straight.
    Straight,
    /// As an arc.
    Arc,
    /// As a curve.
    Curve,
}

/// A length of the file in mm; `None` where there is none or it is wrong.
pub fn length_at(document: &Document, path: &FieldPath) -> Option<f64> {
    let unit = document.unit();
    match document.value(path)? {
        EditValue::String(text) => parse_length(text, unit).ok(),
        value => value.as_number().map(|number| number * unit.in_mm()),
    }
}

fn point_at(document: &Document, path: &FieldPath) -> Option<DVec2> {
    Some(dvec2(length_at(document, &path.index(0))?, length_at(document, &path.index(1))?))
}

fn count(document: &Document, path: &FieldPath) -> usize {
    match document.value(path) {
        Some(EditValue::Array(values)) => values.len(),
        _ => 0,
    }
}

/// Every point of the outline at `outline`, in its order; none where it is not written as points or pieces.
pub fn handles(document: &Document, outline: &FieldPath) -> Vec<Handle> {
    let mut found = Vec::new();
    let mut push = |path: FieldPath, role, piece| {
        if let Some(at) = point_at(document, &path) {
            found.push(Handle { path, at, role, piece });
        }
    };
    let points = outline.key("points");
    for i in 0..count(document, &points) {
        push(points.index(i), Role::Corner, i);
    }
    push(outline.key("from"), Role::Corner, 0);
    let draw = outline.key("draw");
    for i in 0..count(document, &draw) {
        let piece = draw.index(i);
        push(piece.key("through"), Role::OnArc, i + 1);
        push(piece.key("curve").index(0), Role::Handle, i + 1);
        push(piece.key("curve").index(1), Role::Handle, i + 1);
        push(piece.key("to"), Role::Corner, i + 1);
    }
    found
}

/// A length in the form of the one at `path`, or of the file's bare numbers.
fn written(document: &Document, path: &FieldPath, mm: f64) -> EditValue {
    let bare = || LengthForm::bare(document.unit()).write(mm).unwrap_or(EditValue::Integer(0));
    if document.value(path).is_none() {
        return bare();
    }
    document.length_form(path).write(mm).unwrap_or_else(|_| bare())
}

fn written_point(document: &Document, like: &FieldPath, at: DVec2) -> EditValue {
    EditValue::Array(vec![written(document, &like.index(0), at.x), written(document, &like.index(1), at.y)])
}

/// The edit that brings a point to `at`.
pub fn moved(document: &Document, path: &FieldPath, at: DVec2) -> Edit {
    let coordinate = |index: usize, mm: f64| {
        let path = path.index(index);
        Edit::Set { value: written(document, &path, mm), path }
    };
    Edit::Many(vec![coordinate(0, at.x), coordinate(1, at.y)])
}

/// The edit that puts a corner in before the corner `piece`, at `at`: the piece that ended there becomes two straight
/// ones.
pub fn added(document: &Document, outline: &FieldPath, piece: usize, at: DVec2) -> Edit {
    let points = outline.key("points");
    if document.value(&points).is_some() {
        let like = points.index(piece.min(count(document, &points).saturating_sub(1)));
        return Edit::Insert { path: points.index(piece), value: written_point(document, &like, at) };
    }
    let like = outline.key("from");
    let stroke = EditValue::inline([("to", written_point(document, &like, at))]);
    Edit::Insert { path: outline.key("draw").index(piece.saturating_sub(1)), value: stroke }
}

/// The edit that takes the corner `piece` out, or brings the piece of an arc's or a curve's point straight; `None` for
/// the first point of drawn pieces and where too few would be left.
pub fn taken_out(document: &Document, outline: &FieldPath, handle: &Handle) -> Option<Edit> {
    let points = outline.key("points");
    if document.value(&points).is_some() {
        return (count(document, &points) > 3).then(|| Edit::Remove { path: handle.path.clone() });
    }
    let draw = outline.key("draw");
    let index = handle.piece.checked_sub(1)?;
    match handle.role {
        Role::Corner => (count(document, &draw) > 2).then(|| Edit::Remove { path: draw.index(index) }),
        Role::OnArc | Role::Handle => Some(run(document, outline, handle.piece, Run::Straight)),
    }
}

/// How the piece that ends in the corner `piece` of drawn pieces runs; `None` for points, which are joined by straight
/// lines.
pub fn run_of(document: &Document, outline: &FieldPath, piece: usize) -> Option<Run> {
    let stroke = outline.key("draw").index(piece.checked_sub(1)?);
    document.value(&stroke)?;
    let has = |key: &str| document.value(&stroke.key(key)).is_some();
    Some(if has("curve") {
        Run::Curve
    } else if has("through") {
        Run::Arc
    } else {
        Run::Straight
    })
}

/// The edit that makes the piece that ends in the corner `piece` run so. An arc begins slightly bulged, a curve with
/// its handles on the straight line.
pub fn run(document: &Document, outline: &FieldPath, piece: usize, run: Run) -> Edit {
    /// How far an arc is bulged, as a share of its chord.
    const BULGE: f64 = 0.15;
    let stroke = outline.key("draw").index(piece.saturating_sub(1));
    let mut edits: Vec<Edit> = ["through", "curve"]
        .into_iter()
        .map(|key| stroke.key(key))
        .filter(|path| document.value(path).is_some())
        .map(|path| Edit::Remove { path })
        .collect();
    let all = handles(document, outline);
    let corner = |piece: usize| {
        all.iter().find(|handle| handle.role == Role::Corner && handle.piece == piece).map(|handle| handle.at)
    };
    let ends = piece.checked_sub(1).and_then(corner).zip(corner(piece));
    if let Some((from, to)) = ends {
        let like = outline.key("from");
        let between = |share: f64| from.lerp(to, share);
        let value = match run {
            Run::Straight => None,
            Run::Arc => {
                let at = between(0.5) - (to - from).perp() * BULGE;
                Some(("through", written_point(document, &like, at)))
            }
            Run::Curve => {
                let both = [1.0 / 3.0, 2.0 / 3.0].map(|share| written_point(document, &like, between(share)));
                Some(("curve", EditValue::Array(both.into())))
            }
        };
        if let Some((key, value)) = value {
            edits.push(Edit::Insert { path: stroke.key(key), value });
        }
    }
    Edit::Many(edits)
}

/// The edit that gives an outline as points instead of whatever else it was given as.
pub fn as_points(document: &Document, outline: &FieldPath, points: &[DVec2]) -> Edit {
    let bare = |mm: f64| LengthForm::bare(document.unit()).write(mm).unwrap_or(EditValue::Integer(0));
    let rows = points.iter().map(|p| EditValue::Array(vec![bare(p.x), bare(p.y)])).collect();
    let given = document.value(outline).and_then(EditValue::fields).into_iter().flatten();
    let mut edits: Vec<Edit> = given
        .filter(|(key, _)| {
            matches!(
                key.as_str(),
                "points" | "from" | "draw" | "svg" | "picture" | "circle" | "rectangle" | "ellipse" | "text"
            )
        })
        .map(|(key, _)| Edit::Remove { path: outline.key(key) })
        .collect();
    // Where it was all that the table held, the table went with it.
    edits.push(Edit::Insert { path: outline.key("points"), value: EditValue::Array(rows) });
    Edit::Many(edits)
}

/// `contour` with as few of its points as keep it within `error` mm (the line simplification of Ramer, Douglas and
/// Peucker), an open line from its first point to its last.
pub fn simplified(contour: &[DVec2], error: f64) -> Vec<DVec2> {
    let (Some(first), Some(last)) = (contour.first(), contour.last()) else { return Vec::new() };
    let off = |p: DVec2| geom::region::distance_to_segment(p, *first, *last);
    let inner = contour.iter().enumerate().skip(1).take(contour.len().saturating_sub(2));
    let furthest = inner.map(|(i, p)| (i, off(*p))).max_by(|a, b| a.1.total_cmp(&b.1));
    match furthest {
        Some((i, distance)) if distance > error => {
            let mut line = simplified(&contour[..=i], error);
            line.pop();
            line.extend(simplified(&contour[i..], error));
            line
        }
        _ => vec![*first, *last],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TURNED: &str = "crumbline = 2\nname = \"Vase\"\nunit = \"cm\"\n[shape.turned]\nfrom = [\"4 in\", 0]   # the foot\ndraw = \
                          [\n  { to = [10, 5] },\n  { to = [6, 20], through = [12, 12] },\n  { to = [0, 24], curve = [[5, 22], [2, 24]] },\n]\n";

    fn outline() -> FieldPath {
        FieldPath::root().key("shape").key("turned")
    }

    fn after(document: &Document, edit: &Edit) -> Document {
        document.apply(edit).unwrap_or_else(|error| panic!("{error}")).document
    }

    #[test]
    fn every_written_point_can_be_taken_hold_of() {
        let document = Document::from_text("cake", TURNED);
        let found = handles(&document, &outline());
        let roles: Vec<(Role, usize)> = found.iter().map(|handle| (handle.role, handle.piece)).collect();
        use Role::{Corner, Handle as Pull, OnArc};
        assert_eq!(
            roles,
            [(Corner, 0), (Corner, 1), (OnArc, 2), (Corner, 2), (Pull, 3), (Pull, 3), (Corner, 3)]
        );
        assert_eq!(found[0].at, dvec2(101.6, 0.0));
        assert_eq!(found[2].at, dvec2(120.0, 120.0));
    }

    #[test]
    fn a_point_that_is_dragged_keeps_its_unit_and_its_comment() {
        let document = Document::from_text("cake", TURNED);
        let moved = after(&document, &moved(&document, &outline().key("from"), dvec2(127.0, 10.0)));
        assert!(moved.text().contains("from = [\"5 in\", 1]   # the foot"), "{}", moved.text());
    }

    #[test]
    fn a_piece_becomes_an_arc_a_curve_and_straight_again() {
        let document = Document::from_text("cake", TURNED);
        for (run_to, role) in [(Run::Arc, Role::OnArc), (Run::Curve, Role::Handle)] {
            let bent = after(&document, &run(&document, &outline(), 1, run_to));
            assert_eq!(run_of(&bent, &outline(), 1), Some(run_to));
            let on_it: Vec<Handle> =
                handles(&bent, &outline()).into_iter().filter(|h| h.piece == 1 && h.role == role).collect();
            // Of the straight piece from (101.6, 0) to (100, 50): near its middle or on it.
            assert!(on_it.iter().all(|handle| (handle.at.x - 100.8).abs() < 8.0), "{on_it:?}");
            let straight = after(&bent, &run(&bent, &outline(), 1, Run::Straight));
            assert_eq!(straight.text(), document.text());
        }
    }

    #[test]
    fn corners_are_added_and_taken_out() {
        let document = Document::from_text("cake", TURNED);
        let more = after(&document, &added(&document, &outline(), 1, dvec2(100.0, 20.0)));
        let found = handles(&more, &outline());
        // Written in the inches of the corner before it, to a hundredth of a millimetre.
        assert!(found[1].at.distance(dvec2(100.0, 20.0)) < 0.01, "{}", found[1].at);
        let less = after(&more, &taken_out(&more, &outline(), &found[1]).unwrap());
        assert_eq!(less.text(), document.text());
        let points = "crumbline = 2\n[shape.turned]\npoints = [[50, 0], [40, 60], [0, 80]]\n";
        let document = Document::from_text("cake", points);
        let found = handles(&document, &outline());
        assert_eq!(taken_out(&document, &outline(), &found[1]), None, "two points enclose nothing");
        let more = after(&document, &added(&document, &outline(), 1, dvec2(45.0, 30.0)));
        assert!(more.text().contains("[[50, 0], [45, 30], [40, 60], [0, 80]]"), "{}", more.text());
    }

    #[test]
    fn a_drawing_becomes_points() {
        let text = "crumbline = 2\n[shape.turned.svg]\nfile = \"a.svg\"\n[[covering]]\nmaterial = \"ganache\"\nthickness = 3\n";
        let document = Document::from_text("cake", text);
        let edit = as_points(&document, &outline(), &[dvec2(50.0, 0.0), dvec2(40.5, 60.0), dvec2(0.0, 80.0)]);
        let after = after(&document, &edit);
        assert!(after.text().contains("points = [[50, 0], [40.5, 60], [0, 80]]"), "{}", after.text());
        assert!(!after.text().contains("svg"), "{}", after.text());
    }

    /// Every point of a quarter circle stays within the error of what is left of it.
    #[test]
    fn a_line_is_simplified_within_its_error() {
        let circle: Vec<DVec2> =
            (0..=900).map(|i| DVec2::from_angle(f64::from(i) * 0.1_f64.to_radians()) * 100.0).collect();
        let line = simplified(&circle, 0.2);
        assert!(line.len() < 20, "{}", line.len());
        for p in &circle {
            let off = line.windows(2).map(|ends| geom::region::distance_to_segment(*p, ends[0], ends[1]));
            assert!(off.fold(f64::INFINITY, f64::min) <= 0.2 + 1e-9);
        }
    }
}
