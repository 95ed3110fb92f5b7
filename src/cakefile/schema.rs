//! The cake file as written: serde structs that mirror it key by key.
//!
//! Nothing here has a default applied, a unit converted or a reference followed; that is
//! `plan::design`'s work. The doc comments are what an editor shows through the JSON Schema, so
//! they speak to the maker.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

mod board;
mod finish;
mod offer;
mod paper_size;
mod repeat;
mod roll;
mod scanned;
mod shape;
mod text;
mod zone;

pub use super::picture::{Ground, Half, Keep, PictureOutline, SeparateBy};
pub use super::quantity::{Angle, Colour, Length, Quantity, Size, Temperature};
pub use super::support_schema::{Hidden, HiddenThing, Support};
pub use board::{Board, BoardIcing, Ribbon};
pub use finish::{Finish, FinishKind};
pub use geom::axis::{Axis, Centre};
pub use geom::units::{Cups, MassUnit, TemperatureUnit, Unit, VolumeUnit};
pub use offer::{NamedColour, Offer, OfferedColours, OfferedSize};
pub use paper_size::PaperSize;
pub use repeat::Repeat;
pub use roll::{Border, OnSide, RollAlong, RollTool};
pub use scanned::{ModelUnit, Scanned};
pub use shape::{Crossed, SectionAt, Sections, Shape};
pub use text::TextOutline;
pub use zone::{Zone, ZoneOutline};

/// The newest format version that this program reads and the one it writes.
pub const FORMAT_VERSION: u32 = 2;

/// A carved cake: the shape the client sees, what covers it, and the layers it is carved from.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cake {
    /// Version of the cake file format; write 1.
    pub crumbline: u32,
    /// What the cake is called; file names are made from it.
    pub name: String,
    /// Unit of bare numbers: "mm", "cm" or "in". Millimetres if left out. Reports put it first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<Unit>,
    /// Units that reports put first, where they are not those that go with `unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub units: Option<Units>,
    /// Anything the maker wants to remember.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// The presentation board that the whole cake stands on. Its top is height 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board: Option<Board>,
    /// The finished outside, as the client sees it.
    pub shape: Shape,
    /// Coats over the sponge, from the outside in.
    #[serde(default, rename = "covering", skip_serializing_if = "Vec::is_empty")]
    pub coverings: Vec<Covering>,
    /// Tiers from the bottom up: each a run of layers between two boards.
    #[serde(default, rename = "tier", skip_serializing_if = "Vec::is_empty")]
    pub tiers: Vec<Tier>,
    /// One dowel through the middle of everything.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub centre_dowel: Option<CentreDowel>,
    /// Cuts and adds on the shape, in order.
    #[serde(default, rename = "detail", skip_serializing_if = "Vec::is_empty")]
    pub details: Vec<Detail>,
    /// Materials of your own, or other figures for the built-in ones.
    #[serde(default, rename = "material", skip_serializing_if = "BTreeMap::is_empty")]
    pub materials: BTreeMap<String, Material>,
    /// How close to the edge things may come before the plan speaks up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits: Option<Limits>,
    /// How finely curves are turned into straight pieces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accuracy: Option<Accuracy>,
    /// What paper templates and the cutting sheet are printed on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paper: Option<Paper>,
    /// How the knife is used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carving: Option<Carving>,
    /// How rolled icing is cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub icing: Option<IcingSheets>,
    /// The printer and its plastic, and how printed tools fit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub printing: Option<Printing>,
    /// What is asked of the cake when it stands and travels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub support: Option<Support>,
    /// What this cake has otherwise than the pantry: pans, recipes, prices.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pantry: Option<super::schema_pantry::Pantry>,
    /// Who ordered it, for when and for how many.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<super::schema_pantry::Order>,
    /// What the client may choose on the page that `crumbline share` writes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offer: Option<Offer>,
}

