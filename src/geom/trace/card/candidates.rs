//! Regions of a picture that look like marks, whatever card they belong to.

use glam::DVec2;

use super::{
    crossing,
    layout::{MARK_INSIDE, MARK_RADIUS},
    mark::{Ellipse, Shades, shades},
};
use crate::trace::{
    SeparateBy,
    contours::{Inside, contours, signed_area},
    grey_levels::{GreyLevels, WHITE},
};

/// A region that looks like a mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Candidate {
    /// Its crossing, [right, down] in pixels.
    pub crossing: DVec2,
    /// The outside of its ring, pixels.
    pub ring: Ellipse,
    /// How far off the line of its ring may be: half a pixel of the picture in which it was found.
    pub blur: f64,
    /// Its black and white.
    pub shades: Shades,
}

/// Marks are looked for in a picture of no more pixels than this; larger ones are reduced.
const MOST_PIXELS: usize = 3_200_000;
/// The part of the picture's longer side over which brightness is compared: wider than a mark in all but the closest
/// pictures.
const NEIGHBOURHOOD: f64 = 0.125;
/// What is darker than this, of the mean brightness around it, is dark.
const DARK: f64 = 0.78;
/// Means below this, of white, count as this, so that the noise of dark grounds stays small.
const LEAST_MEAN: f64 = 0.08;
/// The smallest area of a mark, pixels: a circle seen obliquely on which the quarters can be told apart.
const LEAST_AREA: f64 = 80.0;

/// All regions of a picture of this brightness that look like marks.
pub(super) fn candidates(levels: &GreyLevels) -> Vec<Candidate> {
    let times = ((levels.width * levels.height) as f64 / MOST_PIXELS as f64).sqrt().ceil().max(1.0) as usize;
    let small = (times > 1).then(|| reduced(levels, times));
    let looked_at = small.as_ref().unwrap_or(levels);
    // Countless speckles are no card.
    let Ok(edges) = contours(&relative(looked_at), DARK * MEAN, Inside::Below) else { return Vec::new() };
    let regions = edges.iter().filter(|edge| signed_area(edge) >= LEAST_AREA);
    regions
        .filter_map(|edge| {
            let ring = Ellipse::of(edge)?;
            let shades = shades(looked_at, &ring)?;
            let ring = ring.enlarged(times as f64);
            let crossing = refined(levels, &ring)?;
            Some(Candidate { crossing, ring, blur: 0.5 * times as f64, shades })
        })
        .collect()
}

/// The crossing of a mark with this ring.
fn refined(levels: &GreyLevels, ring: &Ellipse) -> Option<DVec2> {
    /// Looked at from the crossing outwards, of the way to the inside of the ring.
    const REACH: f64 = 0.8;
    const MOST: f64 = 30.0;
    let reach = REACH * MARK_INSIDE / MARK_RADIUS * ring.half_axes().1;
    crossing::refined(levels, ring.centre, reach.min(MOST))
}

/// The mean of `times` × `times` pixels each; what is left at the right and the lower edge is left out.
fn reduced(levels: &GreyLevels, times: usize) -> GreyLevels {
    let (width, height) = (levels.width / times, levels.height / times);
    let mut values = Vec::with_capacity(width * height);
    let mut sums = vec![0_u32; width];
    for rows in levels.values.chunks_exact(levels.width * times).take(height) {
        sums.fill(0);
        for row in rows.chunks_exact(levels.width) {
            for (sum, pixels) in sums.iter_mut().zip(row.chunks_exact(times)) {
                *sum += pixels.iter().map(|&value| u32::from(value)).sum::<u32>();
            }
        }
        let count = (times * times) as u32;
        values.extend(sums.iter().map(|sum| (sum / count) as u16));
    }
    GreyLevels { width, height, values, separated_by: SeparateBy::Brightness }
}

/// What a level that is the mean of those around it becomes.
const MEAN: f64 = 16_384.0;

/// Each level relative to the mean around it, so that shade plays no part ("Adaptive thresholding using the integral
/// image", Journal of Graphics Tools 12, 2007). The mean is taken over a square, cut off at the edges of the picture.
fn relative(levels: &GreyLevels) -> GreyLevels {
    let (width, height) = (levels.width, levels.height);
    let half = ((width.max(height) as f64 * NEIGHBOURHOOD / 2.0) as usize).max(8);
    let mut columns = vec![0_u64; width];
    let mut running = vec![0_u64; width + 1];
    let add = |columns: &mut [u64], y: usize, sign: bool| {
        let row = &levels.values[y * width..(y + 1) * width];
        for (column, &value) in columns.iter_mut().zip(row) {
            *column = if sign { *column + u64::from(value) } else { *column - u64::from(value) };
        }
    };
    (0..half.min(height)).for_each(|y| add(&mut columns, y, true));
    let mut values = Vec::with_capacity(levels.values.len());
    for y in 0..height {
        if y + half < height {
            add(&mut columns, y + half, true);
        }
        if y > half {
            add(&mut columns, y - half - 1, false);
        }
        let rows = (y + half + 1).min(height) - y.saturating_sub(half);
        for (x, column) in columns.iter().enumerate() {
            running[x + 1] = running[x] + column;
        }
        for (x, &value) in levels.values[y * width..(y + 1) * width].iter().enumerate() {
            let (from, to) = (x.saturating_sub(half), (x + half + 1).min(width));
            let mean = (running[to] - running[from]) as f32 / (rows * (to - from)) as f32;
            let share = f32::from(value) / mean.max((LEAST_MEAN * WHITE) as f32);
            // The cast saturates: four times the mean is as bright as any.
            values.push((share * MEAN as f32) as u16);
        }
    }
    GreyLevels { width, height, values, separated_by: SeparateBy::Brightness }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp(width: usize, height: usize) -> GreyLevels {
        let values =
            (0..width * height).map(|i| (1000 + 40 * (i % width) + 7 * (i / width)) as u16).collect();
        GreyLevels { width, height, values, separated_by: SeparateBy::Brightness }
    }

    #[test]
    fn a_reduced_picture_has_the_means() {
        let small = reduced(&ramp(7, 5), 2);
        assert_eq!((small.width, small.height), (3, 2));
        assert_eq!(small.values[0], (1000 + 1040 + 1007 + 1047) / 4);
        assert_eq!(
            small.values[4],
            (1000 + 80 + 14 + 1000 + 120 + 14 + 1000 + 80 + 21 + 1000 + 120 + 21) / 4
        );
    }

    #[test]
    fn levels_are_relative_to_the_mean_of_the_square_around() {
        let levels = ramp(60, 41);
        let relative = relative(&levels);
        let half = 8_usize;
        for (x, y) in [(0_usize, 0_usize), (5, 3), (30, 20), (59, 40), (52, 8), (8, 32)] {
            let mut around = Vec::new();
            for v in y.saturating_sub(half)..(y + half + 1).min(41_usize) {
                for u in x.saturating_sub(half)..(x + half + 1).min(60_usize) {
                    around.push(f64::from(levels.values[v * 60 + u]));
                }
            }
            let mean = (around.iter().sum::<f64>() / around.len() as f64).max(LEAST_MEAN * WHITE);
            let expected = f64::from(levels.values[y * 60 + x]) / mean * MEAN;
            let found = f64::from(relative.values[y * 60 + x]);
            assert!((found - expected).abs() < 1.5, "{x}, {y}: {found} is not {expected}");
        }
    }
}
