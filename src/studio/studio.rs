//! Draws pictures with no window, no display and, if need be, no graphics card.
//!
//! The studio runs Bevy's update loop itself. It does not count frames: it goes on until every mesh,
//! material and pipeline that the scene needs is there and an update asks for no new one.

use std::{
    sync::{
        Arc,
        mpsc::{Receiver, channel},
    },
    time::{Duration, Instant},
};

use bevy::{
    app::{AppLabel, PluginsState, SubApps},
    asset::RenderAssetUsages,
    camera::{RenderTarget, SubCameraView, Viewport},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    image::Image,
    light::DirectionalLightShadowMap,
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
    Pose, Scene, ViewerError,
    accumulation::Accumulator,
    cake_material::{self, CakeMaterialPlugin},
    camera, gpu, lamps, plugins,
    quality::Quality,
    simplify::Simplified,
    soft_light::Fineness,
    spawn::{self, PreparedScene, SceneAssets, SceneStyle},
    still_light::StillLight,
};
use formats::model::Rgb;
use geom::{
    Cancel,
    progress::{NoProgress, Progress},
};

/// How long a scene may take to become ready, and one frame to be drawn.
const TIMEOUT: Duration = Duration::from_secs(120);

/// One picture to draw, without title or legend.
#[derive(Debug, Clone, Copy)]
pub struct Shot<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// How the scene is drawn.
    pub scene_style: SceneStyle,
    /// From where.
    pub vantage: Vantage,
    /// How finely soft light is worked out; without it the sky is even, as in the window.
    pub fineness: Option<Fineness>,
}

/// From where a scene is drawn, and with how many renders.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vantage {
    /// Where the eye is.
    pub pose: Pose,
    /// Bearing of the eye, degrees: the lamp turns with it.
    pub bearing: f64,
    /// Width and height, pixels.
    pub size: (u32, u32),
    /// The colour behind everything; `None` where nothing is.
    pub behind: Option<Rgb>,
    /// How many renders are averaged.
    pub samples: u32,
    /// Radius of the eye's opening, mm: what lies before and behind the target is out of focus by it.
    pub opening: f64,
}

impl Shot<'_> {
    /// The light of the scene as it stands.
    fn still_light(&self) -> Option<StillLight> {
        let (lamp, floor) = (lamps::lamp_direction(self.vantage.bearing), self.scene_style.floor);
        self.fineness.map(|fineness| StillLight { lamp, floor, fineness })
    }
}

/// A Bevy app without a window, kept open for any number of pictures.
pub struct Studio {
    apps: SubApps,
    pub(super) camera: Entity,
    pub(super) lamp: Entity,
    progress: Arc<dyn Progress + Send>,
}

/// A scene that stands in the studio.
pub(super) struct Standing {
    /// What has to be on the graphics card before it can be drawn.
    assets: SceneAssets,
    /// Its middle, and half its diagonal, mm.
    extent: (DVec3, f64),
}

