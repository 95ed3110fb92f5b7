//! Dowels: where one comes out of the carve, or lies too near the knife, or misses its hole.

use glam::{DVec2, DVec3, dvec2};

use crate::{
    cakefile::Severity,
    carve::Place,
    geom::{Region, Solid, Tolerance, revolve::bearing_of},
    stack::{Dowel, SlabKind},
};

use super::{Evidence, Finding};

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
    if !e.lines.is_turned() {
        return check_cover_of_free_shape(e, dowel, found);
    }
    let section = &e.lines.carved().section;
    let (from_axis, r) = (dowel.at.length(), dowel.diameter / 2.0);
    let column =
        Region::rectangle(dvec2((from_axis - r).max(0.0), dowel.bottom), dvec2(from_axis + r, dowel.top));
    let outside = column.difference(section);
    let place = |p: glam::DVec2| Place { height: p.y, bearing: bearing_of(dowel.at), radius: p.x };
    if outside.area() > LEAST {
        let worst = outside
            .contours()
            .iter()
            .flatten()
            .copied()
            .max_by(|a, b| (-section.depth(*a)).total_cmp(&-section.depth(*b)))
            .unwrap_or_default();
        found.push(finding(
            Severity::Error,
            "dowel-comes-out",
            dowel,
            format!("{} comes out of the carved line, by {}", dowel.name, e.mm(-section.depth(worst))),
            "move it inwards or cut it shorter".into(),
            Some(place(worst)),
        ));
    } else if let Some(trim) = trim_met(e, dowel) {
        found.push(finding(
            Severity::Error,
            "dowel-comes-out",
            dowel,
            format!("{} comes out where \"{trim}\" is cut", dowel.name),
            "move the dowel or the cut".into(),
            Some(place(dvec2(from_axis, (dowel.bottom + dowel.top) / 2.0))),
        ));
    } else if let Some((cover, at)) = least_cover(e, dowel) {
        check_least(e, dowel, cover, place(at), found);
    }
}

/// Speaks up about a dowel with less than the least sponge over it.
fn check_least(e: &Evidence<'_>, dowel: &Dowel, cover: f64, place: Place, found: &mut Vec<Finding>) {
    if cover >= e.design.limits.cover - LEAST || dowel.tier.is_none() {
        return;
    }
    found.push(finding(
        Severity::Warning,
        "dowel-near-surface",
        dowel,
        format!("{} lies only {} under the carved line", dowel.name, e.mm(cover)),
        format!(
            "the knife will find it: keep {} of sponge over it, or ask for less under [limits] cover",
            e.mm(e.design.limits.cover)
        ),
        Some(place),
    ));
}

/// The same where the surface is no turned section: looked at on the rim of the dowel, from its foot to its top.
fn check_cover_of_free_shape(e: &Evidence<'_>, dowel: &Dowel, found: &mut Vec<Finding>) {
    const LEVELS: u32 = 24;
    const AROUND: u32 = 12;
    let rim = (0..=LEVELS).flat_map(|i| {
        let z = dowel.bottom + (dowel.top - dowel.bottom) * f64::from(i) / f64::from(LEVELS);
        (0..AROUND).map(move |k| {
            let out = DVec2::from_angle(std::f64::consts::TAU * f64::from(k) / f64::from(AROUND));
            (dowel.at + out * dowel.diameter / 2.0).extend(z)
        })
    });
    // The carved surface lies everywhere equally deep inside the finished one.
    let cover = |p: &DVec3| e.lines.depth_at(*p) - e.lines.carved().depth;
    let Some((least, at)) = rim.map(|p| (cover(&p), p)).min_by(|a, b| a.0.total_cmp(&b.0)) else { return };
    if least < -LEAST {
        found.push(finding(
            Severity::Error,
            "dowel-comes-out",
            dowel,
            format!("{} comes out of the carved line, by {}", dowel.name, e.mm(-least)),
            "move it inwards or cut it shorter".into(),
            Some(at.into()),
        ));
    } else if let Some(trim) = trim_met(e, dowel) {
        found.push(finding(
            Severity::Error,
            "dowel-comes-out",
            dowel,
            format!("{} comes out where \"{trim}\" is cut", dowel.name),
            "move the dowel or the cut".into(),
            Some(at.into()),
        ));
    } else {
        check_least(e, dowel, least, at.into(), found);
    }
}

/// The least distance from the dowel's side to the carved line, with its place.
fn least_cover(e: &Evidence<'_>, dowel: &Dowel) -> Option<(f64, glam::DVec2)> {
    /// Levels looked at.
    const LEVELS: u32 = 24;
    let section = &e.lines.carved().section;
    let outer = dowel.at.length() + dowel.diameter / 2.0;
    let on_axis_or_board =
        |(a, b): &(glam::DVec2, glam::DVec2)| (a.x == 0.0 && b.x == 0.0) || (a.y == 0.0 && b.y == 0.0);
    let outline: Vec<_> = section.edges().filter(|edge| !on_axis_or_board(edge)).collect();
    (0..=LEVELS)
        .map(|i| dvec2(outer, dowel.bottom + (dowel.top - dowel.bottom) * f64::from(i) / f64::from(LEVELS)))
        .map(|p| {
            let to =
                |(a, b): &(glam::DVec2, glam::DVec2)| crate::geom::region::distance_to_segment(p, *a, *b);
            (outline.iter().map(to).fold(f64::INFINITY, f64::min), p)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The first cut that a dowel runs into.
fn trim_met<'a>(e: &Evidence<'a>, dowel: &Dowel) -> Option<&'a str> {
    let cuts = e.carving.target.edits.iter().filter(|edit| edit.operation == crate::design::Operation::Cut);
    let body = Solid::prism(
        &Region::disc(dowel.at, dowel.diameter / 2.0, Tolerance::PREVIEW),
        dowel.bottom,
        dowel.top,
    );
    let mut met =
        cuts.filter(|edit| body.may_meet(&edit.solid) && body.intersection(&edit.solid).volume() > LEAST);
    met.next().map(|edit| e.design.trims[edit.trim].name.as_str())
}

fn check_centre(e: &Evidence<'_>, dowel: &Dowel, found: &mut Vec<Finding>) {
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
            found.push(Finding {
                about: slab.name.clone(),
                field: slab.field.clone(),
                ..finding(
                    Severity::Error,
                    "board-without-hole",
                    dowel,
                    message,
                    format!(
                        "drill it a little wider than the dowel: hole = \"{:.0} mm\"",
                        (dowel.diameter + 1.0).ceil()
                    ),
                    Some(Place { height: slab.bottom, bearing: 0.0, radius: 0.0 }),
                )
            });
        }
    }
}

fn finding(
    severity: Severity,
    code: &'static str,
    dowel: &Dowel,
    message: String,
    mend: String,
    place: Option<Place>,
) -> Finding {
    Finding { severity, code, about: dowel.name.clone(), message, mend, place, field: dowel.field.clone() }
}
