//! The outline: a canvas at true size on which points and curve handles are dragged, with the coated and the carved line
//! inside it.

mod canvas;
mod handles;
mod marks;
mod under;

use std::{collections::BTreeMap, sync::Arc};

use cakefile::{
    CakeFile, FieldPath,
    edit::{Document, EditValue},
    schema::{self, Cake},
    world::{Beside, Memory},
};
use egui::Ui;
use geom::Tolerance;
use glam::DVec2;
use plan::{
    Plan, Source,
    outline::{Placement, View, flattened, to_path, to_silhouette},
};

use crate::{
    asked::Asked,
    form::{Form, FormView},
    planned::Planned,
};
pub use handles::{Handle, Role, Run, handles, length_at};
pub use under::{TracedPictures, Under};

/// An outline of the cake that can be looked at.
#[derive(Debug, Clone, PartialEq)]
struct Chosen {
    name: String,
    path: FieldPath,
    kind: Kind,
}

/// What an outline is of.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    /// Half of what is seen, turned about x = 0.
    Half,
    /// The shape as it is seen from there.
    Seen(View),
    /// Of a detail.
    Detail,
}

impl Chosen {
    fn is_half(&self) -> bool {
        self.kind == Kind::Half
    }
}

/// What is remembered of this panel from frame to frame; nothing of it is the cake's.
#[derive(Debug, Clone, Default)]
pub struct OutlinePanel {
    chosen: Option<FieldPath>,
    /// The point that is selected.
    point: Option<FieldPath>,
    /// Whether the picture is shown as it was taken, instead of the outline.
    shows_picture: bool,
    /// Whether dragged points go to whole steps.
    snap: Snap,
}

/// Steps that dragged points go to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
enum Snap {
    /// A tenth of a mm.
    Fine,
    /// Whole mm.
    #[default]
    Millimetre,
    /// 5 mm.
    Five,
}

impl Snap {
    fn step(self) -> f64 {
        match self {
            Self::Fine => 0.1,
            Self::Millimetre => 1.0,
            Self::Five => 5.0,
        }
    }
}

