//! Pictures that cannot be traced, each with what is said and how it is repaired.

use std::io::Cursor;

use geom::trace::{Background, Options, Picture, Scale, TraceError, trace};
use glam::dvec2;
use image::{DynamicImage, GrayImage, ImageFormat, Luma, RgbImage};

use crate::pictures::{drawn, png, to_scale};

fn told(result: Result<impl Sized, TraceError>) -> String {
    match result {
        Ok(_) => panic!("this was to be refused"),
        Err(error) => format!("{error}: {}", error.fix()),
    }
}

fn refused(image: DynamicImage, options: &Options) -> String {
    told(trace(&Picture::from_image(image).unwrap(), options))
}

fn even(grey: u8) -> DynamicImage {
    GrayImage::from_pixel(60, 40, Luma([grey])).into()
}

fn jpeg() -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let disc = drawn(300, 300, |x, y| 100.0 - (x - 150.0).hypot(y - 150.0));
    disc.write_to(&mut bytes, ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

/// CRC-32 as the PNG specification gives it (ISO 3309), bit by bit.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(
            crc ^ u32::from(*byte),
            |crc, _| if crc & 1 == 1 { crc >> 1 ^ 0xedb8_8320 } else { crc >> 1 },
        )
    })
}

/// A PNG whose header says that it has this many pixels; nothing else is changed.
fn claiming(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = png(&even(200));
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    let sum = crc(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&sum.to_be_bytes());
    bytes
}

#[test]
fn a_picture_with_nothing_in_it_is_refused() {
    let choose = "choose a picture that shows the whole outline on a plain ground";
    for (grey, colour) in [(0, "black"), (255, "white"), (128, "one colour")] {
        let expected = format!("there is nothing in the picture: it is {colour} all over: {choose}");
        assert_eq!(refused(even(grey), &to_scale()), expected);
    }
    let mut faint = GrayImage::from_pixel(60, 40, Luma([200]));
    faint.put_pixel(30, 20, Luma([205]));
    let told = refused(faint.into(), &to_scale());
    assert!(
        told.starts_with(
            "the picture is too even: what would be the outline and its ground differ by only 2.0 %"
        ),
        "{told}"
    );
}

#[test]
fn more_pixels_than_any_camera_makes_are_refused_before_any_memory_is_asked_for() {
    let said = told(Picture::decode(&claiming(50_000, 50_000)));
    assert_eq!(
        said,
        "the picture has 50000 × 50000 pixels, more than 64 million: make it smaller: 4000 pixels are plenty for any template"
    );
    let said = told(Picture::decode(&claiming(u32::MAX >> 1, u32::MAX >> 1)));
    assert!(said.contains("pixels") || said.contains("cannot be read") || said.contains("memory"), "{said}");
    // Within the limit, but the file holds far less than it says.
    let said = told(Picture::decode(&claiming(8000, 8000)));
    assert!(said.starts_with("the picture cannot be read: "), "{said}");
}

/// Found by changing files at random: a GIF whose screen is said to be no pixels wide.
#[test]
fn a_picture_without_pixels_is_refused() {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::DynamicImage::from(even(120).to_rgba8()).write_to(&mut bytes, image::ImageFormat::Gif).unwrap();
    let mut gif = bytes.into_inner();
    let width = 6..8;
    gif[width].fill(0);
    assert!(told(Picture::decode(&gif)).contains("there is nothing in it"));
    let none = image::DynamicImage::new_luma8(0, 3);
    assert!(told(Picture::from_image(none)).contains("0 × 3 pixels"));
}

#[test]
fn files_that_end_early_are_refused_wherever_they_end() {
    let (whole_png, whole_jpeg) = (png(&drawn(200, 200, |x, y| 60.0 - (x - 99.0).hypot(y - 99.0))), jpeg());
    let size = |bytes: &[u8]| Picture::decode(bytes).unwrap().size();
    assert_eq!(size(&whole_png), dvec2(200.0, 200.0));
    for whole in [&whole_png, &whole_jpeg] {
        for part in [0.02, 0.3, 0.6, 0.9, 0.97] {
            let cut = (whole.len() as f64 * part) as usize;
            assert!(Picture::decode(&whole[..cut]).is_err(), "{cut} of {} bytes", whole.len());
        }
    }
    let half = &whole_jpeg[..whole_jpeg.len() / 2];
    assert_eq!(
        told(Picture::decode(half)),
        "the picture ends early: the file is cut short: copy or send it again"
    );
    // What follows the picture, as telephones do, is nobody's business.
    assert_eq!(size(&[&whole_jpeg[..], b"and more"].concat()), size(&whole_jpeg));
}

