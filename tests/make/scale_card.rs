//! The scale card as it is printed: true to size, nothing outside what the tracer takes for print, and found in a
//! photograph of the printed page.

use formats::{
    drawing::Mark,
    export::{pdf::pdf, svg::svg},
};
use geom::trace::{
    Options, Picture, Scale,
    card::layout::{MARKS, is_black, is_print},
    trace,
};
use glam::{DVec2, dvec2};
use kurbo::Shape;
use make::{
    scale_card::{SIZES, TITLE, page},
    sheets::SheetFile,
};

use crate::{
    cameras::{Pinhole, Spoiling},
    sheets::raster::{PER_MM, Raster, text},
};

fn printed(size: cakefile::schema::PaperSize) -> SheetFile {
    SheetFile { name: "card.pdf".into(), bytes: pdf(TITLE, &[page(size)]).unwrap() }
}

/// Whether the page is dark at a place in mm from its upper left corner.
fn is_dark(raster: &Raster, at: DVec2) -> bool {
    let pixel = (at * PER_MM).as_uvec2();
    raster.at((pixel.x as usize).min(raster.wide - 1), (pixel.y as usize).min(raster.high - 1)) < 128
}

#[test]
fn everything_on_it_lies_where_print_is_expected() {
    for size in SIZES {
        let page = page(size);
        let mut marks = 0;
        for placed in &page.placed {
            for mark in &placed.drawing.marks {
                marks += 1;
                let (lo, hi) = mark.bounds().unwrap();
                let points = match mark {
                    Mark::Path { contours, .. } => contours.concat(),
                    Mark::Text(_) | Mark::Picture { .. } => {
                        vec![lo, hi, dvec2(lo.x, hi.y), dvec2(hi.x, lo.y)]
                    }
                };
                assert!(points.iter().all(|p| is_print(dvec2(p.x, -p.y))), "{mark:?}");
                // Room for printers that leave 10 mm white.
                let (lo, hi) = (placed.at + lo, placed.at + hi);
                assert!(lo.min_element() > 10.0 && (size.size() - hi).min_element() > 10.0, "{mark:?}");
            }
        }
        assert!(marks > 30, "{marks}");
        assert!(svg(TITLE, &page).contains("100 mm"));
    }
}

#[test]
fn the_printed_page_is_black_where_the_layout_is() {
    for size in SIZES {
        let file = printed(size);
        let Some(raster) = Raster::page(&file, 1) else { return };
        let middle = size.size() / 2.0;
        let mut looked_at = 0;
        for mark in MARKS {
            for i in 0..400 {
                let off = dvec2(f64::from(i % 20) - 9.5, f64::from(i / 20) - 9.5) * 1.3;
                let p = mark + off;
                // Not right on an edge.
                let around = [dvec2(0.3, 0.0), dvec2(-0.3, 0.0), dvec2(0.0, 0.3), dvec2(0.0, -0.3)];
                if around.iter().all(|d| is_black(p + *d) == is_black(p)) {
                    let at = middle + dvec2(p.x, -p.y);
                    assert_eq!(is_dark(&raster, at), is_black(p), "{p}");
                    looked_at += 1;
                }
            }
        }
        assert!(looked_at > 1000, "{looked_at}");
        let words = text("pdftotext", &["-layout"], &file).unwrap();
        for expected in ["100 %", "100 mm", "6 in", "not for food", "crumbline trace"] {
            assert!(words.contains(expected), "{expected} is not in {words}");
        }
    }
}

#[test]
fn a_photograph_of_the_printed_page_measures_what_lies_beside_it() {
    for (size, tilt) in SIZES.into_iter().zip([45.0, 30.0]) {
        let Some(raster) = Raster::page(&printed(size), 1) else { return };
        let (at, template, paper) = (dvec2(-125.0, 0.0), dvec2(90.0, 0.0), size.size());
        let shown = |p: DVec2| {
            let q = p - at;
            let inside = (p - template).length() < 70.0;
            match q.abs().cmplt(paper / 2.0).all() {
                true => 0.14 + 0.74 * f64::from(u8::from(!is_dark(&raster, paper / 2.0 + dvec2(q.x, -q.y)))),
                false if inside => 0.2,
                false => 0.75,
            }
        };
        let view = Pinhole::new((1600, 1200), 1500.0, dvec2(-40.0, 0.0), 780.0, [tilt, 260.0, 5.0]);
        let image = view.photograph(shown, &Spoiling { blur: 0.9, noise: 12.0, shade: 0.2, seed: 4 });
        let found = trace(&Picture::from_image(image).unwrap(), &Options::new(Scale::Card)).unwrap();
        let card = found.card.unwrap();
        let diameter = 2.0 * (found.outline().path.area() / std::f64::consts::PI).sqrt();
        assert!((diameter / 140.0 - 1.0).abs() < 5e-3, "{diameter} {card:?}");
        assert!((diameter - 140.0).abs() < card.error + 2.0 * found.outline().error, "{diameter} {card:?}");
        assert_eq!((found.islands, found.holes, found.left_out, card.crossings), (1, 0, 0, 20));
    }
}
