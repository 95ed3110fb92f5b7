//! Pictures of a cake: one, a contact sheet, or a turntable.

use glam::DVec3;
use image::RgbaImage;

use super::{
    Background, Lens, Margins, OffcutView, PictureOptions, Pose, Scene, Section, Shot, Showing, Simplified,
    Step, Studio, Vantage, View, ViewerError,
    cake_material::Ground,
    carve_notes::carve_notes,
    compose::{self, Canvas, CarveNotes, Extent, Legend},
    scale::DepthScale,
    scene::{self, Look, Piece},
    soft_light::Fineness,
    spawn::{self, SceneStyle},
    still_light::GROUND_BELOW,
    timeline::LoadLevel,
};
use formats::model::{Model, PartKind, Rgb};

/// A finished picture.
#[derive(Debug, Clone)]
pub struct Picture {
    /// Its pixels: straight, not premultiplied, sRGB.
    pub image: RgbaImage,
    /// How long one pixel is, mm; only through the orthographic lens.
    pub mm_per_pixel: Option<f64>,
    /// The depth scale in use, if any piece is coloured by depth.
    pub scale: Option<DepthScale>,
    /// Where the eye was.
    pub pose: Pose,
    /// What was too big for the graphics card and so is drawn with fewer triangles.
    pub simplified: Simplified,
}

/// A picture with nothing written on it.
pub(super) struct Drawn {
    pub image: RgbaImage,
    pub scene: Scene,
    pub legend: Legend,
    pub pose: Pose,
    pub simplified: Simplified,
}

/// Draws one picture of a cake, in a studio of its own.
///
/// # Errors
/// [`ViewerError`], with what to change.
pub fn picture(model: &Model, options: &PictureOptions) -> Result<Picture, ViewerError> {
    options.check()?;
    Studio::open()?.picture(model, options)
}

impl Studio {
    /// Draws one picture of a cake.
    ///
    /// # Errors
    /// [`ViewerError`], with what to change.
    pub fn picture(&mut self, model: &Model, options: &PictureOptions) -> Result<Picture, ViewerError> {
        self.picture_around(model, options, &[])
    }

    /// Draws one picture of a cake that leaves room for `others` (mm) too, so that several pictures
    /// come out at one scale.
    ///
    /// # Errors
    /// [`ViewerError`], with what to change.
    pub fn picture_around(
        &mut self,
        model: &Model,
        options: &PictureOptions,
        others: &[DVec3],
    ) -> Result<Picture, ViewerError> {
        let Drawn { image, scene, legend, pose, simplified } = self.drawn(model, options, others)?;
        let scale = legend.scale;
        let notes = notes(model, &scene, options, &pose);
        let image = annotate(image, model, &scene, options, &pose, (&legend, notes.as_ref()));
        let mm_per_pixel =
            (options.lens == Lens::Orthographic).then(|| pose.height / f64::from(options.size.1));
        Ok(Picture { image, mm_per_pixel, scale, pose, simplified })
    }

    /// Draws one picture of a cake with nothing written on it.
    ///
    /// # Errors
    /// [`ViewerError`], with what to change.
    pub(super) fn drawn(
        &mut self,
        model: &Model,
        options: &PictureOptions,
        others: &[DVec3],
    ) -> Result<Drawn, ViewerError> {
        let scene = scene::build_scene(model, &options.showing)?;
        let legend = legend(model, &scene);
        let pose = frame(&scene, options, &legend, others);
        self.draw_scene((scene, legend), options, pose)
    }

    /// Draws one picture of a cake from a given place with nothing written on it.
    ///
    /// # Errors
    /// [`ViewerError`], with what to change.
    pub(super) fn drawn_from(
        &mut self,
        model: &Model,
        options: &PictureOptions,
        pose: Pose,
    ) -> Result<Drawn, ViewerError> {
        let scene = scene::build_scene(model, &options.showing)?;
        let legend = legend(model, &scene);
        self.draw_scene((scene, legend), options, pose)
    }

