//! Text as regions of the plane, from the font that the pictures use as well.

use glam::{DVec2, dvec2};

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

/// Where a box of `size` mm lies within `room`, as near as may be to the middle of the room's own box.
pub fn place(size: DVec2, room: &Region) -> Option<DVec2> {
    /// Places tried each way.
    const TRIED: u32 = 24;
    /// What an inset rounds away, mm.
    const ROUNDING: f64 = 0.3;
    let (lo, hi) = room.bounds()?;
    // The disc in the middle of the box must fit as well: where its centre may lie is soon found.
    let (a, b) = room.inset(size.min_element() / 2.0 - ROUNDING, Tolerance::PREVIEW).bounds()?;
    let (low, high) = ((lo + size / 2.0).max(a), (hi - size / 2.0).min(b));
    if low.x > high.x || low.y > high.y {
        return None;
    }
    let edges: Vec<(DVec2, DVec2)> = room.edges().collect();
    let middle = (lo + hi) / 2.0;
    let mut spots: Vec<DVec2> = (0..=TRIED)
        .flat_map(|i| (0..=TRIED).map(move |j| (i, j)))
        .map(|(i, j)| {
            let share = dvec2(f64::from(i), f64::from(j)) / f64::from(TRIED);
            low + (high - low) * share
        })
        .collect();
    spots.sort_by(|a, b| a.distance_squared(middle).total_cmp(&b.distance_squared(middle)));
    let half = size / 2.0;
    spots
        .into_iter()
        .find(|&spot| !edges.iter().any(|&(a, b)| meets_box(a - spot, b - spot, half)) && room.contains(spot))
}

/// Whether the edge from `a` to `b` has a point in the box about the origin that reaches to `half`.
fn meets_box(a: DVec2, b: DVec2, half: DVec2) -> bool {
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for (p, d, h) in [(a.x, b.x - a.x, half.x), (a.y, b.y - a.y, half.y)] {
        if d == 0.0 {
            if p.abs() >= h {
                return false;
            }
            continue;
        }
        let (s, t) = ((-h - p) / d, (h - p) / d);
        from = from.max(s.min(t));
        to = to.min(s.max(t));
    }
    from < to
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

    #[test]
    fn a_box_is_placed_inside_or_not_at_all() {
        let ring = Region::rectangle(DVec2::ZERO, dvec2(100.0, 60.0))
            .difference(&Region::rectangle(dvec2(20.0, 20.0), dvec2(80.0, 40.0)));
        let spot = place(dvec2(40.0, 12.0), &ring).unwrap();
        assert!(spot.y <= 14.0 || spot.y >= 46.0, "{spot}");
        assert!(place(dvec2(40.0, 30.0), &ring).is_none());
    }
}
