//! In a car: braking, cornering, a speed hump, a ramp; with and without a centre dowel.

use glam::DVec2;

use crate::stack::{Dowel, SlabKind};
use geom::real;
use geom::{Moments, Tolerance};

use super::{
    capacity::is_held_sideways,
    case::Case,
    check::{Check, Question, place},
    code::CheckCode,
    gravity::{GRAVITY, weight},
    levels::{Level, hull},
    rule::Rule,
    standing::Tipping,
    strut::{self, Bar, Ends},
    wording::{on_its_own, times},
};

/// The gentlest stop that any cake has to bear in a car: 3.4 m/s², comfortable deceleration for the design of
/// roads (AASHTO, A Policy on Geometric Design of Highways and Streets, from memory), share of gravity.
pub const COMFORTABLE: f64 = 3.4 / GRAVITY;
/// What drivers brake at for a stop sign, at most (Characteristic vehicular deceleration for known
/// hazards), share of gravity.
pub const STOP_SIGN: f64 = 0.25;

/// Friction of the presentation board in the car: on a mat that does not slip, and without (EN 12195-1 annex B,
/// and common practice).
const FRICTION: (f64, f64) = (0.6, 0.3);

/// Something that happens on the way.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Event {
    /// What it is called.
    pub name: &'static str,
    /// Side force as a share of weight.
    pub share: f64,
    /// Where the figure comes from.
    pub source: &'static str,
    /// How many times the cake bears it without tipping.
    pub tips: f64,
    /// How many times its board bears it without sliding.
    pub slides: f64,
    /// How many times the weakest joint between tiers bears it without the centre dowel; infinite without joints.
    pub joints: f64,
    /// How many times the centre dowel bears it; infinite where none is needed.
    pub centre_dowel: f64,
}

/// Levels that travel as one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// The level that it stands on.
    pub from: usize,
    /// The level that is lifted off it, if any.
    pub to: Option<usize>,
}

/// The parts that travel.
pub fn parts(case: &Case<'_>) -> Vec<Part> {
    let cut: Vec<usize> = (1..case.levels.len())
        .filter(|&i| {
            let tier = case.levels[i].slab.map(|slab| case.stack.slabs[slab].tier);
            tier.is_some_and(|tier| case.design.support.apart.contains(&tier))
        })
        .collect();
    let starts: Vec<usize> = std::iter::once(0).chain(cut).collect();
    starts.iter().enumerate().map(|(k, &from)| Part { from, to: starts.get(k + 1).copied() }).collect()
}

impl Part {
    /// What it weighs, finished.
    pub fn load(&self, case: &Case<'_>) -> Moments {
        let off = self.to.map_or_else(Moments::default, |to| case.levels[to].load);
        case.levels[self.from].load - off
    }

    /// Levels inside it, besides the one that it stands on.
    pub fn joints(&self, case: &Case<'_>) -> std::ops::Range<usize> {
        self.from + 1..self.to.unwrap_or(case.levels.len())
    }

    fn name(&self, case: &Case<'_>) -> String {
        match (self.from, self.to) {
            (0, None) => "the cake".into(),
            (0, Some(_)) => "the lower part".into(),
            (from, _) => {
                let slab = case.levels[from].slab.map_or(0, |slab| case.stack.slabs[slab].tier);
                on_its_own(&case.design.tiers[slab].name)
            }
        }
    }

    /// How it tips: off its board, or with it.
    fn tipping(&self, case: &Case<'_>) -> Option<Tipping> {
        let level = &case.levels[self.from];
        let centre = self.load(case).centroid()?;
        let Some(slab) = level.slab.map(|i| &case.stack.slabs[i]) else {
            return Some(Tipping::new(&level.seat, level.z, centre));
        };
        let seat = hull(&slab.footprint.region(Tolerance::PREVIEW));
        Some(Tipping::new(&seat, slab.bottom, centre))
    }
}

