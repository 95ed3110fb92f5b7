//! Bars, paper, silhouettes and joins measured on the printed page.

use std::f64::consts::PI;

use geom::units::Unit;
use make::{
    language::Language,
    sheets::{SheetFile, Template, cutting_sheet, templates},
};
use plan::{
    Plan,
    design::{Paper, PaperSize, paper::HEAD},
};

use super::{
    EXAMPLES, SIZES, bare, example, named, on,
    raster::{PER_MM, Raster, text},
    straight,
};

/// Pages of a PDF with their sizes in points, as pdfinfo has them.
fn page_sizes(file: &SheetFile) -> Option<Vec<(f64, f64)>> {
    let info = text("pdfinfo", &["-f", "1", "-l", "999"], file)?;
    let sizes = info.lines().filter(|line| line.starts_with("Page ") && line.contains("size:")).map(|line| {
        let numbers: Vec<f64> = line.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        let [_, width, height] = numbers[..] else { panic!("{line}") };
        (width, height)
    });
    Some(sizes.collect())
}

/// ISO 216; ANSI/ASME Y14.1; points of 1/72 in (ISO 32000-1).
#[test]
fn paper_is_as_large_as_its_standard_says() {
    let expected = [(595.2756, 841.8898), (841.8898, 1190.5512), (612.0, 792.0), (792.0, 1224.0)];
    for (size, (width, height)) in SIZES.into_iter().zip(expected) {
        let plan = example("toadstool-house");
        let files =
            templates(&plan, &on(&plan, size), &[Template::Silhouettes], Language::english()).unwrap();
        let Some(pages) = page_sizes(named(&files, ".pdf")) else { return };
        assert!(!pages.is_empty());
        for (w, h) in pages {
            let (short, long) = (w.min(h), w.max(h));
            assert!((short - width).abs() < 0.01 && (long - height).abs() < 0.01, "{size}: {w} × {h}");
        }
    }
}

/// On every page a run of black 100 mm long and one 4 in = 101.6 mm long, to a pixel of 0.1 mm, and the
/// sentence that says how to print.
#[test]
fn every_page_carries_bars_of_true_length() {
    for (name, size) in EXAMPLES.into_iter().zip([PaperSize::A4, PaperSize::Letter, PaperSize::A3]) {
        let plan = example(name);
        let paper = on(&plan, size);
        let mut files =
            templates(&plan, &paper, &[Template::Silhouettes, Template::Boards], Language::english())
                .unwrap();
        files.extend(cutting_sheet(&plan, &paper, Language::english()).unwrap());
        for file in files.iter().filter(|file| file.name.ends_with(".pdf")) {
            let Some(pages) = page_sizes(file) else { return };
            for number in 1..=pages.len() {
                let raster = Raster::page(file, number).unwrap();
                let foot = raster.high - (40.0 * PER_MM) as usize..raster.high;
                let runs: Vec<usize> = foot.flat_map(|y| raster.dark_runs(y)).collect();
                for long in [1000, 1016] {
                    let found = runs.iter().any(|run| run.abs_diff(long) <= 1);
                    assert!(found, "{} page {number}: no bar of {long} pixels", file.name);
                }
                let page = number.to_string();
                let words = text("pdftotext", &["-raw", "-f", &page, "-l", &page], file).unwrap();
                let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(words.contains("Print at 100 % (actual size)"), "{}: {words}", file.name);
            }
        }
    }
}

/// Area inside an outline and half of its line, mm² (Steiner's formula for a convex outline: A + P d + π d²),
/// and width at a height, against the shapes' own formulas.
#[test]
fn silhouettes_are_as_wide_and_as_large_as_the_shape() {
    let frustum = bare("[[80, 0], [50, 120]]", 120.0);
    let slant = f64::hypot(30.0, 120.0);
    let arc: Vec<String> = (0..=90)
        .map(|i| {
            let (sin, cos) = f64::from(i).to_radians().sin_cos();
            let on_axis = |r: f64| if r < 1e-9 { 0.0 } else { r };
            format!("[{}, {}]", on_axis(75.0 * cos), 75.0 * sin)
        })
        .collect();
    let half_ball = bare(&format!("[{}]", arc.join(",")), 75.0);
    let width_of_frustum = |z: f64| 160.0 - z / 2.0;
    let width_of_half_ball = |z: f64| 2.0 * f64::sqrt(75.0 * 75.0 - z * z);
    measured(&frustum, 130.0 * 120.0, 260.0 + 2.0 * slant, width_of_frustum);
    measured(&half_ball, PI * 75.0 * 75.0 / 2.0, 150.0 + PI * 75.0, width_of_half_ball);
}

