//! The window without a cake: what one can do, and a new cake made of what the maker has.

mod examples;
mod new_cake;

use std::path::{Path, PathBuf};

use egui::{RichText, Ui};
use geom::units::Unit;

use crate::{
    files::{Chosen, FileList},
    recovery::LeftBehind,
    settings::Settings,
    stack::Wake,
};
pub use examples::{EXAMPLES, Example};
pub use new_cake::{Begun, Made, NewCake};

/// Width of the page, points.
const WIDTH: f32 = 780.0;

/// What was chosen.
#[derive(Debug, Clone)]
pub enum Choice {
    /// Choose a cake file to open.
    Open,
    /// Open this one.
    Recent(PathBuf),
    /// Look at an example.
    Example(&'static Example),
    /// Begin the cake that explains every part.
    Starter,
    /// Begin this new cake.
    New(NewCake),
    /// Go on with what a window left behind.
    Recover(LeftBehind),
    /// Forget it.
    Forget(LeftBehind),
    /// Go back to the cake that is open.
    Back,
}

/// What is remembered of this page from frame to frame.
#[derive(Clone, Default)]
pub struct BeginPage {
    new: NewCake,
    list: Option<(usize, FileList)>,
    folder: PathBuf,
    /// Files are asked for by the system's own dialog where this is there; it is called once one was chosen.
    pub asks_system: Option<Wake>,
}

impl BeginPage {
    /// The page, with files chosen from `folder` first.
    pub fn new(folder: &Path) -> Self {
        Self { folder: folder.to_owned(), ..Self::default() }
    }

    /// Takes a file that was dropped on the window; whether a cake can be made of it.
    pub fn take_file(&mut self, file: &Path) -> bool {
        self.new.take_file(file)
    }

