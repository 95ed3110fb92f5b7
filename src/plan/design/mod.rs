//! What the maker wants, resolved: units converted, defaults applied, references followed.
//!
//! A [`Design`] is valid by construction: every length is finite and within a cake's reach, every
//! name is known, the profile bounds a solid. What it does not know yet is whether the cake can be
//! made of the stack; that is [`crate::carve`]'s question.

mod board;
mod finish;
pub mod material;
pub mod mechanics;
mod motion;
pub mod paper;
mod pieces;
pub mod printing;
mod profile;
mod remembered;
mod resolve;
mod roll;
mod scanned;
mod shape;
pub mod support;
mod tool;

use std::sync::Arc;

use glam::DVec2;

pub use board::{Board, BoardIcing, Ribbon};
pub use cakefile::schema::{Depth, Dome, IcingWay, PaperSize, Side};
use cakefile::{FieldPath, Step};
pub use finish::{Finish, FinishKind, PEARL};
use formats::model::Rgb;
use geom::{
    Tolerance,
    units::{Unit, UnitStyle},
};
pub use material::{Material, MaterialKind};
pub use motion::{Immovable, Motion};
pub use paper::{Paper, PaperError};
pub use pieces::{Join, Piece, Pieces};
pub use printing::Printing;
pub use profile::{Profile, ProfileError};
pub(crate) use remembered::Remembered;
pub(crate) use resolve::resolve;
pub use roll::{Along, Border, Laid, Nowhere, Roll, Strand};
pub use shape::{Crossed, Form, Shape};
pub use support::SupportSettings;
pub use tool::{Drawn, Letters, Lies, Relief, Tool};

/// A cake as the maker wants it.
#[derive(Debug, Clone)]
pub struct Design {
    /// Its name.
    pub name: String,
    /// The maker's own unit.
    pub unit: Unit,
    /// How reports write figures.
    pub style: UnitStyle,
    /// What the maker wants to remember.
    pub notes: Option<String>,
    /// The board that everything stands on; its top is height 0.
    pub board: Option<Board>,
    /// The finished outside.
    pub shape: Arc<Shape>,
    /// Coats from the outside in.
    pub coverings: Vec<Covering>,
    /// Tiers from the bottom up.
    pub tiers: Vec<Tier>,
    /// One dowel through the middle.
    pub centre_dowel: Option<CentreDowel>,
    /// Cuts and adds in order.
    pub details: Vec<Detail>,
    /// Beyond what the plan warns.
    pub limits: Limits,
    /// For pictures and client files.
    pub preview: Tolerance,
    /// For printed tools and figures.
    pub tool: Tolerance,
    /// Step of the lattice on which lines inside a shape that is not turned are found, mm.
    pub grid: f64,
    /// What templates and the cutting sheet are printed on.
    pub paper: Paper,
    /// The printer, its plastic, and how printed tools fit.
    pub printing: Printing,
    /// What is asked of the cake when it stands and travels.
    pub support: SupportSettings,
}

impl Design {
    /// Radius of the widest round among the shape and the layers, mm.
    pub fn widest(&self) -> f64 {
        let layers = self.tiers.iter().flat_map(|tier| &tier.layers);
        layers.map(|layer| layer.footprint.reach()).fold(self.shape.radius(), f64::max)
    }
}

/// A coat over what lies inside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Covering {
    /// What it is made of, in its own colour.
    pub material: Material,
    /// How thick it lies, mm.
    pub thickness: f64,
    /// How it is to be laid, if it is rolled and the cake file says so.
    pub way: Option<IcingWay>,
    /// Bearing at which what is wrapped round is joined, degrees.
    pub seam: f64,
    /// What is put on at the end on what no zone takes.
    pub finishes: Vec<Finish>,
    /// Parts with a colour or a material of their own, in the order in which they are laid.
    pub zones: Vec<Zone>,
    /// Density of all of it on the cake, g/mL: that of its material, or the mean over its zones once these are measured
    /// ([`crate::zones`]).
    pub density: f64,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

impl Covering {
    /// Mass in grams of `volume` mm³ of it.
    pub fn mass(&self, volume: f64) -> f64 {
        self.density * volume / 1000.0
    }
}

/// A part of a covering that has a colour or a material of its own, as thick as the covering.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Its name.
    pub name: String,
    /// Which part of the covering it is.
    pub place: ZonePlace,
    /// What it is made of, in its own colour.
    pub material: Material,
    /// Whether the file gives it a colour or a material; otherwise it has the covering's.
    pub is_of_its_own: bool,
    /// Bearing at which what is wrapped round is joined, degrees.
    pub seam: f64,
    /// What is put on at the end.
    pub finishes: Vec<Finish>,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// Which part of a covering a zone is.
#[derive(Debug, Clone, PartialEq)]
pub enum ZonePlace {
    /// The top of a turned shape.
    Top,
    /// What is not the top of a turned shape.
    Side,
    /// All between two heights, mm.
    Between(f64, f64),
    /// All within an outline; as deep as the covering is thick.
    Outline(Relief),
}

/// The outline of a slab or board seen from above.
#[derive(Debug, Clone, PartialEq)]
pub struct Footprint {
    /// Its shape about its own middle.
    pub shape: FootprintShape,
    /// Where its middle stands, mm.
    pub centre: DVec2,
    /// How far it is turned, counter-clockwise, degrees.
    pub turn: f64,
}

