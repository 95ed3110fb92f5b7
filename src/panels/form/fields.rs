//! Fields for single values, and for several in a row.

use cakefile::{
    FieldPath,
    edit::{Edit, EditValue},
};
use egui::{Color32, Key, Response, TextEdit, Ui, WidgetInfo, WidgetType};

use super::{Form, defaults::default_of};
use crate::{
    asked::Asked,
    schema::{Kind, Scalar},
};

/// Width of a field for a number with its unit, points.
const SHORT: f32 = 74.0;
/// What the fields of a row are called after the first.
const ORDINALS: [&str; 3] = ["first", "second", "third"];
/// Width of a field for text, points.
const LONG: f32 = 168.0;

/// A field for one value.
#[derive(Clone, Copy)]
pub(super) struct Field<'f> {
    /// Where it stands.
    pub path: &'f FieldPath,
    /// What it is called.
    pub label: &'f str,
    /// What it means.
    pub help: &'f str,
    /// What it holds.
    pub scalar: &'f Scalar,
    /// Whether it has to be there.
    pub is_required: bool,
}

impl Form<'_, '_> {
    /// A field with its label, and what is wrong with it.
    pub(super) fn scalar(&mut self, ui: &mut Ui, field: Field<'_>) {
        self.row(ui, field.label, field.help, |ui, form| form.field(ui, field));
        self.problems(ui, field.path);
    }

    /// A field for one value. What comes out of it is asked for under its label.
    pub(super) fn field(&mut self, ui: &mut Ui, field: Field<'_>) -> Response {
        let value = self.view.document.value(field.path).cloned();
        match field.scalar {
            Scalar::Choice(choices) => self.choice(ui, field, choices, value.as_ref()),
            Scalar::Flag => {
                let words = [("true".to_owned(), "Yes.".to_owned()), ("false".to_owned(), "No.".to_owned())];
                self.choice(ui, field, &words, value.as_ref())
            }
            scalar => {
                let shown = value.as_ref().map(written).unwrap_or_default();
                let is_text = matches!(scalar, Scalar::Text | Scalar::LocalTime);
                let has_names = path_ends_in(field.path, "material");
                let is_file = path_ends_in(field.path, "file") || path_ends_in(field.path, "font");
                let width = match (is_text, has_names || is_file) {
                    (true, true) => LONG - 24.0,
                    (true, false) => LONG,
                    (false, _) => SHORT,
                };
                let hint = if field.is_required { "needed" } else { "usual" };
                let (response, typed) = text_field(ui, (self.place, field.path), &shown, hint, width);
                let response = response.on_hover_text(field.help);
                if let Some(typed) = typed {
                    self.typed(field, &typed);
                }
                match scalar {
                    Scalar::Colour => self.swatch(ui, field.path, field.label, &shown),
                    Scalar::Length | Scalar::Size
                        if matches!(value, Some(EditValue::Integer(_) | EditValue::Float(_))) =>
                    {
                        ui.weak(self.view.document.unit().sign());
                    }
                    _ if has_names => self.names(ui, field.path, field.label),
                    _ if is_file => self.choose_file(ui, field.path),
                    _ => {}
                }
                response
            }
        }
    }

    /// What was typed into a field goes into the text: nothing takes the key out.
    fn typed(&mut self, field: Field<'_>, typed: &str) {
        let typed = typed.trim();
        if typed.is_empty() && !field.is_required {
            if self.view.document.value(field.path).is_some() {
                self.remove(format!("{} left out", field.label), field.path);
            }
            return;
        }
        self.set(field.label, field.path, to_value(field.scalar, typed));
    }

    fn choice(
        &mut self,
        ui: &mut Ui,
        field: Field<'_>,
        choices: &[(String, String)],
        value: Option<&EditValue>,
    ) -> Response {
        let Field { path, label, is_required, .. } = field;
        const NONE: &str = "usual";
        let given = value.map(written);
        let mut chosen = given.clone();
        let flag =
            matches!(value, Some(EditValue::Boolean(_))) || choices.iter().any(|(word, _)| word == "true");
        let shown = |word: &str| match word {
            "true" if flag => "yes".to_owned(),
            "false" if flag => "no".to_owned(),
            word => word.replace('-', " "),
        };
        let response = egui::ComboBox::from_id_salt(path.to_string())
            .selected_text(given.as_deref().map_or(NONE.to_owned(), shown))
            .width(LONG)
            .show_ui(ui, |ui| {
                if !is_required {
                    ui.selectable_value(&mut chosen, None, NONE).on_hover_text("Left out of the file.");
                }
                for (word, help) in choices {
                    ui.selectable_value(&mut chosen, Some(word.clone()), shown(word)).on_hover_text(help);
                }
            })
            .response;
        if chosen != given {
            match chosen {
                None => self.remove(format!("{label} left out"), path),
                Some(word) if flag => self.set(label, path, (word == "true").into()),
                Some(word) => self.set(label, path, word.into()),
            }
        }
        response
    }

