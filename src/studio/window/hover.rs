//! What the pointer is on: part, height, radius and how deep the knife went there.

use bevy::{
    picking::mesh_picking::ray_cast::{MeshRayCast, MeshRayCastSettings, RayMeshHit},
    prelude::*,
    window::PrimaryWindow,
};
use bevy_egui::input::EguiWantsInput;

use super::{SceneCamera, editor::Editor, orbit::Eye, state::WindowState};
use crate::{Look, cake_material::CakeMaterial, convert, spawn::PieceIndex};
use formats::model::PartKind;
use geom::units::UnitStyle;
use glam::DVec3;

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
pub struct PointerTarget {
    /// What to say about it.
    pub hovered: Option<Hovered>,
    /// Where it is, mm; as built.
    pub at: Option<DVec3>,
    /// The detail that it is.
    detail: Option<usize>,
    /// The same if a drag moves it.
    pub movable: Option<usize>,
    piece: Option<Entity>,
}

impl PointerTarget {
    /// The piece that is pointed at, by its place in the scene.
    pub fn piece_in(&self, pieces: &Query<&PieceIndex>) -> Option<usize> {
        self.piece.and_then(|piece| pieces.get(piece).ok()).map(|piece| piece.0)
    }
}

impl Hovered {
    /// What is said about it, lengths in the maker's unit first.
    pub fn describe(&self, style: UnitStyle) -> String {
        let length = |mm: f64| style.length_alone(mm);
        let place = format!("{}\nheight {}   radius {}", self.part, length(self.height), length(self.radius));
        match self.depth {
            Some(depth) if depth < 0.0 => {
                format!("{place}\nmissing: {} beyond the raw stack", length(-depth))
            }
            Some(depth) => format!("{place}\ncarved {} deep", length(depth)),
            None => place,
        }
    }
}

/// Casts a ray when the pointer or the eye moved, or the scene changed.
#[expect(clippy::too_many_arguments, reason = "a system asks for what it needs")]
pub fn find_target(
    window: Single<&Window, With<PrimaryWindow>>,
    camera: Single<(&Camera, &GlobalTransform), With<SceneCamera>>,
    pieces: Query<&PieceIndex>,
    (state, eye): (Res<WindowState>, Res<Eye>),
    buttons: Res<ButtonInput<MouseButton>>,
    wants: Res<EguiWantsInput>,
    mut editor: ResMut<Editor>,
    mut cast: MeshRayCast,
    mut target: ResMut<PointerTarget>,
    mut last: Local<Option<Vec2>>,
    mut frames_to_check: Local<u8>,
) {
    let workshop = editor.bypass_change_detection().workshop();
    // What is selected may have become another meanwhile.
    let movable = target.detail.filter(|detail| workshop.is_movable(*detail));
    if movable != target.movable {
        target.movable = movable;
    }
    let cursor = window.cursor_position().filter(|_| !wants.is_pointer_over_area());
    // Rays meet a new mesh once its bounds are known, a few frames after it was spawned, and the transform of a
    // moved camera is updated with the next frame.
    *frames_to_check =
        if state.is_changed() || eye.is_changed() { 3 } else { frames_to_check.saturating_sub(1) };
    if (cursor == *last && *frames_to_check == 0) || buttons.pressed(MouseButton::Left) {
        return;
    }
    *last = cursor;
    let ray = cursor.and_then(|at| camera.0.viewport_to_world(camera.1, at).ok());
    let solid = |entity: Entity| {
        let piece = pieces.get(entity).ok().and_then(|index| state.pieces.get(index.0));
        piece.is_some_and(|piece| piece.look != Look::Ghost)
    };
    let settings = MeshRayCastSettings::default().with_filter(&solid);
    let hit = ray.and_then(|ray| cast.cast_ray(ray, &settings).first().cloned());
    let next = hit.as_ref().and_then(|(entity, hit)| {
        let index = pieces.get(*entity).ok()?;
        let at = convert::millimetres(hit.point) - DVec3::Z * state.pieces.get(index.0)?.lift;
        Some((*entity, describe(&state, index.0, hit)?, at))
    });
    let (piece, hovered, at) = match next {
        Some((entity, hovered, at)) => (Some(entity), Some(hovered), Some(at)),
        None => (None, None, None),
    };
    let detail = hovered.as_ref().and_then(|hovered| detail_of(&state, &hovered.part));
    let movable = detail.filter(|detail| workshop.is_movable(*detail));
    let now = PointerTarget { hovered, at, detail, movable, piece };
    if now.hovered != target.hovered || now.piece != target.piece || now.movable != target.movable {
        *target = now;
    } else {
        target.bypass_change_detection().at = at;
    }
}

