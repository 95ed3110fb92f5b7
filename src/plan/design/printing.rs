//! The printer and its plastic, and how printed tools fit.

use glam::{DVec3, dvec3};

use cakefile::{Diagnostic, FieldPath, schema};
use geom::units::UnitStyle;
use geom::units::{Unit, UnitError};

/// Settings for printed parts; lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Printing {
    /// Room on the printer: width, depth, height.
    pub bed: DVec3,
    /// Bore of the nozzle.
    pub nozzle: f64,
    /// Thickness of flat tools.
    pub thickness: f64,
    /// Width of a working edge before its bevel.
    pub scraper_edge: f64,
    /// Thickness of a cutter at its edge.
    pub blade: f64,
    /// Clearance all round between parts that join.
    pub clearance: f64,
    /// How much wider than a dowel its holes are.
    pub dowel_clearance: f64,
    /// How far the cradle stands off the cake.
    pub cradle_gap: f64,
    /// How far a stretch may stray from straight and be cut along guide discs.
    pub guide_tolerance: f64,
    /// How far below the board's top scrapers stand.
    pub stand_below: f64,
    /// Bearings at which scrapers follow the section of the cake with its cuts and adds, degrees.
    pub bearings: Vec<f64>,
    /// Diameter of the filament.
    pub filament: f64,
    /// Density of the plastic, g/mL.
    pub plastic_density: f64,
    /// Share of plastic inside the walls.
    pub infill: f64,
}

impl Default for Printing {
    /// Bed, nozzle and filament of common desktop printers; walls and clearances within the ranges that
    /// guides to printing by melted filament give (walls two or three nozzle widths; pegs in holes 0.2 to
    /// 0.5 mm); density of PLA. The rest is common practice, no source.
    fn default() -> Self {
        Self {
            bed: dvec3(220.0, 220.0, 250.0),
            nozzle: 0.4,
            thickness: 4.0,
            scraper_edge: 1.0,
            blade: 0.8,
            clearance: 0.25,
            dowel_clearance: 0.5,
            cradle_gap: 2.0,
            guide_tolerance: 1.0,
            stand_below: 0.0,
            bearings: Vec::new(),
            filament: 1.75,
            plastic_density: 1.24,
            infill: 0.2,
        }
    }
}

/// A setting that no part can be printed with.
#[derive(Debug, Clone, PartialEq)]
pub struct Unprintable {
    /// The key under `[printing]`.
    pub key: &'static str,
    /// What is wrong with it.
    pub message: String,
    /// How to fix it.
    pub fix: String,
}

impl Printing {
    /// The thinnest wall that prints well: two nozzle widths, mm.
    pub fn thinnest_wall(&self) -> f64 {
        2.0 * self.nozzle
    }

