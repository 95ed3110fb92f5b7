//! What the maker should know before baking: each with how bad, where, and what fixes it.

mod code;
mod coverings;
mod details;
mod dowels;
mod groups;
mod icing;
mod layers;
mod letters;
mod rolls;
mod support;
mod thin_letters;
mod zones;

use crate::{
    carve::{Carving, Place},
    design::Design,
    fix::Fix,
    lines::Lines,
    stack::Stack,
};
use cakefile::{Diagnostic, FieldPath, Severity};
use geom::units::UnitStyle;

pub use code::FindingCode;
pub use groups::{Group, grouped};
pub use icing::laid_otherwise;
pub use support::unsupported;
pub use zones::zoned;

/// One thing found. What is made of a plan has findings of its own, with codes of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding<Code = FindingCode> {
    /// How bad it is.
    pub severity: Severity,
    /// What kind of thing it is, with a stable name for programs.
    pub code: Code,
    /// What it is about, as the name of a layer.
    pub about: String,
    /// What was found, in one sentence without a full stop.
    pub message: String,
    /// How to fix it.
    pub fix: Fix,
    /// Where on the cake.
    pub place: Option<Place>,
    /// Where in the cake file.
    pub field: FieldPath,
}

impl Finding {
    /// What was remarked while the cake file was read.
    pub fn of_remark(remark: &Diagnostic) -> Self {
        Self {
            severity: remark.severity,
            code: FindingCode::CakeFile,
            about: remark.path.to_string(),
            message: remark.message.clone(),
            fix: remark.help.clone().unwrap_or_else(|| "nothing needs to be done".into()).into(),
            place: remark.place.as_deref().map(|place| (*place).into()),
            field: remark.path.clone(),
        }
    }
}

/// Everything that findings are made from.
pub struct Evidence<'a> {
    /// The design.
    pub design: &'a Design,
    /// Its lines.
    pub lines: &'a Lines,
    /// Its stack.
    pub stack: &'a Stack,
    /// Its carve.
    pub carving: &'a Carving,
    /// How lengths are written.
    pub style: UnitStyle,
}

impl Evidence<'_> {
    /// A length in the maker's unit.
    fn mm(&self, mm: f64) -> String {
        self.style.length(mm)
    }

    /// Radius of the carved line between two heights: the least of the greatest radii, with its height.
    fn narrowest(&self, bottom: f64, top: f64) -> Option<(f64, f64)> {
        /// Levels looked at.
        const LEVELS: u32 = 16;
        let section = &self.lines.carved().section;
        let outermost = |z: f64| section.row(z).last().map_or(0.0, |&(_, r)| r);
        (0..=LEVELS)
            .map(|i| bottom + (top - bottom) * (f64::from(i) + 1e-3) / (f64::from(LEVELS) + 2e-3))
            .map(|z| (outermost(z), z))
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }
}

/// Collects all findings, the worst first, otherwise from the bottom of the cake up.
pub fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    layers::check(evidence, &mut found);
    dowels::check(evidence, &mut found);
    coverings::check(evidence, &mut found);
    details::check(evidence, &mut found);
    letters::check(evidence, &mut found);
    thin_letters::check(evidence, &mut found);
    found.sort_by_key(|f| std::cmp::Reverse(f.severity));
    found
}
