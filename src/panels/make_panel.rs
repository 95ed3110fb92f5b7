//! What is made of the cake: for the bench, for the client, for the shop, each into a folder that is opened from here.

use std::path::PathBuf;

use egui::{RichText, Ui};

/// Something that is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Product {
    /// The bench kit.
    Kit,
    /// The pages of a quote.
    Quote,
    /// What to do when.
    Timetable,
    /// The shopping list.
    Shopping,
    /// Report, solids and mock-up.
    Report,
    /// A picture of the finished cake.
    Picture,
    /// A sheet of pictures from four sides.
    Sheet,
}

impl Product {
    /// All, in the order of the work.
    pub const ALL: [Self; 7] =
        [Self::Quote, Self::Picture, Self::Sheet, Self::Shopping, Self::Timetable, Self::Kit, Self::Report];

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Kit => "Bench kit",
            Self::Quote => "Quote",
            Self::Timetable => "Timetable",
            Self::Shopping => "Shopping list",
            Self::Report => "Report and mock-up",
            Self::Picture => "Picture",
            Self::Sheet => "Sheet of pictures",
        }
    }

    /// What it holds.
    pub fn help(self) -> &'static str {
        match self {
            Self::Kit => {
                "Templates at true size, the cutting sheet, and the printed parts that are worth printing."
            }
            Self::Quote => "A page for the client, and a bench page with the costs.",
            Self::Timetable => "What to do when, as a calendar file.",
            Self::Shopping => "Everything to buy, as a table (CSV).",
            Self::Report => {
                "The figures, the finished and the carved solid (STL), and a mock-up (OBJ, GLB, USDZ)."
            }
            Self::Picture => "The finished cake, without offcut and measures (PNG).",
            Self::Sheet => "Raw, carved and finished from four sides (PNG).",
        }
    }
}

/// How far something is.
#[derive(Debug, Clone, PartialEq)]
pub enum Progress {
    /// It is being made: what is done, and how much of it.
    Running {
        /// In a few words.
        what: String,
        /// From 0 to 1; `None` where it is not known.
        done: Option<f32>,
    },
    /// It was made: the file or the folder, and what was said.
    Made {
        /// The file or the folder.
        made: PathBuf,
        /// What the program said.
        said: String,
    },
    /// It could not be made, and why.
    Failed(String),
}

/// What is asked for here.
#[derive(Debug, Clone, PartialEq)]
pub enum MakeAsked {
    /// Make this.
    Make(Product),
    /// Stop making this.
    Stop(Product),
    /// Show a folder.
    OpenFolder(PathBuf),
    /// Look at the pages of this file, or of those in this folder.
    Look(PathBuf),
}

/// Draws the panel. `progress` tells how far each product is; `is_saved` whether the file holds what is shown.
pub fn show(
    ui: &mut Ui,
    progress: impl Fn(Product) -> Option<Progress>,
    is_saved: bool,
) -> Option<MakeAsked> {
    let mut asked = None;
    ui.label("Everything is made of the saved cake and lies in folders beside it.");
    if !is_saved {
        ui.label(RichText::new("The cake is saved first.").strong());
    }
    for product in Product::ALL {
        let now = progress(product);
        egui::Frame::group(ui.style()).show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.horizontal_wrapped(|ui| {
                ui.strong(product.name());
                if matches!(now, Some(Progress::Running { .. })) {
                    if ui.button("Stop").clicked() {
                        asked = Some(MakeAsked::Stop(product));
                    }
                } else if ui.button(format!("Make the {}", product.name().to_lowercase())).clicked() {
                    asked = Some(MakeAsked::Make(product));
                }
            });
            ui.label(product.help());
            match &now {
                Some(Progress::Running { what, done }) => {
                    let bar = egui::ProgressBar::new(done.unwrap_or(0.0)).text(what.as_str());
                    ui.add(if done.is_none() { bar.animate(true) } else { bar });
                }
                Some(Progress::Made { made, said }) => {
                    let folder = if made.is_dir() { made } else { made.parent().unwrap_or(made) };
                    ui.horizontal_wrapped(|ui| {
                        ui.label(RichText::new("Made.").strong());
                        let button = ui.button("Look at it");
                        let named = format!("Look at the {}", product.name().to_lowercase());
                        button.widget_info(|| {
                            egui::WidgetInfo::labeled(egui::WidgetType::Button, true, named.clone())
                        });
                        if button.clicked() {
                            asked = Some(MakeAsked::Look(made.clone()));
                        }
                        if ui.button("Open the folder").on_hover_text(folder.display().to_string()).clicked()
                        {
                            asked = Some(MakeAsked::OpenFolder(folder.to_owned()));
                        }
                    });
                    if !said.trim().is_empty() {
                        egui::CollapsingHeader::new("What it says").id_salt(product.name()).show(ui, |ui| {
                            egui::ScrollArea::both()
                                .max_height(260.0)
                                .show(ui, |ui| ui.monospace(said.as_str()));
                        });
                    }
                }
                Some(Progress::Failed(why)) => {
                    ui.label(RichText::new(why).color(crate::ink::wrong_ink(ui)));
                }
                None => {}
            }
        });
    }
    asked
}
