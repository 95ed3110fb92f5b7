//! Prices that cannot be, refused with their place.

use cakefile::CakeFile;
use plan::{
    Plan,
    pantry::{Pantry, Price},
};
use shop::{
    amounts::Amounts,
    quote::{Quote, QuoteError, Sum},
};

use crate::orders_text::CAKE;

#[test]
fn prices_that_cannot_be_are_refused_where_they_are_written() {
    for (price, message) in [
        ("[pantry.goods.sugar]\nprice = -1.5\n", "cannot be -1.5"),
        ("[pantry.goods.sugar]\nprice = 1e308\n", "cannot be 1e308"),
        ("[pantry.money]\nhour = nan\n", "not a finite number"),
        ("[pantry.money]\nroad = inf\n", "not a finite number"),
        ("[pantry.money]\nmargin = 1e300\n", "cannot be 1e300"),
        ("[pantry.goods.sugar]\npack = 1e-300\n", "cannot be 1e-300"),
        ("[[pantry.dowel]]\nprice = -1\nlength = 300\ndiameter = 6\n", "cannot be -1"),
        ("[[pantry.board]]\nprice = -1\nthickness = 4\n", "cannot be -1"),
    ] {
        let file = CakeFile::from_text("mine.toml", "", format!("crumbline = 1\n{price}"));
        let told = Pantry::usual().with_file(&file).unwrap_err().render(false);
        for part in ["mine.toml:3", message] {
            assert!(told.contains(part), "{price}: {part} in {told}");
        }
    }
}

fn planned() -> Plan {
    crate::plans::planned(&CakeFile::from_text("x.cake.toml", "", CAKE)).unwrap()
}

/// The dearest prices that are read still add up, or are refused; none wraps round.
#[test]
fn sums_beyond_all_figures_are_refused() {
    let plan = planned();
    let dear = |number: f64| {
        let mut pantry = Pantry::clone(&plan.pantry);
        (pantry.money.hour, pantry.money.decimals) = (Price::new(1e9).unwrap(), 4);
        (pantry.money.margin, pantry.work.each_cake) = (100.0, number);
        let plan = Plan { pantry: pantry.into(), ..plan.clone() };
        Quote::new(&plan, &Amounts::new(&plan), 0.0)
    };
    let quote = dear(6e4).unwrap();
    assert!(quote.costs > 0 && quote.margin == 100 * quote.costs, "{quote:?}");
    assert_eq!(dear(6e6).unwrap_err(), QuoteError::SumTooLarge(Sum::Margin));
    assert!(matches!(dear(1e300).unwrap_err(), QuoteError::LineTooLarge(_)));
}
