//! A quote for spreadsheets.

use super::Quote;

/// The bench page as CSV: one row a line, then the sums.
///
/// # Errors
/// When the writer fails, which memory does not.
pub fn csv(quote: &Quote) -> Result<Vec<u8>, ::csv::Error> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    writer.write_record(["group", "what", "amount", &format!("price {}", quote.currency)])?;
    for line in &quote.lines {
        writer.write_record([line.group.name(), &line.what, &line.amount, &quote.figures(line.price)])?;
    }
    for (what, coins) in quote.sums() {
        writer.write_record(["sum", what, "", &quote.figures(coins)])?;
    }
    for what in &quote.unpriced {
        writer.write_record(["no price", what, "", ""])?;
    }
    writer.into_inner().map_err(|error| error.into_error().into())
}
