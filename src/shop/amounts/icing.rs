//! Rolled icing by colour: what lies on the cake, what is trimmed off, and what to make.
//!
//! Every sheet is as large as the plan's icing says, with the allowance of the paper settings all round; what goes in
//! rolling, as a sheet is never rolled to its very outline, is the pantry's share. For a round cake that is the (D + 2H)
//! disc of the published charts with an inch to spare.

use serde::Serialize;

use formats::model::Rgb;
use make::{icing::LaidIcing, language::Language};
use plan::{Plan, design::IcingWay, pantry::Pantry};

/// Icing of one covering, or of one part of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Icing {
    /// The zone that it is, if the covering has zones and it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// What it is.
    pub material: String,
    /// Its colour.
    pub colour: Rgb,
    /// How thick it is rolled, mm.
    pub thickness_mm: f64,
    /// How it is laid.
    pub way: IcingWay,
    /// The same in words, with the size of a draped sheet.
    pub laid: String,
    /// In how many sheets.
    pub sheets: usize,
    /// Surface that it covers, cm².
    pub net_cm2: f64,
    /// Icing rolled or cut for it, with the allowance, cm².
    pub cut_cm2: f64,
    /// Mass on the cake.
    pub on_cake_g: f64,
    /// Mass that is trimmed off, with what goes in rolling: kept for details.
    pub trimmed_g: f64,
    /// Mass to make.
    pub made_g: f64,
}

/// Icing of every covering of `plan` that is rolled, zone by zone.
pub fn icing(plan: &Plan, pantry: &Pantry) -> Vec<Icing> {
    let volumes = plan.line_volumes();
    let one = |laid: LaidIcing<'_>| {
        let (covering, index) = (laid.covering, laid.icing.covering);
        let material = laid.material();
        let net_mm2 = (volumes[index] - volumes[index + 1]) * laid.icing.share / covering.thickness;
        let cut_mm2 = laid.icing.cut_area(plan.design.paper.allowance);
        let grams = |mm2: f64| material.mass(mm2 * covering.thickness);
        let on_cake_g = grams(net_mm2);
        // An estimated sheet is never taken to be smaller than what it covers.
        let made_g = grams(cut_mm2).max(on_cake_g) * (1.0 + pantry.extra.icing);
        Icing {
            zone: laid.zone.map(|zone| zone.name.clone()),
            material: material.name.clone(),
            colour: material.colour,
            thickness_mm: covering.thickness,
            way: laid.icing.way,
            laid: laid.brief(),
            sheets: laid.icing.pieces.len(),
            net_cm2: net_mm2 / 100.0,
            cut_cm2: cut_mm2 / 100.0,
            on_cake_g,
            trimmed_g: made_g - on_cake_g,
            made_g,
        }
    };
    LaidIcing::all(plan, Language::english()).map(one).collect()
}
