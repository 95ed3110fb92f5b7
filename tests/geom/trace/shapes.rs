//! Shapes whose area, size and place follow from plane geometry.

use std::f64::consts::PI;

use geom::trace::{Background, Half, Keep, Options, Picture, Scale, TraceError, UnlikelySize, trace};
use glam::{DVec2, dvec2};
use kurbo::{PathEl, Shape};

use super::traced;
use crate::{
    pictures::{drawn, to_scale},
    support::assert_close,
};

fn disc(x: f64, y: f64, radius: f64) -> impl Fn(f64, f64) -> f64 {
    move |px, py| radius - (px - x).hypot(py - y)
}

/// Inside of a rectangle about a point, turned counter-clockwise as one looks at it.
fn block(at: DVec2, width: f64, height: f64, degrees: f64) -> impl Fn(f64, f64) -> f64 {
    let turn = DVec2::from_angle(degrees.to_radians());
    move |x, y| {
        // Down is positive in pictures.
        let p = turn.rotate(dvec2(x, y) - at).abs();
        (width / 2.0 - p.x).min(height / 2.0 - p.y)
    }
}

#[test]
fn a_disc_has_its_area_perimeter_and_place() {
    for radius in [6.0, 40.0, 151.3] {
        let size = (2.0 * radius + 20.0) as u32;
        let middle = dvec2(f64::from(size) / 2.0 + 0.3, f64::from(size) / 2.0 - 0.2);
        let trace = traced(drawn(size, size, disc(middle.x, middle.y, radius)), &to_scale());
        let fitted = trace.outline();
        // Within three hundredths of a pixel all round.
        let (area, around) = (fitted.path.area(), 2.0 * PI * radius);
        assert!((area - PI * radius * radius).abs() < 0.03 * around, "{area} for {radius}");
        assert_close("perimeter", fitted.path.perimeter(1e-3), 2.0 * PI * radius, 3e-3);
        let centre = fitted.path.bounding_box().center();
        let centre = trace.pixel_of(dvec2(centre.x, centre.y));
        assert!(centre.distance(middle) < trace.allowed / 2.0, "{centre} is not {middle}");
        assert!(fitted.error <= trace.allowed && trace.base.is_none());
    }
}

/// Every point of the fitted outline of a soft disc lies within the stated error of the circle, whatever error is
/// asked for.
#[test]
fn the_stated_error_holds() {
    let radius = 120.0;
    let image = drawn(260, 260, disc(130.0, 130.0, radius));
    for error in [4.0, 1.0, 0.5, 0.2, 0.1] {
        let trace = traced(image.clone(), &Options { error: Some(error), ..to_scale() });
        let fitted = trace.outline();
        assert!(fitted.error <= error, "{} for {error}", fitted.error);
        let middle = fitted.path.bounding_box().center();
        let mut worst = 0.0_f64;
        kurbo::flatten(&fitted.path, 1e-3, |piece| {
            if let PathEl::LineTo(p) | PathEl::MoveTo(p) = piece {
                worst = worst.max(((p - middle).hypot() - radius).abs());
            }
        });
        // Edges of grey pixels are good to a few hundredths of a pixel.
        assert!(worst <= error + 0.05, "{worst} for {error}");
    }
}

#[test]
fn corners_stay_corners_and_straight_runs_straight() {
    let image = drawn(200, 160, block(dvec2(100.0, 80.0), 150.0, 100.0, 0.0));
    let fitted = traced(image, &to_scale()).outline();
    assert_close("area", fitted.path.area(), 15_000.0, 1e-3);
    let curves = fitted.path.elements().iter().filter(|e| matches!(e, PathEl::CurveTo(..))).count();
    assert_eq!((fitted.path.segments().count(), curves), (4, 0), "{:?}", fitted.path);
    for corner in [(-75.0, 0.0), (75.0, 0.0), (75.0, 100.0), (-75.0, 100.0)] {
        let off = |p: kurbo::Point| (p - kurbo::Point::from(corner)).hypot();
        let nearest = fitted.path.segments().map(|s| off(kurbo::ParamCurve::start(&s))).fold(9.0, f64::min);
        assert!(nearest < 0.3, "{corner:?} is missed by {nearest}");
    }
}

