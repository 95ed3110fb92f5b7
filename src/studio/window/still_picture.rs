//! The picture in the window once the eye rests: the mean of many renders, as a picture is, so that a still window shows what
//! a picture shows. It is drawn beside the window, in a studio of its own, and laid over what the window draws.

use std::{
    sync::{Arc, Mutex, OnceLock, PoisonError, mpsc},
    thread::{self, JoinHandle},
    time::Duration,
};

use bevy::{prelude::*, render::renderer::RenderAdapterInfo};
use bevy_egui::{EguiContexts, egui};

use super::{
    editor::Editor,
    hover::PointerTarget,
    orbit::Eye,
    state::{ViewSettings, Viewport, WindowState},
    worker::{job, slot::RequestSlot},
};
use crate::{
    Studio, Vantage, ViewerError,
    cake_material::Ground,
    picture,
    spawn::{self, PieceIndex, PreparedScene, SceneStyle},
    studio::Standing,
};
use formats::model::Rgb;
use geom::Cancel;

/// A picture is begun once nothing has changed for so long.
const REST: Duration = Duration::from_millis(300);

/// How many renders are averaged on a graphics card, and how many without one.
const RENDERS: [u32; 2] = [64, 32];

/// The first mean that is shown is of so many; after that each that is of twice as many.
const FIRST_SHOWN: u32 = 8;

/// A new texture is on the card after so many passes of the user interface.
const UNTIL_THERE: u32 = 3;

/// What a picture is of: another of these is another picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Subject {
    /// The scene that is shown, counted.
    scene: u64,
    /// From where.
    vantage: Vantage,
    /// The piece that is pointed at.
    highlighted: Option<usize>,
    /// The colour of the ground.
    ground: Rgb,
}

/// A picture to draw.
struct Request {
    subject: Subject,
    scene: Arc<PreparedScene>,
    scene_style: SceneStyle,
}

/// A picture so far.
struct Drawn {
    subject: Subject,
    image: image::RgbaImage,
}

/// A scene with its soft light.
struct LitScene {
    scene: Arc<PreparedScene>,
    scene_style: SceneStyle,
}

/// The picture of what the window shows, as far as it is drawn.
#[derive(Resource)]
pub struct StillPicture {
    slot: Arc<RequestSlot<Request>>,
    drawn: Mutex<mpsc::Receiver<Drawn>>,
    on_drawn: OnDrawn,
    thread: Option<JoinHandle<()>>,
    renders: u32,
    scene: Option<LitScene>,
    scenes: u64,
    asked: Option<Subject>,
    shown: Option<(Subject, egui::TextureHandle)>,
    /// How many more passes are asked for.
    passes_left: u32,
}

type OnDrawn = Arc<OnceLock<Box<dyn Fn() + Send + Sync>>>;

impl StillPicture {
    fn start(device: wgpu::DeviceType) -> Self {
        let slot = RequestSlot::new(Duration::ZERO);
        let (send, drawn) = mpsc::channel();
        let on_drawn = OnDrawn::default();
        let (requests, call) = (slot.clone(), on_drawn.clone());
        let put = move |drawn: Drawn| {
            // Nobody may be left to take it: then the slot is closed, and the thread ends.
            let _ = send.send(drawn);
            if let Some(call) = call.get() {
                call();
            }
        };
        let thread = thread::spawn(move || draw_all(&requests, put));
        Self {
            slot,
            drawn: Mutex::new(drawn),
            on_drawn,
            thread: Some(thread),
            renders: RENDERS[usize::from(device == wgpu::DeviceType::Cpu)],
            scene: None,
            scenes: 0,
            asked: None,
            shown: None,
            passes_left: 0,
        }
    }

    /// From now on `call` is called after each picture. Only the first call counts.
    pub fn on_drawn(&self, call: impl Fn() + Send + Sync + 'static) {
        let _ = self.on_drawn.set(Box::new(call));
    }

    /// Takes over the scene that is shown now; without its soft light no picture is drawn of it.
    pub fn set_scene(&mut self, scene: &PreparedScene, scene_style: SceneStyle) {
        self.scenes += 1;
        let lit = scene.is_lit().then(|| Arc::new(scene.clone()));
        self.scene = lit.map(|scene| LitScene { scene, scene_style });
    }

    /// What the window shows; `None` while it has no soft light or the eye looks at nothing.
    pub fn subject(
        &self,
        (eye, viewport): (&Eye, &Viewport),
        settings: &ViewSettings,
        highlighted: Option<usize>,
    ) -> Option<Subject> {
        self.scene.as_ref()?;
        let pose = eye.orbit.pose(eye.lens);
        let ground = settings.theme.ground();
        let vantage = Vantage {
            pose,
            bearing: eye.orbit.bearing,
            size: viewport.size.into(),
            behind: Some(ground),
            samples: self.renders,
            opening: picture::opening(eye.lens, &settings.showing, &pose),
        };
        Some(Subject { scene: self.scenes, vantage, highlighted, ground })
    }

    /// The texture of the picture of this, if there is one; pictures that were drawn meanwhile are taken over.
    pub fn texture(&mut self, ctx: &egui::Context, subject: Option<Subject>) -> Option<egui::TextureId> {
        let newest = self.drawn.get_mut().unwrap_or_else(PoisonError::into_inner).try_iter().last();
        if let Some(Drawn { subject, image }) = newest {
            let size = [image.width() as usize, image.height() as usize];
            let image = egui::ColorImage::from_rgba_unmultiplied(size, &image);
            let texture = ctx.load_texture("still picture", image, egui::TextureOptions::NEAREST);
            self.shown = Some((subject, texture));
            self.passes_left = UNTIL_THERE;
        }
        if self.passes_left > 0 {
            self.passes_left -= 1;
            ctx.request_repaint();
        }
        let (of, texture) = self.shown.as_ref()?;
        (Some(*of) == subject).then(|| texture.id())
    }
}

