//! Overall height and width, with arrows, as on a workshop drawing.

use glam::DVec2;

use super::{Anchor, Canvas, INK, Weight};

/// What is measured: its corners in the picture and its true size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// Top left corner in the picture, pixels.
    pub top_left: DVec2,
    /// Bottom right corner in the picture, pixels.
    pub bottom_right: DVec2,
    /// True width, mm.
    pub width: f64,
    /// True height (or depth, seen from above), mm.
    pub height: f64,
    /// Where the width is written, pixels from the top.
    pub below: f32,
}

/// A length as makers read it, both units: "203 mm  8 in". Inches are rounded to an eighth.
pub fn length_text(mm: f64) -> String {
    format!("{} mm  {} in", mm.round(), inches(mm))
}

/// Inches to the nearest eighth, as "8 1/4".
fn inches(mm: f64) -> String {
    let eighths = (mm / 25.4 * 8.0).round() as i64;
    let (whole, rest) = (eighths / 8, eighths % 8);
    let part = match rest {
        0 => return whole.to_string(),
        4 => "1/2".to_owned(),
        2 | 6 => format!("{}/4", rest / 2),
        _ => format!("{rest}/8"),
    };
    if whole == 0 { part } else { format!("{whole} {part}") }
}

/// Draws the height at the left and the width below.
pub fn draw_dimensions(canvas: &mut Canvas, extent: &Extent) {
    let u = canvas.height() / 1000.0;
    let (left, top) = (extent.top_left.x as f32, extent.top_left.y as f32);
    let (right, bottom) = (extent.bottom_right.x as f32, extent.bottom_right.y as f32);
    let x = left - 44.0 * u;
    for y in [top, bottom] {
        canvas.line((left - 10.0 * u, y), (x - 10.0 * u, y), 1.2 * u, INK);
    }
    arrow(canvas, (x, top), (x, bottom), u);
    let middle = (top + bottom) / 2.0;
    let two = length_text(extent.height);
    for (row, text) in two.split("  ").enumerate() {
        let y = middle - 2.0 * u + row as f32 * 28.0 * u;
        canvas.text((x - 12.0 * u, y), 23.0 * u, Weight::Plain, Anchor::Right, INK, text);
    }
    let y = extent.below;
    for x in [left, right] {
        canvas.line((x, bottom.max(y - 34.0 * u)), (x, y + 10.0 * u), 1.2 * u, INK);
    }
    arrow(canvas, (left, y), (right, y), u);
    let text = length_text(extent.width);
    canvas.text(((left + right) / 2.0, y + 28.0 * u), 23.0 * u, Weight::Plain, Anchor::Middle, INK, &text);
}

/// A line with an arrow head at either end.
fn arrow(canvas: &mut Canvas, from: (f32, f32), to: (f32, f32), u: f32) {
    canvas.line(from, to, 1.4 * u, INK);
    let length = ((to.0 - from.0).powi(2) + (to.1 - from.1).powi(2)).sqrt().max(1e-3);
    let along = ((to.0 - from.0) / length * 13.0 * u, (to.1 - from.1) / length * 13.0 * u);
    let aside = (-along.1 * 0.3, along.0 * 0.3);
    for (tip, sign) in [(from, 1.0), (to, -1.0)] {
        let base = (tip.0 + along.0 * sign, tip.1 + along.1 * sign);
        let wings = [(base.0 + aside.0, base.1 + aside.1), (base.0 - aside.0, base.1 - aside.1)];
        canvas.polygon(&[tip, wings[0], wings[1]], INK);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_read_as_makers_say_them() {
        assert_eq!(length_text(203.2), "203 mm  8 in");
        assert_eq!(length_text(209.55), "210 mm  8 1/4 in");
        assert_eq!(length_text(12.7), "13 mm  1/2 in");
        assert_eq!(length_text(0.0), "0 mm  0 in");
        assert_eq!(length_text(25.4 * 3.625), "92 mm  3 5/8 in");
    }
}