#[test]
fn every_way_of_giving_the_size_agrees() {
    let image = drawn(300, 300, block(dvec2(150.0, 150.0), 200.0, 120.0, 0.0));
    for scale in [
        Scale::Height(60.0),
        Scale::Width(100.0),
        Scale::Marks([dvec2(50.0, 20.0), dvec2(250.0, 20.0)], 100.0),
    ] {
        let trace = traced(image.clone(), &Options::new(scale));
        assert!((trace.pixel - 0.5).abs() < 2e-3, "{scale:?}: {}", trace.pixel);
        assert!((trace.size - dvec2(100.0, 60.0)).abs().max_element() < 0.2);
    }
}

#[test]
fn a_slight_tilt_is_taken_out_and_a_large_one_refused() {
    for degrees in [-8.0, -1.5, 0.7, 9.0] {
        let image = drawn(400, 400, block(dvec2(200.0, 200.0), 220.0, 160.0, degrees));
        let trace = traced(image, &Options::new(Scale::Height(160.0)));
        assert!((trace.straightened - degrees).abs() < 0.05, "{degrees}: {}", trace.straightened);
        assert!((trace.size - dvec2(220.0, 160.0)).abs().max_element() < 0.5, "{}", trace.size);
        let lowest = trace.outline().path.bounding_box();
        // 0.05° over the height of 160 are 0.14.
        assert!(lowest.y0 == 0.0 && (lowest.x0 + lowest.x1).abs() < 0.14, "{lowest}");
        // And back: the foot of the middle lies where it was drawn.
        let turn = DVec2::from_angle(-degrees.to_radians());
        let foot = dvec2(200.0, 200.0) + turn.rotate(dvec2(0.0, 80.0));
        assert!(trace.pixel_of(DVec2::ZERO).distance(foot) < 0.5);
    }
    let askew = drawn(400, 400, block(dvec2(200.0, 200.0), 220.0, 160.0, 14.0));
    let picture = Picture::from_image(askew).unwrap();
    let error = trace(&picture, &Options::new(Scale::Height(160.0))).unwrap_err();
    assert!(matches!(error, TraceError::Tilted { degrees } if (degrees - 14.0).abs() < 0.1), "{error}");
    let kept = Options { straighten: false, ..Options::new(Scale::Height(160.0)) };
    assert_eq!(trace(&picture, &kept).unwrap().straightened, 0.0);
}

#[test]
fn regions_holes_and_speckles_are_told_apart() {
    let image = |x: f64, y: f64| {
        let ring = disc(100.0, 100.0, 60.0)(x, y).min(-disc(100.0, 100.0, 30.0)(x, y));
        ring.max(disc(100.0, 100.0, 12.0)(x, y))
            .max(disc(220.0, 100.0, 25.0)(x, y))
            .max(disc(200.0, 30.0, 2.0)(x, y))
    };
    let image = drawn(260, 200, image);
    let area = |options: &Options| {
        let trace = traced(image.clone(), options);
        (trace.outline().path.area(), trace.islands, trace.holes, trace.left_out, trace.speckles)
    };
    let ring = PI * (3600.0 - 900.0);
    let (found, islands, holes, left_out, speckles) = area(&Options { speckle: 6.0, ..to_scale() });
    assert_close("ring", found, ring, 2e-3);
    assert_eq!((islands, holes, left_out, speckles), (1, 1, 2, 1));
    let all = Options { speckle: 6.0, keep: Keep::All, ..to_scale() };
    assert_close("all", area(&all).0, ring + PI * (144.0 + 625.0), 2e-3);
    assert_eq!(area(&all).1, 3);
    let filled = Options { fill_holes: Some(true), ..to_scale() };
    assert_close("filled", area(&filled).0, PI * 3600.0, 2e-3);
    let fine = Options { speckle: 1.0, keep: Keep::All, ..to_scale() };
    assert_eq!((area(&fine).1, area(&fine).4), (4, 0));
}

