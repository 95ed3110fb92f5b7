//! Requests to the worker, and what becomes of its results.

use std::sync::Arc;

use bevy::{
    prelude::*,
    render::renderer::RenderDevice,
    window::PrimaryWindow,
    winit::{EventLoopProxyWrapper, WinitUserEvent},
};
use glam::DVec3;

use super::{
    editor::Editor,
    motion_quality::SceneTriangles,
    orbit::Eye,
    source::LoadedCake,
    state::{ViewSettings, Viewport, WindowState},
    worker::{SceneRequest, WorkResult, Worker},
};
use crate::{
    Showing, View,
    cake_material::Ground,
    scale::DepthScale,
    spawn::{self, PreparedScene, SceneStyle},
};

/// The worker, as long as the window is open.
#[derive(Resource)]
pub struct WindowWorker(pub Worker);

/// Lets the worker's results end the window's sleep.
pub fn wake_on_results(worker: Res<WindowWorker>, editor: Res<Editor>, proxy: Res<EventLoopProxyWrapper>) {
    let wake = || {
        let proxy = (**proxy).clone();
        move || {
            // The window may be closing; then there is no event loop to wake.
            let _ = proxy.send_event(WinitUserEvent::WakeUp);
        }
    };
    worker.0.on_result(wake());
    editor.on_change(wake());
}

/// Takes over what the worker has ready.
pub fn take_results(world: &mut World) {
    for result in world.resource::<WindowWorker>().0.take_results() {
        match result {
            WorkResult::Cake(loaded) => {
                world.resource_mut::<Editor>().set_loaded(&loaded);
                world.resource_mut::<WindowState>().set_cake(loaded);
            }
            WorkResult::Scene(cake, Ok(scene)) => show_scene(world, &cake, *scene),
            WorkResult::Scene(_, Err(error)) => {
                if world.resource_mut::<WindowState>().set_scene_error(error) {
                    world.resource_mut::<SceneTriangles>().0 = 0;
                    spawn::despawn_pieces(world);
                }
            }
        }
    }
}

fn show_scene(world: &mut World, cake: &LoadedCake, prepared: PreparedScene) {
    world.resource_mut::<SceneTriangles>().0 = prepared.scene.triangles();
    let lowest = prepared.scene.bounds().unwrap_or((DVec3::ZERO, DVec3::ZERO)).0.z;
    let theme = world.resource::<ViewSettings>().theme;
    let scale_factor = world
        .query_filtered::<&Window, With<PrimaryWindow>>()
        .iter(world)
        .next()
        .map_or(1.0, Window::scale_factor);
    let scene_style = SceneStyle {
        scale: DepthScale::reaching(prepared.scene.deepest.unwrap_or(0.0), prepared.scene.unit),
        line_width: scale_factor.max(1.0),
        ground: Some(Ground::Plain(theme.ground())),
        floor: lowest - 0.5,
    };
    let simplified = prepared.simplified;
    let (scene, _) = spawn::spawn_scene(world, prepared, &scene_style);
    let mut state = world.resource_mut::<WindowState>();
    let first = state.points.is_empty();
    state.set_scene(cake, &scene, simplified);
    if first {
        let (points, aspect) = (state.points.clone(), world.resource::<Viewport>().aspect());
        world.resource_mut::<Eye>().start_at(View::ThreeQuarter, &points, aspect);
    }
}

/// Requests a new scene when the cake or the view settings changed.
pub fn request_scene(
    view_settings: Res<ViewSettings>,
    worker: Res<WindowWorker>,
    device: Res<RenderDevice>,
    mut state: ResMut<WindowState>,
) {
    let Some(cake) = state.cake.clone() else { return };
    let showing = view_settings.showing.clone();
    let asked = |(of, what): &(Arc<LoadedCake>, Showing)| Arc::ptr_eq(of, &cake) && *what == showing;
    if !state.requested.as_ref().is_some_and(asked) {
        let largest_buffer = device.limits().max_buffer_size;
        state.bypass_change_detection().requested = Some((cake.clone(), showing.clone()));
        worker.0.build_scene(SceneRequest { cake, showing, largest_buffer });
    }
}
