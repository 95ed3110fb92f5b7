//! More than one picture: the contact sheet and the turntable.

use glam::DVec3;
use image::{
    Delay, Frame, RgbaImage,
    codecs::gif::{GifEncoder, Repeat},
    imageops,
};

use super::{
    Background, Lens, Picture, PictureOptions, Showing, Simplified, Stage, Studio, View, ViewerError,
    compose::{self, Anchor, Canvas, Legend},
    picture, scene,
};
use formats::{model::Model, text::Face};

/// Columns of the contact sheet.
const VIEWS: [(View, Lens, &str); 4] = [
    (View::Front, Lens::Orthographic, "Front"),
    (View::Side, Lens::Orthographic, "Side"),
    (View::Top, Lens::Orthographic, "Top"),
    (View::ThreeQuarter, Lens::Perspective, "Three-quarter"),
];

/// Rows of the contact sheet.
const STAGES: [(Stage, &str); 3] =
    [(Stage::Raw, "Raw"), (Stage::Carved, "Carved"), (Stage::Finished, "Finished")];

impl Studio {
    /// The whole cake on one sheet: front, side, top and three-quarter view of the raw, carved and finished
    /// cake, and what had to be simplified for the graphics card. The square views are all at one scale. Of the
    /// options, view, lens, stage and dimensions are set by the sheet.
    ///
    /// # Errors
    /// [`ViewerError`], with what to change; a sheet narrower than 640 pixels cannot be read.
    pub fn contact_sheet(
        &mut self,
        model: &Model,
        options: &PictureOptions,
    ) -> Result<(RgbaImage, Simplified), ViewerError> {
        options.check_sheet("a contact sheet")?;
        let sheet = Sheet::of(options);
        let around = bounding_cylinder(model, options)?;
        let ground = picture::ground_pixel(options.background);
        let mut image = RgbaImage::from_pixel(options.size.0, options.size.1, ground);
        let mut explained = Legend::default();
        let mut simplified = Simplified::default();
        for (row, (stage, _)) in STAGES.into_iter().enumerate() {
            let showing = Showing { stage, ..options.showing.clone() };
            let row_legend = picture::legend(model, &scene::build_scene(model, &showing)?);
            explained.style = row_legend.style;
            explained.scale = explained.scale.or(row_legend.scale);
            explained.shortfall |= row_legend.shortfall;
            explained.ghost |= row_legend.ghost;
            for (column, (view, lens, _)) in VIEWS.into_iter().enumerate() {
                let cell = PictureOptions {
                    view,
                    lens,
                    size: sheet.cell,
                    showing: showing.clone(),
                    // A shadow on the ground would end at the edge of its cell.
                    background: Background::Transparent,
                    legend: false,
                    dimensions: false,
                    ..options.clone()
                };
                let Picture { image: drawn, simplified: cell_simplified, .. } =
                    self.picture_around(model, &cell, &around)?;
                simplified = simplified.worse(cell_simplified);
                let (x, y) = sheet.corner(row, column);
                imageops::overlay(&mut image, &drawn, x.into(), y.into());
            }
        }
        Ok((sheet.annotate(&image, model, options.legend.then_some(&explained)), simplified))
    }

    /// Turns the cake once round in `steps` pictures and hands each to `each` with its number, from 0. Returns
    /// what had to be simplified for the graphics card.
    ///
    /// # Errors
    /// [`ViewerError`] from drawing or from `each`; [`ViewerError::Option`] unless there are 2 to 720 steps.
    pub fn turntable(
        &mut self,
        model: &Model,
        options: &PictureOptions,
        steps: u32,
        mut each: impl FnMut(u32, RgbaImage) -> Result<(), ViewerError>,
    ) -> Result<Simplified, ViewerError> {
        if !(2..=720).contains(&steps) {
            let fix = "it must be 2 to 720".to_owned();
            return Err(ViewerError::Option { what: "steps", given: steps.to_string(), fix });
        }
        let (start, elevation) = options.view.bearing_and_elevation();
        let around = bounding_cylinder(model, options)?;
        let mut simplified = Simplified::default();
        for step in 0..steps {
            let bearing = start + 360.0 * f64::from(step) / f64::from(steps);
            let view = View::From { bearing, elevation };
            let turned = PictureOptions { view, ..options.clone() };
            let picture = self.picture_around(model, &turned, &around)?;
            simplified = simplified.worse(picture.simplified);
            each(step, picture.image)?;
        }
        Ok(simplified)
    }
}