/// Side force that a joint bears without a centre dowel, as a share of the weight `above` it, N.
///
/// Square-cut dowels right themselves up to d / L of their load. Beside that the cake holds them: a stiff pole that
/// turns about its foot in stuff that gives way at a pressure p bears p d L / 2 at its head (its moment about the
/// foot is p d L² / 2); half of what collapses sponge is counted. A board without dowels lies there by friction.
pub fn joint_bears(case: &Case<'_>, level: &Level, above: f64) -> f64 {
    if !level.is_on_dowels() {
        return FRICTION.1;
    }
    let below = level.slab.unwrap_or(0);
    let tier = case.stack.slabs[..below].last().map(|slab| slab.tier);
    let layers =
        case.stack.slabs[..below].iter().filter(|s| s.kind == SlabKind::Layer && Some(s.tier) == tier);
    let weakest = layers
        .filter_map(|slab| slab.material.crumb())
        .map(|crumb| crumb.collapse / 1000.0 / 2.0)
        .fold(f64::INFINITY, f64::min);
    let pressure = if weakest.is_finite() { weakest } else { 0.0 };
    let dowels = || level.carriers.iter().map(|&k| &case.stack.dowels[k]);
    let righting = dowels().map(|dowel| dowel.diameter / dowel.length()).fold(f64::INFINITY, f64::min);
    let held: f64 = dowels().map(|dowel| pressure * dowel.diameter * dowel.length() / 2.0).sum();
    righting + held / above
}

/// The centre dowel as a cantilever from its foot: the moment of a side force as great as the weights it holds,
/// N·mm, and the one that breaks it; `None` if there is none.
pub fn centre_dowel<'a>(case: &Case<'a>, part: Part) -> Option<(f64, f64, &'a Dowel)> {
    let dowel = case.stack.dowels.iter().find(|dowel| dowel.tier.is_none())?;
    let stuff = dowel.material.dowel_stuff()?;
    let held = part.joints(case).filter(|&i| is_held_sideways(case, &case.levels[i]));
    let moment: f64 = held
        .map(|i| {
            let level = &case.levels[i];
            let next = case.next_level(i).filter(|_| part.joints(case).contains(&(i + 1)));
            let own = level.load.amount - next.map_or(0.0, |next| next.load.amount);
            weight(own) * level.z
        })
        .sum();
    let bears = stuff.bending * Bar::from(dowel).section_modulus();
    Some((moment, bears, dowel))
}

/// What happens on the way, and how the cake bears it.
pub fn events(case: &Case<'_>) -> Vec<Event> {
    let settings = &case.design.support;
    let jolted = STOP_SIGN / (1.0 - settings.bump);
    let list = [
        ("a stop at a stop sign", STOP_SIGN, "Characteristic vehicular deceleration for known hazards"),
        ("a gentle stop", COMFORTABLE, "AASHTO Green Book: 3.4 m/s²"),
        ("a stop on a speed hump", jolted, "Belgian Road Research Centre: 0.5 g up and down"),
        ("a ramp", real::tan(settings.ramp.to_radians()), "tan of the angle"),
        ("cornering, a swerve", settings.cornering, "EN 12195-1, for loads on lorries: 0.5 g sideways"),
        ("hard braking", settings.braking, "EN 12195-1, for loads on lorries: 0.8 g forwards"),
    ];
    let (tips, slides, joints, centre) = limits(case);
    list.into_iter()
        .map(|(name, share, source)| Event {
            name,
            share,
            source,
            tips: tips / share,
            slides: slides / share,
            joints: joints / share,
            centre_dowel: centre / share,
        })
        .collect()
}

/// Side forces, as shares of weight: what tips the worst part, what slides it, what the weakest joint bears
/// without and the centre dowel bears.
fn limits(case: &Case<'_>) -> (f64, f64, f64, f64) {
    let parts = parts(case);
    let least = |values: &mut dyn Iterator<Item = f64>| values.fold(f64::INFINITY, f64::min);
    let tips = least(&mut parts.iter().filter_map(|part| part.tipping(case)).map(|tipping| tipping.share()));
    let joints = least(&mut parts.iter().flat_map(|part| {
        part.joints(case).map(|i| {
            let level = &case.levels[i];
            joint_bears(case, level, level.weight().max(1e-9))
        })
    }));
    let centre = least(&mut parts.iter().filter_map(|&part| {
        let (moment, bears, _) = centre_dowel(case, part)?;
        (moment > 0.0).then(|| bears / moment)
    }));
    (tips, friction(case), joints, centre)
}

