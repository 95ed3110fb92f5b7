//! How long frames take: the window's scene drawn from all round, without a window.

use std::time::{Duration, Instant};

use bevy::{light::DirectionalLightShadowMap, prelude::*, render::renderer::RenderAdapterInfo};

use super::{
    PictureOptions, Shot, Studio, View, ViewerError,
    picture::{behind, frame, legend, scene_style},
    quality::Quality,
    scene,
    studio::{Vantage, transforms},
};
use formats::model::Model;

/// Frames drawn before times are taken, so that every buffer and pipeline is there.
const WARM_UP: u32 = 20;

/// What one frame takes. The window draws a frame while the card still works on the one before, so that the
/// longer of the two is what it waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct FrameTime {
    /// From moving the eye until all is sent to the graphics card.
    pub engine: Duration,
    /// From there until the card has finished.
    pub card: Duration,
}

impl Studio {
    /// Moves the eye once round the cake in `frames` frames, drawn as the window draws in motion (one lamp, no
    /// multisampling, plain shadows), and returns the time of each. Title and legend are not drawn.
    ///
    /// # Errors
    /// [`ViewerError`], with what to change.
    pub fn frame_times(
        &mut self,
        model: &Model,
        options: &PictureOptions,
        frames: u32,
    ) -> Result<Vec<FrameTime>, ViewerError> {
        options.check()?;
        let scene = scene::build_scene(model, &options.showing)?;
        let legend = legend(model, &scene);
        let (start, elevation) = options.view.bearing_and_elevation();
        let shot_at = |bearing: f64| {
            let view = View::From { bearing, elevation };
            let options = PictureOptions { view, samples: 1, ..options.clone() };
            Shot {
                scene: &scene,
                scene_style: scene_style(&scene, &options),
                vantage: Vantage {
                    pose: frame(&scene, &options, &legend, &[]),
                    bearing,
                    size: options.size,
                    behind: behind(options.background),
                    samples: 1,
                    opening: 0.0,
                },
                fineness: None,
            }
        };
        let device = self.world().resource::<RenderAdapterInfo>().device_type;
        self.set_quality(Quality::of_window(device).in_motion(scene.triangles()));
        let times = self.orbit_times(start, frames, shot_at);
        self.set_quality(Quality::of_pictures());
        times
    }

    fn orbit_times<'a>(
        &mut self,
        start: f64,
        frames: u32,
        shot_at: impl Fn(f64) -> Shot<'a>,
    ) -> Result<Vec<FrameTime>, ViewerError> {
        // Fitting the view is no part of a frame.
        let around = (0..frames).map(|i| start + 360.0 * f64::from(i) / f64::from(frames));
        let shots: Vec<Shot<'_>> = around.map(shot_at).collect();
        let Some(first) = shots.first() else { return Ok(Vec::new()) };
        self.set_up(first)?;
        for _ in 0..WARM_UP {
            self.update()?;
        }
        let mut times = Vec::with_capacity(shots.len());
        for shot in &shots {
            let clock = Instant::now();
            self.move_to(shot);
            self.send_frame();
            let engine = clock.elapsed();
            self.finish_frame()?;
            times.push(FrameTime { engine, card: clock.elapsed() - engine });
        }
        Ok(times)
    }

    fn set_quality(&mut self, quality: Quality) {
        let (camera, lamp) = (self.camera, self.lamp);
        let world = self.world();
        if let Some(mut light) = world.get_mut::<DirectionalLight>(lamp) {
            light.shadow_maps_enabled = quality.lamp_casts;
        }
        world.resource_mut::<DirectionalLightShadowMap>().size = quality.shadow_texels;
        world.entity_mut(camera).insert((quality.edges, quality.shadows));
    }

    /// Moves eye and lamp.
    fn move_to(&mut self, shot: &Shot<'_>) {
        let (camera, lamp) = (self.camera, self.lamp);
        let (eye, towards) = transforms(&shot.vantage);
        let world = self.world();
        world.entity_mut(camera).insert(eye);
        world.entity_mut(lamp).insert(towards);
    }
}
