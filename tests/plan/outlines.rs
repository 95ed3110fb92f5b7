//! Whole outlines from drawings: what a group fills, which layer is meant, and details where they are drawn.
//!
//! Areas are those of plane geometry; filling follows W3C SVG 1.1, "Fill properties" (`fill-rule`).

use cakefile::{
    Diagnostic, FieldPath, Severity,
    schema::{Outline, SvgPath},
    world::{Beside, Memory},
};
use geom::units::Unit;
use glam::dvec2;
use kurbo::Shape;
use plan::outline::{DrawnOn, Silhouette, View, to_path_as_drawn, to_silhouette};

use crate::support::{assert_close, tolerance};

/// Files by name.
struct Files(&'static [(&'static str, &'static str)]);

impl Files {
    fn world(&self) -> Memory {
        self.0.iter().fold(Memory::new(), |world, (name, text)| world.with(*name, text.as_bytes()))
    }
}

/// A hen in two islands with a hole, her eye, a side view, and a word, on 200 mm × 100 mm.
const HEN: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" xmlns:draw="http://example.org/draw"
    width="200mm" height="100mm" viewBox="0 0 200 100">
  <script>alert("never")</script>
  <g draw:label="front view" id="g1" transform="translate(0 10)">
    <path id="body" fill-rule="evenodd" d="M20 80 H80 V20 H20 Z M40 60 H60 V40 H40 Z"/>
    <g><path id="tail" d="M100 80 h20 v-20 h-20 z"/></g>
  </g>
  <g data-name="side view"><rect id="flank" x="150" y="30" width="40" height="60"/></g>
  <circle id="eye" cx="30" cy="40" r="5"/>
  <g id="words"><text x="10" y="10">Hen</text></g>
</svg>"##;

const FILES: Files = Files(&[("hen.svg", HEN)]);

fn from_svg(of: impl FnOnce(&mut SvgPath)) -> Outline {
    let mut svg = SvgPath { file: "hen.svg".into(), id: None, layer: None, user_unit: None, axis: None };
    of(&mut svg);
    Outline { svg: Some(svg), ..Outline::default() }
}

fn layer(name: &str) -> Outline {
    from_svg(|svg| svg.layer = Some(name.into()))
}

fn id(name: &str) -> Outline {
    from_svg(|svg| svg.id = Some(name.into()))
}

fn read(outline: &Outline, view: View) -> Result<(Silhouette, Vec<Diagnostic>), Vec<Diagnostic>> {
    let field = FieldPath::root().key("shape");
    let mut problems = Vec::new();
    match to_silhouette(
        outline,
        Unit::Millimetre,
        view,
        tolerance(0.01),
        &field,
        &Beside::new(&FILES.world(), ""),
        &mut problems,
    ) {
        Some(silhouette) => Ok((silhouette, problems)),
        None => Err(problems),
    }
}

fn message(outline: &Outline) -> (String, String) {
    let problems = read(outline, View::Upright).unwrap_err();
    let error = problems.into_iter().find(|p| p.severity == Severity::Error).expect("an error");
    (format!("{}: {}", error.path, error.message), error.help.unwrap_or_default())
}

#[test]
fn a_layer_gives_all_its_islands_and_holes_standing_on_the_board() {
    let (hen, notes) = read(&layer("front view"), View::Upright).unwrap();
    // 60² less 20², and an island of 20².
    assert_close("area", hen.region.area(), 3600.0, 1e-6);
    assert_eq!(hen.region.pieces().len(), 2);
    assert_eq!(hen.region.holes().pieces().len(), 1);
    let (lo, hi) = hen.region.bounds().unwrap();
    assert!((lo - dvec2(-50.0, 0.0)).length() < 1e-4 && (hi - dvec2(50.0, 60.0)).length() < 1e-4);
    // The lower left corner of the drawing is the origin of the drawing.
    assert!((hen.origin - dvec2(70.0, 10.0)).length() < 1e-4, "{}", hen.origin);
    let notes: Vec<&str> = notes.iter().map(|note| note.message.as_str()).collect();
    assert_eq!(
        notes,
        [
            "hen.svg: the text in the drawing is left out: turn it into paths to use it",
            "hen.svg: scripts in the drawing are not run"
        ]
    );
}

#[test]
fn a_layer_is_found_by_either_name_and_by_its_id() {
    for (name, area) in [("g1", 3600.0), ("side view", 2400.0)] {
        let (found, _) = read(&layer(name), View::Upright).unwrap();
        assert_close(name, found.region.area(), area, 1e-6);
    }
    let (by_group, _) = read(&id("g1"), View::Upright).unwrap();
    assert_close("by id", by_group.region.area(), 3600.0, 1e-6);
    let (body, _) = read(&id("body"), View::Above).unwrap();
    let (lo, hi) = body.region.bounds().unwrap();
    assert!((lo + hi).length() < 1e-4, "seen from above its middle is the origin");
}

#[test]
fn the_centre_line_is_where_the_axis_is_given() {
    let mut hen = layer("front view");
    hen.svg.as_mut().unwrap().axis = Some(50.0.into());
    let (hen, _) = read(&hen, View::Upright).unwrap();
    let (lo, hi) = hen.region.bounds().unwrap();
    assert!((lo.x + 30.0).abs() < 1e-4 && (hi.x - 70.0).abs() < 1e-4);
}

#[test]
fn what_a_drawing_does_not_hold_is_told_with_the_fix() {
    let expected = "shape.svg.file: hen.svg: the drawing has no layer called \"front\"";
    assert_eq!(
        message(&layer("front")),
        (expected.into(), "there are \"front view\", \"side view\", \"words\"".into())
    );
    let (_, fix) = message(&layer("front veiw"));
    assert_eq!(fix, "did you mean \"front view\"?");
    let (what, _) = message(&from_svg(|_| {}));
    assert_eq!(what, "shape.svg.file: hen.svg: the drawing holds 4 paths, and none is named");
    let (what, _) = message(&id("words"));
    assert_eq!(what, "shape.svg.file: hen.svg: \"words\" is a `g` of the drawing that shows no path");
    let both = from_svg(|svg| (svg.id, svg.layer) = (Some("g1".into()), Some("g1".into())));
    assert_eq!(message(&both).0, "shape.svg.layer: `id` and `layer` are both given");
}

#[test]
fn typed_outlines_stay_where_they_are_typed() {
    let triangle = |up: f64| Outline {
        points: Some([(10.0, up), (40.0, up), (10.0, up + 30.0)].map(|(x, y)| [x.into(), y.into()]).to_vec()),
        ..Outline::default()
    };
    let (standing, _) = read(&triangle(0.0), View::Upright).unwrap();
    assert_eq!(standing.region.bounds(), Some((dvec2(10.0, 0.0), dvec2(40.0, 30.0))));
    let (what, _) = message(&triangle(5.0));
    assert_eq!(what, "shape.points: the outline's lowest point lies above the board, at height 5 mm");
    let (above, _) = read(&triangle(5.0), View::Above).unwrap();
    assert_eq!(above.region.bounds(), Some((dvec2(10.0, 5.0), dvec2(40.0, 35.0))));
}

#[test]
fn a_circle_stands_on_the_board_and_lies_about_the_middle() {
    let circle = Outline { circle: Some(100.0.into()), ..Outline::default() };
    let (upright, _) = read(&circle, View::Upright).unwrap();
    let (lo, hi) = upright.region.bounds().unwrap();
    assert!(lo.y == 0.0 && (hi.y - 100.0).abs() < 0.02 && (lo.x + hi.x).abs() < 1e-9);
    let (above, _) = read(&circle, View::Above).unwrap();
    assert!(above.region.bounds().is_some_and(|(lo, hi)| (lo + hi).length() < 0.02));
    assert_close("area", upright.region.area(), 2500.0 * std::f64::consts::PI, 1e-3);
}

#[test]
fn details_land_where_they_are_drawn() {
    let (field, on) = (FieldPath::root().key("detail"), FieldPath::root().key("shape"));
    let place = |detail: &Outline, drawn_on: DrawnOn<'_>| {
        let mut problems = Vec::new();
        let path = to_path_as_drawn(
            detail,
            drawn_on,
            Unit::Millimetre,
            &field,
            &on,
            &Beside::new(&FILES.world(), ""),
            &mut problems,
        );
        path.ok_or_else(|| problems[0].message.clone())
    };
    // The eye's middle lies 40 mm left of the middle of both islands and 50 mm above their base line.
    let front = layer("front view");
    let eye = place(&id("eye"), DrawnOn::Silhouette(&front, View::Upright)).unwrap();
    let middle = eye.bounding_box().center();
    assert!((middle.x + 40.0).abs() < 1e-3 && (middle.y - 50.0).abs() < 1e-3, "{middle}");
    // On a turned shape radii count from the axis, here the left edge of the path.
    let eye = place(&id("eye"), DrawnOn::Turned(&id("body"))).unwrap();
    let middle = eye.bounding_box().center();
    assert!((middle.x - 10.0).abs() < 1e-3 && (middle.y - 50.0).abs() < 1e-3, "{middle}");
    let circle = Outline { circle: Some(100.0.into()), ..Outline::default() };
    let error = place(&id("eye"), DrawnOn::Turned(&circle)).unwrap_err();
    assert_eq!(error, "the shape does not come from an SVG drawing");
    let other = from_svg(|svg| svg.file = "cock.svg".into());
    let error = place(&other, DrawnOn::Turned(&id("body"))).unwrap_err();
    assert_eq!(error, "the detail is in cock.svg, but the shape is in hen.svg");
}
