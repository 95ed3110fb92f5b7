//! The window: the cake in the middle, figures and view settings at the left.
//!
//! Nothing is drawn unless something changed, and nothing slow happens here: loading the cake and building
//! the scene are the [`worker`]'s, on threads of its own.

mod cake_file;
mod editor;
mod figures;
mod hover;
mod input;
mod motion_quality;
mod orbit;
mod overlay;
mod panel;
mod parts;
mod placing;
mod problems;
mod redraw;
mod render_error;
mod rest_light;
mod results;
mod screen;
mod source;
mod state;
mod still_picture;
mod theme;
mod worker;

pub use cake_file::CakeFileSource;
pub use editor::WindowOptions;
pub use source::{CakeSource, Finding, LayerFigures, LoadError, LoadedCake};

use std::{sync::Arc, time::Duration};

use bevy::{
    camera::{CameraOutputMode, Viewport as CameraViewport, visibility::RenderLayers},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    light::DirectionalLightShadowMap,
    prelude::*,
    render::{
        RenderPlugin,
        error_handler::{RenderErrorHandler, RenderErrorPolicy},
        render_resource::BlendState,
        renderer::RenderAdapterInfo,
        settings::{RenderCreation, WgpuSettings},
    },
    window::{PrimaryWindow, WindowCloseRequested, WindowResolution},
    winit::{DisplayHandleWrapper, UpdateMode, WinitPlugin, WinitSettings},
};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass, PrimaryEguiContext, egui,
};

use panels::workshop::Tab;

use self::{
    editor::Editor,
    hover::PointerTarget,
    motion_quality::{QualityAtRest, SceneTriangles},
    orbit::Eye,
    render_error::{RenderErrorLog, catch_panic},
    results::WindowWorker,
    state::{ViewSettings, Viewport, WindowState},
    still_picture::StillPicture,
    theme::Theme,
    worker::Worker,
};
use super::{
    OffcutView, Stage, ViewerError,
    cake_material::{self, CakeMaterial, CakeMaterialPlugin},
    camera, gpu, lamps, plugins,
    quality::Quality,
    spawn,
};

/// The camera that looks at the cake.
#[derive(Component)]
pub struct SceneCamera;

/// The lamp; it keeps its place beside the eye.
#[derive(Component)]
struct Lamp;

/// Opens the window on the cake that `options` name, read from `world`, and returns when it is closed. `overview` makes
/// the first screen of a plan.
///
/// # Errors
/// [`ViewerError::NoScreen`] or [`ViewerError::NoDriver`] when there is nothing to open it on or to draw
/// with; [`ViewerError::Driver`] when the driver fails later.
pub fn view(
    world: Arc<dyn cakefile::world::World>,
    overview: fn(&plan::Plan) -> make::overview::Overview,
    options: &WindowOptions,
) -> Result<(), ViewerError> {
    let pantry = options.pantry.as_deref();
    let source = match &options.cake {
        Some(cake) => CakeFileSource::new(world.clone(), cake, pantry),
        None => CakeFileSource::without_cake(world.clone(), pantry),
    };
    let source = source.with_overview(overview).with_usual_pantry(options.folders.pantry.clone());
    let editor = Editor::new(source.clone(), options, world);
    // The cake is read while the renderer gets ready.
    let worker = Worker::start(Arc::new(source));
    let log = RenderErrorLog::default();
    match catch_panic(&log, || open_window(worker, editor, log.clone()).run()) {
        Some(AppExit::Success) => Ok(()),
        Some(AppExit::Error(_)) => Err(ViewerError::Driver(log.take())),
        // Window library and renderer both panic where they cannot start: find out which it was.
        None => {
            let reason = log.take();
            let refused = |driver| ViewerError::Refused { driver, reason: reason.clone() };
            Err(screen::missing(&reason).unwrap_or_else(|| gpu::describe().map_or_else(|e| e, refused)))
        }
    }
}

