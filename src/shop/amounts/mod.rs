//! Everything to bake, mix and buy for a planned cake, and how many it serves.
//!
//! What lies on the cake comes from the plan; how much more is made comes from the pantry, as a share that the
//! pantry names. Packs are rounded up, whole mixings too. Whatever the pantry does not know is said.

mod bakes;
mod dressing;
mod icing;
mod mixes;
mod rolls;
mod servings;
mod shopping;
mod text;

use serde::Serialize;

pub use bakes::{BakeGroup, Baked, OvenLoad, bakes, loads, oven_loads};
pub use dressing::{Dressing, IcedBoard, RibbonCut};
pub use icing::{Icing, icing};
pub use mixes::{Made, Purpose};
pub use rolls::{RolledDetail, RolledSausage};
pub use servings::{Portion, Served, Servings, TierPieces, portions_between, portions_of};
pub use shopping::{Bought, Lots, Shopping, csv};
pub use text::{shopping_text, text};

use geom::units::{Unit, UnitStyle};
use make::language::Language;
use plan::{
    Plan,
    design::{Footprint, FootprintShape, MaterialKind},
    pantry::{Bake, Pantry, Price, Slab, Trouble, pack},
    stack::SlabKind,
};

/// Everything to bake, mix and buy. Masses in g, volumes in mL, lengths in mm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Amounts {
    /// The cake's name.
    pub name: String,
    /// The maker's unit.
    #[serde(skip)]
    pub unit: Unit,
    /// How figures are written.
    #[serde(skip)]
    pub style: UnitStyle,
    /// Bakes by pan and recipe.
    pub bakes: Vec<BakeGroup>,
    /// Oven loads.
    pub loads: u32,
    /// What is mixed, in the order of the work.
    pub made: Vec<Made>,
    /// Rolled icing by colour.
    pub icing: Vec<Icing>,
    /// Sausages that are rolled by hand, one entry for all places of a detail.
    pub rolls: Vec<RolledDetail>,
    /// Boards with their outlines.
    pub boards: Vec<BoardCut>,
    /// What the presentation board is dressed with.
    pub dressing: Dressing,
    /// Dowels by kind.
    pub dowels: Vec<DowelCut>,
    /// What is shaved off each layer.
    pub offcuts: Vec<Offcut>,
    /// All of it, rests of bakes too.
    pub offcut_g: f64,
    /// Cake truffles that it would make.
    pub truffles: u32,
    /// What to buy.
    pub shopping: Shopping,
    /// How many it serves.
    pub servings: Servings,
    /// What the pantry does not know, or what does not fit together.
    pub findings: Vec<Trouble>,
}

/// What the board that the cake is handed over on is called.
const PRESENTATION: &str = "presentation board";

/// A board.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoardCut {
    /// What it is called, that of what it carries in it.
    pub name: String,
    /// The tier that it carries; `None` for the presentation board.
    #[serde(skip)]
    pub tier: Option<String>,
    /// What it is made of.
    pub material: String,
    /// Width and depth of what it is cut from.
    pub size_mm: [f64; 2],
    /// Whether it is round.
    pub round: bool,
    /// Thickness.
    pub thickness_mm: f64,
    /// Hole in its middle; 0 for none.
    pub hole_mm: f64,
    /// Its price, if the pantry knows one.
    pub price: Option<Price>,
}

/// Dowels of one kind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DowelCut {
    /// What they are made of.
    pub material: String,
    /// Diameter.
    pub diameter_mm: f64,
    /// How many are cut to which length.
    pub lengths: Vec<(u32, f64)>,
    /// How many are bought.
    pub bought: u32,
    /// Length of one as bought; 0 if the pantry has none.
    pub stock_mm: f64,
    /// Their price, if the pantry knows one.
    pub price: Option<Price>,
}

/// What is shaved off a layer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Offcut {
    /// The layer.
    pub layer: String,
    /// Its offcut.
    pub mass_g: f64,
}

impl Amounts {
    /// What `plan` takes out of its pantry.
    pub fn new(plan: &Plan) -> Self {
        let pantry = &plan.pantry;
        let mut findings = Vec::new();
        let bakes = bakes(plan, pantry, &mut findings);
        let icing = icing(plan, pantry);
        let dressing = Dressing::of(plan);
        let made = mixes::made(plan, (&bakes, &icing, dressing.icing.as_ref()));
        let shopping = shopping::shopping(&made, pantry, &mut findings);
        let boards = boards(plan, pantry);
        let dowels = dowels(plan, pantry, &mut findings);
        let offcuts: Vec<Offcut> = plan
            .stack
            .slabs
            .iter()
            .zip(&plan.carving.slabs)
            .filter(|(slab, _)| slab.kind == SlabKind::Layer && slab.material.kind == MaterialKind::Sponge)
            .map(|(slab, carved)| Offcut {
                layer: slab.name.clone(),
                mass_g: slab.material.mass(carved.volumes.offcut),
            })
            .collect();
        let rests: f64 = bakes.iter().map(|group| group.rest_g).sum();
        let offcut_g = offcuts.iter().map(|offcut| offcut.mass_g).sum::<f64>() + rests;
        Self {
            name: plan.design.name.clone(),
            unit: plan.design.unit,
            style: plan.design.style,
            loads: loads(&bakes, pantry),
            bakes,
            made,
            icing,
            rolls: rolls::rolls(plan, Language::english()),
            boards,
            dressing,
            dowels,
            offcuts,
            offcut_g,
            truffles: (offcut_g / pantry.truffle).floor() as u32,
            shopping,
            servings: Servings::new(plan),
            findings,
        }
    }
}

