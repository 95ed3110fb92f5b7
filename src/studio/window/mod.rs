//! The window: the cake in the middle, figures and wishes at the left.
//!
//! Nothing is drawn unless something changed, and nothing slow happens here: reading the cake and
//! preparing the stage are the [`kitchen`]'s work, on threads of its own.

mod cake_file;
mod complaint;
mod desk;
mod figures;
mod finish;
mod hands;
mod hover;
mod kitchen;
mod orbit;
mod overlay;
mod panel;
mod parts;
mod screen;
mod settling;
mod source;
mod theme;

pub use cake_file::CakeFileSource;
pub use source::{CakeSource, Finding, LayerFigures, LoadedCake};

use std::{sync::Arc, time::Duration};

use bevy::{
    camera::{CameraOutputMode, Viewport as CameraViewport, visibility::RenderLayers},
    core_pipeline::tonemapping::{DebandDither, Tonemapping},
    light::DirectionalLightShadowMap,
    prelude::*,
    render::{
        error_handler::{RenderErrorHandler, RenderErrorPolicy},
        render_resource::BlendState,
        renderer::{RenderAdapterInfo, RenderDevice},
    },
    window::{PrimaryWindow, WindowResolution},
    winit::{EventLoopProxyWrapper, UpdateMode, WinitPlugin, WinitSettings, WinitUserEvent},
};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass, PrimaryEguiContext, egui,
};
use glam::DVec3;

use self::{
    complaint::{Complaint, caught},
    desk::{Desk, Viewport, Wishes},
    finish::{AtRest, OnStage},
    hover::UnderPointer,
    kitchen::{Kitchen, Served, StageOrder},
    orbit::Eye,
    theme::Theme,
};
use super::{
    Lens, ViewerError, gpu, lamps, lean,
    quality::Quality,
    scale::DepthScale,
    scene::{self, Dressing, Prepared},
    skin::{self, CakeMaterial, SkinPlugin},
    studio::{self, shining_from},
};

/// The camera that looks at the cake.
#[derive(Component)]
pub struct SceneCamera;

/// The lamp; it turns with the eye.
#[derive(Component)]
struct Lamp;

/// The kitchen, while the window is open.
#[derive(Resource)]
struct Cooks(Kitchen);

/// Opens the window and returns when it is closed.
///
/// # Errors
/// [`ViewerError::NoScreen`] or [`ViewerError::NoDriver`] when there is nothing to open it on or to draw
/// with; [`ViewerError::Driver`] when the driver gives up later.
pub fn view(source: impl CakeSource) -> Result<(), ViewerError> {
    // The cake is read while the renderer gets ready.
    let kitchen = Kitchen::open(Arc::new(source));
    let said = Complaint::default();
    match caught(&said, || open_window(kitchen, said.clone()).run()) {
        Some(AppExit::Success) => Ok(()),
        Some(AppExit::Error(_)) => Err(ViewerError::Driver(said.take())),
        // Window library and renderer give up without an error of their own: find out which it was.
        None => {
            let reason = said.take();
            let refused = |driver| ViewerError::Refused { driver, reason: reason.clone() };
            Err(screen::missing(&reason).unwrap_or_else(|| gpu::describe().map_or_else(|e| e, refused)))
        }
    }
}

fn open_window(kitchen: Kitchen, said: Complaint) -> App {
    let window = Window {
        title: "Crumbline".into(),
        resolution: WindowResolution::new(1280, 800),
        resize_constraints: WindowResizeConstraints { min_width: 720.0, min_height: 480.0, ..default() },
        ..default()
    };
    let mut app = App::new();
    app.add_plugins(
        lean::plugins()
            .set(WindowPlugin { primary_window: Some(window), ..default() })
            // Where the system allows it, the window may be opened from any thread.
            .set(WinitPlugin { run_on_any_thread: true }),
    )
    .insert_resource(Cooks(kitchen))
    .insert_resource(said)
    .add_plugins((EguiPlugin::default(), SkinPlugin, settling::SettlingPlugin, WindowPlugins));
    app
}

/// Everything that the window does.
struct WindowPlugins;

impl Plugin for WindowPlugins {
    fn build(&self, app: &mut App) {
        app.insert_resource(quiet())
            .insert_resource(GlobalAmbientLight { brightness: 0.0, ..default() })
            .insert_resource(RenderErrorHandler(|error, main, _| {
                main.resource::<Complaint>().note(&error.description);
                main.write_message(AppExit::error());
                RenderErrorPolicy::StopRendering
            }))
            .init_resource::<Wishes>()
            .init_resource::<Desk>()
            .init_resource::<Eye>()
            .init_resource::<Viewport>()
            .init_resource::<UnderPointer>()
            .init_resource::<OnStage>()
            .add_systems(Startup, (be_woken, furnish))
            .add_systems(PreUpdate, collect)
            .add_systems(
                Update,
                (
                    (hands::follow_pointer, hands::follow_keys, follow_shortcuts),
                    orbit::move_camera,
                    finish::follow_motion,
                    (turn_lamp, hover::point, hover::glow),
                )
                    .chain(),
            )
            .add_systems(EguiPrimaryContextPass, draw_panels)
            .add_systems(PostUpdate, (order_stage, paint_ground, name_window));
    }
}