    /// Draws the page.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        settings: &Settings,
        left_behind: &[LeftBehind],
        can_go_back: bool,
    ) -> Option<Choice> {
        let mut choice = None;
        if let Some((number, list)) = &mut self.list {
            match list.show(ui.ctx()) {
                Chosen::Open => {}
                Chosen::Cancelled => self.list = None,
                Chosen::File(path) => {
                    self.folder = path.parent().unwrap_or(Path::new("")).to_owned();
                    self.new.files[*number] = Some(path);
                    self.list = None;
                }
            }
        }
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            let aside = ((ui.available_width() - WIDTH) / 2.0).max(12.0);
            ui.horizontal_top(|ui| {
                ui.add_space(aside);
                ui.vertical(|ui| {
                    ui.set_width(WIDTH.min(ui.available_width() - 12.0));
                    self.cards(ui, settings, left_behind, can_go_back, &mut choice);
                });
            });
        });
        choice
    }

    fn cards(
        &mut self,
        ui: &mut Ui,
        settings: &Settings,
        left_behind: &[LeftBehind],
        can_go_back: bool,
        choice: &mut Option<Choice>,
    ) {
        ui.add_space(18.0);
        ui.label(RichText::new("What would you like to make?").size(26.0).strong());
        ui.label(
            RichText::new("Begin a new cake from what you have, open one, or look at an example.").size(15.0),
        );
        if can_go_back && ui.button("Back to the cake").clicked() {
            *choice = Some(Choice::Back);
        }
        ui.add_space(8.0);
        for left in left_behind {
            offer(ui, left, choice);
        }
        card(ui, "1. A new cake", |ui| self.new_cake(ui, choice));
        card(ui, "2. A cake of yours", |ui| {
            if ui.button("Open a cake…").clicked() {
                *choice = Some(Choice::Open);
            }
            for cake in &settings.recent {
                let name = cake.file_name().unwrap_or_default().to_string_lossy();
                if ui.link(name).on_hover_text(cake.display().to_string()).clicked() {
                    *choice = Some(Choice::Recent(cake.clone()));
                }
            }
            if settings.recent.is_empty() {
                ui.weak("Cakes that you open or save are listed here.");
            }
        });
        card(ui, "3. An example", |ui| {
            egui::Grid::new("examples").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
                for example in EXAMPLES {
                    if ui.button(example.name).clicked() {
                        *choice = Some(Choice::Example(example));
                    }
                    ui.label(example.help);
                    ui.end_row();
                }
                if ui.button("First cake").clicked() {
                    *choice = Some(Choice::Starter);
                }
                ui.label("A plain cake of two tiers whose file explains every part.");
                ui.end_row();
            });
        });
    }

    fn new_cake(&mut self, ui: &mut Ui, choice: &mut Option<Choice>) {
        ui.horizontal_wrapped(|ui| {
            for made in Made::ALL {
                ui.selectable_value(&mut self.new.made, made, made.name()).on_hover_text(made.help());
            }
        });
        ui.label(self.new.made.help());
        egui::Grid::new("new cake").num_columns(2).spacing([12.0, 6.0]).show(ui, |ui| {
            let name = ui.label("Name");
            ui.add(egui::TextEdit::singleline(&mut self.new.name).desired_width(220.0)).labelled_by(name.id);
            ui.end_row();
            ui.label("Measured in");
            ui.horizontal(|ui| {
                for (unit, words) in
                    [(Unit::Millimetre, "mm"), (Unit::Centimetre, "cm"), (Unit::Inch, "inches")]
                {
                    ui.selectable_value(&mut self.new.unit, unit, words);
                }
            });
            ui.end_row();
            for (number, (what, endings)) in self.new.made.files().iter().enumerate() {
                ui.label(*what);
                ui.horizontal(|ui| {
                    let button = ui.button("Choose…");
                    let said = format!("Choose the {}", what.to_lowercase());
                    button.widget_info(|| {
                        egui::WidgetInfo::labeled(egui::WidgetType::Button, true, said.clone())
                    });
                    if button.clicked() {
                        let list = FileList::to_open(&said, &self.folder, endings);
                        self.list = Some((number, list.by_system(self.asks_system.as_ref())));
                    }
                    let chosen = self.new.files[number].as_deref().and_then(Path::file_name);
                    ui.label(chosen.unwrap_or_default().to_string_lossy());
                });
                ui.end_row();
            }
            if self.new.made.needs_height() {
                let label = ui.label("Height of the finished cake");
                ui.add(egui::TextEdit::singleline(&mut self.new.height).desired_width(100.0))
                    .labelled_by(label.id);
                ui.end_row();
            }
        });
        let missing = self.new.missing();
        ui.horizontal(|ui| {
            if ui.add_enabled(missing.is_none(), egui::Button::new("Begin")).clicked() {
                *choice = Some(Choice::New(self.new.clone()));
            }
            if let Some(missing) = missing {
                ui.weak(missing);
            }
        });
    }
}

/// A part of the page with its heading.
fn card(ui: &mut Ui, heading: &str, inside: impl FnOnce(&mut Ui)) {
    let fill = ui.visuals().extreme_bg_color;
    egui::Frame::group(ui.style()).fill(fill).inner_margin(14.0).corner_radius(8.0).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(heading).size(17.0).strong());
        ui.add_space(4.0);
        inside(ui);
    });
    ui.add_space(10.0);
}

fn offer(ui: &mut Ui, left: &LeftBehind, choice: &mut Option<Choice>) {
    egui::Frame::group(ui.style()).show(ui, |ui| {
        let name = left.cake.file_name().unwrap_or_default().to_string_lossy();
        ui.label(RichText::new(format!("{name} was not saved when the program ended.")).strong());
        ui.horizontal(|ui| {
            if ui.button("Go on with it").clicked() {
                *choice = Some(Choice::Recover(left.clone()));
            }
            if ui.button("Forget it").clicked() {
                *choice = Some(Choice::Forget(left.clone()));
            }
        });
    });
}
