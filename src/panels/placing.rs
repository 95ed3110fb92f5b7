//! Where a detail lies on the cake, and the edit that brings it elsewhere along the surface.

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditValue, LengthForm},
};
use geom::revolve::{at_bearing, bearing_of};
use glam::{DVec2, DVec3, dvec3};

use crate::outline::length_at;

/// Lengths go to whole steps of this, mm.
const STEP: f64 = 1.0;
/// Bearings go to whole degrees.
const DEGREE: f64 = 1.0;

/// The detail that a path belongs to, by its place in the file.
pub fn detail_of(path: &FieldPath) -> Option<usize> {
    use cakefile::Step::{Index, Key};
    match path.0.get(..2)? {
        [Key(key), Index(index)] if key == "detail" => Some(*index),
        _ => None,
    }
}

/// A place round the axis: how far from it, how high and at which bearing, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Around {
    radius: f64,
    height: f64,
    bearing: f64,
}

impl Around {
    fn of(p: DVec3) -> Self {
        Self { radius: p.truncate().length(), height: p.z, bearing: bearing_of(p.truncate()) }
    }
}

/// The middle of a detail, mm; of an outline on the surface only its height and bearing count, at radius 0. `None` for a
/// detail that lies nowhere in particular: one that is cut by a plane, or that lies as it was drawn.
pub fn middle(document: &Document, detail: usize) -> Option<DVec3> {
    let detail = FieldPath::root().key("detail").index(detail);
    let outline = detail.key("outline");
    if document.value(&outline).is_some() {
        if let Some((_, at)) = on_top(document, &outline) {
            return Some(at.extend(0.0));
        }
        let height = length_at(document, &outline.key("height"))?;
        return Some(dvec3(0.0, 0.0, height));
    }
    let points = points(&detail, document);
    let sum: DVec3 = points.iter().map(|(_, p)| *p).sum();
    (!points.is_empty()).then(|| sum / points.len() as f64)
}

/// Where an outline that lies on the top has its middle, with where that is written.
fn on_top(document: &Document, outline: &FieldPath) -> Option<(FieldPath, DVec2)> {
    let path = outline.key("top");
    let length = |i: usize| length_at(document, &path.index(i));
    let at = DVec2::new(length(0)?, length(1)?);
    Some((path, at))
}

/// The points that move with a detail, with where they are written.
fn points(detail: &FieldPath, document: &Document) -> Vec<(FieldPath, DVec3)> {
    let mut paths: Vec<FieldPath> = ["box", "ball", "ring"].map(|tool| detail.key(tool).key("centre")).into();
    paths.extend(["from", "to"].map(|end| detail.key("cylinder").key(end)));
    let path = detail.key("bar").key("path");
    if let Some(EditValue::Array(points)) = document.value(&path) {
        paths.extend((0..points.len()).map(|i| path.index(i)));
    }
    let at = |path: FieldPath| {
        let length = |i: usize| length_at(document, &path.index(i));
        let p = dvec3(length(0)?, length(1)?, length(2)?);
        Some((path, p))
    };
    paths.into_iter().filter_map(at).collect()
}

/// The edit that moves a detail, as it is in `document`, as the place `from` on the surface moves to the place `to`: turned
/// about the axis, and with it as far out and up. `None` for one that lies nowhere in particular.
pub fn moved(document: &Document, detail: usize, from: DVec3, to: DVec3) -> Option<Edit> {
    let path = FieldPath::root().key("detail").index(detail);
    if let Some((top, at)) = on_top(document, &path.key("outline")) {
        let at = at + (to - from).truncate();
        let edits = [at.x, at.y].into_iter().enumerate();
        return Some(Edit::Many(edits.map(|(i, mm)| set_length(document, top.index(i), mm)).collect()));
    }
    let (from, to) = (Around::of(from), Around::of(to));
    let turned = rounded(within_half_a_turn(to.bearing - from.bearing), DEGREE);
    let (out, up) = (to.radius - from.radius, to.height - from.height);
    let outline = path.key("outline");
    if document.value(&outline).is_some() {
        let height = length_at(document, &outline.key("height"))?;
        return Some(Edit::Many(vec![
            set_length(document, outline.key("height"), height + up),
            set_angle(document, outline.key("bearing"), turned),
        ]));
    }
    let spin = DVec2::from_angle(turned.to_radians());
    let points = points(&path, document);
    let middle = middle(document, detail)?;
    let away = at_bearing(1.0, 0.0, bearing_of(middle.truncate())).truncate().rotate(spin);
    let mut edits: Vec<Edit> = Vec::new();
    for (at, p) in &points {
        let flat = p.truncate().rotate(spin) + away * out;
        for (i, mm) in [flat.x, flat.y, p.z + up].into_iter().enumerate() {
            edits.push(set_length(document, at.index(i), mm));
        }
    }
    // What has a direction turns with it.
    if document.value(&path.key("box")).is_some() {
        edits.push(set_angle(document, path.key("box").key("turn"), turned));
    }
    let axis = path.key("ring").key("axis");
    if let (Some(x), Some(y)) = (number(document, &axis.index(0)), number(document, &axis.index(1))) {
        let flat = DVec2::new(x, y).rotate(spin);
        for (i, value) in [flat.x, flat.y].into_iter().enumerate() {
            edits.push(Edit::Set { path: axis.index(i), value: rounded(value, 1e-4).into() });
        }
    }
    (!points.is_empty()).then_some(Edit::Many(edits))
}