    /// The colour itself, to choose by eye.
    fn swatch(&mut self, ui: &mut Ui, path: &FieldPath, label: &str, shown: &str) {
        let before = Color32::from_hex(shown).unwrap_or(Color32::from_rgb(217, 167, 176));
        let mut rgb = [before.r(), before.g(), before.b()];
        let well = ui.color_edit_button_srgb(&mut rgb).on_hover_text("Choose by eye");
        well.widget_info(|| WidgetInfo::labeled(WidgetType::ColorButton, true, format!("{label}, by eye")));
        if well.changed() {
            let value = format!("#{:02x}{:02x}{:02x}", rgb[0], rgb[1], rgb[2]);
            let edit = Edit::Set { path: path.clone(), value: value.into() };
            self.asked.push(Asked::gesture(label, edit));
        }
    }

    /// A file is chosen instead of typing its name.
    fn choose_file(&mut self, ui: &mut Ui, path: &FieldPath) {
        const PICTURE: &[&str] = &["png", "jpg", "jpeg", "gif"];
        const DRAWING: &[&str] = &["svg"];
        const MODEL: &[&str] = &["stl", "obj", "3mf", "glb", "gltf", "ply"];
        const FONT: &[&str] = &["ttf", "otf", "ttc", "otc"];
        // The table that it stands in says what it is to hold.
        let outer = FieldPath(path.0[..path.0.len().saturating_sub(1)].to_vec());
        let endings = match last_key(&outer).as_str() {
            _ if path_ends_in(path, "font") => FONT,
            "picture" => PICTURE,
            "svg" => DRAWING,
            _ => MODEL,
        };
        let button = ui.small_button("Choose…").on_hover_text("The file is put beside the cake.");
        button.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, "Choose the file"));
        if button.clicked() {
            self.asked.push(Asked::ChooseFile(path.clone(), endings));
        }
    }

    /// Names to choose from instead of typing one.
    fn names(&mut self, ui: &mut Ui, path: &FieldPath, label: &str) {
        let menu = ui.menu_button("▾", |ui| {
            egui::ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
                for name in self.view.materials {
                    if ui.button(name).clicked() {
                        self.set(label, path, name.as_str().into());
                        ui.close();
                    }
                }
            });
        });
        let said = format!("Choose {}", label.to_lowercase());
        menu.response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, true, said.clone()));
        menu.response.on_hover_text(said);
    }

    /// So many values in a row.
    pub(super) fn values_in_a_row(
        &mut self,
        ui: &mut Ui,
        path: &FieldPath,
        (label, help): (&str, &str),
        one: &Kind,
        count: usize,
    ) {
        let is_there = self.view.document.value(path).is_some();
        self.row(ui, label, help, |ui, form| {
            if is_there {
                let response = form.row_fields(ui, path, label, help, one, count);
                let leave = ui.small_button("×").on_hover_text(format!("Leave {} out", label.to_lowercase()));
                if leave.clicked() {
                    form.remove(format!("{label} left out"), path);
                }
                response
            } else {
                let add = ui.button(format!("Add {}", label.to_lowercase())).on_hover_text(help);
                if add.clicked() {
                    let kind = Kind::Row(Box::new(one.clone()), count);
                    let key = last_key(path);
                    let value = default_of(&kind, &key, form.schema, form.view.document);
                    form.insert(format!("{label} added"), path, value);
                }
                add
            }
        });
        self.problems(ui, path);
    }

    /// The fields of a row. Gives the first.
    pub(super) fn row_fields(
        &mut self,
        ui: &mut Ui,
        path: &FieldPath,
        label: &str,
        help: &str,
        one: &Kind,
        count: usize,
    ) -> Response {
        let mut first = None;
        for index in 0..count {
            let at = path.index(index);
            let name = format!("{label}, {}", ORDINALS.get(index).unwrap_or(&"next"));
            let response = match one {
                Kind::Scalar(scalar) => {
                    let response =
                        self.field(ui, Field { path: &at, label, help, scalar, is_required: true });
                    // The label alone names the first.
                    let shown = self.view.document.value(&at).map(written).unwrap_or_default();
                    if first.is_some() {
                        response.widget_info(|| WidgetInfo {
                            label: Some(name.clone()),
                            ..WidgetInfo::text_edit(true, &shown, &shown, "")
                        });
                    }
                    response
                }
                Kind::Row(inner, count) => self.row_fields(ui, &at, &name, help, inner, *count),
                _ => ui.label("?"),
            };
            first.get_or_insert(response);
        }
        first.unwrap_or_else(|| ui.label(""))
    }
}

