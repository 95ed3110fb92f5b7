//! Dowels: where one comes out of the carve, or lies too near the knife, or misses its hole.

use glam::{DVec2, DVec3, dvec2};

use crate::{
    carve::Place,
    design::Board,
    fix::{FileEdit, FileValue, Fix},
    stack::{Dowel, SlabKind},
};
use cakefile::Severity;
use geom::real;
use geom::{Region, Solid, Tolerance, revolve::bearing_of};

use super::{Evidence, Finding, FindingCode};

/// Less than this is round-off, mm.
const LEAST: f64 = 1e-3;

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    for dowel in &e.stack.dowels {
        if dowel.tier.is_none() {
            check_centre(e, dowel, found);
        }
        check_cover(e, dowel, found);
    }
}

fn check_cover(e: &Evidence<'_>, dowel: &Dowel, found: &mut Vec<Finding>) {
    let turned = e.lines.is_turned();
    let Some((cover, at)) = (if turned { cover_in_turned(e, dowel) } else { cover_in_free(e, dowel) }) else {
        return;
    };
    if cover < -LEAST {
        found.push(finding(
            Severity::Error,
            FindingCode::DowelComesOut,
            dowel,
            format!("{} comes out of the carved line, by {}", dowel.name, e.mm(-cover)),
            "move it inwards or cut it shorter".into(),
            Some(at),
        ));
    } else if let Some(detail) = detail_met(e, dowel) {
        found.push(finding(
            Severity::Error,
            FindingCode::DowelComesOut,
            dowel,
            format!("{} comes out where \"{detail}\" is cut", dowel.name),
            "move the dowel or the cut".into(),
            Some(dowel.at.extend((dowel.bottom + dowel.top) / 2.0).into()),
        ));
    } else if cover < e.design.limits.cover - LEAST && dowel.tier.is_some() {
        found.push(finding(
            Severity::Warning,
            FindingCode::DowelNearSurface,
            dowel,
            format!("{} lies only {} under the carved line", dowel.name, e.mm(cover)),
            format!(
                "the knife will find it: keep {} of sponge over it, or require less over it ([limits] cover)",
                e.mm(e.design.limits.cover)
            )
            .into(),
            Some(at),
        ));
    }
}

/// Levels looked at along a dowel.
const LEVELS: u32 = 24;

fn levels(dowel: &Dowel) -> impl Iterator<Item = f64> {
    let (low, high) = (dowel.bottom, dowel.top);
    (0..=LEVELS).map(move |i| low + (high - low) * f64::from(i) / f64::from(LEVELS))
}

/// The least sponge between a dowel and the carved surface, and where; below zero by how far it comes out.
fn cover_in_free(e: &Evidence<'_>, dowel: &Dowel) -> Option<(f64, Place)> {
    const AROUND: u32 = 12;
    let rim = levels(dowel).flat_map(|z| {
        (0..AROUND).map(move |k| {
            let out = real::unit_vector(std::f64::consts::TAU * f64::from(k) / f64::from(AROUND));
            (dowel.at + out * dowel.diameter / 2.0).extend(z)
        })
    });
    // The carved surface lies everywhere equally deep inside the finished one.
    let cover = |p: DVec3| e.lines.depth_at(p) - e.lines.carved().depth;
    let (least, at) = rim.map(|p| (cover(p), p)).min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some((least, at.into()))
}

/// The same in the half-plane of a turned shape.
fn cover_in_turned(e: &Evidence<'_>, dowel: &Dowel) -> Option<(f64, Place)> {
    let section = &e.lines.carved().section;
    let (from_axis, r) = (dowel.at.length(), dowel.diameter / 2.0);
    let column =
        Region::rectangle(dvec2((from_axis - r).max(0.0), dowel.bottom), dvec2(from_axis + r, dowel.top));
    let outside = column.difference(section);
    let (cover, at) = if outside.area() > LEAST {
        let depths = outside.contours().iter().flatten().map(|p| (section.depth(*p), *p));
        depths.min_by(|a, b| a.0.total_cmp(&b.0))?
    } else {
        least_cover(section, dowel)?
    };
    Some((cover, Place { height: at.y, bearing: bearing_of(dowel.at), radius: at.x }))
}

