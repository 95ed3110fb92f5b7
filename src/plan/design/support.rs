//! What is asked of the cake when it stands and travels.

use cakefile::{
    Diagnostic, FieldPath, nearest,
    schema::{self, Temperature},
};
use geom::units::UnitError;

pub use cakefile::schema::HiddenThing;

/// Settings of the support check.
#[derive(Debug, Clone, PartialEq)]
pub struct SupportSettings {
    /// How warm it gets at the venue, °C.
    pub room: f64,
    /// Warmer than this the plan speaks up, °C.
    pub warmest: f64,
    /// How many times their load dowels and boards must bear.
    pub safety: f64,
    /// Least tipping angle on the bench, degrees.
    pub tilt: f64,
    /// Hard braking, share of gravity.
    pub braking: f64,
    /// Cornering or a swerve, share of gravity.
    pub cornering: f64,
    /// A jolt up and down, share of gravity.
    pub bump: f64,
    /// The steepest ramp, degrees.
    pub ramp: f64,
    /// Whether it stands on a mat that does not slip.
    pub mat: bool,
    /// Whether its box can't slide in the car, since it is wedged or strapped.
    pub wedged: bool,
    /// Tiers that travel on their own, with all that stands on them; indices, rising.
    pub apart: Vec<usize>,
    /// From this mass on two people carry it, g.
    pub two_people: f64,
    /// Whether small children eat of it.
    pub small_children: bool,
    /// What is hidden in it besides dowels.
    pub hidden: Vec<Hidden>,
    /// Where the settings stand in the cake file.
    pub field: FieldPath,
}

/// Things hidden in the cake.
#[derive(Debug, Clone, PartialEq)]
pub struct Hidden {
    /// What it is.
    pub what: HiddenThing,
    /// How many.
    pub count: u32,
    /// Where, in a few words.
    pub place: Option<String>,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

impl Default for SupportSettings {
    /// Braking 0.8 and cornering 0.5 of gravity are what EN 12195-1 has loads secured against on the road; the
    /// jolt is what drivers bear over a speed hump (Belgian Road Research Centre: 0.5 g is where discomfort
    /// begins). Two people from 10 kg: what the British HSE's lifting filter has as the least guideline weight
    /// for arms reached out at waist height (INDG143, from memory). The rest is common practice, no source.
    fn default() -> Self {
        Self {
            room: 24.0,
            warmest: 24.0,
            safety: 3.0,
            tilt: 15.0,
            braking: 0.8,
            cornering: 0.5,
            bump: 0.5,
            ramp: 10.0,
            mat: true,
            wedged: false,
            apart: Vec::new(),
            two_people: 10_000.0,
            small_children: false,
            hidden: Vec::new(),
            field: FieldPath::root().key("support"),
        }
    }
}

/// Reads the settings of a cake file.
pub(super) fn resolve(
    given: Option<&schema::Support>,
    tiers: &[schema::Tier],
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Option<SupportSettings> {
    let Some(given) = given else { return Some(SupportSettings::default()) };
    let mut settings = SupportSettings { field: field.clone(), ..SupportSettings::default() };
    let before = problems.len();
    let mut set = |to: &mut f64, value: Option<Result<f64, UnitError>>, key: &str| match value {
        Some(Ok(value)) => *to = value,
        Some(Err(error)) => problems.push(Diagnostic::error(field.key(key), error.to_string())),
        None => {}
    };
    set(&mut settings.room, given.room.as_ref().map(Temperature::to_celsius), "room");
    set(&mut settings.warmest, given.warmest.as_ref().map(Temperature::to_celsius), "warmest");
    set(&mut settings.tilt, given.tilt.as_ref().map(schema::Angle::to_degrees), "tilt");
    set(&mut settings.ramp, given.ramp.as_ref().map(schema::Angle::to_degrees), "ramp");
    let shares = [
        (&mut settings.safety, given.safety, "safety", (1.0, 20.0)),
        (&mut settings.braking, given.braking, "braking", (0.0, 2.0)),
        (&mut settings.cornering, given.cornering, "cornering", (0.0, 2.0)),
        (&mut settings.bump, given.bump, "bump", (0.0, 0.95)),
    ];
    for (to, value, key, (least, most)) in shares {
        let Some(value) = value else { continue };
        if (least..=most).contains(&value) {
            *to = value;
        } else {
            problems.push(
                Diagnostic::error(
                    field.key(key),
                    format!("this must be {least} to {most}, and {value} stands here"),
                )
                .fix(format!("give a number from {least} to {most}")),
            );
        }
    }
    for (value, key, most) in [(settings.tilt, "tilt", 60.0), (settings.ramp, "ramp", 45.0)] {
        if !(0.0..=most).contains(&value) {
            problems.push(
                Diagnostic::error(
                    field.key(key),
                    format!("this must be 0 to {most} degrees, and {value} stands here"),
                )
                .fix(format!("give an angle from 0 to {most} degrees")),
            );
        }
    }
    if let Some(kg) = given.two_people_kg {
        if kg.is_finite() && kg > 0.0 {
            settings.two_people = kg * 1000.0;
        } else {
            problems.push(
                Diagnostic::error(field.key("two_people_kg"), format!("{kg} kg is no weight"))
                    .fix("give a weight above zero, as 10"),
            );
        }
    }
    settings.mat = given.mat.unwrap_or(settings.mat);
    settings.wedged = given.wedged.unwrap_or(false);
    settings.small_children = given.small_children.unwrap_or(false);
    settings.hidden = hidden(&given.hidden, field, problems);
    settings.apart = apart(given.apart.as_deref().unwrap_or_default(), tiers, field, problems);
    (problems.len() == before).then_some(settings)
}

fn hidden(given: &[schema::Hidden], field: &FieldPath, problems: &mut Vec<Diagnostic>) -> Vec<Hidden> {
    /// More in one entry is a slip of the finger.
    const MOST: u32 = 1000;
    let read = |(i, entry): (usize, &schema::Hidden)| {
        let at = field.key("hidden").index(i);
        if entry.count == 0 || entry.count > MOST {
            problems.push(
                Diagnostic::error(at.key("count"), format!("{} of them cannot be counted out", entry.count))
                    .fix(format!("give a number from 1 to {MOST}, or leave the entry out")),
            );
        }
        Hidden { what: entry.what, count: entry.count, place: entry.place.clone(), field: at }
    };
    given.iter().enumerate().map(read).collect()
}

fn apart(
    given: &[String],
    tiers: &[schema::Tier],
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Vec<usize> {
    let mut found = Vec::new();
    for (i, name) in given.iter().enumerate() {
        let at = field.key("apart").index(i);
        let names = || tiers.iter().map(|tier| tier.name.as_str());
        match names().position(|tier| tier == name) {
            Some(index) if index == 0 || tiers[index].board.is_none() => problems.push(
                Diagnostic::error(at, format!("the tier \"{name}\" cannot travel on its own"))
                    .fix("only a tier above the lowest that has a board of its own can be lifted off"),
            ),
            Some(index) => found.push(index),
            None => {
                let fix = match nearest(name, names()) {
                    Some(close) => format!("did you mean \"{close}\"?"),
                    None => "give the name of a tier".to_owned(),
                };
                problems.push(Diagnostic::error(at, format!("no tier is called \"{name}\"")).fix(fix));
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}
