//! Where a sheet is smoothed, eased, pleats or tears, in words.

use geom::develop::Strain;
use plan::icing::{Outcome, PLEATS, Piece};

use super::LaidIcing;
use crate::language::filled;

/// A sheet gathers by this share without being touched, percent.
const HARDLY: u32 = 4;

impl LaidIcing<'_> {
    /// What a sheet does round the cake; nothing where it lies flat.
    pub(super) fn strained(&self, piece: &Piece) -> String {
        let mut said = self.gathered(piece);
        said.extend(self.stretched(piece));
        said.join(" ")
    }

    fn gathered(&self, piece: &Piece) -> Vec<String> {
        let Some(worst) = piece.most_gathered() else { return Vec::new() };
        let words = &self.language.icing;
        let share = percent(-worst.share);
        match Outcome::of(worst.share) {
            _ if share <= HARDLY => Vec::new(),
            Outcome::Smooth => vec![self.at(&words.rubbed, share, worst)],
            Outcome::Pleated => {
                let pleats = piece.strains.iter().filter(|s| s.share < -PLEATS);
                let from = pleats.map(|s| s.at.y).fold(0.0, f64::max);
                vec![
                    filled(&words.pleats, &[("shares", &self.shares(piece))]),
                    filled(&words.pleats_from, &[("height", &self.mm(from))]),
                ]
            }
            _ => vec![filled(&words.gathers, &[("shares", &self.shares(piece))])],
        }
    }

    /// `words` with a share, percent, and where it is.
    fn at(&self, words: &str, share: u32, strain: &Strain) -> String {
        filled(words, &[("share", &self.about(share.to_string())), ("place", &self.at_height(strain.at.y))])
    }

    /// "about 12" where it is an estimate.
    fn about(&self, share: String) -> String {
        if self.icing.estimated { filled(&self.language.icing.about, &[("share", &share)]) } else { share }
    }

    /// By how much it gathers at three heights, down to where it gathers most.
    fn shares(&self, piece: &Piece) -> String {
        let Some(worst) = piece.most_gathered() else { return String::new() };
        // From the highest place, where it begins, to the worst.
        let wanted = [1.0 / 3.0, 2.0 / 3.0].map(|share| worst.share * share);
        let reached = |share: f64| piece.strains.iter().rev().find(|s| s.share <= share);
        let share = |s: &Strain| {
            let (share, place) = (percent(-s.share).to_string(), self.at_height(s.at.y));
            filled(&self.language.icing.share, &[("share", &share), ("place", &place)])
        };
        let before = wanted.into_iter().filter_map(reached).filter(|s| s.at.y - worst.at.y > 5.0);
        let said: Vec<String> = before.chain([worst]).map(share).collect();
        self.about(self.language.joined(&said))
    }

    fn stretched(&self, piece: &Piece) -> Option<String> {
        let worst = piece.most_stretched()?;
        let words = &self.language.icing;
        let form = match Outcome::of(worst.share) {
            Outcome::Thinned => &words.thins,
            Outcome::Torn => &words.tears,
            _ => return None,
        };
        Some(self.at(form, percent(worst.share), worst))
    }
}

fn percent(share: f64) -> u32 {
    (share * 100.0).round() as u32
}