/// An outline drawn as a thin line, with a face in it: what lies within its outside, without a hint. A wall that is no
/// line stays a ring, and so does a line whose holes are asked for.
#[test]
fn a_line_drawing_is_seen_as_one() {
    let line = |width: f64| {
        move |x: f64, y: f64| {
            let ring = disc(130.0, 130.0, 100.0)(x, y).min(-disc(130.0, 130.0, 100.0 - width)(x, y));
            // A mouth across, and an eye.
            let mouth = (width / 2.0 - (y - 150.0).abs()).min(disc(130.0, 130.0, 99.0)(x, y));
            let eye = disc(100.0, 100.0, 10.0)(x, y).min(-disc(100.0, 100.0, 10.0 - width)(x, y));
            ring.max(mouth).max(eye)
        }
    };
    let whole = PI * 1e4;
    for width in [1.6, 2.5, 4.0] {
        let trace = traced(drawn(260, 260, line(width)), &to_scale());
        assert_close("within", trace.outline().path.area(), whole, 3e-3);
        assert_eq!((trace.islands, trace.holes, trace.left_out), (1, 0, 0), "{width}");
        let found = trace.line.unwrap();
        assert!((found - width).abs() < 0.4, "{found}, not {width}");
    }
    let kept = Options { fill_holes: Some(false), ..to_scale() };
    let trace = traced(drawn(260, 260, line(2.5)), &kept);
    assert!(trace.holes == 2 && trace.line.is_none() && trace.area() < 0.2 * whole, "{trace:?}");
    let trace = traced(drawn(260, 260, line(12.0)), &to_scale());
    assert!(trace.holes == 2 && trace.line.is_none(), "a wall");
}

#[test]
fn the_ground_is_found_from_the_border_and_may_be_given() {
    let mut inverted = drawn(120, 120, disc(60.0, 60.0, 40.0));
    inverted.invert();
    let trace = traced(inverted.clone(), &to_scale());
    assert_eq!(trace.background, Background::Dark);
    assert_close("light on dark", trace.outline().path.area(), PI * 1600.0, 5e-3);
    let other = Options { background: Some(Background::Light), ..to_scale() };
    let trace = traced(inverted, &other);
    assert_close("the rest", trace.outline().path.area(), 14_400.0 - PI * 1600.0, 5e-3);
    assert!(trace.cut_off);
}

/// A half outline: r = 60 at the foot, 30 at the top, 90 high; the right half is 4 mm wider at the foot.
#[test]
fn halves_are_averaged_about_the_axis_and_their_difference_told() {
    let lopsided = |wider: f64| {
        drawn(200, 140, move |x, y| {
            let (x, y) = (x - 95.0, 120.0 - y);
            let reach = 60.0 - y / 3.0 + if x > 0.0 { wider * (1.0 - y / 90.0) } else { 0.0 };
            // The slope of the side makes it so much nearer.
            ((reach - x.abs()) * 0.95).min(y).min(90.0 - y)
        })
    };
    let options = Options { axis: Some(95.0), ..to_scale() };
    let halves = traced(lopsided(4.0), &options).half_outline(Half::Both).unwrap();
    assert!((halves.asymmetry - 4.0).abs() < 0.25 && halves.at_height < 5.0, "{halves:?}");
    assert!((halves.mean - 2.0).abs() < 0.2, "{}", halves.mean);
    let radius = |path: &kurbo::BezPath, height: f64| {
        let line = kurbo::Line::new((-1.0, height), (200.0, height));
        let hits = path.segments().flat_map(|s| s.intersect_line(line));
        hits.map(|hit| -1.0 + 201.0 * hit.line_t).fold(0.0, f64::max)
    };
    for (half, foot) in [(Half::Both, 62.0), (Half::Right, 64.0), (Half::Left, 60.0)] {
        let profile = traced(lopsided(4.0), &options).half_outline(half).unwrap().profile.path;
        for (height, share) in [(15.0, 1.0 - 15.0 / 90.0), (60.0, 1.0 - 60.0 / 90.0)] {
            let expected = 60.0 - height / 3.0 + (foot - 60.0) * share;
            let found = radius(&profile, height);
            assert!((found - expected).abs() < 0.3, "{half:?} at {height}: {found} is not {expected}");
        }
    }
    // The axis is found where the halves agree.
    let even = traced(lopsided(0.0), &to_scale());
    let halves = even.half_outline(Half::Both).unwrap();
    assert!((even.pixel_of(dvec2(halves.axis, 0.0)).x - 95.0).abs() < 0.1);
    assert!(halves.asymmetry.abs() < 0.2, "{halves:?}");
    let beside = traced(lopsided(0.0), &Options { axis: Some(199.0), ..to_scale() });
    assert!(matches!(beside.half_outline(Half::Right), Err(TraceError::AxisOutside { .. })));
}

