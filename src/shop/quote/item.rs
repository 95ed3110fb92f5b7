//! What is charged, and what it belongs to.

use std::fmt;

use geom::units::UnitStyle;
use make::language::{Language, filled};
use serde::{Serialize, Serializer};

use crate::work::WorkKind;

/// What a line of the costs belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// What is eaten.
    Ingredients,
    /// Boards and dowels.
    Boards,
    /// Printed tools.
    Printing,
    /// Hours of work.
    Work,
    /// Rent, power, cleaning.
    Overhead,
    /// The road.
    Delivery,
}

impl Group {
    /// Every group, in the order of the bench page.
    pub const ALL: [Self; 6] =
        [Self::Ingredients, Self::Boards, Self::Printing, Self::Work, Self::Overhead, Self::Delivery];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        self.told(Language::english())
    }

    /// What it is called in `language`.
    pub fn told(self, language: &Language) -> &str {
        let words = &language.cost;
        match self {
            Self::Ingredients => &words.ingredients,
            Self::Boards => &words.boards,
            Self::Printing => &words.printing,
            Self::Work => &words.work,
            Self::Overhead => &words.overhead,
            Self::Delivery => &words.delivery,
        }
    }
}

/// What a line charges.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Item {
    /// A thing that is eaten, by its name in the pantry.
    Ingredient(String),
    /// A board in the cake.
    Board {
        /// Its name, that of what it carries in it.
        name: String,
        /// The tier that it carries; `None` for the presentation board.
        tier: Option<String>,
    },
    /// Dowels of one kind.
    Dowels {
        /// What they are made of.
        material: String,
        /// How thick they are, thousandths of a millimetre.
        micrometres: u32,
        /// The two in the language of the program's own messages.
        name: String,
    },
    /// Plastic of printed tools.
    Plastic,
    /// One kind of work.
    Work(WorkKind),
    /// All of the work, where an hour has no price.
    HoursOfWork,
    /// Rent, power, cleaning.
    Overhead,
    /// The way to the client and back.
    Road,
}

impl Item {
    /// What it belongs to.
    pub fn group(&self) -> Group {
        match self {
            Self::Ingredient(_) => Group::Ingredients,
            Self::Board { .. } | Self::Dowels { .. } => Group::Boards,
            Self::Plastic => Group::Printing,
            Self::Work(_) | Self::HoursOfWork => Group::Work,
            Self::Overhead => Group::Overhead,
            Self::Road => Group::Delivery,
        }
    }
}

impl Item {
    /// What it is called in `language`; `style` writes how thick dowels are.
    pub fn told(&self, language: &Language, style: UnitStyle) -> String {
        let words = &language.cost;
        match self {
            Self::Ingredient(name) => language.name(name).to_owned(),
            Self::Board { name, tier: None } => language.name(name).to_owned(),
            Self::Board { tier: Some(tier), .. } => filled(&language.thing.board, &[("tier", tier)]),
            Self::Dowels { material, micrometres, .. } => {
                let thick = language.style(style).length_alone(f64::from(*micrometres) / 1000.0);
                format!("{} {thick}", language.name(material))
            }
            Self::Plastic => words.plastic.clone(),
            Self::Work(kind) => kind.told(language).to_owned(),
            Self::HoursOfWork => words.hours_of_work.clone(),
            Self::Overhead => words.rent.clone(),
            Self::Road => words.road.clone(),
        }
    }
}

/// In the language of the program's own messages.
impl fmt::Display for Item {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Ingredient(name) | Self::Board { name, .. } | Self::Dowels { name, .. } => name,
            other => return f.write_str(&other.told(Language::english(), UnitStyle::default())),
        })
    }
}

impl Serialize for Item {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A sum of a quote.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sum {
    /// All lines.
    Costs,
    /// Margin on them.
    Margin,
    /// Price before tax.
    Net,
    /// Tax.
    Tax,
    /// Price with tax.
    Gross,
    /// Deposit.
    Deposit,
    /// What is due on delivery.
    Balance,
}

impl Sum {
    /// All of them, in the order in which they add up.
    pub const ALL: [Self; 7] =
        [Self::Costs, Self::Margin, Self::Net, Self::Tax, Self::Gross, Self::Deposit, Self::Balance];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        self.told(Language::english())
    }

    /// What it is called in `language`.
    pub fn told(self, language: &Language) -> &str {
        let words = &language.cost;
        match self {
            Self::Costs => &words.costs,
            Self::Margin => &words.margin,
            Self::Net => &words.net,
            Self::Tax => &words.tax,
            Self::Gross => &words.gross,
            Self::Deposit => &words.deposit,
            Self::Balance => &words.balance,
        }
    }
}
