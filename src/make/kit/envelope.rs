//! The upper envelope of the edges of a region: at every place along one direction, the furthest edge.

use glam::DVec2;

/// One unbroken stretch of an envelope: points in the order of `x`, two with the same `x` where it jumps.
pub type Chain = Vec<DVec2>;

/// An edge from its lower to its higher `x`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Edge(DVec2, DVec2);

impl Edge {
    fn at(self, x: f64) -> f64 {
        let Self(a, b) = self;
        match x {
            x if x <= a.x => a.y,
            x if x >= b.x => b.y,
            x => a.y + (b.y - a.y) * ((x - a.x) / (b.x - a.x)),
        }
    }
}

/// The greatest `y` of all `edges` at every `x`. Edges may share ends but do not cross, as those of a region; upright
/// ones count for nothing.
pub fn upper_envelope(edges: impl Iterator<Item = (DVec2, DVec2)>) -> Vec<Chain> {
    let forward = |(a, b): (DVec2, DVec2)| if a.x < b.x { Edge(a, b) } else { Edge(b, a) };
    let mut edges: Vec<Edge> = edges.map(forward).filter(|Edge(a, b)| a.x < b.x).collect();
    edges.sort_by(|Edge(a, _), Edge(b, _)| a.x.total_cmp(&b.x));
    let mut stops: Vec<f64> = edges.iter().flat_map(|Edge(a, b)| [a.x, b.x]).collect();
    stops.sort_by(f64::total_cmp);
    stops.dedup();
    let mut chains: Vec<Chain> = Vec::new();
    // The edges over the stretch between two stops, and the highest of them over the stretch before.
    let mut over: Vec<Edge> = Vec::new();
    let mut last: Option<Edge> = None;
    let mut next = 0;
    for stretch in stops.windows(2) {
        let (from, to) = (stretch[0], stretch[1]);
        over.retain(|Edge(_, b)| b.x > from);
        while let Some(edge) = edges.get(next).filter(|Edge(a, _)| a.x <= from) {
            over.push(*edge);
            next += 1;
        }
        let middle = f64::midpoint(from, to);
        let highest = over.iter().copied().max_by(|a, b| a.at(middle).total_cmp(&b.at(middle)));
        let Some(edge) = highest else {
            last = None;
            continue;
        };
        let (start, end) = (DVec2::new(from, edge.at(from)), DVec2::new(to, edge.at(to)));
        match chains.last_mut().filter(|_| last.is_some()) {
            Some(chain) if last == Some(edge) => {
                chain.pop();
                chain.push(end);
            }
            Some(chain) => {
                if chain.last() != Some(&start) {
                    chain.push(start);
                }
                chain.push(end);
            }
            None => chains.push(vec![start, end]),
        }
        last = Some(edge);
    }
    chains
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;
    use geom::Region;

    #[test]
    fn a_notch_below_an_overhang_is_not_seen() {
        // A square with a step on its right and a hole in it, and another square beside it.
        let square = |x: f64, y: f64, w: f64, h: f64| Region::rectangle(dvec2(x, y), dvec2(x + w, y + h));
        let region = square(0.0, 0.0, 10.0, 10.0)
            .union(&square(10.0, 0.0, 5.0, 4.0))
            .difference(&square(2.0, 2.0, 3.0, 3.0))
            .union(&square(20.0, 1.0, 2.0, 2.0));
        let chains = upper_envelope(region.edges());
        let points = |points: &[(f64, f64)]| points.iter().map(|&(x, y)| dvec2(x, y)).collect::<Vec<_>>();
        assert_eq!(
            chains,
            [
                points(&[(0.0, 10.0), (10.0, 10.0), (10.0, 4.0), (15.0, 4.0)]),
                points(&[(20.0, 3.0), (22.0, 3.0)])
            ]
        );
    }

    #[test]
    fn nothing_of_a_region_lies_above_its_envelope() {
        let star = |i: u32| {
            let radius = if i.is_multiple_of(2) { 30.0 } else { 11.0 };
            DVec2::from_angle(0.1 + std::f64::consts::TAU * f64::from(i) / 22.0) * radius
        };
        let region = Region::from_simple((0..22).map(star).collect());
        let chains = upper_envelope(region.edges());
        assert_eq!(chains.len(), 1);
        let height = |x: f64| {
            let under = chains[0].windows(2).filter(|w| w[0].x <= x && x <= w[1].x && w[0].x < w[1].x);
            under.map(|w| Edge(w[0], w[1]).at(x)).fold(f64::NEG_INFINITY, f64::max)
        };
        for i in 0..600 {
            let x = -29.5 + 0.0983 * f64::from(i);
            let crossing = region.edges().filter(|(a, b)| (a.x > x) != (b.x > x));
            let highest = crossing.map(|(a, b)| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
            let highest = highest.fold(f64::NEG_INFINITY, f64::max);
            // Beside the region there is neither.
            let same = height(x) == highest || (height(x) - highest).abs() < 1e-9;
            assert!(same, "{x}: {} {highest}", height(x));
        }
    }
}
