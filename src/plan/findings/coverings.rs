//! Coverings: parts too thin to hold cake inside them, and the detail that an even coat loses.

use crate::design::material;
use cakefile::{FieldPath, Severity};

use super::{Evidence, Finding, FindingCode};

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    check_thin(e, found);
    if let Some(finding) = lost(e) {
        found.push(finding);
    }
}

/// Where an even coat does not reach the finished line: all places as one, with the worst of them.
fn lost(e: &Evidence<'_>) -> Option<Finding> {
    let lost = e.lines.lost();
    let worst = lost.iter().max_by(|a, b| a.by.total_cmp(&b.by))?;
    let low = lost.iter().map(|detail| detail.heights.0).fold(f64::INFINITY, f64::min);
    let high = lost.iter().map(|detail| detail.heights.1).fold(f64::NEG_INFINITY, f64::max);
    let places = match lost.len() {
        1 => String::new(),
        n => format!(" in {n} places"),
    };
    Some(Finding {
        severity: Severity::Note,
        code: FindingCode::DetailLost,
        about: "coverings".into(),
        message: format!(
            "an even coat does not reach the finished line{places} {}: it falls short by up to {}",
            heights(e, low, high),
            e.mm(worst.by)
        ),
        fix: "build the edge up by hand, or round it in the shape by the thickness of the coverings".into(),
        place: Some(worst.at.into()),
        field: FieldPath::root().key("shape"),
    })
}

/// "at height 40 mm", "between heights 40 mm and 60 mm".
fn heights(e: &Evidence<'_>, low: f64, high: f64) -> String {
    let (low, high) = (e.mm(low), e.mm(high));
    if low == high { format!("at height {low}") } else { format!("between heights {low} and {high}") }
}

/// Parts that have to be modelled, as no cake fits inside the coats on both their sides.
fn check_thin(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    /// What such parts are modelled from.
    const MODELLED: &str = "modelling chocolate";
    let depth = e.lines.carved().depth;
    let thin = e.lines.thin();
    let Some(thickest) = thin.iter().max_by(|a, b| a.thickest.total_cmp(&b.thickest)) else { return };
    let low = thin.iter().map(|part| part.heights.0).fold(f64::INFINITY, f64::min);
    let high = thin.iter().map(|part| part.heights.1).fold(f64::NEG_INFINITY, f64::max);
    let volume: f64 = thin.iter().map(|part| part.volume).sum();
    let are = match thin.iter().map(|part| part.count).sum() {
        1_usize => "a part is".into(),
        n => format!("{n} parts are"),
    };
    let mass = material::built_in(MODELLED).map_or(0.0, |material| material.mass(volume));
    found.push(Finding {
        severity: Severity::Warning,
        code: FindingCode::ThinPart,
        about: "coverings".into(),
        message: format!(
            "{} {are} at most {} thick: no cake fits inside {} of coats on either side",
            heights(e, low, high),
            e.mm(thickest.thickest),
            e.mm(depth)
        ),
        fix: format!("model it from chocolate, {} in all, or make it thicker", e.style.mass(mass)).into(),
        place: Some(thickest.at.into()),
        field: FieldPath::root().key("shape"),
    });
}
