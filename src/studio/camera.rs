//! Bevy's camera and light transforms for a pose: pictures and window place theirs alike.

use bevy::{
    camera::ScalingMode,
    light::{CascadeShadowConfig, CascadeShadowConfigBuilder},
    prelude::*,
};
use glam::DVec3;

use super::{Lens, Pose, convert, framing};

/// The transform of a directional light that shines from `towards` (z up).
pub fn shining_from(towards: DVec3) -> Transform {
    let up = if towards.z.abs() > 0.99 { Vec3::Z } else { Vec3::Y };
    Transform::default().looking_to(-convert::direction(towards), up)
}

/// The camera's transform for a pose.
pub fn eye_transform(pose: &Pose) -> Transform {
    Transform::from_translation(convert::point(pose.eye))
        .looking_at(convert::point(pose.target), convert::direction(pose.up))
}

/// The camera's projection for a pose; `near` and `far` in scene units.
pub fn projection(pose: &Pose, near: f32, far: f32) -> Projection {
    match pose.lens {
        Lens::Perspective => Projection::from(PerspectiveProjection {
            fov: framing::FIELD_OF_VIEW.to_radians() as f32,
            near,
            far,
            ..default()
        }),
        Lens::Orthographic => Projection::from(OrthographicProjection {
            near,
            far,
            scaling_mode: ScalingMode::FixedVertical { viewport_height: convert::length(pose.height) },
            ..OrthographicProjection::default_3d()
        }),
    }
}

/// The near and far plane, scene units, that hold a scene of this `radius` whose middle is at this
/// `distance` from the eye, mm. The ground goes on beyond.
pub fn depth_range(distance: f64, radius: f64) -> (f32, f32) {
    let near = (distance - 1.2 * radius).max(distance * 0.02).max(1.0);
    let far = (distance + 2.5 * radius).max(near * 1.5);
    (convert::length(near), convert::length(far))
}

/// One shadow map over all that lies between the near and the far plane.
pub fn shadows_within((near, far): (f32, f32)) -> CascadeShadowConfig {
    let span = CascadeShadowConfigBuilder {
        num_cascades: 1,
        minimum_distance: near,
        maximum_distance: far,
        ..default()
    };
    span.build()
}
