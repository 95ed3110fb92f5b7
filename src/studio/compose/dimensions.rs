//! Overall height and width, with arrows, as on a workshop drawing.

use glam::DVec2;

use super::{Anchor, Canvas, INK};
use formats::text::Face;
use geom::units::UnitStyle;

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
    /// The height is written left of this, pixels from the left.
    pub left_of: f32,
    /// Where the width is written, pixels from the top.
    pub below: f32,
    /// How lengths are written.
    pub style: UnitStyle,
}

/// A length in the maker's unit, and below it in the other one: "203 mm", "(8 in)".
fn two_rows(style: UnitStyle, mm: f64) -> [String; 2] {
    let first = style.in_own(mm);
    let other = style.length(mm).split_off(first.len());
    [first, other.trim_start().to_owned()]
}

/// Draws the height at the left and the width below.
pub fn draw_dimensions(canvas: &mut Canvas, extent: &Extent) {
    let u = canvas.height() / 1000.0;
    let (left, top) = (extent.top_left.x as f32, extent.top_left.y as f32);
    let (right, bottom) = (extent.bottom_right.x as f32, extent.bottom_right.y as f32);
    let x = left.min(extent.left_of) - 44.0 * u;
    for y in [top, bottom] {
        canvas.line((left - 10.0 * u, y), (x - 10.0 * u, y), 1.2 * u, INK);
    }
    arrow(canvas, (x, top), (x, bottom), u);
    let middle = (top + bottom) / 2.0;
    for (row, text) in two_rows(extent.style, extent.height).iter().enumerate() {
        let y = middle - 2.0 * u + row as f32 * 28.0 * u;
        canvas.text((x - 12.0 * u, y), 23.0 * u, Face::Plain, Anchor::Right, INK, text);
    }
    let y = extent.below;
    for x in [left, right] {
        canvas.line((x, bottom.max(y - 34.0 * u)), (x, y + 10.0 * u), 1.2 * u, INK);
    }
    arrow(canvas, (left, y), (right, y), u);
    let text = extent.style.length(extent.width);
    canvas.text(((left + right) / 2.0, y + 28.0 * u), 23.0 * u, Face::Plain, Anchor::Middle, INK, &text);
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
    fn the_unit_of_the_maker_comes_first() {
        use geom::units::Unit;
        assert_eq!(two_rows(UnitStyle::new(Unit::Millimetre), 203.2), ["203 mm", "(8 in)"]);
        assert_eq!(two_rows(UnitStyle::new(Unit::Inch), 209.55), ["8 1/4 in", "(210 mm)"]);
        assert_eq!(two_rows(UnitStyle::new(Unit::Centimetre), 12.7), ["1.3 cm", "(1/2 in)"]);
    }
}
