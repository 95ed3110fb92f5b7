//! How a model is turned, scaled and stood on the board.

use glam::{DAffine3, DMat3, DVec3};

use super::{Model, ScanError, debris::without_debris, middle_and_size};
pub use geom::axis::{Axis, Centre};
use geom::real;
use geom::{TriMesh, units};

/// How large the model becomes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// As large as its format says.
    OfFormat,
    /// One of its units is so many millimetres.
    Unit(f64),
    /// It is so tall above the board, mm.
    Height(f64),
}

/// How a model is turned, scaled and stood on the board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placing {
    /// Which way is up; as its format has it if not given.
    pub up: Option<Axis>,
    /// Which way the front looks; likewise.
    pub front: Option<Axis>,
    /// How far it is turned on the board after that, degrees counter-clockwise seen from above.
    pub turn: f64,
    /// How large it becomes.
    pub scale: Scale,
    /// How much of its bottom is cut off, mm.
    pub sink: f64,
    /// What stands over the middle.
    pub centre: Centre,
}

/// A model stood on the board, its bottom not yet cut off.
#[derive(Debug, Clone)]
pub struct PlacedModel {
    /// Its triangles, mm; what is to be cut off lies below 0.
    pub mesh: TriMesh,
    /// From the model to the cake.
    pub to_cake: DAffine3,
    /// What lay about it and was left out, in words.
    pub notes: Vec<String>,
}

/// Heights that a cake can have, mm.
const HEIGHTS: (f64, f64) = (5.0, units::LONGEST);

/// Sizes that a cake is likely to have, mm: what a unit makes smaller or larger was meant in another.
const LIKELY: (f64, f64) = (40.0, 1500.0);

/// Sizes are taken with this much to spare, as a share: single precision, and what is sunk into the board.
const SPARE: f64 = 1.0 / 3.0;

/// Units that a model may be in, as they are written.
const UNITS: [(&str, f64); 5] =
    [("mm", 1.0), ("cm", 10.0), ("in", units::MM_PER_INCH), ("ft", 304.8), ("m", 1000.0)];

/// How tall a model of `units` units would be in each unit that makes it a cake: the unit as it is written, and
/// the height in mm.
fn likely_heights(units: f64) -> Vec<(&'static str, f64)> {
    let heights = UNITS.iter().map(|(name, mm)| (*name, units * mm));
    heights.filter(|(_, mm)| (LIKELY.0..=LIKELY.1).contains(mm)).collect()
}

impl Placing {
    /// Stands `model` on the board.
    ///
    /// # Errors
    /// When there is no unit, or what comes of it is no cake.
    pub fn of(&self, model: &Model) -> Result<PlacedModel, ScanError> {
        let up = self.up.unwrap_or(model.axes.0);
        let front = self.front.unwrap_or(if up == model.axes.0 { model.axes.1 } else { up.usual_front() });
        if up.direction().dot(front.direction()) != 0.0 {
            return Err(ScanError::FrontIsUp);
        }
        // What looks to the front looks along −y on the cake, so that back is y and right is back × up.
        let (back, up) = (-front.direction(), up.direction());
        let upright = DMat3::from_cols(back.cross(up), back, up).transpose();
        let turned = real::rotation_z(self.turn.to_radians()) * upright;
        let (mut mesh, mut low, mut size) = moved(&model.mesh, DAffine3::from_mat3(turned));
        let mut notes = Vec::new();
        if let Some((kept, what)) = without_debris(&mesh) {
            let (middle, kept_size) = middle_and_size(&kept);
            (mesh, low, size, notes) = (kept, middle - kept_size / 2.0, kept_size, what);
        }
        if size.z <= 1e-9 * size.max_element() {
            return Err(ScanError::Flat);
        }
        let scale = self.scale_for(size.z, model.unit)?;
        let height = size.z * scale - self.sink;
        if height <= 0.0 {
            return Err(ScanError::SunkAltogether { sink: self.sink });
        }
        // A height that was asked for needs no question.
        let asked = matches!(self.scale, Scale::Height(_));
        let largest = size.max_element() * scale;
        let likely = LIKELY.0 * (1.0 - SPARE)..=LIKELY.1 * (1.0 + SPARE);
        if !(HEIGHTS.0..=HEIGHTS.1).contains(&height) || !asked && !likely.contains(&largest) {
            let found = if asked { Vec::new() } else { likely_heights(size.z) };
            return Err(ScanError::NoCakesSize { height, likely: found });
        }
        let base = DVec3::new(0.0, 0.0, low.z * scale + self.sink);
        let middle = match self.centre {
            Centre::Box => (low + size / 2.0) * scale,
            Centre::Foot => foot(&mesh, low.z + (self.sink / scale).max(1e-3 * size.z)) * scale,
        };
        let shift = -middle.with_z(0.0) - base;
        let to_cake = DAffine3 { matrix3: turned * scale, translation: shift };
        let mesh = match notes.is_empty() {
            true => moved(&model.mesh, to_cake).0,
            false => {
                moved(
                    &mesh,
                    DAffine3 { matrix3: DMat3::from_diagonal(DVec3::splat(scale)), translation: shift },
                )
                .0
            }
        };
        Ok(PlacedModel { mesh, to_cake, notes })
    }

    fn scale_for(&self, height: f64, of_format: Option<f64>) -> Result<f64, ScanError> {
        match (self.scale, of_format) {
            (Scale::Unit(mm), _) | (Scale::OfFormat, Some(mm)) => Ok(mm),
            (Scale::Height(tall), _) => Ok((tall + self.sink) / height),
            (Scale::OfFormat, None) => Err(ScanError::NeedsUnit { height, likely: likely_heights(height) }),
        }
    }
}

/// `mesh` moved by `frame`, its lowest corner and its size.
fn moved(mesh: &TriMesh, frame: DAffine3) -> (TriMesh, DVec3, DVec3) {
    let positions = mesh.positions.iter().map(|p| frame.transform_point3(*p)).collect();
    let mesh = TriMesh { positions, triangles: mesh.triangles.clone() };
    let (middle, size) = middle_and_size(&mesh);
    (mesh, middle - size / 2.0, size)
}

/// Middle of the box round what lies lower than `height`.
fn foot(mesh: &TriMesh, height: f64) -> DVec3 {
    let used = mesh.triangles.iter().flatten().map(|v| mesh.positions[*v as usize]);
    let (lo, hi) = used
        .filter(|p| p.z <= height)
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(lo, hi), p| (lo.min(p), hi.max(p)));
    (lo + hi) / 2.0
}
