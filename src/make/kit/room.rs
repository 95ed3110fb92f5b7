//! Where a box finds room in a region.

use glam::{DVec2, dvec2};

use geom::{Region, Tolerance};

/// A region to place boxes in. It keeps a grid of its inside, by which most boxes that are too large for it are
/// refused at once.
pub struct Room {
    region: Region,
    /// How many points of the grid are inside, left of and below each: a summed-area table, one column and one row
    /// more than there are points (F. C. Crow, Summed-area tables for texture mapping, 1984).
    inside: Vec<u32>,
    columns: usize,
    rows: usize,
}

/// Points of the grid lie this far apart, mm.
const STEP: f64 = 1.0;

impl Room {
    /// Room in `region`.
    pub fn new(region: Region) -> Self {
        let (lo, hi) = region.bounds().unwrap_or_default();
        let count = |length: f64| (length / STEP).floor() as usize + 1;
        let (columns, rows) = (count(hi.x - lo.x), count(hi.y - lo.y));
        let wide = columns + 1;
        let mut inside = vec![0u32; wide * (rows + 1)];
        for row in 0..rows {
            let mut points = vec![0u32; columns];
            for (from, to) in region.row(lo.y + row as f64 * STEP) {
                let first = ((from - lo.x) / STEP).ceil().max(0.0) as usize;
                let last = ((to - lo.x) / STEP).floor() as usize;
                points.iter_mut().take(last + 1).skip(first).for_each(|point| *point = 1);
            }
            let mut along = 0;
            for (column, point) in points.into_iter().enumerate() {
                along += point;
                inside[(row + 1) * wide + column + 1] = inside[row * wide + column + 1] + along;
            }
        }
        Self { region, inside, columns, rows }
    }

    /// Whether a box of `size` mm may have room: one that has none here has none at all. A box covers so many points
    /// of the grid each way, wherever it lies, and all of them are inside.
    fn may_hold(&self, size: DVec2) -> bool {
        let covered = |length: f64| (length / STEP - 1e-6).floor().max(0.0) as usize;
        let (across, up) = (covered(size.x), covered(size.y));
        if across > self.columns || up > self.rows {
            return false;
        }
        let wide = self.columns + 1;
        (0..=self.rows - up).any(|row| {
            let (low, high) = (&self.inside[row * wide..], &self.inside[(row + up) * wide..]);
            (0..=self.columns - across).any(|column| {
                let held = high[column + across] + low[column] - high[column] - low[column + across];
                held as usize == across * up
            })
        })
    }

    /// Where the middle of a box of `size` mm lies within the room, as near as may be to the middle of the room's
    /// own box.
    pub fn place(&self, size: DVec2) -> Option<DVec2> {
        /// Places tried each way.
        const TRIED: u32 = 24;
        /// What an inset rounds away, mm.
        const ROUNDING: f64 = 0.3;
        if !self.may_hold(size) {
            return None;
        }
        let (lo, hi) = self.region.bounds()?;
        // The disc in the middle of the box must fit as well: where its centre may lie is soon found.
        let (a, b) = self.region.inset(size.min_element() / 2.0 - ROUNDING, Tolerance::PREVIEW).bounds()?;
        let (low, high) = ((lo + size / 2.0).max(a), (hi - size / 2.0).min(b));
        if low.x > high.x || low.y > high.y {
            return None;
        }
        let edges: Vec<(DVec2, DVec2)> = self.region.edges().collect();
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
        spots.into_iter().find(|&spot| {
            !edges.iter().any(|&(a, b)| meets_box(a - spot, b - spot, half)) && self.region.contains(spot)
        })
    }
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
    fn a_box_is_placed_inside_or_not_at_all() {
        let ring = Region::rectangle(DVec2::ZERO, dvec2(100.0, 60.0))
            .difference(&Region::rectangle(dvec2(20.0, 20.0), dvec2(80.0, 40.0)));
        let room = Room::new(ring);
        let spot = room.place(dvec2(40.0, 12.0)).unwrap();
        assert!(spot.y <= 14.0 || spot.y >= 46.0, "{spot}");
        assert!(room.place(dvec2(40.0, 30.0)).is_none());
    }

    /// The grid only leaves out what has no room: every box that is found without it is found with it.
    #[test]
    fn the_grid_leaves_out_no_box_that_fits() {
        let fine = Tolerance::new(0.01).unwrap();
        let disc = Region::disc(dvec2(3.3, -7.7), 30.0, fine);
        let mut refused = 0;
        for k in 0..400 {
            let size = dvec2(f64::from(k % 20) * 3.1 + 1.0, f64::from(k / 20) * 2.9 + 1.0);
            let room = Room::new(disc.clone());
            // A box fits a disc if its half diagonal is no longer than the radius.
            let fits = size.length() / 2.0 < 30.0 * (1.0 - 1e-3);
            assert!(!fits || room.may_hold(size), "{size}");
            refused += usize::from(!room.may_hold(size));
        }
        assert!(refused > 50, "{refused} of 400 are refused");
    }
}
