//! Where a sheet is smoothed, eased, pleats or tears, in words.

use geom::develop::Strain;
use plan::icing::{Outcome, PLEATS, Piece};

use super::{LaidIcing, steps::FOOT};

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
        let share = percent(-worst.share);
        let about = if self.icing.estimated { "about " } else { "" };
        match Outcome::of(worst.share) {
            _ if share <= HARDLY => Vec::new(),
            Outcome::Smooth => vec![format!(
                "It gathers round by {about}{share} % {}: that is rubbed smooth.",
                self.place(worst)
            )],
            Outcome::Pleated => {
                let mut said = vec![format!("It gathers round by {}.", self.shares(piece, about))];
                let pleats = piece.strains.iter().filter(|s| s.share < -PLEATS);
                let from = pleats.map(|s| s.at.y).fold(0.0, f64::max);
                said.push(format!(
                    "From height {} down it falls into pleats: lift and ease it out all round, again and again, before you \
                     press it on.",
                    self.mm(from)
                ));
                said
            }
            _ => vec![format!(
                "It gathers round by {}: lift and ease it out all round before you press it on, or it pleats.",
                self.shares(piece, about)
            )],
        }
    }

    /// By how much it gathers at three heights, down to where it gathers most.
    fn shares(&self, piece: &Piece, about: &str) -> String {
        let Some(worst) = piece.most_gathered() else { return String::new() };
        // From the highest place, where it begins, to the worst.
        let wanted = [1.0 / 3.0, 2.0 / 3.0].map(|share| worst.share * share);
        let reached = |share: f64| piece.strains.iter().rev().find(|s| s.share <= share);
        let mut said: Vec<String> = wanted
            .into_iter()
            .filter_map(reached)
            .filter(|s| s.at.y - worst.at.y > 5.0)
            .map(|s| format!("{} % {}", percent(-s.share), self.place(s)))
            .collect();
        said.push(format!("{} % {}", percent(-worst.share), self.place(worst)));
        let last = said.pop().unwrap_or_default();
        let before = if said.is_empty() { String::new() } else { format!("{} and ", said.join(", ")) };
        format!("{about}{before}{last}")
    }

    fn stretched(&self, piece: &Piece) -> Option<String> {
        let worst = piece.most_stretched()?;
        let said = match Outcome::of(worst.share) {
            Outcome::Thinned => "it thins there, so press it on before it skins",
            Outcome::Torn => "it is likely to tear there: roll it thicker, or patch it",
            _ => return None,
        };
        let about = if self.icing.estimated { "about " } else { "" };
        Some(format!("It stretches by {about}{} % {}: {said}.", percent(worst.share), self.place(worst)))
    }

    fn place(&self, strain: &Strain) -> String {
        if strain.at.y < FOOT { "at the foot".into() } else { format!("at height {}", self.mm(strain.at.y)) }
    }
}

fn percent(share: f64) -> u32 {
    (share * 100.0).round() as u32
}
