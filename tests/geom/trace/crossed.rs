//! Two distances at right angles: a picture taken from far off at a tilt is put right along every direction.

use geom::trace::{Options, Picture, Scale, Trace, TraceError, trace};
use glam::{DVec2, dvec2};
use image::DynamicImage;
use kurbo::Shape;

use crate::cameras::{Pinhole, Spoiling};

const SIZE: DVec2 = DVec2::new(180.0, 120.0);

fn shown(p: DVec2) -> f64 {
    let inside = (SIZE / 2.0 - p.abs()).min_element() > 0.0 && p.x + p.y < 110.0;
    if inside { 0.2 } else { 0.85 }
}

fn area() -> f64 {
    SIZE.x * SIZE.y - 40.0 * 40.0 / 2.0
}

fn photograph(view: &Pinhole) -> DynamicImage {
    view.photograph(shown, &Spoiling { blur: 0.8, noise: 8.0, shade: 0.1, seed: 3 })
}

/// The left and the lower side of the template, as a maker would mark them.
fn sides(view: &Pinhole) -> [([DVec2; 2], f64); 2] {
    let seen = |p: DVec2| view.seen(p).round();
    let (a, b, c) = (dvec2(-90.0, 60.0), dvec2(-90.0, -60.0), dvec2(90.0, -60.0));
    [([seen(a), seen(b)], 120.0), ([seen(b), seen(c)], 180.0)]
}

fn read(view: &Pinhole, scale: Scale) -> Result<Trace, TraceError> {
    let options = Options { straighten: false, ..Options::new(scale) };
    trace(&Picture::from_image(photograph(view)).unwrap(), &options)
}

#[test]
fn a_tilt_seen_from_far_off_is_taken_out() {
    for pose in [[0.0, 0.0, 0.0], [35.0, 270.0, 0.0], [45.0, 210.0, 10.0], [30.0, 20.0, -15.0]] {
        // From 20 m with a long lens: hardly any perspective.
        let view = Pinhole::new((1000, 800), 70_000.0, DVec2::ZERO, 20_000.0, pose);
        let found = read(&view, Scale::Crossed(sides(&view))).unwrap();
        let crossed = found.crossed.unwrap();
        let times = 1.0 / pose[0].to_radians().cos();
        assert!((crossed.foreshortening - times).abs() < 0.02, "{pose:?}: {crossed:?}");
        let share = (found.outline().path.area() / area()).sqrt() - 1.0;
        assert!(share.abs() * 180.0 < crossed.error, "{share} {crossed:?}");
        assert!(crossed.error < 0.01 * 180.0, "{crossed:?}");
        // One distance alone is off by the tilt.
        if pose[0] > 0.0 {
            let [(marks, distance), _] = sides(&view);
            let one = read(&view, Scale::Marks(marks, distance)).unwrap();
            let off = (one.outline().path.area() / area()).sqrt() - 1.0;
            assert!(off.abs() > 0.03, "{pose:?}: {off}");
        }
    }
}

#[test]
fn distances_that_settle_nothing_are_refused() {
    let view = Pinhole::new((1000, 800), 3500.0, DVec2::ZERO, 1000.0, [0.0, 0.0, 0.0]);
    let [one, other] = sides(&view);
    let told = |pairs| read(&view, Scale::Crossed(pairs)).unwrap_err().to_string();
    assert_eq!(
        told([one, one]),
        "the two pairs of marks lie along nearly the same direction in the picture (0° apart)"
    );
    let said = told([one, (other.0, 500.0)]);
    assert_eq!(
        said,
        "by the two distances of the marks one direction is foreshortened 2.8 times, more than 2"
    );
    assert!(told([one, ([dvec2(5.0, 5.0); 2], 10.0)]).contains("the same point"));
    assert!(told([one, ([dvec2(5.0, 5.0), dvec2(5000.0, 5.0)], 10.0)]).contains("outside the picture"));
}