/// A field that keeps what is typed until it is left; Escape leaves it as it was.
fn text_field(
    ui: &mut Ui,
    (place, path): (&str, &FieldPath),
    shown: &str,
    hint: &str,
    width: f32,
) -> (Response, Option<String>) {
    let id = egui::Id::new((place, path.to_string()));
    let mut text = ui.data(|data| data.get_temp::<String>(id)).unwrap_or_else(|| shown.to_owned());
    let response = ui.add(TextEdit::singleline(&mut text).id(id).hint_text(hint).desired_width(width));
    if response.lost_focus() {
        ui.data_mut(|data| data.remove::<String>(id));
        let escaped = ui.input(|input| input.key_pressed(Key::Escape));
        return (response, (!escaped && text != shown).then_some(text));
    }
    if response.has_focus() {
        ui.data_mut(|data| data.insert_temp(id, text));
    } else {
        ui.data_mut(|data| data.remove::<String>(id));
    }
    (response, None)
}

/// A value as it stands in the file, without quotation marks.
pub(super) fn written(value: &EditValue) -> String {
    match value {
        EditValue::String(text) => text.clone(),
        EditValue::Integer(number) => number.to_string(),
        EditValue::Float(number) => number.to_string(),
        EditValue::Boolean(flag) => flag.to_string(),
        EditValue::Datetime(when) => when.to_string(),
        EditValue::Array(_) | EditValue::InlineTable(_) | EditValue::Table(_) => String::new(),
    }
}

/// What was typed as a value: a number where such a key can hold one and it is one, with a point or a comma; otherwise
/// text, of which the file's check says whether it is right.
pub(super) fn to_value(scalar: &Scalar, typed: &str) -> EditValue {
    let is_number = matches!(
        scalar,
        Scalar::Whole | Scalar::Number | Scalar::Length | Scalar::Size | Scalar::Angle | Scalar::Temperature
    );
    if is_number {
        if let Ok(whole) = typed.parse::<i64>() {
            let with_point = matches!(scalar, Scalar::Number) && !typed.contains('.');
            return if with_point && whole != 0 { EditValue::Integer(whole) } else { whole.into() };
        }
        let with_point = if typed.contains('.') { typed.to_owned() } else { typed.replace(',', ".") };
        if let Ok(number) = with_point.parse::<f64>()
            && number.is_finite()
        {
            return number.into();
        }
    }
    typed.into()
}

fn path_ends_in(path: &FieldPath, key: &str) -> bool {
    last_key(path) == key
}

/// The last key of a path.
pub(super) fn last_key(path: &FieldPath) -> String {
    let key = path.0.iter().rev().find_map(|step| match step {
        cakefile::Step::Key(key) => Some(key.clone()),
        cakefile::Step::Index(_) => None,
    });
    key.unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_a_number_where_it_can_be_one() {
        for (scalar, typed, value) in [
            (Scalar::Size, "40", 40.into()),
            (Scalar::Size, "4,5", 4.5.into()),
            (Scalar::Size, "1 1/2 in", "1 1/2 in".into()),
            (Scalar::Length, "-3.25", (-3.25).into()),
            (Scalar::Text, "40", EditValue::from("40")),
            (Scalar::Size, "inf", "inf".into()),
            (Scalar::Angle, "90°", "90°".into()),
        ] {
            assert_eq!(to_value(&scalar, typed), value, "{typed}");
        }
    }
}