/// The first error of the renderer, if any.
#[derive(Resource, Default)]
struct RenderError(Option<String>);

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
    /// takes if that is less. A piece that needs more is simplified.
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
            plugins::needed()
                .set(render)
                .set(no_window)
                .disable::<WinitPlugin>()
                .disable::<PipelinedRenderingPlugin>(),
        );
        app.add_plugins(CakeMaterialPlugin)
            .insert_resource(DirectionalLightShadowMap { size: Quality::of_pictures().shadow_texels })
            .insert_resource(GlobalAmbientLight { brightness: 0.0, ..default() })
            .insert_resource(RenderErrorHandler(|error, main, _| {
                main.insert_resource(RenderError(Some(error.description.clone())));
                RenderErrorPolicy::StopRendering
            }))
            .init_resource::<RenderError>();
        while app.plugins_state() == PluginsState::Adding {
            tick_global_task_pools_on_main_thread();
        }
        app.finish();
        app.cleanup();
        let (camera, lamp) = spawn_camera_and_lamp(app.world_mut());
        Ok(Self { apps: std::mem::take(app.sub_apps_mut()), camera, lamp, progress: Arc::new(NoProgress) })
    }

    /// Tells `progress` of each render from now on.
    pub fn tell(&mut self, progress: Arc<dyn Progress + Send>) {
        self.progress = progress;
    }

    /// Draws one picture: straight, not premultiplied, colours in sRGB. Also says what had to be simplified
    /// for the card.
    ///
    /// # Errors
    /// [`ViewerError::Driver`] when the driver fails, [`ViewerError::Slow`] when the scene does not
    /// become ready.
    pub fn draw(&mut self, shot: &Shot<'_>) -> Result<(image::RgbaImage, Simplified), ViewerError> {
        self.check_size(shot.vantage.size)?;
        let limit = self.largest_buffer();
        let still = shot.still_light();
        let prepared = PreparedScene::new(shot.scene.clone(), limit, still.as_ref(), &Cancel::new())?;
        let simplified = prepared.simplified;
        let standing = self.stand(prepared, &shot.scene_style);
        let image = self.take(&standing, &shot.vantage, &Cancel::new(), |_| {})?;
        Ok((image, simplified))
    }

    /// Puts a scene in the place of the one that stands there.
    pub(super) fn stand(&mut self, prepared: PreparedScene, scene_style: &SceneStyle) -> Standing {
        let (scene, assets) = spawn::spawn_scene(self.world(), prepared, scene_style);
        let (lo, hi) = scene.bounds().unwrap_or((DVec3::splat(-100.0), DVec3::splat(100.0)));
        Standing { assets, extent: ((lo + hi) / 2.0, (hi - lo).length() / 2.0) }
    }

    /// Draws the scene that stands there: straight, not premultiplied, colours in sRGB. `shown` is given the mean of the
    /// renders so far after each.
    ///
    /// # Errors
    /// [`ViewerError::Driver`] when the driver fails, [`ViewerError::Slow`] when the scene does not become ready,
    /// [`ViewerError::Cancelled`] when asked to stop.
    pub(super) fn take(
        &mut self,
        standing: &Standing,
        vantage: &Vantage,
        cancel: &Cancel,
        mut shown: impl FnMut(&Accumulator),
    ) -> Result<image::RgbaImage, ViewerError> {
        self.check_size(vantage.size)?;
        let target = self.new_target(vantage.size);
        self.aim(vantage, standing.extent, target.clone());
        self.wait_until_ready(&standing.assets, cancel)?;
        let (sending, arriving) = channel();
        let mut sum = Accumulator::new(vantage.size);
        self.progress.start("drawing", vantage.samples.into());
        for (done, sample) in lamps::samples(vantage.samples, vantage.bearing).into_iter().enumerate() {
            cancel.check()?;
            self.progress.step(done as u64);
            self.set_sample(vantage, &sample);
            let sender = sending.clone();
            self.world().spawn(Screenshot::image(target.clone())).observe(
                move |captured: On<ScreenshotCaptured>| {
                    // Drawing may have ended before; then nobody is waiting for the image.
                    let _ = sender.send(captured.image.clone());
                },
            );
            self.update()?;
            if add_arrived(&arriving, &mut sum) {
                shown(&sum);
            }
        }
        self.drain(&arriving, &mut sum, vantage.samples)?;
        self.progress.finish();
        Ok(sum.mean())
    }

    /// The card may take less than every picture needs.
    fn check_size(&self, (width, height): (u32, u32)) -> Result<(), ViewerError> {
        let most = self.apps.main.world().resource::<RenderDevice>().limits().max_texture_dimension_2d;
        if width.max(height) <= most {
            return Ok(());
        }
        let fix = format!("this graphics driver draws up to {most} pixels a side");
        Err(ViewerError::Option { what: "size", given: format!("{width}x{height}"), fix })
    }

    /// The largest buffer that the card takes, bytes.
    fn largest_buffer(&self) -> u64 {
        self.apps.main.world().resource::<RenderDevice>().limits().max_buffer_size
    }

    /// Puts up the scene of a shot, aims at it and waits until it can be drawn as often as is wished.
    pub(super) fn set_up(&mut self, shot: &Shot<'_>) -> Result<(), ViewerError> {
        let prepared = PreparedScene::new(shot.scene.clone(), self.largest_buffer(), None, &Cancel::new())?;
        let target = self.new_target(shot.vantage.size);
        let standing = self.stand(prepared, &shot.scene_style);
        self.aim(&shot.vantage, standing.extent, target);
        self.open_viewport(shot.vantage.size);
        self.wait_until_ready(&standing.assets, &Cancel::new())
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

    /// Points camera and shadows at the scene. Until everything is ready only 8 × 8 pixels are drawn.
    fn aim(&mut self, vantage: &Vantage, (middle, radius): (DVec3, f64), target: Handle<Image>) {
        let (near, far) = camera::depth_range((vantage.pose.eye - middle).length(), radius);
        let clear = vantage.behind.map_or(Color::NONE, cake_material::colour_of);
        let entity = self.camera;
        let mut camera = self.world().entity_mut(entity);
        camera.insert((
            RenderTarget::from(target),
            Camera {
                clear_color: ClearColorConfig::Custom(clear),
                viewport: Some(Viewport { physical_size: UVec2::splat(8), ..default() }),
                ..default()
            },
            camera::eye_transform(&vantage.pose),
            camera::projection(&vantage.pose, near, far),
        ));
        let lamp = self.lamp;
        self.world().entity_mut(lamp).insert(camera::shadows_within((near, far)));
    }

    /// Draws all of the picture, and no more than once.
    fn open_viewport(&mut self, (width, height): (u32, u32)) {
        let entity = self.camera;
        let mut camera = self.world().entity_mut(entity);
        let mut camera = camera.get_mut::<Camera>().expect("the camera is a camera");
        let whole = UVec2::new(width, height);
        camera.viewport = Some(Viewport { physical_size: whole, ..default() });
    }

    fn set_sample(&mut self, vantage: &Vantage, sample: &lamps::LightSample) {
        let (camera, lamp) = (self.camera, self.lamp);
        let world = self.world();
        let mut lamp = world.entity_mut(lamp);
        lamp.insert(camera::shining_from(sample.lamp));
        let mut light = lamp.get_mut::<DirectionalLight>().expect("a lamp gives light");
        light.color = lamps::colour(sample);
        world
            .entity_mut(camera)
            .insert(camera::eye_transform(&vantage.pose.moved(sample.eye, vantage.opening)));
        let size = UVec2::from(vantage.size);
        let mut camera = world.entity_mut(camera);
        let mut camera = camera.get_mut::<Camera>().expect("the camera is a camera");
        camera.viewport = None;
        camera.sub_camera_view = Some(SubCameraView {
            full_size: size,
            offset: Vec2::new(sample.shift.0 as f32, sample.shift.1 as f32),
            size,
        });
    }

    /// Updates until everything that the scene needs is on the graphics card and an update asks for
    /// no pipeline that was not there before it.
    fn wait_until_ready(&mut self, assets: &SceneAssets, cancel: &Cancel) -> Result<(), ViewerError> {
        let start = Instant::now();
        let mut before = usize::MAX;
        loop {
            cancel.check()?;
            self.update()?;
            let (now, waiting) = self.readiness(assets)?;
            if waiting.is_empty() && now == before {
                return Ok(());
            }
            if start.elapsed() > TIMEOUT {
                return Err(ViewerError::Slow { seconds: TIMEOUT.as_secs(), waiting });
            }
            before = now;
        }
    }

    /// How many pipelines there are, and what is still missing.
    fn readiness(&self, assets: &SceneAssets) -> Result<(usize, String), ViewerError> {
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
        let wait = PollType::Wait { submission_index: None, timeout: Some(TIMEOUT) };
        device.poll(wait).map_err(|e| ViewerError::Driver(e.to_string()))?;
        match &world.resource::<RenderError>().0 {
            Some(error) => Err(ViewerError::Driver(error.clone())),
            None => Ok(()),
        }
    }

    /// Waits, with the camera off, for samples that are still on their way back from the card.
    fn drain(
        &mut self,
        arriving: &Receiver<Image>,
        sum: &mut Accumulator,
        samples: u32,
    ) -> Result<(), ViewerError> {
        let camera = self.camera;
        let start = Instant::now();
        while sum.samples() < samples {
            self.world().entity_mut(camera).get_mut::<Camera>().expect("the camera is a camera").is_active =
                false;
            self.update()?;
            add_arrived(arriving, sum);
            if start.elapsed() > TIMEOUT {
                let waiting = format!("{} of {samples} samples are back", sum.samples());
                return Err(ViewerError::Slow { seconds: TIMEOUT.as_secs(), waiting });
            }
        }
        Ok(())
    }
}

