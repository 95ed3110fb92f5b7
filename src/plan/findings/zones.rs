//! Zones of coverings: what lies nowhere or is hidden, what overlaps, narrow strips that are left between.

use cakefile::Severity;

use super::{Finding, FindingCode};
use crate::{
    design::{Covering, Design, Zone, ZonePlace},
    fix::{FileEdit, FileValue, Fix},
    lines::Lines,
    zones::{CoatZones, NOTHING, Stretch},
};

/// A strip that is left between two zones and is narrower than this is more likely a slip than a stripe, mm (common
/// practice, no source).
const NARROW: f64 = 5.0;

/// What of the zones of `design` is not as it was probably meant.
pub fn zoned(design: &Design, zones: &[CoatZones], lines: &Lines) -> Vec<Finding> {
    let mut found = Vec::new();
    for (index, (covering, zones)) in design.coverings.iter().zip(zones).enumerate() {
        if covering.zones.is_empty() {
            continue;
        }
        let top = lines.all()[index].section.bounds().map_or(0.0, |(_, hi)| hi.y);
        let told = Told { design, covering, zones, top };
        told.nowhere_or_hidden(&mut found);
        told.overlaps(&mut found);
        told.gaps(&mut found);
    }
    found
}

struct Told<'a> {
    design: &'a Design,
    covering: &'a Covering,
    zones: &'a CoatZones,
    /// Height of the covering, mm.
    top: f64,
}

impl Told<'_> {
    fn mm(&self, mm: f64) -> String {
        self.design.style.length(mm)
    }

    fn nowhere_or_hidden(&self, found: &mut Vec<Finding>) {
        for (i, zone) in self.covering.zones.iter().enumerate() {
            let (alone, left) = (self.zones.alone[i], self.zones.parts[i + 1].area);
            if alone <= NOTHING {
                let why = match zone.place {
                    ZonePlace::Top => "the side of the shape goes up to a point".to_owned(),
                    ZonePlace::Side => "the shape is all top".to_owned(),
                    _ => format!("the cake reaches from the board to height {}", self.mm(self.top)),
                };
                let message = format!("the zone \"{}\" lies nowhere on the cake: {why}", zone.name);
                let fix = "give heights or a place that the cake has, or take the zone out";
                found.push(finding(Severity::Warning, FindingCode::ZoneNowhere, zone, message, fix.into()));
            } else if left <= NOTHING {
                let message = format!(
                    "the zone \"{}\" is hidden: what comes later in the list lies over all of it",
                    zone.name
                );
                let fix = "put it further down in the list, so that it lies over the others, or take it out";
                found.push(finding(Severity::Warning, FindingCode::ZoneHidden, zone, message, fix.into()));
            }
        }
    }

    /// Bands that share heights: told with which lies over which, and how the lower ends where the upper begins.
    fn overlaps(&self, found: &mut Vec<Finding>) {
        let bands: Vec<(&Zone, f64, f64)> = self
            .covering
            .zones
            .iter()
            .filter_map(|zone| match zone.place {
                ZonePlace::Between(low, high) => Some((zone, low.max(0.0), high.min(self.top))),
                _ => None,
            })
            .collect();
        for (i, (zone, low, high)) in bands.iter().enumerate() {
            for (over, from, to) in &bands[i + 1..] {
                let (shared_from, shared_to) = (low.max(*from), high.min(*to));
                // All of it is told as hidden; one within the other is laid over it on purpose.
                let within = from > low && to < high;
                if shared_to - shared_from <= 1e-6 || within || (from <= low && to >= high) {
                    continue;
                }
                let (end, edge) = if from > low { (1, *from) } else { (0, *to) };
                let message = format!(
                    "the zones \"{}\" and \"{}\" overlap from height {} to {}: \"{}\" lies over \"{}\" there",
                    zone.name,
                    over.name,
                    self.mm(shared_from),
                    self.mm(shared_to),
                    over.name,
                    zone.name
                );
                let fix = Fix::edit(
                    format!(
                        "nothing needs to be done if it is to lie so; else let \"{}\" end where the other begins",
                        zone.name
                    ),
                    FileEdit::set(zone.field.key("between").index(end), FileValue::Length(edge)),
                );
                found.push(finding(Severity::Note, FindingCode::ZonesOverlap, zone, message, fix));
            }
        }
    }

    /// Narrow strips that no zone takes, with a zone beside them.
    fn gaps(&self, found: &mut Vec<Finding>) {
        for line in &self.zones.stretches {
            for (i, stretch) in line.iter().enumerate() {
                let wide = stretch.to - stretch.from;
                let next = |other: Option<&Stretch>| {
                    other.and_then(|other| other.zone).map(|zone| &self.covering.zones[zone])
                };
                let below = next(i.checked_sub(1).and_then(|i| line.get(i)));
                let above = next(line.get(i + 1));
                let Some(zone) = below.or(above).filter(|_| stretch.zone.is_none() && wide < NARROW) else {
                    continue;
                };
                let where_to = match (below, above) {
                    (Some(below), Some(above)) => {
                        format!("between the zones \"{}\" and \"{}\"", below.name, above.name)
                    }
                    (Some(below), None) => format!("above the zone \"{}\"", below.name),
                    _ => format!("below the zone \"{}\"", zone.name),
                };
                let message =
                    format!("{where_to} a strip of {} keeps the covering's own colour", self.mm(wide));
                found.push(finding(
                    Severity::Warning,
                    FindingCode::ZoneGap,
                    zone,
                    message,
                    self.closed(below, above),
                ));
            }
        }
    }

    /// What closes a gap.
    fn closed(&self, below: Option<&Zone>, above: Option<&Zone>) -> Fix {
        let words = "let one zone begin where the other ends";
        match (below.map(|zone| (&zone.place, zone)), above.map(|zone| (&zone.place, zone))) {
            (Some((ZonePlace::Between(..), zone)), Some((ZonePlace::Between(low, _), _))) => {
                Fix::edit(words, FileEdit::set(zone.field.key("between").index(1), FileValue::Length(*low)))
            }
            (Some((ZonePlace::Between(..), zone)), None) => Fix::edit(
                "let the zone reach up to the top",
                FileEdit::set(zone.field.key("between").index(1), FileValue::Length(self.top)),
            ),
            (None, Some((ZonePlace::Between(..), zone))) => Fix::edit(
                "let the zone begin at the board",
                FileEdit::set(zone.field.key("between").index(0), FileValue::Length(0.0)),
            ),
            _ => words.into(),
        }
    }
}

fn finding(severity: Severity, code: FindingCode, zone: &Zone, message: String, fix: Fix) -> Finding {
    Finding { severity, code, about: zone.name.clone(), message, fix, place: None, field: zone.field.clone() }
}
