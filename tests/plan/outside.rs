//! Against scikit-image, Pillow and svgpathtools (tests/reference/pictures.py).

use std::fs;

use geom::{
    Tolerance,
    region::signed_area,
    trace::{Options, Picture, Scale, SeparateBy, trace},
};
use glam::DVec2;
use kurbo::Shape;
use plan::outline::{
    flattened,
    svg::{SvgQuery, read_svg_figure},
};

use crate::{
    pictures::to_scale,
    reference::{asked, number, python},
    support::{assert_close, tolerance},
};

/// Area and centre of area of contours, holes against outer ones.
fn centroid(contours: &[Vec<DVec2>]) -> DVec2 {
    let (mut area, mut moment) = (0.0, DVec2::ZERO);
    for contour in contours {
        area += signed_area(contour);
        for (i, &a) in contour.iter().enumerate() {
            let b = contour[(i + 1) % contour.len()];
            moment += (a + b) * (a.perp_dot(b) / 6.0);
        }
    }
    moment / area
}

/// The horse that scikit-image ships (CC0, Andreas Preuss), one pixel a millimetre.
#[test]
fn the_horse_measures_as_scikit_image_says() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let horse = asked(&python, "pictures.py", &["horse".as_ref(), folder.path().as_os_str()]);
    assert_eq!(horse["pixels"], 43_412, "tests and the package agree on which picture it is");
    let picture = Picture::decode(&fs::read(folder.path().join("horse.png")).unwrap()).unwrap();
    let trace = trace(&picture, &Options { speckle: 2.0, ..to_scale() }).unwrap();
    assert_eq!((trace.islands, trace.holes), (1, 1));
    let fitted = trace.outline();
    // The edge itself is the very polygon that `find_contours` makes.
    assert_close("area of the edge", trace.area(), number(&horse, "edge"), 1e-4);
    assert_close("area", fitted.path.area(), number(&horse, "pixels"), 5e-3);
    let around = |contour: &Vec<DVec2>| -> f64 {
        let next = contour.iter().cycle().skip(1);
        contour.iter().zip(next).map(|(a, b)| a.distance(*b)).sum()
    };
    let edge: f64 = trace.edges().iter().map(around).sum();
    assert_close("perimeter of the edge", edge, number(&horse, "perimeter"), 0.01);
    // The picture has two colours only. Its stairs are no part of the horse: curves along them are shorter, and few.
    let perimeter = fitted.path.perimeter(1e-3);
    assert!(perimeter < 0.97 * edge && perimeter > 0.94 * edge, "{perimeter} of {edge}");
    assert!(fitted.path.segments().count() < 400, "{}", fitted.path.segments().count());
    let contours = flattened(&fitted.path, tolerance(0.01));
    let centre = trace.pixel_of(centroid(&contours));
    let expected = DVec2::new(number(&horse, "column"), number(&horse, "row"));
    assert!(centre.distance(expected) < 0.2, "{centre} is not {expected}");
    assert!(fitted.error <= trace.allowed && trace.allowed == 1.0);
}

/// A flag of 80 × 30 and 30 × 30 pixels with a hole of 15 × 12, in every kind of file and held in every way.
#[test]
fn every_kind_of_picture_shows_the_same() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let kinds = asked(&python, "pictures.py", &["kinds".as_ref(), folder.path().as_os_str()]);
    let kinds = kinds.as_object().unwrap();
    assert_eq!(kinds.len(), 28);
    for name in kinds.keys() {
        let picture = Picture::decode(&fs::read(folder.path().join(name)).unwrap()).unwrap();
        assert_eq!(picture.size(), DVec2::new(90.0, 120.0), "{name}");
        let separate_by = (name == "alike.png").then_some(SeparateBy::Colour);
        let options = Options { separate_by, ..Options::new(Scale::Height(80.0)) };
        let trace = trace(&picture, &options).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!((trace.islands, trace.holes), (1, 1), "{name}");
        assert_close(name, trace.area(), 2400.0 + 900.0 - 180.0, 3e-3);
        let by = match name.as_str() {
            "transparent.png" => SeparateBy::Transparency,
            "alike.png" => SeparateBy::Colour,
            _ => SeparateBy::Brightness,
        };
        assert_eq!(trace.separated_by, by, "{name}");
        // The upright of the flag stands at its left.
        let contours = flattened(&trace.outline().path, tolerance(0.01));
        let expected = {
            let parts = [(2400.0, 30.0, 60.0), (900.0, 60.0, 85.0), (-180.0, 28.0, 37.5)];
            let area: f64 = parts.iter().map(|p| p.0).sum();
            let sum = |of: fn(&(f64, f64, f64)) -> f64| parts.iter().map(|p| p.0 * of(p)).sum::<f64>() / area;
            DVec2::new(sum(|p| p.1), sum(|p| p.2))
        };
        let centre = trace.pixel_of(centroid(&contours));
        assert!(centre.distance(expected) < 0.15, "{name}: {centre} is not {expected}");
    }
}

/// Paths with nested transforms, arcs and every basic shape, on 200 mm × 150 mm.
const DRAWING: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="150mm" viewBox="0 0 200 150">
<path id="curves" d="M10 20 C 20 0 40 0 50 20 S 80 40 90 20 V 50 H 10 Z"/>
<path id="arcs" d="M120 20 a 20 12 30 1 0 30 10 A 25 25 0 0 1 120 20 z"/>
<path id="quads" d="m 20 70 q 15 -20 30 0 t 30 0 v 20 h -60 z"/>
<g transform="translate(100 60) rotate(20)"><g transform="scale(1.5 0.75) skewX(10)">
<path id="nested" d="M0 0 H30 V30 H0 Z M8 8 V20 H20 V8 Z"/>
<rect id="rect" x="35" y="2" width="14" height="9"/>
</g></g>
<ellipse id="ellipse" cx="40" cy="120" rx="25" ry="10"/>
<circle id="circle" cx="100" cy="125" r="12"/>
<polygon id="polygon" points="150,100 190,110 180,140 155,135"/>
</svg>"#;

#[test]
fn drawings_measure_as_svgpathtools_says() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("drawing.svg");
    fs::write(&file, DRAWING).unwrap();
    let found = asked(&python, "pictures.py", &["drawing".as_ref(), file.as_os_str()]);
    let found = found.as_object().unwrap();
    assert_eq!(found.len(), 8);
    for (id, expected) in found {
        let query = SvgQuery { id: Some(id.clone()), ..SvgQuery::default() };
        let figure = read_svg_figure(DRAWING.as_bytes(), &query).unwrap();
        let path = &figure.parts[0].path;
        let bounds = path.bounding_box();
        let box_of = |i: usize| expected["box"][i].as_f64().unwrap();
        // Up here, down there.
        for (ours, theirs) in [
            (bounds.x0, box_of(0)),
            (150.0 - bounds.y1, box_of(1)),
            (bounds.x1, box_of(2)),
            (150.0 - bounds.y0, box_of(3)),
        ] {
            assert!((ours - theirs).abs() < 0.01, "{id}: {bounds} is not {}", expected["box"]);
        }
        let area: f64 = if id == "nested" {
            // They add up all rings; ours takes the hole out where the drawing does.
            flattened(path, Tolerance::TOOL).iter().map(|ring| signed_area(ring).abs()).sum()
        } else {
            figure.region(tolerance(0.001)).area()
        };
        assert_close(id, area, number(expected, "area"), 2e-3);
    }
}
