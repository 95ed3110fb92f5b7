//! Mouse, trackpad and keys: they move the eye (drag to turn, right drag or two fingers to move, wheel or pinch
//! to come nearer) and switch what is switched often.

use bevy::{
    input::{
        gestures::PinchGesture,
        mouse::{MouseScrollUnit, MouseWheel},
    },
    prelude::*,
    window::{CursorMoved, FileDragAndDrop, RequestRedraw},
};
use bevy_egui::input::EguiWantsInput;
use glam::{DVec2, dvec2};

use super::{
    editor::Editor,
    hover::PointerTarget,
    orbit::Eye,
    results::WindowWorker,
    state::{ViewSettings, Viewport, WindowState},
};
use crate::{Lens, View};

/// Two fingers moved this far count as one notch of a wheel, pixels.
const PIXELS_PER_NOTCH: f64 = 50.0;
/// Notches of a wheel that a pinch to twice the size counts as.
const NOTCHES_PER_PINCH: f64 = 8.0;
/// Pixels that an arrow key moves in a second.
const SHIFT_PER_SECOND: f64 = 400.0;

/// Reads mouse and trackpad.
#[expect(clippy::too_many_arguments, reason = "a system asks for what it needs")]
pub fn read_pointer(
    buttons: Res<ButtonInput<MouseButton>>,
    keys: Res<ButtonInput<KeyCode>>,
    mut pointer: MessageReader<CursorMoved>,
    mut wheel: MessageReader<MouseWheel>,
    mut pinch: MessageReader<PinchGesture>,
    (wants, target): (Res<EguiWantsInput>, Res<PointerTarget>),
    (viewport, state): (Res<Viewport>, Res<WindowState>),
    mut eye: ResMut<Eye>,
    mut dragging: Local<bool>,
) {
    let over_panel = wants.wants_any_pointer_input();
    let any = [MouseButton::Left, MouseButton::Right, MouseButton::Middle];
    // How far the pointer moved, not the mouse: those differ by the pointer's own speed.
    let (mut moved, mut on_picture) = (Vec2::ZERO, true);
    for event in pointer.read() {
        let delta = event.delta.unwrap_or_default();
        moved += delta;
        on_picture &= viewport.contains(event.position) && viewport.contains(event.position - delta);
    }
    if buttons.any_just_pressed(any) {
        // A button may be pressed after the pointer came from the panel, or before it goes there.
        let moves_detail = target.movable.is_some() && buttons.just_pressed(MouseButton::Left);
        *dragging = !over_panel && on_picture && !moves_detail;
    }
    if *dragging && moved != Vec2::ZERO {
        eye.stop();
        let shifting = keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]);
        // The button may have been pressed and released since the last frame.
        let left = buttons.pressed(MouseButton::Left) || buttons.just_released(MouseButton::Left);
        let moved = moved.as_dvec2();
        if left && !shifting {
            eye.orbit.turn(moved.x, moved.y);
        } else {
            eye.shift(moved.x, moved.y, viewport.points_high());
        }
    }
    if !buttons.any_pressed(any) {
        *dragging = false;
    }
    let pinched: f64 = pinch.read().map(|p| f64::from(p.0) * NOTCHES_PER_PINCH).sum();
    let control = keys.any_pressed([KeyCode::ControlLeft, KeyCode::ControlRight]);
    let shift = keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]);
    let (mut nearer, mut scrolled) = (pinched, DVec2::ZERO);
    for w in wheel.read() {
        let by = dvec2(w.x.into(), w.y.into());
        match w.unit {
            // A trackpad scrolls in pixels, a wheel in lines.
            MouseScrollUnit::Pixel if control => nearer += by.y / PIXELS_PER_NOTCH,
            MouseScrollUnit::Pixel => scrolled += by,
            MouseScrollUnit::Line if shift => scrolled += by * PIXELS_PER_NOTCH,
            MouseScrollUnit::Line => {
                nearer += by.y;
                scrolled.x += by.x * PIXELS_PER_NOTCH;
            }
        }
    }
    if over_panel {
        return;
    }
    if nearer != 0.0 {
        eye.stop();
        eye.approach(nearer, state.middle, state.radius);
    }
    if scrolled != DVec2::ZERO {
        eye.stop();
        eye.shift(scrolled.x, scrolled.y, viewport.points_high());
    }
}

