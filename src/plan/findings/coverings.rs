//! Coverings: parts too thin to hold cake inside them, and the detail that an even coat loses.

use crate::design::material;
use cakefile::{FieldPath, Severity};

use super::{Evidence, Finding, FindingCode};

/// Places named at most; the rest is counted.
const NAMED: usize = 4;

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    check_thin(e, found);
    let lost = e.lines.lost();
    for (i, detail) in lost.iter().take(NAMED).enumerate() {
        let more = if i + 1 == NAMED && lost.len() > NAMED {
            format!("; {} smaller places are not listed", lost.len() - NAMED)
        } else {
            String::new()
        };
        let (low, high) = (e.mm(detail.heights.0), e.mm(detail.heights.1));
        let at = if low == high {
            format!("at height {low}")
        } else {
            format!("between heights {low} and {high}")
        };
        found.push(Finding {
            severity: Severity::Note,
            code: FindingCode::DetailLost,
            about: "coverings".into(),
            message: format!(
                "an even coat does not reach the finished line {at}: up to {} is missing{more}",
                e.mm(detail.by)
            ),
            fix: "build the edge up by hand, or round it in the shape by the thickness of the coverings"
                .into(),
            place: Some(detail.at.into()),
            field: FieldPath::root().key("shape"),
        });
    }
}

/// Parts that have to be modelled, as no cake fits inside the coats on both their sides.
fn check_thin(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    /// What such parts are modelled from.
    const MODELLED: &str = "modelling chocolate";
    let depth = e.lines.carved().depth;
    let thin = e.lines.thin();
    for (i, part) in thin.iter().take(NAMED).enumerate() {
        let more = if i + 1 == NAMED && thin.len() > NAMED {
            format!("; {} smaller ones are not listed", thin.len() - NAMED)
        } else {
            String::new()
        };
        let (low, high) = (e.mm(part.heights.0), e.mm(part.heights.1));
        let are = if part.count == 1 { "a part is".into() } else { format!("{} parts are", part.count) };
        let mass = material::built_in(MODELLED).map_or(0.0, |material| material.mass(part.volume));
        found.push(Finding {
            severity: Severity::Warning,
            code: FindingCode::ThinPart,
            about: "coverings".into(),
            message: format!(
                "between heights {low} and {high} {are} at most {} thick: no cake fits inside {} of coats on either side{more}",
                e.mm(part.thickest),
                e.mm(depth)
            ),
            fix: format!("model it from chocolate, {} in all, or make it thicker", e.style.mass(mass)).into(),
            place: Some(part.at.into()),
            field: FieldPath::root().key("shape"),
        });
    }
}
