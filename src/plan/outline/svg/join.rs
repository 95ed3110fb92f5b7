//! An outline that is drawn in separate pieces, joined where their ends meet.

use kurbo::{BezPath, PathEl, Point, Shape};

/// Ends that are no further apart than this share of the size of all pieces meet: programs that draw round what they
/// write to three digits behind the point.
const MEET: f64 = 1e-3;

/// No ends further apart than this meet, mm.
const FURTHEST: f64 = 0.5;

/// Of more pieces than this none is joined.
const MOST_PIECES: usize = 2_000;

/// The open subpaths of `path` joined where their ends meet, each turned round where that is needed; closed subpaths
/// stay as they are. Gives back the path and how many open subpaths there were and are.
pub(super) fn joined(path: &BezPath) -> (BezPath, usize, usize) {
    let subpaths: Vec<BezPath> = subpaths(path);
    let bounds = path.bounding_box();
    let near = (MEET * bounds.width().max(bounds.height())).min(FURTHEST);
    let (mut open, closed): (Vec<BezPath>, Vec<BezPath>) =
        subpaths.into_iter().partition(|piece| ends(piece).is_some_and(|(a, b)| a.distance(b) > near));
    let before = open.len();
    if !(2..=MOST_PIECES).contains(&before) {
        return (path.clone(), before, before);
    }
    let mut chains: Vec<BezPath> = Vec::new();
    while !open.is_empty() {
        let mut chain = open.remove(0);
        while let Some((start, end)) = ends(&chain).filter(|(start, end)| start.distance(*end) > near) {
            // The piece with the end that lies nearest to one of the chain's.
            let distance = |piece: &BezPath| {
                let (a, b) = ends(piece)?;
                let at_end = a.distance(end).min(b.distance(end));
                Some(at_end.min(a.distance(start)).min(b.distance(start)))
            };
            let next = (0..open.len())
                .filter_map(|i| Some((i, distance(&open[i])?)))
                .min_by(|a, b| a.1.total_cmp(&b.1))
                .filter(|(_, distance)| *distance <= near);
            let Some((next, _)) = next else { break };
            let piece = open.remove(next);
            let Some((a, b)) = ends(&piece) else { continue };
            if a.distance(end).min(b.distance(end)) > near {
                chain = chain.reverse_subpaths();
            }
            let Some((_, end)) = ends(&chain) else { continue };
            let piece = if b.distance(end) < a.distance(end) { piece.reverse_subpaths() } else { piece };
            chain.extend(piece.elements().iter().skip(1).copied());
        }
        if ends(&chain).is_some_and(|(a, b)| a.distance(b) <= near) {
            chain.close_path();
        }
        chains.push(chain);
    }
    let after = chains.len();
    let all = closed.into_iter().chain(chains).flat_map(|piece| piece.elements().to_vec()).collect();
    (all, before, after)
}

/// Whether a path turns round on the spot somewhere, as where lines that lie on each other were joined.
pub(super) fn folds_back(path: &BezPath) -> bool {
    /// Greatest cosine between the ways on that is a turn round.
    const BACK: f64 = -0.9999;
    let points: Vec<Point> = path.elements().iter().filter_map(|element| element.end_point()).collect();
    points.windows(3).any(|three| {
        let (on, then) = (three[1] - three[0], three[2] - three[1]);
        on.dot(then) < BACK * (on.hypot2() * then.hypot2()).sqrt()
    })
}

/// How many subpaths there are.
pub(super) fn count(path: &BezPath) -> usize {
    path.elements().iter().filter(|element| matches!(element, PathEl::MoveTo(_))).count()
}

fn subpaths(path: &BezPath) -> Vec<BezPath> {
    let mut all: Vec<Vec<PathEl>> = Vec::new();
    for element in path.elements() {
        match (element, all.last_mut()) {
            (PathEl::MoveTo(_), _) | (_, None) => all.push(vec![*element]),
            (_, Some(last)) => last.push(*element),
        }
    }
    all.into_iter().map(BezPath::from_vec).collect()
}

/// Where an open subpath begins and ends; of a closed one nothing.
fn ends(piece: &BezPath) -> Option<(Point, Point)> {
    let PathEl::MoveTo(start) = piece.elements().first()? else { return None };
    Some((*start, piece.elements().last()?.end_point()?))
}
