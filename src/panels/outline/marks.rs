//! The picture that an outline is traced from, as it was taken: marks, centre line and how its size is known.

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditValue},
};
use egui::{Color32, CursorIcon, Pos2, Rect, Sense, Stroke, Ui, pos2, vec2};
use glam::{DVec2, dvec2};

use super::under::Under;
use crate::{
    asked::Asked,
    form::{Form, FormView},
};

/// Greatest height of the picture, points.
const HEIGHT: f32 = 330.0;
/// How near a mark is taken hold of, points.
const NEAR: f32 = 9.0;

/// How the size of a picture is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum SizeBy {
    Height,
    Width,
    Marks,
    Card,
}

impl SizeBy {
    const ALL: [Self; 4] = [Self::Height, Self::Width, Self::Marks, Self::Card];

    fn name(self) -> &'static str {
        match self {
            Self::Height => "its height",
            Self::Width => "its width",
            Self::Marks => "two marks",
            Self::Card => "the scale card",
        }
    }

    fn of(document: &Document, picture: &FieldPath) -> Self {
        let has = |key: &str| document.value(&picture.key(key)).is_some();
        match () {
            () if has("height") => Self::Height,
            () if has("width") => Self::Width,
            () if has("marks") => Self::Marks,
            () => Self::Card,
        }
    }

    /// The keys that belong to it.
    fn keys(self) -> &'static [&'static str] {
        match self {
            Self::Height => &["height"],
            Self::Width => &["width"],
            Self::Marks => &["marks", "distance", "marks_across", "distance_across"],
            Self::Card => &[],
        }
    }
}

/// The edit after which the size is known in another way. `size` is the outline as it is now, mm, and `pixels` the size of
/// the picture.
fn size_by(document: &Document, picture: &FieldPath, by: SizeBy, size: DVec2, pixels: DVec2) -> Edit {
    let others = SizeBy::ALL.into_iter().filter(|other| *other != by).flat_map(SizeBy::keys);
    let taken = others.map(|key| picture.key(key)).filter(|path| document.value(path).is_some());
    let mut edits: Vec<Edit> = taken.map(|path| Edit::Remove { path }).collect();
    let length = |mm: f64| crate::form::length(document, mm.round().max(1.0));
    let mut put = |key: &str, value: EditValue| edits.push(Edit::Set { path: picture.key(key), value });
    match by {
        SizeBy::Height => put("height", length(size.y)),
        SizeBy::Width => put("width", length(size.x)),
        SizeBy::Marks => {
            put("marks", marks([dvec2(0.25, 0.9) * pixels, dvec2(0.75, 0.9) * pixels]));
            put("distance", length(100.0));
        }
        SizeBy::Card => {}
    }
    Edit::Many(edits)
}

fn marks(at: [DVec2; 2]) -> EditValue {
    let pixel = |x: f64| EditValue::Integer(x.round() as i64);
    EditValue::Array(at.map(|p| EditValue::Array(vec![pixel(p.x), pixel(p.y)])).into())
}

/// The two marks at `path`, pixels.
fn marks_at(document: &Document, path: &FieldPath) -> Option<[DVec2; 2]> {
    let number = |i: usize, j: usize| document.value(&path.index(i).index(j))?.as_number();
    Some([dvec2(number(0, 0)?, number(0, 1)?), dvec2(number(1, 0)?, number(1, 1)?)])
}