impl OutlinePanel {
    /// Draws the panel.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        view: FormView<'_>,
        planned: Option<&Planned>,
        asked: &mut Vec<Asked>,
    ) {
        ui.label("The outside as the client sees it. Drag a point; double-click the line to add one.");
        let all = outlines(view.document);
        let chosen = all.iter().find(|outline| Some(&outline.path) == self.chosen.as_ref()).or(all.first());
        if all.len() > 1 {
            ui.horizontal_wrapped(|ui| {
                for outline in &all {
                    let here = Some(outline) == chosen;
                    if ui.selectable_label(here, &outline.name).clicked() {
                        self.chosen = Some(outline.path.clone());
                        self.point = None;
                    }
                }
            });
        }
        if let Some(outline) = chosen.cloned() {
            self.outline(ui, view, planned, &outline, asked);
        }
        ui.separator();
        Form::new(view, asked).keys(ui, &["shape"]);
    }

    fn outline(
        &mut self,
        ui: &mut Ui,
        view: FormView<'_>,
        planned: Option<&Planned>,
        outline: &Chosen,
        asked: &mut Vec<Asked>,
    ) {
        let document = view.document;
        let written = handles(document, &outline.path);
        let lines = match &written[..] {
            [] => planned
                .and_then(|planned| planned.outlines.get(&outline.path.to_string()).cloned())
                .unwrap_or_default(),
            _ => typed(document, &outline.path, planned),
        };
        let coats = planned.map(|planned| coats_of(planned, outline)).unwrap_or_default();
        let under = planned.and_then(|planned| planned.under.get(&outline.path.to_string()));
        let drawn = canvas::Drawn {
            lines: &lines,
            coats: &coats,
            handles: &written,
            is_half: outline.is_half(),
            under: under.map(|under| &**under),
        };
        if let Some(under) = under {
            ui.horizontal(|ui| {
                ui.selectable_value(&mut self.shows_picture, false, "Outline");
                let help = "Say how large it is, and where its middle is.";
                ui.selectable_value(&mut self.shows_picture, true, "Picture as taken").on_hover_text(help);
            });
            if self.shows_picture {
                let size = size_of(&lines, outline.is_half());
                marks::show(ui, view, &outline.path.key("picture"), under, size, asked);
                return;
            }
        }
        let step = self.snap.step();
        match canvas::show(ui, &drawn, self.point.as_ref(), step) {
            Some(canvas::Did::Drag(path, at)) => {
                let edit = handles::moved(document, &path, at);
                asked.push(Asked::gesture("point of the outline", edit));
                self.point = Some(path);
            }
            Some(canvas::Did::Select(path)) => self.point = path,
            Some(canvas::Did::Add(piece, at)) => {
                asked.push(Asked::edit("point added", handles::added(document, &outline.path, piece, at)));
            }
            None => {}
        }
        ui.horizontal_wrapped(|ui| {
            ui.label("Points go to");
            for (snap, name) in [(Snap::Fine, "0.1 mm"), (Snap::Millimetre, "1 mm"), (Snap::Five, "5 mm")] {
                ui.selectable_value(&mut self.snap, snap, name);
            }
        });
        if let Some(under) = under {
            let error = planned
                .map_or_else(String::new, |planned| planned.plan.design.style.length_fine(under.error));
            ui.label(format!("Traced from the picture, within {error}."));
        }
        if written.is_empty() {
            to_points(ui, document, outline, &lines, asked);
            return;
        }
        let Some(handle) = written.iter().find(|handle| Some(&handle.path) == self.point.as_ref()) else {
            ui.weak("Click a point to type its place.");
            return;
        };
        Form::new(view, asked).placed("point").point(
            ui,
            &handle.path,
            if outline.is_half() { "Radius, height" } else { "Right, up" },
        );
        ui.horizontal_wrapped(|ui| {
            if let Some(now) = handles::run_of(document, &outline.path, handle.piece) {
                ui.label("Up to here");
                for (run, name) in
                    [(Run::Straight, "straight"), (Run::Arc, "an arc"), (Run::Curve, "a curve")]
                {
                    if ui.selectable_label(now == run, name).clicked() && now != run {
                        let edit = handles::run(document, &outline.path, handle.piece, run);
                        asked.push(Asked::edit(format!("piece made {name}"), edit));
                    }
                }
            }
            let out = handles::taken_out(document, &outline.path, handle);
            let typing = ui.ctx().egui_wants_keyboard_input();
            let key = !typing && ui.input(|input| input.key_pressed(egui::Key::Delete));
            let button = ui.add_enabled(out.is_some(), egui::Button::new("Take the point out"));
            if (button.on_hover_text("Delete").clicked() || key)
                && let Some(edit) = out
            {
                asked.push(Asked::edit("point taken out", edit));
                self.point = None;
            }
        });
    }
}

/// How wide and high what these lines enclose is, mm; of half an outline the whole width.
fn size_of(lines: &[Vec<DVec2>], is_half: bool) -> DVec2 {
    let points = || lines.iter().flatten().copied();
    let (low, high) = (points().reduce(DVec2::min), points().reduce(DVec2::max));
    let size = low.zip(high).map_or(DVec2::splat(100.0), |(low, high)| high - low);
    if is_half { DVec2::new(2.0 * size.x, size.y) } else { size }
}

