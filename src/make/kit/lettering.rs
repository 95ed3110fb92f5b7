//! Text as regions of the plane, from the font that the pictures use as well.

use glam::dvec2;

use formats::text::{Face, TextLine};
use geom::{Region, Tolerance};
use plan::outline;

/// Lines lie this many heights of the letters apart.
const LEADING: f64 = 1.3;

/// Lines of text, one under the other and centred on each other, the middle of all at the origin. `size` is
/// the height of the font, mm; a capital is about 0.73 of it. A letter that the font lacks is a box.
pub fn lines(texts: &[String], size: f64, tolerance: Tolerance) -> Region {
    let count = texts.len() as f64;
    let mut contours = Vec::new();
    for (i, text) in texts.iter().enumerate() {
        let outline = TextLine::new(text, size, Face::Bold).outline();
        let one = Region::new(outline::flattened(&outline, tolerance));
        let Some((lo, hi)) = one.bounds() else { continue };
        let up = size * (LEADING * ((count - 1.0) / 2.0 - i as f64) - 0.365);
        contours.extend(one.placed(0.0, dvec2(-(lo.x + hi.x) / 2.0, up)).contours().iter().cloned());
    }
    Region::new(contours)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_have_their_counters_and_proportions() {
        let fine = Tolerance::new(0.01).unwrap();
        let o = lines(&["O".into()], 10.0, fine);
        assert_eq!(o.holes().contours().len(), 1);
        let (lo, hi) = lines(&["H".into()], 10.0, fine).bounds().unwrap();
        // DejaVu's capitals are 1493 of 2048 units high (its OS/2 table, sCapHeight).
        assert!((hi.y - lo.y - 10.0 * 1493.0 / 2048.0).abs() < 1e-3, "{lo} {hi}");
        assert!((hi.x + lo.x).abs() < 1e-6);
    }
}
