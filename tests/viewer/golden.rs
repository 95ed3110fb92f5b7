//! Small pictures against pictures that were looked at and found right.
//!
//! Drivers round differently, so a picture passes when it differs little on the whole and no part of
//! it differs much. `CRUMBLINE_REFRESH_GOLDEN=1` takes the new pictures as right: look at them first.

use std::path::PathBuf;

use crumbline::viewer::{Lens, PictureOptions, Section, Showing, Stage, Studio, View};
use image::RgbaImage;

use crate::toadstool::toadstool;

/// Mean difference of a channel, of 255.
const MEAN: f64 = 1.5;
/// Difference that all but one pixel in a hundred stay under, of 255.
const ALMOST_ALL: u8 = 32;

fn small(view: View, lens: Lens, showing: Showing) -> PictureOptions {
    PictureOptions { view, lens, showing, size: (320, 240), samples: 8, ..PictureOptions::default() }
}

#[test]
fn pictures_look_as_they_did_when_they_were_looked_at() {
    let at = |stage| Showing { stage, ..Showing::default() };
    let cases = [
        ("carved", small(View::ThreeQuarter, Lens::Perspective, at(Stage::Carved))),
        ("front", small(View::Front, Lens::Orthographic, at(Stage::Carved))),
        ("finished", small(View::ThreeQuarter, Lens::Perspective, at(Stage::Finished))),
        (
            "section",
            small(
                View::From { bearing: 20.0, elevation: 12.0 },
                Lens::Perspective,
                Showing { section: Some(Section::Bearing(0.0)), ..at(Stage::Finished) },
            ),
        ),
        ("carving", small(View::ThreeQuarter, Lens::Perspective, at(Stage::Fraction(0.2)))),
    ];
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/viewer/golden");
    let refresh = std::env::var_os("CRUMBLINE_REFRESH_GOLDEN").is_some();
    let model = toadstool();
    let mut studio = Studio::open().unwrap();
    let mut off = Vec::new();
    for (name, options) in cases {
        let actual = studio.picture(&model, &options).unwrap().image;
        let path = folder.join(format!("{name}.png"));
        if refresh {
            actual.save(&path).unwrap();
        }
        let expected = image::open(&path).unwrap().into_rgba8();
        if let Err(reason) = compare(&expected, &actual) {
            let kept = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("golden-{name}-actual.png"));
            actual.save(&kept).unwrap();
            off.push(format!("{name}: {reason}; see {}", kept.display()));
        }
    }
    assert!(off.is_empty(), "{off:#?}");
}

/// Mean difference of a channel between two pictures of one size, of 255.
pub fn mean_difference(a: &RgbaImage, b: &RgbaImage) -> f64 {
    assert_eq!(a.dimensions(), b.dimensions());
    let sum: f64 = a.iter().zip(b.iter()).map(|(x, y)| f64::from(x.abs_diff(*y))).sum();
    sum / a.len() as f64
}

fn compare(expected: &RgbaImage, actual: &RgbaImage) -> Result<(), String> {
    if expected.dimensions() != actual.dimensions() {
        return Err(format!("{:?} instead of {:?}", actual.dimensions(), expected.dimensions()));
    }
    let mut worst: Vec<u8> = Vec::new();
    for (a, b) in expected.pixels().zip(actual.pixels()) {
        let differences = a.0.iter().zip(b.0).map(|(x, y)| x.abs_diff(y));
        worst.push(differences.max().unwrap_or(0));
    }
    worst.sort_unstable();
    let (mean, almost_all) = (mean_difference(expected, actual), worst[worst.len() * 99 / 100]);
    if mean <= MEAN && almost_all <= ALMOST_ALL {
        Ok(())
    } else {
        Err(format!("mean difference {mean:.2}, 99 in 100 within {almost_all}"))
    }
}

#[test]
fn a_picture_of_something_else_does_not_pass() {
    let white = RgbaImage::from_pixel(20, 20, image::Rgba([255; 4]));
    let mut other = white.clone();
    for x in 0..6 {
        other.put_pixel(x, 0, image::Rgba([0, 0, 0, 255]));
    }
    assert!(compare(&white, &white).is_ok());
    assert!(compare(&white, &other).is_err());
}