    fn draw_scene(
        &mut self,
        (scene, legend): (Scene, Legend),
        options: &PictureOptions,
        pose: Pose,
    ) -> Result<Drawn, ViewerError> {
        options.check()?;
        let (image, simplified) = self.draw(&Shot {
            scene: &scene,
            scene_style: scene_style(&scene, options),
            vantage: Vantage {
                pose,
                bearing: options.view.bearing_and_elevation().0,
                size: options.size,
                behind: behind(options.background),
                samples: options.samples,
                opening: opening(options.lens, &options.showing, &pose),
            },
            fineness: Some(fineness(&scene, options)),
        })?;
        Ok(Drawn { image, scene, legend, pose, simplified })
    }
}

/// The colour behind everything.
pub(super) fn behind(background: Background) -> Option<Rgb> {
    match background {
        Background::Plain => Some(spawn::GROUND_COLOUR),
        Background::Shadow | Background::Transparent => None,
    }
}

/// The pixel of an empty picture.
pub(super) fn ground_pixel(background: Background) -> image::Rgba<u8> {
    behind(background)
        .map_or(image::Rgba([0; 4]), |Rgb(red, green, blue)| image::Rgba([red, green, blue, 255]))
}

/// Radius of the eye's opening, mm: of a finished cake as a camera sees it, a hundredth of what the picture shows.
pub(super) fn opening(lens: Lens, showing: &Showing, pose: &Pose) -> f64 {
    let is_portrait = lens == Lens::Perspective && showing.stage.fraction() > 2.0 / 3.0;
    if is_portrait { 0.01 * pose.height } else { 0.0 }
}

/// How finely the light is worked out for this many samples.
fn fineness(scene: &Scene, options: &PictureOptions) -> Fineness {
    let size = scene.bounds().map_or(300.0, |(lo, hi)| (hi - lo).length());
    // In a small picture less is seen of it.
    let is_small = options.size.0.min(options.size.1) < 500;
    let (share, rays) = match options.samples {
        ..8 => (70.0, 48),
        _ if is_small => (80.0, 96),
        _ => (160.0, 128),
    };
    Fineness { spacing: (size / share).clamp(1.0, 12.0), rays }
}

pub(super) fn scene_style(scene: &Scene, options: &PictureOptions) -> SceneStyle {
    let floor = scene.bounds().map_or(0.0, |(lo, _)| lo.z);
    SceneStyle {
        scale: DepthScale::reaching(scene.deepest.unwrap_or(0.0), scene.unit),
        line_width: (options.size.1 as f32 / 1000.0).max(1.0),
        ground: match options.background {
            Background::Plain => Some(Ground::Plain(spawn::GROUND_COLOUR)),
            Background::Shadow => Some(Ground::Shadow),
            Background::Transparent => None,
        },
        floor: floor - GROUND_BELOW,
    }
}

/// Leaves room for what is written, and fits the cake into the rest.
pub(super) fn frame(scene: &Scene, options: &PictureOptions, legend: &Legend, others: &[DVec3]) -> Pose {
    let aspect = f64::from(options.size.0) / f64::from(options.size.1);
    let mut margins = Margins { left: 0.06, right: 0.06, top: 0.06, bottom: 0.07 };
    if options.legend {
        margins.top = 0.13;
        if !legend.is_empty() {
            margins.right = (f64::from(compose::LEGEND_WIDTH) / aspect + 0.01).min(0.45);
            if legend.lines {
                // Words about each layer stand at its right, and the legend below.
                margins.right = (0.32 / aspect).min(0.5);
                margins.bottom += 0.09;
            }
        }
    }
    if measured(options) {
        margins.left = (0.17 / aspect).clamp(0.06, 0.4);
        margins.bottom += 0.05;
    }
    // A picture is of the cake; the board that it stands on may run out of it.
    let is_of_cake = !scene.loads && scene.pieces.iter().any(|piece| !carries(piece));
    let is_shown = |piece: &&Piece| !is_of_cake || !carries(piece);
    let shown = scene.pieces.iter().filter(is_shown);
    let points = shown.flat_map(|piece| piece.surface.mesh.positions.iter().copied());
    let foot = scene.bounds().map(|(low, _)| DVec3::Z * low.z);
    let round = if is_of_cake && !legend.lines { board_in_view(scene) } else { Vec::new() };
    let line = scene.finished_line.iter().flatten().copied();
    let points = points.chain(others.iter().copied()).chain(foot).chain(round).chain(line);
    Pose::framing(points, options.view, options.lens, aspect, margins)
}

