//! Polygonal chains in the (radius, height) half-plane: stretches of the outline of a turned shape, from its foot up, with
//! the solid on the left. Places along a chain are told by their arc length from its first corner, mm.

use std::f64::consts::PI;

use glam::DVec2;

use crate::{Region, real};

/// Arc length at every corner of a chain.
fn lengths(chain: &[DVec2]) -> Vec<f64> {
    let mut along = vec![0.0];
    for pair in chain.windows(2) {
        along.push(along[along.len() - 1] + pair[0].distance(pair[1]));
    }
    along
}

/// Length of a chain, mm.
pub fn length(chain: &[DVec2]) -> f64 {
    chain.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
}

/// Area of the surface that a chain sweeps out about the axis, mm²: every piece is a frustum of a cone (Pappus's first
/// theorem).
pub fn turned_area(chain: &[DVec2]) -> f64 {
    chain.windows(2).map(|pair| PI * (pair[0].x + pair[1].x) * pair[0].distance(pair[1])).sum()
}

/// The stretch of a chain between two arc lengths; fewer than two corners where there is none.
pub fn stretch(chain: &[DVec2], from: f64, to: f64) -> Vec<DVec2> {
    let along = lengths(chain);
    let mut found: Vec<DVec2> = Vec::new();
    for (i, pair) in chain.windows(2).enumerate() {
        let (a, b) = (along[i], along[i + 1]);
        let (low, high) = (from.max(a), to.min(b));
        if low >= high || a >= b {
            continue;
        }
        let at = |s: f64| pair[0].lerp(pair[1], (s - a) / (b - a));
        let first = if low == a { pair[0] } else { at(low) };
        if found.last() != Some(&first) {
            found.push(first);
        }
        found.push(if high == b { pair[1] } else { at(high) });
    }
    found
}

/// The stretches of a chain that lie between two heights, as arc lengths from and to.
pub fn between(chain: &[DVec2], low: f64, high: f64) -> Vec<(f64, f64)> {
    /// What lies so little beyond a height lies at it, mm.
    const AT: f64 = 1e-9;
    let along = lengths(chain);
    let mut found: Vec<(f64, f64)> = Vec::new();
    for (i, pair) in chain.windows(2).enumerate() {
        let (a, b) = (pair[0].y, pair[1].y);
        let (from, to) = if (a - b).abs() <= AT {
            let inside = a >= low - AT && a <= high + AT;
            if inside { (0.0, 1.0) } else { continue }
        } else {
            let at = |z: f64| ((z - a) / (b - a)).clamp(0.0, 1.0);
            let (p, q) = (at(low), at(high));
            (p.min(q), p.max(q))
        };
        if to <= from {
            continue;
        }
        let place = |share: f64| along[i] + (along[i + 1] - along[i]) * share;
        match found.last_mut() {
            Some(last) if place(from) - last.1 <= AT => last.1 = place(to),
            _ => found.push((place(from), place(to))),
        }
    }
    found
}