fn open_window(worker: Worker, editor: Editor, log: RenderErrorLog) -> App {
    let window = Window {
        title: "Crumbline".into(),
        resolution: WindowResolution::new(1280, 800),
        resize_constraints: WindowResizeConstraints { min_width: 720.0, min_height: 480.0, ..default() },
        ..default()
    };
    let mut app = App::new();
    app.add_plugins(
        plugins::needed()
            // What is not saved is asked about first.
            .set(WindowPlugin { primary_window: Some(window), close_when_requested: false, ..default() })
            // Where the system allows it, the window may be opened from any thread.
            .set(WinitPlugin { run_on_any_thread: true })
            .disable::<RenderPlugin>()
            .add_before::<RenderPlugin>(Renderer),
    )
    .insert_resource(WindowWorker(worker))
    .insert_resource(editor)
    .insert_resource(log)
    .add_plugins((EguiPlugin::default(), CakeMaterialPlugin, redraw::RedrawPlugin, ViewerPlugin));
    app
}

/// The renderer, once the display is known that it draws on.
struct Renderer;

impl Plugin for Renderer {
    fn build(&self, app: &mut App) {
        let display = app.world().get_resource::<DisplayHandleWrapper>().map(|display| display.0.clone());
        let render_creation = display.and_then(gpu::fallback).unwrap_or_else(|| {
            let backends = Some(wgpu::Backends::from_env().unwrap_or(wgpu::Backends::PRIMARY));
            RenderCreation::Automatic(Box::new(WgpuSettings { backends, ..default() }))
        });
        app.add_plugins(RenderPlugin { render_creation, ..default() });
    }
}

/// Everything that the window does.
struct ViewerPlugin;

impl Plugin for ViewerPlugin {
    fn build(&self, app: &mut App) {
        app.insert_resource(redraw_on_demand())
            .insert_resource(GlobalAmbientLight { brightness: 0.0, ..default() })
            .insert_resource(RenderErrorHandler(|error, main, _| {
                main.resource::<RenderErrorLog>().record(&error.description);
                main.write_message(AppExit::error());
                RenderErrorPolicy::StopRendering
            }))
            .init_resource::<ViewSettings>()
            .init_resource::<WindowState>()
            .init_resource::<Eye>()
            .init_resource::<Viewport>()
            .init_resource::<PointerTarget>()
            .init_resource::<SceneTriangles>()
            .init_resource::<rest_light::AskedLight>()
            .add_systems(
                Startup,
                ((still_picture::start, results::wake_on_results).chain(), spawn_camera_and_lights),
            )
            .add_systems(PreUpdate, (results::take_results, ask_to_close))
            .add_systems(
                Update,
                (
                    (input::read_pointer, input::read_keys, input::read_shortcuts, input::read_drops),
                    orbit::move_camera,
                    motion_quality::adapt_quality,
                    (
                        turn_lamp,
                        hover::find_target,
                        hover::select_clicked,
                        placing::drag_detail,
                        hover::highlight,
                    ),
                )
                    .chain(),
            )
            .add_systems(EguiPrimaryContextPass, draw_panels)
            .add_systems(
                PostUpdate,
                (
                    (
                        editor::send_text,
                        results::request_scene,
                        rest_light::light_at_rest,
                        still_picture::draw_at_rest,
                    )
                        .chain(),
                    apply_theme,
                    set_title,
                ),
            );
    }
}

/// Draws a frame when something happens, and otherwise sleeps.
fn redraw_on_demand() -> WinitSettings {
    WinitSettings {
        focused_mode: UpdateMode::reactive(Duration::from_secs(3600)),
        unfocused_mode: UpdateMode::reactive_low_power(Duration::from_secs(3600)),
    }
}

/// Spawns the two cameras, of the cake and of the panel, and the lamp.
fn spawn_camera_and_lights(
    mut commands: Commands,
    mut egui: ResMut<EguiGlobalSettings>,
    mut shadows: ResMut<DirectionalLightShadowMap>,
    driver: Res<RenderAdapterInfo>,
) {
    egui.auto_create_primary_context = false;
    let at_rest = Quality::of_window(driver.device_type);
    // The first frames are of the lower quality, so that the pipelines of both exist when the eye first moves.
    let quality = at_rest.in_motion(0);
    commands.insert_resource(QualityAtRest(at_rest));
    shadows.size = quality.shadow_texels;
    let settings =
        (Tonemapping::None, DebandDither::Disabled, quality.edges, quality.shadows, lamps::exposure());
    commands.spawn((SceneCamera, Camera3d::default(), settings));
    // Through OpenGL shadow maps come out wrong: better none than those.
    let has_shadows = driver.backend != wgpu::Backend::Gl;
    let lamp = DirectionalLight { shadow_maps_enabled: has_shadows, ..lamps::lamp() };
    commands.spawn((Lamp, lamp, Transform::default()));
    let over = Camera {
        order: 1,
        // egui's colours are premultiplied.
        output_mode: CameraOutputMode::Write {
            blend_state: Some(BlendState::PREMULTIPLIED_ALPHA_BLENDING),
            clear_color: ClearColorConfig::None,
        },
        clear_color: ClearColorConfig::Custom(Color::NONE),
        ..default()
    };
    commands.spawn((PrimaryEguiContext, Camera2d, RenderLayers::none(), over, Msaa::Off));
}

