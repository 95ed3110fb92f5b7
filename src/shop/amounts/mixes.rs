//! What is mixed, and for what.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{BakeGroup, IcedBoard, Icing};
use formats::model::Rgb;
use make::{language::Language, sheets::SPIRIT};
use plan::{
    Plan,
    design::{FinishKind, Material, MaterialKind, Operation},
    pantry::Pantry,
    stack::{Slab, SlabKind},
};

/// What a mix is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// Batter for bakes.
    Batter,
    /// Pressed or modelled layers.
    Firm,
    /// Brushed on.
    Syrup,
    /// Between layers.
    Filling,
    /// Over the carved cake.
    Coating,
    /// Rolled and laid over the coating.
    Icing,
    /// Rolled and laid over the presentation board.
    Board,
    /// Shaped by hand.
    Details,
    /// Painted, brushed or dusted on.
    Finish,
}

impl Purpose {
    /// What it is called in `language`.
    pub fn told(self, language: &Language) -> &str {
        let words = &language.amounts;
        match self {
            Self::Batter => &words.batter_for,
            Self::Firm => &words.firm_for,
            Self::Syrup => &words.syrup_for,
            Self::Filling => &words.filling_for,
            Self::Coating => &words.coating_for,
            Self::Icing => &words.icing_for,
            Self::Board => &words.board_for,
            Self::Details => &words.details_for,
            Self::Finish => &words.finish_for,
        }
    }
}

/// One material to be made for one purpose.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Made {
    /// What it is for.
    pub purpose: Purpose,
    /// What it is.
    pub material: String,
    /// Its colour, where it is coloured by hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour: Option<Rgb>,
    /// Mass that stays on the cake; of batter, what goes in the pans.
    pub on_cake_g: f64,
    /// Mass to make, whole mixings counted.
    pub made_g: f64,
    /// Volume of that, where its density is known.
    pub made_ml: Option<f64>,
    /// Whole mixings, if only those are made.
    pub mixings: Option<u32>,
    /// What goes in, by mass.
    pub parts: Vec<(String, f64)>,
}

/// How thick the filling lies in a join between two pieces, mm (common practice, no source).
const JOIN: f64 = 2.0;

/// Everything that is mixed for `plan`, its bakes, its icing and its iced board, in the order of the work.
pub fn made(plan: &Plan, (bakes, icing, board): (&[BakeGroup], &[Icing], Option<&IcedBoard>)) -> Vec<Made> {
    let pantry = &plan.pantry;
    let extra = &pantry.extra;
    let mut list = List::default();
    let mut batter: BTreeMap<&str, f64> = BTreeMap::new();
    for group in bakes {
        *batter.entry(&group.material).or_default() += group.batter_g * group.bakes.len() as f64;
    }
    for (material, grams) in batter {
        let density = pantry.recipe(material).batter_density;
        list.add(Purpose::Batter, material, None, grams, grams * (1.0 + extra.batter), density);
    }
    let slabs = || plan.stack.slabs.iter().zip(&plan.carving.slabs);
    let layers = |kind: MaterialKind| {
        slabs().filter(move |(slab, _)| slab.kind == SlabKind::Layer && slab.material.kind == kind)
    };
    for (slab, carved) in layers(MaterialKind::Firm) {
        let (kept, raw) = (slab.material.mass(carved.volumes.kept), slab.material.mass(carved.volumes.raw));
        list.add(Purpose::Firm, &slab.material.name, None, kept, raw, Some(slab.material.density));
    }
    let syrup: f64 = layers(MaterialKind::Sponge)
        .map(|(slab, carved)| {
            slab.material.mass(carved.volumes.kept) / 1000.0 * pantry.recipe(&slab.material.name).syrup
        })
        .sum();
    if syrup > 0.0 {
        // 1:1 by mass at 20 °C: 1.23 g/mL (ICUMSA tables, from memory).
        list.add(Purpose::Syrup, "syrup", None, syrup, syrup, Some(1.23));
    }
    for (slab, carved) in slabs().filter(|(slab, _)| slab.kind == SlabKind::Filling) {
        let (kept, raw) = (slab.material.mass(carved.volumes.kept), slab.material.mass(carved.volumes.raw));
        let density = Some(slab.material.density);
        list.add(Purpose::Filling, &slab.material.name, None, kept, raw * (1.0 + extra.filling), density);
    }
    // Joins between pieces take the filling that lies on their layer, or under it.
    let fillings: Vec<&Slab> =
        plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Filling).collect();
    for (slab, carved) in slabs().filter(|(slab, _)| slab.kind == SlabKind::Layer && slab.join_area() > 0.0) {
        let next_to = |f: &&&Slab| (f.bottom - slab.top).abs() < 1e-3 || (slab.bottom - f.top).abs() < 1e-3;
        let Some(filling) = fillings.iter().find(next_to) else { continue };
        let raw = filling.material.mass(slab.join_area() * JOIN);
        let kept = raw * carved.volumes.kept / carved.volumes.raw.max(f64::MIN_POSITIVE);
        let density = Some(filling.material.density);
        list.add(Purpose::Filling, &filling.material.name, None, kept, raw * (1.0 + extra.filling), density);
    }
    // What the knife leaves missing, beside boards and fillings too, is made up with the innermost coat.
    let missing = plan.carving.shortfall();
    let volumes = plan.line_volumes();
    let last = plan.design.coverings.len().saturating_sub(1);
    for (i, covering) in plan.design.coverings.iter().enumerate() {
        if covering.material.kind == MaterialKind::Paste {
            continue;
        }
        for part in plan.zones[i].present() {
            let zone = part.zone.map(|zone| &covering.zones[zone]);
            let material = zone.map_or(&covering.material, |zone| &zone.material);
            // What is missing is made up with the covering's own.
            let patch = if i == last && zone.is_none() { missing } else { 0.0 };
            let grams = material.mass((volumes[i] - volumes[i + 1]) * plan.zones[i].share(part.zone) + patch);
            // Where zones differ in colour only, each colour is mixed by itself.
            let colour = (!covering.zones.is_empty()).then_some(material.colour);
            let density = Some(material.density);
            list.add(Purpose::Coating, &material.name, colour, grams, grams * (1.0 + extra.coating), density);
        }
    }
    for piece in icing {
        let zones = plan.design.coverings.iter().flat_map(|c| &c.zones).map(|zone| &zone.material);
        let coverings = plan.design.coverings.iter().map(|c| &c.material);
        let material = coverings.chain(zones).find(|m| m.name == piece.material);
        let density = material.map(|material| material.density);
        list.add(Purpose::Icing, &piece.material, Some(piece.colour), piece.on_cake_g, piece.made_g, density);
    }
    if let Some(board) = board {
        let (colour, density) = (Some(board.colour), Some(board.density));
        list.add(Purpose::Board, &board.material, colour, board.on_board_g, board.made_g, density);
    }
    for (material, grams) in details(plan) {
        let colour = Some(material.colour);
        let density = Some(material.density);
        list.add(Purpose::Details, &material.name, colour, grams, grams * (1.0 + extra.details), density);
    }
    for put_on in plan.finishes() {
        let (finish, grams) = (put_on.finish, put_on.grams());
        let wanted = grams * (1.0 + extra.details);
        list.add(Purpose::Finish, finish.goods(), Some(finish.colour), grams, wanted, None);
        if finish.kind == FinishKind::Lustre {
            // It dries off.
            list.add(Purpose::Finish, "clear spirit", None, 0.0, SPIRIT * wanted, None);
        }
    }
    list.made(pantry)
}

