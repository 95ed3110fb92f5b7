//! The plan in figures: one typed report, written for a person or for a program.
//!
//! Keys end in their unit (`_mm`, `_ml`, `_g`, `_deg`, `_percent`). The JSON form is stable within one
//! [`REPORT_VERSION`]: keys may be added, none is renamed or taken away.

mod build;
mod support;
mod support_text;
mod table;
mod text;

use serde::Serialize;

use cakefile::{FieldPath, Severity};
use formats::model::Rgb;
use geom::units::{Unit, UnitStyle};
use plan::{
    carve::{Place, ShaveStats, Spare, Volumes},
    design::{IcingWay, MaterialKind, Operation},
    pantry::SheetCut,
};

pub use support::{
    AdvisedEntry, AnswerEntry, CheckEntry, LevelEntry, MassEntry, RuleEntry, SupportEntry, WeightEntry,
};
pub use support_text::wrapped;
pub use table::table;
pub use text::{Explain, text};

/// Version of the report's JSON form.
pub const REPORT_VERSION: u32 = 2;

/// Everything the plan says, in figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// [`REPORT_VERSION`].
    pub report: u32,
    /// The cake's name.
    pub name: String,
    /// The maker's own unit: "mm", "cm" or "in". Figures are in the units of their keys all the same.
    #[serde(serialize_with = "unit_sign")]
    pub unit: Unit,
    /// How figures are written.
    #[serde(skip)]
    pub style: UnitStyle,
    /// Whether no finding is an error.
    pub sound: bool,
    /// What to know before baking, the worst first.
    pub findings: Vec<FindingEntry>,
    /// The finished shape.
    pub shape: ShapeEntry,
    /// Finished, coated and carved lines, from the outside in.
    pub lines: Vec<LineEntry>,
    /// Coats from the outside in.
    pub coverings: Vec<CoveringEntry>,
    /// Layers from the bottom up.
    pub layers: Vec<LayerEntry>,
    /// Sheet cakes that are cut into pieces, in the order of the layers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sheet_cakes: Vec<SheetCakeEntry>,
    /// What lies between layers, from the bottom up.
    pub fillings: Vec<FillingEntry>,
    /// Boards inside the cake, from the bottom up.
    pub boards: Vec<BoardEntry>,
    /// Dowels tier by tier, the centre dowel last.
    pub dowels: Vec<DowelEntry>,
    /// Cuts and adds in order.
    pub details: Vec<DetailEntry>,
    /// Sums.
    pub totals: Totals,
    /// Whether it stands and travels.
    pub support: SupportEntry,
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingEntry {
    /// "error", "warning" or "note".
    pub severity: Severity,
    /// A short stable name.
    pub code: &'static str,
    /// What it is about.
    pub about: String,
    /// What was found.
    pub message: String,
    /// How to fix it.
    pub fix: String,
    /// Where on the cake.
    pub place: Option<PlaceEntry>,
    /// The value in the cake file, as `tier[0].layer[2].pan`.
    pub field: String,
    /// Where it stands in the cake file, for programs in this crate.
    #[serde(skip)]
    pub path: FieldPath,
}

/// A place on the cake.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlaceEntry {
    /// Above the presentation board.
    pub height_mm: f64,
    /// Counter-clockwise from the front, seen from above.
    pub bearing_deg: f64,
    /// From the axis.
    pub radius_mm: f64,
}

impl From<Place> for PlaceEntry {
    fn from(place: Place) -> Self {
        Self { height_mm: place.height, bearing_deg: place.bearing, radius_mm: place.radius }
    }
}

/// The finished shape.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ShapeEntry {
    /// "turned", "crossed" or "free".
    pub kind: &'static str,
    /// Height without adds.
    pub height_mm: f64,
    /// Twice the greatest distance from the axis, without adds.
    pub diameter_mm: f64,
    /// Left to right, without adds.
    pub width_mm: f64,
    /// Front to back, without adds.
    pub depth_mm: f64,
    /// Left to right with all adds: what a box must hold.
    pub box_width_mm: f64,
    /// Front to back with all adds.
    pub box_depth_mm: f64,
    /// Height with all adds, without the presentation board.
    pub box_height_mm: f64,
    /// The greatest distance across as seen from above, with all adds.
    pub box_across_mm: f64,
    /// Volume with cuts, without adds on the icing.
    pub volume_ml: f64,
    /// Surface without its foot, cuts and adds left out.
    pub surface_cm2: f64,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineEntry {
    /// "finished", "coated", "carved", or "under …".
    pub name: String,
    /// How far it lies inside the finished line.
    pub depth_mm: f64,
    /// Height.
    pub height_mm: f64,
    /// Twice the greatest distance from the axis.
    pub diameter_mm: f64,
    /// Left to right.
    pub width_mm: f64,
    /// Front to back.
    pub front_to_back_mm: f64,
    /// Volume inside it.
    pub volume_ml: f64,
}