/// Takes files that were dropped on the window.
pub fn read_drops(mut drops: MessageReader<FileDragAndDrop>, mut editor: ResMut<Editor>) {
    for drop in drops.read() {
        if let FileDragAndDrop::DroppedFile { path_buf, .. } = drop {
            editor.bypass_change_detection().workshop().drop_file(path_buf);
        }
    }
}

/// Reads the keys that move the eye: arrows turn or, with Shift, move; plus and minus come nearer and go
/// away, letters jump to a view.
pub fn read_keys(
    keys: Res<ButtonInput<KeyCode>>,
    time: Res<Time>,
    wants: Res<EguiWantsInput>,
    viewport: Res<Viewport>,
    state: Res<WindowState>,
    mut eye: ResMut<Eye>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let control = [KeyCode::ControlLeft, KeyCode::ControlRight];
    // Ctrl and a letter is a command, also where both were let go between two frames.
    if wants.wants_any_keyboard_input() || keys.any_pressed(control) || keys.any_just_released(control) {
        return;
    }
    let views = [
        (KeyCode::KeyF, View::Front),
        (KeyCode::KeyS, View::Side),
        (KeyCode::KeyB, View::Back),
        (KeyCode::KeyT, View::Top),
        (KeyCode::KeyQ, View::ThreeQuarter),
    ];
    let asked = views.into_iter().find(|(key, _)| keys.just_pressed(*key)).map(|(_, view)| view);
    let home = keys.just_pressed(KeyCode::Home).then(|| eye.orbit.view());
    if let Some(view) = asked.or(home) {
        eye.jump_to_view(view, &state.points, viewport.aspect());
    }
    let held = |key: KeyCode| f64::from(u8::from(keys.pressed(key)));
    let seconds = time.delta_secs_f64().min(0.1);
    let turn = held(KeyCode::ArrowRight) - held(KeyCode::ArrowLeft);
    let tilt = held(KeyCode::ArrowUp) - held(KeyCode::ArrowDown);
    let nearer = held(KeyCode::Equal) + held(KeyCode::NumpadAdd)
        - held(KeyCode::Minus)
        - held(KeyCode::NumpadSubtract);
    if turn != 0.0 || tilt != 0.0 || nearer != 0.0 {
        eye.stop();
        if keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]) {
            let distance = SHIFT_PER_SECOND * seconds;
            eye.shift(turn * distance, -tilt * distance, viewport.points_high());
        } else {
            eye.orbit.turn(-turn * 220.0 * seconds, tilt * 220.0 * seconds);
        }
        if nearer != 0.0 {
            eye.approach(nearer * 9.0 * seconds, state.middle, state.radius);
        }
        redraw.write(RequestRedraw);
    }
}