/// Side force from which the presentation board slides, as a share of weight; infinite in a box that can't.
fn friction(case: &Case<'_>) -> f64 {
    match &case.design.support {
        settings if settings.wedged => f64::INFINITY,
        settings if settings.mat => FRICTION.0,
        _ => FRICTION.1,
    }
}

/// The hardest of what is asked of the cake, as a share of weight.
pub fn hardest(case: &Case<'_>) -> f64 {
    let settings = &case.design.support;
    [settings.braking, settings.cornering, real::tan(settings.ramp.to_radians()), COMFORTABLE]
        .into_iter()
        .fold(0.0, f64::max)
}

pub(super) fn check(case: &Case<'_>, checks: &mut Vec<Check>) {
    let needed = (hardest(case) / COMFORTABLE).max(1.0);
    for part in parts(case) {
        check_tipping(case, part, needed, checks);
        check_joints(case, part, needed, checks);
    }
    check_sliding(case, checks);
    check_jolt(case, checks);
}

/// What happens on the way, of something that a side force of `share` of its weight does: `does` it in what it meets on
/// the way, or `would` do it when pushed harder.
fn pushed(case: &Case<'_>, share: f64, does: &str, would: &str) -> String {
    if share < COMFORTABLE {
        format!("{does} even in a gentle stop, pushed sideways")
    } else if share < hardest(case) {
        format!("{does} in {}, pushed sideways", hardest_name(case))
    } else {
        format!("{would} when pushed sideways")
    }
}

/// How hard it is pushed sideways on the way.
fn pushes(case: &Case<'_>) -> String {
    format!(
        "a gentle stop pushes with {}, {} with {}",
        percent(COMFORTABLE),
        hardest_name(case),
        percent(hardest(case))
    )
}

