//! The steps in which a rolled covering is laid, in the order of the work (common practice, no source).

use plan::{
    design::IcingWay,
    icing::{Covers, Piece},
    support::capital,
};

use super::LaidIcing;
use crate::bearing_words::at_bearing_words;

/// Where the shares come from beyond which a sheet pleats or tears.
const LIMITS: &str = "What is rubbed smooth, pleats or tears: common practice, no source.";

/// A sheet between heights that differ by less lies level, mm.
const LEVEL: f64 = 3.0;

/// Below this a place is the foot, mm.
pub(super) const FOOT: f64 = 1.0;

/// The steps for one covering, each in one or a few sentences.
pub fn steps(laid: &LaidIcing<'_>) -> Vec<String> {
    let mut steps = match laid.icing.way {
        IcingWay::Draped => vec![laid.draped()],
        IcingWay::DiscAndWrap | IcingWay::Panels => laid.top_then_sides(),
        IcingWay::Bands => laid.bands_upwards(),
    };
    let is_strained = laid.icing.pieces.iter().any(|piece| !laid.strained(piece).is_empty());
    if let Some(last) = steps.last_mut().filter(|_| is_strained) {
        last.push_str(" (");
        last.push_str(LIMITS.trim_end_matches('.'));
        last.push_str(".)");
    }
    steps
}

impl LaidIcing<'_> {
    /// "rolled icing 3 mm thick".
    fn what(&self) -> String {
        format!("{} {} thick", self.covering.material.name, self.style.length_alone(self.covering.thickness))
    }

    fn draped(&self) -> String {
        let Some(piece) = self.icing.pieces.first() else {
            return format!("Cover it with {}.", self.what());
        };
        let mut step = format!(
            "Cover it with {} in one sheet: roll it {} ({} of that all round is to be trimmed off), lay it on from the middle, smooth \
             the top, then the side from its edge down, a little all round at a time.",
            self.what(),
            self.size(&piece.sheet),
            self.mm(self.allowance)
        );
        if self.icing.estimated {
            step += " The size is that of a taut band from side to side and from front to back: press the sheet into \
                     hollows before it skins.";
        }
        push(&mut step, &self.strained(piece));
        if let Some(tuck) = self.icing.tuck {
            let at = tuck.bearing.map_or("all round".to_owned(), at_bearing_words);
            let height = if tuck.height < FOOT {
                "at the foot".to_owned()
            } else {
                format!("at height {}", self.mm(tuck.height))
            };
            step += &format!(
                " It is tucked in by {} below something wider {height}, {at}: bring what is too much together in one fold {}, \
                 cut it off through both layers and rub the seam smooth.",
                self.mm(tuck.by),
                self.seam()
            );
        }
        step += " Trim the foot last, and keep what is trimmed, wrapped, for details.";
        step
    }

    /// How a sheet comes to its size.
    fn cut(&self, piece: &Piece) -> String {
        if self.icing.is_patterned(piece) {
            "cut by its pattern (templates: icing)".into()
        } else {
            format!("rolled about {}", self.size(&piece.sheet))
        }
    }

    fn top_then_sides(&self) -> Vec<String> {
        let pieces = &self.icing.pieces;
        let mut steps = Vec::new();
        if let Some(top) = pieces.iter().find(|piece| piece.covers == Covers::Top) {
            let mut step = format!(
                "Cover it with {}, the top first: {}, laid on, smoothed to the edge and trimmed along it.",
                self.what(),
                self.cut(top)
            );
            push(&mut step, &self.strained(top));
            steps.push(step);
        }
        let sides: Vec<&Piece> = pieces.iter().filter(|piece| piece.covers != Covers::Top).collect();
        let Some(first) = sides.first() else { return steps };
        let mut step = match (self.icing.way, sides.len()) {
            (IcingWay::Panels, n) => format!(
                "Then the sides in {n} panels, each {}: the back first, the front last. Press each on from its middle, trim it \
                 at its corners, rub the joins together with a fingertip, and trim them all along the top.",
                self.cut(first)
            ),
            (_, 1) => format!(
                "Then the side: {}, rolled up on a tube and unrolled round the cake and joined {seam}. Let \
                 its ends overlap, cut through both, take away what is over and rub the seam smooth; trim it along the top{edge}.",
                self.cut(first),
                seam = self.seam(),
                edge = if steps.is_empty() { " and the foot" } else { "" },
            ),
            (_, n) => format!(
                "Then the sides, outer first and each of the {n} {}, seams {}, and trimmed along the top.",
                self.cut(first),
                self.seam()
            ),
        };
        if steps.is_empty() {
            step = format!("Cover it with {}. {}", self.what(), step.trim_start_matches("Then "));
            step = capitalised_after_stop(&step);
        }
        for side in sides {
            push(&mut step, &self.strained(side));
        }
        steps.push(step);
        steps
    }

    fn bands_upwards(&self) -> Vec<String> {
        let pieces = &self.icing.pieces;
        let n = pieces.len();
        let pattern = match (self.icing.has_patterns(), n) {
            (false, _) => "",
            (true, 1) => " Cut it by its pattern (templates: icing).",
            (true, _) => " Bands are cut by their patterns (templates: icing) and wrapped round.",
        };
        let mut steps = vec![format!(
            "Cover it with {}, {} from the board up, so that each covers the upper edge of the one below; seams {}, \
             each trimmed before the next is laid.{pattern}",
            self.what(),
            if n == 1 { "in one sheet".to_owned() } else { format!("{n} sheets") },
            self.seam()
        )];
        for (piece, name) in pieces.iter().zip(self.names()) {
            let (low, high) = piece.heights;
            let mut step = if high - low < LEVEL {
                format!("{}, level at height {}", capital(&name), self.mm(high))
            } else {
                format!("{}, height {} to {}", capital(&name), self.mm(low), self.mm(high))
            };
            step += &match piece.covers {
                Covers::Cap => format!(
                    ": rolled {}, laid on from the middle and smoothed down to its edge, where it is trimmed.",
                    self.size(&piece.sheet)
                ),
                _ if self.icing.is_patterned(piece) => ".".to_owned(),
                _ => format!(": rolled about {}.", self.size(&piece.sheet)),
            };
            for (turned, edge) in piece.turned.iter().zip(["under its lower", "over its upper"]) {
                if *turned > 0.0 {
                    step += &format!(" {} of it are turned {edge} edge.", self.mm(*turned));
                }
            }
            push(&mut step, &self.strained(piece));
            steps.push(step);
        }
        steps
    }
}

/// Puts another sentence behind a step.
fn push(step: &mut String, sentence: &str) {
    if !sentence.is_empty() {
        step.push(' ');
        step.push_str(sentence);
    }
}

/// A text whose second sentence begins with a capital letter.
fn capitalised_after_stop(text: &str) -> String {
    match text.split_once(". ") {
        Some((first, rest)) => format!("{first}. {}", capital(rest)),
        None => text.to_owned(),
    }
}
