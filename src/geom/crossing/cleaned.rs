//! A view without what is smaller than its error: edges too short to be any, and rises and dips too low to be any.
//!
//! A traced line is right to within its error only. Along a nearly level back it rises and falls by a fraction of it,
//! and each dip would divide a crossing into two parts there.

use glam::{DVec2, dvec2};

use crate::Region;
use crate::region::{distance_to_segment, signed_area};

/// A base must run along the board for this part of the width of its view at least.
const LEAST_BASE: f64 = 0.1;

/// `view`, which stands on y = 0, without what is smaller than `error` mm: without edges shorter than half of that,
/// without points that lie straight between others to within as much, without rises and dips lower than the whole, and
/// with a base that is flat if it was so to within that. Every point lies within twice `error` of where it was.
#[must_use]
pub fn cleaned(view: &Region, error: f64) -> Region {
    if error <= 0.0 {
        return view.clone();
    }
    let stands = is_base(view, error);
    let clean = |contour: &Vec<DVec2>| {
        let mut points = contour.clone();
        if stands {
            points.iter_mut().filter(|p| p.y < error).for_each(|p| p.y = 0.0);
        }
        let points = without_short_edges(&points, error / 2.0);
        if points.len() < 3 {
            return Vec::new();
        }
        straightened(&without_short_edges(&rising(&points, error), error / 2.0), error / 2.0)
    };
    let contours: Vec<Vec<DVec2>> = view.contours().iter().map(clean).filter(|c| c.len() > 2).collect();
    let speck = |c: &Vec<DVec2>| signed_area(c).abs() > error * error;
    let region = Region::new(contours);
    Region::new(region.contours().iter().filter(|c| speck(c)).cloned().collect())
}

/// Whether enough of the outline lies within `error` of the board to be a base.
fn is_base(view: &Region, error: f64) -> bool {
    let Some((lo, hi)) = view.bounds() else { return false };
    let on_board = view.edges().filter(|(a, b)| a.y < error && b.y < error && b.x > a.x);
    on_board.map(|(a, b)| b.x - a.x).sum::<f64>() > LEAST_BASE * (hi.x - lo.x)
}

/// A closed line without points that lie nearer than `error` to the one before; points on the board and turning points
/// of the height are kept rather than others.
fn without_short_edges(points: &[DVec2], error: f64) -> Vec<DVec2> {
    let n = points.len();
    let matters = |i: usize| {
        let (before, here, after) = (points[(i + n - 1) % n].y, points[i].y, points[(i + 1) % n].y);
        // An end of the base, or a highest or lowest point.
        u8::from(here == 0.0 && (before > 0.0 || after > 0.0)) * 2
            + u8::from((here - before) * (after - here) <= 0.0)
    };
    let mut kept: Vec<usize> = Vec::with_capacity(n);
    for i in 0..n {
        match kept.last() {
            Some(&last) if points[last].distance(points[i]) < error => {
                if matters(i) > matters(last) {
                    kept.pop();
                    kept.push(i);
                }
            }
            _ => kept.push(i),
        }
    }
    while kept.len() > 3 && points[kept[0]].distance(points[kept[kept.len() - 1]]) < error {
        let (first, last) = (kept[0], kept[kept.len() - 1]);
        if matters(last) > matters(first) {
            kept.remove(0);
        } else {
            kept.pop();
        }
    }
    kept.into_iter().map(|i| points[i]).collect()
}

/// A closed line of fewer points, those left out within `error` of it (Ramer 1972; Douglas and Peucker 1973). Ends of
/// the base and turning points of the height stay.
fn straightened(points: &[DVec2], error: f64) -> Vec<DVec2> {
    let n = points.len();
    let mut anchors = turning_points(points);
    anchors.extend(
        (0..n).filter(|i| {
            points[*i].y == 0.0 && (points[(i + n - 1) % n].y > 0.0 || points[(i + 1) % n].y > 0.0)
        }),
    );
    anchors.sort_unstable();
    anchors.dedup();
    if anchors.len() < 2 {
        return points.to_vec();
    }
    let mut kept = vec![false; n];
    for (k, &from) in anchors.iter().enumerate() {
        kept[from] = true;
        let next = anchors[(k + 1) % anchors.len()];
        let to = if next > from { next } else { next + n };
        let mut stretches = vec![(from, to)];
        while let Some((from, to)) = stretches.pop() {
            let (a, b) = (points[from % n], points[to % n]);
            let off = (from + 1..to).map(|i| (distance_to_segment(points[i % n], a, b), i));
            let Some((worst, at)) = off.max_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
            if worst > error {
                kept[at % n] = true;
                stretches.extend([(from, at), (at, to)]);
            }
        }
    }
    (0..n).filter(|i| kept[*i]).map(|i| points[i]).collect()
}

/// How far two outlines lie apart at most, at their points, mm; `None` where that would take long to find.
pub fn apart(one: &Region, other: &Region) -> Option<f64> {
    /// Pairs of points and edges that are looked at.
    const MOST: usize = 20_000_000;
    let count = |view: &Region| view.contours().iter().map(Vec::len).sum::<usize>();
    if count(one).saturating_mul(count(other)) > MOST {
        return None;
    }
    let off = |from: &Region, to: &Region| {
        let distance =
            |p: &DVec2| to.edges().map(|(a, b)| distance_to_segment(*p, a, b)).fold(f64::INFINITY, f64::min);
        from.contours().iter().flatten().map(distance).fold(0.0, f64::max)
    };
    Some(off(one, other).max(off(other, one)))
}

