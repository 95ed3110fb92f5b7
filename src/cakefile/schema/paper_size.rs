//! Sizes of paper.

use geom::units::MM_PER_INCH;
use glam::{DVec2, dvec2};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A size of paper.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
pub enum PaperSize {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 297 × 420 mm (ISO 216).
    A3,
    /// 8.5 × 11 in (ANSI/ASME Y14.1, size A).
    Letter,
    /// 11 × 17 in (ANSI/ASME Y14.1, size B).
    Tabloid,
}

impl PaperSize {
    /// Width and height upright, mm (ISO 216; ANSI/ASME Y14.1).
    pub fn size(self) -> DVec2 {
        match self {
            Self::A4 => dvec2(210.0, 297.0),
            Self::A3 => dvec2(297.0, 420.0),
            Self::Letter => dvec2(8.5, 11.0) * MM_PER_INCH,
            Self::Tabloid => dvec2(11.0, 17.0) * MM_PER_INCH,
        }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
            Self::Letter => "Letter",
            Self::Tabloid => "Tabloid",
        }
    }
}

impl std::fmt::Display for PaperSize {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}
