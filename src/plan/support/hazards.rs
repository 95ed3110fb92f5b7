//! Where people can be hurt: what is hidden in the cake, what is sharp, what is heavy.

use crate::{
    design::{Board, support::HiddenThing},
    stack::SlabKind,
};

use super::{
    case::Case,
    check::{Check, Question},
    code::CheckCode,
    rule::Rule,
    wording::listed,
};

/// What is hidden, counted.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct HiddenCount {
    /// What, in words.
    pub what: String,
    /// How many.
    pub count: usize,
    /// Where, in words.
    pub place: String,
    /// The material or thing alone.
    #[serde(skip)]
    pub thing: String,
    /// Thickness or diameter, where it has one, mm.
    #[serde(skip)]
    pub size: Option<f64>,
    /// Where, not yet in words.
    #[serde(skip)]
    pub spot: Spot,
    /// Whether it pricks.
    pub sharp: bool,
}

/// Where a hidden thing is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spot {
    /// Under a tier.
    Under(String),
    /// In a tier.
    In(String),
    /// Through the middle of the cake.
    Middle,
    /// In the maker's own words; `None` where they say nothing.
    Told(Option<String>),
}

impl Spot {
    fn words(&self) -> String {
        match self {
            Self::Under(tier) => format!("under {tier}"),
            Self::In(tier) => format!("in {tier}"),
            Self::Middle => "through the middle".into(),
            Self::Told(words) => words.clone().unwrap_or_else(|| "where the maker put them".into()),
        }
    }
}

/// Everything hidden in the cake: boards, which a server's knife meets, dowels by kind and tier, then what the cake file
/// lists.
pub fn hidden(case: &Case<'_>) -> Vec<HiddenCount> {
    let mut found: Vec<HiddenCount> = Vec::new();
    let mut add = |thing: &str, size: f64, spot: Spot, sharp: bool| {
        let what = format!("{thing} of {}", case.mm(size));
        let place = spot.words();
        match found.iter_mut().find(|known| known.what == what && known.place == place) {
            Some(known) => known.count += 1,
            None => found.push(HiddenCount {
                what,
                count: 1,
                place,
                thing: thing.to_owned(),
                size: Some(size),
                spot,
                sharp,
            }),
        }
    };
    let tier_name =
        |tier: usize| case.design.tiers.get(tier).map_or_else(String::new, |tier| tier.name.clone());
    for board in case.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Board) {
        add(&board.material.name, board.height(), Spot::Under(tier_name(board.tier)), false);
    }
    for dowel in &case.stack.dowels {
        let spot = dowel.tier.map_or(Spot::Middle, |tier| Spot::In(tier_name(tier)));
        add(&dowel.material.name, dowel.diameter, spot, dowel.material.like == "bamboo skewer");
    }
    found.extend(case.design.support.hidden.iter().map(|hidden| {
        let (what, spot) = (name(hidden.what, hidden.count), Spot::Told(hidden.place.clone()));
        HiddenCount {
            thing: what.clone(),
            what,
            count: hidden.count as usize,
            place: spot.words(),
            size: None,
            spot,
            sharp: hidden.what.is_sharp(),
        }
    }));
    found
}

fn name(what: HiddenThing, count: u32) -> String {
    let (one, more) = what.names();
    if count == 1 { one.into() } else { more.into() }
}

/// Mass of the whole cake with its presentation board, g.
pub fn carried(case: &Case<'_>) -> f64 {
    let board = case.design.board.as_ref();
    let board = board.map_or(0.0, Board::mass);
    case.levels.first().map_or(0.0, |level| level.load.amount) + board
}

pub(super) fn check(case: &Case<'_>, checks: &mut Vec<Check>) {
    let settings = &case.design.support;
    let mass = carried(case);
    let heavy = mass >= settings.two_people;
    checks.push(Check {
        question: Question::People,
        code: CheckCode::Heavy,
        about: "the whole cake".into(),
        said: format!(
            "with its board it weighs {}; from {} on two people carry it",
            case.g(mass),
            case.g(settings.two_people)
        ),
        margin: if heavy { 1.0 } else { settings.two_people / mass },
        needed: if heavy { 2.0 } else { 1.0 },
        rule: Rule::Lifting,
        fix: "carry it with two people by the board, knees bent, the way cleared first; or carry it in parts"
            .into(),
        place: None,
        field: settings.field.key("two_people_kg"),
    });
    let sharp: Vec<String> = hidden(case)
        .into_iter()
        .filter(|hidden| hidden.sharp)
        .map(|hidden| format!("{} {}", hidden.count, hidden.what))
        .collect();
    if settings.small_children && !sharp.is_empty() {
        checks.push(Check {
            question: Question::People,
            code: CheckCode::SharpForChildren,
            about: "what is hidden".into(),
            said: format!("small children eat of this cake, and {} are hidden in it", listed(&sharp)),
            margin: 0.0,
            needed: 1.0,
            rule: Rule::SharpThings,
            fix: "use blunt dowels or straws, or paste and dry icing, and count everything out again".into(),
            place: None,
            field: settings
                .hidden
                .first()
                .map_or_else(|| settings.field.clone(), |hidden| hidden.field.clone()),
        });
    }
}
