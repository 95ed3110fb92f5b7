//! The sheet cakes that layers of pieces are cut from.
//!
//! All pieces of one material out of pans of one size share their sheet cakes: a sheet cake that is cut for one layer gives
//! pieces for the next as well. Layers that are laid of the same pieces, and together are no higher than a bake, are cut as
//! one and split afterwards. Every piece of the cake has a letter of its own.

use crate::{
    design::{Material, Piece},
    pantry::{Pantry, SheetCut, cut_sheets},
    stack::{Slab, SlabKind},
};

use super::Stack;

/// A piece that lies in a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LaidPiece {
    /// The slab of the stack that it lies in.
    pub slab: usize,
    /// Which of the slab's pieces it is.
    pub piece: usize,
    /// Its size and its place in the layer.
    pub laid: Piece,
    /// How many pieces of the cake come before it.
    number: usize,
}

impl LaidPiece {
    /// Its letter: A to Z, then AA, AB and so on.
    pub fn letter(&self) -> String {
        let mut letters = Vec::new();
        let mut left = self.number + 1;
        while left > 0 {
            left -= 1;
            letters.push(char::from(b'A' + (left % 26) as u8));
            left /= 26;
        }
        letters.into_iter().rev().collect()
    }
}

/// One sheet cake and what it is cut into. Lengths in mm from its front left corner.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetCake {
    /// Size of its pan left to right and front to back.
    pub pan: [f64; 2],
    /// What it is made of.
    pub material: Material,
    /// What it is cut into.
    pub pieces: Vec<SheetPieces>,
    /// The cuts in order, each from edge to edge of what lies in front of the knife.
    pub cuts: Vec<SheetCut>,
    /// Whether it is proved that fewer sheet cakes of this pan do not give these pieces by such cuts.
    pub fewest: bool,
}

/// A place in a sheet cake from which one piece comes, or several that are split from each other.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetPieces {
    /// The pieces, from the bottom up.
    pub pieces: Vec<LaidPiece>,
    /// Its front left corner.
    pub at: [f64; 2],
    /// Its size left to right and front to back.
    pub size: [f64; 2],
}

impl SheetCake {
    /// How high it must be, mm.
    pub fn height(&self, stack: &Stack) -> f64 {
        let high = |place: &SheetPieces| place.pieces.iter().map(|p| stack.slabs[p.slab].height()).sum();
        self.pieces.iter().map(high).fold(0.0, f64::max)
    }

    /// Volume of its pieces, mm³.
    pub fn used(&self, stack: &Stack) -> f64 {
        let volume = |p: &LaidPiece| p.laid.width * p.laid.depth * stack.slabs[p.slab].height();
        self.pieces.iter().flat_map(|place| &place.pieces).map(volume).sum()
    }
}

/// Every piece of the stack, layer by layer from the bottom up.
pub fn laid_pieces(stack: &Stack) -> Vec<LaidPiece> {
    let layers = stack.slabs.iter().enumerate().filter(|(_, slab)| slab.kind == SlabKind::Layer);
    let pieces = layers.flat_map(|(slab, of)| {
        let list = of.footprint.shape.pieces().map_or(&[][..], |pieces| pieces.list());
        list.iter().enumerate().map(move |(piece, laid)| (slab, piece, *laid))
    });
    pieces.enumerate().map(|(number, (slab, piece, laid))| LaidPiece { slab, piece, laid, number }).collect()
}

/// The sheet cakes that the layers of pieces are cut from; how high one stands is looked up in `pantry`.
pub fn sheet_cakes(stack: &Stack, pantry: &Pantry) -> Vec<SheetCake> {
    let pieces = laid_pieces(stack);
    let mut kinds: Vec<([f64; 2], &Material, Vec<usize>)> = Vec::new();
    for piece in &pieces {
        let (material, own) = (&stack.slabs[piece.slab].material, piece.laid.pan);
        let alike = |(pan, of, _): &&mut ([f64; 2], &Material, Vec<usize>)| {
            same_size(*pan, own) && of.name == material.name
        };
        match kinds.iter_mut().find(alike) {
            Some((.., layers)) if layers.last() == Some(&piece.slab) => {}
            Some((.., layers)) => layers.push(piece.slab),
            None => kinds.push((own, material, vec![piece.slab])),
        }
    }
    let mut sheets = Vec::new();
    for (pan, material, layers) in kinds {
        let level =
            pantry.pan(crate::pantry::PanShape::Rectangle(pan[0], pan[1])).map_or(0.0, |pan| pan.level);
        let piles = piles(stack, pan, &layers, level);
        let places: Vec<Vec<LaidPiece>> = piles
            .iter()
            .flat_map(|pile| {
                let of_pan = |slab: usize| {
                    pieces.iter().filter(move |p| p.slab == slab && same_size(p.laid.pan, pan)).copied()
                };
                let count = of_pan(pile[0]).count();
                (0..count).map(move |piece| pile.iter().filter_map(|slab| of_pan(*slab).nth(piece)).collect())
            })
            .collect();
        let sizes: Vec<[f64; 2]> =
            places.iter().map(|place: &Vec<LaidPiece>| [place[0].laid.width, place[0].laid.depth]).collect();
        let Some(cut) = cut_sheets(&sizes, pan) else { continue };
        let fewest = cut.fewest;
        sheets.extend(cut.sheets.into_iter().map(|sheet| {
            SheetCake {
                pan,
                material: material.clone(),
                pieces: sheet
                    .pieces
                    .into_iter()
                    .map(|p| SheetPieces { pieces: places[p.piece].clone(), at: p.at, size: p.size })
                    .collect(),
                cuts: sheet.cuts,
                fewest,
            }
        }));
    }
    sheets
}

/// Whether two pans are of one size.
fn same_size(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).abs() < 0.05 && (a[1] - b[1]).abs() < 0.05
}

/// Layers that are cut as one: those of the same pieces out of `pan` that a bake `level` mm high holds together.
fn piles(stack: &Stack, pan: [f64; 2], layers: &[usize], level: f64) -> Vec<Vec<usize>> {
    let mut piles: Vec<Vec<usize>> = Vec::new();
    let height = |slab: usize| stack.slabs[slab].height();
    for &layer in layers {
        let joins = |pile: &&mut Vec<usize>| {
            let high: f64 = pile.iter().map(|slab| height(*slab)).sum();
            high + height(layer) <= level + 1e-6 && alike(&stack.slabs[pile[0]], &stack.slabs[layer], pan)
        };
        match piles.iter_mut().find(joins) {
            Some(pile) => pile.push(layer),
            None => piles.push(vec![layer]),
        }
    }
    piles
}

/// Whether the pieces of two layers that come out of `pan` are of the same sizes in the same order.
fn alike(a: &Slab, b: &Slab, pan: [f64; 2]) -> bool {
    let sizes = |slab: &Slab| -> Vec<[f64; 2]> {
        let list = slab.footprint.shape.pieces().map_or(&[][..], |pieces| pieces.list());
        let own = list.iter().filter(|piece| same_size(piece.pan, pan));
        own.map(|piece| [piece.width, piece.depth]).collect()
    };
    let (a, b) = (sizes(a), sizes(b));
    a.len() == b.len() && a.iter().zip(&b).all(|(p, q)| same_size(*p, *q))
}
