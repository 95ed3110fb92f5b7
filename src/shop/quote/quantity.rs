//! How much of something is charged.

use geom::units::UnitStyle;

/// How much of something is charged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// So many grams, in the maker's own unit.
    Mass(f64),
    /// So many grams of plastic, which is bought and weighed in grams everywhere.
    Plastic(f64),
    /// So many of them.
    Count(u32),
    /// So many minutes.
    Minutes(f64),
    /// So many hours.
    Hours(f64),
}

impl Quantity {
    /// The quantity as `style` writes it.
    pub fn text(self, style: UnitStyle) -> String {
        match self {
            Self::Mass(grams) => style.mass_alone(grams),
            Self::Plastic(grams) => format!("{} g", style.numbers.fixed(grams, 0)),
            Self::Count(count) => count.to_string(),
            Self::Minutes(minutes) => format!("{} min", style.numbers.fixed(minutes, 0)),
            Self::Hours(hours) => format!("{} h", style.numbers.fixed(hours, 1)),
        }
    }
}
