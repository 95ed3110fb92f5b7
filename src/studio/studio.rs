//! Draws pictures with no window, no display and, if need be, no graphics card.
//!
//! The studio pumps Bevy's update loop itself. It never counts frames: it goes on until every mesh,
//! material and pipeline that the stage needs is there and nothing new has been asked for.

use std::{
    sync::mpsc::{Receiver, Sender, channel},
    time::{Duration, Instant},
};

use bevy::{
    app::{AppLabel, PluginsState, SubApps},
    asset::RenderAssetUsages,
    camera::{RenderTarget, ScalingMode, SubCameraView, Viewport},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    image::Image,
    light::{CascadeShadowConfig, CascadeShadowConfigBuilder, DirectionalLightShadowMap},
    prelude::*,
    render::{
        RenderApp, RenderPlugin,
        erased_render_asset::ErasedRenderAssets,
        error_handler::{RenderErrorHandler, RenderErrorPolicy},
        mesh::RenderMesh,
        pipelined_rendering::PipelinedRenderingPlugin,
        render_asset::RenderAssets,
        render_resource::{
            CachedPipelineState, Extent3d, PipelineCache, PollType, TextureDimension, TextureFormat,
            TextureUsages,
        },
        renderer::RenderDevice,
        view::screenshot::{Screenshot, ScreenshotCaptured},
    },
    tasks::tick_global_task_pools_on_main_thread,
    window::ExitCondition,
    winit::WinitPlugin,
};
use glam::DVec3;

use super::{
    Ground, Lens, Pose, Staging, ViewerError, convert,
    exposure::Exposure as Sum,
    fit::Lightened,
    framing, gpu, lamps, lean,
    quality::Quality,
    scene::{self, Dressing, Prepared, StageAssets},
    skin::SkinPlugin,
};

/// How long a stage may take to become ready.
const PATIENCE: Duration = Duration::from_secs(120);

/// One picture to take, without title or legend.
#[derive(Debug, Clone, Copy)]
pub struct Shot<'a> {
    /// What stands on the stage.
    pub staging: &'a Staging,
    /// How it is dressed.
    pub dressing: Dressing,
    /// Where the eye stands.
    pub pose: Pose,
    /// Bearing of the eye, degrees: the lamp turns with it.
    pub bearing: f64,
    /// Width and height, pixels.
    pub size: (u32, u32),
    /// What lies behind.
    pub ground: Ground,
    /// How many times it is taken.
    pub takes: u32,
}

/// A Bevy app without a window, kept open for any number of pictures.
pub struct Studio {
    apps: SubApps,
    pub(super) camera: Entity,
    pub(super) lamp: Entity,
    pub(super) ceiling: Entity,
    arriving: Receiver<Image>,
    sending: Sender<Image>,
}

/// What the renderer complained about, if anything.
#[derive(Resource, Default)]
struct Complaint(Option<String>);

impl Studio {
    /// Opens the driver and sets up camera and lamps.
    ///
    /// # Errors
    /// [`ViewerError::NoDriver`] when there is nothing to draw with, [`ViewerError::Refused`] when what
    /// there is does not work.
    pub fn open() -> Result<Self, ViewerError> {
        Self::open_within(u64::MAX)
    }

    /// [`Studio::open`], with buffers on the card of at most `largest_buffer` bytes, or of what the card
    /// takes if that is less. A piece that needs more is drawn lighter.
    ///
    /// # Errors
    /// As [`Studio::open`].
    pub fn open_within(largest_buffer: u64) -> Result<Self, ViewerError> {
        let render = RenderPlugin {
            render_creation: gpu::open(largest_buffer)?,
            // Many at once; the studio waits until all are there.
            synchronous_pipeline_compilation: false,
            ..default()
        };
        let no_window =
            WindowPlugin { primary_window: None, exit_condition: ExitCondition::DontExit, ..default() };
        let mut app = App::new();
        app.add_plugins(
            lean::plugins()
                .set(render)
                .set(no_window)
                .disable::<WinitPlugin>()
                .disable::<PipelinedRenderingPlugin>(),
        );
        app.add_plugins(SkinPlugin)
            .insert_resource(DirectionalLightShadowMap { size: Quality::of_pictures().shadow_texels })
            .insert_resource(GlobalAmbientLight { brightness: 0.0, ..default() })
            .insert_resource(RenderErrorHandler(|error, main, _| {
                main.insert_resource(Complaint(Some(error.description.clone())));
                RenderErrorPolicy::StopRendering
            }))
            .init_resource::<Complaint>();
        while app.plugins_state() == PluginsState::Adding {
            tick_global_task_pools_on_main_thread();
        }
        app.finish();
        app.cleanup();
        let (camera, lamp, ceiling) = furnish(app.world_mut());
        let (sending, arriving) = channel();
        Ok(Self { apps: std::mem::take(app.sub_apps_mut()), camera, lamp, ceiling, arriving, sending })
    }

