//! Lines at true size over which bars, handles above all, are bent before they dry.

use glam::{DVec2, DVec3, dvec2};

use super::figure::Figure;
use crate::{
    language::{Language, filled},
    rolled::sausages,
    shared_name::shared_name_of,
};
use formats::{
    drawing::{Dash, Drawing, Pen},
    export::slug,
};
use geom::{Region, Tolerance};
use plan::{
    Plan,
    design::{Depth, Detail, Operation, Tool},
};

const OUTLINE: Pen = Pen::black(0.5);
const MIDDLE: Pen = Pen::black(0.35).dashed(Dash::Dashed);

/// A line that leaves its straight by less is straight and needs no template, as a share of its length.
const STRAIGHT: f64 = 0.01;
/// Lines that differ by less are one, mm.
const ALIKE: f64 = 0.05;
/// What leaves the paper by less lies on it, mm.
const FLAT: f64 = 1.0;

/// A bar laid flat: its middle line with the radius at each place, and how far it leaves the paper, mm.
struct Bend {
    line: Vec<(DVec2, f64)>,
    off: f64,
}

/// A figure for each line that a bar put on the cake is bent to; the same line in several places is drawn once.
pub(super) fn figures(plan: &Plan, language: &Language) -> Vec<Figure> {
    let mut groups: Vec<(Bend, Vec<&Detail>)> = Vec::new();
    for detail in &plan.design.details {
        let Tool::Bar { stations } = &detail.tool else { continue };
        if detail.operation != Operation::Add || detail.depth == Depth::Sponge {
            continue;
        }
        let Some(bend) = Bend::of(stations) else { continue };
        match groups.iter_mut().find(|(other, _)| other.is_like(&bend)) {
            Some((_, details)) => details.push(detail),
            None => groups.push((bend, vec![detail])),
        }
    }
    groups.iter().map(|(bend, details)| bend.figure(plan, language, details)).collect()
}

impl Bend {
    /// The bar flat on the plane that it lies in most nearly, its ends level and its bend upwards; `None` if it is straight.
    fn of(stations: &[(DVec3, f64)]) -> Option<Self> {
        let (first, last) = (stations.first()?.0, stations.last()?.0);
        let along: f64 = stations.windows(2).map(|pair| pair[0].0.distance(pair[1].0)).sum();
        // The area that the line and its chord go round, as a vector, stands square to the plane (Newell's method).
        let round = stations.windows(2).map(|pair| (pair[0].0 - first).cross(pair[1].0 - first));
        let area: DVec3 = round.sum();
        if area.length() / 2.0 < STRAIGHT * along * along / 4.0 {
            return None;
        }
        let square = area.normalize();
        let chord = last - first;
        let chord = chord - square * chord.dot(square);
        let right = chord.try_normalize().unwrap_or_else(|| square.any_orthonormal_vector());
        let up = square.cross(right);
        let mut line: Vec<(DVec2, f64)> = stations
            .iter()
            .map(|(p, r)| (dvec2((*p - first).dot(right), (*p - first).dot(up)), *r))
            .collect();
        // Upwards on paper is less.
        if line.iter().map(|(p, _)| p.y).sum::<f64>() > 0.0 {
            line.iter_mut().for_each(|(p, _)| p.y = -p.y);
        }
        let off = |p: &DVec3| (*p - first).dot(square);
        let (low, high) =
            stations.iter().fold((0.0f64, 0.0f64), |(low, high), (p, _)| (low.min(off(p)), high.max(off(p))));
        Some(Self { line, off: high - low })
    }

    /// Whether another is bent over the same line, from this end or the other.
    fn is_like(&self, other: &Self) -> bool {
        let near = |a: &(DVec2, f64), b: (DVec2, f64)| a.0.distance(b.0) < ALIKE && (a.1 - b.1).abs() < ALIKE;
        let end = self.line.last().map_or(0.0, |(p, _)| p.x);
        self.line.len() == other.line.len()
            && (self.off - other.off).abs() < ALIKE
            && (self.line.iter().zip(&other.line).all(|(a, b)| near(a, *b))
                || self
                    .line
                    .iter()
                    .zip(other.line.iter().rev())
                    .all(|(a, (p, r))| near(a, (dvec2(end - p.x, p.y), *r))))
    }

    /// The bar seen square to the paper, upwards more: a region is turned over where it is drawn.
    fn seen(&self) -> Region {
        let up = |(p, r): &(DVec2, f64)| (dvec2(p.x, -p.y), *r);
        let balls = self
            .line
            .iter()
            .map(up)
            .flat_map(|(p, r)| Region::disc(p, r, Tolerance::PREVIEW).contours().to_vec());
        let sides = self.line.windows(2).filter_map(|pair| {
            let [(p, r), (q, s)] = [up(&pair[0]), up(&pair[1])];
            let across = (q - p).try_normalize()?.perp();
            let part =
                Region::from_simple(vec![p - across * r, q - across * s, q + across * s, p + across * r]);
            Some(part.contours().to_vec())
        });
        Region::new(balls.chain(sides.flatten()).collect())
    }

    fn figure(&self, plan: &Plan, language: &Language, details: &[&Detail]) -> Figure {
        let (style, words) = (language.style(plan.design.style), &language.template);
        let mut drawing = Drawing::new();
        drawing.region(&self.seen(), DVec2::ZERO, None, Some(OUTLINE));
        drawing.polyline(self.line.iter().map(|(p, _)| *p).collect(), MIDDLE);
        let length = sausages(&details[0].tool).first().map_or(0.0, |one| one.length);
        let mut notes = vec![filled(&words.bend, &[("length", &style.length_alone(length))])];
        if self.off > FLAT {
            notes.push(filled(&words.bend_off, &[("off", &style.length_alone(self.off))]));
        }
        Figure {
            slug: format!("bend-{}", slug(details[0].written_name())),
            title: shared_name_of(details, language),
            notes,
            drawing,
        }
    }
}