/// The shape of a footprint.
#[derive(Debug, Clone, PartialEq)]
pub enum FootprintShape {
    /// A circle.
    Round {
        /// Diameter, mm.
        diameter: f64,
    },
    /// A rectangle seen from the front.
    Rectangle {
        /// Size left to right, mm.
        width: f64,
        /// Size front to back, mm.
        depth: f64,
    },
    /// Pieces of sheet cakes laid side by side; never a board.
    Pieces(Arc<Pieces>),
}

impl FootprintShape {
    /// Width and depth of the box round it, mm.
    pub fn size(&self) -> [f64; 2] {
        match self {
            Self::Round { diameter } => [*diameter; 2],
            Self::Rectangle { width, depth } => [*width, *depth],
            Self::Pieces(pieces) => {
                let (low, high) = pieces.bounds();
                (high - low).to_array()
            }
        }
    }

    /// The pieces that it is laid of; `None` for a whole slab.
    pub fn pieces(&self) -> Option<&Arc<Pieces>> {
        match self {
            Self::Pieces(pieces) => Some(pieces),
            Self::Round { .. } | Self::Rectangle { .. } => None,
        }
    }
}

/// The layers between one board and the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Tier {
    /// Its name.
    pub name: String,
    /// The board under it.
    pub board: Option<Board>,
    /// Dowels that stand in it.
    pub dowels: Option<Dowels>,
    /// Its layers from the bottom up.
    pub layers: Vec<Layer>,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// A slab as it comes levelled from its pan.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Its name.
    pub name: String,
    /// Its outline; of a half-ball, the rim.
    pub footprint: Footprint,
    /// Which way a half-ball's dome points; `None` for a flat slab.
    pub dome: Option<Dome>,
    /// Levelled height, mm.
    pub height: f64,
    /// What it is made of.
    pub material: Material,
    /// Height of its underside, mm, if it is not to lie on what is below.
    pub bottom: Option<f64>,
    /// What lies on top of it.
    pub filling: Option<Filling>,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// What lies between two layers.
#[derive(Debug, Clone, PartialEq)]
pub struct Filling {
    /// What it is made of.
    pub material: Material,
    /// How thick it lies, mm.
    pub thickness: f64,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// Dowels that stand in a tier.
#[derive(Debug, Clone, PartialEq)]
pub struct Dowels {
    /// Where each one stands, mm.
    pub at: Vec<DVec2>,
    /// Diameter of each, mm.
    pub diameter: f64,
    /// Thickness of the wall of a tube, mm; `None` if they are solid.
    pub wall: Option<f64>,
    /// What they are cut to, mm; `None` for up to the top of the tier.
    pub length: Option<f64>,
    /// What they are made of.
    pub material: Material,
    /// Where they stand in the cake file.
    pub field: FieldPath,
}

/// A dowel through the middle of the cake.
#[derive(Debug, Clone, PartialEq)]
pub struct CentreDowel {
    /// Diameter, mm.
    pub diameter: f64,
    /// Thickness of the wall of a tube, mm; `None` if it is solid.
    pub wall: Option<f64>,
    /// Height of its top, mm.
    pub height: f64,
    /// Whether its foot is fast in the presentation board.
    pub fast: bool,
    /// What it is made of.
    pub material: Material,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// Whether a detail takes away or puts on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Operation {
    /// Takes away.
    Cut,
    /// Puts on.
    Add,
}

/// A cut or an add.
#[derive(Debug, Clone, PartialEq)]
pub struct Detail {
    /// Its name, with its number if it stands in several places.
    pub name: String,
    /// Cut or add.
    pub operation: Operation,
    /// How deep it goes.
    pub depth: Depth,
    /// What an add is made of, in its own colour; `None` for a cut.
    pub material: Option<Material>,
    /// Colour of the bottom of a cut, if given.
    pub colour: Option<Rgb>,
    /// What is put on it at the end.
    pub finishes: Vec<Finish>,
    /// Its form.
    pub tool: Tool,
    /// Which one it is of a detail that stands in several places; `None` for one that stands once.
    pub copy: Option<Copied>,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// One of the places of a detail that stands in several.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Copied {
    /// Which of them, from 1.
    pub number: u32,
    /// How many there are.
    pub count: u32,
    /// How far it is turned about the axis of the cake from the first, degrees, if that is all by which they differ.
    pub turned: Option<f64>,
}

impl Detail {
    /// Whether `other` is the same detail of the cake file in another place, or the very same.
    pub fn is_copy_of(&self, other: &Self) -> bool {
        self.field == other.field
    }

    /// Its place in the list of details of the cake file; `None` for a zone that is laid over a covering.
    pub fn written_index(&self) -> Option<usize> {
        match &self.field.0[..] {
            [Step::Key(_), Step::Index(index)] => Some(*index),
            _ => None,
        }
    }

    /// The name that the cake file gives it, without the number of the copy.
    pub fn written_name(&self) -> &str {
        match self.copy {
            Some(copy) => self.name.strip_suffix(&format!(" {}", copy.number)).unwrap_or(&self.name),
            None => &self.name,
        }
    }
}

/// Limits beyond which the plan warns, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least spare sponge at the side of every layer.
    pub spare: f64,
    /// How far a layer may hang over the one below.
    pub overhang: f64,
    /// Least sponge between a dowel or board and the carved surface.
    pub cover: f64,
}

impl Default for Limits {
    /// Common practice, no source.
    fn default() -> Self {
        Self { spare: 6.0, overhang: 50.0, cover: 10.0 }
    }
}