/// Draws the picture with what is set on it. `size` is the outline as it is traced now, mm.
pub(super) fn show(
    ui: &mut Ui,
    view: FormView<'_>,
    picture: &FieldPath,
    under: &Under,
    size: DVec2,
    asked: &mut Vec<Asked>,
) {
    let document = view.document;
    let pixels = under.size;
    let width = ui.available_width();
    let height = HEIGHT.min(width * (pixels.y / pixels.x) as f32);
    let (room, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::WidgetType::Image, true, "The picture as it was taken")
    });
    let scale = (room.width() / pixels.x as f32).min(room.height() / pixels.y as f32);
    let rect = Rect::from_center_size(room.center(), vec2(pixels.x as f32, pixels.y as f32) * scale);
    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    ui.painter_at(room).image(under.texture(ui).id(), rect, whole, Color32::WHITE);
    let frame = Frame { rect, scale };
    for (key, name) in [("marks", "Mark"), ("marks_across", "Mark across")] {
        let path = picture.key(key);
        let Some(at) = marks_at(document, &path) else { continue };
        if let Some(moved) = pair(ui, &frame, name, at, pixels) {
            asked.push(Asked::gesture("mark on the picture", Edit::Set { path, value: marks(moved) }));
        }
    }
    let axis = picture.key("axis");
    if let Some(x) = document.value(&axis).and_then(EditValue::as_number)
        && let Some(moved) = centre_line(ui, &frame, x)
    {
        let value = EditValue::Integer(moved.clamp(0.0, pixels.x).round() as i64);
        asked.push(Asked::gesture("centre line of the picture", Edit::Set { path: axis.clone(), value }));
    }
    let by = SizeBy::of(document, picture);
    ui.horizontal_wrapped(|ui| {
        ui.label("The size is known by");
        for other in SizeBy::ALL {
            if ui.selectable_label(by == other, other.name()).clicked() && by != other {
                let edit = size_by(document, picture, other, size, pixels);
                asked.push(Asked::edit(format!("size by {}", other.name()), edit));
            }
        }
    });
    let mut field = |ui: &mut Ui, key: &str| {
        Form::new(view, asked).placed("on the picture").key(ui, picture, "PictureOutline", key);
    };
    if by == SizeBy::Marks {
        ui.weak("Drag the two marks onto the ends of a ruler, or of anything that you have measured.");
    }
    field(
        ui,
        match by {
            SizeBy::Height => "height",
            SizeBy::Width => "width",
            SizeBy::Marks => "distance",
            SizeBy::Card => "card",
        },
    );
    if document.value(&picture.key("distance_across")).is_some() {
        field(ui, "distance_across");
    }
    ui.horizontal_wrapped(|ui| {
        if by == SizeBy::Marks && document.value(&picture.key("marks_across")).is_none() {
            let help = "Along a line at right angles to the first: the picture was taken at a tilt.";
            if ui.button("Two more marks across").on_hover_text(help).clicked() {
                let at = [dvec2(0.1, 0.3) * pixels, dvec2(0.1, 0.8) * pixels];
                let put = |key: &str, value| Edit::Set { path: picture.key(key), value };
                let distance = crate::form::length(document, 100.0);
                let edits = vec![put("marks_across", marks(at)), put("distance_across", distance)];
                asked.push(Asked::edit("marks across", Edit::Many(edits)));
            }
        }
        if document.value(&axis).is_none() {
            let help = "It is found from the outline; set it where that is wrong.";
            if ui.button("Set the centre line").on_hover_text(help).clicked() {
                let value = EditValue::Integer((pixels.x / 2.0).round() as i64);
                asked.push(Asked::edit("centre line", Edit::Set { path: axis.clone(), value }));
            }
        } else if ui.button("Find the centre line").clicked() {
            asked.push(Asked::edit("centre line", Edit::Remove { path: axis.clone() }));
        }
        let straighten = picture.key("straighten");
        let mut is_straightened = document.value(&straighten) != Some(&EditValue::Boolean(false));
        let help = "Turns the picture so that the line that the outline stands on is level.";
        if ui.checkbox(&mut is_straightened, "Straighten it").on_hover_text(help).changed() {
            asked.push(Asked::edit(
                "straighten",
                Edit::Set { path: straighten, value: is_straightened.into() },
            ));
        }
    });
}

/// Pixels of the picture to points of the window.
struct Frame {
    rect: Rect,
    scale: f32,
}

impl Frame {
    fn at(&self, p: DVec2) -> Pos2 {
        self.rect.min + vec2(p.x as f32, p.y as f32) * self.scale
    }

    fn pixel(&self, p: Pos2) -> DVec2 {
        let off = (p - self.rect.min) / self.scale;
        dvec2(f64::from(off.x), f64::from(off.y))
    }
}