/// A coat.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CoveringEntry {
    /// What it is made of.
    pub material: String,
    /// Its colour.
    pub colour: Rgb,
    /// How thick it lies.
    pub thickness_mm: f64,
    /// Volume on the cake.
    pub volume_ml: f64,
    /// Mass on the cake.
    pub mass_g: f64,
    /// How it is laid, if it is rolled: "draped", "disc-and-wrap", "panels" or "bands".
    pub way: Option<IcingWay>,
    /// The same in words.
    pub laid: Option<String>,
    /// Its parts, if it has zones: what no zone takes, then each zone.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<ZoneEntry>,
}

/// A part of a covering.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZoneEntry {
    /// Its name; `None` for what no zone takes.
    pub name: Option<String>,
    /// What it is made of.
    pub material: String,
    /// Its colour.
    pub colour: Rgb,
    /// Its surface without cuts and adds.
    pub area_cm2: f64,
    /// Mass on the cake.
    pub mass_g: f64,
    /// How it is laid, if it is rolled, in words.
    pub laid: Option<String>,
}

/// Volume and mass.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Amount {
    /// Volume.
    pub volume_ml: f64,
    /// Mass.
    pub mass_g: f64,
}

impl std::ops::Add for Amount {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { volume_ml: self.volume_ml + other.volume_ml, mass_g: self.mass_g + other.mass_g }
    }
}

/// What carving does to a slab, or to many.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Carved {
    /// Before carving.
    pub raw: Amount,
    /// What stays.
    pub kept: Amount,
    /// What is shaved off.
    pub offcut: Amount,
    /// What the carved shape needs and no slab holds.
    pub shortfall: Amount,
    /// Offcut as a share of raw.
    pub offcut_percent: f64,
}

impl Carved {
    fn new(volumes: Volumes, density: f64) -> Self {
        let amount = |mm3: f64| Amount { volume_ml: mm3 / 1000.0, mass_g: mm3 / 1000.0 * density };
        Self {
            raw: amount(volumes.raw),
            kept: amount(volumes.kept),
            offcut: amount(volumes.offcut),
            shortfall: amount(volumes.shortfall),
            offcut_percent: 0.0,
        }
        .with_percent()
    }

    fn with_percent(mut self) -> Self {
        let raw = self.raw.volume_ml;
        self.offcut_percent = if raw > 0.0 { 100.0 * self.offcut.volume_ml / raw } else { 0.0 };
        self
    }
}

impl std::ops::Add for Carved {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            raw: self.raw + other.raw,
            kept: self.kept + other.kept,
            offcut: self.offcut + other.offcut,
            shortfall: self.shortfall + other.shortfall,
            offcut_percent: 0.0,
        }
        .with_percent()
    }
}

/// A layer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerEntry {
    /// Its name.
    pub name: String,
    /// Its tier's name.
    pub tier: String,
    /// What it is made of.
    pub material: String,
    /// Whether that is sponge, and so counts in servings.
    pub kind: MaterialKind,
    /// Its pan, as "round 203 mm".
    pub pan: PanEntry,
    /// Pieces of sheet cakes out of that pan that it is laid of; none for a whole slab.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pieces: Vec<PieceEntry>,
    /// Height of its underside.
    pub bottom_mm: f64,
    /// Height of its top.
    pub top_mm: f64,
    /// What carving does to it.
    #[serde(flatten)]
    pub carved: Carved,
    /// How deep the knife goes.
    pub shave: Option<ShaveEntry>,
    /// Least sponge between the carved surface and its side.
    pub spare: Option<SpareEntry>,
}

/// A piece of a sheet cake as it lies in its layer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceEntry {
    /// Its letter, one for each piece of the cake.
    pub letter: String,
    /// Width and depth before it is turned.
    pub size_mm: [f64; 2],
    /// Where its middle lies from the middle of the layer: right and back.
    pub at_mm: [f64; 2],
    /// How far it is turned, counter-clockwise.
    pub turn_deg: f64,
}

/// A sheet cake and what it is cut into: baked = in pieces + over.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SheetCakeEntry {
    /// Its pan.
    pub pan: PanEntry,
    /// What it is made of.
    pub material: String,
    /// How high it stands levelled.
    pub level_mm: f64,
    /// Its pieces.
    pub pieces: Vec<SheetPieceEntry>,
    /// The cuts in order, from the front left corner, mm.
    pub cuts: Vec<SheetCut>,
    /// Whether it is proved that fewer sheet cakes of this pan do not give the pieces by cuts from edge to edge.
    pub fewest: bool,
    /// All of it.
    pub baked: Amount,
    /// What is laid into layers.
    pub in_pieces: Amount,
    /// What is left over when the pieces are cut out.
    pub over: Amount,
    /// The same as a share of what is baked.
    pub over_percent: f64,
}

