//! Looking at what was made, page by page, in the window.

use std::{
    fs,
    path::{Path, PathBuf},
};

use egui::{Color32, ColorImage, Key, TextureHandle, Ui};
use geom::trace::Picture;
use hayro::{
    PixmapSettings, RenderCache, RenderSettings, hayro_interpret::InterpreterSettings, hayro_syntax::Pdf,
    render, vello_cpu::color::palette::css::WHITE,
};

use crate::{
    beside::{Beside, NoResult},
    stack::Wake,
};

/// Files that can be looked at.
const ENDINGS: [&str; 6] = ["pdf", "png", "jpg", "ics", "csv", "txt"];
/// Width of a page, pixels.
const WIDTH: f32 = 1300.0;
/// Larger than this no file is looked at, bytes.
const MOST: u64 = 64 << 20;

/// Files with pages, one of which is shown.
pub struct Pages {
    files: Vec<PathBuf>,
    at: Place,
    shown: Option<(Place, Shown)>,
    pending: Option<(Place, Beside<Read>)>,
    is_whole: bool,
    wake: Option<Wake>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Place {
    file: usize,
    page: usize,
}

type Read = Result<Page, String>;

/// A page as it was read.
#[derive(Debug, Clone)]
pub struct Page {
    /// What is seen of it.
    pub seen: Seen,
    /// How many pages its file has.
    pub count: usize,
}

/// What is seen of a page.
#[derive(Debug, Clone)]
pub enum Seen {
    /// A picture.
    Picture(Box<ColorImage>),
    /// Text.
    Text(String),
}

enum Shown {
    /// A picture, with the number of pages in its file.
    Picture(TextureHandle, usize),
    Text(String),
    Failed(String),
}

impl Pages {
    /// The files in a folder, or one file; `None` where there is nothing to look at. `wake` is called when a page was read.
    pub fn of(made: &Path, wake: Option<Wake>) -> Option<Self> {
        let mut files = Vec::new();
        gather(made, &mut files);
        // What is read first at the bench comes first: the cutting sheet, then pages before pictures before tables.
        files.sort_by_key(|file| {
            let kind = ENDINGS.iter().position(|ending| has_ending(file, ending));
            (kind, !name(file).contains("cutting"), file.clone())
        });
        let at = Place { file: 0, page: 0 };
        (!files.is_empty()).then_some(Self { files, at, shown: None, pending: None, is_whole: true, wake })
    }

    /// Draws the page that is shown over the window; whether it is closed.
    pub fn show(&mut self, ctx: &egui::Context) -> bool {
        self.read(ctx);
        let room = ctx.content_rect().size() - egui::vec2(60.0, 60.0);
        let modal = egui::Modal::new("pages".into()).show(ctx, |ui| {
            ui.set_min_size(room);
            ui.set_max_size(room);
            let close = self.bar(ui);
            self.page(ui);
            close
        });
        modal.inner || modal.should_close()
    }

    /// Begins to read the page that is to be shown, and takes over what was read.
    fn read(&mut self, ctx: &egui::Context) {
        if let Some((place, page)) = &self.pending {
            let place = *place;
            let read = match page.result() {
                Err(NoResult::Waiting) => return,
                Err(NoResult::Gone) => Err("It cannot be read.".into()),
                Ok(read) => read,
            };
            let shown = match read {
                Ok(Page { seen: Seen::Picture(image), count }) => {
                    let texture = ctx.load_texture("page", *image, egui::TextureOptions::LINEAR);
                    Shown::Picture(texture, count)
                }
                Ok(Page { seen: Seen::Text(text), .. }) => Shown::Text(text),
                Err(why) => Shown::Failed(why),
            };
            (self.shown, self.pending) = (Some((place, shown)), None);
        }
        if self.shown.as_ref().is_some_and(|(place, _)| *place == self.at) {
            return;
        }
        let (file, page) = (self.files[self.at.file].clone(), self.at.page);
        let read = Beside::start(self.wake.as_ref(), move || page_of(&file, page));
        self.pending = Some((self.at, read));
        ctx.request_repaint();
    }