/// Whether it is a board or a dowel, or lies on the presentation board.
fn carries(piece: &Piece) -> bool {
    piece.look == Look::Hardware || piece.under_cake
}

/// Points on as much of the board as belongs to a picture of the cake: a ring round its foot, where there is board, mm.
fn board_in_view(scene: &Scene) -> Vec<DVec3> {
    /// So much wider than the cake; of a board that is not much wider still, all of it.
    const ROUND: f64 = 1.12;
    const WHOLE: f64 = 1.5;
    let radius = |is_board: bool| {
        let pieces = scene.pieces.iter().filter(|piece| carries(piece) == is_board);
        pieces
            .flat_map(|piece| &piece.surface.mesh.positions)
            .map(|p| p.truncate().length())
            .fold(0.0, f64::max)
    };
    let (cake, board) = (radius(false), radius(true));
    let radius = if board < WHOLE * cake { board } else { ROUND * cake };
    let floor = scene.bounds().map_or(0.0, |(low, _)| low.z);
    let around = (0..48).map(|i| (std::f64::consts::TAU * f64::from(i) / 48.0).sin_cos());
    around.map(|(sin, cos)| DVec3::new(radius * cos, radius * sin, floor)).collect()
}

/// Whether arrows can be drawn: only a view that is square to the cake and true to scale has any.
fn measured(options: &PictureOptions) -> bool {
    options.dimensions
        && options.lens == Lens::Orthographic
        && options.showing.pull_apart == 0.0
        && matches!(options.view, View::Front | View::Side | View::Back | View::Top)
}

fn annotate(
    image: RgbaImage,
    model: &Model,
    scene: &Scene,
    options: &PictureOptions,
    pose: &Pose,
    (legend, notes): (&Legend, Option<&CarveNotes>),
) -> RgbaImage {
    if !options.legend && !measured(options) {
        return image;
    }
    let mut canvas = Canvas::on(&image);
    if let Some(notes) = notes {
        let u = canvas.height() / 1000.0;
        compose::draw_carve(&mut canvas, notes, u);
    }
    if options.legend {
        compose::draw_title(&mut canvas, &model.name, &subtitle(scene));
        compose::draw_legend(&mut canvas, legend);
        if scene.offcut || scene.deepest.is_some() {
            compose::draw_caution(&mut canvas);
        }
    }
    if measured(options)
        && let Some(extent) = extent(scene, options, pose)
    {
        compose::draw_dimensions(&mut canvas, &extent);
    }
    canvas.finish()
}

/// What is drawn over a cut-away that is seen square and true to scale.
fn notes(model: &Model, scene: &Scene, options: &PictureOptions, pose: &Pose) -> Option<CarveNotes> {
    let is_square = options.lens == Lens::Orthographic && options.showing.pull_apart == 0.0;
    let is_asked =
        options.legend && options.showing.offcut == OffcutView::CutAway && scene.step == Step::Carved;
    let (seen, elevation) = options.view.bearing_and_elevation();
    // The cut face looks at the eye.
    let faces = elevation == 0.0
        && match scene.section {
            Some(Section::Across(_)) => seen == 0.0,
            Some(Section::Bearing(bearing)) => (seen - bearing).abs() < 1e-6,
            Some(Section::Height(_)) | None => false,
        };
    (is_square && is_asked && faces).then(|| carve_notes(model, scene, pose, options.size)).flatten()
}

