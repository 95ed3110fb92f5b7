//! The steps in which a rolled covering is laid, in the order of the work (common practice, no source).

use plan::{
    design::IcingWay,
    icing::{Covers, Piece},
    support::capital,
};

use super::LaidIcing;
use crate::language::filled;

/// A sheet between heights that differ by less lies level, mm.
const LEVEL: f64 = 3.0;

/// Below this a place is the foot, mm.
const FOOT: f64 = 1.0;

/// The steps for one covering, each in one or a few sentences.
pub fn steps(laid: &LaidIcing<'_>) -> Vec<String> {
    let outlined = laid.icing.pieces.iter().any(|piece| piece.covers == Covers::Outline);
    let mut steps = match laid.icing.way {
        _ if outlined => vec![filled(&laid.language.icing.inlaid, &[("what", &laid.what())])],
        IcingWay::Draped => vec![laid.draped()],
        IcingWay::DiscAndWrap | IcingWay::Panels => laid.top_then_sides(),
        IcingWay::Bands => laid.bands_upwards(),
    };
    let is_strained = laid.icing.pieces.iter().any(|piece| !laid.strained(piece).is_empty());
    if let Some(last) = steps.last_mut().filter(|_| is_strained) {
        push(last, &laid.language.icing.limits);
    }
    steps
}

impl LaidIcing<'_> {
    /// "rolled icing 3 mm thick".
    fn what(&self) -> String {
        let thickness = self.style.length_alone(self.covering.thickness);
        filled(&self.language.icing.what, &[("material", &self.name()), ("thickness", &thickness)])
    }

    fn draped(&self) -> String {
        let words = &self.language.icing;
        let Some(piece) = self.icing.pieces.first() else {
            return filled(&words.cover, &[("what", &self.what())]);
        };
        let mut step = filled(
            &words.drape,
            &[
                ("what", &self.what()),
                ("size", &self.size(&piece.sheet)),
                ("allowance", &self.mm(self.allowance)),
            ],
        );
        if self.icing.estimated {
            push(&mut step, &words.taut);
        }
        push(&mut step, &self.strained(piece));
        if let Some(tuck) = self.icing.tuck {
            let at = tuck.bearing.map_or_else(|| words.all_round.clone(), |at| self.language.at_bearing(at));
            let tucked = filled(
                &words.tuck,
                &[
                    ("depth", &self.mm(tuck.by)),
                    ("height", &self.at_height(tuck.height)),
                    ("at", &at),
                    ("seam", &self.seam()),
                ],
            );
            push(&mut step, &tucked);
        }
        push(&mut step, &words.trim_foot);
        step
    }

    /// "at the foot", "at height 120 mm".
    pub(super) fn at_height(&self, height: f64) -> String {
        let words = &self.language.icing;
        if height < FOOT {
            words.at_foot.clone()
        } else {
            filled(&words.at_height, &[("height", &self.mm(height))])
        }
    }

    /// How a sheet comes to its size.
    fn cut(&self, piece: &Piece) -> String {
        let words = &self.language.icing;
        if self.icing.is_patterned(piece) {
            words.by_pattern.clone()
        } else {
            filled(&words.rolled, &[("size", &self.size(&piece.sheet))])
        }
    }

    fn top_then_sides(&self) -> Vec<String> {
        let (pieces, words) = (&self.icing.pieces, &self.language.icing);
        let mut steps = Vec::new();
        if let Some(top) = pieces.iter().find(|piece| piece.covers == Covers::Top) {
            let mut step = filled(&words.top_first, &[("what", &self.what()), ("cut", &self.cut(top))]);
            push(&mut step, &self.strained(top));
            steps.push(step);
        }
        let sides: Vec<&Piece> = pieces.iter().filter(|piece| piece.covers != Covers::Top).collect();
        let Some(first) = sides.first() else { return steps };
        let has_top = !steps.is_empty();
        let form = match (self.icing.way, sides.len(), has_top) {
            (IcingWay::Panels, _, true) => &words.then_panels,
            (IcingWay::Panels, _, false) => &words.only_panels,
            (_, 1, true) => &words.then_side,
            (_, 1, false) => &words.only_side,
            (_, _, true) => &words.then_sides,
            (_, _, false) => &words.only_sides,
        };
        let mut step = filled(
            form,
            &[
                ("what", &self.what()),
                ("count", &sides.len().to_string()),
                ("cut", &self.cut(first)),
                ("seam", &self.seam()),
            ],
        );
        for side in sides {
            push(&mut step, &self.strained(side));
        }
        steps.push(step);
        steps
    }

    fn bands_upwards(&self) -> Vec<String> {
        let (pieces, words) = (&self.icing.pieces, &self.language.icing);
        let sheets = match pieces.len() {
            1 => words.one_sheet.clone(),
            n => filled(&words.sheets, &[("count", &n.to_string())]),
        };
        let named = [("what", self.what()), ("sheets", sheets), ("seam", self.seam())];
        let mut first =
            filled(&words.upwards, &named.each_ref().map(|(place, text)| (*place, text.as_str())));
        match (self.icing.has_patterns(), pieces.len()) {
            (false, _) => {}
            (true, 1) => push(&mut first, &words.pattern),
            (true, _) => push(&mut first, &words.patterns),
        }
        let mut steps = vec![first];
        for (piece, name) in pieces.iter().zip(self.names()) {
            let ((low, high), name) = (piece.heights, capital(&name));
            let place = if high - low < LEVEL {
                filled(&words.level_at, &[("name", &name), ("height", &self.mm(high))])
            } else {
                filled(&words.from_to, &[("name", &name), ("low", &self.mm(low)), ("high", &self.mm(high))])
            };
            let laid = |form: &str| filled(form, &[("place", &place), ("size", &self.size(&piece.sheet))]);
            let mut step = match piece.covers {
                Covers::Cap => laid(&words.cap_laid),
                _ if self.icing.is_patterned(piece) => format!("{place}."),
                _ => laid(&words.band_laid),
            };
            for (turned, form) in piece.turned.iter().zip([&words.turned_under, &words.turned_over]) {
                if *turned > 0.0 {
                    push(&mut step, &filled(form, &[("length", &self.mm(*turned))]));
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
