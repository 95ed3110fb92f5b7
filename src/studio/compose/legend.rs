//! What the colours mean, in words, with units; and the title.

use super::{Anchor, Canvas, FAINT, INK};
use crate::{
    scale::{self, DepthScale},
    timeline,
};
use formats::{
    model::Rgb,
    text::{Face, TextLine},
};
use geom::units::UnitStyle;

/// What the legend has to explain.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Legend {
    /// How lengths are written.
    pub style: UnitStyle,
    /// The depth scale, if any piece is coloured by depth.
    pub scale: Option<DepthScale>,
    /// Whether carving is not done yet.
    pub carving: bool,
    /// Whether missing cake is shown.
    pub shortfall: bool,
    /// Whether the raw stack is shown as a ghost.
    pub ghost: bool,
    /// Whether what is carved off is shown, hatched.
    pub offcut: bool,
    /// Whether the knife's line and the finished line are drawn.
    pub lines: bool,
    /// Colours with names for what else is in sight.
    pub swatches: Vec<(Rgb, String)>,
}

impl Legend {
    /// The bands of depth in sight: colours and words; none where nothing is coloured by depth.
    pub fn bands(&self) -> Vec<(Rgb, String)> {
        self.scale.map_or_else(Vec::new, |scale| scale.legend(self.style))
    }

    /// Whether there is anything to explain.
    pub fn is_empty(&self) -> bool {
        self.scale.is_none() && !self.shortfall && !self.ghost && !self.offcut && self.swatches.is_empty()
    }
}

/// How the name of what stays begins.
pub const STAYS: &str = "stays: ";

/// Width of the legend as a share of the picture's height.
pub const LEGEND_WIDTH: f32 = 0.27;

/// Writes the cake's name and, below it, what the picture shows.
pub fn draw_title(canvas: &mut Canvas, title: &str, subtitle: &str) {
    let u = canvas.height() / 1000.0;
    canvas.text((40.0 * u, 62.0 * u), 40.0 * u, Face::Bold, Anchor::Left, INK, title);
    canvas.text((40.0 * u, 97.0 * u), 25.0 * u, Face::Plain, Anchor::Left, FAINT, subtitle);
}

/// What whoever carves by a picture must know, along the foot.
pub fn draw_caution(canvas: &mut Canvas) {
    const CAUTION: &str = "Dowels and boards are hidden inside. Carve with a smooth blade, away from yourself; count all of them out again.";
    let u = canvas.height() / 1000.0;
    let y = canvas.height() - 16.0 * u;
    canvas.text((40.0 * u, y), 18.0 * u, Face::Plain, Anchor::Left, FAINT, CAUTION);
}

/// Draws the legend down the right-hand side; of a cut-away, where words stand there, along the foot.
pub fn draw_legend(canvas: &mut Canvas, legend: &Legend) {
    let u = canvas.height() / 1000.0;
    if legend.lines {
        draw_row(canvas, legend, u);
        return;
    }
    let x = canvas.width() - (LEGEND_WIDTH * 1000.0 - 20.0) * u;
    let mut y = 150.0 * u;
    if legend.scale.is_some() {
        y = draw_scale(canvas, legend, (x, y), u);
    }
    if legend.offcut {
        hatched(canvas, x, y, u, timeline::OFF, OFF_STRIPE);
        note(canvas, x, y, u, "goes: offcut");
        y += 44.0 * u;
    }
    if legend.lines {
        for (width, words) in [(4.5, "carved line"), (1.6, "finished line")] {
            canvas.line((x, y + 14.0 * u), (x + 28.0 * u, y + 14.0 * u), width * u, INK);
            note(canvas, x, y, u, words);
            y += 44.0 * u;
        }
    }
    if legend.shortfall {
        hatched(canvas, x, y, u, scale::SHORTFALL, SHORT_STRIPE);
        note(canvas, x, y, u, SHORTFALL);
        y += 44.0 * u;
    }
    if legend.ghost {
        let frame = Rgb(110, 86, 66);
        for (from, to) in [
            ((0.0, 0.0), (28.0, 0.0)),
            ((28.0, 0.0), (28.0, 28.0)),
            ((28.0, 28.0), (0.0, 28.0)),
            ((0.0, 28.0), (0.0, 0.0)),
        ] {
            let at = |p: (f32, f32)| (x + p.0 * u, y + p.1 * u);
            canvas.line(at(from), at(to), 1.6 * u, frame);
        }
        note(canvas, x, y, u, "offcut");
        y += 44.0 * u;
    }
    for (colour, name) in &legend.swatches {
        canvas.area([x, y, 28.0 * u, 28.0 * u], *colour, 1.0);
        note(canvas, x, y, u, name);
        y += 44.0 * u;
    }
}

/// What stands before the words of an entry.
enum Sign {
    Colour(Rgb),
    Hatch(Rgb, Rgb),
    Line(f32),
}

