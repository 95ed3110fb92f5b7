//! What templates and the cutting sheet are printed on, checked until every page has room for the bars
//! that prove its scale.

use glam::{DVec2, dvec2};

use cakefile::schema::PaperSize;
use geom::units::UnitStyle;
use geom::units::{MM_PER_INCH, Unit};

/// How templates and the cutting sheet are printed. Lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// Size of the sheets.
    pub size: PaperSize,
    /// What stays white at every edge.
    pub margin: f64,
    /// How far sheets that are glued together lie over each other.
    pub overlap: f64,
    /// The most that one pass of the knife takes off.
    pub pass: f64,
    /// How much icing is rolled or cut beyond what lies on the cake, all round.
    pub allowance: f64,
    /// How far a sheet of icing may be too short or too long round a curved side; `None` for as far as the paste bears.
    pub pattern_error: Option<f64>,
}

/// Why sheets cannot be printed so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PaperError {
    /// The margins leave too little.
    NoRoom {
        /// The margin, mm.
        margin: f64,
        /// The paper.
        size: PaperSize,
        /// Its shorter side, mm.
        width: f64,
        /// What is left of it, mm.
        left: f64,
        /// What the narrowest page needs, mm.
        needed: f64,
    },
    /// Sheets would lie over each other all but wholly.
    Overlap {
        /// The overlap, mm.
        overlap: f64,
        /// The shorter side of what a page shows, mm.
        shown: f64,
    },
    /// A pass that no knife can keep to.
    Pass {
        /// The pass, mm.
        pass: f64,
    },
    /// More or less icing than can be meant.
    Allowance {
        /// The allowance, mm.
        allowance: f64,
    },
    /// More bands than can be laid.
    PatternError {
        /// The error, mm.
        pattern_error: f64,
    },
}

impl std::fmt::Display for PaperError {
    /// In millimetres.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.told(UnitStyle::default()))
    }
}

impl std::error::Error for PaperError {}

impl PaperError {
    /// What is wrong, in the maker's own unit.
    pub fn told(&self, style: UnitStyle) -> String {
        let mm = |mm: f64| style.length_fine(mm);
        match *self {
            Self::NoRoom { margin, size, width, left, needed } => format!(
                "margins of {} leave {} of {size} paper ({} wide), and the bars that prove the scale need {}",
                mm(margin),
                mm(left),
                mm(width),
                mm(needed)
            ),
            Self::Overlap { overlap, shown } => {
                format!(
                    "an overlap of {} is more than a third of what a page shows ({})",
                    mm(overlap),
                    mm(shown)
                )
            }
            Self::Pass { pass } => format!("a pass of {} is thinner than a knife can take", mm(pass)),
            Self::Allowance { allowance } => format!("an allowance of {} cannot be", mm(allowance)),
            Self::PatternError { pattern_error } => {
                format!(
                    "an error of {} would cut the side into more bands than can be laid",
                    mm(pattern_error)
                )
            }
        }
    }
}

/// The widest margin leaves this much of the paper's shorter side, mm: the 4 in bar with its name, and the
/// sentence beside it.
const NARROWEST: f64 = 180.0;
/// The thinnest pass, mm.
const THINNEST_PASS: f64 = 0.5;
/// The greatest allowance, mm.
const MOST_ALLOWANCE: f64 = 100.0;
/// The least error of a pattern, mm.
const LEAST_PATTERN_ERROR: f64 = 0.5;

impl Paper {
    /// What is used where the cake file says nothing: A4, or Letter for a maker who works in inches. The
    /// lengths are common practice, no source.
    pub fn usual(unit: Unit) -> Self {
        let usual = Self {
            size: PaperSize::A4,
            margin: 10.0,
            overlap: 10.0,
            pass: 6.0,
            allowance: 25.0,
            pattern_error: None,
        };
        match unit {
            Unit::Inch => {
                Self { size: PaperSize::Letter, pass: MM_PER_INCH / 4.0, allowance: MM_PER_INCH, ..usual }
            }
            _ => usual,
        }
    }

