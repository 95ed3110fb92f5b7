//! Requests frames until the picture is complete.
//!
//! The window sleeps unless something happens, but meshes and shaders become ready in the background
//! without an event. So the renderer reports after each frame whether it still waits for something.

use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering},
};

use bevy::{
    input::keyboard::KeyboardInput,
    prelude::*,
    render::{Render, RenderApp, RenderSystems, render_resource::PipelineCache},
    window::RequestRedraw,
};

use bevy_egui::{
    EguiInput, EguiPreUpdateSet, egui,
    helpers::{bevy_to_egui_key, bevy_to_egui_physical_key},
};

use super::{orbit::Eye, state::WindowState};

/// Whether the last frame waited for anything; shared by both worlds.
#[derive(Resource, Clone, Default)]
struct Waiting(Arc<AtomicBool>);

/// Asks for another frame as long as the last one was not complete.
pub struct RedrawPlugin;

impl Plugin for RedrawPlugin {
    fn build(&self, app: &mut App) {
        let waiting = Waiting::default();
        app.insert_resource(waiting.clone()).add_systems(Last, request_redraw).add_systems(
            PreUpdate,
            (drop_repeated_modifiers, modifiers_when_pressed)
                .after(EguiPreUpdateSet::ProcessInput)
                .before(EguiPreUpdateSet::BeginPass),
        );
        if let Some(render) = app.get_sub_app_mut(RenderApp) {
            render.insert_resource(waiting);
            render.add_systems(Render, report.in_set(RenderSystems::Cleanup));
        }
    }
}

/// egui gets the state of the modifier keys each frame as an event, and requests another frame after any
/// event; so only a change of them is passed on.
fn drop_repeated_modifiers(mut inputs: Query<&mut EguiInput>, mut before: Local<egui::Modifiers>) {
    for mut input in &mut inputs {
        input.events.retain(|event| match event {
            egui::Event::ModifiersChanged(now) => std::mem::replace(&mut *before, *now) != *now,
            _ => true,
        });
    }
}

/// Keys that change what another key does.
const MODIFIERS: [KeyCode; 8] = [
    KeyCode::ControlLeft,
    KeyCode::ControlRight,
    KeyCode::ShiftLeft,
    KeyCode::ShiftRight,
    KeyCode::AltLeft,
    KeyCode::AltRight,
    KeyCode::SuperLeft,
    KeyCode::SuperRight,
];

/// Gives each key the modifiers that were held when it was pressed. Where a frame takes long, Ctrl may be let go again
/// before the key is read, and would count as not held.
fn modifiers_when_pressed(
    mut inputs: Query<&mut EguiInput>,
    mut keys: MessageReader<KeyboardInput>,
    mut held: Local<[bool; 8]>,
) {
    let mut pressed = Vec::new();
    for message in keys.read() {
        let down = message.state.is_pressed();
        if let Some(index) = MODIFIERS.iter().position(|key| *key == message.key_code) {
            held[index] = down;
        }
        let key = bevy_to_egui_key(&message.logical_key).or(bevy_to_egui_physical_key(&message.key_code));
        if key.is_some() {
            let [ctrl, shift, alt, mac] = [0, 2, 4, 6].map(|i| held[i] || held[i + 1]);
            let mac_cmd = cfg!(target_os = "macos") && mac;
            let command = if cfg!(target_os = "macos") { mac_cmd } else { ctrl };
            pressed.push(egui::Modifiers { alt, ctrl, shift, mac_cmd, command });
        }
    }
    for mut input in &mut inputs {
        let count = input.events.iter().filter(|event| matches!(event, egui::Event::Key { .. })).count();
        if count == pressed.len() {
            with_modifiers(&mut input.events, &pressed);
        }
    }
}

/// The key events of `events` get these modifiers, one after the other. What is a command is no text.
fn with_modifiers(events: &mut Vec<egui::Event>, of_keys: &[egui::Modifiers]) {
    let mut of_keys = of_keys.iter();
    let mut kept: Vec<egui::Event> = Vec::with_capacity(events.len());
    for mut event in events.drain(..) {
        if let egui::Event::Key { modifiers, pressed, .. } = &mut event
            && let Some(now) = of_keys.next()
        {
            let is_new = now.command && !modifiers.command && *pressed;
            *modifiers = *now;
            if is_new && matches!(kept.last(), Some(egui::Event::Text(_))) {
                kept.pop();
            }
        }
        kept.push(event);
    }
    *events = kept;
}

/// A frame is complete when no pipeline is being made and none was asked for that was not there before.
fn report(waiting: Res<Waiting>, pipelines: Res<PipelineCache>, mut before: Local<usize>) {
    let now = pipelines.pipelines().count();
    let incomplete = pipelines.waiting_pipelines().next().is_some() || now != *before;
    *before = now;
    waiting.0.store(incomplete, Ordering::Relaxed);
}

/// A new scene reaches the renderer one frame later, and its meshes the card one more.
const FRAMES_UNTIL_DRAWN: u32 = 3;

fn request_redraw(
    waiting: Res<Waiting>,
    state: Res<WindowState>,
    eye: Res<Eye>,
    mut frames_left: Local<u32>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if state.is_changed() || eye.is_changed() || waiting.0.load(Ordering::Relaxed) {
        *frames_left = FRAMES_UNTIL_DRAWN;
    }
    if *frames_left > 0 {
        *frames_left -= 1;
        redraw.write(RequestRedraw);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(key: egui::Key, modifiers: egui::Modifiers) -> egui::Event {
        egui::Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers }
    }

    #[test]
    fn a_command_is_one_although_ctrl_was_let_go_before_the_frame() {
        use egui::{Key, Modifiers};
        let mut events = vec![
            egui::Event::Text("s".into()),
            key(Key::S, Modifiers::NONE),
            egui::Event::Text("a".into()),
            key(Key::A, Modifiers::NONE),
        ];
        with_modifiers(&mut events, &[Modifiers::COMMAND, Modifiers::NONE]);
        let wanted =
            [key(Key::S, Modifiers::COMMAND), egui::Event::Text("a".into()), key(Key::A, Modifiers::NONE)];
        assert_eq!(events, wanted);
    }
}