/// A place in a sheet cake that a piece comes from, or several that are split from each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SheetPieceEntry {
    /// Letters of the pieces, from the bottom up.
    pub letters: Vec<String>,
    /// Its front left corner, from that of the sheet cake.
    pub at_mm: [f64; 2],
    /// Width and depth as it lies there.
    pub size_mm: [f64; 2],
}

/// A pan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PanEntry {
    /// Round.
    Round {
        /// Diameter.
        diameter_mm: f64,
    },
    /// Square or rectangular.
    Rectangle {
        /// Left to right.
        width_mm: f64,
        /// Front to back.
        depth_mm: f64,
    },
    /// Half a ball.
    HalfBall {
        /// Diameter.
        diameter_mm: f64,
    },
}

/// How deep the knife goes on one layer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ShaveEntry {
    /// The greatest depth.
    pub greatest_mm: f64,
    /// Where it is.
    pub greatest_at: PlaceEntry,
    /// The mean over the carved surface.
    pub mean_mm: f64,
    /// The least depth; negative where the stack does not reach.
    pub least_mm: f64,
    /// Where it is.
    pub least_at: PlaceEntry,
}

impl From<ShaveStats> for ShaveEntry {
    fn from(stats: ShaveStats) -> Self {
        Self {
            greatest_mm: stats.greatest,
            greatest_at: stats.greatest_at.into(),
            mean_mm: stats.mean,
            least_mm: stats.least,
            least_at: stats.least_at.into(),
        }
    }
}

/// Least sponge between the carved surface and a layer's side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpareEntry {
    /// How much; negative where the pan is too small.
    pub least_mm: f64,
    /// Where.
    pub at: PlaceEntry,
}

impl From<Spare> for SpareEntry {
    fn from(spare: Spare) -> Self {
        Self { least_mm: spare.least, at: spare.at.into() }
    }
}

/// What lies between two layers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FillingEntry {
    /// Its name.
    pub name: String,
    /// What it is made of.
    pub material: String,
    /// How thick it lies.
    pub thickness_mm: f64,
    /// Spread, kept, shaved off.
    #[serde(flatten)]
    pub carved: Carved,
}

/// A board inside the cake.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoardEntry {
    /// Its name.
    pub name: String,
    /// What it is made of.
    pub material: String,
    /// Its outline.
    pub outline: PanEntry,
    /// Its thickness.
    pub thickness_mm: f64,
    /// Diameter of its hole; 0 for none.
    pub hole_mm: f64,
    /// Height of its underside.
    pub bottom_mm: f64,
}

/// A dowel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DowelEntry {
    /// Its name.
    pub name: String,
    /// What it is made of.
    pub material: String,
    /// Diameter.
    pub diameter_mm: f64,
    /// Length to cut it to.
    pub length_mm: f64,
    /// Height of its foot.
    pub bottom_mm: f64,
    /// Where it stands: right and back of the middle.
    pub at_mm: [f64; 2],
}

/// A cut or an add.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DetailEntry {
    /// Its name.
    pub name: String,
    /// In how many places it stands.
    #[serde(skip_serializing_if = "is_one")]
    pub count: usize,
    /// "cut" or "add".
    pub operation: Operation,
    /// "sponge", "coating" or "icing".
    pub depth: plan::design::Depth,
    /// What an add on the icing is made of.
    pub material: Option<String>,
    /// Volume and mass of an add on the icing, outside the cake.
    pub amount: Option<Amount>,
}

fn is_one(count: &usize) -> bool {
    *count == 1
}

/// Sums.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Totals {
    /// All layers of sponge.
    pub sponge: Carved,
    /// All layers of anything else.
    pub other_layers: Carved,
    /// All fillings.
    pub fillings: Carved,
    /// Volume inside the carved line.
    pub carved_ml: f64,
    /// Volume inside the carved line where a layer should be and none is.
    pub shortfall_ml: f64,
    /// Volume inside the carved line beside boards and fillings that do not reach it.
    pub beside_boards_and_fillings_ml: f64,
    /// The cake with fillings, boards inside, dowels, coverings and adds, what is missing patched and filled; without
    /// the presentation board.
    pub finished_mass_g: f64,
    /// The raw stack with boards inside and dowels.
    pub raw_mass_g: f64,
}

fn unit_sign<S: serde::Serializer>(unit: &Unit, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(match unit {
        Unit::Millimetre => "mm",
        Unit::Centimetre => "cm",
        Unit::Inch => "in",
    })
}
