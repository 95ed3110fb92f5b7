//! Prices of the sizes that are offered without one: the cake is scaled to serve so many, its best stack found, and that cake
//! quoted as any other.

use crate::{
    amounts::Amounts,
    arrange::{Aim, search::Effort},
    quote::{Quote, QuoteError},
    scale::ScaleError,
    serve::serve,
};
use geom::{Cancel, progress::NoProgress};
use plan::{Planner, Source};

/// The price of an offered size that the maker has not written down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkedOut {
    /// How many it serves.
    pub serves: u32,
    /// The price with tax, in the smallest coin: that of the scaled cake, rounded up to a whole number of the currency.
    pub coins: i64,
    /// By how much the cake was scaled for it.
    pub factor: f64,
}

/// Why there is no such price.
#[derive(Debug, thiserror::Error)]
pub enum NoPrice {
    /// The cake cannot be scaled so, or there was no time for it.
    #[error(transparent)]
    Scale(#[from] ScaleError),
    /// No stack was found for it.
    #[error("no stack was found for it")]
    NoStack,
    /// What was found is no sound cake.
    #[error("scaled so, its plan has an error: {0}")]
    Unsound(String),
    /// Something in it has no price.
    #[error("something in it has no price: {0}")]
    Unpriced(String),
    /// A sum is too large.
    #[error(transparent)]
    Quote(#[from] QuoteError),
}

/// The price of the cake in `source`, made for `serves`.
///
/// # Errors
/// What keeps it from being worked out; [`NoPrice::Scale`] once `cancel` is asked for.
pub fn worked_out(source: &Source, serves: u32, cancel: &Cancel) -> Result<WorkedOut, NoPrice> {
    let planner = Planner::new();
    let (scaled, found) =
        serve(&planner, source, serves, None, &[Aim::Best], Effort::default(), cancel, &NoProgress)?;
    let best = found.proposals.iter().find(|proposal| proposal.aims.contains(&Aim::Best));
    let plan = &best.or(found.proposals.first()).ok_or(NoPrice::NoStack)?.plan;
    if let Some(error) = plan.findings.iter().find(|finding| finding.severity == cakefile::Severity::Error) {
        return Err(NoPrice::Unsound(error.message.clone()));
    }
    let quote = Quote::new(plan, &Amounts::new(plan), 0.0)?;
    let Some(charged) = quote.charged else {
        let without: Vec<String> = quote.unpriced.iter().map(ToString::to_string).collect();
        return Err(NoPrice::Unpriced(without.join(", ")));
    };
    let whole = 10_i64.checked_pow(quote.writing.decimals).unwrap_or(1);
    let coins = charged.gross.saturating_add(whole - 1) / whole * whole;
    Ok(WorkedOut { serves, coins, factor: scaled.factor })
}
