//! A selected detail is dragged along the surface of the cake.

use bevy::{
    picking::mesh_picking::ray_cast::{MeshRayCast, MeshRayCastSettings},
    prelude::*,
    window::PrimaryWindow,
};
use glam::DVec3;

use super::{
    SceneCamera,
    editor::Editor,
    hover::{PointerTarget, detail_of},
    state::WindowState,
};
use crate::{Look, convert, spawn::PieceIndex};

/// A detail that is held.
pub struct Held {
    detail: usize,
    /// Where the pointer took hold of it.
    pressed: Vec2,
    /// The place on the surface below, mm, once the pointer has moved.
    from: Option<DVec3>,
}

/// Moves the detail that the pointer holds to the place on the cake below the pointer.
#[expect(clippy::too_many_arguments, reason = "a system asks for what it needs")]
pub fn drag_detail(
    window: Single<&Window, With<PrimaryWindow>>,
    camera: Single<(&Camera, &GlobalTransform), With<SceneCamera>>,
    pieces: Query<&PieceIndex>,
    state: Res<WindowState>,
    buttons: Res<ButtonInput<MouseButton>>,
    target: Res<PointerTarget>,
    mut editor: ResMut<Editor>,
    mut cast: MeshRayCast,
    mut held: Local<Option<Held>>,
) {
    /// A pointer that moves less is not dragged, points.
    const STILL: f32 = 4.0;
    let Some(cursor) = window.cursor_position() else { return };
    if buttons.just_pressed(MouseButton::Left) {
        *held = target.movable.map(|detail| Held { detail, pressed: cursor, from: None });
    }
    if !buttons.pressed(MouseButton::Left) {
        *held = None;
        return;
    }
    let Some(held) = &mut *held else { return };
    if held.from.is_none() && held.pressed.distance(cursor) < STILL {
        return;
    }
    // The surface that it lies on, not its own.
    let detail = held.detail;
    let below = |entity: Entity| {
        let piece = pieces.get(entity).ok().and_then(|index| state.pieces.get(index.0));
        piece.is_some_and(|piece| piece.look != Look::Ghost && detail_of(&state, &piece.name) != Some(detail))
    };
    let settings = MeshRayCastSettings::default().with_filter(&below);
    let mut place = |cursor: Vec2| {
        let ray = camera.0.viewport_to_world(camera.1, cursor).ok()?;
        let (entity, hit) = cast.cast_ray(ray, &settings).first()?.clone();
        let lift = pieces.get(entity).ok().and_then(|index| state.pieces.get(index.0))?.lift;
        Some(convert::millimetres(hit.point) - DVec3::Z * lift)
    };
    let from = held.from.or_else(|| place(held.pressed));
    if let (Some(from), Some(to)) = (from, place(cursor)) {
        held.from = Some(from);
        editor.bypass_change_detection().workshop().drag_detail(detail, from, to);
    }
}
