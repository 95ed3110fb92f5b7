//! What of a kit is worth printing for one cake: a rule for each group.
//!
//! A part is proposed where nothing that a maker owns does its work as well: no pan, no knife, no straight edge, no
//! template of paper. Everything else is drawn when it is asked for by name, or all of it is.

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

/// Whether a group is worth printing for a cake, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// The group.
    pub group: Group,
    /// What of it.
    pub extent: Extent,
    /// Why, or why not, as one sentence.
    pub reason: String,
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
                other => (Extent::Nothing, done_otherwise(other, plan.lines.is_turned()).to_owned()),
            };
            Choice { group, extent, reason }
        })
        .collect()
}

/// What does the work of a group that is proposed for no cake.
fn done_otherwise(group: Group, turned: bool) -> &'static str {
    match group {
        Group::SwingFormers if turned => "a scraper on its foot does the same, and needs no longer dowel",
        Group::GuideDiscs if turned => "two cake cards cut to the paper templates do as well",
        Group::SwingFormers | Group::GuideDiscs => {
            "the shape is not turned, and they follow only one that is"
        }
        Group::Cradle => "the cake is carried on its board, in a box that holds the board by its edges",
        Group::RingGauges if turned => {
            "a tape round the side, at the heights of the cutting sheet, does as well"
        }
        Group::RingGauges => "the paper templates of the layers check the same heights",
        Group::DepthGauges => "a skewer marked at the depth does as well",
        Group::BoardTemplates => "the paper template of the board, and a pencil through it, does as well",
        Group::DowelGuides => "the paper template and a small set square do as well",
        Group::LevellingRings => "a levelling wire, or a knife on two strips of the height, does as well",
        // The others have rules of their own.
        Group::Scrapers | Group::Combs | Group::FootMould | Group::Cutters | Group::Stamps => "",
    }
}

/// The line that a scraper works to: the outside of the outermost coat that is spread; `None` if nothing is spread.
pub fn spread_line(plan: &Plan) -> Option<(&Line, &str)> {
    let spread = |kind: MaterialKind| matches!(kind, MaterialKind::Coating | MaterialKind::Filling);
    let index = plan.design.coverings.iter().position(|covering| spread(covering.material.kind))?;
    Some((plan.lines.all().get(index)?, &plan.design.coverings[index].material.name))
}

/// The scraper for the coat that is spread, unless a straight scraper does it.
fn scrapers(plan: &Plan, printing: &Printing) -> (Extent, String) {
    let nothing = |reason: &str| (Extent::Nothing, reason.to_owned());
    let Some((line, material)) = spread_line(plan) else {
        return nothing("nothing is spread over this cake, so nothing is scraped");
    };
    if !plan.lines.is_turned() && printing.bearings.is_empty() {
        return nothing("a plate sweeps only a turned shape; smooth the coat with a bent strip of acetate");
    }
    if plan.lines.is_turned() && is_upright(&Silhouette::new(line)) && printing.bearings.is_empty() {
        return nothing("the side is straight and upright: a straight metal scraper does as well");
    }
    let reason =
        format!("one turn of the cake brings the {material} to its line; no straight edge follows it");
    (Extent::Of(vec![line.name.clone()]), reason)
}

/// The comb for the carved line, where carving makes a curve.
fn combs(plan: &Plan) -> (Extent, String) {
    let carved = plan.lines.carved();
    if !plan.lines.is_turned() {
        let reason = "the paper silhouettes, glued on card and cut out, check each side as well";
        return (Extent::Nothing, reason.to_owned());
    }
    let silhouette = Silhouette::new(carved);
    if is_straight(&silhouette) {
        return (Extent::Nothing, "the carved side is straight: a ruler laid on it does as well".to_owned());
    }
    let reason = "shows while you carve where the knife must still go, so that the coat comes out even";
    (Extent::Of(vec![carved.name.clone()]), reason.to_owned())
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
fn foot_mould(plan: &Plan) -> (Extent, String) {
    let layers = plan.design.tiers.first().map_or(&[][..], |tier| &tier.layers);
    let firm = !layers.is_empty() && layers.iter().all(|layer| layer.material.kind == MaterialKind::Firm);
    if !firm {
        return (Extent::Nothing, "the foot is cake, or no layer at all".to_owned());
    }
    if layers.iter().any(|layer| layer.material.like == "cereal treat") || !plan.lines.is_turned() {
        let reason =
            "the foot is pressed by hand to the paper templates, in film, and trimmed when it is firm";
        return (Extent::Nothing, reason.to_owned());
    }
    (Extent::Whole, "the foot is cast or pressed in one piece, which no pan and no knife gives".to_owned())
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
fn by_hand_or_printed(plan: &Plan, stamps: bool) -> (Extent, String) {
    let pressed = |detail: &Detail| detail.depth != Depth::Sponge;
    let found: Vec<Alike<'_>> = alike(&plan.design)
        .into_iter()
        .filter(|detail| detail.pressed == stamps && detail.details.iter().all(|detail| pressed(detail)))
        .collect();
    if found.is_empty() {
        let what = if stamps {
            "nothing is pressed into the icing or the coating"
        } else {
            "nothing is cut from paste"
        };
        return (Extent::Nothing, what.to_owned());
    }
    let worth: Vec<&Alike<'_>> = found.iter().filter(|detail| is_worth(detail)).collect();
    if worth.is_empty() {
        let plain = found.iter().all(|detail| is_plain(&detail.relief.outline));
        let reason = match (plain, stamps) {
            (true, false) => "round cutters, or a ruler and a knife, do as well",
            (true, true) => "the rim of a round cutter, or the edge of a ruler, presses them in as well",
            (false, false) => "so few are sooner cut by hand along the paper templates",
            (false, true) => "so few are sooner pressed in by hand along the paper templates",
        };
        return (Extent::Nothing, reason.to_owned());
    }
    let minutes: f64 = worth.iter().map(|detail| by_hand(detail)).sum();
    let reason = format!(
        "by hand they take about {minutes:.0} min, {} about {:.0} min of your time",
        if stamps { "stamps" } else { "cutters" },
        PRINTED_MINUTES * worth.len() as f64
    );
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