/// Offers to make points of an outline that lies in another file.
fn to_points(
    ui: &mut Ui,
    document: &Document,
    outline: &Chosen,
    lines: &[Vec<DVec2>],
    asked: &mut Vec<Asked>,
) {
    /// How far points may lie off the outline that they are made of, mm.
    const ERROR: f64 = 0.2;
    let is_given = |key: &str| document.value(&outline.path.key(key)).is_some();
    if is_given("text") {
        ui.weak("Letters are changed by their words, in the form of the detail.");
        return;
    }
    let longest = lines.iter().max_by_key(|line| line.len());
    let Some(line) = longest else { return };
    if is_given("svg") || is_given("picture") {
        ui.weak("This outline lies in another file.");
    }
    // Whether a drawn line is open is seen in its drawing alone.
    if is_given("stroke") && is_given("svg") {
        return;
    }
    let help = "Puts the outline into the cake file as points, within 0.2 mm of what it is now.";
    if ui.button("Make it points to drag").on_hover_text(help).clicked() {
        let points = if outline.is_half() { from_foot_to_top(line) } else { opened(line) };
        let mut points = handles::simplified(&points, ERROR);
        if is_given("stroke") {
            // A line goes round where its last point is its first.
            points.extend(points.first().copied());
        }
        asked.push(Asked::edit("outline made points", handles::as_points(document, &outline.path, &points)));
    }
}

/// The pictures that outlines were traced from, by the paths of the outlines.
pub(crate) fn pictures_under(source: &Source, traced: &TracedPictures) -> BTreeMap<String, Arc<Under>> {
    let document = Document::new(source.cake.clone());
    let Some(cake) = source.cake.parse().document else { return BTreeMap::new() };
    let unit = cake.unit.unwrap_or_default();
    let under = |chosen: Chosen| {
        let picture = outline_of(&cake, &chosen.path)?.picture.as_ref()?;
        let view = match chosen.kind {
            Kind::Half => None,
            Kind::Seen(view) => Some(view),
            // Details are small, and often many.
            Kind::Detail => return None,
        };
        let under = traced.under(picture, view, unit, &chosen.path.key("picture"), source)?;
        Some((chosen.path.to_string(), under))
    };
    outlines(&document).into_iter().filter_map(under).collect()
}

/// A closed contour as an open line that ends where it began.
fn opened(contour: &[DVec2]) -> Vec<DVec2> {
    // From its lowest, leftmost corner, which is one that has to stay.
    let start = (0..contour.len()).min_by(|&a, &b| {
        let (a, b) = (contour[a], contour[b]);
        a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x))
    });
    let start = start.unwrap_or(0);
    contour[start..].iter().chain(&contour[..start]).copied().collect()
}

/// The outer side of a closed half contour, from the foot up to the axis.
fn from_foot_to_top(contour: &[DVec2]) -> Vec<DVec2> {
    /// Nearer to the axis or the board than this a point lies on it, mm.
    const ON: f64 = 1e-6;
    let count = contour.len();
    let foot =
        (0..count).filter(|&i| contour[i].y < ON).max_by(|&a, &b| contour[a].x.total_cmp(&contour[b].x));
    let Some(foot) = foot else { return contour.to_vec() };
    // Contours run counter-clockwise: from the foot up, and along the axis down.
    let round = (0..count).map(|i| contour[(foot + i) % count]);
    let mut line = Vec::new();
    for p in round {
        line.push(p);
        if p.x < ON {
            break;
        }
    }
    line
}

/// The outlines that the cake has, in the order of the file.
fn outlines(document: &Document) -> Vec<Chosen> {
    let shape = FieldPath::root().key("shape");
    let mut all = Vec::new();
    let mut push = |name: String, path: FieldPath, kind: Kind| {
        if document.value(&path).is_some() {
            all.push(Chosen { name, path, kind });
        }
    };
    push("Half outline".into(), shape.key("turned"), Kind::Half);
    for (name, key, view) in [
        ("Front", "front", View::Upright),
        ("Side", "side", View::Upright),
        ("From above", "above", View::Above),
    ] {
        push(name.into(), shape.key("crossed").key(key), Kind::Seen(view));
    }
    let sections = shape.key("sections").key("at");
    for i in 0..list_length(document, &sections) {
        push(format!("From above {}", i + 1), sections.index(i).key("outline"), Kind::Seen(View::Above));
    }
    let details = FieldPath::root().key("detail");
    for i in 0..list_length(document, &details) {
        let detail = details.index(i);
        let name = document.value(&detail.key("name")).and_then(EditValue::as_str).unwrap_or("detail");
        push(crate::words::capital(name), detail.key("outline").key("shape"), Kind::Detail);
    }
    all
}

