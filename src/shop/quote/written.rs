//! Money and dates as a region writes them.
//!
//! EU: the Interinstitutional Style Guide (for texts in English the ISO code before the amount, thousands with a
//! space, a decimal point). UK, US, Australia, New Zealand: the sign before the amount and commas, common practice.

use jiff::civil::{Date, DateTime};

use make::language::grouped;
use plan::pantry::Region;

/// How money and dates are written.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Writing {
    /// Whose way.
    pub region: Region,
    /// ISO 4217 code.
    pub currency: String,
    /// Decimal places.
    pub decimals: u32,
}

impl Writing {
    /// A price, from whole numbers of the smallest coin: "EUR 1 234.50", "£1,234.50".
    pub fn price(&self, coins: i64) -> String {
        let unit = 10_u64.pow(self.decimals);
        let (whole, rest) = (coins.unsigned_abs() / unit, coins.unsigned_abs() % unit);
        let sign = if coins < 0 { "-" } else { "" };
        let (mark, between) = match (self.region, self.currency.as_str()) {
            (Region::Us, "USD") | (Region::Au, "AUD") | (Region::Nz, "NZD") => ("$".to_owned(), ","),
            (Region::Uk, "GBP") => ("£".to_owned(), ","),
            (Region::Eu, code) => (format!("{code} "), "\u{a0}"),
            (_, code) => (format!("{code} "), ","),
        };
        let places = self.decimals as usize;
        let cents = if places == 0 { String::new() } else { format!(".{rest:0places$}") };
        format!("{sign}{mark}{}{cents}", grouped(whole, between))
    }

    /// A price without its currency and without groups. It has a decimal point whatever the region.
    pub fn figures(&self, coins: i64) -> String {
        let unit = 10_u64.pow(self.decimals);
        let sign = if coins < 0 { "-" } else { "" };
        let (whole, rest) = (coins.unsigned_abs() / unit, coins.unsigned_abs() % unit);
        let places = self.decimals as usize;
        let figures = if places == 0 { whole.to_string() } else { format!("{whole}.{rest:0places$}") };
        format!("{sign}{figures}")
    }

    /// A day: "5 December 2026", in the US "December 5, 2026".
    pub fn date(&self, date: Date) -> String {
        let form = if self.region == Region::Us { "%B %-d, %Y" } else { "%-d %B %Y" };
        date.strftime(form).to_string()
    }

    /// A day with its weekday and hour: "Saturday 5 December 2026, 10:00", in the US "Saturday, December 5, 2026,
    /// 10:00 AM".
    pub fn time(&self, time: DateTime) -> String {
        if self.region == Region::Us {
            return time.strftime("%A, %B %-d, %Y, %-I:%M %p").to_string();
        }
        time.strftime("%A %-d %B %Y, %H:%M").to_string()
    }

    /// What a tax on sales is called: VAT in EU and UK, GST in Australia and New Zealand, sales tax in the US.
    pub fn tax(&self) -> &'static str {
        match self.region {
            Region::Eu | Region::Uk => "VAT",
            Region::Us => "Sales tax",
            Region::Au | Region::Nz => "GST",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_and_dates_are_written_as_the_region_does() {
        let day = jiff::civil::date(2026, 12, 5);
        let writing = |region, currency: &str| Writing { region, currency: currency.into(), decimals: 2 };
        for (region, currency, price, date) in [
            (Region::Eu, "EUR", "EUR 1\u{a0}234\u{a0}567.05", "5 December 2026"),
            (Region::Uk, "GBP", "£1,234,567.05", "5 December 2026"),
            (Region::Us, "USD", "$1,234,567.05", "December 5, 2026"),
            (Region::Nz, "NZD", "$1,234,567.05", "5 December 2026"),
            (Region::Us, "EUR", "EUR 1,234,567.05", "December 5, 2026"),
        ] {
            let writing = writing(region, currency);
            assert_eq!((writing.price(123_456_705), writing.date(day)), (price.into(), date.into()));
        }
        let us = writing(Region::Us, "USD");
        assert_eq!(us.time(day.at(14, 30, 0, 0)), "Saturday, December 5, 2026, 2:30 PM");
        assert_eq!(us.price(-5), "-$0.05");
        assert_eq!(us.figures(-1205), "-12.05");
        let yen = Writing { region: Region::Eu, currency: "JPY".into(), decimals: 0 };
        assert_eq!(yen.price(12_345), "JPY 12\u{a0}345");
    }
}
