//! Sausages of paste to roll: how long, how thick, in how many pieces, how heavy; one line for all places of a detail.

use serde::Serialize;

use formats::model::Rgb;
use make::{
    language::Language,
    rolled::{Rolled, Sausage, rolled},
    shared_name::shared_name_of,
};
use plan::{Plan, design::Detail};

/// A detail that is rolled.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RolledDetail {
    /// Its name, with in how many places it stands.
    pub name: String,
    /// What it is made of.
    pub material: String,
    /// Its colour.
    pub colour: Rgb,
    /// What is rolled for all its places.
    pub sausages: Vec<RolledSausage>,
    /// Mass of all of them.
    pub mass_g: f64,
}

/// Sausages that are alike.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RolledSausage {
    /// How many.
    pub count: u32,
    /// How long each is rolled.
    pub length_mm: f64,
    /// How thick.
    pub thick_mm: f64,
    /// How thick at its ends, if it tapers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thin_mm: Option<f64>,
    /// In how many pieces each is rolled.
    pub pieces: u32,
}

/// Every detail of `plan` that is rolled, named in `language`.
pub fn rolls(plan: &Plan, language: &Language) -> Vec<RolledDetail> {
    let one = |one: Rolled<'_>| {
        let details: Vec<&Detail> = one.details.iter().collect();
        let places = one.details.len() as u32;
        let sausage = |sausage: &Sausage| RolledSausage {
            count: sausage.count * places,
            length_mm: sausage.length,
            thick_mm: sausage.thick,
            thin_mm: sausage.thin,
            pieces: sausage.pieces(),
        };
        RolledDetail {
            name: shared_name_of(&details, language),
            material: one.material.name.clone(),
            colour: one.material.colour,
            sausages: one.sausages.iter().map(sausage).collect(),
            mass_g: one.mass,
        }
    };
    rolled(plan).into_iter().map(one).collect()
}