/// What the picture shows, in one line.
fn subtitle(scene: &Scene) -> String {
    let size = scene.cake.map(|(lo, hi)| {
        let size = hi - lo;
        format!("  –  {} high", scene.style().sides(&size.to_array()))
    });
    let what = if scene.loads { "What carries what".to_owned() } else { scene.step.describe(scene.style()) };
    what + &size.unwrap_or_default()
}

fn extent(scene: &Scene, options: &PictureOptions, pose: &Pose) -> Option<Extent> {
    let (lo, hi) = scene.cake?;
    let corners = [lo, hi].map(|p| pose.project(p, options.size));
    let size = hi - lo;
    let (width, height) = match options.view {
        View::Side => (size.y, size.z),
        View::Top => (size.x, size.y),
        _ => (size.x, size.z),
    };
    let whole_bottom = scene
        .bounds()
        .map(|(l, h)| pose.project(l, options.size).y.max(pose.project(h, options.size).y))
        .unwrap_or(0.0);
    let u = f64::from(options.size.1) / 1000.0;
    // What goes may reach further out than the cake.
    let goes = scene.pieces.iter().filter(|piece| piece.look == Look::Offcut);
    let goes = goes.flat_map(|piece| &piece.surface.mesh.positions);
    let left_of = goes.map(|p| pose.project(*p, options.size).x as f32).fold(f32::INFINITY, f32::min);
    Some(Extent {
        left_of,
        top_left: corners[0].min(corners[1]),
        bottom_right: corners[0].max(corners[1]),
        width,
        height,
        below: (whole_bottom + 42.0 * u) as f32,
        style: scene.style(),
    })
}

/// The loads that are shown, and the marks.
fn load_swatches(model: &Model, scene: &Scene) -> Vec<(Rgb, String)> {
    let shown = |colour: Rgb| scene.pieces.iter().any(|piece| piece.colour == colour);
    let loads = LoadLevel::ALL.iter().map(|load| (load.colour(), load.label().to_owned()));
    let mut swatches: Vec<(Rgb, String)> = loads.filter(|(colour, _)| shown(*colour)).collect();
    for (what, words) in [("centre of mass", "centre of mass"), ("edge to tip", "edge it tips over")] {
        let mark = model.parts.iter().find(|p| p.kind == PartKind::Mark && p.name.starts_with(what));
        swatches.extend(mark.map(|mark| (mark.colour, words.to_owned())));
    }
    swatches
}

/// What of the scene the legend has to explain.
pub(crate) fn legend(model: &Model, scene: &Scene) -> Legend {
    let (scale, style) = (scene.depth_scale(), scene.style());
    let mut swatches: Vec<(Rgb, String)> = Vec::new();
    if scene.loads {
        return Legend { style, scale, swatches: load_swatches(model, scene), ..Legend::default() };
    }
    for piece in scene.pieces.iter().rev() {
        let part = &model.parts[piece.part];
        let named = match part.kind {
            PartKind::RawLayer | PartKind::Kept => piece.look == Look::Crumb,
            PartKind::Filling | PartKind::RawFilling | PartKind::Covering => true,
            _ => false,
        };
        let to_shave = part.kind == PartKind::Offcut && piece.look == Look::Depth;
        let named = named || (to_shave && scene.opened);
        let stays = scene.offcut && part.kind == PartKind::Kept;
        let name = match () {
            () if to_shave => "still to carve off".to_owned(),
            () if stays => format!("{}{}", compose::STAYS, part.material),
            () => part.material.clone(),
        };
        let entry = (piece.colour, name);
        if named && !swatches.contains(&entry) {
            swatches.push(entry);
        }
    }
    swatches.truncate(5);
    let carving = matches!(scene.step, Step::Carving { .. });
    let lines = !scene.finished_line.is_empty();
    let (shortfall, ghost, offcut) = (scene.shortfall, scene.ghost, scene.offcut);
    Legend { style, scale, carving, shortfall, ghost, offcut, lines, swatches }
}
