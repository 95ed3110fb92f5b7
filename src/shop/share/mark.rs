//! A short mark of a cake: a page carries it, so that a text that comes back is known to be of this cake.

use cakefile::schema::Cake;
use formats::export::files::Fingerprint;
use plan::offer::Offer;

/// Figures of a mark: 40 bits, so that two pages of one maker hardly ever have the same.
const FIGURES: usize = 10;

/// The mark of `cake`, which offers `offer`: the first figures of the SHA-256 of all that it says, but for what the client
/// chooses. So one page may be answered twice, and comments change nothing.
pub fn mark(cake: &Cake, offer: &Offer) -> String {
    let mut cake = cake.clone();
    for taker in offer.colours.iter().flat_map(|choice| &choice.of) {
        *taker.colour_in(&mut cake) = None;
    }
    if let Some(order) = &mut cake.order {
        order.serves = None;
        order.remarks = None;
        if *order == cakefile::schema_pantry::Order::default() {
            cake.order = None;
        }
    }
    let said = toml::to_string(&cake).unwrap_or_default();
    Fingerprint::of(said.as_bytes()).to_string().chars().take(FIGURES).collect()
}