fn list_length(document: &Document, path: &FieldPath) -> usize {
    match document.value(path) {
        Some(EditValue::Array(values)) => values.len(),
        _ => 0,
    }
}

/// The line of an outline that is written as points or pieces, of the newest text.
fn typed(document: &Document, path: &FieldPath, planned: Option<&Planned>) -> Vec<Vec<DVec2>> {
    let read = |file: &CakeFile| {
        let reading = file.parse();
        let cake: Cake = reading.document?;
        // Its points are on the line itself, however wide that is.
        let outline = schema::Outline { stroke: None, ..outline_of(&cake, path)?.clone() };
        let world = Memory::new();
        let unit = cake.unit.unwrap_or_default();
        let mut problems = Vec::new();
        let files = Beside::new(&world, "");
        let path = to_path(&outline, unit, Placement::OnAxis, path, &files, &mut problems)?;
        Some(flattened(&path, planned.map_or(Tolerance::PREVIEW, |planned| planned.plan.design.tool)))
    };
    read(document.file()).unwrap_or_default()
}

/// The outline at a path of [`outlines`].
fn outline_of<'c>(cake: &'c Cake, path: &FieldPath) -> Option<&'c schema::Outline> {
    use cakefile::Step::{Index, Key};
    let key = |at: usize| match path.0.get(at) {
        Some(Key(key)) => key.as_str(),
        _ => "",
    };
    let index = |at: usize| match path.0.get(at) {
        Some(Index(index)) => *index,
        _ => 0,
    };
    match (key(0), key(1), key(2)) {
        ("shape", "turned", _) => cake.shape.turned.as_ref(),
        ("shape", "crossed", "front") => cake.shape.crossed.as_ref().map(|crossed| &crossed.front),
        ("shape", "crossed", "side") => cake.shape.crossed.as_ref().map(|crossed| &crossed.side),
        ("shape", "crossed", "above") => cake.shape.crossed.as_ref()?.above.as_ref(),
        ("shape", "sections", "at") => cake.shape.sections.as_ref()?.at.get(index(3))?.outline.as_ref(),
        ("detail", ..) => cake.details.get(index(1))?.outline.as_ref().map(|outline| &outline.shape),
        _ => None,
    }
}

/// The lines of every outline that is not written as points or pieces, by its path: of a half outline its section, of
/// the others their edges.
pub(crate) fn outlines_of(plan: &Plan, source: &Source) -> BTreeMap<String, Vec<Vec<DVec2>>> {
    let document = Document::new(source.cake.clone());
    let Some(cake) = source.cake.parse().document else { return BTreeMap::new() };
    let unit = cake.unit.unwrap_or_default();
    let files = source.files();
    let tolerance = plan.design.tool;
    let line = |chosen: Chosen| {
        let outline = outline_of(&cake, &chosen.path)?;
        if outline.points.is_some() || outline.draw.is_some() {
            return None;
        }
        let mut problems = Vec::new();
        let lines = match &chosen.kind {
            Kind::Half => plan.design.shape.section().contours().to_vec(),
            Kind::Seen(view) => {
                to_silhouette(outline, unit, *view, tolerance, &chosen.path, &files, &mut problems)?
                    .region
                    .contours()
                    .to_vec()
            }
            Kind::Detail => {
                let path = to_path(outline, unit, Placement::Centred, &chosen.path, &files, &mut problems)?;
                flattened(&path, tolerance)
            }
        };
        Some((chosen.path.to_string(), lines))
    };
    outlines(&document).into_iter().filter_map(line).collect()
}

/// The coated and the carved line inside the outline, as they were planned last.
fn coats_of(planned: &Planned, outline: &Chosen) -> Vec<Vec<DVec2>> {
    if !outline.is_half() {
        return Vec::new();
    }
    let inner = planned.plan.lines.all().iter().skip(1);
    inner.flat_map(|line| line.section.contours().to_vec()).collect()
}
