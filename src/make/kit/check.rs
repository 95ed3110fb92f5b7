//! Whether a part prints well, and what it takes.

use std::f64::consts::PI;

use cakefile::Severity;
use geom::{SteppedPlate, Tolerance, TriMesh};
use plan::design::Printing;

use super::{
    Part,
    draft::{Draft, Finding, found},
};

/// What it takes to print a part: an estimate, as the slicer decides in the end.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Plastic {
    /// Mass, g.
    pub grams: f64,
    /// Length of filament, mm.
    pub filament: f64,
    /// Time on the printer, h.
    pub hours: f64,
}

/// How fast the nozzle moves while it lays plastic, mm/s, and how much longer the whole takes: moves without plastic,
/// slow first layers and outlines. Common practice, no source.
const SPEED: f64 = 50.0;
const LONGER: f64 = 1.25;

impl Plastic {
    /// Walls two nozzle widths thick all over, the inside filled as the settings say.
    pub fn of(mesh: &TriMesh, printing: &Printing) -> Self {
        let whole = mesh.mass_properties();
        let walls = (whole.area * printing.thinnest_wall()).min(whole.volume);
        let volume = walls + (whole.volume - walls) * printing.infill;
        // A line as wide as the nozzle and half as high.
        let flow = SPEED * printing.nozzle * printing.nozzle / 2.0;
        Self {
            grams: volume / 1000.0 * printing.plastic_density,
            filament: volume / (PI * printing.filament * printing.filament / 4.0),
            hours: volume / flow * LONGER / 3600.0,
        }
    }
}

/// Places of a plate that are thinner than two nozzle widths, seen from above at each of its heights.
pub fn thin_walls(
    draft: &Draft,
    pieces: &[SteppedPlate],
    printing: &Printing,
    fine: Tolerance,
) -> Option<Finding> {
    let wall = printing.thinnest_wall();
    let thin = pieces.iter().any(|piece| {
        let mut heights: Vec<f64> = piece.levels().map(|(_, height)| height).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup();
        heights.iter().any(|&height| {
            let region = piece.reaching(height);
            // What a disc of that width cannot reach; slightly narrower, so that a wall of just that width passes.
            let disc = wall / 2.0 - 0.02;
            let reached = region.inset(disc, fine).outset(disc + 0.04, fine);
            // A corner keeps a fragment that no disc reaches: less than a short stub of wall is none.
            region.difference(&reached).pieces().iter().any(|fragment| fragment.area() > 2.5 * wall * wall)
        })
    });
    thin.then(|| {
        found(
            Severity::Warning,
            "thin-wall",
            &draft.name,
            format!("part of it is thinner than two widths of the nozzle ({wall} mm) and may not print"),
            "use a finer nozzle, or print it larger in the slicer and cut it back",
        )
    })
}

/// Undersides that lean out further than 45° and do not lie on the bed.
pub fn overhang(part: &Part) -> Option<Finding> {
    /// Steeper than this from the upright needs support (guides to printing by melted filament agree).
    const STEEPEST: f64 = std::f64::consts::FRAC_1_SQRT_2;
    /// Less is bridged or too small to matter, mm².
    const NOTICED: f64 = 4.0;
    let mesh = &part.mesh;
    let floor = mesh.bounds().map_or(0.0, |(lo, _)| lo.z);
    let area: f64 = (0..mesh.len())
        .map(|i| mesh.corners(i))
        .filter(|corners| corners.iter().any(|p| p.z > floor + 1e-3))
        .map(|[a, b, c]| (b - a).cross(c - a))
        .filter(|normal| normal.z < -(STEEPEST + 1e-3) * normal.length())
        .map(|normal| normal.length() / 2.0)
        .sum();
    (area > NOTICED).then(|| {
        found(
            Severity::Note,
            "leans-out",
            &part.name,
            format!("it leans out further than 45° over {area:.0} mm²"),
            "switch supports on for this part",
        )
    })
}
