//! What is painted, brushed or dusted on at the end: on what, how large it is, how much of it the finish covers.
//!
//! Of a covering it is the area of its part ([`crate::zones`]), exact on a turned shape (Pappus); cuts and adds are left out
//! of it. Of an outline on the surface it is that of the outline, with its sides if it is raised; of any other add what of
//! its surface lies outside the cake, at the accuracy of pictures. A finish that fades counts by how full it is.

use crate::{
    carve::Surface,
    design::{Design, Detail, Finish, Operation, Tool},
    findings::{Finding, FindingCode},
    fix::Fix,
    lines::Lines,
    plan::Plan,
    zones::{CoatZones, covered, heights_of},
};
use cakefile::Severity;
use formats::model::Tint;
use geom::{Cancel, Tolerance, TriMesh};
use glam::DVec3;

/// What a finish is put on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Under<'a> {
    /// What no zone takes of the outermost covering, by the name of its material.
    Covering(&'a str),
    /// A zone, by its name.
    Zone(&'a str),
    /// A detail, by its places.
    Detail(&'a [Detail]),
}

/// A finish with what it is put on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PutOn<'a> {
    /// What it is put on.
    pub under: Under<'a>,
    /// What it is.
    pub finish: &'a Finish,
    /// The whole surface of that, mm².
    pub area: f64,
    /// What the finish covers of it, by how full it is, mm².
    pub covered: f64,
}

impl PutOn<'_> {
    /// Mass of all its coats, g.
    pub fn grams(&self) -> f64 {
        Finish::grams(self.finish.kind) * f64::from(self.finish.coats) * self.covered / 1e4
    }
}

/// Less is nothing, mm².
const NOTHING: f64 = 1.0;

impl Plan {
    /// Every finish of the cake in the order of the work: coverings, their zones, details.
    pub fn finishes(&self) -> Vec<PutOn<'_>> {
        put_on(&self.design, &self.lines, &self.zones)
    }
}

fn put_on<'a>(design: &'a Design, lines: &Lines, zones: &[CoatZones]) -> Vec<PutOn<'a>> {
    let mut all = Vec::new();
    // What is under the outermost covering is not seen.
    if let (Some(covering), Some(measured)) = (design.coverings.first(), zones.first()) {
        let own =
            covering.finishes.iter().map(|finish| (None, Under::Covering(&covering.material.name), finish));
        let parts = covering.zones.iter().enumerate();
        let parts = parts.flat_map(|(i, zone)| {
            zone.finishes.iter().map(move |finish| (Some(i), Under::Zone(&zone.name), finish))
        });
        for (zone, under, finish) in own.chain(parts) {
            let (area, covered) = covered(lines, (0, covering), measured, zone, &finish.tint());
            all.push(PutOn { under, finish, area, covered });
        }
    }
    for places in design.details.chunk_by(Detail::is_copy_of) {
        for (i, finish) in places[0].finishes.iter().enumerate() {
            let (mut area, mut covered) = (0.0, 0.0);
            for detail in places {
                let own = on_detail(detail, lines, &detail.finishes[i]);
                area += own.0;
                covered += own.1;
            }
            all.push(PutOn { under: Under::Detail(places), finish, area, covered });
        }
    }
    all
}

/// The surface of a detail in one of its places, and what a finish covers of it, mm².
fn on_detail(detail: &Detail, lines: &Lines, finish: &Finish) -> (f64, f64) {
    let tint = finish.tint();
    if let Tool::Relief(relief) = &detail.tool {
        let side = match detail.operation {
            Operation::Add => relief.outline.edges().map(|(a, b)| a.distance(b)).sum::<f64>() * relief.depth,
            Operation::Cut => 0.0,
        };
        let area = relief.outline.area() + side;
        let heights = heights_of(relief, lines);
        let full =
            heights.iter().map(|height| tint.share_at(*height)).sum::<f64>() / heights.len().max(1) as f64;
        return (area, area * full);
    }
    let cancel = &Cancel::new();
    let surface = Surface { lines, depth: 0.0, tolerance: Tolerance::PREVIEW, cancel };
    let Ok(solid) = surface.solid(&detail.tool, detail.operation) else { return (0.0, 0.0) };
    outside(&solid.to_mesh(), lines, &tint)
}

/// What of a surface lies outside the cake.
fn outside(mesh: &TriMesh, lines: &Lines, tint: &Tint) -> (f64, f64) {
    let (mut area, mut covered) = (0.0, 0.0);
    for i in 0..mesh.len() {
        let [a, b, c] = mesh.corners(i);
        let middle: DVec3 = (a + b + c) / 3.0;
        if lines.depth_at(middle) < 0.0 && middle.z > 0.0 {
            let own = (b - a).cross(c - a).length() / 2.0;
            area += own;
            covered += own * tint.share_at(middle.z);
        }
    }
    (area, covered)
}

/// Finishes that nobody sees: nothing of what they are put on is seen, or they fade before they reach it.
pub(crate) fn unseen(design: &Design, lines: &Lines, zones: &[CoatZones]) -> Vec<Finding> {
    let fades_off = |put_on: &PutOn<'_>| put_on.finish.fade.is_some() && put_on.covered <= NOTHING;
    let hidden = |put_on: &PutOn<'_>| put_on.area <= NOTHING;
    let told = |put_on: PutOn<'_>| {
        // A zone that is hidden, or a detail inside the cake, is told as such.
        let covering_hidden = matches!(put_on.under, Under::Covering(_)) && hidden(&put_on);
        if !covering_hidden && (hidden(&put_on) || !fades_off(&put_on)) {
            return None;
        }
        let name = match put_on.under {
            Under::Covering(name) | Under::Zone(name) => name,
            Under::Detail(places) => places[0].written_name(),
        };
        let (why, fix) = if covering_hidden {
            ("zones lie over all of it", "give the finish to the zones, or take it out")
        } else {
            (
                "it is gone before it reaches it",
                "give `fade` heights that it has, first that where it is full",
            )
        };
        Some(Finding {
            severity: Severity::Warning,
            code: FindingCode::FinishUnseen,
            about: name.to_owned(),
            message: format!("nobody sees the finish on \"{name}\": {why}"),
            fix: Fix::from(fix),
            place: None,
            field: put_on.finish.field.clone(),
        })
    };
    put_on(design, lines, zones).into_iter().filter_map(told).collect()
}
