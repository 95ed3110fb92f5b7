//! The scale card in a picture: where its control points are seen, and the homography from the picture to its plane.
//!
//! ```text
//! GreyLevels ─► relative levels ─► ellipses ─► marks ─► crossings ─► four that fit ─► SeenCard
//!               (a smaller picture)          (quarters) (sub-pixel)  (which is which)  (checked by the bars)
//! ```
//!
//! Refused: fewer marks than four, marks that do not fit the card (a mirrored picture, four marks of two cards), two
//! cards, and a card that is bent. Lens distortion is not modelled: it shows in how far the bars' crossings lie off.

mod candidates;
mod crossing;
mod fault;
pub mod layout;
mod mark;
mod seen;

pub use fault::CardFault;
pub(super) use mark::singular_values;
pub(super) use seen::SeenCard;

use super::grey_levels::GreyLevels;
use candidates::{Candidate, candidates};

/// More regions that look like marks are not tried in all fours.
const MOST_CANDIDATES: usize = 12;

/// The card in a picture of this brightness. `None` where nothing looks like a mark of it.
pub(super) fn find(levels: &GreyLevels) -> Result<Option<SeenCard>, CardFault> {
    let found = candidates(levels);
    match found.len() {
        0 => return Ok(None),
        marks @ 1..4 => return Err(CardFault::Partly { marks }),
        4..=MOST_CANDIDATES => {}
        _ => return Err(CardFault::Several),
    }
    let mut cards = fours(&found).filter_map(|four| SeenCard::of(levels, four));
    match (cards.next(), cards.next()) {
        (None, _) => Err(CardFault::Misfit { marks: found.len() }),
        (Some(_), Some(_)) => Err(CardFault::Several),
        (Some(card), None) => card.checked().map(Some),
    }
}

/// Every choice of four.
fn fours(found: &[Candidate]) -> impl Iterator<Item = [Candidate; 4]> {
    let n = found.len();
    (0..n).flat_map(move |a| {
        (a + 1..n).flat_map(move |b| {
            (b + 1..n).flat_map(move |c| (c + 1..n).map(move |d| [a, b, c, d].map(|i| found[i])))
        })
    })
}
