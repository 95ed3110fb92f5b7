//! Lower quality while the eye moves, full quality once it rests.

use std::time::Duration;

use bevy::{light::ShadowFilteringMethod, prelude::*, window::RequestRedraw};

use super::{Lamp, SceneCamera, orbit::Eye};
use crate::quality::Quality;

/// The quality at rest.
#[derive(Resource)]
pub struct QualityAtRest(pub Quality);

/// Triangles of the scene.
#[derive(Resource, Default)]
pub struct SceneTriangles(pub usize);

/// The eye rests once it has not moved for so long.
const REST: Duration = Duration::from_millis(150);

/// Sets the quality of the next frame by whether the eye moves.
pub fn adapt_quality(
    time: Res<Time<Real>>,
    eye: Res<Eye>,
    (at_rest, triangles): (Res<QualityAtRest>, Res<SceneTriangles>),
    mut camera: Single<(&mut Msaa, &mut ShadowFilteringMethod), With<SceneCamera>>,
    mut lamp: Single<&mut DirectionalLight, With<Lamp>>,
    mut still_since: Local<Duration>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if eye.is_changed() {
        *still_since = time.elapsed();
    }
    let rests = time.elapsed() - *still_since >= REST;
    let wanted = if rests { at_rest.0 } else { at_rest.0.in_motion(triangles.0) };
    if !rests && wanted != at_rest.0 {
        // Nothing else may cause the frame that is drawn at full quality.
        redraw.write(RequestRedraw);
    }
    let (edges, shadows) = &mut *camera;
    edges.set_if_neq(wanted.edges);
    if **shadows != wanted.shadows {
        **shadows = wanted.shadows;
        redraw.write(RequestRedraw);
    }
    if lamp.shadow_maps_enabled != wanted.lamp_casts {
        lamp.shadow_maps_enabled = wanted.lamp_casts;
        redraw.write(RequestRedraw);
    }
}
