//! Names raised on parts: the tool's own on its largest piece, and on each piece its place.

use glam::Vec2Swizzles as _;

use cakefile::Severity;
use geom::real;
use geom::{Region, SteppedPlate, Tolerance, stepped_plate::Top};
use plan::design::Printing;

use super::{
    draft::{Draft, Finding, found},
    lettering,
};

/// How high letters stand, or how deep they are sunk, mm.
const RAISED: f64 = 0.6;

/// Clear of every edge, mm.
const CLEAR: f64 = 1.5;

/// Heights of the font that are tried, mm.
const SIZES: [f64; 5] = [12.0, 10.0, 8.5, 7.0, 6.0];

/// Raises the label of `draft` on the largest of its pieces, and the place of each piece on all of them
/// where there are several.
pub fn put(
    draft: &Draft,
    pieces: &mut [SteppedPlate],
    printing: &Printing,
    fine: Tolerance,
) -> Option<Finding> {
    /// Curves of letters stray by this at most, mm.
    const LETTERS: f64 = 0.05;
    let of = pieces.len();
    let coarse = Tolerance::new(LETTERS).unwrap_or(fine);
    let largest = (0..of).max_by(|&i, &j| area(&pieces[i]).total_cmp(&area(&pieces[j])))?;
    let mut unnamed = false;
    for (i, piece) in pieces.iter_mut().enumerate() {
        let place = (of > 1).then(|| format!("{}/{of}", i + 1));
        let mut texts = if i == largest { draft.label.clone() } else { Vec::new() };
        texts.extend(place);
        if !texts.is_empty() && !raise(piece, &texts, draft.sunk, printing, coarse) {
            unnamed = true;
        }
    }
    (unnamed && !draft.quiet).then(|| {
        found(
            Severity::Note,
            "no-room-for-name",
            &draft.name,
            "there is no room to raise a name".into(),
            "write it on with a marker after printing",
        )
    })
}

fn area(plate: &SteppedPlate) -> f64 {
    plate.levels().map(|(region, _)| region.area()).fold(0.0, f64::max)
}

/// Raises (or sinks) `texts` on one of the largest level parts: all of them one under the other, or in one
/// line, or else the first and the last, or the last alone.
fn raise(
    plate: &mut SteppedPlate,
    texts: &[String],
    sunk: bool,
    printing: &Printing,
    fine: Tolerance,
) -> bool {
    let mut levels: Vec<(Region, f64)> =
        plate.levels().map(|(region, height)| (region.clone(), height)).collect();
    levels.sort_by(|a, b| b.0.area().total_cmp(&a.0.area()));
    levels.truncate(3);
    let (first, last) = (&texts[0], &texts[texts.len() - 1]);
    let mut variants = vec![
        texts.to_vec(),
        vec![texts.join(" · ")],
        vec![first.clone(), last.clone()],
        vec![format!("{first} {last}")],
        vec![first.clone()],
        vec![last.clone()],
    ];
    if texts.len() == 1 {
        variants.truncate(1);
    }
    let thinnest = printing.thinnest_wall() / STROKE;
    for wanted in &variants {
        // Drawn once to know its size: it grows with the font.
        let Some((lo, hi)) = lettering::lines(wanted, SIZES[0], fine).bounds() else { continue };
        for size in SIZES.iter().copied().filter(|&size| size >= thinnest) {
            let scale = size / SIZES[0];
            let extent = (hi - lo) * scale + 2.0 * CLEAR;
            for (room, height) in &levels {
                for (turn, extent) in [(0.0, extent), (std::f64::consts::FRAC_PI_2, extent.yx())] {
                    let Some(spot) = lettering::place(extent, room) else { continue };
                    let middle = real::unit_vector(turn).rotate((lo + hi) / 2.0 * scale);
                    let text = lettering::lines(wanted, size, fine).placed(turn, spot - middle);
                    plate.put(&text, Top::Flat(height + if sunk { -RAISED } else { RAISED }));
                    return true;
                }
            }
        }
    }
    false
}

/// The thinnest stroke of the font as a share of its height (the crossbar of "e" in DejaVu Sans Bold).
const STROKE: f64 = 0.12;
