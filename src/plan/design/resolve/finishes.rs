//! Finishes as written → finishes in numbers.

use super::Resolver;
use crate::design::{Finish, FinishKind, PEARL};
use cakefile::{Diagnostic, FieldPath, schema};

/// The most finishes on one thing, and how many of them may fade: pictures draw no more.
const MOST: usize = 4;
const MOST_FADING: usize = 2;

impl Resolver<'_> {
    /// What is put on the thing at `field`.
    pub(super) fn finishes(&mut self, written: &[schema::Finish], field: &FieldPath) -> Option<Vec<Finish>> {
        let list = field.key("finish");
        if written.len() > MOST {
            self.refuse(
                list.index(MOST),
                format!("there are {} finishes on one thing; {MOST} is the most", written.len()),
                "take some out, or make zones for them",
            );
            return None;
        }
        if let Some((index, _)) =
            written.iter().enumerate().filter(|(_, finish)| finish.fade.is_some()).nth(MOST_FADING)
        {
            self.refuse(
                list.index(index).key("fade"),
                format!("more than {MOST_FADING} finishes on one thing fade"),
                "take `fade` out, or make a zone for it",
            );
            return None;
        }
        let finishes: Vec<Option<Finish>> = written
            .iter()
            .enumerate()
            .map(|(index, finish)| self.finish(finish, &list.index(index)))
            .collect();
        finishes.into_iter().collect()
    }

    fn finish(&mut self, written: &schema::Finish, field: &FieldPath) -> Option<Finish> {
        let colour = self.maybe(written.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        let fade = self.maybe(written.fade.as_ref(), |s, [full, gone]| {
            let (full, gone) =
                (s.length(full, field.key("fade").index(0)), s.length(gone, field.key("fade").index(1)));
            Some([full?, gone?])
        });
        let coats = match written.coats {
            None => Some(Finish::usual_coats(written.kind)),
            Some(coats @ 1..=Finish::MOST_COATS) => Some(coats),
            Some(coats) => {
                self.refuse(
                    field.key("coats"),
                    format!(
                        "{coats} coats: it is put on once at least, and {} times at most",
                        Finish::MOST_COATS
                    ),
                    "give a number between them, or take the finish out",
                );
                None
            }
        };
        let colour = match (colour?, written.kind) {
            (Some(colour), _) => colour,
            (None, FinishKind::Pearl) => PEARL,
            (None, _) => {
                self.refuse(field.clone(), "this finish has no colour", "give it one: colour = \"#c9a227\"");
                return None;
            }
        };
        let fade = fade?;
        if let Some([full, gone]) = fade
            && (full - gone).abs() < LEAST_FADE
        {
            self.refuse(
                field.key("fade"),
                "it fades over no height: it is full where it is gone",
                "give two heights, first that where it is full, or take `fade` out",
            );
            return None;
        }
        Some(Finish {
            kind: written.kind,
            colour,
            coats: coats?,
            fade,
            for_show: written.for_show.unwrap_or(false),
            field: field.clone(),
        })
    }

    /// Says that finishes given where nobody sees them are left aside.
    pub(super) fn unseen_finish(
        &mut self,
        written: &[schema::Finish],
        field: &FieldPath,
        why: &str,
        fix: &str,
    ) {
        if !written.is_empty() {
            self.problems.push(
                Diagnostic::warning(field.key("finish"), format!("nobody sees this finish: {why}")).fix(fix),
            );
        }
    }
}

/// Less height than this is none, mm.
const LEAST_FADE: f64 = 0.1;
