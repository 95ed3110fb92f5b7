//! What the support check found wanting.

use crate::support::{Answer, Check, Question, Support};
use cakefile::Severity;

use super::{Finding, FindingCode};

/// A finding for every kind of check that does not hold as it ought to.
///
/// A cake that does not stand is an error; one that does not travel, or not on a warm day, can be made all the
/// same, and one that holds with less margin than is asked for is for the maker to weigh.
pub fn unsupported(support: &Support) -> Vec<Finding> {
    support.to_fix().into_iter().map(finding).collect()
}

fn finding(check: &Check) -> Finding {
    let severity = match (check.answer(), check.question) {
        (Answer::No, Question::Bench | Question::Carving) => Severity::Error,
        // What does not bear the hardest braking that is asked for is no mere remark.
        (Answer::No, _) | (Answer::Careful, Question::Bench | Question::Car) => Severity::Warning,
        _ => Severity::Note,
    };
    Finding {
        severity,
        code: FindingCode::Support(check.code),
        about: check.about.clone(),
        message: check.said.clone(),
        fix: check.fix.clone(),
        place: check.place,
        field: check.field.clone(),
    }
}