/// The least distance from the dowel's side to the carved line, with its place.
fn least_cover(section: &Region, dowel: &Dowel) -> Option<(f64, DVec2)> {
    let outer = dowel.at.length() + dowel.diameter / 2.0;
    let on_axis_or_board = |(a, b): &(DVec2, DVec2)| (a.x == 0.0 && b.x == 0.0) || (a.y == 0.0 && b.y == 0.0);
    let outline: Vec<_> = section.edges().filter(|edge| !on_axis_or_board(edge)).collect();
    levels(dowel)
        .map(|z| dvec2(outer, z))
        .map(|p| {
            let to = |(a, b): &(DVec2, DVec2)| geom::region::distance_to_segment(p, *a, *b);
            (outline.iter().map(to).fold(f64::INFINITY, f64::min), p)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The first cut that a dowel runs into.
fn detail_met<'a>(e: &Evidence<'a>, dowel: &Dowel) -> Option<&'a str> {
    let cuts = e.carving.target.edits.iter().filter(|edit| edit.operation == crate::design::Operation::Cut);
    let body = Solid::prism(
        &Region::disc(dowel.at, dowel.diameter / 2.0, Tolerance::PREVIEW),
        dowel.bottom,
        dowel.top,
    );
    let mut met =
        cuts.filter(|edit| body.may_meet(&edit.solid) && body.intersection(&edit.solid).volume() > LEAST);
    met.next().map(|edit| e.design.details[edit.detail].name.as_str())
}

fn check_centre(e: &Evidence<'_>, dowel: &Dowel, found: &mut Vec<Finding>) {
    let fast = e.design.centre_dowel.as_ref().is_some_and(|centre| centre.fast);
    if let Some(board) = e.design.board.as_ref().filter(|board| fast && !board.holds_screw()) {
        found.push(finding(
            Severity::Warning,
            FindingCode::CentreDowelNotHeld,
            dowel,
            format!(
                "{} is fast in the presentation board, as the file says, but {} of {} hold no screw",
                dowel.name,
                e.mm(board.thickness),
                board.material.name
            ),
            format!(
                "use plywood of {} or more, wrapped, with a screw from below or a flange, or say fast = false",
                e.mm(Board::SCREWED)
            )
            .into(),
            None,
        ));
    }
    for slab in e.stack.slabs.iter().filter(|s| s.kind == SlabKind::Board && s.bottom < dowel.top) {
        if slab.hole <= dowel.diameter {
            let message = if slab.hole == 0.0 {
                format!("{} has no hole for the centre dowel", slab.name)
            } else {
                format!(
                    "the hole in {} is {} wide, the centre dowel {}",
                    slab.name,
                    e.mm(slab.hole),
                    e.mm(dowel.diameter)
                )
            };
            let hole = e.style.length_as_told((dowel.diameter + 1.0).ceil());
            found.push(Finding {
                about: slab.name.clone(),
                field: slab.field.clone(),
                ..finding(
                    Severity::Error,
                    FindingCode::BoardWithoutHole,
                    dowel,
                    message,
                    Fix::edit(
                        format!(
                            "drill it a little wider than the dowel: hole = \"{}\"",
                            e.style.length_alone(hole)
                        ),
                        FileEdit::set(slab.field.key("hole"), FileValue::Length(hole)),
                    ),
                    Some(Place { height: slab.bottom, bearing: 0.0, radius: 0.0 }),
                )
            });
        }
    }
}

fn finding(
    severity: Severity,
    code: FindingCode,
    dowel: &Dowel,
    message: String,
    fix: Fix,
    place: Option<Place>,
) -> Finding {
    Finding { severity, code, about: dowel.name.clone(), message, fix, place, field: dowel.field.clone() }
}
