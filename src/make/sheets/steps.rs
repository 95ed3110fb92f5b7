//! The making in steps, each to be checked off, in the order in which it is done (common practice, no source).

use super::{kind::ShapeKind, pieces::has_pieces, sentences::Sentences};
use crate::{
    icing::{self, LaidIcing},
    shared_name::listed,
};
use plan::{
    design::{Covering, Depth, Detail, MaterialKind, Operation, Tool},
    support::capital,
};

/// Before the carving.
const CHILL: &str =
    "Chill the stack until it is firm. Stand it on a turntable and mark the front on the board.";

/// Where layers are laid of pieces.
const PIECES: &str = "Cut the sheet cakes into their pieces and lay these side by side, layer by layer, as drawn on the page \
     for cutting the sheet cakes: filling between them as between the layers.";

impl Sentences<'_> {
    /// From what is modelled days before to what is put on last.
    pub fn steps(&self) -> Vec<String> {
        let mut steps = self.days_before();
        steps.extend(self.moulded());
        let fast = self.plan.design.centre_dowel.as_ref().is_some_and(|dowel| dowel.fast);
        steps.extend(self.centre_dowel().filter(|_| fast).map(str::to_owned));
        steps.extend(self.upside_down());
        if has_pieces(self.plan) {
            steps.push(PIECES.to_owned());
        }
        steps.push(CHILL.to_owned());
        steps.extend(self.centre_dowel().filter(|_| !fast).map(str::to_owned));
        steps.extend(self.carve());
        steps.extend(self.in_the_cake(Operation::Cut, "Then the details in the cake, by their templates"));
        steps.extend(self.in_the_cake(Operation::Add, "Fix on the carved cake what the coats go over"));
        steps.push("Brush off the crumbs, patch where cake falls short, chill again.".to_owned());
        steps.extend(self.coats());
        steps
    }

    fn details(&self, depth: Depth, operation: Operation) -> Vec<&Detail> {
        let all = self.plan.design.details.iter();
        all.filter(|detail| detail.depth == depth && detail.operation == operation).collect()
    }

    /// Handles, rings and the like, which dry before they bear themselves: each with the sausage that it is rolled from.
    fn days_before(&self) -> Vec<String> {
        let adds = [Depth::Coating, Depth::Icing].map(|depth| self.details(depth, Operation::Add)).concat();
        let mut rolled: Vec<(String, Vec<&str>)> = Vec::new();
        for detail in adds {
            let Some(roll) = self.roll(detail).filter(|_| !goes_round(detail)) else { continue };
            match rolled.iter_mut().find(|(other, _)| *other == roll) {
                Some((_, names)) => names.push(&detail.name),
                None => rolled.push((roll, vec![&detail.name])),
            }
        }
        let step = |(roll, names): &(String, Vec<&str>)| {
            let each = if names.len() > 1 { "each " } else { "" };
            format!(
                "Days before, so that it dries hard: {}: {each}{roll}. Push a food-grade stick into each end that joins \
                 the cake, let it stand out by a thumb's breadth, and count every stick in.",
                listed(names)
            )
        };
        rolled.iter().map(step).collect()
    }

    /// Bands round the cake, which are laid on soft: each with the sausage that it is rolled from.
    fn bands(&self) -> Vec<String> {
        let adds = [Depth::Coating, Depth::Icing].map(|depth| self.details(depth, Operation::Add)).concat();
        let bands = adds.into_iter().filter(|detail| goes_round(detail));
        bands
            .filter_map(|detail| {
                let roll = self.roll(detail)?;
                Some(format!(
                    "{}: {roll} while it is soft, its ends joined at the back.",
                    capital(&detail.name)
                ))
            })
            .collect()
    }

    /// The sausage that a bar or a ring is rolled from.
    fn roll(&self, detail: &Detail) -> Option<String> {
        let (length, thick, thin) = match &detail.tool {
            Tool::Bar { stations } => {
                let along: f64 = stations.windows(2).map(|pair| pair[0].0.distance(pair[1].0)).sum();
                let radii = || stations.iter().map(|(_, radius)| *radius);
                let (first, last) = (stations.first()?.1, stations.last()?.1);
                (along + first + last, radii().fold(0.0, f64::max), radii().fold(f64::INFINITY, f64::min))
            }
            Tool::Ring { radius, bar_radius, .. } => {
                (std::f64::consts::TAU * radius, *bar_radius, *bar_radius)
            }
            _ => return None,
        };
        let of = detail.material.as_ref().map_or(String::new(), |material| format!(" of {}", material.name));
        let thickness = if thick - thin > THICKNESS_SEEN {
            format!("{} thick, tapering to {}", self.mm(2.0 * thick), self.mm(2.0 * thin))
        } else {
            format!("{} thick", self.mm(2.0 * thick))
        };
        let laid = if goes_round(detail) {
            ", and lay it round the cake"
        } else if is_straight(&detail.tool) {
            ""
        } else {
            ", and bend it to its line"
        };
        Some(format!("roll a sausage{of} {} long, {thickness}{laid}", self.mm(length)))
    }

    fn upside_down(&self) -> Vec<String> {
        let step = |tier: &super::form::UpsideDown| {
            format!(
                "Better upside down: \u{201c}{}\u{201d} tapers downward by {} up to height {}. Before it joins the stack, \
                 stand it on its head on a spare board, carve that stretch from above where the knife can be seen, lay \
                 its own board on, turn it over with a second pair of hands, and stack it.",
                tier.tier,
                self.mm(tier.taper),
                self.mm(tier.to)
            )
        };
        self.order.upside_down.iter().map(step).collect()
    }

    /// Layers that are cast or moulded, which no knife touches.
    fn moulded(&self) -> Option<String> {
        let layers = self.plan.design.tiers.iter().flat_map(|tier| &tier.layers);
        let names: Vec<&str> = layers
            .filter(|layer| layer.material.kind == MaterialKind::Firm)
            .map(|layer| layer.name.as_str())
            .collect();
        (!names.is_empty()).then(|| {
            format!(
                "Not carved: {}. It is cast or pressed to its own templates, and firm before it is stacked.",
                listed(&names)
            )
        })
    }

    fn carve(&self) -> Vec<String> {
        let pass = self.mm(self.order.pass);
        let thin = format!("Many thin passes, never a big chunk: at most {pass} each.");
        let steps: &[&str] = match self.order.kind {
            ShapeKind::Round => &[
                "Hold the silhouette against the front, film between, and score along the thick line; the same at the \
                 back and on both sides.",
                "Shave the side all round, from the top down: blade upright, one pass, turn the cake a little, the next. \
                 Stay outside the scored line until you are round once, then go round again.",
                "Where it is narrow below, work from the widest place down to it with the tip of a small knife.",
                "Then the top, from the edge to the middle.",
                "Hold the silhouette (or the comb) to it at every quarter turn, and check every height of the table \
                 overleaf: radius from the middle, all round.",
            ],
            ShapeKind::StraightSided => &[
                "Lay the outline (templates: layers) on top, film between, front to the front, and pin it with picks \
                 that you count.",
                "Cut straight down along it with a long thin blade, held upright, in short strokes: outer sides first, \
                 then inner corners and openings with a small knife, from the corner outwards.",
                "Look from the side after every stroke: the foot of the cut must stand under its head. Lay the same \
                 outline at the foot to check.",
                "Take the top down to its height last, level, from the edge to the middle.",
            ],
            ShapeKind::Free => &[
                "Hold the front silhouette against the front, film between, and score along the thick line; the same at \
                 the back with the paper turned over. Then the side silhouette on the right and the left.",
                "Sides first: shave down the left and the right, always outside the scored line. Then the front and the \
                 back.",
                "Then the corners between them: a little from each, the layer templates beside you, until no edge is \
                 left that the client does not ask for.",
                "Then the top, from the edge to the middle.",
                "Check every height of the table overleaf: radius from the middle, at each side.",
            ],
        };
        let mut all: Vec<String> = steps.iter().map(|step| (*step).to_owned()).collect();
        all.insert(1, thin);
        all
    }

    /// Details that are cut in the carved cake, or put on it before the coats.
    fn in_the_cake(&self, operation: Operation, what: &str) -> Option<String> {
        let details = self.details(Depth::Sponge, operation);
        (!details.is_empty()).then(|| format!("{what}: {}.", self.with_depths(&details)))
    }

    /// Details with how deep or thick each outline is, those of a name and a depth together.
    fn with_depths(&self, details: &[&Detail]) -> String {
        let mut by_depth: Vec<(Option<String>, Vec<&str>)> = Vec::new();
        for detail in details {
            let depth = match &detail.tool {
                Tool::Relief(relief) => Some(match detail.operation {
                    Operation::Cut => format!("{} deep", self.mm(relief.depth)),
                    Operation::Add => format!("{} thick", self.mm(relief.depth)),
                }),
                _ => None,
            };
            let of = detail.material.as_ref().map(|material| material.name.clone());
            let said: Vec<String> = [of, depth].into_iter().flatten().collect();
            let said = (!said.is_empty()).then(|| said.join(", "));
            match by_depth.iter_mut().find(|(other, _)| *other == said) {
                Some((_, names)) => names.push(&detail.name),
                None => by_depth.push((said, vec![&detail.name])),
            }
        }
        let each = |(said, names): &(Option<String>, Vec<&str>)| match said {
            Some(said) => format!("{} ({said})", listed(names)),
            None => listed(names),
        };
        by_depth.iter().map(each).collect::<Vec<_>>().join("; ")
    }

    /// A step for each coat from the inside out, with what is done between them.
    fn coats(&self) -> Vec<String> {
        let coverings = &self.plan.design.coverings;
        let spread = |covering: &Covering| covering.material.kind != MaterialKind::Paste;
        let mut steps = Vec::new();
        let mut built = false;
        for (index, covering) in coverings.iter().enumerate().rev() {
            let (name, thick) = (&covering.material.name, self.mm(covering.thickness));
            // What is built up lies between what is spread and what is rolled.
            if !built && !spread(covering) {
                steps.extend(self.built_up());
                built = true;
            }
            if spread(covering) {
                steps.push(format!(
                    "Spread {name} {thick} thick, bring it to its line a little at a time, and chill it until it is firm."
                ));
            } else {
                steps.extend(
                    LaidIcing::of(self.plan, index).map(|laid| icing::steps(&laid)).unwrap_or_default(),
                );
            }
        }
        if !built {
            steps.extend(self.built_up());
        }
        let pressed = self.details(Depth::Icing, Operation::Cut);
        if !pressed.is_empty() {
            steps.push(format!(
                "At once, within minutes, while the outermost coat is soft: press in {}.",
                self.with_depths(&pressed)
            ));
        }
        steps.extend(self.bands());
        let mut put_on = self.details(Depth::Icing, Operation::Add);
        put_on.retain(|detail| !goes_round(detail));
        if !put_on.is_empty() {
            steps.push(format!("Once it is firm, fix on: {}.", self.with_depths(&put_on)));
        }
        steps
    }

    /// What the even coat does not reach, and what is cut into it and put on it before the icing.
    fn built_up(&self) -> Vec<String> {
        let mut steps = Vec::new();
        let lost = self.plan.lines.lost();
        if let Some(worst) = lost.iter().map(|lost| lost.by).max_by(f64::total_cmp) {
            let low = lost.iter().map(|lost| lost.heights.0).fold(f64::INFINITY, f64::min);
            let high = lost.iter().map(|lost| lost.heights.1).fold(0.0, f64::max);
            let (low, high) = (self.mm(low), self.mm(high));
            let heights = if low == high {
                format!("at height {low}")
            } else {
                format!("between heights {low} and {high}")
            };
            steps.push(format!(
                "Build up by hand with the coat's own material what an even coat does not reach: edges and ridges \
                 {heights}, by up to {}; check with the silhouettes.",
                self.mm(worst)
            ));
        }
        let cut = self.details(Depth::Coating, Operation::Cut);
        if !cut.is_empty() {
            steps.push(format!("Cut into the firm coat, by their templates: {}.", self.with_depths(&cut)));
        }
        let mut on = self.details(Depth::Coating, Operation::Add);
        on.retain(|detail| !goes_round(detail));
        if !on.is_empty() {
            steps.push(format!("Fix on the firm coat: {}.", self.with_depths(&on)));
        }
        steps
    }
}

/// Whether a detail is a ring that lies level about the axis.
fn goes_round(detail: &Detail) -> bool {
    /// Nearer to upright than some 15°.
    const UPRIGHT: f64 = 0.96;
    match &detail.tool {
        Tool::Ring { centre, axis, radius, .. } => {
            axis.z.abs() > UPRIGHT && centre.truncate().length() < *radius
        }
        _ => false,
    }
}

/// Whether a bar runs straight from end to end.
fn is_straight(tool: &Tool) -> bool {
    let Tool::Bar { stations } = tool else { return false };
    let (Some((first, _)), Some((last, _))) = (stations.first(), stations.last()) else { return true };
    let along: f64 = stations.windows(2).map(|pair| pair[0].0.distance(pair[1].0)).sum();
    along - first.distance(*last) < 0.01 * along
}

/// A taper of less is none, mm of radius.
const THICKNESS_SEEN: f64 = 0.5;
