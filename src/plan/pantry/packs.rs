//! Packs as shops sell them in the maker's region. Common practice, no source: what the shelves of large shops hold, in
//! round figures; a pack that the maker writes down comes before all of it.

use super::{Pantry, Region};

/// Grams of a pound, as packs in the United States are labelled, rounded as the labels are.
const POUND: f64 = 453.6;

/// Goods whose packs differ, with a pack in the EU, the UK, the US, Australia and New Zealand, g. Milk and cream are told by
/// volume on their labels: 1.03 and 1.0 g/mL. Eggs are of 50 g: ten, or a dozen.
const PACKS: [(&str, [f64; 5]); 14] = [
    // A stick of 4 oz in the US.
    ("butter", [250.0, 250.0, POUND / 4.0, 500.0, 500.0]),
    ("sugar", [1000.0, 1000.0, 4.0 * POUND, 1000.0, 1500.0]),
    ("powdered sugar", [1000.0, 1000.0, 2.0 * POUND, 1000.0, 500.0]),
    ("flour", [1000.0, 1500.0, 5.0 * POUND, 1000.0, 1500.0]),
    ("egg", [500.0, 600.0, 600.0, 600.0, 600.0]),
    // A litre, two pints, half a US gallon.
    ("milk", [1000.0, 1170.0, 1950.0, 1030.0, 1030.0]),
    // 500 mL, 300 mL, a US pint.
    ("cream", [500.0, 300.0, 473.0, 300.0, 300.0]),
    ("cocoa", [250.0, 250.0, POUND / 2.0, 250.0, 250.0]),
    ("baking powder", [100.0, 170.0, POUND / 2.0, 125.0, 125.0]),
    ("cream cheese", [200.0, 180.0, POUND / 2.0, 250.0, 250.0]),
    ("rolled icing", [1000.0, 1000.0, 1.5 * POUND, 1000.0, 1000.0]),
    ("sugar paste", [250.0, 250.0, 1.5 * POUND, 500.0, 500.0]),
    ("gum paste", [250.0, 250.0, POUND, 250.0, 250.0]),
    ("marzipan", [500.0, 500.0, POUND / 2.0, 500.0, 500.0]),
];

/// Gives every good of `pantry` whose pack the maker has not written down the pack of the region.
pub(super) fn by_region(pantry: &mut Pantry) {
    let column = match pantry.region() {
        Region::Eu => 0,
        Region::Uk => 1,
        Region::Us => 2,
        Region::Au => 3,
        Region::Nz => 4,
    };
    for (name, packs) in PACKS {
        if let Some(goods) = pantry.goods.get_mut(name).filter(|goods| !goods.is_own_pack) {
            goods.pack = Some(packs[column]);
        }
    }
}

#[cfg(test)]
mod tests {
    use cakefile::CakeFile;

    use super::*;

    fn pantry(lines: &str) -> Pantry {
        let file = CakeFile::from_text("own.toml", "", format!("crumbline = 2\n{lines}"));
        Pantry::usual().with_file(&file).unwrap()
    }

    #[test]
    fn packs_are_those_of_the_region_unless_the_maker_writes_one() {
        let pack = |pantry: &Pantry, name: &str| pantry.goods[name].pack.unwrap();
        let usual = Pantry::usual();
        assert_eq!((pack(&usual, "butter"), pack(&usual, "flour")), (250.0, 1000.0));
        let american = pantry("[pantry.money]\ncurrency = \"USD\"\n[pantry.goods.flour]\npack = 907\n");
        assert!((pack(&american, "butter") - 113.4).abs() < 0.01);
        assert!((pack(&american, "flour") - 907.0).abs() < 1e-9, "the maker's own");
        // A price alone says nothing of the pack.
        let british = pantry("[pantry]\nregion = \"UK\"\n[pantry.goods.flour]\nprice = 1.2\n");
        assert_eq!(pack(&british, "flour"), 1500.0);
        for (name, packs) in PACKS {
            assert!(usual.goods.contains_key(name), "{name}");
            assert_eq!(packs[0], pack(&usual, name), "{name}");
            assert!(packs.iter().all(|grams| (50.0..3000.0).contains(grams)), "{name}");
        }
    }
}
