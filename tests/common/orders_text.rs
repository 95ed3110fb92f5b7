//! Prices, and a cake to order.

// The tests of each member use their part of it.
#![allow(dead_code)]

/// A pantry with prices.
pub const PRICES: &str = r#"
crumbline = 1
[pantry.goods.butter]
price = 3.19
[pantry.goods.sugar]
price = 1.29
[pantry.goods.egg]
price = 2.4
[pantry.goods.flour]
price = 0.99
[pantry.goods."powdered sugar"]
price = 1.79
[pantry.goods.milk]
price = 1.1
[pantry.goods."baking powder"]
price = 0.9
allergens = []
[pantry.money]
hour = 24
overhead = 6
margin = 0.15
tax = 0.19
deposit = 0.5
road = 30
presentation = 5
"#;

/// A cake of one layer; its table `[order]` may follow.
pub const CAKE: &str = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[60, 0], [60, 40]]\n[[tier]]\nname = \"one\"\n\
                    [[tier.layer]]\npan = { round = \"6 in\" }\nheight = 40\n";