    /// Whether sheets can be printed so.
    ///
    /// # Errors
    /// The first reason why not.
    pub fn check(&self) -> Result<(), PaperError> {
        let width = self.size.size().x;
        let left = width - 2.0 * self.margin;
        if left < NARROWEST {
            return Err(PaperError::NoRoom {
                margin: self.margin,
                size: self.size,
                width,
                left: left.max(0.0),
                needed: NARROWEST,
            });
        }
        // Of a page on its side the head and the foot take some more.
        let shown = left - HEAD - FOOT;
        if self.overlap > shown / 3.0 {
            return Err(PaperError::Overlap { overlap: self.overlap, shown });
        }
        if self.pass < THINNEST_PASS {
            return Err(PaperError::Pass { pass: self.pass });
        }
        if !(0.0..=MOST_ALLOWANCE).contains(&self.allowance) {
            return Err(PaperError::Allowance { allowance: self.allowance });
        }
        if let Some(pattern_error) =
            self.pattern_error.filter(|pattern_error| *pattern_error < LEAST_PATTERN_ERROR)
        {
            return Err(PaperError::PatternError { pattern_error });
        }
        Ok(())
    }

    /// Width and height of a sheet, upright or on its side, mm.
    pub fn sheet(&self, on_its_side: bool) -> DVec2 {
        let size = self.size.size();
        if on_its_side { dvec2(size.y, size.x) } else { size }
    }

    /// Width and height of what a page shows between its head and its foot, mm.
    pub fn shown(&self, on_its_side: bool) -> DVec2 {
        self.sheet(on_its_side) - DVec2::splat(2.0 * self.margin) - dvec2(0.0, HEAD + FOOT)
    }
}

/// Height of the head of a page: what it is, mm.
pub const HEAD: f64 = 18.0;
/// Height of the foot of a page: the bars that prove the scale, mm.
pub const FOOT: f64 = 22.0;

impl PaperError {
    /// The table of the cake file and the key in it that are to blame.
    pub fn key(&self) -> (&'static str, &'static str) {
        match self {
            Self::NoRoom { .. } => ("paper", "margin"),
            Self::Overlap { .. } => ("paper", "overlap"),
            Self::Pass { .. } => ("carving", "pass"),
            Self::Allowance { .. } => ("icing", "allowance"),
            Self::PatternError { .. } => ("icing", "pattern_error"),
        }
    }

    /// How to fix it.
    pub fn fix(&self) -> String {
        match self {
            Self::NoRoom { width, .. } => {
                format!("make the margin at most {:.0} mm, or take larger paper", (width - NARROWEST) / 2.0)
            }
            Self::Overlap { .. } => "10 mm is enough to glue sheets together".into(),
            Self::Pass { .. } => format!("give at least {THINNEST_PASS} mm; 6 mm is usual"),
            Self::Allowance { .. } => format!("give 0 to {MOST_ALLOWANCE} mm; 25 mm is usual"),
            Self::PatternError { .. } => format!("give at least {LEAST_PATTERN_ERROR} mm, or leave it out"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_paper_can_be_printed_in_every_size() {
        for size in [PaperSize::A4, PaperSize::A3, PaperSize::Letter, PaperSize::Tabloid] {
            let paper = Paper { size, ..Paper::usual(Unit::Millimetre) };
            assert_eq!(paper.check(), Ok(()), "{size}");
        }
        assert_eq!(Paper::usual(Unit::Inch).size, PaperSize::Letter);
    }

    #[test]
    fn what_cannot_be_printed_is_refused_with_the_key_and_the_fix() {
        let usual = Paper::usual(Unit::Millimetre);
        let refused = [
            (Paper { margin: 110.0, ..usual }, "margin", "at most 15 mm"),
            (Paper { overlap: 60.0, ..usual }, "overlap", "10 mm"),
            (Paper { pass: 0.1, ..usual }, "pass", "6 mm"),
            (Paper { allowance: -1.0, ..usual }, "allowance", "25 mm"),
            (Paper { pattern_error: Some(0.1), ..usual }, "pattern_error", "leave it out"),
        ];
        for (paper, key, fix) in refused {
            let error = paper.check().unwrap_err();
            assert_eq!(error.key().1, key);
            assert!(error.fix().contains(fix), "{}", error.fix());
        }
    }
}
