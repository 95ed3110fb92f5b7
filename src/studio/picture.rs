//! Pictures of a cake: one, a contact sheet, or a turntable.

use glam::DVec3;
use image::RgbaImage;

use super::{
    Ground, Lens, Lightened, Margins, PictureOptions, Pose, Shot, Staging, Step, Studio, View, ViewerError,
    compose::{self, Canvas, Extent, Legend},
    scale::DepthScale,
    scene::{self, Dressing},
    staging::{self, Look},
    way::Load,
};
use formats::model::{Model, PartKind, Rgb};
use geom::units::{Unit, UnitStyle};

/// A finished picture.
#[derive(Debug, Clone)]
pub struct Picture {
    /// Its pixels: straight, not premultiplied, sRGB.
    pub image: RgbaImage,
    /// How long one pixel is, mm; only through the orthographic lens.
    pub mm_per_pixel: Option<f64>,
    /// The depth scale in use, if any piece is coloured by depth.
    pub scale: Option<DepthScale>,
    /// Where the eye stood.
    pub pose: Pose,
    /// What was too big for the graphics card, and what became of it.
    pub lightened: Lightened,
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
        options.check()?;
        let staging = staging::stage(model, &options.showing)?;
        let legend = legend(model, &staging);
        let scale = legend.scale;
        let pose = frame(&staging, options, &legend, others);
        let (image, lightened) = self.take(&Shot {
            staging: &staging,
            dressing: dressing(&staging, options),
            pose,
            bearing: options.view.bearing_and_elevation().0,
            size: options.size,
            ground: options.ground,
            takes: options.takes,
        })?;
        let image = annotate(image, model, &staging, options, &pose, &legend);
        let mm_per_pixel =
            (options.lens == Lens::Orthographic).then(|| pose.height / f64::from(options.size.1));
        Ok(Picture { image, mm_per_pixel, scale, pose, lightened })
    }
}

pub(super) fn dressing(staging: &Staging, options: &PictureOptions) -> Dressing {
    let floor = staging.bounds().map_or(0.0, |(lo, _)| lo.z);
    Dressing {
        scale: DepthScale::reaching(staging.deepest.unwrap_or(0.0)),
        line_width: (options.size.1 as f32 / 1000.0).max(1.0),
        ground: (options.ground == Ground::Plain).then_some(scene::GROUND),
        floor: floor - 0.5,
    }
}

/// Leaves room for what is written, and fits the cake into the rest.
pub(super) fn frame(staging: &Staging, options: &PictureOptions, legend: &Legend, others: &[DVec3]) -> Pose {
    let aspect = f64::from(options.size.0) / f64::from(options.size.1);
    let mut margins = Margins { left: 0.06, right: 0.06, top: 0.06, bottom: 0.07 };
    if options.legend {
        margins.top = 0.13;
        if !legend.is_empty() {
            margins.right = (f64::from(compose::LEGEND_WIDTH) / aspect + 0.01).min(0.45);
        }
    }
    if measured(options) {
        margins.left = (0.17 / aspect).clamp(0.06, 0.4);
        margins.bottom = 0.12;
    }
    let points = staging.pieces.iter().flat_map(|piece| piece.surface.mesh.positions.iter().copied());
    let points = points.chain(others.iter().copied());
    Pose::framing(points, options.view, options.lens, aspect, margins)
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
    staging: &Staging,
    options: &PictureOptions,
    pose: &Pose,
    legend: &Legend,
) -> RgbaImage {
    if !options.legend && !measured(options) {
        return image;
    }
    let mut canvas = Canvas::on(&image);
    if options.legend {
        compose::draw_title(&mut canvas, &model.name, &subtitle(staging, model.unit));
        compose::draw_legend(&mut canvas, legend);
    }
    if measured(options)
        && let Some(extent) = extent(staging, options, pose)
    {
        compose::draw_dimensions(&mut canvas, &extent);
    }
    canvas.finish()
}

/// What the picture shows, in one line.
fn subtitle(staging: &Staging, unit: Unit) -> String {
    let size = staging.cake.map(|(lo, hi)| {
        let size = hi - lo;
        format!("  –  {} high", UnitStyle::new(unit).sides(&size.to_array()))
    });
    let what = if staging.loads { "What carries what".to_owned() } else { staging.step.to_string() };
    what + &size.unwrap_or_default()
}

fn extent(staging: &Staging, options: &PictureOptions, pose: &Pose) -> Option<Extent> {
    let (lo, hi) = staging.cake?;
    let corners = [lo, hi].map(|p| pose.project(p, options.size));
    let size = hi - lo;
    let (width, height) = match options.view {
        View::Side => (size.y, size.z),
        View::Top => (size.x, size.y),
        _ => (size.x, size.z),
    };
    let whole_bottom = staging
        .bounds()
        .map(|(l, h)| pose.project(l, options.size).y.max(pose.project(h, options.size).y))
        .unwrap_or(0.0);
    let u = f64::from(options.size.1) / 1000.0;
    Some(Extent {
        top_left: corners[0].min(corners[1]),
        bottom_right: corners[0].max(corners[1]),
        width,
        height,
        below: (whole_bottom + 42.0 * u) as f32,
    })
}

/// The loads that are on the stage, and the marks.
fn load_swatches(model: &Model, staging: &Staging) -> Vec<(Rgb, String)> {
    let shown = |colour: Rgb| staging.pieces.iter().any(|piece| piece.colour == colour);
    let loads = Load::ALL.iter().map(|load| (load.colour(), load.says().to_owned()));
    let mut swatches: Vec<(Rgb, String)> = loads.filter(|(colour, _)| shown(*colour)).collect();
    for (what, words) in [("centre of mass", "centre of mass"), ("edge to tip", "edge it tips over")] {
        let mark = model.parts.iter().find(|p| p.kind == PartKind::Mark && p.name.starts_with(what));
        swatches.extend(mark.map(|mark| (mark.colour, words.to_owned())));
    }
    swatches
}

/// Explains what is on the stage and would not explain itself.
pub(super) fn legend(model: &Model, staging: &Staging) -> Legend {
    let scale = staging.deepest.map(DepthScale::reaching);
    let mut swatches: Vec<(Rgb, String)> = Vec::new();
    if staging.loads {
        return Legend { scale, swatches: load_swatches(model, staging), ..Legend::default() };
    }
    for piece in staging.pieces.iter().rev() {
        let part = &model.parts[piece.part];
        let named = match part.kind {
            PartKind::RawLayer | PartKind::Kept | PartKind::Offcut => piece.look == Look::Crumb,
            PartKind::Filling | PartKind::RawFilling | PartKind::Covering => true,
            _ => false,
        };
        let to_shave = part.kind == PartKind::Offcut && piece.look == Look::Depth;
        let named = named || (to_shave && staging.opened);
        let name = if to_shave { "still to shave off".to_owned() } else { part.material.clone() };
        let entry = (piece.colour, name);
        if named && !swatches.contains(&entry) {
            swatches.push(entry);
        }
    }
    swatches.truncate(5);
    let under_way = matches!(staging.step, Step::Carving { .. });
    Legend { scale, under_way, shortfall: staging.shortfall, ghost: staging.ghost, swatches }
}