    /// Takes one picture: straight, not premultiplied, colours in sRGB. Also says what was too big for
    /// the card.
    ///
    /// # Errors
    /// [`ViewerError::Driver`] when the driver gives up, [`ViewerError::Slow`] when the stage does not
    /// become ready.
    pub fn take(&mut self, shot: &Shot<'_>) -> Result<(image::RgbaImage, Lightened), ViewerError> {
        self.check_size(shot.size)?;
        let limit = self.largest_buffer();
        let prepared = Prepared::of(shot.staging.clone(), limit);
        let lightened = prepared.lightened;
        let target = self.new_target(shot.size);
        let (_, assets) = scene::set_stage(self.world(), prepared, &shot.dressing);
        self.aim(shot, target.clone());
        self.wait_until_ready(&assets)?;
        let mut sum = Sum::new(shot.size);
        for take in lamps::takes(shot.takes, shot.bearing) {
            self.set_take(shot, &take);
            let sender = self.sending.clone();
            self.world().spawn(Screenshot::image(target.clone())).observe(
                move |captured: On<ScreenshotCaptured>| {
                    // The studio may have given up on this picture; then nobody is waiting for it.
                    let _ = sender.send(captured.image.clone());
                },
            );
            self.update()?;
            self.collect(&mut sum);
        }
        self.drain(&mut sum, shot.takes)?;
        Ok((sum.develop(), lightened))
    }

    /// The card may take less than every picture needs.
    fn check_size(&self, (width, height): (u32, u32)) -> Result<(), ViewerError> {
        let most = self.apps.main.world().resource::<RenderDevice>().limits().max_texture_dimension_2d;
        if width.max(height) <= most {
            return Ok(());
        }
        let mend = format!("this graphics driver draws up to {most} pixels a side");
        Err(ViewerError::Option { what: "size", given: format!("{width}x{height}"), mend })
    }

    /// The largest buffer that the card takes, bytes.
    fn largest_buffer(&self) -> u64 {
        self.apps.main.world().resource::<RenderDevice>().limits().max_buffer_size
    }

    /// Sets the stage for a shot; gives what to draw on and what has to arrive on the card first.
    pub(super) fn set_up(&mut self, shot: &Shot<'_>) -> (Handle<Image>, StageAssets) {
        let prepared = Prepared::of(shot.staging.clone(), self.largest_buffer());
        let target = self.new_target(shot.size);
        let (_, assets) = scene::set_stage(self.world(), prepared, &shot.dressing);
        (target, assets)
    }

    pub(super) fn world(&mut self) -> &mut World {
        self.apps.main.world_mut()
    }

    fn new_target(&mut self, (width, height): (u32, u32)) -> Handle<Image> {
        let mut image = Image::new_uninit(
            Extent3d { width, height, depth_or_array_layers: 1 },
            TextureDimension::D2,
            TextureFormat::Rgba8UnormSrgb,
            RenderAssetUsages::RENDER_WORLD,
        );
        image.texture_descriptor.usage |= TextureUsages::RENDER_ATTACHMENT;
        self.world().resource_mut::<Assets<Image>>().add(image)
    }

