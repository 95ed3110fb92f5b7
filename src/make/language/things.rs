//! What things in a cake are called: layers, fillings, boards and dowels, lists of them, and directions.

use geom::units::{Unit, UnitStyle};
use plan::{
    Plan,
    pantry::{About, PanShape, Trouble},
    stack::{Slab, SlabKind},
    support::{Check, HiddenCount, Question, Spot, on_its_own},
};

use super::{Language, filled};

impl Language {
    /// What a part of `plan` is called whose name there is `name`: a layer by its own name, all others by where they are.
    pub fn part(&self, plan: &Plan, name: &str) -> String {
        if let Some(number) = plan.stack.slabs.iter().position(|slab| slab.name == name) {
            return self.slab(plan, number);
        }
        if let Some(dowel) = plan.stack.dowels.iter().find(|dowel| dowel.name == name) {
            let Some(tier) = dowel.tier else { return self.thing.centre_dowel.clone() };
            let before = plan.stack.dowels.iter().take_while(|other| other.name != name);
            let number = before.filter(|other| other.tier == Some(tier)).count() + 1;
            let tier = plan.design.tiers.get(tier).map_or("", |tier| tier.name.as_str());
            return filled(&self.thing.dowel, &[("tier", tier), ("number", &number.to_string())]);
        }
        if let Some(tier) = plan.design.tiers.iter().find(|tier| on_its_own(&tier.name) == name) {
            return filled(&self.thing.on_its_own, &[("tier", &tier.name)]);
        }
        self.name(name).to_owned()
    }

    /// What the slab with this number in the stack of `plan` is called.
    pub fn slab(&self, plan: &Plan, number: usize) -> String {
        let Some(slab) = plan.stack.slabs.get(number) else { return String::new() };
        match slab.kind {
            SlabKind::Layer => slab.name.clone(),
            SlabKind::Board => {
                let tier = plan.design.tiers.get(slab.tier).map_or("", |tier| tier.name.as_str());
                filled(&self.thing.board, &[("tier", tier)])
            }
            SlabKind::Filling => {
                let below = number.checked_sub(1).and_then(|below| plan.stack.slabs.get(below));
                let below = below.map_or("", |below: &Slab| below.name.as_str());
                filled(&self.thing.filling, &[("layer", below)])
            }
        }
    }

    /// What a line of the cake is called whose name in the plan is `name`.
    pub fn line(&self, name: &str) -> String {
        let words = &self.report;
        match (name, name.strip_prefix("under ")) {
            ("finished", _) => words.finished_line.clone(),
            ("coated", _) => words.coated_line.clone(),
            ("carved", _) => words.carved_line.clone(),
            (_, Some(material)) => filled(&words.under_line, &[("material", self.name(material))]),
            _ => name.to_owned(),
        }
    }

