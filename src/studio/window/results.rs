//! Requests to the worker, and what becomes of its results.

use std::{sync::Arc, time::Instant};

use bevy::{
    prelude::*,
    render::renderer::RenderDevice,
    window::{PrimaryWindow, RequestRedraw},
    winit::{EventLoopProxyWrapper, WinitUserEvent},
};
use glam::DVec3;

use super::{
    editor::Editor,
    motion_quality::SceneTriangles,
    orbit::Eye,
    source::LoadedCake,
    state::{ViewSettings, Viewport, WindowState},
    still_picture::StillPicture,
    worker::{SceneRequest, WorkResult, Worker},
};
use crate::{
    Showing, View,
    cake_material::Ground,
    scale::DepthScale,
    spawn::{self, PreparedScene, SceneStyle},
    still_light::GROUND_BELOW,
};

/// The worker, as long as the window is open.
#[derive(Resource)]
pub struct WindowWorker(pub Worker);

/// Lets the worker's results end the window's sleep.
pub fn wake_on_results(
    worker: Res<WindowWorker>,
    editor: Res<Editor>,
    still: Option<Res<StillPicture>>,
    proxy: Res<EventLoopProxyWrapper>,
) {
    let wake = || {
        let proxy = (**proxy).clone();
        move || {
            // The window may be closing; then there is no event loop to wake.
            let _ = proxy.send_event(WinitUserEvent::WakeUp);
        }
    };
    worker.0.on_result(wake());
    editor.on_change(wake());
    if let Some(still) = still {
        still.on_drawn(wake());
    }
}

/// Takes over what the worker has ready.
pub fn take_results(world: &mut World) {
    for result in world.resource::<WindowWorker>().0.take_results() {
        if matches!(result, WorkResult::Scene(..)) {
            world.resource_mut::<WindowState>().bypass_change_detection().asked_at = None;
        }
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
        floor: lowest - GROUND_BELOW,
    };
    if let Some(mut still) = world.get_resource_mut::<StillPicture>() {
        still.bypass_change_detection().set_scene(&prepared, scene_style);
    }
    let (simplified, is_lit) = (prepared.simplified, prepared.is_lit());
    let (scene, _) = spawn::spawn_scene(world, prepared, &scene_style);
    let mut state = world.resource_mut::<WindowState>();
    let first = state.points.is_empty();
    let before = (state.middle, state.radius);
    state.set_scene(cake, &scene, simplified);
    state.is_lit = is_lit;
    /// A scene that is so much larger or elsewhere is fitted anew, as a share of its size.
    const OTHER: f64 = 0.03;
    let moved = (state.middle - before.0).length() + (state.radius - before.1).abs();
    let is_other_extent = moved > OTHER * state.radius;
    let (points, aspect) = (state.points.clone(), world.resource::<Viewport>().aspect());
    let mut eye = world.resource_mut::<Eye>();
    if first {
        eye.start_at(View::ThreeQuarter, &points, aspect);
    } else if is_other_extent {
        eye.fit_again(&points, aspect);
    }
}

/// Requests a new scene when the cake or the view settings changed.
pub fn request_scene(
    view_settings: Res<ViewSettings>,
    worker: Res<WindowWorker>,
    device: Res<RenderDevice>,
    mut state: ResMut<WindowState>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let Some(cake) = state.cake.clone() else { return };
    let showing = view_settings.showing.clone();
    let asked = |(of, what): &(Arc<LoadedCake>, Showing)| Arc::ptr_eq(of, &cake) && *what == showing;
    if !state.requested.as_ref().is_some_and(asked) {
        let largest_buffer = device.limits().max_buffer_size;
        let noted = state.bypass_change_detection();
        noted.requested = Some((cake.clone(), showing.clone()));
        noted.asked_at = Some(Instant::now());
        redraw.write(RequestRedraw);
        worker.0.build_scene(SceneRequest { cake, showing, largest_buffer, light_from: None });
    }
}
