//! Forms: every key of a table with its value, its help and what is wrong with it.
//!
//! They are made from the schema, so that whatever a cake file can say can be said here, in the same words. An empty
//! field is a key that is left out. What is typed goes into the text as it is typed, with its unit; what is wrong with
//! it is told at the field in the words of the file's own check.

mod defaults;
mod exclusive;
mod fields;
mod lists;

use cakefile::{
    Diagnostic, FieldPath, Severity,
    edit::{Document, Edit, EditValue},
};
use egui::{Response, RichText, Ui};

use crate::{
    asked::Asked,
    ink::wrong_ink,
    schema::{Entry, Kind, Scalar, Schema, Table},
    words::{done_here, label},
};
pub use defaults::{default_of, length};
pub use exclusive::{Exclusive, exclusive};
use fields::Field;

/// What forms show.
#[derive(Clone, Copy)]
pub struct FormView<'a> {
    /// The document.
    pub document: &'a Document,
    /// What is wrong with it.
    pub problems: &'a [Diagnostic],
    /// Names of materials that can be chosen.
    pub materials: &'a [String],
    /// The value that is selected.
    pub selected: Option<&'a FieldPath>,
}

/// A form that collects what is asked for in it.
pub struct Form<'a, 'out> {
    view: FormView<'a>,
    schema: &'static Schema,
    asked: &'out mut Vec<Asked>,
    /// Where the form stands: the same value may be shown in two forms.
    place: &'static str,
}

/// Width of the labels, points.
const LABEL: f32 = 116.0;

impl<'a, 'out> Form<'a, 'out> {
    /// A form of a cake file.
    pub fn new(view: FormView<'a>, asked: &'out mut Vec<Asked>) -> Self {
        Self { view, schema: Schema::of_cakes(), asked, place: "form" }
    }

    /// The same in another place of the window.
    #[must_use]
    pub fn placed(self, place: &'static str) -> Self {
        Self { place, ..self }
    }

    /// These keys of the top of the file.
    pub fn keys(&mut self, ui: &mut Ui, keys: &[&str]) {
        for key in keys {
            if let Some(entry) = self.schema.top().entries.iter().find(|entry| entry.key == *key) {
                self.entry(ui, &FieldPath::root().key(key), entry);
            }
        }
    }

    /// The table at `path`, by its name in the schema.
    pub fn table(&mut self, ui: &mut Ui, path: &FieldPath, name: &str) {
        self.problems(ui, path);
        let table = self.schema.table(name);
        let groups = exclusive(name);
        for group in groups {
            self.choice_of_kind(ui, path, table, group);
        }
        let in_group = |key: &str| groups.iter().any(|group| group.holds(key));
        for entry in table.entries.iter().filter(|entry| !in_group(&entry.key)) {
            self.entry(ui, &path.key(&entry.key), entry);
        }
    }

    /// One key of the table at `path`, by the table's name in the schema.
    pub fn key(&mut self, ui: &mut Ui, path: &FieldPath, table: &str, key: &str) {
        if let Some(entry) = self.schema.table(table).entries.iter().find(|entry| entry.key == key) {
            self.entry(ui, &path.key(key), entry);
        }
    }

    /// The two coordinates of a point.
    pub fn point(&mut self, ui: &mut Ui, path: &FieldPath, label: &str) {
        self.row(ui, label, "", |ui, form| {
            form.row_fields(ui, path, label, "", &Kind::Scalar(Scalar::Length), 2)
        });
        self.problems(ui, path);
    }

    /// Which of several keys is given, and the value of that one.
    fn choice_of_kind(&mut self, ui: &mut Ui, path: &FieldPath, table: &Table, group: &Exclusive) {
        let given = group.given(self.view.document, path);
        let mut chosen = given;
        self.row(ui, group.label, group.help, |ui, _| {
            let name = |choice: Option<usize>| choice.map_or("none yet".to_owned(), |i| group.name(i));
            egui::ComboBox::from_id_salt((path.to_string(), group.label))
                .selected_text(name(given))
                .show_ui(ui, |ui| {
                    for i in 0..group.choices.len() {
                        let help = group.help_of(i, table);
                        ui.selectable_value(&mut chosen, Some(i), group.name(i)).on_hover_text(help);
                    }
                })
                .response
        });
        if chosen != given
            && let Some(choice) = chosen
        {
            let edit = group.switched(self.view.document, path, table, self.schema, given, choice);
            self.asked.push(Asked::edit(format!("{}: {}", group.label, group.name(choice)), edit));
        }
        let Some(given) = given else { return };
        for key in group.choices[given] {
            if let Some(entry) = table.entries.iter().find(|entry| entry.key == *key) {
                self.entry(ui, &path.key(key), entry);
            }
        }
    }

