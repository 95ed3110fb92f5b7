//! What is drawn over a cut-away: the knife's line, the finished line, and for each layer how deep the knife goes and how
//! much goes.

use glam::DVec2;

use super::{Anchor, Canvas, FAINT, INK};
use formats::{
    model::Rgb,
    text::{Face, TextLine},
};

/// What lies round a line, so that it is seen on anything.
const LIGHT: Rgb = Rgb(250, 246, 238);

/// What is drawn over a cut-away, in pixels of the picture.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CarveNotes {
    /// The knife's line.
    pub carved: Vec<[DVec2; 2]>,
    /// Where layers lie on one another.
    pub joints: Vec<[DVec2; 2]>,
    /// Where the raw layers end.
    pub raw: Vec<[DVec2; 2]>,
    /// The finished line.
    pub finished: Vec<[DVec2; 2]>,
    /// What is said of each layer.
    pub layers: Vec<LayerNote>,
}

/// What is said of a layer.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerNote {
    /// From the knife's line out to the end of the raw layer, with how long that is; none where nothing is carved there.
    pub depth: Option<([DVec2; 2], String)>,
    /// Where the words begin, pixels.
    pub at: DVec2,
    /// What it is called, and how much of it goes.
    pub words: [String; 2],
}

/// Draws it; `u` is a thousandth of the height of the picture that letters and lines are made for.
pub fn draw_carve(canvas: &mut Canvas, notes: &CarveNotes, u: f32) {
    let lines = [
        // Seen on dark cake too.
        (&notes.carved, 7.5, LIGHT),
        (&notes.finished, 3.2, LIGHT),
        (&notes.raw, 1.2, FAINT),
        (&notes.joints, 1.0, FAINT),
        (&notes.finished, 1.6, INK),
        (&notes.carved, 4.5, INK),
    ];
    for (segments, width, colour) in lines {
        for [from, to] in segments {
            canvas.line(pixel(*from), pixel(*to), width * u, colour);
        }
    }
    for layer in &notes.layers {
        if let Some(([inner, outer], words)) = &layer.depth {
            depth(canvas, pixel(*inner), pixel(*outer), words, u);
        }
        let (x, y) = pixel(layer.at);
        canvas.text((x, y - 3.0 * u), 22.0 * u, Face::Bold, Anchor::Left, INK, &layer.words[0]);
        canvas.text((x, y + 22.0 * u), 20.0 * u, Face::Plain, Anchor::Left, INK, &layer.words[1]);
    }
}

/// How wide the label of a depth is, pixels; `u` is a thousandth of the picture's height.
pub fn label_width(words: &str, u: f32) -> f32 {
    TextLine::new(words, (21.0 * u).into(), Face::Bold).width() as f32
}

fn pixel(p: DVec2) -> (f32, f32) {
    (p.x as f32, p.y as f32)
}

/// An arrow from the end of the raw layer in to the knife's line, and its length beside it on a plate of its own.
fn depth(canvas: &mut Canvas, inner: (f32, f32), outer: (f32, f32), words: &str, u: f32) {
    canvas.line(outer, inner, 2.4 * u, INK);
    let towards = (inner.0 - outer.0).signum();
    let base = inner.0 - towards * 13.0 * u;
    canvas.polygon(&[inner, (base, inner.1 - 5.5 * u), (base, inner.1 + 5.5 * u)], INK);
    let width = label_width(words, u);
    let (half, end) = (width / 2.0 + 5.0 * u, canvas.width());
    let middle = (((inner.0 + outer.0) / 2.0).min(end - half).max(half), inner.1 - 11.0 * u);
    let plate = [middle.0 - width / 2.0 - 3.0 * u, middle.1 - 18.0 * u, width + 6.0 * u, 24.0 * u];
    canvas.area(plate, Rgb(255, 255, 255), 0.82);
    canvas.text(middle, 21.0 * u, Face::Bold, Anchor::Middle, INK, words);
}
