//! Amounts of money as exact decimals, with every step checked.

use std::str::FromStr;

use rust_decimal::{Decimal, RoundingStrategy, prelude::ToPrimitive};
use serde::{Serialize, Serializer};

use cakefile::schema_pantry::MOST_PRICE;

/// An amount of money in the pantry's currency, 0 or more. Nothing here wraps, or turns into infinity: what is too large
/// is `None`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Price(Decimal);

impl Price {
    /// A price as it is written: 3.19 is 3.19, not the nearest binary fraction. `None` unless it lies between 0 and
    /// [`MOST_PRICE`].
    pub fn new(number: f64) -> Option<Self> {
        (0.0..=MOST_PRICE).contains(&number).then(|| decimal(number).map(Self))?
    }

    /// Whether it is nothing.
    pub fn is_zero(self) -> bool {
        self.0.is_zero()
    }

    /// The price of so many; `None` if that is too large, or `count` is negative or no number.
    pub fn times(self, count: f64) -> Option<Self> {
        let count = decimal(count).filter(|count| !count.is_sign_negative() || count.is_zero())?;
        self.0.checked_mul(count).map(Self)
    }

    /// In figures with so many decimal places and a decimal point whatever the locale, halves rounded up.
    pub fn figures(self, decimals: u32) -> String {
        let rounded = self.0.round_dp_with_strategy(decimals, RoundingStrategy::MidpointAwayFromZero);
        format!("{rounded:.places$}", places = decimals as usize)
    }

    /// In the smallest coin of a currency with so many decimal places, halves rounded up; `None` if that is too large.
    pub fn coins(self, decimals: u32) -> Option<i64> {
        rounded(self.0.checked_mul(Decimal::from(10_i64.checked_pow(decimals)?))?)
    }
}

impl Serialize for Price {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        // Decimals are finite: the nearest number that JSON's readers know.
        serializer.serialize_f64(self.0.to_f64().unwrap_or(f64::MAX))
    }
}

/// A share of a sum in coins, halves rounded away from 0; `None` if it is too large, or `share` is no number.
pub fn share_of(coins: i64, share: f64) -> Option<i64> {
    rounded(Decimal::from(coins).checked_mul(decimal(share)?)?)
}

fn rounded(number: Decimal) -> Option<i64> {
    number.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero).to_i64()
}

/// The decimal that a number is written as; `None` if it is not finite or too large.
fn decimal(number: f64) -> Option<Decimal> {
    // The shortest text that reads back as this number.
    Decimal::from_str(&number.to_string()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn price(number: f64) -> Price {
        Price::new(number).unwrap()
    }

    #[test]
    fn a_price_is_what_is_written() {
        // As binary fractions the first makes 1.00, the second 2.67.
        assert_eq!(price(1.005).coins(2), Some(101));
        assert_eq!(price(2.675).coins(2), Some(268));
        assert_eq!(price(0.1).times(3.0), Price::new(0.3));
        assert_eq!(price(12.0).coins(0), Some(12));
        assert_eq!(share_of(250, 0.19), Some(48));
        assert_eq!((price(2.675).figures(2), price(3.0).figures(2)), ("2.68".into(), "3.00".into()));
    }

    #[test]
    fn what_is_no_price_or_too_large_is_refused() {
        for wrong in [-0.01, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e308, MOST_PRICE * 1.01] {
            assert_eq!(Price::new(wrong), None, "{wrong}");
        }
        assert_eq!(price(MOST_PRICE).times(1e22), None);
        assert_eq!(price(2.0).times(-1.0), None);
        assert_eq!(price(2.0).times(f64::NAN), None);
        assert_eq!(price(MOST_PRICE).times(1e15).unwrap().coins(2), None);
        assert_eq!(share_of(i64::MAX, 100.0), None);
        assert_eq!(price(1.0).times(1e-300), Some(Price::default()));
    }
}
