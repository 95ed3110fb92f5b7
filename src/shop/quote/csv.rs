//! A quote for spreadsheets.

use super::Quote;
use crate::spreadsheet::Spreadsheet;
use make::language::Language;

/// The bench page as CSV: one row a line, then the sums.
///
/// # Errors
/// When the writer fails, which memory does not.
pub fn csv(quote: &Quote) -> Result<Vec<u8>, ::csv::Error> {
    let mut table =
        Spreadsheet::new(["group", "what", "amount", &format!("price {}", quote.writing.currency)])?;
    for line in &quote.lines {
        table.row([
            line.group.name(),
            &line.what.to_string(),
            &line.amount,
            &quote.writing.figures(line.price),
        ])?;
    }
    for (sum, coins) in quote.sums() {
        table.row(["sum", &quote.name_of(sum, Language::english()), "", &quote.writing.figures(coins)])?;
    }
    for what in &quote.unpriced {
        table.row(["no price", &what.to_string(), "", ""])?;
    }
    table.bytes()
}