/// The event that [`hardest`] is of.
fn hardest_name(case: &Case<'_>) -> &'static str {
    let (settings, most) = (&case.design.support, hardest(case));
    if settings.braking >= most {
        "hard braking"
    } else if settings.cornering >= most {
        "a swerve"
    } else if COMFORTABLE >= most {
        "the hardest stop"
    } else {
        "a ramp"
    }
}

/// A side force as a share of the weight, in words.
pub fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

fn check_tipping(case: &Case<'_>, part: Part, needed: f64, checks: &mut Vec<Check>) {
    let Some(tipping) = part.tipping(case) else { return };
    let name = part.name(case);
    checks.push(Check {
        question: Question::Car,
        code: CheckCode::TipsInCar,
        about: name.clone(),
        said: {
            let what = pushed(case, tipping.share(), &format!("{name} tips over"), &format!("{name} would tip only"));
            format!("{what} with {} of its weight; {}", percent(tipping.share()), pushes(case))
        },
        margin: tipping.share() / COMFORTABLE,
        needed,
        rule: Rule::Tipping,
        fix: "carry it in a close box as high as its centre of mass, or take the top part apart and join it at the \
               venue ([support] apart)"
            .into(),
        place: Some(place(tipping.edge, case.levels[part.from].z)),
        field: case.field_of(part.from),
    });
}

fn check_joints(case: &Case<'_>, part: Part, needed: f64, checks: &mut Vec<Check>) {
    for i in part.joints(case) {
        let level = &case.levels[i];
        if is_held_sideways(case, level) {
            continue;
        }
        let bears = joint_bears(case, level, level.weight().max(1e-9));
        let loose = case.design.centre_dowel.as_ref().is_some_and(|centre| !centre.fast);
        checks.push(Check {
            question: Question::Car,
            code: CheckCode::TierSlidesOff,
            about: level.name.clone(),
            said: {
                let name = &level.name;
                let what = pushed(
                    case,
                    bears,
                    &format!("{name} with what it carries slides off"),
                    &format!("{name} with what it carries would slide off only"),
                );
                let loose = if loose {
                    "the foot of the centre dowel is not fast"
                } else {
                    "no centre dowel goes through it"
                };
                format!("{what} with {} of its weight; {}: {loose}", percent(bears), pushes(case))
            },
            margin: bears / COMFORTABLE,
            needed,
            rule: Rule::SideForce,
            fix: "put a centre dowel through it, screwed to a presentation board of plywood, or carry that part apart"
                .into(),
            place: Some(place(level.centre(), level.z)),
            field: case.field_of(i),
        });
    }
    if let Some((moment, bears, dowel)) = centre_dowel(case, part).filter(|(moment, ..)| *moment > 0.0) {
        let hard = moment * hardest(case);
        checks.push(Check {
            question: Question::Car,
            code: CheckCode::CentreDowelBreaks,
            about: dowel.name.clone(),
            said: format!(
                "in {} the centre dowel bends with {:.1} N·m at its foot; {} of {} break \
                 at {:.1} N·m: {}",
                hardest_name(case),
                hard / 1000.0,
                case.mm(dowel.diameter),
                dowel.material.name,
                bears / 1000.0,
                times(bears / hard)
            ),
            margin: bears / (moment * COMFORTABLE),
            needed: needed * 1.5,
            rule: Rule::CentreDowel,
            fix: "use a thicker centre dowel, or carry the top part apart".into(),
            place: Some(place(DVec2::ZERO, 0.0)),
            field: dowel.field.clone(),
        });
    }
}

fn check_sliding(case: &Case<'_>, checks: &mut Vec<Check>) {
    let settings = &case.design.support;
    if settings.wedged {
        return;
    }
    let friction = friction(case);
    checks.push(Check {
        question: Question::Car,
        code: CheckCode::SlidesInCar,
        about: "presentation board".into(),
        said: format!(
            "{} {}, with {} of the weight; {}",
            pushed(case, friction, "the board slides", "the board would slide only"),
            if settings.mat { "on a mat that does not slip" } else { "without a mat" },
            percent(friction),
            pushes(case)
        ),
        margin: friction / COMFORTABLE,
        needed: (hardest(case) / COMFORTABLE).max(1.0),
        rule: Rule::Sliding,
        fix: "stand its box on a mat that does not slip, on a flat floor and not a seat, wedged on all sides"
            .into(),
        place: None,
        field: settings.field.key("wedged"),
    });
}

/// Dowels over a speed hump: a load that does not stay.
fn check_jolt(case: &Case<'_>, checks: &mut Vec<Check>) {
    /// What they are to bear of a jolt (common practice, no source).
    const NEEDED: f64 = 2.0;
    for level in case.levels.iter().filter(|level| !level.pushes.is_empty()) {
        let jolted = level.worst_push * (1.0 + case.design.support.bump);
        let bears = level.carriers.iter().filter_map(|&k| {
            let dowel = &case.stack.dowels[k];
            let stuff = dowel.material.dowel_stuff()?;
            let stuff =
                strut::Stuff { modulus: stuff.modulus, strength: stuff.strength, poisson: stuff.poisson };
            let ends = if is_held_sideways(case, level) { Ends::Pinned } else { Ends::FreeHead };
            Some((strut::capacity(&stuff, &Bar::from(dowel), dowel.length(), ends).0, dowel))
        });
        let Some((bears, dowel)) = bears.min_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        checks.push(Check {
            question: Question::Car,
            code: CheckCode::DowelJolted,
            about: level.name.clone(),
            said: format!(
                "over a speed hump a dowel under {} takes {} and gives way at {}: {}",
                level.name,
                case.push(jolted),
                case.push(bears),
                times(bears / jolted)
            ),
            margin: bears / jolted,
            needed: NEEDED,
            rule: Rule::Strut,
            fix: "use thicker dowels or more of them".into(),
            place: Some(place(dowel.at, dowel.top)),
            field: dowel.field.clone(),
        });
    }
}