/// An outline, given in exactly one way: `points`, `from` and `draw`, `svg`, `picture`, `circle`, `rectangle`,
/// `ellipse` or `text`.
///
/// For a turned shape each point is [radius, height above the board], from the foot up; the outline
/// closes itself along the axis and the board. For a detail each point is [right, up] from its middle,
/// seen from outside.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outline {
    /// Corners joined by straight lines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub points: Option<Vec<[Length; 2]>>,
    /// Where `draw` begins.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<[Length; 2]>,
    /// Lines, arcs and curves, each going on from where the last one ended.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub draw: Option<Vec<Stroke>>,
    /// A path in an SVG drawing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub svg: Option<SvgPath>,
    /// A picture of the outline: a photograph of a template, a drawing, a silhouette.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub picture: Option<PictureOutline>,
    /// A circle of this diameter about the middle (details only).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circle: Option<Size>,
    /// A rectangle [width, height] about the middle (details only).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rectangle: Option<[Size; 2]>,
    /// An ellipse [width, height] about the middle: an oval window, a cameo (details only).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ellipse: Option<[Size; 2]>,
    /// Words, as letters to cut out, press in or lay on (details and zones only).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<TextOutline>,
    /// Instead of all that the outline holds, only a line of this width along it, its ends and joins round (details and
    /// zones only). `points`, `draw` and an open path of a drawing are an open line then; let the last point be the first
    /// once more, and it goes round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stroke: Option<Size>,
}

/// One piece of a drawn outline. With `to` alone it is a straight line.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stroke {
    /// Where the piece ends.
    pub to: [Length; 2],
    /// A point that a circular arc passes through on its way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub through: Option<[Length; 2]>,
    /// The two handles of a cubic curve.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub curve: Option<[[Length; 2]; 2]>,
}

/// A path in an SVG drawing that lies beside the cake file.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SvgPath {
    /// The drawing, relative to the cake file.
    pub file: String,
    /// The id of the path, or of a group. May be left out if the drawing holds just one path.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Instead of the id, the layer that the outline is drawn on: a group's name (its label) as the
    /// drawing program shows it, or its id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub layer: Option<String>,
    /// How long one unit of the drawing is. Needed when the drawing gives no real size of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub user_unit: Option<Size>,
    /// Where the axis of a turned shape or the centre line of a silhouette stands, from the left edge of
    /// the drawing. If left out, the left edge of the path for a turned shape, its middle for a silhouette.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis: Option<Length>,
}

/// A coat over what lies inside it.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Covering {
    /// What it is made of, as "rolled icing" or "ganache".
    pub material: String,
    /// How thick it lies.
    pub thickness: Size,
    /// Its colour, if not the material's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
    /// How a rolled covering is laid: "draped" in one sheet, "disc-and-wrap" as a top and a side wrapped round, "panels"
    /// as a top and one sheet for each flat side, or "bands", sheets one above the other. Chosen by the shape if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub way: Option<IcingWay>,
    /// The bearing at which what is wrapped round is joined, counted from the front; 180°, the back, if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seam: Option<Angle>,
    /// What is painted, brushed or dusted on it at the end, in this order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub finish: Vec<Finish>,
    /// Parts of it that have another colour or material, in the order in which they are laid: what comes later lies over
    /// what comes before. What no zone takes keeps the covering's own.
    #[serde(default, rename = "zone", skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<Zone>,
}

/// How rolled icing is laid on a cake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum IcingWay {
    /// In one sheet that is laid over the cake from the middle of its top.
    Draped,
    /// A top, and a side that is wrapped round in one sheet.
    DiscAndWrap,
    /// A top, and one sheet for each side of a straight-sided shape.
    Panels,
    /// Sheets one above the other, joined where the outline has edges.
    Bands,
}

/// The layers between one board and the next.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tier {
    /// What the tier is called.
    pub name: String,
    /// The board under it. The lowest tier may stand on the presentation board itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board: Option<Board>,
    /// Dowels that stand in this tier and carry the board above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dowels: Option<Dowels>,
    /// What lies between its layers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filling: Option<Filling>,
    /// Its layers from the bottom up.
    #[serde(default, rename = "layer", skip_serializing_if = "Vec::is_empty")]
    pub layers: Vec<Layer>,
}

