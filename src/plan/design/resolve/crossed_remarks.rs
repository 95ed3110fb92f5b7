//! What is remarked about crossed silhouettes: edges rounded less than asked for, and spikes that become walls.

use geom::{
    Region, Tolerance,
    crossing::{SectionCorner, TighterEdge},
    units::{Unit, UnitStyle},
};
use glam::{DVec2, DVec3, dvec2};

use cakefile::{Diagnostic, FieldPath};

/// Places named at most; the rest is counted.
const NAMED: usize = 3;
/// Stretches of an edge lower than this are not named, mm: a fingertip does not feel them.
const LEAST_HEIGHT: f64 = 1.0;

/// Where upright edges are rounded less than asked for: edges at the same heights are one place.
pub(super) fn tighter_edges(edges: &[TighterEdge], unit: Unit, at: &FieldPath) -> Vec<Diagnostic> {
    let style = UnitStyle::new(unit);
    let mut places: Vec<(TighterEdge, Vec<SectionCorner>)> = Vec::new();
    let mut seen: Vec<&TighterEdge> =
        edges.iter().filter(|edge| edge.heights.1 - edge.heights.0 >= LEAST_HEIGHT).collect();
    seen.sort_by(|a, b| (b.heights.1 - b.heights.0).total_cmp(&(a.heights.1 - a.heights.0)));
    for edge in seen {
        let meets =
            |place: &TighterEdge| edge.heights.0 <= place.heights.1 && place.heights.0 <= edge.heights.1;
        match places.iter_mut().find(|(place, _)| meets(place)) {
            Some((place, corners)) => {
                place.heights = (place.heights.0.min(edge.heights.0), place.heights.1.max(edge.heights.1));
                if !corners.contains(&edge.corner) {
                    corners.push(edge.corner);
                }
            }
            None => places.push((*edge, vec![edge.corner])),
        }
    }
    let more = places.len().saturating_sub(NAMED);
    places.truncate(NAMED);
    let last = places.len().saturating_sub(1);
    let remark = |(i, (edge, corners)): (usize, &(TighterEdge, Vec<SectionCorner>))| {
        let rest = match more {
            1.. if i == last => format!("; {more} lower places are not listed"),
            _ => String::new(),
        };
        let message = format!(
            "between heights {} and {} the {} is rounded less than it should be, by only {} at height {} where there is \
             room for {}: the shape divides there{rest}",
            style.length_alone(edge.heights.0),
            style.length_alone(edge.heights.1),
            named(corners),
            style.length_alone(edge.radius),
            style.length_alone(edge.at.z),
            style.length_alone(edge.room),
        );
        Diagnostic::note(at.clone(), message)
            .fix("carve the edge round by hand, or draw the views so that they do not divide there")
            .on_cake(edge.at)
    };
    places.iter().enumerate().map(remark).collect()
}

/// The edges, as "front left edge" or "front left and back left edge".
fn named(corners: &[SectionCorner]) -> String {
    let name = |corner: &SectionCorner| {
        let deep = if corner.back { "back" } else { "front" };
        let across = if corner.right { "right" } else { "left" };
        format!("{deep} {across}")
    };
    let mut names: Vec<String> = corners.iter().map(name).collect();
    names.sort();
    if names.len() == 4 {
        return "edge on all four sides".to_owned();
    }
    format!("{} edge", names.join(" and "))
}

/// A spike is what a disc of this part of its view's larger side does not reach, but no smaller and no larger one, mm.
const SPIKE: f64 = 0.25;
const SPIKES: (f64, f64) = (15.0, 60.0);
/// And that stands out by this part of that disc's diameter at least: a pointed gable of 60° does not.
const STANDS_OUT: f64 = 0.6;
/// A spike becomes a wall where the other view is this many times as wide as the spike.
const WALL: f64 = 1.5;

/// Spikes of one view, such as ears and tails, that the crossing draws out into walls across the other.
pub(super) fn walls([front, side]: [&Region; 2], unit: Unit, at: &FieldPath) -> Vec<Diagnostic> {
    let style = UnitStyle::new(unit);
    let mut found = Vec::new();
    for (view, other, name, across) in [(front, side, "front", "side"), (side, front, "side", "front")] {
        for spike in spikes(view) {
            let Some((middle, long)) = widest(other, spike.heights) else { continue };
            if long < WALL * spike.width {
                continue;
            }
            let place = match name {
                "front" => DVec3::new(spike.tip.x, middle, spike.tip.y),
                _ => DVec3::new(middle, spike.tip.x, spike.tip.y),
            };
            let message = format!(
                "what stands out in the {name} view between heights {} and {}, {} thick, becomes a wall {} long, since \
                 the {across} view is as wide there",
                style.length_alone(spike.heights.0),
                style.length_alone(spike.heights.1),
                style.length_alone(spike.width),
                style.length_alone(long),
            );
            found.push(
                Diagnostic::warning(at.key(name), message)
                    .fix(
                        "leave it out of the view and add it as a `[[detail]]`, or make it a part of its own",
                    )
                    .on_cake(place),
            );
        }
    }
    found
}

/// What stands out of a view.
struct Spike {
    heights: (f64, f64),
    /// How thick it is on the mean, mm.
    width: f64,
    /// Its point furthest out.
    tip: DVec2,
}

fn spikes(view: &Region) -> Vec<Spike> {
    let Some((lo, hi)) = view.bounds() else { return Vec::new() };
    let disc = (SPIKE * (hi - lo).max_element()).clamp(SPIKES.0, SPIKES.1);
    // The view stands on the board: its lower corners are none of its spikes.
    let below = Region::rectangle(dvec2(lo.x, -disc), dvec2(hi.x, 0.0));
    let whole = view.union(&below);
    let round = whole.inset(disc / 2.0, Tolerance::PREVIEW).outset(disc / 2.0, Tolerance::PREVIEW);
    let spike = |piece: Region| {
        let out = |p: DVec2| -round.depth(p);
        let points = piece.contours().first()?;
        let tip = *points.iter().max_by(|a, b| out(**a).total_cmp(&out(**b)))?;
        let reach = out(tip);
        let (low, high) = piece.bounds()?;
        (reach > STANDS_OUT * disc && high.y > 0.0).then(|| Spike {
            heights: (low.y.max(0.0), high.y),
            width: piece.area() / reach,
            tip,
        })
    };
    view.difference(&round).pieces().into_iter().filter_map(spike).collect()
}

/// The middle and the width of the widest of a view's intervals half way between two heights.
fn widest(view: &Region, heights: (f64, f64)) -> Option<(f64, f64)> {
    let row = view.row((heights.0 + heights.1) / 2.0);
    let widest = row.into_iter().max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))?;
    Some(((widest.0 + widest.1) / 2.0, widest.1 - widest.0))
}
