//! Places of one detail that overlap each other.

use glam::{DVec3, dvec3};

use super::finding;
use crate::{
    carve::Surface,
    design::{Depth, Detail, Lies, Relief, Side, Tool},
    findings::{Evidence, Finding, FindingCode},
    lines::Lines,
};
use cakefile::Severity;
use geom::{Cancel, Solid, Tolerance, real, revolve::at_bearing};

/// Details that share less than this touch only, mm³.
const TOUCH: f64 = 1.0;

/// Places that share more of the smaller one than this are one place.
const SAME: f64 = 0.95;

pub(super) fn check(e: &Evidence<'_>, copies: &[Detail], found: &mut Vec<Finding>) {
    let balls: Vec<Option<(DVec3, f64)>> =
        copies.iter().map(|copy| ball_round(&copy.tool, e.lines)).collect();
    let near = |a: usize, b: usize| match (balls[a], balls[b]) {
        (Some((p, r)), Some((q, s))) => p.distance(q) < r + s,
        _ => false,
    };
    let mut worst = 0.0f64;
    let mut solids: Vec<Option<Solid>> = vec![None; copies.len()];
    // The neighbours of the first are those of any; what is mirrored to the other side may meet anywhere.
    for a in 0..copies.len() {
        for b in (0..a).filter(|b| near(a, *b)) {
            let share = shared(e, copies, &mut solids, (a, b));
            worst = worst.max(share);
            if worst > SAME {
                break;
            }
        }
    }
    if worst <= 0.0 {
        return;
    }
    let detail = &copies[0];
    let name = detail.written_name();
    let (severity, message, fix) = if worst > SAME {
        (
            Severity::Warning,
            format!("\"{name}\" stands in the same place more than once"),
            "give a smaller `count`, a larger `over`, or take `mirror` out",
        )
    } else {
        (
            Severity::Note,
            format!("places of \"{name}\" overlap, by up to {:.0} % of one", 100.0 * worst),
            "nothing needs to be done if they are to lie over each other; else give a smaller `count`, spread them \
             wider, or make it smaller",
        )
    };
    found.push(finding(severity, FindingCode::CopiesOverlap, detail, message, fix.into()));
}

/// The share of the smaller of two places that lies in the other.
fn shared(e: &Evidence<'_>, copies: &[Detail], solids: &mut [Option<Solid>], (a, b): (usize, usize)) -> f64 {
    let cancel = &Cancel::new();
    let depth = if copies[0].depth == Depth::Sponge { e.lines.carved().depth } else { 0.0 };
    let surface = Surface { lines: e.lines, depth, tolerance: Tolerance::PREVIEW, cancel };
    for i in [a, b] {
        if solids[i].is_none() {
            let made = surface.solid(&copies[i].tool, copies[i].operation);
            solids[i] = Some(made.unwrap_or_else(|_| Solid::empty()));
        }
    }
    let (Some(one), Some(other)) = (&solids[a], &solids[b]) else { return 0.0 };
    if !one.may_meet(other) {
        return 0.0;
    }
    let shared = one.intersection(other).volume();
    if shared < TOUCH { 0.0 } else { shared / one.volume().min(other.volume()).max(TOUCH) }
}

/// A ball that holds the form; `None` where there is none.
fn ball_round(tool: &Tool, lines: &Lines) -> Option<(DVec3, f64)> {
    Some(match tool {
        Tool::Box { centre, size, .. } => (*centre, size.length() / 2.0),
        Tool::Ball { centre, radius } => (*centre, *radius),
        Tool::Cylinder { from, to, from_radius, to_radius } => {
            ((*from + *to) / 2.0, real::hypot(from.distance(*to) / 2.0, from_radius.max(*to_radius)))
        }
        Tool::Ring { centre, radius, bar_radius, .. } => (*centre, radius + bar_radius),
        Tool::Bar { stations } => {
            let middle = tool.middle();
            let reach = stations.iter().map(|(p, r)| p.distance(middle) + r).fold(0.0, f64::max);
            (middle, reach)
        }
        Tool::Roll(roll) => {
            let middle = tool.middle();
            let reach = roll.places().map(|(p, r)| p.distance(middle) + r).reduce(f64::max)?;
            (middle, reach)
        }
        Tool::HalfSpace { .. } => return None,
        Tool::Relief(relief) => (place(relief, lines)?, relief.reach() + relief.depth),
    })
}

/// Where the middle of an outline lies on the surface.
fn place(relief: &Relief, lines: &Lines) -> Option<DVec3> {
    Some(match relief.lies {
        Lies::Top(at) => at.extend(lines.column_at(at)?.1),
        Lies::Flat | Lies::Wrapped => at_bearing(
            lines.radius_at(relief.height.max(1e-6), relief.bearing)?,
            relief.height,
            relief.bearing,
        ),
        Lies::Drawn(drawn) => {
            // Those that are drawn on one side lie apart as far as their middles do.
            let far = at_bearing(1e3, 0.0, relief.bearing);
            match drawn.side {
                Side::Front | Side::Back => dvec3(drawn.across, far.y, relief.height),
                Side::Right | Side::Left => dvec3(far.x, drawn.across, relief.height),
            }
        }
    })
}