    /// What can be chosen, above the page; whether it is closed.
    fn bar(&mut self, ui: &mut Ui) -> bool {
        let count = match &self.shown {
            Some((place, Shown::Picture(_, count))) if place.file == self.at.file => *count,
            _ => 1,
        };
        let mut close = false;
        ui.horizontal_wrapped(|ui| {
            close = ui.button("Close").clicked();
            egui::ComboBox::from_label("File").selected_text(name(&self.files[self.at.file])).show_ui(
                ui,
                |ui| {
                    for (number, file) in self.files.iter().enumerate() {
                        if ui.selectable_label(self.at.file == number, name(file)).clicked() {
                            self.at = Place { file: number, page: 0 };
                        }
                    }
                },
            );
            let keys = |key| ui.input(|input| input.key_pressed(key));
            let (back, on) = (keys(Key::PageUp), keys(Key::PageDown));
            let button = ui.add_enabled(self.at.page > 0, egui::Button::new("Page before"));
            if button.clicked() || (back && self.at.page > 0) {
                self.at.page -= 1;
            }
            ui.label(format!("Page {} of {count}", self.at.page + 1));
            let is_more = self.at.page + 1 < count;
            if ui.add_enabled(is_more, egui::Button::new("Next page")).clicked() || (on && is_more) {
                self.at.page += 1;
            }
            ui.selectable_value(&mut self.is_whole, true, "whole page");
            ui.selectable_value(&mut self.is_whole, false, "larger");
        });
        close
    }

    fn page(&self, ui: &mut Ui) {
        let Some((_, shown)) = &self.shown else {
            ui.spinner();
            return;
        };
        let room = ui.available_size();
        match shown {
            Shown::Failed(why) => {
                ui.colored_label(crate::ink::wrong_ink(ui), why);
            }
            Shown::Text(text) => {
                egui::ScrollArea::both()
                    .auto_shrink([false, false])
                    .show(ui, |ui| ui.monospace(text.as_str()));
            }
            Shown::Picture(texture, _) => {
                let size = texture.size_vec2();
                let fit = (room.x / size.x).min(room.y / size.y);
                let scale = if self.is_whole { fit } else { (room.x / size.x).min(1.0).max(fit) };
                egui::ScrollArea::both().auto_shrink([false, false]).show(ui, |ui| {
                    ui.vertical_centered(|ui| {
                        let image = egui::Image::new((texture.id(), size * scale));
                        let response = ui.add(image.sense(egui::Sense::hover()));
                        let said = format!("Page {}", self.at.page + 1);
                        response.widget_info(|| {
                            egui::WidgetInfo::labeled(egui::WidgetType::Image, true, said.clone())
                        });
                    });
                });
            }
        }
    }
}

fn name(file: &Path) -> String {
    file.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// A page of a file, the first being 0.
///
/// # Errors
/// A file that cannot be read or drawn, or has no such page, in a sentence.
pub fn page_of(file: &Path, page: usize) -> Result<Page, String> {
    let wrong = |error: &dyn std::fmt::Display| format!("{}: {error}", file.display());
    let size = fs::metadata(file).map_err(|error| wrong(&error))?.len();
    if size > MOST {
        return Err(wrong(&"too large to be looked at here; open the folder"));
    }
    let bytes = fs::read(file).map_err(|error| wrong(&error))?;
    if has_ending(file, "pdf") {
        return pdf_page(bytes, page).map_err(|error| wrong(&error));
    }
    if has_ending(file, "png") || has_ending(file, "jpg") {
        let picture = Picture::decode(&bytes).map_err(|error| wrong(&error))?;
        let rgba = picture.image().to_rgba8();
        let size = [rgba.width() as usize, rgba.height() as usize];
        let image = ColorImage::from_rgba_unmultiplied(size, rgba.as_raw());
        return Ok(Page { seen: Seen::Picture(Box::new(image)), count: 1 });
    }
    let text = String::from_utf8_lossy(&bytes).into_owned();
    Ok(Page { seen: Seen::Text(text), count: 1 })
}

fn pdf_page(bytes: Vec<u8>, page: usize) -> Result<Page, &'static str> {
    let pdf = Pdf::new(bytes).map_err(|_| "no PDF")?;
    let pages = pdf.pages();
    let count = pages.len();
    let page = pages.get(page).ok_or("there is no such page")?;
    let (width, _) = page.render_dimensions();
    let scale = WIDTH / width.max(1.0);
    let settings = PixmapSettings { x_scale: scale, y_scale: scale, bg_color: WHITE };
    let pixmap = render(
        page,
        &RenderCache::new(),
        &InterpreterSettings::default(),
        &RenderSettings::default(),
        &settings,
    );
    let size = [usize::from(pixmap.width()), usize::from(pixmap.height())];
    // On white nothing is seen through.
    let pixels = pixmap.data().iter().map(|p| Color32::from_rgb(p.r, p.g, p.b)).collect();
    Ok(Page { seen: Seen::Picture(Box::new(ColorImage::new(size, pixels))), count })
}

fn has_ending(file: &Path, ending: &str) -> bool {
    file.extension().is_some_and(|of| of.to_string_lossy().eq_ignore_ascii_case(ending))
}

fn gather(made: &Path, files: &mut Vec<PathBuf>) {
    if made.is_file() {
        files.push(made.to_owned());
        return;
    }
    for entry in fs::read_dir(made).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            gather(&path, files);
        } else if ENDINGS.iter().any(|ending| has_ending(&path, ending)) {
            files.push(path);
        }
    }
}