/// Single keys for what is switched often.
pub fn read_shortcuts(
    keys: Res<ButtonInput<KeyCode>>,
    wants: Res<EguiWantsInput>,
    worker: Res<WindowWorker>,
    mut view_settings: ResMut<ViewSettings>,
    mut eye: ResMut<Eye>,
) {
    let control = [KeyCode::ControlLeft, KeyCode::ControlRight];
    // Both keys may be pressed and released between two frames.
    let control = keys.any_pressed(control) || keys.any_just_released(control);
    if control || wants.wants_any_keyboard_input() {
        return;
    }
    if keys.just_pressed(KeyCode::KeyG) {
        view_settings.showing.ghost = !view_settings.showing.ghost;
    }
    if keys.just_pressed(KeyCode::KeyL) {
        view_settings.showing.loads = !view_settings.showing.loads;
    }
    if keys.just_pressed(KeyCode::KeyD) {
        view_settings.theme = view_settings.theme.other();
    }
    if keys.just_pressed(KeyCode::KeyO) {
        eye.lens = match eye.lens {
            Lens::Perspective => Lens::Orthographic,
            Lens::Orthographic => Lens::Perspective,
        };
    }
    if keys.just_pressed(KeyCode::F5) {
        worker.0.load();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::orbit::Orbit;

    /// An app that reads nothing but the pointer.
    fn pointer_app() -> App {
        let mut app = App::new();
        app.add_message::<MouseWheel>()
            .add_message::<PinchGesture>()
            .add_message::<CursorMoved>()
            .init_resource::<ButtonInput<MouseButton>>()
            .init_resource::<ButtonInput<KeyCode>>()
            .init_resource::<EguiWantsInput>()
            .init_resource::<Viewport>()
            .init_resource::<Eye>()
            .init_resource::<PointerTarget>()
            .init_resource::<WindowState>()
            .add_systems(Update, read_pointer);
        app
    }

    fn scrolled(app: &mut App, unit: MouseScrollUnit, x: f32, y: f32) -> (Orbit, Orbit) {
        let before = app.world().resource::<Eye>().orbit;
        let phase = bevy::input::touch::TouchPhase::Moved;
        app.world_mut().write_message(MouseWheel { unit, x, y, window: Entity::PLACEHOLDER, phase });
        app.update();
        (before, app.world().resource::<Eye>().orbit)
    }

    #[test]
    fn a_pinch_apart_comes_nearer_and_a_pinch_together_goes_away() {
        let mut app = pointer_app();
        let before = app.world().resource::<Eye>().orbit;
        app.world_mut().write_message(PinchGesture(0.25));
        app.update();
        let near = app.world().resource::<Eye>().orbit;
        assert!(near.height < 0.9 * before.height && near.target == before.target, "{near:?}");
        app.world_mut().write_message(PinchGesture(-0.25));
        app.update();
        let back = app.world().resource::<Eye>().orbit;
        assert!((back.height - before.height).abs() < 1e-6 * before.height, "{back:?}");
    }

    #[test]
    fn two_fingers_move_and_a_wheel_comes_nearer() {
        let mut app = pointer_app();
        let (before, after) = scrolled(&mut app, MouseScrollUnit::Pixel, 30.0, -20.0);
        assert!(after.height == before.height && after.target != before.target, "{after:?}");
        let (before, after) = scrolled(&mut app, MouseScrollUnit::Line, 0.0, 1.0);
        assert!(after.height < before.height && after.target == before.target, "{after:?}");
        app.world_mut().resource_mut::<ButtonInput<KeyCode>>().press(KeyCode::ShiftLeft);
        let (before, after) = scrolled(&mut app, MouseScrollUnit::Line, 0.0, 1.0);
        assert!(after.height == before.height && after.target != before.target, "{after:?}");
        app.world_mut().resource_mut::<ButtonInput<KeyCode>>().release_all();
        app.world_mut().resource_mut::<ButtonInput<KeyCode>>().press(KeyCode::ControlLeft);
        let (before, after) = scrolled(&mut app, MouseScrollUnit::Pixel, 0.0, 40.0);
        assert!(after.height < before.height && after.target == before.target, "{after:?}");
    }

    #[test]
    fn a_drag_that_ends_before_the_next_frame_still_turns() {
        let mut app = pointer_app();
        let before = app.world().resource::<Eye>().orbit;
        let mut buttons = app.world_mut().resource_mut::<ButtonInput<MouseButton>>();
        buttons.press(MouseButton::Left);
        buttons.release(MouseButton::Left);
        let (window, position) = (Entity::PLACEHOLDER, Vec2::splat(300.0));
        app.world_mut().write_message(CursorMoved { window, position, delta: Some(Vec2::new(50.0, 10.0)) });
        app.update();
        let after = app.world().resource::<Eye>().orbit;
        assert!(after.bearing != before.bearing && after.target == before.target, "{after:?}");
        app.world_mut().resource_mut::<ButtonInput<MouseButton>>().clear();
        app.world_mut().write_message(CursorMoved { window, position, delta: Some(Vec2::new(50.0, 10.0)) });
        app.update();
        assert_eq!(app.world().resource::<Eye>().orbit, after, "it goes on turning");
    }

    #[test]
    fn a_click_on_the_panel_and_a_move_to_the_picture_is_no_drag() {
        let mut app = pointer_app();
        app.world_mut().resource_mut::<Viewport>().corner = UVec2::new(330, 0);
        let before = app.world().resource::<Eye>().clone();
        let mut buttons = app.world_mut().resource_mut::<ButtonInput<MouseButton>>();
        buttons.press(MouseButton::Left);
        buttons.release(MouseButton::Left);
        let (window, position) = (Entity::PLACEHOLDER, Vec2::new(900.0, 300.0));
        app.world_mut().write_message(CursorMoved { window, position, delta: Some(Vec2::new(800.0, 10.0)) });
        app.update();
        assert_eq!(*app.world().resource::<Eye>(), before);
    }
}
