//! The panels, in the order of the making.

use cakefile::{FieldPath, Step};

/// The steps of the making, each with its panel.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub enum Tab {
    /// The picture and what is shown in it.
    #[default]
    Look,
    /// The outline.
    Shape,
    /// Layers, boards and dowels.
    Stack,
    /// Icing and ganache.
    Coats,
    /// Cuts and adds.
    Details,
    /// Who, when, how many.
    Order,
    /// What the maker owns, mixes, buys and charges.
    Pantry,
    /// Findings.
    ToFix,
    /// What is made of it.
    Make,
    /// Everything else that a cake file says, and the window's own settings.
    Settings,
}

impl Tab {
    /// All, in the order of the bar.
    pub const ALL: [Self; 10] = [
        Self::Look,
        Self::Shape,
        Self::Stack,
        Self::Coats,
        Self::Details,
        Self::Order,
        Self::Pantry,
        Self::ToFix,
        Self::Make,
        Self::Settings,
    ];

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Look => "Look",
            Self::Shape => "Shape",
            Self::Stack => "Stack",
            Self::Coats => "Coats",
            Self::Details => "Details",
            Self::Order => "Order",
            Self::Pantry => "Pantry",
            Self::ToFix => "To fix",
            Self::Make => "Make",
            Self::Settings => "Settings",
        }
    }

    /// The panel that shows the value at `path`.
    pub fn of(path: &FieldPath) -> Self {
        match path.0.first() {
            Some(Step::Key(key)) => match key.as_str() {
                "shape" => Self::Shape,
                "tier" | "centre_dowel" | "board" => Self::Stack,
                "covering" | "icing" => Self::Coats,
                "detail" => Self::Details,
                "order" | "offer" | "name" | "notes" => Self::Order,
                _ => Self::Settings,
            },
            _ => Self::Settings,
        }
    }
}
