//! What of a kit is worth printing for one cake: a rule for each group.
//!
//! A part is proposed where nothing that a maker owns does its work as well: no pan, no knife, no straight edge, no
//! template of paper. Everything else is drawn when it is asked for by name, or all of it is.

use crate::language::{KitWords, Language, filled};
use cakefile::schema::Depth;
use geom::Region;
use plan::{
    Plan,
    design::{Detail, MaterialKind, Printing},
    lines::Line,
};

use super::{
    Group, Silhouette,
    cutters::{Alike, alike},
};

/// Which parts of a group are made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Extent {
    /// All of them.
    Whole,
    /// Those that belong to these lines or details, and those that belong to none.
    Of(Vec<String>),
    /// None.
    Nothing,
}

/// Why a group is worth printing, or why it is not.
#[derive(Debug, Clone)]
pub enum Reason {
    /// That a language says without more.
    Plain(fn(&KitWords) -> &str),
    /// One turn of the cake brings this material to its line.
    OneTurn(String),
    /// Whole minutes by hand and with what is printed.
    Saves {
        /// By hand.
        by_hand: u32,
        /// With stamps or cutters.
        printed: u32,
        /// Whether they are stamps.
        stamps: bool,
    },
}

impl Reason {
    /// The reason as one sentence without a full stop, in `language`.
    pub fn told(&self, language: &Language) -> String {
        let words = &language.kit;
        match self {
            Self::Plain(of) => of(words).to_owned(),
            Self::OneTurn(material) => filled(&words.one_turn, &[("material", language.name(material))]),
            Self::Saves { by_hand, printed, stamps } => {
                let form = if *stamps { &words.stamps_save } else { &words.cutters_save };
                filled(form, &[("hand", &by_hand.to_string()), ("printed", &printed.to_string())])
            }
        }
    }
}

/// Whether a group is worth printing for a cake, and why.
#[derive(Debug, Clone)]
pub struct Choice {
    /// The group.
    pub group: Group,
    /// What of it.
    pub extent: Extent,
    /// Why, or why not.
    pub reason: Reason,
}

impl Choice {
    /// Whether anything of the group is proposed.
    pub fn is_proposed(&self) -> bool {
        self.extent != Extent::Nothing
    }
}

/// What is worth printing for `plan`: a choice for every group, in the order of [`Group::ALL`].
pub fn choices(plan: &Plan, printing: &Printing) -> Vec<Choice> {
    Group::ALL
        .into_iter()
        .map(|group| {
            let (extent, reason) = match group {
                Group::Scrapers => scrapers(plan, printing),
                Group::Combs => combs(plan),
                Group::FootMould => foot_mould(plan),
                Group::Cutters => by_hand_or_printed(plan, false),
                Group::Stamps => by_hand_or_printed(plan, true),
                other => (Extent::Nothing, done_otherwise(other, plan.lines.is_turned())),
            };
            Choice { group, extent, reason }
        })
        .collect()
}

/// What does the work of a group that is proposed for no cake.
fn done_otherwise(group: Group, turned: bool) -> Reason {
    Reason::Plain(match group {
        Group::SwingFormers if turned => |words| &words.scraper_does,
        Group::GuideDiscs if turned => |words| &words.cards_do,
        Group::SwingFormers | Group::GuideDiscs => |words| &words.not_turned,
        Group::Cradle => |words| &words.carried_on_board,
        Group::RingGauges if turned => |words| &words.tape_does,
        Group::RingGauges => |words| &words.templates_check,
        Group::DepthGauges => |words| &words.skewer_does,
        Group::BoardTemplates => |words| &words.board_paper,
        Group::DowelGuides => |words| &words.set_square,
        Group::LevellingRings => |words| &words.wire_does,
        // The others have rules of their own.
        Group::Scrapers | Group::Combs | Group::FootMould | Group::Cutters | Group::Stamps => |_| "",
    })
}

/// The line that a scraper works to: the outside of the outermost coat that is spread; `None` if nothing is spread.
pub fn spread_line(plan: &Plan) -> Option<(&Line, &str)> {
    let spread = |kind: MaterialKind| matches!(kind, MaterialKind::Coating | MaterialKind::Filling);
    let index = plan.design.coverings.iter().position(|covering| spread(covering.material.kind))?;
    Some((plan.lines.all().get(index)?, &plan.design.coverings[index].material.name))
}

/// The scraper for the coat that is spread, unless a straight scraper does it.
fn scrapers(plan: &Plan, printing: &Printing) -> (Extent, Reason) {
    let nothing = |reason: fn(&KitWords) -> &str| (Extent::Nothing, Reason::Plain(reason));
    let Some((line, material)) = spread_line(plan) else {
        return nothing(|words| &words.nothing_spread);
    };
    if !plan.lines.is_turned() && printing.bearings.is_empty() {
        return nothing(|words| &words.acetate);
    }
    if plan.lines.is_turned() && is_upright(&Silhouette::new(line)) && printing.bearings.is_empty() {
        return nothing(|words| &words.straight_scraper);
    }
    (Extent::Of(vec![line.name.clone()]), Reason::OneTurn(material.to_owned()))
}

/// The comb for the carved line, where carving makes a curve.
fn combs(plan: &Plan) -> (Extent, Reason) {
    let carved = plan.lines.carved();
    if !plan.lines.is_turned() {
        return (Extent::Nothing, Reason::Plain(|words| &words.silhouettes_check));
    }
    let silhouette = Silhouette::new(carved);
    if is_straight(&silhouette) {
        return (Extent::Nothing, Reason::Plain(|words| &words.ruler_does));
    }
    (Extent::Of(vec![carved.name.clone()]), Reason::Plain(|words| &words.comb_shows))
}