/// A picture that takes longer is said to be on its way.
const SLOW: Duration = Duration::from_millis(200);

/// How much larger letters are in a window of this height, points: on a large screen without a scale of its own they would
/// be too small to read.
fn letters_for(height: f32) -> f32 {
    /// Up to this height letters keep their size.
    const USUAL: f32 = 1080.0;
    (height / USUAL).clamp(1.0, 1.5)
}

/// What the picture shows when a panel is opened: what is changed there. `None` where it stays as it is.
fn stage_of(panel: Tab) -> Option<Stage> {
    match panel {
        Tab::Shape | Tab::Coats | Tab::Details => Some(Stage::Finished),
        Tab::Stack => Some(Stage::Carved),
        _ => None,
    }
}

#[expect(clippy::too_many_arguments, reason = "a system asks for what it needs")]
fn draw_panels(
    mut contexts: EguiContexts,
    window: Single<&Window, With<PrimaryWindow>>,
    state: Res<WindowState>,
    (target, pieces): (Res<PointerTarget>, Query<&spawn::PieceIndex>),
    still: Option<ResMut<StillPicture>>,
    mut editor: ResMut<Editor>,
    mut exit: MessageWriter<AppExit>,
    mut view_settings: ResMut<ViewSettings>,
    mut eye: ResMut<Eye>,
    mut viewport: ResMut<Viewport>,
    mut camera: Single<&mut Camera, With<SceneCamera>>,
    mut applied: Local<Option<Theme>>,
    mut panel_before: Local<Tab>,
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    if applied.is_none() {
        // New fonts are there from the next pass on.
        theme::set_fonts(&ctx);
        view_settings.theme.apply(&ctx);
        // The cut-away says most at a glance.
        let way = editor.bypass_change_detection().workshop().settings.offcut.parse();
        view_settings.showing.offcut = way.unwrap_or(OffcutView::CutAway);
        ctx.request_repaint();
        *applied = Some(view_settings.theme);
        return Ok(());
    }
    let mut new_settings = view_settings.clone();
    let root = egui::UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(ctx.viewport_rect());
    let mut root = egui::Ui::new(ctx.clone(), "window".into(), root);
    let mut new_eye = eye.clone();
    // A theme that was chosen by a key is remembered like one that was chosen in the panel.
    let by_key = *applied != Some(view_settings.theme);
    let editor = editor.bypass_change_detection();
    if by_key {
        editor.workshop().settings.dark = view_settings.theme == Theme::Dark;
    }
    let after = editor.show(&mut root, |ui| {
        panel::show(ui, &state, &mut new_settings, &mut new_eye, &viewport);
    });
    let panel_now = editor.workshop().tab();
    let before = std::mem::replace(&mut *panel_before, panel_now);
    if before != panel_now {
        new_eye.marked = new_eye.marked.filter(|_| after.look_at.is_some());
        if let Some(stage) = stage_of(panel_now) {
            new_settings.showing.stage = stage;
        }
        // Nothing has to be cut open anew while layers are dragged.
        if panel_now == Tab::Stack {
            new_settings.showing.offcut = OffcutView::Depth;
        } else if before == Tab::Stack {
            let way = editor.workshop().settings.offcut.parse();
            new_settings.showing.offcut = way.unwrap_or(OffcutView::CutAway);
        }
    } else if new_settings.showing.offcut != view_settings.showing.offcut {
        editor.workshop().remember_offcut(new_settings.showing.offcut.to_string());
    }
    let settings = &mut editor.workshop().settings;
    if new_settings.theme == view_settings.theme {
        new_settings.theme = if settings.dark { Theme::Dark } else { Theme::Light };
    } else {
        settings.dark = new_settings.theme == Theme::Dark;
    }
    ctx.set_zoom_factor(settings.letters * letters_for(window.height()));
    if let Some(place) = after.look_at {
        new_eye.look_at(place, state.middle, state.radius);
    }
    if after.quits {
        exit.write(AppExit::Success);
    }
    let mut area = ctx.viewport_rect();
    area.min += egui::vec2(after.layout.left, after.layout.top);
    if !after.layout.is_covered {
        let is_fine = !editor.workshop().settings.quick_picture;
        if let Some(mut still) = still.filter(|_| is_fine) {
            let highlighted = target.piece_in(&pieces);
            let still = still.bypass_change_detection();
            let subject = still.subject((&eye, &viewport), &view_settings, highlighted);
            if let Some(texture) = still.texture(&ctx, subject) {
                still_picture::show(&ctx, &viewport, texture);
            }
        }
        overlay::show(&ctx, area, &state, &new_settings, target.hovered.as_ref());
        // Most pictures are there before a word could be read.
        if let Some(waits) = state.asked_at.map(|at| at.elapsed()) {
            if waits >= SLOW {
                overlay::drawing(&ctx, area);
            } else {
                ctx.request_repaint_after(SLOW - waits);
            }
        }
        if let Some(place) = eye.marked {
            overlay::mark(&ctx, area, &eye.orbit.pose(eye.lens), place);
        }
        if let Some(asked) = editor.workshop().asks_for_place() {
            overlay::ask(&ctx, area, &asked);
        }
    }
    if *applied != Some(new_settings.theme) {
        new_settings.theme.apply(&ctx);
        *applied = Some(new_settings.theme);
    }
    view_settings.set_if_neq(new_settings);
    eye.set_if_neq(new_eye);
    let whole = UVec2::new(window.physical_width(), window.physical_height());
    let pixels = ctx.pixels_per_point();
    let corner = UVec2::new((after.layout.left * pixels) as u32, (after.layout.top * pixels) as u32);
    let next = Viewport {
        corner,
        size: whole.saturating_sub(corner).max(UVec2::splat(1)),
        scale: window.scale_factor(),
    };
    if viewport.set_if_neq(next) && whole.x > corner.x && whole.y > corner.y {
        let frame = CameraViewport { physical_position: next.corner, physical_size: next.size, ..default() };
        camera.viewport = Some(frame);
        eye.fit_again(&state.points, viewport.aspect());
    }
    Ok(())
}

