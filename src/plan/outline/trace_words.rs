//! What there is to say of the scale of a traced picture, in the maker's unit.

use geom::{trace::Trace, units::UnitStyle};

/// A remark on a trace.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TraceRemark {
    /// What it says.
    pub text: String,
    /// How to fix it, where something may be wrong.
    pub fix: Option<&'static str>,
}

/// A card whose control points lie farther off is not flat, mm.
const FLAT: f64 = 0.5;
/// An error above this part of the size is worth a warning.
const LARGE_ERROR: f64 = 0.01;
/// A size that is given and differs from the card's by more than this part is worth a remark.
const DIFFERENT: f64 = 0.02;

/// What a card or two distances say of the scale of a trace.
pub fn scale(trace: &Trace, style: UnitStyle) -> Vec<TraceRemark> {
    let note = |text: String| TraceRemark { text, fix: None };
    let warning = |text: String, fix| TraceRemark { text, fix: Some(fix) };
    let mut remarks = Vec::new();
    if let Some(card) = trace.card {
        let size = style.sides(&[card.size.x, card.size.y]);
        let error = style.length_fine(card.error);
        let seen = format!(
            "by the card {size}, ± {error}, seen at a tilt of {:.0}°: perspective taken out, lens distortion not",
            card.tilt
        );
        let is_large = card.error > LARGE_ERROR * card.size.max_element();
        remarks.push(if is_large {
            warning(seen, "take the picture from more nearly above, with the card flat beside the template and larger in it")
        } else {
            note(seen)
        });
        if card.off > FLAT {
            remarks.push(warning(
                format!(
                    "the card is not flat, or the lens bends lines: it is seen up to {} off",
                    style.length_fine(card.off)
                ),
                "lay the card flat, and take the picture from farther away rather than with a wide angle",
            ));
        }
        if card.over_print {
            remarks.push(warning(
                "the outline runs over what is printed on the card".to_owned(),
                "lay the template on the blank part of the card, or beside it",
            ));
        }
        let given = (trace.size / card.size - 1.0).abs().max_element();
        if given > DIFFERENT {
            remarks.push(note(format!(
                "the size that is given rules: {} instead of the card's {size}",
                style.sides(&[trace.size.x, trace.size.y])
            )));
        }
    }
    if let Some(fault) = trace.card_fault {
        remarks.push(warning(format!("{fault}, so the camera's perspective is not taken out"), fault.fix()));
    }
    if let Some(crossed) = trace.crossed {
        remarks.push(note(format!(
            "by two distances at right angles, ± {} if each mark is off by a pixel; one direction looked {:.2} times as \
             long as the other, and perspective is not taken out",
            style.length_fine(crossed.error),
            crossed.foreshortening
        )));
    }
    remarks
}
