//! Steps for what is painted, brushed and dusted on.

use super::sentences::Sentences;
use crate::{language::filled, shared_name::shared_name_of};
use plan::{
    design::{Detail, Finish, FinishKind},
    finishes::{PutOn, Under},
    support::capital,
};

/// Clear spirit that lustre is thinned with, for each gram of it, g (common practice, no source).
pub const SPIRIT: f64 = 2.0;

impl Sentences<'_> {
    /// A step for each finish, and before the first what is to be minded.
    pub(super) fn finishes(&self) -> Vec<String> {
        let finishes = self.plan.finishes();
        let words = &self.language().step;
        if finishes.is_empty() {
            return Vec::new();
        }
        let mut steps = vec![words.finish_care.clone()];
        steps.extend(finishes.iter().map(|put_on| self.put_on(put_on)));
        steps
    }

    fn put_on(&self, put_on: &PutOn<'_>) -> String {
        let words = &self.language().step;
        let Finish { kind, colour, coats, fade, for_show, .. } = put_on.finish;
        let form = match kind {
            FinishKind::Paint => &words.finish_paint,
            FinishKind::Lustre => &words.finish_lustre,
            FinishKind::Pearl => &words.finish_pearl,
            FinishKind::Dust => &words.finish_dust,
        };
        let coats = match coats {
            1 => words.finish_once.clone(),
            more => filled(&words.finish_coats, &[("count", &more.to_string())]),
        };
        let said = [
            ("what", &*self.what_under(put_on.under)),
            ("colour", &format!("#{:02x}{:02x}{:02x}", colour.0, colour.1, colour.2)),
            ("coats", &coats),
            ("mass", &self.pinch(put_on.grams())),
            ("spirit", &self.pinch(SPIRIT * put_on.grams())),
        ];
        let mut told = filled(form, &said);
        if let Some([full, gone]) = fade {
            let heights = [("full", &*self.mm(*full)), ("gone", &*self.mm(*gone))];
            told = format!("{told} {}", filled(&words.finish_fade, &heights));
        }
        if *for_show {
            told = format!("{told} {}", words.finish_show);
        }
        capital(&told)
    }

    /// A mass of a few grams, as pots of it are labelled whatever the maker's units.
    fn pinch(&self, grams: f64) -> String {
        format!("{} g", self.language().number(grams.max(0.1), usize::from(grams < 10.0)))
    }

    /// What a finish is put on, in words.
    fn what_under(&self, under: Under<'_>) -> String {
        let words = &self.language().step;
        match under {
            Under::Covering(material) => {
                filled(&words.finish_covering, &[("material", self.language().name(material))])
            }
            Under::Zone(name) => name.to_owned(),
            Under::Detail(places) => {
                let places: Vec<&Detail> = places.iter().collect();
                shared_name_of(&places, self.language())
            }
        }
    }
}
