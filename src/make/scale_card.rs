//! The scale card on paper: what `trace` measures photographs by, and how it is used.

use glam::{DVec2, dvec2};

use cakefile::schema::PaperSize;
use formats::drawing::{BLACK, Drawing, Face, GREY, Lettering, Page, lines, on_paper};
use geom::{
    real,
    trace::card::layout::{BARS, Bar, MARK_INSIDE, MARK_RADIUS, MARKS, ROW, is_black_right_above},
};

/// The title of the card.
pub const TITLE: &str = "Scale card: lay it beside a template, photograph both, and trace the picture";

/// Sizes that the card is printed on: the marks need one sheet of either.
pub const SIZES: [PaperSize; 2] = [PaperSize::A4, PaperSize::Letter];

/// What to do, in order.
const STEPS: [&str; 5] = [
    "Print at 100 % (actual size), not \u{201c}fit to page\u{201d}. Measure both bars with a ruler: 100 mm and 6 in. If \
     they are not that long, every size that is traced is wrong by as much.",
    "Lay the card flat beside the template, in the same plane and square to it, or the template on the blank part. \
     All four marks stay whole and uncovered. What stands above the card is not measured by it.",
    "Photograph both from above, sharply and in even light; a tilt does no harm. Stand well back: the bend of a \
     wide-angle lens is not taken out.",
    "crumbline trace PICTURE OUT.svg finds the card, takes the perspective out and says how far the size may be off.",
    "Paper and ink are not for food: keep the card off the cake, or in a clean clear sleeve.",
];

/// Size of the words, mm.
const WORDS: f64 = 2.75;
/// Segments of a circle: a chord error of 1.5 µm.
const SEGMENTS: u32 = 200;

/// The card on a sheet of this size.
pub fn page(size: PaperSize) -> Page {
    let mut page = Page::new(size.size());
    page.place(drawing(), size.size() / 2.0);
    page
}

/// The card about its middle.
fn drawing() -> Drawing {
    let mut drawing = Drawing::new();
    MARKS.iter().enumerate().for_each(|(i, &mark)| draw_mark(&mut drawing, i, mark));
    for bar in &BARS {
        for field in bar.black_fields() {
            drawing.closed(vec![field.map(on_paper).to_vec()], Some(BLACK), None);
        }
    }
    label(&mut drawing, &BARS[0], |i| format!("{}", i * 10), "mm", dvec2(0.0, ROW + 3.2));
    label(
        &mut drawing,
        &BARS[1],
        |i| if i % 2 == 0 { format!("{}", i / 2) } else { String::new() },
        "in",
        dvec2(-ROW - 2.6, 1.0),
    );
    words(&mut drawing);
    drawing
}

fn draw_mark(drawing: &mut Drawing, index: usize, at: DVec2) {
    let arc = |radius: f64, from: u32, to: u32| -> Vec<DVec2> {
        let point = |i: u32| {
            at + radius * real::unit_vector(std::f64::consts::TAU * f64::from(i) / f64::from(SEGMENTS))
        };
        (from..=to).map(point).map(on_paper).collect()
    };
    let quarter = SEGMENTS / 4;
    let mut inner = arc(MARK_INSIDE, 0, SEGMENTS - 1);
    inner.reverse();
    drawing.closed(vec![arc(MARK_RADIUS, 0, SEGMENTS - 1), inner], Some(BLACK), None);
    let first = if is_black_right_above(index) { 0 } else { 1 };
    for i in [first, first + 2] {
        // Into the ring a little, so that no gap shows.
        let mut sector = arc((MARK_INSIDE + MARK_RADIUS) / 2.0, i * quarter, (i + 1) * quarter);
        sector.push(on_paper(at));
        drawing.closed(vec![sector], Some(BLACK), None);
    }
}

/// Figures along a bar, and its unit behind the last one.
fn label(drawing: &mut Drawing, bar: &Bar, figure: impl Fn(u32) -> String, unit: &str, off: DVec2) {
    for i in 0..=bar.fields {
        let at = on_paper(bar.from + bar.along * bar.field * f64::from(i)) + off;
        let text = if i == bar.fields { format!("{} {unit}", figure(i)) } else { figure(i) };
        let lettering = Lettering::new(text, at, WORDS);
        drawing.text(if off.x < 0.0 { lettering.ending() } else { lettering.centred() });
    }
}

fn words(drawing: &mut Drawing) {
    /// Half of how wide the words run: between the marks.
    const HALF: f64 = 65.0;
    const TITLE_SIZE: f64 = 3.6;
    const LEADING: f64 = 1.25;
    let mut y = -124.0;
    for line in lines(TITLE, 2.0 * HALF, TITLE_SIZE, Face::Bold) {
        y += TITLE_SIZE;
        drawing.text(Lettering::new(line, dvec2(-HALF, y), TITLE_SIZE).bold());
    }
    y += 1.0;
    for (i, step) in STEPS.iter().enumerate() {
        for (k, line) in lines(step, 2.0 * HALF - 4.0, WORDS, Face::Plain).into_iter().enumerate() {
            y += WORDS * LEADING;
            if k == 0 {
                drawing.text(Lettering::new(format!("{}", i + 1), dvec2(-HALF, y), WORDS).bold());
            }
            drawing.text(Lettering::new(line, dvec2(-HALF + 4.0, y), WORDS));
        }
    }
    let below = on_paper(dvec2(0.0, -124.0));
    let note = "Both bars prove the scale. Do not cut the card; leave white all round the marks.";
    drawing.text(Lettering::new(note, below, WORDS).centred().ink(GREY));
}