/// A slab in the stack, as it comes levelled from its pan.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// What the layer is called; numbered within its tier if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The pan it is baked or pressed in.
    pub pan: Pan,
    /// Levelled height.
    pub height: Size,
    /// What the sheet cake out of the pan is cut into, laid side by side as the layer; the whole sheet cake if left
    /// out. The pan must be square or rectangular. For a number, a letter or a heart.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pieces: Vec<Piece>,
    /// What it is made of; "sponge" if left out. "cereal treat", "modelling chocolate" and "foam
    /// dummy" are not sponge and are counted apart.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// How far its middle stands from the middle of the board: [right, back].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset: Option<[Length; 2]>,
    /// How far it is turned, counter-clockwise seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
    /// Height of its underside above the presentation board, if it is not to lie on what is below.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bottom: Option<Length>,
    /// What lies on top of it, instead of the tier's filling. Also put on a tier's top layer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filling: Option<Filling>,
}

/// A straight-sided piece of a sheet cake, as it lies in its layer. Pieces must not overlap.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// [width, depth], seen from the front before it is turned.
    pub size: [Size; 2],
    /// How far its middle lies from the middle of the layer: [right, back].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<[Length; 2]>,
    /// How far it is turned, counter-clockwise seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
    /// The square or rectangular pan of the sheet cake that it is cut from. Left out: that of the layer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pan: Option<Pan>,
}

/// A pan. Give exactly one kind; sizes are inside sizes.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pan {
    /// Diameter of a round pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<Size>,
    /// Side of a square pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub square: Option<Size>,
    /// [width, depth] of a rectangular pan, seen from the front.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rectangle: Option<[Size; 2]>,
    /// Diameter of a half-ball pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_ball: Option<Size>,
    /// Which way the dome of a half-ball points in the stack; "up" if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dome: Option<Dome>,
}

/// Which way a half-ball lies.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Dome {
    /// Flat side down.
    #[default]
    Up,
    /// Flat side up.
    Down,
}

/// What lies between two layers.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Filling {
    /// What it is made of, as "buttercream".
    pub material: String,
    /// How thick it lies.
    pub thickness: Size,
}

/// Upright dowels in a tier. Give `circle` (they stand evenly round it) or `at`.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Dowels {
    /// How many stand round the circle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// Diameter of each dowel.
    pub diameter: Size,
    /// Diameter of the circle that they stand on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circle: Option<Size>,
    /// Bearing of the first one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
    /// Where each one stands: [right, back] from the middle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Vec<[Length; 2]>>,
    /// What they are made of: "wooden dowel", "plastic dowel" (a tube), "bubble tea straw" or "bamboo skewer"; "wooden dowel" if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Thickness of the wall of a tube; 1 mm for a plastic dowel, 0.2 mm for a straw if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall: Option<Size>,
    /// What they are cut to; up to the top of the tier's last layer if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Size>,
}

/// A dowel through the middle of the whole cake.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CentreDowel {
    /// Diameter.
    pub diameter: Size,
    /// How high its top stands above the presentation board.
    pub height: Size,
    /// What it is made of; "wooden dowel" if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Thickness of the wall of a tube; as of the dowels in a tier if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall: Option<Size>,
    /// Whether its foot is fast in the presentation board, screwed or in a flange. Left out: only if that board is of
    /// plywood of 9 mm or more; drum board and card hold no screw.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fast: Option<bool>,
}

/// How deep a detail goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Depth {
    /// Carved in the sponge; the coverings follow it.
    Sponge,
    /// In the coating and the icing only.
    Coating,
    /// In or on the icing only.
    Icing,
}

