//! Letters with strokes too thin to be cut out or pressed in, with the size that would do.

use cakefile::{FieldPath, Severity};
use geom::{Region, Tolerance};

use super::{Evidence, Finding, FindingCode};
use crate::{
    design::{Detail, Relief, Tool, ZonePlace},
    fix::{FileEdit, FileValue, Fix},
};

/// Strokes thinner than this tear as they are cut out of paste, and close as they are pressed in, mm: common practice, no
/// source.
const THINNEST: f64 = 1.5;

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    let details = e.design.details.chunk_by(Detail::is_copy_of).filter_map(|copies| {
        let Tool::Relief(relief) = &copies[0].tool else { return None };
        Some((copies[0].written_name(), relief, &copies[0].field))
    });
    let zones = e.design.coverings.iter().flat_map(|covering| &covering.zones).filter_map(|zone| {
        let ZonePlace::Outline(relief) = &zone.place else { return None };
        Some((zone.name.as_str(), relief, &zone.field))
    });
    found.extend(details.chain(zones).filter_map(|(name, relief, field)| thin(e, name, relief, field)));
}

/// What is said of one outline of letters. The width of a line along letters is the maker's own.
fn thin(e: &Evidence<'_>, name: &str, relief: &Relief, field: &FieldPath) -> Option<Finding> {
    /// Sizes are told in steps of this, mm.
    const STEP: f64 = 0.5;
    let letters = relief.letters.as_ref().filter(|_| relief.line.is_none())?;
    if is_wide_enough(&relief.outline, THINNEST) {
        return None;
    }
    let fix = match enough(&relief.outline) {
        Some(factor) => {
            let size = (letters.capital * factor / STEP).ceil() * STEP;
            Fix::edit(
                format!(
                    "make the letters {} high, or take some with thicker strokes: bold = true",
                    e.mm(size)
                ),
                FileEdit::set(
                    field.key("outline").key("shape").key("text").key("size"),
                    FileValue::Length(size),
                ),
            )
        }
        None => "take letters with thicker strokes".into(),
    };
    Some(Finding {
        severity: Severity::Warning,
        code: FindingCode::LettersThin,
        about: name.to_owned(),
        message: format!(
            "the letters of \"{name}\" have strokes thinner than {}: they tear as they are cut out, and close as they are \
             pressed in",
            e.mm(THINNEST)
        ),
        fix,
        place: None,
        field: field.clone(),
    })
}

/// By how much letters must grow so that all of their strokes are wide enough; `None` if by more than a cake has room for.
fn enough(outline: &Region) -> Option<f64> {
    const MOST: f64 = 20.0;
    /// Halvings of the range: to a few thousandths of the size.
    const STEPS: u32 = 14;
    let does = |factor: f64| is_wide_enough(outline, THINNEST / factor);
    if !does(MOST) {
        return None;
    }
    let (mut thin, mut wide) = (1.0, MOST);
    for _ in 0..STEPS {
        let middle = f64::midpoint(thin, wide);
        if does(middle) { wide = middle } else { thin = middle }
    }
    Some(wide)
}

/// Whether a disc of this width fits everywhere into `outline`, corners aside: what it does not reach is no larger than
/// in a corner of some 20° (r² (1 / tan 10° − 80° in radians) of a disc of radius r).
fn is_wide_enough(outline: &Region, width: f64) -> bool {
    let fine = Tolerance::new(width / 200.0).unwrap_or(Tolerance::TOOL);
    let corner = 1.1 * width * width;
    outline.pieces().iter().all(|piece| {
        let reached = piece.inset(width / 2.0, fine).outset(width / 2.0, fine);
        !reached.is_empty() && piece.difference(&reached).pieces().iter().all(|left| left.area() <= corner)
    })
}

#[cfg(test)]
mod tests {
    use glam::{DVec2, dvec2};

    use super::*;

    fn bar(width: f64) -> Region {
        Region::rectangle(DVec2::ZERO, dvec2(20.0, width))
            .union(&Region::rectangle(DVec2::ZERO, dvec2(6.0, 20.0)))
    }

    #[test]
    fn a_bar_is_as_wide_as_it_is() {
        assert!(is_wide_enough(&bar(1.6), THINNEST) && !is_wide_enough(&bar(1.4), THINNEST));
        let factor = enough(&bar(0.5)).unwrap();
        assert!((factor - 3.0).abs() < 0.02, "{factor}");
        assert_eq!(enough(&bar(0.01)), None);
    }

    #[test]
    fn a_corner_is_no_thin_stroke_and_a_dot_may_be() {
        let wedge = Region::from_simple(vec![DVec2::ZERO, dvec2(20.0, -5.0), dvec2(20.0, 5.0)]);
        assert!(is_wide_enough(&wedge, THINNEST));
        assert!(!is_wide_enough(
            &bar(3.0).union(&Region::rectangle(dvec2(30.0, 0.0), dvec2(31.0, 1.0))),
            THINNEST
        ));
    }
}
