//! Rolls: along an edge that is not there, in themselves, too thin, in the board.

use cakefile::{FieldPath, Severity};

use super::{Evidence, Finding, FindingCode, details::finding};
use crate::{
    design::{Along, Detail, Laid, Nowhere, Roll, Tool},
    fix::{FileEdit, FileValue, Fix},
    rolls::{overlaps_itself, thickest_that_fits},
};

/// Nobody rolls paste thinner by hand, mm (common practice, no source).
const THINNEST: f64 = 2.0;

/// What of the places of one roll is not as it was probably meant.
pub(super) fn check(e: &Evidence<'_>, copies: &[Detail], found: &mut Vec<Finding>) {
    let rolls = || {
        copies.iter().filter_map(|detail| match &detail.tool {
            Tool::Roll(roll) => Some((detail, roll)),
            _ => None,
        })
    };
    let Some((first, roll)) = rolls().next() else { return };
    let lost = rolls().find_map(|(detail, roll)| match roll.laid {
        Laid::Nowhere(why) => Some((detail, roll, why)),
        _ => None,
    });
    if let Some((detail, roll, why)) = lost {
        let (why, fix) = nowhere(e, roll, why);
        let message = format!("the roll \"{}\" lies nowhere: {why}", detail.name);
        found.push(finding(Severity::Warning, FindingCode::RollNowhere, detail, message, fix));
    }
    too_thin(e, first, roll, found);
    if let Some((detail, roll)) = rolls().find(|(_, roll)| overlaps_itself(roll, roll.diameter)) {
        let message = format!(
            "the roll \"{}\" is {} thick, and its way bends more tightly than that: it would lie in itself",
            detail.written_name(),
            e.mm(roll.diameter)
        );
        let fix = match thickest_that_fits(roll).filter(|thick| *thick >= THINNEST) {
            Some(thick) => Fix::edit(
                format!("make it {} thick, or lay it where there is more room", e.mm(thick)),
                FileEdit::set(key(detail, "diameter"), FileValue::Length(thick)),
            ),
            None => "lay it where there is more room".into(),
        };
        found.push(finding(Severity::Warning, FindingCode::RollTooThick, detail, message, fix));
    }
    in_board(e, rolls(), found);
}

fn key(detail: &Detail, key: &str) -> FieldPath {
    detail.field.key("roll").key(key)
}

/// Why a roll lies nowhere, and what would mend that.
fn nowhere(e: &Evidence<'_>, roll: &Roll, why: Nowhere) -> (String, Fix) {
    match why {
        Nowhere::NoSuchHeight(top) => {
            let height = match roll.along {
                Along::Height(height) => e.mm(height),
                _ => e.mm(roll.diameter / 2.0),
            };
            (
                format!("the shape has no height {height}, it reaches from the board to {}", e.mm(top)),
                "give a height that the shape has, or lay it along another edge".into(),
            )
        }
        Nowhere::NoRim => (
            "the shape has no upper edge, it goes up to a point or a round".to_owned(),
            Fix::from("lay it at a height: along = { height = ... }"),
        ),
        Nowhere::NoSurface(bearing, height) => (
            format!("the side is not met at bearing {bearing:.0}° and height {}", e.mm(height)),
            "move it to where the shape has a surface".into(),
        ),
        Nowhere::NotBetween => {
            let fix = "give bearings that lie further apart, or make it thinner";
            let between = roll.between.is_some();
            let why = if between {
                "between its bearings there is no more of the edge than it is thick"
            } else {
                "its edge is no longer than it is thick"
            };
            (why.to_owned(), fix.into())
        }
    }
}

fn too_thin(e: &Evidence<'_>, detail: &Detail, roll: &Roll, found: &mut Vec<Finding>) {
    let thick = 2.0 * roll.strand_radius();
    if thick >= THINNEST - 1e-9 {
        return;
    }
    let name = detail.written_name();
    let message = if roll.twisted {
        format!(
            "each strand of \"{name}\" is {} thick, and {} is the least that can be rolled by hand",
            e.mm(thick),
            e.mm(THINNEST)
        )
    } else {
        format!(
            "\"{name}\" is {} thick, and {} is the least that can be rolled by hand",
            e.mm(thick),
            e.mm(THINNEST)
        )
    };
    let least = THINNEST * roll.diameter / thick;
    let fix = Fix::edit(
        format!("make it {} thick, or pipe it", e.mm(least)),
        FileEdit::set(key(detail, "diameter"), FileValue::Length(least)),
    );
    found.push(finding(Severity::Warning, FindingCode::RollTooThin, detail, message, fix));
}

/// A roll that lies by its height may reach into the board.
fn in_board<'a>(
    e: &Evidence<'_>,
    rolls: impl Iterator<Item = (&'a Detail, &'a Roll)>,
    found: &mut Vec<Finding>,
) {
    /// As far as it is flattened there, as a share of its half thickness, and more for rounding.
    const GIVES: f64 = Roll::FLATTENED + 0.02;
    let depth = |roll: &Roll| {
        let low = roll.places().map(|(p, radius)| p.z - radius).fold(f64::INFINITY, f64::min);
        (-low > GIVES * roll.diameter / 2.0 && low.is_finite()).then_some(-low)
    };
    let worst = rolls.filter_map(|(detail, roll)| Some((detail, depth(roll)?)));
    let Some((detail, deep)) = worst.max_by(|a, b| a.1.total_cmp(&b.1)) else { return };
    let message = format!("the roll \"{}\" would reach {} into the board", detail.name, e.mm(deep));
    let along = vec![("foot", FileValue::Flag(true))];
    let fix = if detail.copy.is_none() {
        Fix::edit(
            "lay it round the foot: along = { foot = true }",
            FileEdit::set(key(detail, "along"), FileValue::Table(along)),
        )
    } else {
        "lay it higher, or round the foot: along = { foot = true }".into()
    };
    found.push(finding(Severity::Warning, FindingCode::RollInBoard, detail, message, fix));
}
