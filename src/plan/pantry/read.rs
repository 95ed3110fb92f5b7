//! One layer of the pantry read over another, every wrong number told where it is written.

mod settings;

use super::{BoardKind, Declared, DowelKind, Filled, Goods, Pan, PanShape, Pantry, Price, Recipe, packs};
use crate::design::material;
use cakefile::{
    Diagnostic, FieldPath, exactly_one,
    schema::Size,
    schema_pantry::{self as written, MOST_PRICE, OwnedPan},
};
use geom::units::Unit;
use geom::units::UnitStyle;

/// Puts what `given` says over `pantry`.
pub(super) fn apply(
    pantry: &mut Pantry,
    given: &written::Pantry,
    unit: Unit,
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) {
    let mut reader = Reader { unit, problems };
    reader.things(pantry, given, field);
    reader.recipes(pantry, given, field);
    reader.stacking(pantry, given, field);
    reader.settings(pantry, given, field);
    packs::by_region(pantry);
}

struct Reader<'a> {
    unit: Unit,
    problems: &'a mut Vec<Diagnostic>,
}

/// What a number may be.
#[derive(Clone, Copy)]
enum Range {
    /// Zero or more.
    NotNegative,
    /// More than zero.
    Above,
    /// From 0 to 1.
    Share,
    /// From 0 to 24.
    Hour,
}

impl Range {
    fn holds(self, x: f64) -> bool {
        match self {
            Self::NotNegative => x >= 0.0,
            Self::Above => x > 0.0,
            Self::Share => (0.0..=1.0).contains(&x),
            Self::Hour => (0.0..=24.0).contains(&x),
        }
    }

    fn fix(self) -> &'static str {
        match self {
            Self::NotNegative => "give a number that is 0 or more",
            Self::Above => "give a number above 0",
            Self::Share => "give a share from 0 to 1, as 0.15 for 15 %",
            Self::Hour => "give an hour of the day from 0 to 24, as 8.5 for half past eight",
        }
    }
}

