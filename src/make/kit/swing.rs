//! Swing formers: scrapers that turn about the centre dowel.

use glam::{DVec2, dvec2};

use cakefile::Severity;
use geom::{Region, SteppedPlate};

use super::{
    Group, Silhouette,
    draft::{Draft, Drawer},
    scraper::{self, Stance},
};

/// Height of the collar, and of the arm that it holds, mm.
const COLLAR: f64 = 30.0;
/// Wall of the collar, mm.
const WALL: f64 = 4.0;
/// Length of the slot that takes the arm, mm.
const SLOT: f64 = 26.0;
/// Plastic between the bore and the slot, mm.
const WEB: f64 = 2.4;

/// A swing former for each line and one collar; nothing without a centre dowel.
pub fn draw(drawer: &Drawer<'_>) -> Vec<Draft> {
    let Some(dowel) = &drawer.plan.design.centre_dowel else { return Vec::new() };
    if !drawer.is_round() {
        return drawer.only_for_round(
            Group::SwingFormers,
            "use the scrapers for the front, the back and the sides, and round between them by hand",
        );
    }
    let bore = (dowel.diameter + drawer.printing.dowel_clearance) / 2.0;
    let stance = Stance::new(drawer, &[]);
    let mut drafts: Vec<Draft> =
        drawer.lines.iter().map(|line| former(drawer, &stance, line, bore, dowel.height)).collect();
    drafts.push(collar(drawer, bore));
    let foot = drawer.carved().widest_between(0.0, 1.0);
    if foot < dowel.diameter / 2.0 + MARGIN {
        drafts[0].note(
            Severity::Error,
            "foot-narrower-than-dowel",
            format!(
                "the carved foot ({} wide) leaves nothing round the centre dowel ({})",
                drawer.mm(2.0 * foot),
                drawer.mm(dowel.diameter)
            ),
            "use a thinner centre dowel, or widen the foot",
        );
    }
    drafts
}

/// Cake that must be left round a dowel, mm.
const MARGIN: f64 = 3.0;

fn former(drawer: &Drawer<'_>, stance: &Stance, line: &Silhouette, bore: f64, dowel_top: f64) -> Draft {
    let inner = bore + WEB + drawer.printing.clearance;
    let outline = scraper::blank(drawer, inner, stance.outer, 0.0, line.top + COLLAR);
    let mut draft = scraper::edged(drawer, line, outline, "swing former", Group::SwingFormers);
    scraper::handle(drawer, &mut draft, line, stance.outer);
    let needed = line.top + COLLAR;
    if dowel_top < needed {
        draft.note(
            Severity::Warning,
            "dowel-too-low",
            format!(
                "the centre dowel ends at {}, but the collar needs it up to {}",
                drawer.mm(dowel_top),
                drawer.mm(needed)
            ),
            "carve on a longer dowel and cut it down afterwards, or use the scraper instead",
        );
    }
    draft
}

/// The collar, lying as it is used: the bore about the origin, the slot along x.
fn collar(drawer: &Drawer<'_>, bore: f64) -> Draft {
    let printing = drawer.printing;
    // The middle of the working edge runs through the axis, and that edge lies at one face of the plate.
    let low = -printing.scraper_edge / 2.0 - printing.clearance;
    let high = printing.thickness - printing.scraper_edge / 2.0 + printing.clearance;
    let (from, to) = (bore + WEB, bore + WEB + SLOT);
    let tube = Region::disc(DVec2::ZERO, bore + WALL, drawer.fine);
    let cheeks = Region::rectangle(dvec2(0.0, low - WALL), dvec2(to, high + WALL));
    let mut plate = SteppedPlate::flat(tube.union(&cheeks), COLLAR);
    plate.cut(&Region::disc(DVec2::ZERO, bore, drawer.fine));
    plate.cut(&Region::rectangle(dvec2(from, low), dvec2(to + 1.0, high)));
    Draft::plate(
        Group::SwingFormers,
        format!("collar, dowel {}", drawer.mm(2.0 * bore - printing.dowel_clearance)),
        plate,
    )
}
