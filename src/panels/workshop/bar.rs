//! The bar at the top: menus, the steps of the making, and whether everything is saved.

use cakefile::Severity;
use egui::{Key, KeyboardShortcut, Modifiers, RichText, Ui};

use super::{Shown, Tab, Workshop};
use crate::command::{COMMANDS, Command, Menu};

/// Height of a row of the bar, points.
const HEIGHT: f32 = 28.0;
/// In a narrower window the steps have a row of their own, points.
const NARROW: f32 = 1200.0;

/// The keys of the panels, in the order of the bar.
const KEYS: [Key; 10] = [
    Key::Num1,
    Key::Num2,
    Key::Num3,
    Key::Num4,
    Key::Num5,
    Key::Num6,
    Key::Num7,
    Key::Num8,
    Key::Num9,
    Key::Num0,
];

impl Workshop {
    /// Ctrl and a number shows a panel.
    pub(super) fn tab_keys(&mut self, ctx: &egui::Context) {
        for (tab, key) in Tab::ALL.into_iter().zip(KEYS) {
            let keys = KeyboardShortcut::new(Modifiers::COMMAND, key);
            if ctx.input_mut(|input| input.consume_shortcut(&keys)) {
                self.tab = tab;
            }
        }
    }

    /// Draws the bar and gives its height, points.
    pub(super) fn bar(&mut self, root: &mut Ui, shown: &Shown<'_>) -> f32 {
        let mut asked = None;
        let has_steps = self.session.is_some() && !self.is_beginning;
        let is_narrow = has_steps && root.available_width() < NARROW;
        let rows = if is_narrow { 2.0 } else { 1.0 };
        let inside = |ui: &mut Ui| {
            let menus = |ui: &mut Ui, workshop: &Self, asked: &mut Option<Command>| {
                for menu in Menu::ALL {
                    ui.menu_button(menu.name(), |ui| workshop.menu(ui, menu, asked));
                }
            };
            if is_narrow {
                ui.horizontal(|ui| {
                    menus(ui, self, &mut asked);
                    ui.separator();
                    self.state(ui, shown, &mut asked);
                });
                ui.horizontal(|ui| self.tabs(ui, shown));
                return;
            }
            ui.horizontal_centered(|ui| {
                menus(ui, self, &mut asked);
                if has_steps {
                    ui.separator();
                    self.tabs(ui, shown);
                    ui.separator();
                    self.state(ui, shown, &mut asked);
                }
            });
        };
        // In a window that is narrower still what does not fit is reached by scrolling.
        let scrolled = |ui: &mut Ui| {
            egui::ScrollArea::horizontal()
                .scroll_bar_visibility(egui::scroll_area::ScrollBarVisibility::AlwaysHidden)
                .show(ui, inside);
        };
        let bar = egui::Panel::top("bar").resizable(false).exact_size(rows * HEIGHT);
        let height = bar.show(root, scrolled).response.rect.height();
        if let Some(command) = asked {
            self.run(command);
        }
        height
    }

    fn menu(&self, ui: &mut Ui, menu: Menu, asked: &mut Option<Command>) {
        let session = self.session.as_ref();
        for entry in COMMANDS.iter().filter(|entry| entry.menu == menu) {
            let keys = entry.keys.map(|keys| ui.ctx().format_shortcut(&keys)).unwrap_or_default();
            let button = egui::Button::new(entry.command.name(session)).shortcut_text(keys);
            let button = ui.add_enabled(entry.command.is_possible(session), button).on_hover_text(entry.help);
            if button.clicked() {
                *asked = Some(entry.command);
                ui.close();
            }
        }
    }

    fn tabs(&mut self, ui: &mut Ui, shown: &Shown<'_>) {
        for (number, tab) in Tab::ALL.into_iter().enumerate() {
            let name = match tab {
                Tab::ToFix => match open(shown) {
                    0 => tab.name().to_owned(),
                    count => format!("{} ({count})", tab.name()),
                },
                _ => tab.name().to_owned(),
            };
            let button = ui.selectable_label(self.tab == tab, name);
            if button.on_hover_text(format!("Ctrl {}", (number + 1) % 10)).clicked() {
                self.tab = tab;
            }
        }
    }

    /// Undo and redo, and whether everything is saved.
    fn state(&self, ui: &mut Ui, shown: &Shown<'_>, asked: &mut Option<Command>) {
        let Some(session) = &self.session else { return };
        for command in [Command::Undo, Command::Redo] {
            let name = if command == Command::Undo { "Undo" } else { "Redo" };
            let button = ui.add_enabled(command.is_possible(Some(session)), egui::Button::new(name).small());
            if button.on_hover_text(command.name(Some(session))).clicked() {
                *asked = Some(command);
            }
        }
        let file = session.path().file_name().unwrap_or_default().to_string_lossy();
        let saved = if session.is_new() || session.is_unsaved() { "not saved" } else { "saved" };
        ui.label(RichText::new(format!("{file}: {saved}")).weak())
            .on_hover_text(session.path().display().to_string());
        if let Some(since) = self.saving_since() {
            ui.spinner();
            // A disk that answers is done before this is read.
            ui.label(format!("saving, {} s", since.as_secs()))
                .on_hover_text("The disk is slow. The cake can be changed meanwhile.");
            ui.ctx().request_repaint_after(std::time::Duration::from_millis(500));
        }
        if shown.is_planning {
            ui.spinner();
            ui.weak("planning");
        }
    }
}

/// How many things are open.
fn open(shown: &Shown<'_>) -> usize {
    let outcome = shown.outcome;
    let wrong = outcome.problems.iter().filter(|problem| problem.severity == Severity::Error).count();
    let found = outcome.planned.as_ref().map_or(0, |planned| planned.overview.decide.len());
    wrong + usize::from(outcome.failed.is_some()) + found
}
