//! A quote for spreadsheets.

use super::Quote;

/// The bench page as CSV: one row a line, then the sums. Figures have a decimal point whatever the locale.
///
/// # Errors
/// When the writer fails, which memory does not.
pub fn csv(quote: &Quote) -> Result<Vec<u8>, ::csv::Error> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    writer.write_record(["group", "what", "amount", &format!("price {}", quote.currency)])?;
    let figure = |coins: i64| {
        let price = quote.price(coins);
        price.split(' ').next().unwrap_or_default().to_owned()
    };
    for line in &quote.lines {
        writer.write_record([line.group.name(), &line.what, &line.amount, &figure(line.price)])?;
    }
    for (what, coins) in [
        ("costs", quote.costs),
        ("margin", quote.margin),
        ("price before tax", quote.net),
        ("tax", quote.tax),
        ("price", quote.gross),
        ("deposit", quote.deposit),
        ("due on delivery", quote.balance),
    ] {
        writer.write_record(["sum", what, "", &figure(coins)])?;
    }
    for what in &quote.unpriced {
        writer.write_record(["no price", what, "", ""])?;
    }
    writer.into_inner().map_err(|error| error.into_error().into())
}
