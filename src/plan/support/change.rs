//! Changes of a cake that may fix a check: each as a value, made in a design and written for the cake file.

use glam::DVec2;

use crate::{
    design::{
        Board, CentreDowel, Design, Dome, Filling, Footprint, FootprintShape, Layer, Material, Piece, Tier,
    },
    fix::{FileEdit, FileStep, FileValue},
    stack::Stack,
};
use cakefile::FieldPath;

use super::{
    case::Case,
    circle::DowelCircle,
    stock::{BOARD_THICKNESS, SCREWED_BOARD, stiff_board},
};

/// A change. Changes that are equal do the same to the same cake.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Change {
    /// These dowels stand in a tier, in place of those that do.
    Dowels(DowelCircle),
    /// The dowels in a tier are cut to a length, mm.
    Length {
        /// The tier.
        tier: usize,
        /// The length, mm.
        length: f64,
    },
    /// A centre dowel, fast in the presentation board, and holes for it in all boards.
    CentreDowel(Centre),
    /// The board under a tier is made of another material.
    BoardMaterial {
        /// The tier.
        tier: usize,
        /// The material.
        material: Material,
    },
    /// The room is so warm, °C.
    Room(f64),
    /// A tier travels on its own.
    Apart(usize),
    /// The cake stands on a mat that does not slip.
    Mat,
    /// Its box is wedged in the car.
    Wedged,
    /// A tier is split by a board on dowels.
    Split(Split),
}

/// A centre dowel of solid stuff.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Centre {
    /// Diameter, mm.
    pub diameter: f64,
    /// Height of its top, mm.
    pub top: f64,
    /// Diameter of the holes in the boards, mm.
    pub hole: f64,
    /// What it is made of.
    pub material: Material,
}

/// A tier split in two.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Split {
    /// The tier.
    pub tier: usize,
    /// How many of its layers stay below.
    pub keep: usize,
    /// Diameter of the board between, mm.
    pub board: f64,
    /// What that is made of.
    pub material: Material,
    /// The dowels that carry it.
    pub dowels: DowelCircle,
    /// The centre dowel through it.
    pub centre: Centre,
}

/// A cake after a change.
pub(super) struct Changed {
    /// The design.
    pub design: Design,
    /// The stack; `None` where it is as it was.
    pub stack: Option<Stack>,
    /// Whether layers lie at other heights, so that all is carved again.
    pub carves_anew: bool,
}

impl Change {
    /// The cake of `case` after it.
    pub fn made(&self, case: &Case<'_>) -> Changed {
        let mut design = case.design.clone();
        match self {
            Self::Dowels(circle) => circle.put_into(&mut design),
            Self::Length { tier, length } => {
                let dowels = design.tiers.get_mut(*tier).and_then(|tier| tier.dowels.as_mut());
                dowels.into_iter().for_each(|dowels| dowels.length = Some(*length));
            }
            Self::CentreDowel(centre) => centre.put_into(&mut design),
            Self::BoardMaterial { tier, material } => {
                let board = design.tiers.get_mut(*tier).and_then(|tier| tier.board.as_mut());
                board.into_iter().for_each(|board| board.material.clone_from(material));
            }
            Self::Room(celsius) => design.support.room = *celsius,
            Self::Apart(tier) => {
                design.support.apart.push(*tier);
                design.support.apart.sort_unstable();
            }
            Self::Mat => design.support.mat = true,
            Self::Wedged => design.support.wedged = true,
            Self::Split(split) => split.put_into(&mut design),
        }
        let settings = matches!(self, Self::Room(_) | Self::Apart(_) | Self::Mat | Self::Wedged);
        let stack = (!settings).then(|| Stack::new(&design));
        Changed { design, stack, carves_anew: matches!(self, Self::Split(_)) }
    }

    /// The same as a change of the cake file that `case` comes from.
    pub fn file_edit(&self, case: &Case<'_>) -> FileEdit {
        let support = &case.design.support.field;
        let tiers = &case.design.tiers;
        match self {
            Self::Dowels(circle) => FileEdit::set(tiers[circle.tier].field.key("dowels"), circle.value()),
            Self::Length { tier, length } => {
                FileEdit::set(tiers[*tier].field.key("dowels").key("length"), FileValue::Length(*length))
            }
            Self::CentreDowel(centre) => FileEdit { steps: centre.steps(case.design) },
            Self::BoardMaterial { tier, material } => FileEdit::set(
                tiers[*tier].field.key("board").key("material"),
                FileValue::Text(material.name.clone()),
            ),
            Self::Room(celsius) => FileEdit::set(support.key("room"), FileValue::Temperature(*celsius)),
            Self::Apart(tier) => {
                let mut apart = case.design.support.apart.clone();
                apart.push(*tier);
                apart.sort_unstable();
                let names = apart.into_iter().map(|tier| FileValue::Text(tiers[tier].name.clone()));
                FileEdit::set(support.key("apart"), FileValue::List(names.collect()))
            }
            Self::Mat => FileEdit::set(support.key("mat"), FileValue::Flag(true)),
            Self::Wedged => FileEdit::set(support.key("wedged"), FileValue::Flag(true)),
            Self::Split(split) => FileEdit { steps: split.steps(case.design) },
        }
    }
}