/// The edit that brings the middle of a detail to a place on the surface. `None` as in [`moved`].
pub fn placed(document: &Document, detail: usize, to: DVec3) -> Option<Edit> {
    let outline = FieldPath::root().key("detail").index(detail).key("outline");
    let middle = middle(document, detail)?;
    let from = if on_top(document, &outline).is_some() {
        middle
    } else if document.value(&outline).is_some() {
        let bearing = number(document, &outline.key("bearing")).unwrap_or(0.0);
        at_bearing(1.0, middle.z, bearing)
    } else {
        middle
    };
    moved(document, detail, from, to)
}

/// A number, or an angle as "45 deg", in degrees.
fn number(document: &Document, path: &FieldPath) -> Option<f64> {
    match document.value(path)? {
        EditValue::String(text) => text.trim_end_matches(|c: char| !c.is_ascii_digit()).trim().parse().ok(),
        value => value.as_number(),
    }
}

/// An angle in degrees as one from −180 up to 180.
fn within_half_a_turn(degrees: f64) -> f64 {
    (degrees + 180.0).rem_euclid(360.0) - 180.0
}

fn rounded(value: f64, step: f64) -> f64 {
    // Divided by the inverse, so that 0.1 stays 0.1.
    (value / step).round() / (1.0 / step)
}

/// A length in the form in which it is written, or else in that of bare numbers.
fn set_length(document: &Document, path: FieldPath, mm: f64) -> Edit {
    let mm = rounded(mm, STEP);
    let bare = || LengthForm::bare(document.unit()).write(mm).unwrap_or(EditValue::Integer(0));
    let value = match document.value(&path) {
        Some(_) => document.length_form(&path).write(mm).unwrap_or_else(|_| bare()),
        None => bare(),
    };
    Edit::Set { path, value }
}

/// An angle that is `more` degrees than it is, within half a turn.
fn set_angle(document: &Document, path: FieldPath, more: f64) -> Edit {
    let now = number(document, &path).unwrap_or(0.0);
    let degrees = rounded(within_half_a_turn(now + more), 0.001);
    let value = if degrees.fract() == 0.0 { EditValue::Integer(degrees as i64) } else { degrees.into() };
    Edit::Set { path, value }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CAKE: &str = "crumbline = 2\nname = \"Face\"\nunit = \"cm\"\n[[detail]]\nname = \"eye\"\nadd = \"icing\"\n\
        [detail.ball]\ncentre = [0, -10, \"4 in\"]   # in front\ndiameter = 2\n[[detail]]\nname = \"leaf\"\ncut = \"icing\"\n\
        [detail.outline]\nheight = 5\ndepth = 0.1\nshape = { circle = 2 }\n[[detail]]\nname = \"top\"\ncut = \"sponge\"\n\
        [detail.half_space]\npoint = [0, 0, 20]\nnormal = [0, 0, 1]\n[[detail]]\nname = \"door\"\nadd = \"icing\"\n\
        [detail.box]\ncentre = [10, 0, 3]\nsize = [1, 1, 1]\nturn = 80\n";

    fn after(document: &Document, edit: Option<Edit>) -> Document {
        document.apply(&edit.expect("an edit")).unwrap_or_else(|error| panic!("{error}")).document
    }

    /// From the front to the right-hand side, 90° counter-clockwise seen from above, 5 mm further out and 20 mm up.
    #[test]
    fn a_ball_goes_round_the_axis_with_the_pointer_and_keeps_its_units() {
        let document = Document::from_text("cake", CAKE);
        let (from, to) = (at_bearing(105.0, 100.0, 0.0), at_bearing(110.0, 120.0, 90.0));
        let moved = after(&document, moved(&document, 0, from, to));
        let middle = middle(&moved, 0).unwrap();
        // 4 in and 20 mm are 121.6 mm, to whole millimetres 122.
        assert!(middle.abs_diff_eq(dvec3(105.0, 0.0, 122.0), 0.01), "{middle}");
        assert!(moved.text().contains(" in\"]   # in front"), "{}", moved.text());
    }

    #[test]
    fn an_outline_keeps_to_the_surface() {
        let document = Document::from_text("cake", CAKE);
        let placed = after(&document, placed(&document, 1, at_bearing(77.0, 88.0, 270.0)));
        let outline = FieldPath::root().key("detail").index(1).key("outline");
        assert_eq!(number(&placed, &outline.key("bearing")), Some(-90.0));
        assert_eq!(length_at(&placed, &outline.key("height")), Some(88.0));
    }

    #[test]
    fn a_box_turns_with_its_place_and_a_plane_lies_nowhere() {
        let document = Document::from_text("cake", CAKE);
        let placed = after(&document, placed(&document, 3, at_bearing(100.0, 30.0, 270.0)));
        let detail = FieldPath::root().key("detail").index(3).key("box");
        // From the right-hand side (90°) to the left-hand side (270°): half a turn.
        assert_eq!(number(&placed, &detail.key("turn")).map(f64::abs), Some(100.0));
        assert!(middle(&placed, 3).unwrap().abs_diff_eq(dvec3(-100.0, 0.0, 30.0), 0.01));
        assert_eq!(middle(&document, 2), None);
        assert!(super::placed(&document, 2, DVec3::X).is_none());
    }

    #[test]
    fn a_detail_is_known_by_any_path_in_it() {
        let detail = FieldPath::root().key("detail").index(2);
        assert_eq!(detail_of(&detail), Some(2));
        assert_eq!(detail_of(&detail.key("ball").key("centre")), Some(2));
        assert_eq!(detail_of(&FieldPath::root().key("tier").index(2)), None);
    }
}