/// Less than this off a straight line is straight, mm: what a coat evens out (common practice, no source).
const STRAIGHT: f64 = 1.5;

/// Whether the side is straight and upright up to a rounded edge at the top.
fn is_upright(line: &Silhouette) -> bool {
    let (foot, head) = (line.radius(0.0), line.radius(line.top * SIDE));
    is_straight(line) && (foot - head).abs() < STRAIGHT
}

/// How far up the side goes, as a share of the height: above lies the edge of the top.
const SIDE: f64 = 0.9;

/// Whether the side is straight up to the edge of the top.
fn is_straight(line: &Silhouette) -> bool {
    /// Heights looked at.
    const LEVELS: u32 = 40;
    let top = line.top * SIDE;
    let (foot, head) = (line.radius(0.0), line.radius(top));
    (0..=LEVELS).map(|i| f64::from(i) / f64::from(LEVELS)).all(|share| {
        let (straight, found) = (foot + (head - foot) * share, line.radius(top * share));
        (straight - found).abs() < STRAIGHT
    })
}

/// The mould for a foot of something that is cast or pressed dense; cereal treat is shaped by hand.
fn foot_mould(plan: &Plan) -> (Extent, Reason) {
    let layers = plan.design.tiers.first().map_or(&[][..], |tier| &tier.layers);
    let firm = !layers.is_empty() && layers.iter().all(|layer| layer.material.kind == MaterialKind::Firm);
    if !firm {
        return (Extent::Nothing, Reason::Plain(|words| &words.foot_is_cake));
    }
    if layers.iter().any(|layer| layer.material.like == "cereal treat") || !plan.lines.is_turned() {
        return (Extent::Nothing, Reason::Plain(|words| &words.pressed_by_hand));
    }
    (Extent::Whole, Reason::Plain(|words| &words.foot_is_cast))
}

/// Minutes of work at a printed cutter or stamp: starting the printer, taking it off, trimming it. Common practice, no
/// source.
const PRINTED_MINUTES: f64 = 6.0;

/// A print that saves the maker less than this is not worth its plastic and its hours, minutes. Common practice, no
/// source.
const LEAST_SAVED: f64 = 5.0;

/// Minutes for cutting one outline by hand along a template: setting it down, and so many for each 100 mm. Common
/// practice, no source.
const SET_DOWN_MINUTES: f64 = 0.5;
const CUT_MINUTES: f64 = 1.0;

/// Cutters (or stamps) for outlines that take longer by hand than a print takes of the maker's time.
fn by_hand_or_printed(plan: &Plan, stamps: bool) -> (Extent, Reason) {
    let pressed = |detail: &Detail| detail.depth != Depth::Sponge;
    let found: Vec<Alike<'_>> = alike(&plan.design)
        .into_iter()
        .filter(|detail| detail.pressed == stamps && detail.details.iter().all(|detail| pressed(detail)))
        .collect();
    if found.is_empty() {
        let reason: fn(&KitWords) -> &str =
            if stamps { |words| &words.nothing_pressed } else { |words| &words.nothing_cut };
        return (Extent::Nothing, Reason::Plain(reason));
    }
    let worth: Vec<&Alike<'_>> = found.iter().filter(|detail| is_worth(detail)).collect();
    if worth.is_empty() {
        let plain = found.iter().all(|detail| is_plain(&detail.relief.outline));
        let reason: fn(&KitWords) -> &str = match (plain, stamps) {
            (true, false) => |words| &words.round_cutters,
            (true, true) => |words| &words.rims_press,
            (false, false) => |words| &words.few_cut,
            (false, true) => |words| &words.few_pressed,
        };
        return (Extent::Nothing, Reason::Plain(reason));
    }
    let minutes: f64 = worth.iter().map(|detail| by_hand(detail)).sum();
    let printed = PRINTED_MINUTES * worth.len() as f64;
    let (by_hand, printed) = (minutes.round_ties_even() as u32, printed.round_ties_even() as u32);
    let reason = Reason::Saves { by_hand, printed, stamps };
    (Extent::Of(worth.iter().map(|detail| detail.subject()).collect()), reason)
}

fn is_worth(detail: &Alike<'_>) -> bool {
    !is_plain(&detail.relief.outline) && by_hand(detail) > PRINTED_MINUTES + LEAST_SAVED
}

/// Minutes for all that have the outline.
fn by_hand(detail: &Alike<'_>) -> f64 {
    let along: f64 = detail.relief.outline.edges().map(|(a, b)| a.distance(b)).sum();
    detail.details.len() as f64 * (SET_DOWN_MINUTES + CUT_MINUTES * along / 100.0)
}

/// Whether an outline is a disc or a rectangle.
fn is_plain(outline: &Region) -> bool {
    /// Share of the area that a disc of the same perimeter has (the isoperimetric quotient, any handbook); 1 for a
    /// disc. A regular polygon of 20 sides has 0.992.
    const ROUND: f64 = 0.99;
    let [contour] = outline.contours() else { return false };
    let along: f64 = outline.edges().map(|(a, b)| a.distance(b)).sum();
    let round = 4.0 * std::f64::consts::PI * outline.area() / (along * along) > ROUND;
    let square = contour.len() == 4
        && (0..4).all(|i| {
            let [a, b, c] = [contour[i], contour[(i + 1) % 4], contour[(i + 2) % 4]];
            let (before, after) = ((b - a).normalize_or_zero(), (c - b).normalize_or_zero());
            before.dot(after).abs() < 0.02
        });
    round || square
}