/// The detail that a part is, by its place in the file.
pub fn detail_of(state: &WindowState, part: &str) -> Option<usize> {
    let part = state.cake.as_ref()?.model.parts.iter().find(|one| one.name == part)?;
    matches!(part.kind, PartKind::Add | PartKind::Inlay).then_some(part.index)
}

fn describe(state: &WindowState, piece: usize, hit: &RayMeshHit) -> Option<Hovered> {
    let piece = state.pieces.get(piece)?;
    let point = convert::millimetres(hit.point);
    let has_depth = matches!(piece.look, Look::Depth | Look::Shortfall);
    // The texture coordinates carry depth and, as 1, whether it is a cut face.
    let depth = hit.uv.filter(|uv| has_depth && uv.y < 0.5).map(|uv| uv.x.into());
    Some(Hovered {
        part: piece.name.clone(),
        height: point.z - piece.lift,
        radius: point.truncate().length(),
        depth,
    })
}

/// A click on a part of the cake, which is no drag, selects what the file says of it.
pub fn select_clicked(
    window: Single<&Window, With<PrimaryWindow>>,
    buttons: Res<ButtonInput<MouseButton>>,
    wants: Res<EguiWantsInput>,
    target: Res<PointerTarget>,
    state: Res<WindowState>,
    mut editor: ResMut<Editor>,
    mut pressed: Local<Option<Vec2>>,
) {
    /// A pointer that moves less is not dragged, points.
    const STILL: f32 = 4.0;
    let cursor = window.cursor_position();
    if buttons.just_pressed(MouseButton::Left) {
        *pressed = cursor.filter(|_| !wants.is_pointer_over_area());
    }
    if !buttons.just_released(MouseButton::Left) {
        return;
    }
    let still = pressed.take().zip(cursor).is_some_and(|(from, to)| from.distance(to) < STILL);
    if !still {
        return;
    }
    if target.at.is_some_and(|at| editor.workshop().place_at(at)) {
        return;
    }
    let part = target.hovered.as_ref().map(|hovered| hovered.part.as_str());
    let cake = state.cake.as_ref();
    let part = part.zip(cake).and_then(|(name, cake)| cake.model.parts.iter().find(|part| part.name == name));
    editor.select(part.map(|part| (part.kind, part.index)));
}

/// Highlights the piece under the pointer.
pub fn highlight(
    target: Res<PointerTarget>,
    pieces: Query<(Entity, &MeshMaterial3d<CakeMaterial>), With<PieceIndex>>,
    mut materials: ResMut<Assets<CakeMaterial>>,
) {
    if !target.is_changed() {
        return;
    }
    for (entity, material) in &pieces {
        let wanted = if target.piece == Some(entity) { 1.0 } else { 0.0 };
        let differs = materials.get(&material.0).is_some_and(|m| m.uniforms.highlight != wanted);
        if differs && let Some(mut material) = materials.get_mut(&material.0) {
            material.uniforms.highlight = wanted;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geom::units::Unit;

    #[test]
    fn what_is_pointed_at_is_told_in_the_unit_of_the_maker_first() {
        let on = |depth| Hovered { part: "layer 1".into(), height: 101.6, radius: 50.8, depth };
        let inch = UnitStyle::new(Unit::Inch);
        let carved = "layer 1\nheight 4 in   radius 2 in\ncarved 1/4 in (6.4 mm) deep";
        assert_eq!(on(Some(6.4)).describe(inch), carved);
        let missing = on(Some(-6.35)).describe(UnitStyle::new(Unit::Centimetre));
        assert!(missing.ends_with("missing: 0.6 cm beyond the raw stack"), "{missing}");
        let plain = on(None).describe(UnitStyle::new(Unit::Millimetre));
        assert_eq!(plain, "layer 1\nheight 102 mm   radius 51 mm");
    }
}
