//! The making in steps, each to be checked off, in the order in which it is done (common practice, no source).

use super::{kind::ShapeKind, pieces::has_pieces, sentences::Sentences};
use crate::{
    icing::{self, LaidIcing},
    language::filled,
    rolled::{drying_hours, sausages},
    shared_name::listed,
};
use plan::{
    design::{Covering, Depth, Detail, FootprintShape, MaterialKind, Operation, Ribbon, Tool},
    support::capital,
};

impl Sentences<'_> {
    /// From what is modelled days before to what is put on last.
    pub fn steps(&self) -> Vec<String> {
        let words = &self.language().step;
        let mut steps = self.days_before();
        steps.extend(self.iced_board());
        steps.extend(self.moulded());
        let fast = self.plan.design.centre_dowel.as_ref().is_some_and(|dowel| dowel.fast);
        steps.extend(self.centre_dowel().filter(|_| fast).map(str::to_owned));
        steps.extend(self.upside_down());
        if has_pieces(self.plan) {
            steps.push(words.pieces.clone());
        }
        steps.push(words.chill.clone());
        steps.extend(self.centre_dowel().filter(|_| !fast).map(str::to_owned));
        steps.extend(self.carve());
        steps.extend(self.in_the_cake(Operation::Cut, &words.cut_in_cake));
        steps.extend(self.in_the_cake(Operation::Add, &words.add_on_cake));
        steps.push(words.brush.clone());
        steps.extend(self.coats());
        steps.extend(self.ribbon());
        steps
    }

    /// How the presentation board is iced before the cake stands on it.
    fn iced_board(&self) -> Option<String> {
        let board = self.plan.design.board.as_ref()?;
        let icing = board.icing.as_ref()?;
        let sheet = board.icing_sheet(self.plan.design.paper.allowance);
        let [width, depth] = sheet.map(|side| self.mm(side));
        let sheet = match board.footprint.shape {
            FootprintShape::Round { .. } => filled(&self.language().icing.across, &[("size", &width)]),
            FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => format!("{width} × {depth}"),
        };
        let said = [
            ("material", self.language().name(&icing.material.name)),
            ("thickness", &self.mm(icing.thickness)),
            ("sheet", &sheet),
        ];
        Some(filled(&self.language().step.ice_board, &said))
    }

    /// How its ribbon goes round it, last of all.
    fn ribbon(&self) -> Option<String> {
        let board = self.plan.design.board.as_ref()?;
        let (ribbon, length) = (board.ribbon?, board.ribbon_length()?);
        let said = [
            ("width", &*self.mm(ribbon.width)),
            ("length", &self.mm(length)),
            ("overlap", &self.mm(Ribbon::OVERLAP)),
        ];
        Some(filled(&self.language().step.ribbon, &said))
    }

    fn listed(&self, names: &[&str]) -> String {
        listed(names, self.language())
    }

    /// `form` with details in it.
    fn of_details(&self, form: &str, details: &[&Detail]) -> String {
        filled(form, &[("details", &self.with_depths(details))])
    }

    fn details(&self, depth: Depth, operation: Operation) -> Vec<&Detail> {
        let all = self.plan.design.details.iter();
        all.filter(|detail| detail.depth == depth && detail.operation == operation).collect()
    }

    /// Handles, rings and the like, which dry before they bear themselves: each with the sausage that it is rolled from.
    fn days_before(&self) -> Vec<String> {
        let adds = [Depth::Coating, Depth::Icing].map(|depth| self.details(depth, Operation::Add)).concat();
        let mut rolled: Vec<(String, f64, Vec<&str>)> = Vec::new();
        for detail in adds {
            let Some(roll) = self.roll(detail).filter(|_| !goes_round(detail)) else { continue };
            let thick = sausages(&detail.tool).iter().map(|one| one.thick).fold(0.0, f64::max);
            match rolled.iter_mut().find(|(other, ..)| *other == roll) {
                Some((_, _, names)) => names.push(&detail.name),
                None => rolled.push((roll, thick, vec![&detail.name])),
            }
        }
        let step = |(roll, thick, names): &(String, f64, Vec<&str>)| {
            let words = &self.language().step;
            let form = if names.len() > 1 { &words.days_before_each } else { &words.days_before };
            let days = (drying_hours(self.plan, *thick) / 24.0).ceil();
            let form = format!("{form} {}", if days > 1.0 { &words.dries } else { &words.dries_a_day });
            let days = self.language().number(days, 0);
            filled(&form, &[("names", &self.listed(names)), ("roll", roll), ("days", &days)])
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
                let named = [("name", &*capital(&detail.name)), ("roll", &roll)];
                Some(filled(&self.language().step.band, &named))
            })
            .collect()
    }

    /// The sausage that a bar or a ring is rolled from; `None` for anything else, and for a roll, which is laid.
    fn roll(&self, detail: &Detail) -> Option<String> {
        if matches!(detail.tool, Tool::Roll(_)) {
            return None;
        }
        let sausage = *sausages(&detail.tool).first()?;
        let words = &self.language().step;
        let roll = self.sausage(&sausage, detail.material.as_ref());
        Some(if goes_round(detail) {
            filled(&words.lay_round, &[("roll", &roll)])
        } else if is_straight(&detail.tool) {
            roll
        } else {
            filled(&words.bend, &[("roll", &roll)])
        })
    }

    fn upside_down(&self) -> Vec<String> {
        let step = |tier: &super::form::UpsideDown| {
            filled(
                &self.language().step.upside_down,
                &[("tier", &tier.tier), ("taper", &self.mm(tier.taper)), ("height", &self.mm(tier.to))],
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
        (!names.is_empty()).then(|| filled(&self.language().step.moulded, &[("names", &self.listed(&names))]))
    }

    fn carve(&self) -> Vec<String> {
        let words = &self.language().step;
        let thin = filled(&words.passes, &[("pass", &self.mm(self.order.pass))]);
        let steps: &[&String] = match self.order.kind {
            ShapeKind::Round => &[
                &words.round_outline,
                &words.round_side,
                &words.round_below,
                &words.to_middle,
                &words.round_check,
            ],
            ShapeKind::StraightSided => {
                &[&words.straight_outline, &words.straight_cut, &words.straight_check, &words.straight_top]
            }
            ShapeKind::Free => &[
                &words.free_outline,
                &words.free_sides,
                &words.free_corners,
                &words.to_middle,
                &words.free_check,
            ],
        };
        let mut all: Vec<String> = steps.iter().map(|step| (*step).clone()).collect();
        all.insert(1, thin);
        all
    }

    /// Details that are cut in the carved cake, or put on it before the coats.
    fn in_the_cake(&self, operation: Operation, form: &str) -> Option<String> {
        let details = self.details(Depth::Sponge, operation);
        (!details.is_empty()).then(|| self.of_details(form, &details))
    }

    /// Details with how deep or thick each outline is, those of a name and a depth together.
    fn with_depths(&self, details: &[&Detail]) -> String {
        let words = &self.language().step;
        let mut by_depth: Vec<(Option<String>, Vec<&str>)> = Vec::new();
        for detail in details {
            let depth = match &detail.tool {
                Tool::Relief(relief) => Some(match detail.operation {
                    Operation::Cut => filled(&words.deep, &[("depth", &self.mm(relief.depth))]),
                    Operation::Add => filled(&words.thick, &[("depth", &self.mm(relief.depth))]),
                }),
                _ => None,
            };
            let of = detail.material.as_ref().map(|material| self.language().name(&material.name).to_owned());
            let said: Vec<String> = [of, depth].into_iter().flatten().collect();
            let said = (!said.is_empty()).then(|| said.join(", "));
            match by_depth.iter_mut().find(|(other, _)| *other == said) {
                Some((_, names)) => names.push(&detail.name),
                None => by_depth.push((said, vec![&detail.name])),
            }
        }
        let each = |(said, names): &(Option<String>, Vec<&str>)| match said {
            Some(said) => format!("{} ({said})", self.listed(names)),
            None => self.listed(names),
        };
        by_depth.iter().map(each).collect::<Vec<_>>().join("; ")
    }

    /// A step for each coat from the inside out, with what is done between them.
    fn coats(&self) -> Vec<String> {
        let coverings = &self.plan.design.coverings;
        let spread = |covering: &Covering| covering.material.kind != MaterialKind::Paste;
        let words = &self.language().step;
        let mut steps = Vec::new();
        let mut built = false;
        for (index, covering) in coverings.iter().enumerate().rev() {
            let (name, thick) = (self.language().name(&covering.material.name), self.mm(covering.thickness));
            // What is built up lies between what is spread and what is rolled.
            if !built && !spread(covering) {
                steps.extend(self.built_up());
                built = true;
            }
            if spread(covering) {
                steps.push(capital(&filled(&words.spread, &[("material", name), ("thickness", &thick)])));
                for zone in &covering.zones {
                    let of = [("zone", &*zone.name), ("material", self.language().name(&zone.material.name))];
                    let named = filled(&self.language().icing.zone, &of);
                    let said = [("material", &*named), ("thickness", &*thick)];
                    steps.push(capital(&filled(&words.spread, &said)));
                }
            } else {
                let laid = LaidIcing::of(self.plan, index, self.language());
                steps.extend(laid.iter().flat_map(icing::steps));
            }
        }
        if !built {
            steps.extend(self.built_up());
        }
        let pressed = self.details(Depth::Icing, Operation::Cut);
        if !pressed.is_empty() {
            steps.push(self.of_details(&words.press, &pressed));
        }
        steps.extend(self.bands());
        steps.extend(self.laid_rolls());
        let mut put_on = self.details(Depth::Icing, Operation::Add);
        put_on.retain(|detail| !goes_round(detail) && !matches!(detail.tool, Tool::Roll(_)));
        if !put_on.is_empty() {
            steps.push(self.of_details(&words.put_on, &put_on));
        }
        steps.extend(self.finishes());
        steps
    }

    /// What the even coat does not reach, and what is cut into it and put on it before the icing.
    fn built_up(&self) -> Vec<String> {
        let words = &self.language().step;
        let mut steps = Vec::new();
        let lost = self.plan.lines.lost();
        if let Some(worst) = lost.iter().map(|lost| lost.by).max_by(f64::total_cmp) {
            let low = lost.iter().map(|lost| lost.heights.0).fold(f64::INFINITY, f64::min);
            let high = lost.iter().map(|lost| lost.heights.1).fold(0.0, f64::max);
            let (low, high) = (self.mm(low), self.mm(high));
            let worst = self.mm(worst);
            steps.push(if low == high {
                filled(&words.build_up_at, &[("height", &low), ("worst", &worst)])
            } else {
                filled(&words.build_up, &[("low", &low), ("high", &high), ("worst", &worst)])
            });
        }
        let cut = self.details(Depth::Coating, Operation::Cut);
        if !cut.is_empty() {
            steps.push(self.of_details(&words.cut_in_coat, &cut));
        }
        let mut on = self.details(Depth::Coating, Operation::Add);
        on.retain(|detail| !goes_round(detail));
        if !on.is_empty() {
            steps.push(self.of_details(&words.add_on_coat, &on));
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
