//! A detail in several places: each place becomes a detail of its own, so that every later stage sees them all.

use glam::DVec3;

use super::Resolver;
use crate::design::{Copied, Detail, Immovable, Motion, Tool};
use cakefile::{Diagnostic, FieldPath, schema};

/// Most places of one detail; beyond it the file is a mistake.
const MOST_COPIES: u32 = 200;

/// What takes the first of a detail to another place.
struct Step {
    /// How far it is turned about its own middle, degrees.
    spin: f64,
    /// Whether it is the mirror image of the first.
    mirrored: bool,
    /// How it gets there.
    motion: Motion,
    /// Whether it is mirrored to the other side after all that.
    other_side: bool,
}

impl Resolver<'_> {
    /// `detail` in every place where `written` wants it.
    pub(super) fn copies(
        &mut self,
        detail: Detail,
        written: &schema::Detail,
        field: &FieldPath,
    ) -> Option<Vec<Detail>> {
        let mut steps = match &written.repeat {
            Some(repeat) => self.steps(&detail.tool, repeat, &field.key("repeat"))?,
            None => vec![Step { spin: 0.0, mirrored: false, motion: Motion::default(), other_side: false }],
        };
        if written.mirror == Some(true) {
            let other = steps.iter().map(|step| Step { other_side: true, ..*step });
            steps.extend(other.collect::<Vec<_>>());
        }
        if written.repeat.is_none() && steps.len() == 1 {
            return Some(vec![detail]);
        }
        let count = steps.len() as u32;
        let first_turn = steps[0].motion.turn;
        let copies = steps.iter().zip(1..).map(|(step, number)| {
            let tool = step
                .taken(&detail.tool)
                .map_err(|why| self.refuse_move(why, &detail, written, field))
                .ok()?;
            let name = if count == 1 { detail.name.clone() } else { format!("{} {number}", detail.name) };
            let only_turned = step.is_turn_alone();
            let turned = only_turned.then_some(step.motion.turn - first_turn);
            let copy = (count > 1).then_some(Copied { number, count, turned });
            Some(Detail { name, tool, copy, ..detail.clone() })
        });
        copies.collect()
    }

    /// What takes the first of a detail to each of its places.
    fn steps(&mut self, tool: &Tool, repeat: &schema::Repeat, field: &FieldPath) -> Option<Vec<Step>> {
        let count = repeat.count;
        if !(1..=MOST_COPIES).contains(&count) {
            self.refuse(
                field.key("count"),
                format!("a detail cannot stand in {count} places"),
                format!("give 1 to {MOST_COPIES}; draw very many small ones as one outline"),
            );
            return None;
        }
        let first = self.angle(repeat.first.as_ref(), field.key("first"));
        let over = self.maybe(repeat.over.as_ref(), |s, over| s.angle(Some(over), field.key("over")));
        let rise = self.maybe(repeat.rise.as_ref(), |s, rise| s.length(rise, field.key("rise")));
        let along = self.maybe(repeat.along.as_ref(), |s, along| s.point3(along, &field.key("along")));
        let turn = self.angle(repeat.turn.as_ref(), field.key("turn"));
        let (first, over, rise, along, turn) = (first?, over?, rise?, along?, turn?);
        if along.is_some() {
            let others =
                [("first", repeat.first.is_some()), ("over", over.is_some()), ("rise", rise.is_some())];
            if let Some((key, _)) = others.iter().find(|(_, given)| *given) {
                self.refuse(
                    field.key(key),
                    format!("`{key}` goes round the axis and `along` straight: both cannot be given"),
                    "take one of them out",
                );
                return None;
            }
        }
        let on_top = matches!(tool, Tool::Relief(relief) if relief.on_top().is_some());
        if on_top && (rise.is_some() || along.is_some_and(|along| along.z != 0.0)) {
            let key = if rise.is_some() { "rise" } else { "along" };
            self.problems.push(
                Diagnostic::warning(
                    field.key(key),
                    "what lies on the top follows it and rises no further".to_owned(),
                )
                .fix("leave the height out"),
            );
        }
        let unturned = match tool {
            Tool::Ball { .. } => Some("a ball looks the same however it is turned"),
            Tool::Roll(_) => Some("a roll keeps to its edge and cannot be turned about its own middle"),
            _ => None,
        };
        if let Some(unturned) = unturned.filter(|_| turn != 0.0) {
            self.problems
                .push(Diagnostic::warning(field.key("turn"), unturned.to_owned()).fix("take `turn` out"));
        }
        let apart = f64::from((count - 1).max(1));
        let step = |index: u32| {
            let share = f64::from(index) / apart;
            let motion = match along {
                Some(along) => Motion { shift: along * share, ..Motion::default() },
                None => Motion {
                    // All the way round the last one stands a step before the first.
                    turn: first
                        + over.map_or(360.0 * f64::from(index) / f64::from(count), |over| over * share),
                    shift: DVec3::Z * rise.unwrap_or(0.0) * share,
                    ..Motion::default()
                },
            };
            let mirrored = repeat.mirror == Some(true) && index % 2 == 1;
            Step { spin: turn * f64::from(index), mirrored, motion, other_side: false }
        };
        Some((0..count).map(step).collect())
    }

    fn refuse_move(&mut self, why: Immovable, detail: &Detail, written: &schema::Detail, field: &FieldPath) {
        let at = if written.repeat.is_some() { field.key("repeat") } else { field.key("mirror") };
        let (message, fix) = match why {
            Immovable::SideNotStraight => (
                format!("\"{}\" lies on the side and cannot go along a straight line", detail.name),
                "give `over` (how far round) and `rise` (how much higher) instead of `along`",
            ),
            Immovable::DrawnNotTurned => (
                format!("\"{}\" lies as it is drawn and cannot be turned round the axis", detail.name),
                "give `along` in `repeat`, or give the outline `height` and `bearing` instead of `as_drawn`",
            ),
            Immovable::EdgeNotRaised => (
                format!("\"{}\" lies along an edge that has one height and cannot rise", detail.name),
                "take `rise` out, or lay it along a `height`",
            ),
            Immovable::BorderStays => (
                format!(
                    "\"{}\" lies along the border of an outline and cannot stand anywhere else",
                    detail.name
                ),
                "write a roll for each of the zones",
            ),
        };
        self.refuse(at, message, fix);
    }

    /// Names must tell details apart, the numbered ones of what stands in several places among them.
    pub(super) fn refuse_repeated_copies(&mut self, details: &[Detail]) {
        for (index, detail) in details.iter().enumerate() {
            let clash = details[..index]
                .iter()
                .find(|before| before.name == detail.name && !before.is_copy_of(detail));
            let Some(before) = clash.filter(|before| detail.copy.is_some() || before.copy.is_some()) else {
                continue;
            };
            let (copied, other) = if detail.copy.is_some() { (detail, before) } else { (before, detail) };
            self.refuse(
                other.field.key("name"),
                format!("\"{}\" is also one of the places of \"{}\"", other.name, copied.written_name()),
                "give it another name",
            );
        }
    }
}

impl Step {
    fn is_turn_alone(&self) -> bool {
        self.spin == 0.0 && !self.mirrored && !self.other_side && self.motion.shift == DVec3::ZERO
    }

    fn taken(&self, tool: &Tool) -> Result<Tool, Immovable> {
        let mut tool = if self.mirrored { tool.mirrored_in_place() } else { tool.clone() };
        if self.spin != 0.0 {
            tool = tool.spun(self.spin);
        }
        let moved = tool.moved(&self.motion)?;
        if self.other_side { moved.moved(&Motion { mirrored: true, ..Motion::default() }) } else { Ok(moved) }
    }
}