/// Measures the one silhouette of a cake on two sizes of paper.
fn measured(plan: &Plan, area: f64, length: f64, width: impl Fn(f64) -> f64) {
    /// Half of the width of the one line that a cake without coverings has, mm.
    const HALF: f64 = 0.4;
    for size in [PaperSize::A4, PaperSize::Letter] {
        let files = templates(plan, &on(plan, size), &[Template::Silhouettes], Language::english()).unwrap();
        let Some(raster) = Raster::page(named(&files, ".pdf"), 1) else { return };
        // The middle line goes on above and below.
        let mut rows = raster.largest_shape();
        rows.retain(|row| row.0 > 20);
        let pixels: usize = rows.iter().map(|row| row.0).sum();
        let got = pixels as f64 / (PER_MM * PER_MM);
        let expected = area + HALF * length + PI * HALF * HALF;
        assert!((got / expected - 1.0).abs() < 1e-3, "{got} mm² is not {expected}");
        // From the base up: the last row is half a line below height 0.
        for z in [5.0, 20.0, 40.0, 60.0] {
            let row = rows[rows.len() - 1 - ((z + HALF) * PER_MM).round() as usize];
            let got = (row.2 - row.1 + 1) as f64 / PER_MM;
            // On a leaning side the line is wider across than its width.
            let lean = (width(z + 0.01) - width(z)).abs() / 0.02;
            let expected = width(z) + 2.0 * HALF * f64::hypot(1.0, lean);
            assert!((got - expected).abs() < 0.25, "{got} mm wide at {z} mm, not {expected}");
        }
    }
}

/// Where two sheets lie over each other they show the same, so that the crosses come onto each other.
#[test]
fn sheets_agree_where_they_lie_over_each_other() {
    let plan = example("toadstool-house");
    let paper = on(&plan, PaperSize::A4);
    let files = templates(&plan, &paper, &[Template::Silhouettes], Language::english()).unwrap();
    let pdf = named(&files, ".pdf");
    // The front silhouette lies on two sheets, one above the other, after the page with the map.
    let (Some(upper), Some(lower)) = (Raster::page(pdf, 2), Raster::page(pdf, 3)) else { return };
    // Poppler rounds up.
    assert!(upper.wide.abs_diff(2970) <= 1 && upper.high.abs_diff(2100) <= 1);
    let pixel = |mm: f64| (mm * PER_MM).round() as usize;
    let (left, top) = (pixel(paper.margin), pixel(paper.margin + HEAD));
    let shown = paper.shown(true);
    let step = pixel(shown.y - paper.overlap);
    let (mut dark, mut different) = (0, 0);
    // The names of the sheets stand in their upper left corners.
    for y in 3..pixel(paper.overlap) - 3 {
        for x in left + pixel(25.0)..left + pixel(shown.x) - 3 {
            let (a, b) = (upper.at(x, top + step + y) < 128, lower.at(x, top + y) < 128);
            dark += usize::from(a);
            different += usize::from(a != b);
        }
    }
    assert!(dark > 2000, "{dark} dark pixels");
    assert!(different * 100 < dark, "{different} of {dark} dark pixels differ");
}

/// 300 mm square on A4 with margins of 10 mm takes 2 × 2 sheets without an overlap (190 × 277 mm shown); with
/// head and foot taken off, 190 × 237 mm, it still does.
#[test]
fn a_wide_cake_takes_as_many_sheets_as_it_must() {
    let plan = straight("[[150, 0], [150, 240]]", 240.0);
    let files =
        templates(&plan, &Paper::usual(Unit::Millimetre), &[Template::Silhouettes], Language::english())
            .unwrap();
    let Some(pages) = page_sizes(named(&files, ".pdf")) else { return };
    // One page for the map, and the silhouette: 300 × 252 mm with its middle line.
    assert_eq!(pages.len(), 1 + 4);
    // On A3 the two narrower sheets are enough: 277 × 360 mm shown.
    let files =
        templates(&plan, &on(&plan, PaperSize::A3), &[Template::Silhouettes], Language::english()).unwrap();
    assert_eq!(page_sizes(named(&files, ".pdf")).unwrap().len(), 1 + 2);
}

/// Nobody glues hundreds of sheets: the page says so and sends the drawing to a print shop.
#[test]
fn what_is_larger_than_can_be_glued_is_told() {
    let plan = crate::plans::plan(
        "crumbline = 1\nname = \"Giant\"\n[shape.turned]\npoints = [[2000, 0], [2000, 3000]]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 4100 }\nheight = 3000\n",
    );
    let files = templates(&plan, &plan.design.paper, &Template::ALL, Language::english()).unwrap();
    for file in files.iter().filter(|file| file.name.ends_with(".pdf")) {
        let Some(pages) = page_sizes(file) else { return };
        assert!(pages.len() < 10, "{}: {} pages", file.name, pages.len());
    }
    let words = text("pdftotext", &[], named(&files, "silhouettes-a4.pdf")).unwrap();
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("print shop"), "{words}");
}

#[test]
fn words_can_be_selected_and_their_font_is_embedded() {
    let plan = example("toadstool-house");
    let files = templates(&plan, &plan.design.paper, &[Template::Silhouettes], Language::english()).unwrap();
    let Some(fonts) = text("pdffonts", &[], named(&files, ".pdf")) else { return };
    let fonts: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(!fonts.is_empty());
    for font in fonts {
        // Columns: name, type, encoding, emb, sub, uni, object.
        let words: Vec<&str> = font.split_whitespace().collect();
        assert!(words[0].contains("DejaVuSans"), "{font}");
        assert!(words[words.len() - 5..words.len() - 2] == ["yes", "yes", "yes"], "{font}");
    }
    let words = text("pdftotext", &[], named(&files, ".pdf")).unwrap();
    for word in ["Toadstool house", "stalk 1", "cap 2", "191 mm", "carved"] {
        assert!(words.contains(word), "{word}: {words}");
    }
}
