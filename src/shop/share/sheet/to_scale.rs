//! The front and the side of the cake to scale, beside a dinner plate of a stated size.

use std::sync::Arc;

use glam::{DVec2, UVec2, dvec2};
use image::{
    RgbaImage,
    imageops::{FilterType, crop_imm, resize},
};

use super::{PictureSheet, SMALLEST, flattened, lines::Lines};
use formats::{
    colour::{ink_on, mixed},
    drawing::{Drawing, Pen},
    model::Rgb,
};
use geom::{
    real,
    units::{MM_PER_INCH, Unit, UnitStyle},
};
use make::language::filled;
use plan::extent::standing;

/// A picture straight at one side of the cake, without perspective, see-through where nothing is.
#[derive(Debug, Clone)]
pub struct Elevation {
    /// Its pixels.
    pub image: RgbaImage,
    /// How long a pixel is, mm.
    pub mm_per_pixel: f64,
    /// Where the upper left corner of what stands there, board and all, falls in it, pixels.
    pub corner: DVec2,
}

/// Diameter of a dinner plate, mm: common practice, no source; 26 to 28 cm are sold as such, and 10 to 11 in.
fn plate_diameter(style: UnitStyle) -> f64 {
    match style.length {
        Unit::Inch => 10.5 * MM_PER_INCH,
        Unit::Millimetre | Unit::Centimetre => 270.0,
    }
}

/// Height that the highest of the three may take, pixels.
const HIGHEST: f64 = 620.0;
/// Between two of them, pixels.
const GAP: f64 = 56.0;
/// Room for the measuring lines at the left and below, pixels.
const MEASURE: f64 = 40.0;
/// A column is no narrower, so that its words do not fill many lines, pixels.
const NARROWEST: f64 = 240.0;
/// Half of the end of a measuring line, pixels.
const END: f64 = 11.0;
/// A pixel of the sheet is no shorter than this, mm: a small cake does not fill it.
const FINEST: f64 = 0.25;

/// Draws the three side by side at one scale, with what they measure.
pub(super) fn draw(sheet: &PictureSheet<'_>, lines: &mut Lines) {
    let words = &sheet.language.share;
    let style = sheet.language.style(sheet.quote.style);
    let (low, high) = standing(sheet.plan);
    let size = high - low;
    let plate = plate_diameter(style);
    let told = |words: &str, mm: f64| filled(words, &[("length", &style.length_alone(mm))]);
    let captions = [
        vec![words.sight_front.clone(), told(&words.sheet_wide, size.x), told(&words.sheet_high, size.z)],
        vec![words.sight_side.clone(), told(&words.sheet_deep, size.y)],
        vec![words.sheet_plate.clone(), style.length_alone(plate)],
    ];
    let across = [size.x, size.y, plate];
    let columns = |scale: f64| across.map(|mm| (mm * scale).max(NARROWEST));
    let room = lines.wide - MEASURE - 2.0 * GAP;
    let mut scale = (HIGHEST / size.z.max(plate)).min(1.0 / FINEST);
    while columns(scale).iter().sum::<f64>() > room && scale > 1e-3 {
        scale *= 0.995;
    }
    let columns = columns(scale);
    let spare = (room - columns.iter().sum::<f64>()) / 2.0;
    let base = lines.y + scale * size.z.max(plate);
    let mut x = lines.left() + MEASURE + spare;
    let mut lowest = base;
    let measure = Pen { ink: lines.ink, ..Pen::black(3.0) };
    for (i, (column, caption)) in columns.into_iter().zip(&captions).enumerate() {
        let (middle, half) = (x + column / 2.0, across[i] * scale / 2.0);
        let (from, to) = (dvec2(middle - half, base + MEASURE), dvec2(middle + half, base + MEASURE));
        match i {
            0 | 1 => {
                let view = [&sheet.views.front, &sheet.views.side][i];
                let corner = dvec2(middle - half, base - size.z * scale);
                view.draw(&mut lines.drawing, corner, dvec2(across[i], size.z), scale, sheet.look.ground);
            }
            _ => draw_plate(&mut lines.drawing, dvec2(middle, base - half), half, sheet.look.ground),
        }
        draw_measure(&mut lines.drawing, from, to, measure);
        if i == 0 {
            let x = middle - half - MEASURE + END;
            draw_measure(&mut lines.drawing, dvec2(x, base), dvec2(x, base - size.z * scale), measure);
        }
        let room = (column + 0.7 * GAP).min(2.0 * (lines.right() - middle));
        lowest = lowest.max(lines.caption(caption, (middle, base + 1.6 * MEASURE), room, SMALLEST));
        x += column + GAP;
    }
    lines.y = lowest;
}

impl Elevation {
    /// Draws what stands in the picture, `size` mm, with its upper left corner at `at` and so many pixels a millimetre.
    fn draw(&self, drawing: &mut Drawing, at: DVec2, size: DVec2, scale: f64, ground: Rgb) {
        /// Kept round it, so that no soft edge is cut off, pixels of the picture.
        const MARGIN: f64 = 2.0;
        let all = UVec2::from(self.image.dimensions()).as_dvec2();
        let from = (self.corner - MARGIN).floor().clamp(DVec2::ZERO, all - 1.0);
        let to = (self.corner + size / self.mm_per_pixel + MARGIN).ceil().clamp(from + 1.0, all);
        let [x, y, wide, high] = [from.x, from.y, to.x - from.x, to.y - from.y].map(|n| n as u32);
        let cut = flattened(&crop_imm(&self.image, x, y, wide, high).to_image(), ground);
        let larger = scale * self.mm_per_pixel;
        let pixels = ((to - from) * larger).round().max(DVec2::ONE);
        let shown = resize(&cut, pixels.x as u32, pixels.y as u32, FilterType::CatmullRom);
        // On whole pixels, so that it stays sharp.
        let corner = (at + (from - self.corner) * larger).round();
        drawing.picture(&Arc::new(shown), corner, pixels);
    }
}

/// A line with an end at either side.
fn draw_measure(drawing: &mut Drawing, from: DVec2, to: DVec2, pen: Pen) {
    let across = (to - from).normalize_or_zero().perp() * END;
    drawing.line(from, to, pen);
    drawing.line(from - across, from + across, pen);
    drawing.line(to - across, to + across, pen);
}

/// A plate that stands upright and shows its face.
fn draw_plate(drawing: &mut Drawing, middle: DVec2, radius: f64, ground: Rgb) {
    /// Radii of the rim's edge and of the well, by that of the plate.
    const WELL: [f64; 2] = [0.70, 0.665];
    let circle = |radius: f64| -> Vec<DVec2> {
        let turn = |i: u32| std::f64::consts::TAU * f64::from(i) / 180.0;
        (0..180).map(|i| middle + radius * real::unit_vector(turn(i))).collect()
    };
    let shade = |share: f64| mixed(ground, ink_on(ground), share);
    // The line lies inside the edge, so that the plate is as large as it is said to be.
    let pen = |wide: f64| Some(Pen { ink: shade(0.55), ..Pen::black(wide) });
    drawing.closed(vec![circle(radius - 1.5)], Some(Rgb(255, 255, 255)), pen(3.0));
    drawing.closed(vec![circle(WELL[0] * radius)], Some(Rgb(246, 246, 244)), pen(2.0));
    drawing.closed(vec![circle(WELL[1] * radius)], Some(Rgb(255, 255, 255)), None);
}