/// A dome comes to the axis level: no tip, and half a ball by Pappus.
#[test]
fn a_dome_is_round_on_the_axis() {
    let dome = drawn(240, 130, |x, y| disc(120.0, 120.0, 100.0)(x, y).min(120.0 - y));
    let halves = traced(dome, &to_scale()).half_outline(Half::Both).unwrap();
    let path = &halves.profile.path;
    let PathEl::CurveTo(_, handle, end) = path.elements()[path.elements().len() - 1] else {
        panic!("a dome ends in a curve: {path:?}");
    };
    assert!(end.x.abs() < 1e-9 && (end.y - 100.0).abs() < 0.2, "{end}");
    assert!((handle.y - end.y).abs() < 0.02 * handle.x, "level: {handle} to {end}");
}

/// A picture of two colours only has stairs for edges: it is traced with as many pieces as the same picture with soft
/// edges, about, and within the error that it states.
#[test]
fn hard_edges_are_traced_as_smoothly_as_soft_ones() {
    let inside = |x: f64, y: f64| {
        let (x, y) = (x - 400.3, y - 300.7);
        let angle = y.atan2(x);
        230.0 + 40.0 * (3.0 * angle).sin() + 15.0 * (7.0 * angle + 1.0).cos() - x.hypot(y)
    };
    let soft = drawn(800, 600, inside);
    let hard = |image: &image::DynamicImage| {
        let mut image = image.to_luma8();
        image.pixels_mut().for_each(|p| p.0[0] = if p.0[0] < 132 { 0 } else { 255 });
        image
    };
    let two_colours = hard(&soft);
    let cut_out = image::RgbaImage::from_fn(800, 600, |x, y| {
        let ink = two_colours.get_pixel(x, y).0[0] == 0;
        image::Rgba(if ink { [200, 90, 30, 255] } else { [0, 0, 0, 0] })
    });
    let soft = traced(soft, &to_scale());
    let (soft_pieces, area) = (soft.outline().path.segments().count(), soft.outline().path.area());
    for image in [image::DynamicImage::from(two_colours), cut_out.into()] {
        let trace = traced(image, &to_scale());
        let fitted = trace.outline();
        let pieces = fitted.path.segments().count();
        assert!(pieces <= soft_pieces * 3 / 2, "{pieces} pieces, and {soft_pieces} with soft edges");
        assert_eq!((trace.allowed, soft.allowed), (1.0, 0.5));
        assert!(fitted.error <= trace.allowed);
        assert_close("area", fitted.path.area(), area, 1e-3);
        // Against the line that was drawn: the error, and half a pixel by which the picture itself may be off.
        let shift = trace.pixel_of(DVec2::ZERO);
        kurbo::flatten(&fitted.path, 1e-2, |piece| {
            if let PathEl::LineTo(p) = piece {
                let off = inside(p.x + shift.x, shift.y - p.y);
                assert!(off.abs() < 1.5 + 0.5, "{p}: {off}");
            }
        });
    }
}

#[test]
fn sizes_that_no_cake_has_are_unlikely() {
    let image = drawn(200, 160, block(dvec2(100.0, 80.0), 150.0, 100.0, 0.0));
    for (width, unlikely) in
        [(39.0, Some(UnlikelySize::Small)), (41.0, None), (1600.0, Some(UnlikelySize::Large))]
    {
        let trace = traced(image.clone(), &Options::new(Scale::Width(width)));
        assert_eq!(trace.unlikely_size(), unlikely);
    }
}

/// A speck of dust on the edge of a disc is followed, and the rest of the disc stays few curves.
#[test]
fn a_speck_on_the_edge_spoils_no_more_than_its_surroundings() {
    let round = disc(250.0, 250.0, 200.0);
    let mut image = drawn(500, 500, &round).to_luma8();
    for (x, y) in [(449, 250), (450, 250), (449, 251), (450, 251)] {
        image.put_pixel(x, y, image::Luma([235]));
    }
    for (x, y) in [(250, 47), (251, 47), (250, 48), (251, 48)] {
        image.put_pixel(x, y, image::Luma([30]));
    }
    let trace = traced(image.into(), &to_scale());
    let fitted = trace.outline();
    assert!(fitted.error <= trace.allowed, "{}", fitted.error);
    assert!(fitted.path.segments().count() < 60, "{} pieces", fitted.path.segments().count());
    assert_close("area", fitted.path.area(), PI * 200.0 * 200.0, 1e-3);
}
