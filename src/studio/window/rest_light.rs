//! The soft light of the picture, once nothing has changed for a while: then the window shows what a picture shows.

use std::{sync::Arc, time::Duration};

use bevy::{prelude::*, render::renderer::RenderDevice};
use bevy_egui::EguiContexts;

use super::{
    orbit::Eye, results::WindowWorker, source::LoadedCake, state::WindowState, worker::SceneRequest,
};
use crate::Showing;

/// Light is worked out once nothing has changed for so long.
const REST: Duration = Duration::from_millis(700);

/// An eye that has turned by less keeps its light, degrees.
const SAME_SIDE: f64 = 2.0;

/// What light was asked for last: of which cake, how shown, from which side.
#[derive(Resource, Default)]
pub struct AskedLight(Option<(Arc<LoadedCake>, Showing, f64)>);

impl AskedLight {
    /// Whether light for this is asked for already.
    fn is_for(&self, cake: &Arc<LoadedCake>, showing: &Showing, bearing: f64) -> bool {
        self.0.as_ref().is_some_and(|(of, what, from)| {
            let turned = (from - bearing + 180.0).rem_euclid(360.0) - 180.0;
            Arc::ptr_eq(of, cake) && what == showing && turned.abs() < SAME_SIDE
        })
    }
}

/// Asks for the light of what is shown, once it rests.
pub fn light_at_rest(
    time: Res<Time<Real>>,
    (eye, state): (Res<Eye>, Res<WindowState>),
    worker: Res<WindowWorker>,
    device: Res<RenderDevice>,
    mut contexts: EguiContexts,
    mut asked: ResMut<AskedLight>,
    mut still_since: Local<Duration>,
) {
    let Some((cake, showing)) = state.requested.clone() else { return };
    let bearing = eye.orbit.bearing;
    // A new scene comes without light, and one that has it is not asked for again.
    let is_new = state.is_changed() && !state.is_lit;
    if eye.is_changed() || is_new {
        *still_since = time.elapsed();
    }
    if state.pieces.is_empty() || (state.is_lit && asked.is_for(&cake, &showing, bearing)) {
        return;
    }
    let rested = time.elapsed() - *still_since;
    if rested < REST {
        if let Ok(ctx) = contexts.ctx_mut() {
            ctx.request_repaint_after(REST - rested + Duration::from_millis(10));
        }
        return;
    }
    if asked.is_for(&cake, &showing, bearing) && !is_new {
        return;
    }
    let largest_buffer = device.limits().max_buffer_size;
    asked.0 = Some((cake.clone(), showing.clone(), bearing));
    worker.0.build_scene(SceneRequest { cake, showing, largest_buffer, light_from: Some(bearing) });
}