/// Draw when something happens, and otherwise sleep.
fn quiet() -> WinitSettings {
    WinitSettings {
        focused_mode: UpdateMode::reactive(Duration::from_secs(3600)),
        unfocused_mode: UpdateMode::reactive_low_power(Duration::from_secs(3600)),
    }
}

/// Lets the kitchen end the window's sleep.
fn be_woken(cooks: Res<Cooks>, proxy: Res<EventLoopProxyWrapper>) {
    let proxy = (**proxy).clone();
    cooks.0.wake_by(move || {
        // The window may be closing; then there is nobody to wake.
        let _ = proxy.send_event(WinitUserEvent::WakeUp);
    });
}

fn furnish(
    mut commands: Commands,
    mut egui: ResMut<EguiGlobalSettings>,
    mut shadows: ResMut<DirectionalLightShadowMap>,
    driver: Res<RenderAdapterInfo>,
) {
    egui.auto_create_primary_context = false;
    let at_rest = Quality::of_window(driver.device_type);
    // The first frames are rough ones, so that both kinds are ready when the eye first moves.
    let quality = at_rest.in_motion(0);
    commands.insert_resource(AtRest(at_rest));
    shadows.size = quality.shadow_texels;
    let settings =
        (Tonemapping::None, DebandDither::Disabled, quality.edges, quality.shadows, lamps::exposure());
    commands.spawn((SceneCamera, Camera3d::default(), settings));
    commands.spawn((Lamp, lamps::lamp(), Transform::default()));
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

/// Takes over what the kitchen has ready.
fn collect(world: &mut World) {
    for served in world.resource::<Cooks>().0.collect() {
        match served {
            Served::Cake(Ok(cake)) => {
                let mut desk = world.resource_mut::<Desk>();
                desk.cake = Some(cake);
                desk.error = None;
            }
            Served::Cake(Err(error)) => world.resource_mut::<Desk>().error = Some(error),
            Served::Stage(cake, staged) => match *staged {
                Ok(prepared) => set_stage(world, &cake, prepared),
                Err(error) => world.resource_mut::<Desk>().error = Some(error.to_string()),
            },
        }
    }
}

fn set_stage(world: &mut World, cake: &LoadedCake, prepared: Prepared) {
    world.resource_mut::<OnStage>().0 = prepared.staging.triangles();
    let (lo, hi) = prepared.staging.bounds().unwrap_or((DVec3::ZERO, DVec3::splat(100.0)));
    let theme = world.resource::<Wishes>().theme;
    let scale_factor = world
        .query_filtered::<&Window, With<PrimaryWindow>>()
        .iter(world)
        .next()
        .map_or(1.0, Window::scale_factor);
    let dressing = Dressing {
        scale: DepthScale::reaching(prepared.staging.deepest.unwrap_or(0.0)),
        line_width: scale_factor.max(1.0),
        ground: Some(theme.ground()),
        floor: lo.z - 0.5,
    };
    let lightened = prepared.lightened;
    let (staging, _) = scene::set_stage(world, prepared, &dressing);
    let first = world.resource::<Desk>().pieces.is_empty();
    let mut desk = world.resource_mut::<Desk>();
    desk.lay_out(cake, &staging, (lo, hi));
    desk.lightened = Some(lightened);
    if first {
        let (points, aspect) = (desk.points.clone(), world.resource::<Viewport>().aspect());
        world.resource_mut::<Eye>().start_at(super::View::ThreeQuarter, &points, aspect);
    }
}

/// Orders a new stage when the cake or the wishes changed.
fn order_stage(wishes: Res<Wishes>, cooks: Res<Cooks>, device: Res<RenderDevice>, mut desk: ResMut<Desk>) {
    let Some(cake) = desk.cake.clone() else { return };
    let order = (Arc::as_ptr(&cake) as usize, wishes.showing.clone());
    if desk.ordered.as_ref() != Some(&order) {
        let largest_buffer = device.limits().max_buffer_size;
        cooks.0.stage(StageOrder { cake, showing: order.1.clone(), largest_buffer });
        desk.bypass_change_detection().ordered = Some(order);
    }
}

#[expect(clippy::too_many_arguments, reason = "a system asks for what it needs")]
fn draw_panels(
    mut contexts: EguiContexts,
    window: Single<&Window, With<PrimaryWindow>>,
    desk: Res<Desk>,
    under: Res<UnderPointer>,
    mut wishes: ResMut<Wishes>,
    mut eye: ResMut<Eye>,
    mut viewport: ResMut<Viewport>,
    mut camera: Single<&mut Camera, With<SceneCamera>>,
    mut dressed: Local<Option<Theme>>,
) -> Result {
    let ctx = contexts.ctx_mut()?.clone();
    if dressed.is_none() {
        // New fonts are there from the next pass on.
        theme::set_fonts(&ctx);
        wishes.theme.apply(&ctx);
        ctx.request_repaint();
        *dressed = Some(wishes.theme);
        return Ok(());
    }
    let mut new_wishes = wishes.clone();
    let root = egui::UiBuilder::new().layer_id(egui::LayerId::background()).max_rect(ctx.viewport_rect());
    let mut root = egui::Ui::new(ctx.clone(), "window".into(), root);
    let mut new_eye = eye.clone();
    let panel = panel::show(&mut root, &desk, &mut new_wishes, &mut new_eye, &viewport);
    let mut area = ctx.viewport_rect();
    area.min.x += panel;
    overlay::show(&ctx, area, &desk, &new_wishes, under.hovered.as_ref());
    if *dressed != Some(new_wishes.theme) {
        new_wishes.theme.apply(&ctx);
        *dressed = Some(new_wishes.theme);
    }
    wishes.set_if_neq(new_wishes);
    eye.set_if_neq(new_eye);
    let whole = UVec2::new(window.physical_width(), window.physical_height());
    let corner = UVec2::new((panel * window.scale_factor()) as u32, 0);
    let next = Viewport {
        corner,
        size: whole.saturating_sub(corner).max(UVec2::splat(1)),
        scale: window.scale_factor(),
    };
    if viewport.set_if_neq(next) && whole.x > corner.x && whole.y > 0 {
        let frame = CameraViewport { physical_position: next.corner, physical_size: next.size, ..default() };
        camera.viewport = Some(frame);
    }
    Ok(())
}

/// Single keys for what is switched often.
fn follow_shortcuts(
    keys: Res<ButtonInput<KeyCode>>,
    wants: Res<bevy_egui::input::EguiWantsInput>,
    cooks: Res<Cooks>,
    mut wishes: ResMut<Wishes>,
    mut eye: ResMut<Eye>,
    mut exit: MessageWriter<AppExit>,
) {
    let control = [KeyCode::ControlLeft, KeyCode::ControlRight];
    // Both keys of a quick stroke may have come and gone between two frames.
    let control = keys.any_pressed(control) || keys.any_just_released(control);
    if control && keys.any_just_pressed([KeyCode::KeyQ, KeyCode::KeyW]) {
        exit.write(AppExit::Success);
    }
    if control || wants.wants_any_keyboard_input() {
        return;
    }
    if keys.just_pressed(KeyCode::KeyG) {
        wishes.showing.ghost = !wishes.showing.ghost;
    }
    if keys.just_pressed(KeyCode::KeyL) {
        wishes.showing.loads = !wishes.showing.loads;
    }
    if keys.just_pressed(KeyCode::KeyD) {
        wishes.theme = wishes.theme.other();
    }
    if keys.just_pressed(KeyCode::KeyO) {
        eye.lens = match eye.lens {
            Lens::Perspective => Lens::Orthographic,
            Lens::Orthographic => Lens::Perspective,
        };
    }
    if keys.just_pressed(KeyCode::F5) {
        cooks.0.read();
    }
}

/// Keeps the lamp at the left of the eye, and its shadows sharp where the cake is.
fn turn_lamp(
    eye: Res<Eye>,
    desk: Res<Desk>,
    mut lamp: Single<(&mut Transform, &mut bevy::light::CascadeShadowConfig), With<Lamp>>,
) {
    if !eye.is_changed() && !desk.is_changed() {
        return;
    }
    *lamp.0 = shining_from(lamps::lamp_direction(eye.orbit.bearing));
    let pose = eye.orbit.pose(eye.lens);
    let distance = (pose.eye - desk.middle).length();
    *lamp.1 = studio::shadows_within(studio::depth_range(distance, desk.radius));
}

/// Ground and background follow the theme.
fn paint_ground(
    wishes: Res<Wishes>,
    ground: Query<&MeshMaterial3d<CakeMaterial>, With<scene::Ground>>,
    mut materials: ResMut<Assets<CakeMaterial>>,
    mut clear: ResMut<ClearColor>,
) {
    let colour = skin::colour_of(wishes.theme.ground());
    if clear.0 == colour {
        return;
    }
    clear.0 = colour;
    for handle in &ground {
        if let Some(mut material) = materials.get_mut(&handle.0) {
            material.skin.colour = skin::linear(wishes.theme.ground());
        }
    }
}

fn name_window(desk: Res<Desk>, mut window: Single<&mut Window, With<PrimaryWindow>>) {
    if desk.is_changed()
        && let Some(cake) = &desk.cake
    {
        let title = format!("{} – Crumbline", cake.model.name);
        if window.title != title {
            window.title = title;
        }
    }
}