#[test]
fn what_is_no_picture_is_refused() {
    for bytes in [&b""[..], b"GIF", b"<svg/>", b"RIFF\0\0\0\0WEBPVP8 ", b"BM", &[0xff, 0xd8]] {
        let said = told(Picture::decode(bytes));
        let known = ["this is no PNG", "the picture cannot be read", "the picture ends early"];
        assert!(known.iter().any(|start| said.starts_with(start)), "{bytes:?}: {said}");
    }
    assert_eq!(
        told(Picture::decode(b"<svg/>")),
        "this is no PNG, JPEG or GIF picture: save it as PNG or JPEG"
    );
}

#[test]
fn noise_and_speckles_are_no_outline() {
    let mut state = 1_u32;
    let mut random = || {
        // Numerical Recipes' linear congruential generator.
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    let noise = GrayImage::from_fn(900, 900, |_, _| Luma([random()]));
    let given =
        Options { background: Some(Background::Light), speckle: 0.001, ..Options::new(Scale::Height(100.0)) };
    assert!(refused(noise.into(), &given).starts_with("the picture falls into countless speckles"));
    let spots = drawn(100, 100, |x, y| 3.0 - (x - 50.0).hypot(y - 50.0));
    let coarse = Options { speckle: 10.0, ..to_scale() };
    let told = refused(spots, &coarse);
    assert!(told.starts_with("there is nothing in the picture but speckles: the largest is 6."), "{told}");
}

#[test]
fn a_border_that_shows_no_ground_asks_for_it() {
    let half = GrayImage::from_fn(80, 80, |x, _| Luma([if x < 40 { 20 } else { 220 }]));
    let told = refused(half.into(), &to_scale());
    assert!(told.contains("does not show which is the ground: say `ground = \"light\"`"), "{told}");
}

#[test]
fn marks_and_thresholds_that_cannot_be_are_refused() {
    let disc = || drawn(100, 80, |x, y| 30.0 - (x - 50.0).hypot(y - 40.0));
    let marks = |a, b| Options::new(Scale::Marks([a, b], 10.0));
    let told = refused(disc(), &marks(dvec2(5.0, 5.0), dvec2(5.0, 5.2)));
    assert!(told.starts_with("the two marks are the same point"), "{told}");
    let told = refused(disc(), &marks(dvec2(5.0, 5.0), dvec2(120.0, 5.0)));
    assert!(
        told.starts_with("the mark [120, 5] lies outside the picture, which has 100 × 80 pixels"),
        "{told}"
    );
    let told = refused(disc(), &Options { threshold: Some(0.01), ..to_scale() });
    assert!(told.starts_with("nothing in the picture is darker than the threshold"), "{told}");
    let told = refused(disc(), &Options::new(Scale::Height(50_000.0)));
    assert!(told.starts_with("the outline is no size for a cake"), "{told}");
    let opaque = Options { separate_by: Some(geom::trace::SeparateBy::Transparency), ..to_scale() };
    assert!(refused(disc(), &opaque).starts_with("no part of the picture is transparent"));
}

#[test]
fn the_smallest_pictures_do_no_harm() {
    for (width, height) in [(1, 1), (1, 9), (9, 1), (2, 2), (3, 3)] {
        for dark in 0..width * height {
            let image = RgbImage::from_fn(width, height, |x, y| {
                image::Rgb(if y * width + x == dark { [10; 3] } else { [240; 3] })
            });
            let picture = Picture::from_image(image.into()).unwrap();
            for background in [None, Some(Background::Light), Some(Background::Dark)] {
                let options = Options { background, speckle: 0.01, ..Options::new(Scale::Height(50.0)) };
                if let Ok(found) = trace(&picture, &options) {
                    let fitted = found.outline();
                    assert!(fitted.error <= found.allowed);
                }
            }
        }
    }
}