/// Adds the samples that are back from the card; whether there was any.
fn add_arrived(arriving: &Receiver<Image>, sum: &mut Accumulator) -> bool {
    let before = sum.samples();
    for image in arriving.try_iter() {
        sum.add(image.data.as_deref().unwrap_or_default());
    }
    sum.samples() > before
}

/// Shaders load in the background; a pipeline that waits for one is not broken.
fn is_still_loading(error: &bevy::shader::ShaderCacheError) -> bool {
    use bevy::shader::ShaderCacheError as E;
    matches!(error, E::ShaderNotLoaded(_) | E::ShaderImportNotYetAvailable)
}

/// Spawns camera and lamp.
fn spawn_camera_and_lamp(world: &mut World) -> (Entity, Entity) {
    let Quality { edges, shadows, .. } = Quality::of_pictures();
    let settings = (lamps::exposure(), Tonemapping::None, DebandDither::Disabled, edges, shadows);
    let camera = world.spawn((Camera3d::default(), settings)).id();
    let lamp = world.spawn((lamps::lamp(), Transform::default())).id();
    (camera, lamp)
}

/// The transforms of camera and lamp for a vantage.
pub(super) fn transforms(vantage: &Vantage) -> (Transform, Transform) {
    (camera::eye_transform(&vantage.pose), camera::shining_from(lamps::lamp_direction(vantage.bearing)))
}