/// A closed line in which every rise and every fall is `error` high at least: lower ones become part of what they
/// interrupt, the lowest first.
fn rising(points: &[DVec2], error: f64) -> Vec<DVec2> {
    let mut line = points.to_vec();
    loop {
        let turns = turning_points(&line);
        if turns.len() <= 2 {
            return line;
        }
        let height = |k: usize| (line[turns[(k + 1) % turns.len()]].y - line[turns[k]].y).abs();
        let Some(lowest) = (0..turns.len()).min_by(|a, b| height(*a).total_cmp(&height(*b))) else {
            return line;
        };
        if height(lowest) >= error {
            return line;
        }
        let (from, to) = (turns[lowest], turns[(lowest + 1) % turns.len()]);
        line = without_turn(&line, from, to);
    }
}

/// Indices of the points where the height of a closed line turns, each the last of those equally high.
fn turning_points(line: &[DVec2]) -> Vec<usize> {
    let n = line.len();
    let rise = |i: usize| line[(i + 1) % n].y - line[i].y;
    let Some(start) = (0..n).find(|i| rise(*i) != 0.0) else { return Vec::new() };
    let (mut turns, mut way) = (Vec::new(), rise(start));
    for k in 1..=n {
        let i = (start + k) % n;
        if rise(i) != 0.0 {
            if rise(i) * way < 0.0 {
                turns.push(i);
            }
            way = rise(i);
        }
    }
    turns.sort_unstable();
    turns
}

/// The closed line with the stretch from the turning point `from` to the next one, `to`, taken back: it slopes evenly
/// from where it is as high as `to` before, to where it is as high as `from` after.
fn without_turn(line: &[DVec2], from: usize, to: usize) -> Vec<DVec2> {
    let n = line.len();
    let (start, end) = (line[from].y, line[to].y);
    let way = (end - start).signum();
    // The stretches before and after reach further than this one, which is the lowest of all.
    let (mut before, mut after) = (from, to);
    while (line[(before + n - 1) % n].y - end) * way < 0.0 {
        before = (before + n - 1) % n;
    }
    while (line[(after + 1) % n].y - start) * way > 0.0 {
        after = (after + 1) % n;
    }
    let (outer_before, outer_after) = ((before + n - 1) % n, (after + 1) % n);
    let cut = |a: DVec2, b: DVec2, y: f64| dvec2(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y), y);
    let range = |first: usize, last: usize| {
        let count = (last + n - first) % n + 1;
        (0..count).map(move |k| line[(first + k) % n])
    };
    let mut stretch = vec![cut(line[outer_before], line[before], end)];
    stretch.extend(range(before, after));
    stretch.push(cut(line[after], line[outer_after], start));
    let length: f64 = stretch.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let mut along = 0.0;
    let mut sloped = Vec::with_capacity(n);
    for (k, p) in stretch.iter().enumerate() {
        along += if k > 0 { p.distance(stretch[k - 1]) } else { 0.0 };
        sloped.push(dvec2(p.x, end + (start - end) * along / length));
    }
    sloped.extend(range(outer_after, outer_before));
    sloped.dedup();
    sloped
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A back that falls by 2 mm over 100 with a ripple of ±0.04 mm on it, on a base that misses the board by as much.
    fn rippled() -> Region {
        let mut points = vec![dvec2(-50.0, 0.0), dvec2(0.0, 0.03), dvec2(50.0, 0.01), dvec2(50.01, 0.05)];
        points.extend((0..=200).map(|i| {
            let x = 50.0 - f64::from(i) / 2.0;
            dvec2(x, 40.0 - x / 50.0 + if i % 2 == 0 { 0.04 } else { -0.04 })
        }));
        Region::from_simple(points)
    }

    #[test]
    fn ripples_within_the_error_go_and_the_base_is_flat() {
        let rippled = rippled();
        let clean = cleaned(&rippled, 0.1);
        assert!(turning_points(&rippled.contours()[0]).len() > 200);
        assert_eq!(turning_points(&clean.contours()[0]).len(), 2);
        let base: f64 = clean.edges().filter(|(a, b)| a.y == 0.0 && b.y == 0.0).map(|(a, b)| b.x - a.x).sum();
        assert!((base - 100.0).abs() < 0.1, "{base}");
        // Every point lies within the error of the other outline.
        for (a, b) in [(&rippled, &clean), (&clean, &rippled)] {
            assert!(a.contours()[0].iter().all(|p| b.depth(*p).abs() <= 0.1));
        }
        assert!(apart(&rippled, &clean).unwrap() <= 0.1);
        assert!(clean.contours()[0].len() < 10, "{clean:?}");
        assert!(clean.edges().all(|(a, b)| a.distance(b) > 0.05));
    }

    #[test]
    fn what_is_larger_than_the_error_stays() {
        let notch = [
            (-50.0, 0.0),
            (50.0, 0.0),
            (50.0, 40.0),
            (10.0, 40.0),
            (0.0, 39.5),
            (-10.0, 40.1),
            (-50.0, 40.0),
        ];
        let notch = Region::from_simple(notch.map(DVec2::from).to_vec());
        assert_eq!(cleaned(&notch, 0.05).area(), notch.area());
        assert_eq!(cleaned(&notch, 0.0), notch);
        // Its dip is half a millimetre deep on one side.
        assert_eq!(turning_points(&cleaned(&notch, 1.0).contours()[0]).len(), 2);
    }
}