fn boards(plan: &Plan, pantry: &Pantry) -> Vec<BoardCut> {
    let size = |footprint: &Footprint| {
        let round = matches!(footprint.shape, FootprintShape::Round { .. });
        (footprint.shape.size(), round)
    };
    let price = |size: [f64; 2], round: bool, thickness: f64, material: &str| {
        let alike = |kind: &&plan::pantry::BoardKind| {
            kind.material == material && (kind.thickness - thickness).abs() < 0.5
        };
        let whole =
            |kind: &&plan::pantry::BoardKind| kind.round.is_some_and(|d| round && (d - size[0]).abs() < 1.0);
        let bought = pantry.boards.iter().filter(alike).find(whole).and_then(|kind| kind.price);
        let sheet = pantry.boards.iter().filter(alike).find(|kind| kind.round.is_none());
        bought.or_else(|| sheet.and_then(|kind| kind.price?.times(size[0] * size[1] / 1e6)))
    };
    let inside = plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Board).map(|slab| {
        let (size_mm, round) = size(&slab.footprint);
        BoardCut {
            name: slab.name.clone(),
            tier: plan.design.tiers.get(slab.tier).map(|tier| tier.name.clone()),
            material: slab.material.name.clone(),
            size_mm,
            round,
            thickness_mm: slab.height(),
            hole_mm: slab.hole,
            price: price(size_mm, round, slab.height(), &slab.material.name),
        }
    });
    let under = plan.design.board.iter().map(|board| {
        let (size_mm, round) = size(&board.footprint);
        BoardCut {
            name: PRESENTATION.into(),
            tier: None,
            material: board.material.name.clone(),
            size_mm,
            round,
            thickness_mm: board.thickness,
            hole_mm: board.hole,
            price: Some(pantry.money.presentation).filter(|price| !price.is_zero()),
        }
    });
    under.chain(inside).collect()
}

fn dowels(plan: &Plan, pantry: &Pantry, findings: &mut Vec<Trouble>) -> Vec<DowelCut> {
    let mut kinds: Vec<(String, f64, Vec<f64>)> = Vec::new();
    for dowel in &plan.stack.dowels {
        let same = |kind: &&mut (String, f64, Vec<f64>)| {
            kind.0 == dowel.material.name && (kind.1 - dowel.diameter).abs() < 1e-6
        };
        match kinds.iter_mut().find(same) {
            Some(kind) => kind.2.push(dowel.length()),
            None => kinds.push((dowel.material.name.clone(), dowel.diameter, vec![dowel.length()])),
        }
    }
    kinds
        .into_iter()
        .map(|(material, diameter, lengths)| cut(&material, diameter, &lengths, pantry, findings))
        .collect()
}

fn cut(
    material: &str,
    diameter: f64,
    lengths: &[f64],
    pantry: &Pantry,
    findings: &mut Vec<Trouble>,
) -> DowelCut {
    let mut counted: Vec<(u32, f64)> = Vec::new();
    for &length in lengths {
        match counted.iter_mut().find(|(_, known)| (known - length).abs() < 0.05) {
            Some((count, _)) => *count += 1,
            None => counted.push((1, length)),
        }
    }
    let kind = pantry.dowel(diameter, material);
    let longest = lengths.iter().copied().fold(0.0, f64::max);
    if kind.is_none_or(|kind| kind.length < longest - 1e-6) {
        findings.push(Trouble {
            code: "no-such-dowel",
            about: plan::pantry::About::Names(vec![material.to_owned()]),
            message: match kind {
                None => format!("the pantry has no {material} {diameter:.1} mm thick"),
                Some(kind) => format!(
                    "a {material} of {longest:.0} mm cannot be cut from one {:.0} mm long",
                    kind.length
                ),
            },
            fix: "add it to the pantry with its length as bought ([[pantry.dowel]])".into(),
        });
    }
    let slabs: Vec<Slab> = lengths.iter().map(|&height| Slab { name: String::new(), height }).collect();
    let stock = kind.map_or(0.0, |kind| kind.length);
    let sticks: Vec<Bake> = pack(&slabs, stock.max(longest));
    DowelCut {
        material: material.to_owned(),
        diameter_mm: diameter,
        lengths: counted,
        bought: sticks.len() as u32,
        stock_mm: stock,
        price: kind.and_then(|kind| kind.price?.times(sticks.len() as f64)),
    }
}
