//! Coverings: the detail that an even coat loses.

use cakefile::{FieldPath, Severity};

use super::{Evidence, Finding, FindingCode};

/// Places named at most; the rest is counted.
const NAMED: usize = 4;

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
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