/// What is not saved is asked about before the window closes.
fn ask_to_close(mut requests: MessageReader<WindowCloseRequested>, mut editor: ResMut<Editor>) {
    if requests.read().next().is_some() {
        editor.workshop().close();
    }
}

/// Keeps the lamp at the left of the eye, and its shadow map around the cake.
fn turn_lamp(
    eye: Res<Eye>,
    state: Res<WindowState>,
    mut lamp: Single<(&mut Transform, &mut bevy::light::CascadeShadowConfig), With<Lamp>>,
) {
    if !eye.is_changed() && !state.is_changed() {
        return;
    }
    *lamp.0 = camera::shining_from(lamps::lamp_direction(eye.orbit.bearing));
    let pose = eye.orbit.pose(eye.lens);
    let distance = (pose.eye - state.middle).length();
    *lamp.1 = camera::shadows_within(camera::depth_range(distance, state.radius));
}

/// Gives ground and background the colour of the theme.
fn apply_theme(
    view_settings: Res<ViewSettings>,
    ground: Query<&MeshMaterial3d<CakeMaterial>, With<spawn::GroundPlane>>,
    mut materials: ResMut<Assets<CakeMaterial>>,
    mut clear: ResMut<ClearColor>,
) {
    let colour = cake_material::colour_of(view_settings.theme.ground());
    if clear.0 == colour {
        return;
    }
    clear.0 = colour;
    for handle in &ground {
        if let Some(mut material) = materials.get_mut(&handle.0) {
            material.uniforms.colour = cake_material::linear(view_settings.theme.ground());
        }
    }
}

/// Names the window after the cake.
fn set_title(state: Res<WindowState>, mut window: Single<&mut Window, With<PrimaryWindow>>) {
    if state.is_changed()
        && let Some(cake) = &state.cake
    {
        let title = format!("{} – Crumbline", cake.model.name);
        if window.title != title {
            window.title = title;
        }
    }
}