    /// Everything about the settings that nothing can be printed with.
    pub fn check(&self) -> Vec<Unprintable> {
        let style = UnitStyle::default();
        let fine = |mm: f64| style.length_fine(mm);
        let wall = self.thinnest_wall();
        let mut found = Vec::new();
        let mut refuse = |wrong: bool, key, message: String, fix: String| {
            if wrong {
                found.push(Unprintable { key, message, fix });
            }
        };
        let thin = |what: &str, mm: f64| {
            format!(
                "{what} {} thick is thinner than two widths of the {} nozzle",
                fine(mm),
                fine(self.nozzle)
            )
        };
        let thicker = format!("make it at least {}, or use a finer nozzle", fine(wall));
        refuse(
            style.is_above(wall, self.thickness),
            "thickness",
            thin("a plate", self.thickness),
            thicker.clone(),
        );
        refuse(
            style.is_above(wall, self.blade),
            "blade",
            thin("a cutting edge", self.blade),
            thicker.clone(),
        );
        refuse(
            style.is_above(self.nozzle / 2.0, self.scraper_edge)
                || style.is_above(self.scraper_edge, self.thickness),
            "scraper_edge",
            format!(
                "a working edge {} wide does not fit a plate of {} and a nozzle of {}",
                fine(self.scraper_edge),
                fine(self.thickness),
                fine(self.nozzle)
            ),
            "give a width between half the nozzle and the thickness of the plate".into(),
        );
        for (key, clearance) in [("clearance", self.clearance), ("dowel_clearance", self.dowel_clearance)] {
            refuse(
                clearance >= self.thickness.min(3.0 * wall),
                key,
                format!("a clearance of {} is as much as the wall that it is taken from", fine(clearance)),
                "use 0.2 to 0.5 mm".into(),
            );
        }
        refuse(
            self.bed.min_element() < SMALLEST_BED,
            "bed",
            format!("a bed of {} holds no tool", self.bed.to_array().map(fine).join(" × ")),
            format!("give [width, depth, height], each at least {SMALLEST_BED} mm"),
        );
        refuse(
            self.stand_below < 0.0,
            "stand_below",
            "a scraper cannot stand above the board".into(),
            "give 0, or the height of board and turntable".into(),
        );
        refuse(
            !(self.plastic_density > 0.3 && self.plastic_density < 5.0),
            "plastic_density",
            format!("no plastic weighs {} g/mL", self.plastic_density),
            "PLA weighs about 1.24 g/mL, PETG 1.27".into(),
        );
        refuse(
            !(0.0..=1.0).contains(&self.infill),
            "infill",
            format!("an infill of {} is no share of the inside", self.infill),
            "give a number from 0 to 1, as 0.2 for 20 %".into(),
        );
        found
    }
}

/// A smaller bed is a mistake, mm.
const SMALLEST_BED: f64 = 40.0;

/// Reads the settings of a cake file.
pub(super) fn resolve(
    given: &schema::Printing,
    unit: Unit,
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Option<Printing> {
    let mut settings = Printing::default();
    let before = problems.len();
    let mut set = |to: &mut f64, value: Option<Result<f64, UnitError>>, at: FieldPath| match value {
        Some(Ok(mm)) => *to = mm,
        Some(Err(error)) => problems.push(Diagnostic::error(at, error.to_string())),
        None => {}
    };
    if let Some(bed) = &given.bed {
        let mut sides = [0.0; 3];
        for (i, side) in sides.iter_mut().enumerate() {
            set(side, Some(bed[i].to_mm(unit)), field.key("bed").index(i));
        }
        settings.bed = DVec3::from_array(sides);
    }
    let sizes = [
        (&mut settings.nozzle, &given.nozzle, "nozzle"),
        (&mut settings.thickness, &given.thickness, "thickness"),
        (&mut settings.scraper_edge, &given.scraper_edge, "scraper_edge"),
        (&mut settings.blade, &given.blade, "blade"),
        (&mut settings.clearance, &given.clearance, "clearance"),
        (&mut settings.dowel_clearance, &given.dowel_clearance, "dowel_clearance"),
        (&mut settings.cradle_gap, &given.cradle_gap, "cradle_gap"),
        (&mut settings.guide_tolerance, &given.guide_tolerance, "guide_tolerance"),
        (&mut settings.filament, &given.filament, "filament"),
    ];
    for (to, size, key) in sizes {
        set(to, size.as_ref().map(|size| size.to_mm(unit)), field.key(key));
    }
    let below = given.stand_below.as_ref().map(|length| length.to_mm(unit));
    set(&mut settings.stand_below, below, field.key("stand_below"));
    for (i, bearing) in given.bearings.iter().flatten().enumerate() {
        match bearing.to_degrees() {
            Ok(degrees) => settings.bearings.push(degrees.rem_euclid(360.0)),
            Err(error) => {
                problems.push(Diagnostic::error(field.key("bearings").index(i), error.to_string()));
            }
        }
    }
    if given.blade.is_none() {
        settings.blade = settings.blade.max(settings.thinnest_wall());
    }
    settings.plastic_density = given.plastic_density.unwrap_or(settings.plastic_density);
    settings.infill = given.infill.unwrap_or(settings.infill);
    if problems.len() == before {
        let wrong = settings.check().into_iter();
        problems.extend(wrong.map(|w| Diagnostic::error(field.key(w.key), w.message).fix(w.fix)));
    }
    (problems.len() == before).then_some(settings)
}