/// Pictures as one endless animated GIF.
///
/// # Errors
/// [`ViewerError::Encode`].
pub fn animate(pictures: Vec<RgbaImage>, milliseconds_each: u32) -> Result<Vec<u8>, ViewerError> {
    let mut bytes = Vec::new();
    let mut encoder = GifEncoder::new_with_speed(&mut bytes, 10);
    encoder.set_repeat(Repeat::Infinite)?;
    let delay = Delay::from_numer_denom_ms(milliseconds_each, 1);
    for picture in pictures {
        encoder.encode_frame(Frame::from_parts(picture, 0, 0, delay))?;
    }
    drop(encoder);
    Ok(bytes)
}

/// Points on a cylinder around everything that any stage shows, mm, so that all pictures share a scale.
fn bounding_cylinder(model: &Model, options: &PictureOptions) -> Result<Vec<DVec3>, ViewerError> {
    let scene = scene::build_scene(model, &options.showing)?;
    let shown = scene.pieces.iter().flat_map(|piece| &piece.surface.mesh.positions);
    let parts = model.parts.iter().flat_map(|part| &part.mesh.positions);
    let (mut radius, mut low, mut high) = (0.0f64, f64::INFINITY, f64::NEG_INFINITY);
    for p in shown.chain(parts) {
        radius = radius.max(p.truncate().length());
        low = low.min(p.z);
        high = high.max(p.z);
    }
    let around = (0..72).map(|i| f64::from(i * 5).to_radians().sin_cos());
    Ok(around.flat_map(|(sin, cos)| [low, high].map(|z| DVec3::new(radius * cos, radius * sin, z))).collect())
}

/// Where things lie on a contact sheet, pixels.
struct Sheet {
    cell: (u32, u32),
    left: u32,
    top: u32,
    unit: f32,
}

impl Sheet {
    fn of(options: &PictureOptions) -> Self {
        let (width, height) = options.size;
        let unit = height as f32 / 1000.0;
        let left = (150.0 * unit) as u32;
        let top = (130.0 * unit) as u32;
        let right = if options.legend { (compose::LEGEND_WIDTH * height as f32) as u32 } else { left / 3 };
        let cell = ((width - left - right) / 4, (height - top - (30.0 * unit) as u32) / 3);
        Self { cell, left, top, unit }
    }

    fn corner(&self, row: usize, column: usize) -> (u32, u32) {
        (self.left + self.cell.0 * column as u32, self.top + self.cell.1 * row as u32)
    }

    fn annotate(&self, image: &RgbaImage, model: &Model, legend: Option<&Legend>) -> RgbaImage {
        let mut canvas = Canvas::on(image);
        let u = self.unit;
        canvas.text((40.0 * u, 62.0 * u), 40.0 * u, Face::Bold, Anchor::Left, compose::INK, &model.name);
        let size = 24.0 * u;
        for (column, (_, _, name)) in VIEWS.iter().enumerate() {
            let (x, y) = self.corner(0, column);
            let place = (x as f32 + self.cell.0 as f32 / 2.0, y as f32 - 12.0 * u);
            canvas.text(place, size, Face::Bold, Anchor::Middle, compose::FAINT, name);
        }
        for (row, (_, name)) in STAGES.iter().enumerate() {
            let (_, y) = self.corner(row, 0);
            let place = (40.0 * u, y as f32 + self.cell.1 as f32 / 2.0);
            canvas.text(place, size, Face::Bold, Anchor::Left, compose::FAINT, name);
        }
        if let Some(legend) = legend {
            compose::draw_legend(&mut canvas, legend);
        }
        canvas.finish()
    }
}
