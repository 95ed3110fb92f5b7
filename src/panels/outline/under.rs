//! The picture that an outline was traced from, as it lies under the outline.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError},
};

use cakefile::{
    FieldPath,
    schema::PictureOutline,
    world::{Content, Revision},
};
use egui::{Color32, ColorImage, Pos2, TextureHandle, Ui, pos2};
use geom::{trace::Picture, units::Unit};
use glam::{DVec2, dvec2};
use plan::{
    Source,
    outline::{TracedPicture, View},
};

/// A picture as it lies under an outline: flat, however it was photographed.
#[derive(Debug, Clone)]
pub struct Under {
    /// The size of the picture, pixels.
    pub size: DVec2,
    /// The picture, no larger than is seen on a canvas.
    image: Arc<ColorImage>,
    /// Places on the outline's plane, mm, with the place in the picture that lies there, as shares of its size; row by
    /// row.
    places: Vec<(DVec2, DVec2)>,
    /// How far the trace may lie off what the picture shows, mm.
    pub error: f64,
    /// How many places there are in a row.
    columns: usize,
}

/// Pictures that were traced, so that none is traced again for an edit of something else.
#[derive(Debug, Clone, Default)]
pub struct TracedPictures(Arc<Mutex<HashMap<String, Arc<Under>>>>);

/// Places along each side.
const PLACES: usize = 33;
/// Most pixels along a side of what is shown.
const MOST: u32 = 1200;

impl TracedPictures {
    /// The picture of the outline at `path`; `None` where it cannot be read or traced.
    pub fn under(
        &self,
        outline: &PictureOutline,
        view: Option<View>,
        unit: Unit,
        path: &FieldPath,
        source: &Source,
    ) -> Option<Arc<Under>> {
        let files = source.files();
        let file = files.load(&outline.file, Content::Picture).ok()?;
        let key = format!("{outline:?} {view:?} {unit:?} {:?}", Revision::of(&file.bytes));
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner).get(&key).cloned();
        if kept.is_some() {
            return kept;
        }
        let traced = TracedPicture::of(outline, view, unit, path, &files)?;
        let under = Arc::new(Under::new(&traced, &file.bytes)?);
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() > 16 {
            // Of cakes that were edited before.
            kept.clear();
        }
        kept.insert(key, under.clone());
        Some(under)
    }
}

impl Under {
    fn new(traced: &TracedPicture, bytes: &[u8]) -> Option<Self> {
        let picture = Picture::decode(bytes).ok()?;
        let image = picture.image();
        let (width, height) = (f64::from(image.width()), f64::from(image.height()));
        let small = image.thumbnail(MOST, MOST).to_rgb8();
        let size = [small.width() as usize, small.height() as usize];
        let pixels = small.pixels().map(|p| Color32::from_rgb(p.0[0], p.0[1], p.0[2])).collect();
        let (low, high) = bounds(traced)?;
        let room = (high - low) * 0.4;
        let (low, high) = (low - room, high + room);
        let at = |i: usize| {
            let share = dvec2((i % PLACES) as f64, (i / PLACES) as f64) / (PLACES - 1) as f64;
            let p = low + (high - low) * share;
            (p, traced.pixel_of(p) / dvec2(width, height))
        };
        Some(Self {
            size: dvec2(width, height),
            image: Arc::new(ColorImage::new(size, pixels)),
            places: (0..PLACES * PLACES).map(at).collect(),
            error: traced.trace.allowed,
            columns: PLACES,
        })
    }

    /// The picture as a texture.
    pub(super) fn texture(&self, ui: &Ui) -> TextureHandle {
        let key = Arc::as_ptr(&self.image) as usize;
        let id = egui::Id::new(("picture under", key));
        let kept = ui.data(|data| data.get_temp::<TextureHandle>(id));
        kept.unwrap_or_else(|| {
            let image = ColorImage::clone(&self.image);
            let texture = ui.ctx().load_texture("picture under", image, egui::TextureOptions::LINEAR);
            ui.data_mut(|data| data.insert_temp(id, texture.clone()));
            texture
        })
    }

    /// Draws it, with places brought onto the screen by `at`.
    pub(super) fn paint(&self, ui: &Ui, painter: &egui::Painter, at: impl Fn(DVec2) -> Pos2) {
        let texture = self.texture(ui);
        let mut mesh = egui::Mesh::with_texture(texture.id());
        for (p, share) in &self.places {
            let uv = pos2(share.x as f32, share.y as f32);
            // Pale, so that the lines over it are seen.
            let colour = Color32::from_white_alpha(120);
            mesh.vertices.push(egui::epaint::Vertex { pos: at(*p), uv, color: colour });
        }
        let inside = |i: usize| {
            let share = self.places[i].1;
            share.cmpge(DVec2::ZERO).all() && share.cmple(DVec2::ONE).all()
        };
        let rows = self.places.len() / self.columns;
        for row in 0..rows - 1 {
            for column in 0..self.columns - 1 {
                let a = row * self.columns + column;
                let corners = [a, a + 1, a + self.columns, a + self.columns + 1];
                if corners.iter().all(|&i| inside(i)) {
                    let [a, b, c, d] = corners.map(|i| i as u32);
                    mesh.add_triangle(a, b, c);
                    mesh.add_triangle(c, b, d);
                }
            }
        }
        painter.add(egui::Shape::mesh(mesh));
    }
}

/// The room that the outline takes where it stands, mm.
fn bounds(traced: &TracedPicture) -> Option<(DVec2, DVec2)> {
    let lines = plan::outline::flattened(&traced.trace.outline().path, geom::Tolerance::PREVIEW);
    let points = || lines.iter().flatten().map(|p| *p + traced.moved);
    Some((points().reduce(DVec2::min)?, points().reduce(DVec2::max)?))
}