impl Centre {
    fn put_into(&self, design: &mut Design) {
        design.centre_dowel = Some(CentreDowel {
            diameter: self.diameter,
            height: self.top,
            wall: None,
            fast: true,
            material: self.material.clone(),
            field: FieldPath::root().key("centre_dowel"),
        });
        for board in design.tiers.iter_mut().filter_map(|tier| tier.board.as_mut()) {
            board.hole = board.hole.max(self.hole);
        }
        if let (Some(board), Some(plywood)) = (&mut design.board, stiff_board())
            && !board.holds_screw()
        {
            board.material = plywood;
            board.thickness = board.thickness.max(SCREWED_BOARD);
        }
    }

    fn steps(&self, design: &Design) -> Vec<FileStep> {
        let at = FieldPath::root().key("centre_dowel");
        let same =
            |old: &&CentreDowel| old.material.name == self.material.name && old.wall.is_none() && old.fast;
        let (diameter, top) = (FileValue::Length(self.diameter), FileValue::Length(self.top));
        let mut steps = match design.centre_dowel.as_ref().filter(same) {
            // Keys that say the same stay as they are.
            Some(_) => {
                vec![FileStep::Set(at.key("diameter"), diameter), FileStep::Set(at.key("height"), top)]
            }
            None => {
                let mut fields = vec![("diameter", diameter), ("height", top)];
                if self.material.name != "wooden dowel" {
                    fields.push(("material", FileValue::Text(self.material.name.clone())));
                }
                vec![FileStep::Set(at, FileValue::Table(fields))]
            }
        };
        match &design.board {
            Some(board) if !board.holds_screw() => {
                let plywood = FileValue::Text("plywood board".into());
                steps.push(FileStep::Set(board.field.key("material"), plywood));
                if board.thickness < SCREWED_BOARD {
                    steps.push(FileStep::Set(board.field.key("thickness"), FileValue::Length(SCREWED_BOARD)));
                }
            }
            Some(_) => {}
            // What stands under it all is not in the file.
            None => steps.push(FileStep::Set(
                FieldPath::root().key("centre_dowel").key("fast"),
                FileValue::Flag(true),
            )),
        }
        let narrow = design.tiers.iter().filter_map(|tier| tier.board.as_ref());
        steps.extend(
            narrow
                .filter(|board| board.hole < self.hole)
                .map(|board| FileStep::Set(board.field.key("hole"), FileValue::Length(self.hole))),
        );
        steps
    }
}

impl Split {
    /// What the upper half is called.
    fn name(&self, design: &Design) -> String {
        format!("{}, upper half", design.tiers[self.tier].name)
    }

    fn put_into(&self, design: &mut Design) {
        let name = self.name(design);
        let lower = &mut design.tiers[self.tier];
        let field = lower.field.clone();
        let layers = lower.layers.split_off(self.keep);
        lower.layers.last_mut().into_iter().for_each(|last| last.filling = None);
        let above = lower.dowels.take();
        let footprint = Footprint {
            shape: FootprintShape::Round { diameter: self.board },
            centre: DVec2::ZERO,
            turn: 0.0,
        };
        let board = Board {
            footprint,
            thickness: BOARD_THICKNESS,
            hole: self.centre.hole,
            material: self.material.clone(),
            icing: None,
            ribbon: None,
            field: field.key("board"),
        };
        let upper = Tier { name, board: Some(board), dowels: above, layers, field };
        design.tiers.insert(self.tier + 1, upper);
        self.dowels.put_into(design);
        self.centre.put_into(design);
        let apart = design.support.apart.iter_mut();
        apart.filter(|apart| **apart > self.tier).for_each(|apart| *apart += 1);
    }

