//! How long a batch of 200 orders takes, half of them with a stack still to be found.
//!
//! `cargo bench --no-default-features --bench batch`. The reference is the budget itself: 10 s on two cores.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs, dead_code)]
mod row;

use std::time::{Duration, Instant};

use std::sync::Arc;

use crumbline::{
    batch::Batch,
    cakefile::{CakeFile, world::Memory},
    geom::{Cancel, progress::NoProgress},
    pantry::Pantry,
    plan::Source,
};
use row::{head, row};

fn main() {
    let orders: Vec<Source> = (0..200).map(order).collect();
    let start = Instant::now();
    let batch = Batch::new(&orders, &Pantry::usual(), &Cancel::new(), &NoProgress).expect("nobody stops it");
    let took = start.elapsed();
    println!(
        "{} orders planned, {} could not be, {} loads",
        batch.rows.len(),
        batch.failed.len(),
        batch.loads
    );
    head();
    row("200 orders vs 10 s", took, Duration::from_secs(10), Some(1.0));
}

/// Vases of many sizes.
fn order(i: u32) -> Source {
    let (foot, belly, height) = (70 + i % 23, 85 + i % 31, 130 + i % 110);
    let mut text = format!(
        "crumbline = 1\nname = \"order {i}\"\n[shape.turned]\nfrom = [{foot}, 0]\ndraw = [{{ to = [60, {height}], \
         curve = [[{belly}, {}], [{belly}, {}]] }}, {{ to = [0, {}] }}]\n[[covering]]\nmaterial = \"rolled icing\"\n\
         thickness = 3\n[[covering]]\nmaterial = \"ganache\"\nthickness = 6\n",
        height / 3,
        2 * height / 3,
        height + 10
    );
    if i.is_multiple_of(2) {
        let layer = "[[tier.layer]]\npan = { round = \"10 in\" }\nheight = 45\n";
        text += &format!("[[tier]]\nname = \"one\"\n{}", layer.repeat((height as usize + 10).div_ceil(45)));
    }
    let file = CakeFile::from_text(format!("order-{i}.cake.toml"), "", text);
    Source::new(file, Arc::new(Memory::new()))
}
