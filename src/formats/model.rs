//! The cake as solids to look at and to export: one closed mesh per part.

use std::sync::Arc;

use geom::{TriMesh, units::Unit};

pub use crate::tint::Tint;

/// A colour in sRGB, 0 to 255 each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
pub struct Rgb(pub u8, pub u8, pub u8);

/// What a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    /// The presentation board under everything.
    PresentationBoard,
    /// Rolled icing over it.
    BoardIcing,
    /// A ribbon round it.
    Ribbon,
    /// A layer before carving.
    RawLayer,
    /// What stays of a layer.
    Kept,
    /// What is shaved off a layer.
    Offcut,
    /// Where the carve needs cake that no layer holds.
    Shortfall,
    /// What lies between two layers, as spread.
    RawFilling,
    /// What stays of a filling.
    Filling,
    /// Room inside the carved line beside a filling or a board: filled when the cake is coated.
    Fill,
    /// A board inside the cake.
    Board,
    /// A dowel.
    Dowel,
    /// A coat, as a shell.
    Covering,
    /// The whole cake as the client sees it, without the adds.
    Finished,
    /// The whole solid inside one line.
    Line,
    /// The coloured bottom of a detail pressed in: a skin, as painted or inlaid.
    Inlay,
    /// An add on the finished cake.
    Add,
    /// No part of the cake: a centre of mass, its plumb line, an edge that something tips over.
    Mark,
}

impl PartKind {
    /// Whether it is the presentation board or something on that: under the cake, and no part of it.
    pub fn is_of_presentation_board(self) -> bool {
        matches!(self, Self::PresentationBoard | Self::BoardIcing | Self::Ribbon)
    }
}

/// What a cake has come to when it is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Stage {
    /// The stack before carving.
    Raw,
    /// Carved, without coverings.
    Carved,
    /// As the client sees it.
    #[default]
    Finished,
}

impl Stage {
    /// Whether parts of this kind are there and can be seen from outside, or hold up what can be.
    pub fn shows(self, kind: PartKind) -> bool {
        use PartKind as Kind;
        match kind {
            Kind::PresentationBoard | Kind::BoardIcing | Kind::Ribbon => true,
            Kind::RawLayer | Kind::RawFilling => self == Self::Raw,
            Kind::Kept | Kind::Filling => self == Self::Carved,
            Kind::Board | Kind::Dowel => self != Self::Finished,
            Kind::Finished | Kind::Inlay | Kind::Add => self == Self::Finished,
            Kind::Offcut | Kind::Shortfall | Kind::Fill | Kind::Covering | Kind::Line | Kind::Mark => false,
        }
    }
}

/// One solid of the cake.
#[derive(Debug, Clone)]
pub struct Part {
    /// What it is called; unique within a model.
    pub name: String,
    /// What it is.
    pub kind: PartKind,
    /// Place in the stack or in the list of coverings or details, from 0.
    pub index: usize,
    /// Name of its material.
    pub material: String,
    /// Its colour.
    pub colour: Rgb,
    /// What is painted or brushed on its outside, in the order in which it is put on.
    pub tints: Vec<Tint>,
    /// Its surface, closed and outward.
    pub mesh: TriMesh,
    /// For each vertex how deep it lay below the skin of the raw stack, mm; negative where the raw
    /// stack did not reach (shortfall). Empty unless the part is [`PartKind::Kept`] or
    /// [`PartKind::Shortfall`], or comes from [`Between`].
    pub shave_depth: Vec<f64>,
}

/// What a cake looks like between its stages. Everything here is the real surface, moved a stated
/// distance; a part that is not there is left out.
pub trait Between: std::fmt::Debug + Send + Sync {
    /// How far off the carved line the knife starts, mm: the furthest that any raw cake lies outside it.
    fn start(&self) -> f64;

    /// What is still to be shaved off while the knife is `off` mm outside the carved line:
    /// [`PartKind::Offcut`] of every layer and [`PartKind::RawFilling`], without what stays, each with the
    /// shave depth so far.
    fn offcuts(&self, off: f64) -> Vec<Part>;

    /// Thickness of covering `index` once it is all on, mm.
    fn thickness(&self, index: usize) -> f64;

    /// Covering `index` with `laid` mm of it on.
    fn coat(&self, index: usize, laid: f64) -> Option<Part>;
}

/// Every solid of a cake, raw, carved and finished.
#[derive(Debug, Clone, Default)]
pub struct Model {
    /// Name of the cake.
    pub name: String,
    /// The maker's unit.
    pub unit: Unit,
    /// The parts, bottom up and inside out.
    pub parts: Vec<Part>,
    /// What lies between the stages; without it only the stages themselves can be shown.
    pub between: Option<Arc<dyn Between>>,
    /// How much boards and dowels carry.
    pub bearing: Vec<Bearing>,
    /// What is baked and what is carved off of each layer, from the bottom up.
    pub layers: Vec<LayerVolumes>,
    /// Whether its surfaces were found at the places of a grid, and so have steps as small as that.
    pub on_grid: bool,
}

/// What is baked and what is carved off of a layer.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerVolumes {
    /// What it is called.
    pub name: String,
    /// Its [`Part::index`].
    pub index: usize,
    /// What is baked, mm³.
    pub raw: f64,
    /// What is carved off, mm³.
    pub offcut: f64,
}

impl Model {
    /// The parts that are shown at `stage`.
    pub fn at(mut self, stage: Stage) -> Self {
        self.parts.retain(|part| stage.shows(part.kind));
        self
    }
}

/// How much a board or a dowel carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bearing {
    /// Board or dowel.
    pub kind: PartKind,
    /// Its [`Part::index`].
    pub index: usize,
    /// Share of what it may carry with the margin that is asked for: 1 is just so.
    pub share: f64,
}