    fn steps(&self, design: &Design) -> Vec<FileStep> {
        let tier = &design.tiers[self.tier];
        let own = |i: usize| tier.field.key("layer").index(i);
        // Paths of boards count tiers as they are before the new one is put in.
        let mut steps = self.centre.steps(design);
        steps.extend((self.keep..tier.layers.len()).rev().map(|i| FileStep::Remove(own(i))));
        let last = &tier.layers[self.keep - 1];
        if let Some(filling) =
            last.filling.as_ref().filter(|filling| filling.field == last.field.key("filling"))
        {
            steps.push(FileStep::Remove(filling.field.clone()));
        }
        steps.push(FileStep::Set(tier.field.key("dowels"), self.dowels.value()));
        let board = FileValue::Table(vec![
            ("round", FileValue::Length(self.board)),
            ("thickness", FileValue::Length(BOARD_THICKNESS)),
            ("hole", FileValue::Length(self.centre.hole)),
            ("material", FileValue::Text(self.material.name.clone())),
        ]);
        let mut fields = vec![("name", FileValue::Text(self.name(design))), ("board", board)];
        let upper = &tier.layers[self.keep..];
        // Where layers take their filling from the tier, so does the upper half.
        let shared = upper.iter().filter_map(|layer| layer.filling.as_ref());
        let mut shared = shared.filter(|filling| filling.field == tier.field.key("filling"));
        fields.extend(shared.next().map(|filling| ("filling", filling_value(filling))));
        if let Some(dowels) = &tier.dowels {
            let pair = |p: &DVec2| FileValue::List(p.to_array().map(FileValue::Length).into());
            let mut above = vec![
                ("diameter", FileValue::Length(dowels.diameter)),
                ("at", FileValue::List(dowels.at.iter().map(pair).collect())),
                ("material", FileValue::Text(dowels.material.name.clone())),
            ];
            above.extend(dowels.wall.map(|wall| ("wall", FileValue::Length(wall))));
            above.extend(dowels.length.map(|length| ("length", FileValue::Length(length))));
            fields.push(("dowels", FileValue::Table(above)));
        }
        fields.push(("layer", FileValue::Tables(upper.iter().map(layer_fields).collect())));
        let place = FieldPath::root().key("tier").index(self.tier + 1);
        steps.push(FileStep::Insert(place, FileValue::Table(fields)));
        steps
    }
}

fn filling_value(filling: &Filling) -> FileValue {
    FileValue::Table(vec![
        ("material", FileValue::Text(filling.material.name.clone())),
        ("thickness", FileValue::Length(filling.thickness)),
    ])
}

fn piece_value(piece: &Piece, pan: [f64; 2]) -> FileValue {
    let pair = |pair: [f64; 2]| FileValue::List(pair.map(FileValue::Length).into());
    let mut fields = vec![("size", pair([piece.width, piece.depth])), ("at", pair(piece.at.to_array()))];
    if piece.turn != 0.0 {
        fields.push(("turn", FileValue::Number(piece.turn)));
    }
    if piece.pan != pan {
        let sides = FileValue::List(piece.pan.map(FileValue::Length).into());
        fields.push(("pan", FileValue::Table(vec![("rectangle", sides)])));
    }
    FileValue::Table(fields)
}

/// A layer as a cake file has it.
fn layer_fields(layer: &Layer) -> Vec<(&'static str, FileValue)> {
    let rectangle =
        |sides: [f64; 2]| vec![("rectangle", FileValue::List(sides.map(FileValue::Length).into()))];
    let mut pan = match (&layer.footprint.shape, layer.dome) {
        (FootprintShape::Round { diameter }, None) => vec![("round", FileValue::Length(*diameter))],
        (FootprintShape::Round { diameter }, Some(_)) => vec![("half_ball", FileValue::Length(*diameter))],
        (FootprintShape::Rectangle { width, depth }, _) => rectangle([*width, *depth]),
        (FootprintShape::Pieces(pieces), _) => rectangle(pieces.pan()),
    };
    if layer.dome == Some(Dome::Down) {
        pan.push(("dome", FileValue::Text("down".into())));
    }
    let mut fields = vec![
        ("name", FileValue::Text(layer.name.clone())),
        ("pan", FileValue::Table(pan)),
        ("height", FileValue::Length(layer.height)),
    ];
    if let Some(pieces) = layer.footprint.shape.pieces() {
        fields.push((
            "pieces",
            FileValue::List(pieces.list().iter().map(|piece| piece_value(piece, pieces.pan())).collect()),
        ));
    }
    if layer.material.name != "sponge" {
        fields.push(("material", FileValue::Text(layer.material.name.clone())));
    }
    if layer.footprint.centre != DVec2::ZERO {
        let offset = layer.footprint.centre.to_array().map(FileValue::Length);
        fields.push(("offset", FileValue::List(offset.into())));
    }
    if layer.footprint.turn != 0.0 {
        fields.push(("turn", FileValue::Number(layer.footprint.turn)));
    }
    fields.extend(layer.bottom.map(|bottom| ("bottom", FileValue::Length(bottom))));
    let own = layer.filling.as_ref().filter(|filling| filling.field == layer.field.key("filling"));
    fields.extend(own.map(|filling| ("filling", filling_value(filling))));
    fields
}