/// The arc length of the place of a chain that lies nearest to `p`.
pub fn nearest(chain: &[DVec2], p: DVec2) -> f64 {
    let along = lengths(chain);
    let place = |(i, pair): (usize, &[DVec2])| {
        let way = pair[1] - pair[0];
        let share = ((p - pair[0]).dot(way) / way.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        (pair[0].lerp(pair[1], share).distance(p), along[i] + share * way.length())
    };
    let all = chain.windows(2).enumerate().map(place);
    all.min_by(|a, b| a.0.total_cmp(&b.0)).map_or(0.0, |(_, at)| at)
}

/// Where the top of a shape begins: the arc length from which on the chain, which ends on the axis, is its top.
///
/// The top reaches from the axis to the highest place that lies furthest out, and from there down as far as the surface
/// rises by less than 45° towards the axis (common practice, no source): to the rim of a drum or a pot, however deep the
/// pot is sunk; to where a dome becomes its side.
pub fn top_begins(chain: &[DVec2]) -> f64 {
    /// What lies so little lower is as high, mm.
    const LEVEL: f64 = 1e-6;
    let along = lengths(chain);
    let highest = chain.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
    let Some(mut place) = chain.iter().position(|p| p.y >= highest - LEVEL) else { return 0.0 };
    let is_top = |i: usize| {
        let way = chain[i] - chain[i - 1];
        real::atan2(way.y, -way.x).to_degrees() < STEEP && way.x < 0.0
    };
    while place > 0 && is_top(place) {
        place -= 1;
    }
    along.get(place).copied().unwrap_or(0.0)
}

/// Steeper is a side, degrees.
const STEEP: f64 = 45.0;

/// All within `inner` mm to the left of a chain and `outer` mm to its right, square to it; where the chain turns, what lies
/// between the two squares as well.
pub fn strip(chain: &[DVec2], inner: f64, outer: f64) -> Region {
    /// Wedges reach so much further than the squares beside them, so that a round between these lies in them.
    const FURTHER: f64 = 1.5;
    let sides: Vec<DVec2> =
        chain.windows(2).map(|pair| (pair[1] - pair[0]).normalize_or_zero().perp()).collect();
    let mut parts: Vec<Vec<DVec2>> = Vec::new();
    for (pair, side) in chain.windows(2).zip(&sides) {
        parts.push(vec![
            pair[0] - side * outer,
            pair[1] - side * outer,
            pair[1] + side * inner,
            pair[0] + side * inner,
        ]);
    }
    for (corner, pair) in chain.iter().skip(1).zip(sides.windows(2)) {
        let middle = (pair[0] + pair[1]).normalize_or_zero();
        // The side on which the squares part is the one away from which it turns.
        let reach = if pair[0].perp_dot(pair[1]) < 0.0 { inner } else { -outer };
        parts.push(vec![
            *corner,
            *corner + pair[0] * reach,
            *corner + middle * reach * FURTHER,
            *corner + pair[1] * reach,
        ]);
    }
    let parts = parts.into_iter().filter_map(|part| {
        let region = Region::from_simple(part);
        (region.area() > 0.0).then_some(region)
    });
    let contours = parts.flat_map(|part| part.contours().to_vec()).collect();
    Region::new(contours)
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;

    fn drum() -> Vec<DVec2> {
        vec![dvec2(100.0, 0.0), dvec2(100.0, 80.0), dvec2(0.0, 80.0)]
    }

    #[test]
    fn a_drum_has_a_top_and_a_side() {
        let drum = drum();
        let edge = top_begins(&drum);
        assert_eq!(edge, 80.0);
        assert!((turned_area(&stretch(&drum, edge, 180.0)) - PI * 1e4).abs() < 1e-9);
        assert!((turned_area(&stretch(&drum, 0.0, edge)) - 2.0 * PI * 100.0 * 80.0).abs() < 1e-9);
        assert_eq!(between(&drum, 20.0, 50.0), vec![(20.0, 50.0)]);
        assert_eq!(between(&drum, 20.0, 80.0), vec![(20.0, 180.0)]);
        assert_eq!(nearest(&drum, dvec2(90.0, 30.0)), 30.0);
    }

    #[test]
    fn a_sunk_pot_has_its_top_from_the_rim_inwards_and_a_dome_down_to_half_right() {
        let pot =
            [dvec2(80.0, 0.0), dvec2(100.0, 120.0), dvec2(90.0, 120.0), dvec2(88.0, 100.0), dvec2(0.0, 98.0)];
        assert!((top_begins(&pot) - pot[0].distance(pot[1])).abs() < 1e-12);
        let dome: Vec<DVec2> =
            (0..=90).map(|i| 100.0 * real::unit_vector(f64::from(i).to_radians())).collect();
        let top = stretch(&dome, top_begins(&dome), length(&dome));
        // A cap of a ball down to 45°: 2π R² (1 − cos 45°), any handbook.
        let exact = 2.0 * PI * 1e4 * (1.0 - 0.5f64.sqrt());
        assert!((turned_area(&top) / exact - 1.0).abs() < 0.03);
        let cone = [dvec2(50.0, 0.0), dvec2(0.0, 200.0)];
        assert_eq!(top_begins(&cone), length(&cone));
    }

    /// Between the outline and an inset every place lies in the strip of the stretch that it is nearest to.
    #[test]
    fn strips_hold_what_lies_next_to_them() {
        let drum = drum();
        let shell = Region::rectangle(DVec2::ZERO, dvec2(100.0, 80.0))
            .difference(&Region::rectangle(DVec2::ZERO, dvec2(96.0, 76.0)));
        let side = strip(&stretch(&drum, 0.0, 80.0), 4.0, 1.0).intersection(&shell);
        let top = strip(&stretch(&drum, 80.0, 180.0), 4.0, 1.0).intersection(&shell);
        assert!((side.area() - 4.0 * 80.0).abs() < 1e-6 && (top.area() - 4.0 * 100.0).abs() < 1e-6);
        // Into a corner that goes in, there is a wedge.
        let step = [dvec2(100.0, 0.0), dvec2(100.0, 40.0), dvec2(60.0, 40.0), dvec2(60.0, 80.0)];
        let whole = strip(&step, 4.0, 0.0);
        assert!(whole.contains(dvec2(58.0, 38.0)));
    }
}
