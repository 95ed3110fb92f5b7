//! What the pointer is on: part, height, radius and how deep the knife went there.

use std::fmt;

use bevy::{
    picking::mesh_picking::ray_cast::{MeshRayCast, MeshRayCastSettings, RayMeshHit},
    prelude::*,
    window::PrimaryWindow,
};
use bevy_egui::input::EguiWantsInput;

use super::{SceneCamera, desk::Desk, orbit::Eye};
use crate::{Look, convert, scene::PieceIndex, skin::CakeMaterial};

/// What is under the pointer.
#[derive(Debug, Clone, PartialEq)]
pub struct Hovered {
    /// Name of the part.
    pub part: String,
    /// Height above the board, mm; as built, however far the layers are pulled apart.
    pub height: f64,
    /// Distance from the axis, mm.
    pub radius: f64,
    /// How deep the knife went, mm; negative where cake is missing.
    pub depth: Option<f64>,
}

/// The piece under the pointer, if any.
#[derive(Resource, Debug, Default)]
pub struct UnderPointer {
    /// What to say about it.
    pub hovered: Option<Hovered>,
    piece: Option<Entity>,
}

impl fmt::Display for Hovered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}\nheight {}   radius {}", self.part, both(self.height), both(self.radius))?;
        match self.depth {
            Some(depth) if depth < 0.0 => write!(f, "\nmissing: {} beyond the raw stack", both(-depth)),
            Some(depth) => write!(f, "\nshaved {} deep", both(depth)),
            None => Ok(()),
        }
    }
}

fn both(mm: f64) -> String {
    // Adding zero turns −0.0 into 0.0.
    let mm = (mm * 10.0).round() / 10.0 + 0.0;
    format!("{mm:.1} mm ({:.2} in)", mm / 25.4)
}

/// Casts a ray when the pointer or the eye moved, or the stage changed.
#[expect(clippy::too_many_arguments, reason = "a system asks for what it needs")]
pub fn point(
    window: Single<&Window, With<PrimaryWindow>>,
    camera: Single<(&Camera, &GlobalTransform), With<SceneCamera>>,
    pieces: Query<&PieceIndex>,
    (desk, eye): (Res<Desk>, Res<Eye>),
    buttons: Res<ButtonInput<MouseButton>>,
    wants: Res<EguiWantsInput>,
    mut cast: MeshRayCast,
    mut under: ResMut<UnderPointer>,
    mut last: Local<Option<Vec2>>,
    mut new_stage: Local<u8>,
) {
    let cursor = window.cursor_position().filter(|_| !wants.is_pointer_over_area());
    // Rays find a new mesh once its bounds are known, a few frames after it was set, and a moved camera is in
    // its place with the next frame.
    *new_stage = if desk.is_changed() || eye.is_changed() { 3 } else { new_stage.saturating_sub(1) };
    if (cursor == *last && *new_stage == 0) || buttons.pressed(MouseButton::Left) {
        return;
    }
    *last = cursor;
    let ray = cursor.and_then(|at| camera.0.viewport_to_world(camera.1, at).ok());
    let solid = |entity: Entity| {
        let piece = pieces.get(entity).ok().and_then(|index| desk.pieces.get(index.0));
        piece.is_some_and(|piece| piece.look != Look::Ghost)
    };
    let settings = MeshRayCastSettings::default().with_filter(&solid);
    let hit = ray.and_then(|ray| cast.cast_ray(ray, &settings).first().cloned());
    let next = hit.as_ref().and_then(|(entity, hit)| {
        let index = pieces.get(*entity).ok()?;
        Some((*entity, describe(&desk, index.0, hit)?))
    });
    let (piece, hovered) = next.map_or((None, None), |(entity, hovered)| (Some(entity), Some(hovered)));
    if under.hovered != hovered || under.piece != piece {
        *under = UnderPointer { hovered, piece };
    }
}

fn describe(desk: &Desk, piece: usize, hit: &RayMeshHit) -> Option<Hovered> {
    let piece = desk.pieces.get(piece)?;
    let place = convert::millimetres(hit.point);
    let skin = matches!(piece.look, Look::Depth | Look::Shortfall);
    // The texture coordinates carry depth and, as 1, whether it is a cut face.
    let depth = hit.uv.filter(|uv| skin && uv.y < 0.5).map(|uv| uv.x.into());
    Some(Hovered {
        part: piece.name.clone(),
        height: place.z - piece.lift,
        radius: place.truncate().length(),
        depth,
    })
}

/// Lets the piece under the pointer glow.
pub fn glow(
    under: Res<UnderPointer>,
    pieces: Query<(Entity, &MeshMaterial3d<CakeMaterial>), With<PieceIndex>>,
    mut materials: ResMut<Assets<CakeMaterial>>,
) {
    if !under.is_changed() {
        return;
    }
    for (entity, material) in &pieces {
        let wanted = if under.piece == Some(entity) { 1.0 } else { 0.0 };
        let differs = materials.get(&material.0).is_some_and(|m| m.skin.glow != wanted);
        if differs && let Some(mut material) = materials.get_mut(&material.0) {
            material.skin.glow = wanted;
        }
    }
}
