//! Lists: of tables, of points, of single values, and of values under names that the maker chooses.

use cakefile::{
    FieldPath,
    edit::{Edit, EditValue},
};
use egui::Ui;

use super::{
    Form,
    defaults::default_of,
    fields::{Field, last_key},
};
use crate::{asked::Asked, schema::Kind, words};

/// Lists of which the last stands on top, as in the stack: shown that way round.
fn is_stacked(thing: &str) -> bool {
    matches!(thing, "tier" | "layer" | "outline")
}

impl Form<'_, '_> {
    pub(super) fn list(&mut self, ui: &mut Ui, path: &FieldPath, (label, help): (&str, &str), one: &Kind) {
        let key = last_key(path);
        let count = match self.view.document.value(path) {
            Some(EditValue::Array(values)) => values.len(),
            Some(_) | None => 0,
        };
        let is_tables = matches!(one, Kind::Table(_));
        let thing = words::one_of(if is_tables && key == "at" { "section" } else { &key });
        if is_tables {
            ui.add_space(4.0);
            ui.strong(label).on_hover_text(help);
            self.problems(ui, path);
            self.add_button(ui, path, count, &thing, one);
            let mut order: Vec<usize> = (0..count).collect();
            if is_stacked(&thing) {
                order.reverse();
            }
            for index in order {
                self.element(ui, &path.index(index), (index, count), &thing, one);
            }
        } else {
            let title = if count == 0 { label.to_owned() } else { format!("{label} ({count})") };
            self.section(ui, path, &title, help, count <= 12, |form, ui| {
                for index in 0..count {
                    form.value_of_list(ui, &path.index(index), (index, count), &thing, one);
                }
                form.add_button(ui, path, count, &thing, one);
            });
            self.problems(ui, path);
        }
    }

    /// A button that puts one more at the end: like the last one, where there is one.
    fn add_button(&mut self, ui: &mut Ui, path: &FieldPath, count: usize, thing: &str, one: &Kind) {
        if !ui.button(format!("Add {thing}")).clicked() {
            return;
        }
        let document = self.view.document;
        let last = count.checked_sub(1).and_then(|last| document.value(&path.index(last)));
        let value = match (last, one) {
            // Two points at one place would be one.
            (Some(EditValue::Array(numbers)), Kind::Row(..)) => EditValue::Array(moved_on(numbers)),
            (Some(value), Kind::Table(_)) => unnamed(value, thing, count + 1),
            _ => default_of(one, &last_key(path), self.schema, document),
        };
        let at = path.index(count);
        self.insert(format!("{thing} added"), &at, value);
        self.asked.push(Asked::Select(Some(at)));
    }

    /// A table of a list.
    fn element(
        &mut self,
        ui: &mut Ui,
        path: &FieldPath,
        (index, count): (usize, usize),
        thing: &str,
        one: &Kind,
    ) {
        let Kind::Table(name) = one else { return };
        let title = self.title_of(path, thing, index);
        let selected = self.view.selected.is_some_and(|selected| selected.starts_with(path));
        let open = selected || count <= 2;
        let help = &self.schema.table(name).help;
        self.section(ui, path, &title, help, open, |form, ui| {
            form.what_to_do(ui, path, (index, count), thing, is_stacked(thing));
            form.table(ui, path, name);
        });
    }

    /// Moves, doubles and takes out one of a list.
    fn what_to_do(
        &mut self,
        ui: &mut Ui,
        path: &FieldPath,
        (index, count): (usize, usize),
        thing: &str,
        stacked: bool,
    ) {
        let Some((list, _)) = split(path) else { return };
        let (up, down) = (index.checked_add(1).filter(|i| *i < count), index.checked_sub(1));
        let (up, down) = if stacked { (up, down) } else { (down, up) };
        ui.horizontal(|ui| {
            for (name, to) in [("Up", up), ("Down", down)] {
                let button = ui.add_enabled(to.is_some(), egui::Button::new(name).small());
                if button.clicked()
                    && let Some(to) = to
                {
                    let edit = Edit::Move { from: path.clone(), to: list.index(to) };
                    self.asked.push(Asked::edit(format!("{thing} moved"), edit));
                }
            }
            if ui.small_button("Copy").on_hover_text(format!("Another {thing} like this one")).clicked()
                && let Some(value) = self.view.document.value(path)
            {
                let value = unnamed(value, thing, count + 1);
                self.insert(format!("{thing} copied"), &list.index(index + 1), value);
            }
            if ui.small_button("Take out").on_hover_text(format!("Take this {thing} out")).clicked() {
                self.remove(format!("{thing} taken out"), path);
            }
        });
    }

    /// What a table of a list is called: by its name, its material, or its place.
    fn title_of(&self, path: &FieldPath, thing: &str, index: usize) -> String {
        let text = |key: &str| {
            let value = self.view.document.value(&path.key(key))?;
            value.as_str().map(str::to_owned).or_else(|| value.as_number().map(|number| number.to_string()))
        };
        let number = || format!("{} {}", words::capital(thing), index + 1);
        match (text("name"), thing) {
            (Some(name), _) => words::capital(&name),
            (None, "coat") => text("material").map_or_else(number, |name| words::capital(&name)),
            (None, "outline") => text("height").map_or_else(number, |height| format!("At height {height}")),
            (None, "layer") => {
                let size = ["round", "square", "half_ball"].into_iter().find_map(|kind| {
                    let size = self.view.document.value(&path.key("pan").key(kind))?;
                    Some(format!("{} {}", kind.replace('_', "-"), super::fields::written(size)))
                });
                size.map_or_else(number, |size| format!("{}: {size}", number()))
            }
            (None, _) => number(),
        }
    }