/// The legend in rows along the foot.
fn draw_row(canvas: &mut Canvas, legend: &Legend, u: f32) {
    const SIZE: f32 = 21.0;
    // What stays comes first, beside what goes.
    let (stays, others): (Vec<_>, Vec<_>) =
        legend.swatches.iter().partition(|(_, name)| name.starts_with(STAYS));
    let swatch = |(colour, name): &(Rgb, String)| (Sign::Colour(*colour), name.clone());
    let mut entries: Vec<(Sign, String)> = stays.into_iter().map(swatch).collect();
    if legend.offcut {
        entries.push((Sign::Hatch(timeline::OFF, OFF_STRIPE), "goes: offcut".into()));
    }
    if legend.shortfall {
        entries.push((Sign::Hatch(scale::SHORTFALL, SHORT_STRIPE), SHORTFALL.into()));
    }
    entries
        .extend([(4.5, "carved line"), (1.6, "finished line")].map(|(w, name)| (Sign::Line(w), name.into())));
    entries.extend(others.into_iter().map(swatch));
    let width = |words: &str| TextLine::new(words, (SIZE * u).into(), Face::Plain).width() as f32 + 78.0 * u;
    let (left, right) = (40.0 * u, canvas.width() - 20.0 * u);
    let mut rows: Vec<Vec<(Sign, String)>> = vec![Vec::new()];
    let mut end = left;
    for entry in entries {
        let wide = width(&entry.1);
        if end + wide > right && end > left {
            rows.push(Vec::new());
            end = left;
        }
        end += wide;
        if let Some(row) = rows.last_mut() {
            row.push(entry);
        }
    }
    let mut y = canvas.height() - (44.0 + 40.0 * rows.len() as f32) * u;
    for row in rows {
        let mut x = left;
        for (sign, words) in row {
            match sign {
                Sign::Colour(colour) => canvas.area([x, y, 28.0 * u, 28.0 * u], colour, 1.0),
                Sign::Hatch(colour, stripes) => hatched(canvas, x, y, u, colour, stripes),
                Sign::Line(wide) => {
                    canvas.line((x, y + 14.0 * u), (x + 28.0 * u, y + 14.0 * u), wide * u, INK);
                }
            }
            canvas.text((x + 40.0 * u, y + 21.0 * u), SIZE * u, Face::Plain, Anchor::Left, INK, &words);
            x += width(&words);
        }
        y += 40.0 * u;
    }
}

/// The bands of depth, shallow at the top, with a small drawing of how depth is measured. Returns where the next entry
/// goes.
fn draw_scale(canvas: &mut Canvas, legend: &Legend, (x, y): (f32, f32), u: f32) -> f32 {
    let (title, what) = if legend.carving {
        ("Carved off so far", ["colour: how deep", "the knife went"])
    } else {
        ("Carving depth", ["colour: how deep", "it is carved here"])
    };
    canvas.text((x, y), 25.0 * u, Face::Bold, Anchor::Left, INK, title);
    for (line, text) in [31.0, 57.0].into_iter().zip(what) {
        canvas.text((x, y + line * u), 21.0 * u, Face::Plain, Anchor::Left, FAINT, text);
    }
    draw_measure(canvas, (x, y + 76.0 * u), u);
    let mut y = y + 180.0 * u;
    for (colour, words) in legend.bands() {
        canvas.area([x, y, 46.0 * u, 34.0 * u], colour, 1.0);
        let (left, room) = (x + 58.0 * u, canvas.width() - x - 66.0 * u);
        let size = canvas.fitting(&words, 20.0 * u, Face::Plain, room);
        canvas.text((left, y + 24.0 * u), size, Face::Plain, Anchor::Left, INK, &words);
        y += 38.0 * u;
    }
    y + 26.0 * u
}

/// A corner of cake with the knife's line through it, and an arrow square to the line from the skin of the raw cake.
fn draw_measure(canvas: &mut Canvas, (x, y): (f32, f32), u: f32) {
    let at = |(right, down): (f32, f32)| (x + right * u, y + down * u);
    let line: Vec<(f32, f32)> = (0..=12)
        .map(|i| {
            let (sin, cos) = (f32::from(i as u8) / 12.0 * std::f32::consts::FRAC_PI_2).sin_cos();
            at((4.0 + 92.0 * sin, 88.0 - 66.0 * cos))
        })
        .collect();
    let corner = |more: &[(f32, f32)]| -> Vec<(f32, f32)> {
        line.iter().copied().chain(more.iter().copied()).collect()
    };
    canvas.polygon(&corner(&[at((4.0, 88.0))]), Rgb(242, 224, 184));
    canvas.polygon(&corner(&[at((96.0, 6.0)), at((4.0, 6.0))]), timeline::OFF);
    for pair in line.windows(2) {
        canvas.line(pair[0], pair[1], 3.0 * u, INK);
    }
    let (skin, knife) = (at((96.0, 40.0)), at((72.0, 40.0)));
    canvas.line(skin, knife, 2.2 * u, INK);
    canvas.polygon(
        &[knife, (knife.0 + 9.0 * u, knife.1 - 5.0 * u), (knife.0 + 9.0 * u, knife.1 + 5.0 * u)],
        INK,
    );
}

/// The stripes of what is carved off, as the shader makes them.
const OFF_STRIPE: Rgb = Rgb(197, 141, 102);
/// The stripes of shortfall.
const SHORT_STRIPE: Rgb = Rgb(245, 245, 245);
/// What it is.
const SHORTFALL: &str = "shortfall: no cake";

fn hatched(canvas: &mut Canvas, x: f32, y: f32, u: f32, colour: Rgb, stripes: Rgb) {
    let side = 28.0;
    canvas.area([x, y, side * u, side * u], colour, 1.0);
    for i in 0..3 {
        let d = 4.0 + 9.5 * i as f32;
        let (a, b) = (d, d + 4.6);
        let at = |p: f32, q: f32| (x + p.clamp(0.0, side) * u, y + q.clamp(0.0, side) * u);
        // Stripes from the left edge up to the top edge.
        canvas.polygon(&[at(0.0, a), at(a, 0.0), at(b, 0.0), at(0.0, b)], stripes);
    }
}

fn note(canvas: &mut Canvas, x: f32, y: f32, u: f32, text: &str) {
    let size = canvas.fitting(text, 21.0 * u, Face::Plain, canvas.width() - x - 48.0 * u);
    canvas.text((x + 40.0 * u, y + 21.0 * u), size, Face::Plain, Anchor::Left, INK, text);
}
