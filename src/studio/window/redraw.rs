//! Requests frames until the picture is complete.
//!
//! The window sleeps unless something happens, but meshes and shaders become ready in the background
//! without an event. So the renderer reports after each frame whether it still waits for something.

use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering},
};

use bevy::{
    prelude::*,
    render::{Render, RenderApp, RenderSystems, render_resource::PipelineCache},
    window::RequestRedraw,
};

use bevy_egui::{EguiInput, EguiPreUpdateSet, egui};

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
            drop_repeated_modifiers.after(EguiPreUpdateSet::ProcessInput).before(EguiPreUpdateSet::BeginPass),
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