    /// A value of a list that is no table.
    fn value_of_list(
        &mut self,
        ui: &mut Ui,
        path: &FieldPath,
        (index, count): (usize, usize),
        thing: &str,
        one: &Kind,
    ) {
        let label = format!("{} {}", words::capital(thing), index + 1);
        self.row(ui, &label, "", |ui, form| {
            let response = match one {
                Kind::Scalar(scalar) => {
                    form.field(ui, Field { path, label: &label, help: "", scalar, is_required: true })
                }
                Kind::Row(inner, count) => form.row_fields(ui, path, &label, "", inner, *count),
                _ => ui.label("?"),
            };
            let take = ui.add_enabled(count > 0, egui::Button::new("×").small());
            if take.on_hover_text(format!("Take {} out", label.to_lowercase())).clicked() {
                form.remove(format!("{thing} taken out"), path);
            }
            response
        });
        self.problems(ui, path);
    }

    /// Values under names that the maker chooses.
    pub(super) fn map(&mut self, ui: &mut Ui, path: &FieldPath, (label, help): (&str, &str), one: &Kind) {
        let names: Vec<String> = match self.view.document.value(path).and_then(EditValue::fields) {
            Some(fields) => fields.iter().map(|(name, _)| name.clone()).collect(),
            None => Vec::new(),
        };
        let title = if names.is_empty() { label.to_owned() } else { format!("{label} ({})", names.len()) };
        self.section(ui, path, &title, help, false, |form, ui| {
            for name in &names {
                let at = path.key(name);
                match one {
                    Kind::Scalar(scalar) => {
                        form.scalar(ui, Field { path: &at, label: name, help, scalar, is_required: false });
                    }
                    Kind::Row(inner, count) => form.values_in_a_row(ui, &at, (name, help), inner, *count),
                    Kind::Table(table_name) => {
                        let table = form.schema.table(table_name);
                        form.section(ui, &at, name, &table.help, false, |form, ui| {
                            form.table(ui, &at, table_name);
                            if ui.small_button(format!("Take {name} out")).clicked() {
                                form.remove(format!("{name} taken out"), &at);
                            }
                        });
                    }
                    Kind::List(_) | Kind::Map(_) => {}
                }
            }
            form.new_name(ui, path, &names, label, one);
        });
    }

    fn new_name(&mut self, ui: &mut Ui, path: &FieldPath, names: &[String], label: &str, one: &Kind) {
        let id = egui::Id::new(("new name", self.place, path.to_string()));
        let mut text = ui.data(|data| data.get_temp::<String>(id)).unwrap_or_default();
        ui.horizontal(|ui| {
            let field =
                egui::TextEdit::singleline(&mut text).id(id).hint_text("new name").desired_width(110.0);
            let response = ui.add(field);
            let said = format!("New name in {}", label.to_lowercase());
            response.widget_info(|| egui::WidgetInfo::text_edit(true, "", &text, said.clone()));
            let name = text.trim().to_owned();
            let is_free = !name.is_empty() && !names.contains(&name);
            if ui.add_enabled(is_free, egui::Button::new("Add")).clicked() {
                let key = last_key(path);
                let value = default_of(one, &key, self.schema, self.view.document);
                self.insert(format!("{name} added"), &path.key(&name), value);
                text.clear();
            }
        });
        ui.data_mut(|data| data.insert_temp(id, text));
    }
}

/// The same value under no name that is taken: names are unique.
fn unnamed(value: &EditValue, thing: &str, number: usize) -> EditValue {
    let without = |fields: &[(String, EditValue)]| {
        let name = |(key, value): &(String, EditValue)| match key.as_str() {
            "name" => (key.clone(), format!("{thing} {number}").into()),
            _ => (key.clone(), value.clone()),
        };
        fields.iter().map(name).collect()
    };
    match value {
        EditValue::Table(fields) => EditValue::Table(without(fields)),
        EditValue::InlineTable(fields) => EditValue::InlineTable(without(fields)),
        other => other.clone(),
    }
}

/// A point a little further on: by ten of the file's unit.
fn moved_on(numbers: &[EditValue]) -> Vec<EditValue> {
    let on = |value: &EditValue| match value {
        EditValue::Integer(number) => EditValue::Integer(number.saturating_add(10)),
        EditValue::Float(number) => EditValue::Float(number + 10.0),
        other => other.clone(),
    };
    numbers.iter().map(on).collect()
}

/// The list that a path leads into, and the place in it.
fn split(path: &FieldPath) -> Option<(FieldPath, usize)> {
    match path.0.split_last() {
        Some((cakefile::Step::Index(index), list)) => Some((FieldPath(list.to_vec()), *index)),
        _ => None,
    }
}