    /// Points camera and shadows at the stage. Until the stage is ready only a corner is drawn.
    pub(super) fn aim(&mut self, shot: &Shot<'_>, target: Handle<Image>) {
        let (distance, radius) = stage_seen(shot);
        let (near, far) = depth_range(distance, radius);
        let clear = match shot.ground {
            Ground::Plain => super::skin::colour_of(scene::GROUND),
            Ground::Transparent => Color::NONE,
        };
        let entity = self.camera;
        let mut camera = self.world().entity_mut(entity);
        camera.insert((
            RenderTarget::from(target),
            Camera {
                clear_color: ClearColorConfig::Custom(clear),
                viewport: Some(Viewport { physical_size: UVec2::splat(8), ..default() }),
                ..default()
            },
            eye_transform(&shot.pose),
            projection(&shot.pose, near, far),
        ));
        for lamp in [self.lamp, self.ceiling] {
            self.world().entity_mut(lamp).insert(shadows_within((near, far)));
        }
    }

    /// Draws all of the picture, and no more than once.
    pub(super) fn open_viewport(&mut self, (width, height): (u32, u32)) {
        let entity = self.camera;
        let mut camera = self.world().entity_mut(entity);
        let mut camera = camera.get_mut::<Camera>().expect("the camera is a camera");
        let whole = UVec2::new(width, height);
        camera.viewport = Some(Viewport { physical_size: whole, ..default() });
    }

    fn set_take(&mut self, shot: &Shot<'_>, take: &lamps::Take) {
        let (camera, lamp, ceiling) = (self.camera, self.lamp, self.ceiling);
        let world = self.world();
        for (entity, towards, is_ceiling) in [(lamp, take.lamp, false), (ceiling, take.ceiling, true)] {
            let mut lamp = world.entity_mut(entity);
            lamp.insert(shining_from(towards));
            let mut light = lamp.get_mut::<DirectionalLight>().expect("a lamp gives light");
            light.color = lamps::colour(take, is_ceiling);
        }
        let size = UVec2::from(shot.size);
        let mut camera = world.entity_mut(camera);
        let mut camera = camera.get_mut::<Camera>().expect("the camera is a camera");
        camera.viewport = None;
        camera.sub_camera_view = Some(SubCameraView {
            full_size: size,
            offset: Vec2::new(take.shift.0 as f32, take.shift.1 as f32),
            size,
        });
    }

    /// Updates until everything that the stage needs is on the graphics card and an update asks for
    /// no pipeline that was not there before it.
    pub(super) fn wait_until_ready(&mut self, assets: &StageAssets) -> Result<(), ViewerError> {
        let start = Instant::now();
        let mut before = usize::MAX;
        loop {
            self.update()?;
            let (now, waiting) = self.readiness(assets)?;
            if waiting.is_empty() && now == before {
                return Ok(());
            }
            if start.elapsed() > PATIENCE {
                return Err(ViewerError::Slow { seconds: PATIENCE.as_secs(), waiting });
            }
            before = now;
        }
    }

    /// How many pipelines there are, and what is still missing.
    fn readiness(&self, assets: &StageAssets) -> Result<(usize, String), ViewerError> {
        let render = self.apps.sub_apps[&RenderApp.intern()].world();
        let pipelines = render.resource::<PipelineCache>();
        for pipeline in pipelines.pipelines() {
            if let CachedPipelineState::Err(error) = &pipeline.state
                && !is_still_loading(error)
            {
                return Err(ViewerError::Driver(error.to_string()));
            }
        }
        let meshes = render.resource::<RenderAssets<RenderMesh>>();
        let materials = render.resource::<ErasedRenderAssets<bevy::pbr::PreparedMaterial>>();
        let missing = [
            ("meshes", assets.meshes.iter().filter(|id| meshes.get(**id).is_none()).count()),
            ("materials", assets.materials.iter().filter(|id| materials.get(**id).is_none()).count()),
            ("pipelines", pipelines.waiting_pipelines().count()),
        ];
        let missing = missing.iter().filter(|(_, count)| *count > 0);
        let waiting: Vec<_> = missing.map(|(what, count)| format!("{count} {what} missing")).collect();
        Ok((pipelines.pipelines().count(), waiting.join(", ")))
    }

    /// One update of everything, and the graphics card has finished it.
    pub(super) fn update(&mut self) -> Result<(), ViewerError> {
        self.send_frame();
        self.finish_frame()
    }

    /// One update of everything; the graphics card may still be at work.
    pub(super) fn send_frame(&mut self) {
        self.apps.update();
    }

