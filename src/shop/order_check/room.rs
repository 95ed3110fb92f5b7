//! Whether the cake fits on its presentation board, and with it into the box, the fridge and the car.

use glam::DVec3;

use super::{Concern, NoteKind, OrderCheck};
use geom::units::UnitStyle;
use plan::{
    Plan,
    design::{Footprint, FootprintShape},
    extent::{Extent, Load},
};

/// The least board that shows round everything that stands on it, mm: 2 in more than the cake across, which is common
/// practice, no source. Room to lift it, and for a border.
pub const LEAST_BOARD_MARGIN: f64 = 25.0;

/// Sizes closer than this are the same, mm.
const SAME: f64 = 0.05;

/// How far the point of `points` that comes closest to the edge of a footprint lies inside it, mm; below 0 outside.
fn margin(footprint: &Footprint, points: &[DVec3]) -> Option<f64> {
    let turn = geom::real::unit_vector(-footprint.turn.to_radians());
    let inside = |p: &DVec3| {
        let p = turn.rotate(p.truncate() - footprint.centre);
        let [width, depth] = footprint.shape.size();
        match footprint.shape {
            FootprintShape::Round { .. } => width / 2.0 - p.length(),
            FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
                (width / 2.0 - p.x.abs()).min(depth / 2.0 - p.y.abs())
            }
        }
    };
    points.iter().map(inside).reduce(f64::min)
}

pub(super) fn look(plan: &Plan, check: &mut OrderCheck) {
    let style = plan.design.style;
    let points = plan.spanning();
    match &plan.design.board {
        None => {
            check.note(NoteKind::NoBoard, &[], "nothing says which presentation board it stands on ([board])")
        }
        Some(board) => board_margin(&board.footprint, &points, style, check),
    }
    let load = Load::of(plan);
    let sides = |[w, d, h]: [f64; 3]| {
        format!(
            "{} wide, {} deep, {} high",
            style.length_alone(w),
            style.length_alone(d),
            style.length_alone(h)
        )
    };
    for (name, space) in &plan.pantry.spaces {
        if !load.fits(*space) {
            let fix = "carry tiers apart ([support] apart), make it smaller (`crumbline stack CAKE --fit`), or measure the \
                        space again ([pantry.spaces])";
            let message = format!(
                "on its board it is {} with everything that sticks out, and {name} holds {}",
                sides([load.width, load.depth, load.height]),
                sides(*space)
            );
            check.add_about(Concern::Room, std::slice::from_ref(name), message, fix);
        }
    }
}

fn board_margin(footprint: &Footprint, points: &[DVec3], style: UnitStyle, check: &mut OrderCheck) {
    let Some(margin) = margin(footprint, points) else { return };
    if margin >= LEAST_BOARD_MARGIN - SAME {
        return;
    }
    let where_it_ends = if margin < -SAME {
        format!("reaches {} beyond its presentation board", style.length(-margin))
    } else {
        format!("comes within {} of the edge of its presentation board", style.length(margin.max(0.0)))
    };
    let across = Extent::of(points).map_or(0.0, |extent| extent.across);
    let more = LEAST_BOARD_MARGIN - margin;
    let [width, depth] = footprint.shape.size();
    let least = match footprint.shape {
        FootprintShape::Round { .. } => format!("round {}", style.length(width + 2.0 * more)),
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
            format!("{} × {}", style.length(width + 2.0 * more), style.length(depth + 2.0 * more))
        }
    };
    check.add(
        Concern::Board,
        format!("with everything that sticks out it is {} across and {where_it_ends}", style.length(across)),
        format!(
            "take a board of at least {least}: {} all round is the least (common practice)",
            style.length(LEAST_BOARD_MARGIN)
        ),
    );
}

#[cfg(test)]
mod tests {
    use glam::{DVec2, dvec3};

    use super::*;

    #[test]
    fn the_margin_is_that_of_the_furthest_point() {
        let round = Footprint {
            shape: FootprintShape::Round { diameter: 100.0 },
            centre: DVec2::new(10.0, 0.0),
            turn: 0.0,
        };
        let points = [dvec3(0.0, 0.0, 5.0), dvec3(-30.0, 30.0, 0.0)];
        assert!(margin(&round, &points).unwrap().abs() < 1e-12);
        // A rectangle 100 by 20, turned by a quarter: 10 to each side, 50 to front and back.
        let turned = Footprint {
            shape: FootprintShape::Rectangle { width: 100.0, depth: 20.0 },
            centre: DVec2::ZERO,
            turn: 90.0,
        };
        assert!((margin(&turned, &[dvec3(4.0, 30.0, 0.0)]).unwrap() - 6.0).abs() < 1e-12);
        assert!((margin(&turned, &[dvec3(13.0, 30.0, 0.0)]).unwrap() + 3.0).abs() < 1e-12);
    }
}