/// A cut or an add. Give `cut` or `add`, and exactly one tool.
///
/// Coordinates are [right, back, up] from the middle of the presentation board's top.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Detail {
    /// What it is called.
    pub name: String,
    /// Take away, starting in this: "sponge", "coating" or "icing".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut: Option<Depth>,
    /// Put on, as part of this: "sponge", "coating" or "icing".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub add: Option<Depth>,
    /// What an add is made of; "sugar paste" on icing if left out, the sponge's or coating's own
    /// otherwise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// The colour of an add, or of the bottom of a cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
    /// A box.
    #[serde(default, rename = "box", skip_serializing_if = "Option::is_none")]
    pub cuboid: Option<BoxTool>,
    /// A ball.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ball: Option<BallTool>,
    /// A cylinder, or a cone if its ends differ.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cylinder: Option<CylinderTool>,
    /// A ring (a torus).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ring: Option<RingTool>,
    /// A round bar along a path: a handle, or a rolled sausage.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bar: Option<BarTool>,
    /// A rolled sausage laid along an edge: round the foot, the rim, the side, the border of a zone (adds on the icing
    /// only).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub roll: Option<RollTool>,
    /// Everything on one side of a plane (cuts only).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_space: Option<HalfSpaceTool>,
    /// An outline pressed into the surface (cut) or raised from it (add).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline: Option<OutlineTool>,
    /// What is painted, brushed or dusted on it at the end, in this order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub finish: Vec<Finish>,
    /// The same several times, round the cake or along a line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat: Option<Repeat>,
    /// The same once more on the other side, mirrored left to right: ears, eyes, handles. Words
    /// can be read there too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mirror: Option<bool>,
}

/// A box.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoxTool {
    /// Its middle.
    pub centre: [Length; 3],
    /// [width, depth, height].
    pub size: [Size; 3],
    /// How far it is turned about the upright, counter-clockwise seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
}

/// A ball.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BallTool {
    /// Its middle.
    pub centre: [Length; 3],
    /// Diameter.
    pub diameter: Size,
}

/// A cylinder or cone from one point to another.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CylinderTool {
    /// Middle of one end.
    pub from: [Length; 3],
    /// Middle of the other end.
    pub to: [Length; 3],
    /// Diameter at `from`.
    pub diameter: Size,
    /// Diameter at `to`, if it differs; 0 for a point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end_diameter: Option<Length>,
}

/// A ring lying flat unless an axis is given.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RingTool {
    /// Its middle.
    pub centre: [Length; 3],
    /// Diameter across the middle of the bar.
    pub diameter: Size,
    /// Thickness of the bar.
    pub thickness: Size,
    /// Direction through the hole; straight up if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis: Option<[Length; 3]>,
}

/// A round bar along a path.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BarTool {
    /// Points that it passes through.
    pub path: Vec<[Length; 3]>,
    /// Thickness.
    pub diameter: Size,
    /// Bend smoothly through the points; true if left out. Otherwise straight from point to point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub smooth: Option<bool>,
    /// How far from each end the bar begins to thin down, as a rolled sausage does; 0 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taper: Option<Length>,
    /// Thickness at the very ends of a tapered bar; a quarter of `diameter` if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end_diameter: Option<Size>,
}

/// Everything beyond a plane.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HalfSpaceTool {
    /// A point on the plane.
    pub point: [Length; 3],
    /// The direction towards what is cut away.
    pub normal: [Length; 3],
}

/// An outline on the surface of the shape.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutlineTool {
    /// The outline.
    pub shape: Outline,
    /// Height of its middle above the board. Needed unless `top` or `as_drawn` is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// It lies where it is drawn, straight in from this side: "front", "back", "right" or "left". A drawing must
    /// be the one that the shape's outline of that side comes from, a back or left one seen through the cake; typed
    /// points are [right, up] (from the front) or [back, up] from where the centre line stands on the board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub as_drawn: Option<Side>,
    /// It lies on the top: its middle [right, back] from the middle of the board, seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub top: Option<[Length; 2]>,
    /// Bearing of its middle: 0 at the front, counter-clockwise seen from above. 0 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearing: Option<Angle>,
    /// How far it is turned, counter-clockwise seen from outside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Angle>,
    /// How far it is pressed in or raised, measured square to the surface.
    pub depth: Size,
    /// Wrap it round the side as a paper strip would lie; false (straight in) if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrap: Option<bool>,
}

/// A side of the cake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Where the client stands.
    Front,
    /// The far side.
    Back,
    /// The right-hand side as seen from the front.
    Right,
    /// The left-hand side as seen from the front.
    Left,
}

