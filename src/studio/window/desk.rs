//! What lies on the desk: the maker's wishes, the cake that was read last, and what is on the stage.

use std::sync::Arc;

use bevy::prelude::*;
use glam::DVec3;

use super::{source::LoadedCake, theme::Theme};
use crate::{Lightened, Look, Piece, Showing, Staging, Step};
use formats::model::PartKind;
use geom::units::UnitStyle;

/// What the maker asks to see.
#[derive(Resource, Debug, Clone, PartialEq, Default)]
pub struct Wishes {
    /// What of the cake.
    pub showing: Showing,
    /// Light or dark.
    pub theme: Theme,
}

/// A piece on the stage, without its surface.
#[derive(Debug, Clone)]
pub struct StagedPiece {
    /// Name of its part.
    pub name: String,
    /// How it is drawn.
    pub look: Look,
    /// How far it was lifted, mm.
    pub lift: f64,
}

/// What lies on the desk: the cake that was read last, and what is on the stage.
#[derive(Resource, Default)]
pub struct Desk {
    /// The last cake that could be read.
    pub cake: Option<Arc<LoadedCake>>,
    /// Why the newest one could not be read or shown.
    pub error: Option<String>,
    /// How far the making has come on the stage.
    pub step: Step,
    /// What was too big for the graphics card, and what became of it.
    pub lightened: Option<Lightened>,
    /// The pieces on the stage.
    pub pieces: Vec<StagedPiece>,
    /// Points all over the stage that have to fit the picture, mm.
    pub points: Vec<DVec3>,
    /// Middle of the stage, mm.
    pub middle: DVec3,
    /// Half the diagonal of the stage, mm.
    pub radius: f64,
    /// The deepest shave on the stage, mm.
    pub deepest: Option<f64>,
    /// Whether cake is missing anywhere on the stage.
    pub shortfall: bool,
    /// Whether the raw stack haunts the stage.
    pub ghost: bool,
    /// The stage that was ordered last: which cake, and what of it.
    pub ordered: Option<(usize, Showing)>,
}

/// The part of the window that shows the cake.
#[derive(Resource, Debug, Clone, Copy, PartialEq)]
pub struct Viewport {
    /// Top left corner, pixels.
    pub corner: UVec2,
    /// Size, pixels.
    pub size: UVec2,
    /// Pixels in one point.
    pub scale: f32,
}

impl Default for Viewport {
    fn default() -> Self {
        Self { corner: UVec2::ZERO, size: UVec2::new(1000, 750), scale: 1.0 }
    }
}

impl Viewport {
    /// Whether a point of the window lies on it or right of it; the panel is at its left.
    pub fn holds(&self, point: Vec2) -> bool {
        point.x * self.scale >= self.corner.x as f32
    }

    /// Height, points: what pointers move in.
    pub fn points_high(&self) -> f64 {
        f64::from(self.size.y) / f64::from(self.scale)
    }

    /// How many times as wide as high.
    pub fn aspect(&self) -> f64 {
        f64::from(self.size.x.max(1)) / f64::from(self.size.y.max(1))
    }
}

impl Desk {
    /// How figures are told: in the unit of the cake.
    pub fn style(&self) -> UnitStyle {
        UnitStyle::new(self.cake.as_ref().map(|cake| cake.model.unit).unwrap_or_default())
    }

    /// Notes what was set on the stage, between these two corners, mm.
    pub fn lay_out(&mut self, cake: &LoadedCake, staging: &Staging, (lo, hi): (DVec3, DVec3)) {
        let piece = |piece: &Piece| StagedPiece {
            name: cake.model.parts[piece.part].name.clone(),
            look: piece.look,
            lift: piece.lift,
        };
        self.pieces = staging.pieces.iter().map(piece).collect();
        self.step = staging.step.clone();
        self.points = sampled(staging);
        (self.middle, self.radius) = ((lo + hi) / 2.0, (hi - lo).length() / 2.0);
        (self.deepest, self.shortfall, self.ghost) = (staging.deepest, staging.shortfall, staging.ghost);
    }

    /// Height of the top of the stage, mm.
    pub fn top(&self) -> f64 {
        self.points.iter().map(|c| c.z).fold(1.0, f64::max)
    }

    /// Names of all parts that belong to the layer of this name.
    pub fn parts_of_layer(&self, name: &str) -> Vec<String> {
        let Some(cake) = &self.cake else { return Vec::new() };
        let parts = &cake.model.parts;
        let sponge = [PartKind::RawLayer, PartKind::Kept, PartKind::Offcut, PartKind::Shortfall];
        let Some(layer) = parts.iter().find(|p| sponge.contains(&p.kind) && p.name == name) else {
            return Vec::new();
        };
        let same = parts.iter().filter(|p| p.index == layer.index && sponge.contains(&p.kind));
        same.map(|p| p.name.clone()).collect()
    }
}

/// About this many points stand for a stage when a view is fitted to it.
const SAMPLES: usize = 6000;

/// Points spread over every piece of the stage, mm.
fn sampled(staging: &Staging) -> Vec<DVec3> {
    let total: usize = staging.pieces.iter().map(|piece| piece.surface.mesh.positions.len()).sum();
    let every = total.div_ceil(SAMPLES).max(1);
    let points = staging.pieces.iter().flat_map(|piece| piece.surface.mesh.positions.iter().copied());
    points.step_by(every).collect()
}