    /// What is hidden in the cake, and where; `size` writes lengths.
    pub fn hidden(&self, hidden: &HiddenCount, size: impl Fn(f64) -> String) -> (String, String) {
        let thing = self.name(&hidden.thing);
        let what = match hidden.size {
            Some(mm) => filled(&self.hidden.sized, &[("material", thing), ("size", &size(mm))]),
            None => thing.to_owned(),
        };
        let place = match &hidden.spot {
            Spot::Under(tier) => filled(&self.hidden.under, &[("tier", tier)]),
            Spot::In(tier) => filled(&self.hidden.r#in, &[("tier", tier)]),
            Spot::Middle => self.hidden.middle.clone(),
            Spot::Told(told) => told.clone().unwrap_or_else(|| self.hidden.somewhere.clone()),
        };
        (what, place)
    }

    /// What was checked of `plan` and how it is fixed: in words of the language's own by its code, else as the plan says it.
    pub fn checked(&self, plan: &Plan, check: &Check) -> (String, String) {
        match self.finding(check.code.as_str()) {
            Some(words) => {
                let about = self.part(plan, &check.about);
                let named = |words: &str| filled(words, &[("about", &about)]);
                (named(&words.what), named(&words.fix))
            }
            None => (check.said.clone(), check.fix.words.clone()),
        }
    }

    /// What is said of what has this code and names `about`, and how it is fixed: in words of the language's own, else
    /// `own`.
    pub fn told(&self, code: &str, about: &[String], own: (&str, &str)) -> (String, String) {
        match self.finding(code) {
            Some(words) => {
                let names = self.names(about);
                let named = |words: &str| filled(words, &[("about", &names)]);
                (named(&words.what), named(&words.fix))
            }
            None => (own.0.to_owned(), own.1.to_owned()),
        }
    }

    /// What the pantry does not fit and how it is fixed: in words of the language's own by its code, else as it is said.
    /// `unit` is that of the maker.
    pub fn trouble(&self, trouble: &Trouble, unit: Unit) -> (String, String) {
        let about = match &trouble.about {
            About::Nothing => Vec::new(),
            About::Pan(shape) => vec![self.pan(*shape, unit)],
            About::Names(names) => names.clone(),
        };
        self.told(trouble.code, &about, (&trouble.message, &trouble.fix))
    }

    /// When and where something is asked of the cake, with how warm it is there.
    pub fn asked(&self, question: Question, room: &str) -> String {
        let words = &self.steady;
        match question {
            Question::Bench => words.bench.clone(),
            Question::Carving => words.carving.clone(),
            Question::Venue => filled(&words.venue, &[("room", room)]),
            Question::Car => words.car.clone(),
            Question::People => words.people.clone(),
        }
    }

    /// A pan by its form and the size that its maker gives it.
    pub fn pan(&self, shape: PanShape, unit: Unit) -> String {
        let size = |mm: f64| self.style(UnitStyle::new(unit)).pan_size(mm);
        let sized = |words: &str, mm: f64| filled(words, &[("size", &size(mm))]);
        match shape {
            PanShape::Round(mm) => sized(&self.thing.round, mm),
            PanShape::HalfBall(mm) => sized(&self.thing.half_ball, mm),
            PanShape::Rectangle(width, depth) if (width - depth).abs() < SAME => {
                sized(&self.thing.square, width)
            }
            PanShape::Rectangle(width, depth) => format!("{} × {}", size(width), size(depth)),
        }
    }

    /// A bearing (degrees counter-clockwise from the front) in words: "front right", or "between front and front right"
    /// where it lies nearer to the middle of two.
    pub fn bearing(&self, degrees: f64) -> String {
        match self.ways(degrees) {
            (low, high) if low == high => low.to_owned(),
            (low, high) => filled(&self.side.between, &[("low", low), ("high", high)]),
        }
    }

    /// The same as a place: "at the front right", or "between front and front right".
    pub fn at_bearing(&self, degrees: f64) -> String {
        match self.ways(degrees) {
            (low, high) if low == high => filled(&self.side.at, &[("side", low)]),
            _ => self.bearing(degrees),
        }
    }

    /// A place beside the middle, mm to the right and to the back, as "20 mm right, 20 mm front".
    pub fn place(&self, style: UnitStyle, right: f64, back: f64) -> String {
        let side = |mm: f64, more: usize, less: usize| {
            let text = style.length_alone(mm.abs());
            let side = &self.side.names[if mm < 0.0 { less } else { more }];
            (!text.starts_with("0 ")).then(|| format!("{text} {side}"))
        };
        let sides: Vec<String> = [side(right, 2, 6), side(back, 4, 0)].into_iter().flatten().collect();
        if sides.is_empty() { self.side.middle.clone() } else { sides.join(", ") }
    }

    /// The one or two names that a bearing lies at or between.
    fn ways(&self, degrees: f64) -> (&str, &str) {
        const EIGHTH: f64 = 45.0;
        // Sixteen ways: every other one is named, those between lie between two names.
        let way = (degrees.rem_euclid(360.0) / (EIGHTH / 2.0)).round() as usize % 16;
        (&self.side.names[way / 2], &self.side.names[way.div_ceil(2) % 8])
    }

    /// Names one after the other, the last two joined by "and".
    pub fn joined(&self, names: &[String]) -> String {
        match names {
            [] => String::new(),
            [one] => one.clone(),
            [first @ .., last] => filled(&self.join.both, &[("first", &first.join(", ")), ("last", last)]),
        }
    }
}

/// Sides closer than this are equal, mm.
const SAME: f64 = 1e-6;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_reads_as_one() {
        let english = Language::english();
        assert_eq!(english.at_bearing(180.0), "at the back");
        assert_eq!(english.at_bearing(340.0), "between front left and front");
        assert_eq!(Language::shipped("de").unwrap().at_bearing(180.0), "hinten");
    }

    #[test]
    fn a_bearing_is_a_side_or_between_two() {
        for (degrees, words) in [
            (0.0, "front"),
            (359.0, "front"),
            (-5.0, "front"),
            (90.0, "right"),
            (112.0, "between right and back right"),
            (225.0, "back left"),
            (285.0, "between left and front left"),
            (340.0, "between front left and front"),
        ] {
            assert_eq!(Language::english().bearing(degrees), words, "{degrees}");
        }
    }
}