    /// Waits until the graphics card has finished.
    pub(super) fn finish_frame(&mut self) -> Result<(), ViewerError> {
        let world = self.apps.main.world();
        let device = world.resource::<RenderDevice>().wgpu_device();
        let wait = PollType::Wait { submission_index: None, timeout: Some(PATIENCE) };
        device.poll(wait).map_err(|e| ViewerError::Driver(e.to_string()))?;
        match &world.resource::<Complaint>().0 {
            Some(complaint) => Err(ViewerError::Driver(complaint.clone())),
            None => Ok(()),
        }
    }

    fn collect(&mut self, sum: &mut Sum) {
        for image in self.arriving.try_iter() {
            sum.add(image.data.as_deref().unwrap_or_default());
        }
    }

    /// Waits, with the camera off, for takes that are still on their way back from the card.
    fn drain(&mut self, sum: &mut Sum, takes: u32) -> Result<(), ViewerError> {
        let camera = self.camera;
        let start = Instant::now();
        while sum.takes() < takes {
            self.world().entity_mut(camera).get_mut::<Camera>().expect("the camera is a camera").is_active =
                false;
            self.update()?;
            self.collect(sum);
            if start.elapsed() > PATIENCE {
                let waiting = format!("{} of {takes} takes are back", sum.takes());
                return Err(ViewerError::Slow { seconds: PATIENCE.as_secs(), waiting });
            }
        }
        Ok(())
    }
}

/// Shaders load in the background; a pipeline that waits for one is not broken.
fn is_still_loading(error: &bevy::shader::ShaderCacheError) -> bool {
    use bevy::shader::ShaderCacheError as E;
    matches!(error, E::ShaderNotLoaded(_) | E::ShaderImportNotYetAvailable)
}

/// Camera, lamp and ceiling.
fn furnish(world: &mut World) -> (Entity, Entity, Entity) {
    let Quality { edges, shadows, .. } = Quality::of_pictures();
    let settings = (lamps::exposure(), Tonemapping::None, DebandDither::Disabled, edges, shadows);
    let camera = world.spawn((Camera3d::default(), settings)).id();
    let mut lamp = |light| world.spawn((light, Transform::default())).id();
    let (lamp, ceiling) = (lamp(lamps::lamp()), lamp(lamps::ceiling()));
    (camera, lamp, ceiling)
}

/// Where eye and lamp stand for a shot.
pub(super) fn shot_camera(shot: &Shot<'_>) -> (Transform, Transform) {
    (eye_transform(&shot.pose), shining_from(lamps::lamp_direction(shot.bearing)))
}

/// A transform whose light comes from `towards` (z up).
pub fn shining_from(towards: DVec3) -> Transform {
    let up = if towards.z.abs() > 0.99 { Vec3::Z } else { Vec3::Y };
    Transform::default().looking_to(-convert::direction(towards), up)
}

/// Where the eye stands, as a transform.
pub fn eye_transform(pose: &Pose) -> Transform {
    Transform::from_translation(convert::place(pose.eye))
        .looking_at(convert::place(pose.target), convert::direction(pose.up))
}

/// The projection of a pose; `near` and `far` in scene units.
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

/// How near and far from an eye at this `distance` (mm) from the middle of the stage anything stands
/// that matters, scene units. The ground goes on beyond.
pub fn depth_range(distance: f64, radius: f64) -> (f32, f32) {
    let near = (distance - 1.2 * radius).max(distance * 0.02).max(1.0);
    let far = (distance + 2.5 * radius).max(near * 1.5);
    (convert::length(near), convert::length(far))
}

/// One shadow map over all that lies between near and far.
pub fn shadows_within((near, far): (f32, f32)) -> CascadeShadowConfig {
    let span = CascadeShadowConfigBuilder {
        num_cascades: 1,
        minimum_distance: near,
        maximum_distance: far,
        ..default()
    };
    span.build()
}

/// How far the eye stands from the middle of the stage, and how large the stage is, mm.
fn stage_seen(shot: &Shot<'_>) -> (f64, f64) {
    let (lo, hi) = shot.staging.bounds().unwrap_or((DVec3::splat(-100.0), DVec3::splat(100.0)));
    ((shot.pose.eye - (lo + hi) / 2.0).length(), (hi - lo).length() / 2.0)
}
