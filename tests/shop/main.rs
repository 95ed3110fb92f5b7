//! What to bake, buy and charge: what the member `shop` promises, one module a promise.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[path = "../common/files.rs"]
mod files;
#[path = "../common/language_words.rs"]
mod language_words;
#[path = "../common/orders_text.rs"]
mod orders_text;
#[path = "../common/plans.rs"]
mod plans;
#[path = "../common/reference.rs"]
mod reference;
#[path = "../common/repository.rs"]
mod repository;
#[path = "../common/support.rs"]
mod support;

mod amounts;
mod arrange;
mod languages;
mod maker_look;
mod order_check;
mod orders;
mod orders_refused;
mod share;
