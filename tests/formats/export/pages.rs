//! Pictures on pages, against readers that are not ours: poppler for PDF, the PNG decoder of `image`, roxmltree.

use std::{process::Command, sync::Arc};

use base64::{Engine, engine::general_purpose::STANDARD};
use formats::{
    drawing::{Drawing, Page},
    export::{pdf::pdf, png, svg::svg},
};
use glam::dvec2;
use image::{Rgba, RgbaImage};

/// Four by two pixels, each of its own colour.
fn patches() -> Arc<RgbaImage> {
    Arc::new(RgbaImage::from_fn(4, 2, |x, y| Rgba([60 * x as u8, 200 * y as u8, 90, 255])))
}

/// Twice as wide as high: 40 × 20 mm in a room of 40 × 90.
fn page() -> Page {
    let mut drawing = Drawing::new();
    let size = drawing.picture(&patches(), dvec2(10.0, 5.0), dvec2(40.0, 90.0));
    assert_eq!(size, dvec2(40.0, 20.0));
    assert_eq!(drawing.bounds(), Some((dvec2(10.0, 5.0), dvec2(50.0, 25.0))));
    let mut page = Page::new(dvec2(70.0, 50.0));
    page.place(drawing, dvec2(5.0, 10.0));
    page
}

#[test]
fn a_drawing_holds_the_picture_itself() {
    let text = svg("page", &page());
    let document = roxmltree::Document::parse(&text).unwrap();
    let image = document.descendants().find(|node| node.has_tag_name("image")).unwrap();
    let number = |name: &str| image.attribute(name).unwrap().parse::<f64>().unwrap();
    assert_eq!(["x", "y", "width", "height"].map(number), [15.0, 15.0, 40.0, 20.0]);
    let held = image.attribute("href").unwrap().strip_prefix("data:image/png;base64,").unwrap();
    let read = image::load_from_memory(&STANDARD.decode(held).unwrap()).unwrap().to_rgba8();
    assert_eq!(read, *patches());
}

#[test]
fn a_page_drawn_in_pixels_shows_it_in_its_place() {
    let drawn = png::drawn_over(&RgbaImage::new(1, 1), &page(), 2.0).unwrap();
    for (x, y, pixel) in patches().enumerate_pixels() {
        // The middle of each of its pixels: 10 mm wide and high, the corner at 15, 15.
        let at = |k: u32| (2.0 * (15.0 + 10.0 * (f64::from(k) + 0.5))) as u32;
        let near = drawn.get_pixel(at(x), at(y)).0.iter().zip(pixel.0).all(|(a, b)| a.abs_diff(b) < 4);
        assert!(near, "{x} {y}: {:?} {pixel:?}", drawn.get_pixel(at(x), at(y)));
    }
    assert_eq!(drawn.get_pixel(20, 20).0, [255, 255, 255, 255]);
}

/// `pdfimages -list` of poppler: one image of so many pixels, at 4 pixels in 40 mm, which is 2.54 to the inch.
#[test]
fn a_pdf_holds_the_picture_at_its_size() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.pdf");
    std::fs::write(&file, pdf("page", &[page()]).unwrap()).unwrap();
    let listed = match Command::new("pdfimages").arg("-list").arg(&file).output() {
        Ok(output) => String::from_utf8(output.stdout).unwrap(),
        Err(error) => {
            assert!(std::env::var_os("CRUMBLINE_REQUIRE_REFERENCE").is_none(), "pdfimages: {error}");
            return;
        }
    };
    let row: Vec<&str> = listed.lines().nth(2).unwrap().split_whitespace().collect();
    assert_eq!(row[2..5], ["image", "4", "2"], "{listed}");
    assert!((row[12].parse::<f64>().unwrap() - 2.54).abs() < 1.0, "{listed}");
}
