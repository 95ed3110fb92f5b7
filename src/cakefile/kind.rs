//! Kinds of files that are read the same way: a cake file, a pantry file.

use std::sync::LazyLock;

use schemars::JsonSchema;
use serde::de::DeserializeOwned;

use super::{rule::RuleBook, schema::Cake, schema_pantry::PantryFile};

/// What a kind of file holds. Every kind begins with its format version under `crumbline`.
pub trait FileKind: DeserializeOwned + JsonSchema {
    /// What such a file is called in messages.
    const KIND: &'static str;
    /// What to do where a file is empty.
    const BEGIN: &'static str;
    /// The keys that every such file has, with what stands in for one that is missing.
    const REQUIRED: &'static [(&'static str, StandIn)];

    /// The rules that it is checked against.
    fn rules() -> &'static RuleBook;
}

/// What stands in for a missing key, so that the rest can be looked at all the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StandIn {
    /// No text.
    Text,
    /// No keys.
    Table,
}

impl FileKind for Cake {
    const KIND: &'static str = "cake file";
    const BEGIN: &'static str = "`crumbline new` writes one to begin from";
    const REQUIRED: &'static [(&'static str, StandIn)] =
        &[("name", StandIn::Text), ("shape", StandIn::Table)];

    fn rules() -> &'static RuleBook {
        static BOOK: LazyLock<RuleBook> = LazyLock::new(RuleBook::of::<Cake>);
        &BOOK
    }
}

impl FileKind for PantryFile {
    const KIND: &'static str = "pantry file";
    const BEGIN: &'static str = "`crumbline new --pantry` writes one to begin from";
    const REQUIRED: &'static [(&'static str, StandIn)] = &[("pantry", StandIn::Table)];

    fn rules() -> &'static RuleBook {
        static BOOK: LazyLock<RuleBook> = LazyLock::new(RuleBook::of::<PantryFile>);
        &BOOK
    }
}