    /// One key.
    fn entry(&mut self, ui: &mut Ui, path: &FieldPath, entry: &Entry) {
        let label = label(&entry.key);
        match &entry.kind {
            Kind::Scalar(scalar) => {
                let (help, is_required) = (&entry.help, entry.is_required);
                self.scalar(ui, Field { path, label: &label, help, scalar, is_required });
            }
            Kind::Row(one, count) => self.values_in_a_row(ui, path, (&label, &entry.help), one, *count),
            Kind::List(one) => self.list(ui, path, (&label, &entry.help), one),
            Kind::Map(one) => self.map(ui, path, (&label, &entry.help), one),
            Kind::Table(name) => self.inner_table(ui, path, entry, name),
        }
    }

    fn inner_table(&mut self, ui: &mut Ui, path: &FieldPath, entry: &Entry, name: &str) {
        let title = label(&entry.key);
        if self.view.document.value(path).is_none() {
            let add = self.row(ui, &title, &entry.help, |ui, _| {
                ui.button(format!("Add {}", title.to_lowercase())).on_hover_text(&entry.help)
            });
            if add.clicked() {
                let value = default_of(&entry.kind, &entry.key, self.schema, self.view.document);
                self.insert(format!("{title} added"), path, value);
            }
            self.problems(ui, path);
            return;
        }
        self.section(ui, path, &title, &entry.help, true, |form, ui| {
            form.table(ui, path, name);
            if !entry.is_required && ui.small_button(format!("Leave {} out", title.to_lowercase())).clicked()
            {
                form.remove(format!("{title} left out"), path);
            }
        });
    }

    /// A part that can be folded away. Folded where `path` says so, with the mark of the worst that is wrong in it.
    fn section(
        &mut self,
        ui: &mut Ui,
        path: &FieldPath,
        title: &str,
        help: &str,
        open: bool,
        inside: impl FnOnce(&mut Self, &mut Ui),
    ) {
        let wrong = self.view.problems.iter().any(|problem| {
            problem.severity == Severity::Error && problem.path.starts_with(path) && problem.path != *path
        });
        let selected = self.view.selected.is_some_and(|selected| selected.starts_with(path));
        let title = if wrong { RichText::new(title).color(wrong_ink(ui)) } else { RichText::new(title) };
        let header = egui::CollapsingHeader::new(title).id_salt(path.to_string()).default_open(open);
        // What was selected elsewhere is shown.
        let header = if selected && self.is_newly_selected(ui) { header.open(Some(true)) } else { header };
        header.show(ui, |ui| inside(self, ui)).header_response.on_hover_text(help);
    }

    /// Whether what is selected was something else in the last frame.
    fn is_newly_selected(&self, ui: &Ui) -> bool {
        let id = egui::Id::new("selected before");
        let before: Option<Option<FieldPath>> = ui.data(|data| data.get_temp(id));
        before != Some(self.view.selected.cloned())
    }

    /// Notes what is selected now, after all forms of a frame were drawn.
    pub fn note_selected(ui: &Ui, selected: Option<&FieldPath>) {
        ui.data_mut(|data| data.insert_temp(egui::Id::new("selected before"), selected.cloned()));
    }

    /// A label with something behind it; what `inside` gives is called by the label.
    fn row(
        &mut self,
        ui: &mut Ui,
        label: &str,
        help: &str,
        inside: impl FnOnce(&mut Ui, &mut Self) -> Response,
    ) -> Response {
        ui.horizontal(|ui| {
            let name = ui
                .scope(|ui| {
                    ui.set_width(LABEL);
                    ui.add(egui::Label::new(label).wrap()).on_hover_text(help)
                })
                .inner;
            inside(ui, self).labelled_by(name.id)
        })
        .inner
    }

    /// What is wrong with the value at `path` itself.
    fn problems(&self, ui: &mut Ui, path: &FieldPath) {
        for problem in self.view.problems.iter().filter(|problem| problem.path == *path) {
            let ink = if problem.severity == Severity::Error {
                wrong_ink(ui)
            } else {
                ui.visuals().weak_text_color()
            };
            let fix = problem.help.as_deref().and_then(done_here);
            let fix = fix.map_or_else(String::new, |help| format!(" – {help}"));
            ui.label(RichText::new(format!("{}{fix}", problem.message)).color(ink).small());
        }
    }

    fn set(&mut self, label: impl Into<String>, path: &FieldPath, value: EditValue) {
        self.asked.push(Asked::edit(label, Edit::Set { path: path.clone(), value }));
    }

    fn insert(&mut self, label: impl Into<String>, path: &FieldPath, value: EditValue) {
        self.asked.push(Asked::edit(label, Edit::Insert { path: path.clone(), value }));
    }

    fn remove(&mut self, label: impl Into<String>, path: &FieldPath) {
        self.asked.push(Asked::edit(label, Edit::Remove { path: path.clone() }));
    }
}
