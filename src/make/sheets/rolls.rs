//! Steps for sausages: how each is rolled, and where it is laid.

use super::sentences::Sentences;
use crate::{
    language::filled,
    rolled::{Rolled, Sausage, rolled},
    shared_name::shared_name_of,
};
use plan::{
    design::{Along, Border, Detail, Material, Roll, Strand, Tool},
    rolls::PITCH,
    support::capital,
};

impl Sentences<'_> {
    /// "roll a sausage of sugar paste 78 cm long, 6 mm thick".
    pub(super) fn sausage(&self, sausage: &Sausage, material: Option<&Material>) -> String {
        let words = &self.language().step;
        let thick = self.mm(sausage.thick);
        let thickness = match sausage.thin {
            Some(thin) => filled(&words.tapering, &[("thick", &thick), ("thin", &self.mm(thin))]),
            None => filled(&words.thick, &[("depth", &thick)]),
        };
        let (form, material) = match material {
            Some(material) => (&words.roll_of, self.language().name(&material.name)),
            None => (&words.roll, ""),
        };
        let sizes =
            [("material", material), ("length", &*self.mm(sausage.length)), ("thickness", &thickness)];
        let roll = filled(form, &sizes);
        match sausage.pieces() {
            1 => roll,
            count => {
                let each = self.mm(sausage.length / f64::from(count));
                filled(&words.in_pieces, &[("roll", &roll), ("count", &count.to_string()), ("length", &each)])
            }
        }
    }

    /// Rolls, which are laid on the icing while they are soft: a step for each, in all its places.
    pub(super) fn laid_rolls(&self) -> Vec<String> {
        let laid = |one: &Rolled<'_>| {
            let first = one.details.first()?;
            let Tool::Roll(roll) = &first.tool else { return None };
            let words = &self.language().step;
            let form = if one.details.len() > 1 { &words.laid_each } else { &words.laid };
            let details: Vec<&Detail> = one.details.iter().collect();
            let said = [
                ("name", &*capital(&shared_name_of(&details, self.language()))),
                ("roll", &self.rolled_as(one, roll)),
                ("mass", &self.grams(one.mass)),
                ("lay", &self.lay(roll)),
            ];
            Some(filled(form, &said))
        };
        rolled(self.plan).iter().filter_map(laid).collect()
    }

    /// What is rolled for one place of a roll.
    fn rolled_as(&self, one: &Rolled<'_>, roll: &Roll) -> String {
        let words = &self.language().step;
        let sausages = one.sausages.iter().map(|sausage| {
            let told = self.sausage(sausage, Some(one.material));
            match (roll.twisted, sausage.count) {
                (true, 2) => filled(&words.strands, &[("roll", &told)]),
                (_, 1) => told,
                (_, count) => filled(&words.alike, &[("count", &count.to_string()), ("roll", &told)]),
            }
        });
        let mut told: Vec<String> = sausages.collect();
        if roll.twisted {
            told.push(filled(&words.twist, &[("length", &self.mm(PITCH * roll.diameter))]));
        }
        told.join("; ")
    }

    /// Where a roll is laid.
    fn lay(&self, roll: &Roll) -> String {
        let words = &self.language().step;
        let zone = roll.zone.as_ref().map(|(zone, border)| (zone.as_str(), *border));
        let mut lay = match (&roll.along, zone) {
            (Along::Outline(_) | Along::Rim, Some((zone, _))) => filled(&words.lay_border, &[("zone", zone)]),
            (Along::Height(_), Some((zone, Border::Upper))) => filled(&words.lay_upper, &[("zone", zone)]),
            (Along::Height(_), Some((zone, Border::Lower))) => filled(&words.lay_lower, &[("zone", zone)]),
            (Along::Foot, _) => words.lay_foot.clone(),
            (Along::Rim | Along::Outline(_), _) => words.lay_rim.clone(),
            (Along::Height(height), None) => filled(&words.lay_height, &[("height", &self.mm(*height))]),
            (Along::Path(path), _) => {
                let (first, last) = (path.first().copied(), path.last().copied());
                let (first, last) = (first.unwrap_or_default(), last.unwrap_or_default());
                let said = [
                    ("low", &*self.mm(first.y)),
                    ("from", &self.bearing(first.x)),
                    ("high", &self.mm(last.y)),
                    ("to", &self.bearing(last.x)),
                ];
                filled(&words.lay_path, &said)
            }
        };
        if let Some((from, to)) = roll.between {
            let said = [("lay", &*lay), ("from", &self.bearing(from)), ("to", &self.bearing(to))];
            lay = filled(&words.lay_between, &said);
        }
        if roll.sunk {
            lay = filled(&words.press_half, &[("lay", &lay)]);
        }
        if roll.strands().iter().any(Strand::is_closed) {
            let seam = self.language().at_bearing(180.0);
            let in_pieces = roll.strands().iter().any(|strand| strand.length() > crate::rolled::LONGEST);
            let form = if in_pieces { &words.joints_at } else { &words.joined_at };
            lay = filled(form, &[("lay", &lay), ("seam", &seam)]);
        }
        lay
    }

    fn grams(&self, grams: f64) -> String {
        self.language().style(self.plan.design.style).mass_alone(grams)
    }

    /// "front right (45°)".
    fn bearing(&self, degrees: f64) -> String {
        let degrees = degrees.rem_euclid(360.0);
        let angle = self.language().number(degrees, usize::from((degrees - degrees.round()).abs() > 0.05));
        let side = self.language().bearing(degrees);
        filled(&self.language().step.at_angle, &[("side", &side), ("angle", &angle)])
    }
}