/// A material of the maker's own.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// A built-in material that it is like; needed unless the name is a built-in one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub like: Option<String>,
    /// Density in g/mL.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density: Option<f64>,
    /// Its colour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
}

/// How close to the edge things may come before the plan speaks up.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Least spare sponge at the side of every layer; 6 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare: Option<Length>,
    /// How far what is carved of a layer may hang over the board or layer that carries it; 50 mm if left out. What hangs
    /// over further until it is carved is noted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overhang: Option<Length>,
    /// Least sponge between a dowel or board and the carved surface; 10 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cover: Option<Length>,
}

/// How finely curves are turned into straight pieces: the greatest distance between the two.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Accuracy {
    /// For pictures and client files; 0.25 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub preview: Option<Size>,
    /// For printed tools and the figures; 0.05 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool: Option<Size>,
    /// How far apart the places are at which the lines inside a shape that is not turned are found; 2 mm if left
    /// out. Between them the lines are true to a small part of it, at edges to about all of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grid: Option<Size>,
}

/// Units that reports put first. What is left out goes with `unit`: ounces, cups and °F with inches, else g, mL and °C.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Units {
    /// "g" or "oz".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass: Option<MassUnit>,
    /// "mL" or "cup".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume: Option<VolumeUnit>,
    /// "°C" or "°F".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature: Option<TemperatureUnit>,
    /// Cups and spoons: "us" (236.6 and 14.8 mL), "metric" (250 and 15 mL) or "australian" (250 and 20 mL). Those of the
    /// pantry's region if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cups: Option<Cups>,
}

/// How the knife is used.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Carving {
    /// The most that one pass of the knife takes off; 6 mm (1/4 in) if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pass: Option<Size>,
}

/// How rolled icing is cut.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct IcingSheets {
    /// How much icing is rolled or cut beyond what lies on the cake, all round, to be trimmed off; 25 mm (1 in) if left
    /// out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allowance: Option<Length>,
    /// How far a sheet of icing that is laid in bands may be too short or too long round a curved side; if left out, as
    /// far as the paste stretches and eases.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pattern_error: Option<Size>,
}

/// What paper templates and the cutting sheet are printed on.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Paper {
    /// "A4", "A3", "Letter" or "Tabloid". A4 if left out; Letter where the cake's unit is "in".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<PaperSize>,
    /// What the printer leaves white at every edge; 10 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub margin: Option<Size>,
    /// How far sheets that are glued together lie over each other; 10 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overlap: Option<Size>,
}

/// The printer and its plastic, and how printed tools fit.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Printing {
    /// Room on the printer: [width, depth, height]; 220 × 220 × 250 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bed: Option<[Size; 3]>,
    /// Bore of the nozzle; 0.4 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nozzle: Option<Size>,
    /// Thickness of scrapers, gauges and templates; 4 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Size>,
    /// Width of the working edge of a scraper, before its bevel begins; 1 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scraper_edge: Option<Size>,
    /// Thickness of a cutter at its cutting edge; 0.8 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blade: Option<Size>,
    /// Clearance all round between printed parts that join; 0.25 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clearance: Option<Size>,
    /// How much wider than a dowel the holes for it are; 0.5 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dowel_clearance: Option<Size>,
    /// How far the cradle stands off the finished cake; 2 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cradle_gap: Option<Size>,
    /// How far a stretch of the carved line may stray from straight and still be cut along guide discs; 1 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guide_tolerance: Option<Size>,
    /// How far below the top of the presentation board the scrapers stand: 0 to slide round on the board itself, the height of board and turntable to stand beside them; 0 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stand_below: Option<Length>,
    /// Bearings, counted from the front, for which scrapers are made besides: their edge is the section of the cake there, cuts and adds included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearings: Option<Vec<Angle>>,
    /// Diameter of the filament; 1.75 mm if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filament: Option<Size>,
    /// Density of the plastic in g/mL; 1.24 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plastic_density: Option<f64>,
    /// Share of plastic inside the walls, from 0 to 1; 0.2 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub infill: Option<f64>,
}