impl Reader<'_> {
    fn refuse(&mut self, field: FieldPath, message: impl Into<String>, fix: impl Into<String>) {
        self.problems.push(Diagnostic::error(field, message).fix(fix));
    }

    fn size(&mut self, value: &Size, field: FieldPath) -> Option<f64> {
        match value.to_mm(self.unit) {
            Ok(mm) => Some(mm),
            Err(error) => {
                self.problems.push(Diagnostic::error(field, error.to_string()));
                None
            }
        }
    }

    fn number(&mut self, to: &mut f64, value: Option<f64>, range: Range, field: FieldPath, what: &str) {
        let Some(x) = value else { return };
        if range.holds(x) && x.is_finite() {
            *to = x;
        } else {
            self.refuse(field, format!("{what} cannot be {x}"), range.fix());
        }
    }

    fn price(&mut self, value: Option<f64>, field: FieldPath) -> Option<Price> {
        let number = value?;
        let price = Price::new(number);
        if price.is_none() {
            let fix = format!("give a number from 0 to {MOST_PRICE}");
            self.refuse(field, format!("a price cannot be {number}"), fix);
        }
        price
    }

    fn count(&mut self, value: Option<u32>, field: FieldPath, what: &str, otherwise: u32) -> u32 {
        if value == Some(0) {
            self.refuse(
                field,
                format!("{what} cannot be 0"),
                "give a whole number from 1 up, or leave it out",
            );
        }
        value.unwrap_or(otherwise).max(1)
    }

    // ── Things ──────────────────────────────────────────────────────────────────────────────────

    fn things(&mut self, pantry: &mut Pantry, given: &written::Pantry, field: &FieldPath) {
        if let Some(pans) = &given.pans {
            let at = field.key("pan");
            if pans.is_empty() {
                self.refuse(at.clone(), "the pantry has no pans", "add [[pantry.pan]] with round = \"8 in\"");
            }
            pantry.pans = (0..pans.len()).filter_map(|i| self.pan(&pans[i], &at.index(i))).collect();
        }
        if let Some(oven) = &given.oven {
            let at = field.key("oven");
            pantry.at_once = self.count(oven.at_once, at.key("at_once"), "pans at once", pantry.at_once);
            if oven.most_loads.is_some() {
                pantry.most_loads =
                    Some(self.count(oven.most_loads, at.key("most_loads"), "the most loads", 1));
            }
        }
        if let Some(boards) = &given.boards {
            let at = field.key("board");
            pantry.boards =
                boards.iter().enumerate().filter_map(|(i, b)| self.board(b, &at.index(i))).collect();
        }
        if let Some(dowels) = &given.dowels {
            let at = field.key("dowel");
            pantry.dowels =
                dowels.iter().enumerate().filter_map(|(i, d)| self.dowel(d, &at.index(i))).collect();
        }
        for (written, goods) in &given.goods {
            let at = field.key("goods").key(written);
            // What goods are called already, as cream, they keep.
            let known = pantry.goods.contains_key(written);
            let name = &if known { written.clone() } else { usual(written) };
            let mut pack = 0.0;
            self.number(&mut pack, goods.pack, Range::Above, at.key("pack"), "a pack");
            let mut each = 0.0;
            self.number(&mut each, goods.each, Range::Above, at.key("each"), "the mass of one");
            let before = pantry.goods.remove(name).unwrap_or_default();
            let read = Goods {
                pack: goods.pack.map(|_| pack).or(before.pack),
                is_own_pack: goods.pack.is_some() || before.is_own_pack,
                each: goods.each.map(|_| each).or(before.each),
                price: self.price(goods.price, at.key("price")).or(before.price),
                allergens: match &goods.allergens {
                    Some(written) => Declared::read(written),
                    None => before.allergens,
                },
            };
            pantry.goods.insert(name.clone(), read);
        }
        for (name, space) in &given.spaces {
            let at = field.key("spaces").key(name);
            let sides = [0, 1, 2].map(|i| self.size(&space[i], at.index(i)));
            if let [Some(w), Some(d), Some(h)] = sides {
                pantry.spaces.insert(name.clone(), [w, d, h]);
            }
        }
    }

    fn pan(&mut self, pan: &OwnedPan, field: &FieldPath) -> Option<Pan> {
        let given = [
            ("round", pan.round.is_some()),
            ("square", pan.square.is_some()),
            ("rectangle", pan.rectangle.is_some()),
            ("half_ball", pan.half_ball.is_some()),
        ];
        let kind = match exactly_one(&given, field) {
            Ok(kind) => kind,
            Err(problem) => {
                self.problems.push(problem);
                return None;
            }
        };
        let shape = match kind {
            "round" => PanShape::Round(self.size(pan.round.as_ref()?, field.key(kind))?),
            "half_ball" => PanShape::HalfBall(self.size(pan.half_ball.as_ref()?, field.key(kind))?),
            "square" => {
                let side = self.size(pan.square.as_ref()?, field.key(kind))?;
                PanShape::Rectangle(side, side)
            }
            _ => {
                let [w, d] = pan.rectangle.as_ref()?;
                let at = field.key(kind);
                PanShape::Rectangle(self.size(w, at.index(0))?, self.size(d, at.index(1))?)
            }
        };
        let depth = match (&pan.depth, shape) {
            (Some(depth), _) => self.size(depth, field.key("depth"))?,
            (None, PanShape::HalfBall(d)) => d / 2.0,
            (None, _) => {
                let fix = "add depth = \"3 in\": how deep the pan is inside";
                self.refuse(field.key("depth"), "the pan has no depth", fix);
                return None;
            }
        };
        let level = match (&pan.level, shape) {
            (Some(level), _) => self.size(level, field.key("level"))?,
            (None, PanShape::HalfBall(d)) => d / 2.0,
            (None, _) => {
                let fix = "add level = 45: how high a bake out of it stands once it is levelled";
                self.refuse(field.key("level"), "the pan has no level", fix);
                return None;
            }
        };
        if level > 1.5 * depth {
            self.refuse(
                field.key("level"),
                format!(
                    "a bake out of a pan {} deep does not stand {} high once it is levelled",
                    UnitStyle::default().length_fine(depth),
                    UnitStyle::default().length_fine(level)
                ),
                "give the height once the dome is off, or the pan's right depth",
            );
        }
        let count = self.count(pan.count, field.key("count"), "the number of pans", 1);
        Some(Pan { shape, depth, level, count })
    }

    fn board(&mut self, board: &written::OwnedBoard, field: &FieldPath) -> Option<BoardKind> {
        let round = match &board.round {
            None => None,
            Some(round) => Some(self.size(round, field.key("round"))?),
        };
        let price = self.price(board.price, field.key("price"));
        let thickness = self.size(&board.thickness, field.key("thickness"))?;
        let material = usual(board.material.as_deref().unwrap_or("card board"));
        Some(BoardKind { round, thickness, material, price })
    }

    fn dowel(&mut self, dowel: &written::OwnedDowel, field: &FieldPath) -> Option<DowelKind> {
        let diameter = self.size(&dowel.diameter, field.key("diameter"));
        let length = self.size(&dowel.length, field.key("length"));
        let price = self.price(dowel.price, field.key("price"));
        let material = usual(dowel.material.as_deref().unwrap_or("wooden dowel"));
        Some(DowelKind { diameter: diameter?, length: length?, material, price })
    }

    // ── Recipes ─────────────────────────────────────────────────────────────────────────────────

    fn recipes(&mut self, pantry: &mut Pantry, given: &written::Pantry, field: &FieldPath) {
        for (written, recipe) in &given.recipes {
            let at = field.key("recipe").key(written);
            let name = &usual(written);
            let mut read = pantry.recipes.remove(name).unwrap_or_default();
            self.recipe(&mut read, recipe, &at);
            pantry.recipes.insert(name.clone(), read);
        }
    }

    fn recipe(&mut self, read: &mut Recipe, given: &written::Recipe, at: &FieldPath) {
        if let Some(parts) = &given.parts {
            for (part, &share) in parts {
                let mut grams = 0.0;
                let place = at.key("parts").key(part);
                self.number(&mut grams, Some(share), Range::NotNegative, place, "a part");
            }
            if parts.values().sum::<f64>() <= 0.0 {
                let fix = "give parts by mass, as { flour = 1, sugar = 1 }";
                self.refuse(at.key("parts"), "the recipe weighs nothing", fix);
            }
            read.parts.clone_from(parts);
        }
        if given.fill.is_some() && given.batter_per_litre.is_some() {
            let message = "`fill` and `batter_per_litre` are both given, but only one of them can be";
            self.refuse(at.clone(), message, "keep one");
        }
        let mut x = 0.0;
        if given.fill.is_some() {
            self.number(&mut x, given.fill, Range::Share, at.key("fill"), "the filled share of a pan");
            if x == 0.0 {
                self.refuse(at.key("fill"), "a pan that is not filled bakes nothing", "0.5 is half full");
            }
            read.filled = Some(Filled::Share(x));
        }
        if given.batter_per_litre.is_some() {
            let field = at.key("batter_per_litre");
            self.number(&mut x, given.batter_per_litre, Range::Above, field, "batter for a litre of pan");
            read.filled = Some(Filled::PerLitre(x));
        }
        for (to, value, key, what) in [
            (&mut read.mixing, given.mixing, "mixing", "a mixing"),
            (&mut read.batter_density, given.batter_density, "batter_density", "a density"),
            (&mut read.minutes, given.minutes, "minutes", "a time in the oven"),
            (&mut read.temperature, given.temperature, "temperature", "a temperature"),
            (&mut read.rise, given.rise, "rise", "a rise"),
            (&mut read.density, given.density, "density", "a density"),
        ] {
            if value.is_some() {
                self.number(&mut x, value, Range::Above, at.key(key), what);
                *to = Some(x);
            }
        }
        self.number(&mut read.syrup, given.syrup, Range::NotNegative, at.key("syrup"), "syrup");
    }
}

/// A material's usual name; of one that is the maker's own the name that it has.
fn usual(name: &str) -> String {
    material::usual_name(name).unwrap_or(name).to_owned()
}