/// Two marks and the line between them; where they are once one was dragged or moved by the arrow keys.
fn pair(ui: &Ui, frame: &Frame, name: &str, at: [DVec2; 2], pixels: DVec2) -> Option<[DVec2; 2]> {
    let stroke = Stroke::new(2.0, Color32::from_rgb(200, 60, 40));
    let painter = ui.painter();
    painter.line_segment(at.map(|p| frame.at(p)), stroke);
    let mut moved = None;
    for i in 0..2 {
        let centre = frame.at(at[i]);
        for arm in [vec2(7.0, 0.0), vec2(0.0, 7.0)] {
            painter.line_segment([centre - arm, centre + arm], stroke);
        }
        let area = Rect::from_center_size(centre, vec2(2.0 * NEAR, 2.0 * NEAR));
        let response = ui.interact(area, ui.id().with((name, i)), Sense::click_and_drag());
        let response = response.on_hover_cursor(CursorIcon::Grab);
        let said = format!("{name} {}", i + 1);
        response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, true, said.clone()));
        let to = dragged(ui, &response, frame, at[i]);
        if let Some(to) = to {
            let mut both = at;
            both[i] = to.clamp(DVec2::ZERO, pixels);
            moved = Some(both);
        }
        if response.hovered() || response.has_focus() {
            painter.circle_stroke(centre, NEAR, stroke);
        }
    }
    moved
}

/// The line that the outline is mirrored in; where it is once it was dragged, pixels from the left.
fn centre_line(ui: &Ui, frame: &Frame, x: f64) -> Option<f64> {
    let at = frame.at(dvec2(x, 0.0)).x;
    let ends = [pos2(at, frame.rect.top()), pos2(at, frame.rect.bottom())];
    ui.painter().line_segment(ends, Stroke::new(1.5, Color32::from_rgb(30, 110, 190)));
    let area = Rect::from_two_pos(ends[0], ends[1]).expand2(vec2(NEAR, 0.0));
    let response = ui.interact(area, ui.id().with("centre line"), Sense::click_and_drag());
    let response = response.on_hover_cursor(CursorIcon::ResizeHorizontal);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, true, "Centre line"));
    dragged(ui, &response, frame, dvec2(x, 0.0)).map(|to| to.x)
}

/// Where something was dragged to, or moved to by the arrow keys, a pixel each.
fn dragged(ui: &Ui, response: &egui::Response, frame: &Frame, at: DVec2) -> Option<DVec2> {
    if response.dragged() {
        let to = frame.pixel(response.interact_pointer_pos()?).round();
        return (to != at).then_some(to);
    }
    if !response.has_focus() {
        return None;
    }
    let filter = egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    let by = ui.input(|input| {
        let pressed = |key| f64::from(input.num_presses(key) as u32);
        dvec2(
            pressed(egui::Key::ArrowRight) - pressed(egui::Key::ArrowLeft),
            pressed(egui::Key::ArrowDown) - pressed(egui::Key::ArrowUp),
        )
    });
    (by != DVec2::ZERO).then(|| at + by)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CAKE: &str = "crumbline = 2\nname = \"Fox\"\nunit = \"cm\"\n[shape.turned.picture]\nfile = \"fox.png\"   # mine\n\
                        height = 20\n";

    #[test]
    fn the_size_is_known_in_one_way_at_a_time() {
        let picture = FieldPath::root().key("shape").key("turned").key("picture");
        let document = Document::from_text("cake", CAKE);
        let (size, pixels) = (dvec2(120.0, 200.0), dvec2(800.0, 1000.0));
        assert_eq!(SizeBy::of(&document, &picture), SizeBy::Height);
        let mut now = document.clone();
        for by in [SizeBy::Marks, SizeBy::Width, SizeBy::Card, SizeBy::Marks, SizeBy::Height] {
            now = now.apply(&size_by(&now, &picture, by, size, pixels)).unwrap().document;
            assert_eq!(SizeBy::of(&now, &picture), by);
            let keys = SizeBy::ALL.iter().flat_map(|by| by.keys());
            let given: Vec<_> = keys.filter(|key| now.value(&picture.key(key)).is_some()).collect();
            assert!(given.iter().all(|key| by.keys().contains(key)), "{by:?}: {given:?}");
        }
        assert_eq!(now.text(), document.text(), "back to what was written");
        let marked = now.apply(&size_by(&now, &picture, SizeBy::Marks, size, pixels)).unwrap().document;
        assert_eq!(
            marks_at(&marked, &picture.key("marks")),
            Some([dvec2(200.0, 900.0), dvec2(600.0, 900.0)])
        );
        assert!(marked.text().contains("distance = 10\n"), "{}", marked.text());
    }
}
