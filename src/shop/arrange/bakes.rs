//! What is cut from each bake of a proposal.

use super::search::Found;
use crate::amounts;
use plan::{
    Plan,
    pantry::{Bake, Pan, PanShape, Slab, pack},
    stack::{LaidPiece, SheetCake, SheetPieces, sheet_cakes},
};

/// Bakes of each pan with the slabs that are cut from each.
pub(super) fn bakes_of(found: &Found, pans: &[Pan], names: &[String]) -> Vec<(Pan, Vec<Bake>)> {
    let of_pan = |(p, pan): (usize, &Pan)| {
        let slabs: Vec<Slab> = found
            .slabs
            .iter()
            .zip(names)
            .filter(|(slab, _)| slab.pan == p)
            .map(|(slab, name)| Slab { name: name.clone(), height: slab.height })
            .collect();
        (!slabs.is_empty()).then(|| (*pan, pack(&slabs, pan.level)))
    };
    pans.iter().enumerate().filter_map(of_pan).collect()
}

/// Bakes of each pan with the layers that are cut from each, kept ones too.
pub(super) fn bakes_of_plan(plan: &Plan) -> Vec<(Pan, Vec<Bake>)> {
    let mut found = Vec::new();
    let groups = amounts::bakes(plan, &plan.pantry, &mut found).into_iter();
    let slab = |(name, height): (String, f64)| Slab { name, height };
    groups
        .map(|group| {
            let bakes = group.bakes.into_iter();
            (
                group.pan,
                bakes.map(|bake| Bake { slabs: bake.layers.into_iter().map(slab).collect() }).collect(),
            )
        })
        .collect()
}

/// The sheet cakes of each pan, each with its pieces as one slab.
pub(super) fn sheets_of(plan: &Plan, pans: &[Pan]) -> Vec<(Pan, Vec<Bake>)> {
    let style = plan.design.style;
    let sheets = sheet_cakes(&plan.stack, &plan.pantry);
    let bake = |sheet: &SheetCake| {
        let piece = |place: &SheetPieces| {
            let letters: Vec<String> = place.pieces.iter().map(LaidPiece::letter).collect();
            format!("{}: {}", letters.join(" and "), style.sides(&place.size))
        };
        let pieces: Vec<String> = sheet.pieces.iter().map(piece).collect();
        Bake { slabs: vec![Slab { name: pieces.join(", "), height: sheet.height(&plan.stack) }] }
    };
    let of_pan = |pan: &Pan| {
        let is_of = |sheet: &&SheetCake| pan.shape.is(PanShape::Rectangle(sheet.pan[0], sheet.pan[1]));
        let bakes: Vec<Bake> = sheets.iter().filter(is_of).map(bake).collect();
        (!bakes.is_empty()).then_some((*pan, bakes))
    };
    pans.iter().filter_map(of_pan).collect()
}
