//! Sausages of paste as they are rolled before they are laid or bent: how long, how thick, in how many pieces, how heavy.

use std::f64::consts::TAU;

use plan::{
    Plan,
    design::{Detail, Material, Operation, Tool},
};

/// The longest sausage that two hands roll evenly on a board, mm (common practice, no source).
pub const LONGEST: f64 = 600.0;
/// A taper of less is none, mm of radius.
const TAPER_SEEN: f64 = 0.5;
/// Sausages that differ by less are alike, mm.
const ALIKE: f64 = 0.5;
/// Thickness that dries in the pantry's time, mm; thicker parts dry longer in the same measure, so that a bar of
/// 26 mm takes about a week (common practice, no source).
const DRIES_AT_ONCE: f64 = 4.0;

/// A sausage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sausage {
    /// How long it is rolled, with its round ends, mm.
    pub length: f64,
    /// Its greatest thickness, mm.
    pub thick: f64,
    /// Its thickness at the ends, if it tapers, mm.
    pub thin: Option<f64>,
    /// What it holds, mm³.
    pub volume: f64,
    /// How many are alike.
    pub count: u32,
}

impl Sausage {
    /// In how many pieces one of them is rolled.
    pub fn pieces(&self) -> u32 {
        (self.length / LONGEST - 1e-9).ceil().max(1.0) as u32
    }

    fn new(length: f64, radii: (f64, f64), volume: f64) -> Self {
        let (thick, thin) = radii;
        let thin = (thick - thin > TAPER_SEEN).then_some(2.0 * thin);
        Self { length, thick: 2.0 * thick, thin, volume, count: 1 }
    }

    fn of_stations(stations: &[(glam::DVec3, f64)]) -> Option<Self> {
        let strand = plan::design::Strand::Line { stations: stations.to_vec(), closed: false };
        let radii = || stations.iter().map(|(_, radius)| *radius);
        stations.first()?;
        let radii = (radii().fold(0.0, f64::max), radii().fold(f64::INFINITY, f64::min));
        Some(Self::new(strand.length(), radii, strand.volume()))
    }
}

/// The sausages that a detail is rolled from, those that are alike together; none if it is not rolled.
pub fn sausages(tool: &Tool) -> Vec<Sausage> {
    let each: Vec<Sausage> = match tool {
        Tool::Bar { stations } => Sausage::of_stations(stations).into_iter().collect(),
        Tool::Ring { radius, bar_radius, .. } => {
            let length = TAU * radius;
            let volume = std::f64::consts::PI * bar_radius * bar_radius * length;
            vec![Sausage::new(length, (*bar_radius, *bar_radius), volume)]
        }
        Tool::Roll(roll) => {
            let one = |strand: &plan::design::Strand| match strand {
                plan::design::Strand::Line { stations, closed: false } => Sausage::of_stations(stations),
                closed => {
                    let radius = closed.thick();
                    Some(Sausage::new(closed.length(), (radius, radius), closed.volume()))
                }
            };
            roll.strands().iter().filter_map(one).collect()
        }
        _ => Vec::new(),
    };
    let mut alike: Vec<Sausage> = Vec::new();
    for sausage in each {
        let same = |other: &&mut Sausage| {
            (other.length - sausage.length).abs() < ALIKE && (other.thick - sausage.thick).abs() < 0.01
        };
        match alike.iter_mut().find(same) {
            Some(other) => other.count += 1,
            None => alike.push(sausage),
        }
    }
    alike
}

/// A detail that is rolled, in all its places.
pub struct Rolled<'a> {
    /// Its places.
    pub details: &'a [Detail],
    /// What it is made of.
    pub material: &'a Material,
    /// The sausages of one of its places.
    pub sausages: Vec<Sausage>,
    /// Mass of all places together, g.
    pub mass: f64,
}

/// Every detail of `plan` that is rolled, in the order of the cake file.
pub fn rolled(plan: &Plan) -> Vec<Rolled<'_>> {
    let adds = plan.design.details.chunk_by(Detail::is_copy_of);
    let one = |details| -> Option<Rolled<'_>> {
        let details: &[Detail] = details;
        let first = details.first().filter(|detail| detail.operation == Operation::Add)?;
        let material = first.material.as_ref().filter(|_| first.depth != plan::design::Depth::Sponge)?;
        let sausages = sausages(&first.tool);
        let volume = |detail: &Detail| -> f64 {
            self::sausages(&detail.tool).iter().map(|one| one.volume * f64::from(one.count)).sum()
        };
        let mass = details.iter().map(|detail| material.mass(volume(detail))).sum();
        (!sausages.is_empty()).then_some(Rolled { details, material, sausages, mass })
    };
    adds.filter_map(one).collect()
}

/// Hours for which a part so thick dries, by what the pantry says of a thin one.
pub fn drying_hours(plan: &Plan, thickness: f64) -> f64 {
    plan.pantry.times.dry * (thickness / DRIES_AT_ONCE).max(1.0)
}