/// Every add on the icing with its mass.
fn details(plan: &Plan) -> impl Iterator<Item = (&Material, f64)> {
    let details = plan.design.details.iter().zip(&plan.bulk.adds);
    details.filter(|(detail, _)| detail.operation == Operation::Add).filter_map(|(detail, volume)| {
        let material = detail.material.as_ref()?;
        Some((material, material.mass(volume.as_ref()?.amount)))
    })
}

/// One material for one purpose, before mixings are rounded up.
struct Wanted {
    purpose: Purpose,
    material: String,
    colour: Option<Rgb>,
    on_cake_g: f64,
    wanted_g: f64,
    density: Option<f64>,
}

#[derive(Default)]
struct List {
    wanted: Vec<Wanted>,
}

impl List {
    fn add(
        &mut self,
        purpose: Purpose,
        material: &str,
        colour: Option<Rgb>,
        on_cake: f64,
        wanted: f64,
        density: Option<f64>,
    ) {
        if wanted <= 0.0 {
            return;
        }
        let same = |w: &&mut Wanted| w.purpose == purpose && w.material == material && w.colour == colour;
        match self.wanted.iter_mut().find(same) {
            Some(known) => {
                known.on_cake_g += on_cake;
                known.wanted_g += wanted;
            }
            None => self.wanted.push(Wanted {
                purpose,
                material: material.to_owned(),
                colour,
                on_cake_g: on_cake,
                wanted_g: wanted,
                density,
            }),
        }
    }

    fn made(self, pantry: &Pantry) -> Vec<Made> {
        self.wanted.into_iter().map(|wanted| wanted.made(pantry)).collect()
    }
}

impl Wanted {
    fn made(self, pantry: &Pantry) -> Made {
        let recipe = pantry.recipe(&self.material);
        let mixings = recipe.mixing.map(|mixing| (self.wanted_g / mixing - 1e-9).ceil() as u32);
        let made_g = match (recipe.mixing, mixings) {
            (Some(mixing), Some(count)) => mixing * f64::from(count),
            _ => self.wanted_g,
        };
        let total: f64 = recipe.parts.values().sum();
        let parts = if recipe.parts.is_empty() {
            vec![(self.material.clone(), made_g)]
        } else {
            // A part of 0 is a part that is left out.
            let parts = recipe.parts.iter().filter(|(_, share)| **share > 0.0);
            parts.map(|(part, share)| (part.clone(), made_g * share / total)).collect()
        };
        Made {
            purpose: self.purpose,
            material: self.material,
            colour: self.colour,
            on_cake_g: self.on_cake_g,
            made_g,
            made_ml: self.density.map(|density| made_g / density),
            mixings,
            parts,
        }
    }
}
