//! Keeps drawing until the picture is complete.
//!
//! The window sleeps unless something happens, but meshes and shaders become ready in the background
//! and wake nobody. So the renderer reports after each frame whether it still waits for something.

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

use super::{desk::Desk, orbit::Eye};

/// Whether the last frame waited for anything; shared by both worlds.
#[derive(Resource, Clone, Default)]
struct Waiting(Arc<AtomicBool>);

/// Asks for another frame as long as the last one was not complete.
pub struct SettlingPlugin;

impl Plugin for SettlingPlugin {
    fn build(&self, app: &mut App) {
        let waiting = Waiting::default();
        app.insert_resource(waiting.clone()).add_systems(Last, draw_again).add_systems(
            PreUpdate,
            drop_stale_news.after(EguiPreUpdateSet::ProcessInput).before(EguiPreUpdateSet::BeginPass),
        );
        if let Some(render) = app.get_sub_app_mut(RenderApp) {
            render.insert_resource(waiting);
            render.add_systems(Render, report.in_set(RenderSystems::Cleanup));
        }
    }
}

/// egui is told its modifier keys anew each frame and asks for another frame after any news at all;
/// so only a change of them is passed on.
fn drop_stale_news(mut inputs: Query<&mut EguiInput>, mut before: Local<egui::Modifiers>) {
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

/// A new stage reaches the renderer one frame later, and its meshes the card one more.
const FRAMES_ON_THE_WAY: u32 = 3;

fn draw_again(
    waiting: Res<Waiting>,
    desk: Res<Desk>,
    eye: Res<Eye>,
    mut on_the_way: Local<u32>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if desk.is_changed() || eye.is_changed() || waiting.0.load(Ordering::Relaxed) {
        *on_the_way = FRAMES_ON_THE_WAY;
    }
    if *on_the_way > 0 {
        *on_the_way -= 1;
        redraw.write(RequestRedraw);
    }
}