impl Drop for StillPicture {
    fn drop(&mut self) {
        self.slot.close();
        if let Some(thread) = self.thread.take() {
            // The driver must not be at work while the process ends; what the thread said is of no use any more.
            let _ = thread.join();
        }
    }
}

/// Starts the thread that draws. Through OpenGL there is none: its drivers do not like a second device in one process.
pub fn start(mut commands: Commands, driver: Res<RenderAdapterInfo>) {
    if driver.backend != wgpu::Backend::Gl {
        commands.insert_resource(StillPicture::start(driver.device_type));
    }
}

/// Asks for a picture of what is shown, once it rests; one of what is shown no more is given up at once.
pub fn draw_at_rest(
    time: Res<Time<Real>>,
    (eye, viewport, settings): (Res<Eye>, Res<Viewport>, Res<ViewSettings>),
    (state, target): (Res<WindowState>, Res<PointerTarget>),
    pieces: Query<&PieceIndex>,
    (still, mut editor): (Option<ResMut<StillPicture>>, ResMut<Editor>),
    mut contexts: EguiContexts,
    mut waits_for: Local<Option<(Subject, Duration)>>,
) {
    let Some(mut still) = still else { return };
    // Pictures come and go without anything else of the window having to be drawn anew.
    let still = still.bypass_change_detection();
    let looked_at = still.subject((&eye, &viewport), &settings, target.piece_in(&pieces));
    let is_wanted = !editor.bypass_change_detection().workshop().settings.quick_picture;
    let Some(subject) = looked_at.filter(|_| is_wanted && !state.pieces.is_empty()) else {
        still.give_up();
        return;
    };
    if still.asked == Some(subject) {
        return;
    }
    still.give_up();
    let since = match *waits_for {
        Some((of, since)) if of == subject => since,
        _ => time.elapsed(),
    };
    *waits_for = Some((subject, since));
    let rested = time.elapsed() - since;
    if rested < REST {
        if let Ok(ctx) = contexts.ctx_mut() {
            ctx.request_repaint_after(REST - rested + Duration::from_millis(10));
        }
        return;
    }
    let Some(LitScene { scene, scene_style }) = &still.scene else { return };
    let scene_style = SceneStyle { ground: Some(Ground::Plain(subject.ground)), ..*scene_style };
    still.slot.request(Request { subject, scene: scene.clone(), scene_style });
    still.asked = Some(subject);
}

impl StillPicture {
    /// Stops the picture that is being drawn.
    fn give_up(&mut self) {
        if self.asked.take().is_some() {
            self.slot.cancel();
        }
    }
}

/// Lays the picture over what the window draws, pixel for pixel.
pub fn show(ctx: &egui::Context, viewport: &Viewport, texture: egui::TextureId) {
    let point = |at: UVec2| egui::pos2(at.x as f32, at.y as f32) / ctx.pixels_per_point();
    let area = egui::Rect::from_min_max(point(viewport.corner), point(viewport.corner + viewport.size));
    let whole = egui::Rect::from_min_max(egui::Pos2::ZERO, egui::pos2(1.0, 1.0));
    let painter = ctx.layer_painter(egui::LayerId::background()).with_clip_rect(area);
    painter.image(texture, area, whole, egui::Color32::WHITE);
}

/// What stands in the studio: which scene, how drawn.
type InStudio = (Arc<PreparedScene>, SceneStyle, Standing);

/// Draws each picture that is asked for. Where nothing can be drawn beside the window there are no pictures: the window shows
/// what it draws itself.
fn draw_all(slot: &RequestSlot<Request>, put: impl Fn(Drawn)) {
    let mut studio: Option<Studio> = None;
    let mut standing: Option<InStudio> = None;
    while let Some((request, cancel)) = slot.begin() {
        let drawn = job::run(|| {
            let studio = match &mut studio {
                Some(studio) => studio,
                none => none.insert(Studio::open()?),
            };
            draw(studio, &mut standing, &request, &cancel, &put)
        });
        slot.finish();
        if drawn.is_err() && !cancel.is_cancelled() {
            // The next one begins anew.
            (studio, standing) = (None, None);
        }
    }
}

fn draw(
    studio: &mut Studio,
    standing: &mut Option<InStudio>,
    request: &Request,
    cancel: &Cancel,
    put: &impl Fn(Drawn),
) -> Result<(), ViewerError> {
    let Request { subject, scene, scene_style } = request;
    let same = |(of, style, _): &InStudio| Arc::ptr_eq(of, scene) && style == scene_style;
    if !standing.as_ref().is_some_and(same) {
        let stands = studio.stand(PreparedScene::clone(scene), scene_style);
        *standing = Some((scene.clone(), *scene_style, stands));
    }
    let Some((.., stands)) = standing else { return Ok(()) };
    spawn::highlight(studio.world(), subject.highlighted);
    let mut next = FIRST_SHOWN;
    let image = studio.take(stands, &subject.vantage, cancel, |sum| {
        if sum.samples() >= next && sum.samples() < subject.vantage.samples {
            next = 2 * sum.samples();
            put(Drawn { subject: *subject, image: sum.mean() });
        }
    })?;
    put(Drawn { subject: *subject, image });
    Ok(())
}
