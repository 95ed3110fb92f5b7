//! What is charged, and what it belongs to.

use std::fmt;

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

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Ingredients => "ingredients",
            Self::Boards => "boards and dowels",
            Self::Printing => "printed tools",
            Self::Work => "work",
            Self::Overhead => "overhead",
            Self::Delivery => "delivery",
        }
    }
}

/// What a line charges.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Item {
    /// A thing that is eaten, by its name in the pantry.
    Ingredient(String),
    /// A board, by what it carries.
    Board(String),
    /// Dowels, by what they are made of and how thick they are.
    Dowels(String),
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
            Self::Board(_) | Self::Dowels(_) => Group::Boards,
            Self::Plastic => Group::Printing,
            Self::Work(_) | Self::HoursOfWork => Group::Work,
            Self::Overhead => Group::Overhead,
            Self::Road => Group::Delivery,
        }
    }
}

impl fmt::Display for Item {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Ingredient(name) | Self::Board(name) | Self::Dowels(name) => name,
            Self::Plastic => "plastic",
            Self::Work(kind) => kind.name(),
            Self::HoursOfWork => "hours of work",
            Self::Overhead => "rent, power, cleaning",
            Self::Road => "on the road, there and back",
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

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Costs => "costs",
            Self::Margin => "margin",
            Self::Net => "price before tax",
            Self::Tax => "tax",
            Self::Gross => "price",
            Self::Deposit => "deposit",
            Self::Balance => "due on delivery",
        }
    }
}
