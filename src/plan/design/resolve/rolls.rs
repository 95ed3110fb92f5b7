//! A roll as written → what it is laid along.

use glam::{DVec2, dvec2};

use super::{Resolver, read_problem};
use crate::design::{Along, Laid, Roll, ZonePlace};
use cakefile::{Diagnostic, FieldPath, exactly_one, nearest, schema};

/// Nearer places of a path are one, mm or degrees.
const SAME: f64 = 1e-6;
/// Most places of a path.
const MOST_PLACES: usize = 400;
/// Furthest round the cake that a path goes, degrees.
const MOST_ROUND: f64 = 7200.0;

impl Resolver<'_> {
    pub(super) fn roll_tool(&mut self, tool: &schema::RollTool, field: &FieldPath) -> Option<Roll> {
        let along = self.along(&tool.along, &field.key("along"));
        let diameter = self.size(&tool.diameter, field.key("diameter"));
        let taper = self.maybe(tool.taper.as_ref(), |s, taper| s.length(taper, field.key("taper")));
        let end = self.maybe(tool.end_diameter.as_ref(), |s, d| s.size(d, field.key("end_diameter")));
        let between = self.bearings(tool, field);
        let (along, diameter, between) = (along?, diameter?, between?);
        let (taper, end) = (taper?.unwrap_or(0.0).max(0.0), end?);
        let has_ends = between.is_some() || matches!(along, Along::Path(_));
        if between.is_some() && matches!(along, Along::Path(_)) {
            self.refuse(
                field.key("from"),
                "a roll along a path begins and ends where the path does",
                "take `from` and `to` out",
            );
        }
        for (key, given) in [("taper", taper > 0.0), ("end_diameter", end.is_some())] {
            if given && !has_ends {
                self.problems.push(
                    Diagnostic::warning(
                        field.key(key),
                        format!("`{key}` has no meaning here: a roll all round has no ends"),
                    )
                    .fix("take it out, or give the bearings that the roll lies between, `from` and `to`"),
                );
            }
        }
        if end.is_some_and(|end| end > diameter) {
            self.refuse(
                field.key("end_diameter"),
                "a roll thins down towards its ends: they cannot be thicker than the rest",
                "make it at most `diameter`",
            );
        }
        Some(Roll {
            along,
            zone: tool
                .along
                .zone
                .clone()
                .map(|zone| (zone, tool.along.border.unwrap_or(schema::Border::Upper))),
            between,
            diameter,
            sunk: tool.sunk.unwrap_or(false),
            twisted: tool.twisted.unwrap_or(false),
            taper,
            end_diameter: end.unwrap_or(diameter / 4.0),
            laid: Laid::Unknown,
        })
    }

    /// The bearings that a part of a ring lies between.
    fn bearings(&mut self, tool: &schema::RollTool, field: &FieldPath) -> Option<Option<(f64, f64)>> {
        let (from, to) = match (&tool.from, &tool.to) {
            (None, None) => return Some(None),
            (Some(from), Some(to)) => {
                (self.angle(Some(from), field.key("from")), self.angle(Some(to), field.key("to")))
            }
            (Some(_), None) | (None, Some(_)) => {
                let (given, missing) = if tool.from.is_some() { ("from", "to") } else { ("to", "from") };
                self.refuse(
                    field.key(given),
                    format!("where the roll lies is half said: `{given}` without `{missing}`"),
                    format!("give `{missing}` as well, or take `{given}` out for a roll all round"),
                );
                return None;
            }
        };
        let (from, to) = (from?, to?);
        let round = (to - from).rem_euclid(360.0);
        if round < SAME {
            self.refuse(
                field.key("to"),
                "the roll ends where it begins",
                "give another bearing, or take `from` and `to` out for a roll all round",
            );
            return None;
        }
        Some(Some((from, from + round)))
    }

    fn along(&mut self, along: &schema::RollAlong, field: &FieldPath) -> Option<Along> {
        let given = [
            ("foot", along.foot == Some(true)),
            ("rim", along.rim == Some(true)),
            ("height", along.height.is_some()),
            ("zone", along.zone.is_some()),
            ("path", along.path.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems)?;
        if along.border.is_some() && kind != "zone" {
            self.problems.push(
                Diagnostic::warning(field.key("border"), "`border` has a meaning for a zone only")
                    .fix("take it out, or name the zone"),
            );
        }
        match kind {
            "foot" => Some(Along::Foot),
            "rim" => Some(Along::Rim),
            "height" => self.length(along.height.as_ref()?, field.key("height")).map(Along::Height),
            "zone" => self.border(along.zone.as_ref()?, along.border, field),
            _ => self.path_on_side(along.path.as_ref()?, &field.key("path")),
        }
    }

    /// The border of the zone called `name`.
    fn border(&mut self, name: &str, border: Option<schema::Border>, field: &FieldPath) -> Option<Along> {
        let at = field.key("zone");
        let Some((_, place)) = self.zones.iter().find(|(zone, _)| zone == name) else {
            let known: Vec<&str> = self.zones.iter().map(|(zone, _)| zone.as_str()).collect();
            let fix = match (nearest(name, known.iter().copied()), known.is_empty()) {
                (_, true) => "no covering has zones: write [[covering.zone]], or give `height`".to_owned(),
                (Some(near), _) => format!("did you mean \"{near}\"?"),
                (None, _) => format!("the zones are: {}", known.join(", ")),
            };
            self.refuse(at, format!("no zone is called \"{name}\""), fix);
            return None;
        };
        let upper = border != Some(schema::Border::Lower);
        match place.clone()? {
            ZonePlace::Outline(relief) => Some(Along::Outline(relief)),
            // What ends at the top's edge, on either side of it.
            ZonePlace::Top => Some(Along::Rim),
            ZonePlace::Side if upper => Some(Along::Rim),
            ZonePlace::Side => Some(Along::Foot),
            ZonePlace::Between(_, high) if upper => Some(Along::Height(high)),
            ZonePlace::Between(low, _) if low <= 0.0 => Some(Along::Foot),
            ZonePlace::Between(low, _) => Some(Along::Height(low)),
        }
    }

    fn path_on_side(&mut self, path: &[schema::OnSide], field: &FieldPath) -> Option<Along> {
        let place = |s: &mut Self, (i, place): (usize, &schema::OnSide)| {
            let at = field.index(i);
            let bearing = s.angle(Some(&place.bearing), at.key("bearing"));
            let height = s.length(&place.height, at.key("height"));
            Some(dvec2(bearing?, height?))
        };
        let places: Vec<Option<DVec2>> = path.iter().enumerate().map(|each| place(self, each)).collect();
        let mut places = places.into_iter().collect::<Option<Vec<DVec2>>>()?;
        places.dedup_by(|a, b| a.distance(*b) < SAME);
        if places.len() < 2 {
            self.refuse(
                field.clone(),
                "a roll needs a path of at least two different places",
                "add a place: { bearing = 90, height = 40 }",
            );
            return None;
        }
        let round: f64 = places.windows(2).map(|pair| (pair[1].x - pair[0].x).abs()).sum();
        if places.len() > MOST_PLACES || round > MOST_ROUND {
            self.refuse(
                field.clone(),
                "the path of the roll is more than can be worked out",
                format!(
                    "give at most {MOST_PLACES} places, and go at most {:.0} times round",
                    MOST_ROUND / 360.0
                ),
            );
            return None;
        }
        Some(Along::Path(places))
    }
}
