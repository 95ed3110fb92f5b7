//! The strip of steps: one small picture for each step of the making, all at one scale with the lines of the templates
//! over them, and beside each what is done there and what comes next.

use image::{RgbaImage, imageops};

use super::{
    Background, CarvingLayer, Lens, Margins, OffcutView, PictureOptions, Pose, Showing, Simplified, Stage,
    Studio, ViewerError,
    carve_notes::carve_notes,
    compose::{self, Anchor, Canvas},
    picture, scene,
    scene::DeepestPlace,
};
use formats::{
    model::{Model, PartKind},
    text::Face,
};
use geom::units::UnitStyle;
use make::language::Language;

/// One step of the making.
#[derive(Debug, Clone, PartialEq)]
pub struct MakingStep {
    /// What is done.
    pub name: String,
    /// What is measured there, line by line.
    pub lines: Vec<String>,
    /// What the small picture shows.
    stage: Stage,
    /// Which layer the knife is at, and which are done.
    carving: Option<CarvingLayer>,
}

/// The steps of a cake: the raw stack, the carving of each layer from the top down, the carved cake, the coats, the
/// finished cake.
pub fn making_steps(model: &Model) -> Vec<MakingStep> {
    let style = UnitStyle::new(model.unit);
    let has = |kind| model.parts.iter().any(|part| part.kind == kind);
    let step = |name: &str, lines, stage| MakingStep { name: name.to_owned(), lines, stage, carving: None };
    let mut steps = Vec::new();
    if model.layers.is_empty() {
        return vec![step("Finished", vec![size_of(model, &FINISHED, style)], Stage::Finished)];
    }
    let mut top_down: Vec<_> = model.layers.iter().filter(|layer| layer.raw > 0.0).collect();
    top_down.sort_by(|a, b| height_of(model, b.index).total_cmp(&height_of(model, a.index)));
    let baked: f64 = model.layers.iter().map(|layer| layer.raw).sum();
    let raw = vec![format!("{} layers, {}", model.layers.len(), style.volume_alone(baked))];
    steps.push(step("Stacked", raw, Stage::Raw));
    let carved: Vec<_> = top_down.into_iter().filter(|layer| layer.offcut > 0.0).collect();
    let mut done = Vec::new();
    for layer in &carved {
        let share = layer.offcut / layer.raw * 100.0;
        let mut lines = vec![format!("{} off, {share:.0} %", style.volume_alone(layer.offcut))];
        lines.extend(thickest(model, layer.index, style).into_iter().flatten());
        steps.push(MakingStep {
            name: format!("Carve {}", layer.name),
            lines,
            stage: Stage::Carved,
            carving: Some(CarvingLayer { done: done.clone(), now: Some(layer.index) }),
        });
        done.push(layer.index);
    }
    let off: f64 = model.layers.iter().map(|layer| layer.offcut).sum();
    steps.push(MakingStep {
        name: "Carved".into(),
        lines: vec![
            size_of(model, &[PartKind::Kept], style),
            format!("{} off in all, {:.0} %", style.volume_alone(off), off / baked * 100.0),
        ],
        stage: Stage::Carved,
        carving: Some(CarvingLayer { done, now: None }),
    });
    let coats = model.parts.iter().filter(|part| part.kind == PartKind::Covering);
    if coats.clone().any(|part| part.index > 0) {
        let mut inner: Vec<_> = coats.filter(|part| part.index > 0).collect();
        inner.sort_by_key(|part| std::cmp::Reverse(part.index));
        let mut lines: Vec<String> = inner.iter().map(|part| part.material.clone()).collect();
        // A part for each zone of a coat.
        lines.dedup();
        steps.push(step("Coated", lines, Stage::Coated));
    }
    if has(PartKind::Finished) {
        steps.push(step("Finished", vec![size_of(model, &FINISHED, style)], Stage::Finished));
    }
    for next in 1..steps.len() {
        let name = steps[next].name.clone();
        steps[next - 1].lines.push(format!("{NEXT}{}", lower_first(&name)));
    }
    steps
}

/// How the line about the next step begins.
const NEXT: &str = "next: ";

/// What a finished cake is made up of.
const FINISHED: [PartKind; 2] = [PartKind::Finished, PartKind::Add];

/// How high the raw layer reaches, mm.
fn height_of(model: &Model, layer: usize) -> f64 {
    let raw = model.parts.iter().filter(|part| part.kind == PartKind::RawLayer && part.index == layer);
    raw.filter_map(|part| part.mesh.bounds()).map(|(_, high)| high.z).fold(0.0, f64::max)
}

/// How thick the offcut of a layer is where it is thickest, and where that is.
fn thickest(model: &Model, layer: usize, style: UnitStyle) -> Option<[String; 2]> {
    let kept = model.parts.iter().find(|part| part.kind == PartKind::Kept && part.index == layer)?;
    let DeepestPlace { depth, place, all_round } = scene::deepest_place(model, kept)?;
    let bearing = place.x.atan2(-place.y).to_degrees();
    let side = match place.truncate().length() {
        // At the axis there is no bearing.
        from_axis if from_axis < 5.0 => "in the middle".to_owned(),
        _ if all_round => "all round".to_owned(),
        _ => Language::english().at_bearing(bearing),
    };
    let height = match place.z < 1.0 {
        true => "at the foot".to_owned(),
        false => format!("{} up", style.length_alone(place.z)),
    };
    Some([format!("up to {} thick,", style.length_alone(depth)), format!("{side}, {height}")])
}

/// Width, depth and height of all parts of these kinds.
fn size_of(model: &Model, kinds: &[PartKind], style: UnitStyle) -> String {
    let parts = model.parts.iter().filter(|part| kinds.contains(&part.kind));
    let bounds = parts.filter_map(|part| part.mesh.bounds()).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    bounds.map_or_else(String::new, |(low, high)| format!("{} high", style.sides(&(high - low).to_array())))
}

fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

impl Studio {
    /// All steps of the making on one sheet, and what had to be simplified for the graphics card. Of the options, view,
    /// lens, stage, legend and dimensions are set by the sheet.
    ///
    /// # Errors
    /// [`ViewerError`], with what to change; a sheet narrower than 640 pixels cannot be read.
    pub fn step_sheet(
        &mut self,
        model: &Model,
        options: &PictureOptions,
    ) -> Result<(RgbaImage, Simplified), ViewerError> {
        options.check_sheet("a sheet of steps")?;
        let steps = making_steps(model);
        let grid = Grid::of(options.size, steps.len());
        let (view, section) = scene::cut_away(model);
        let line = scene::finished_line(model, section)?;
        let around: Vec<_> = model.parts.iter().filter(|part| is_cake(part.kind)).collect();
        let around: Vec<_> = around.iter().flat_map(|part| part.mesh.positions.iter().copied()).collect();
        let margins = Margins { left: 0.09, right: 0.09, top: 0.07, bottom: 0.07 };
        let aspect = f64::from(grid.cell.0) / f64::from(grid.cell.1);
        let pose = Pose::framing(around.iter().copied(), view, Lens::Orthographic, aspect, margins);
        let ground = picture::ground_pixel(options.background);
        let mut sheet = RgbaImage::from_pixel(options.size.0, options.size.1, ground);
        let mut simplified = Simplified::default();
        for (place, step) in steps.iter().enumerate() {
            let cell = PictureOptions {
                view,
                lens: Lens::Orthographic,
                size: grid.cell,
                showing: Showing {
                    stage: step.stage,
                    offcut: OffcutView::CutAway,
                    carving: step.carving.clone(),
                    ghost: true,
                    ..options.showing.clone()
                },
                background: Background::Transparent,
                legend: false,
                dimensions: false,
                ..options.clone()
            };
            let drawn = self.drawn_from(model, &cell, pose)?;
            simplified = simplified.worse(drawn.simplified);
            let mut scene = drawn.scene;
            scene.finished_line.clone_from(&line);
            let mut canvas = Canvas::on(&drawn.image);
            let now = step.carving.as_ref().and_then(|carving| carving.now);
            let mut notes = carve_notes(model, &scene, &drawn.pose, grid.cell).unwrap_or_default();
            if notes.finished.is_empty() {
                let at = |p| drawn.pose.project(p, grid.cell);
                notes.finished = line.iter().map(|[from, to]| [at(*from), at(*to)]).collect();
            }
            let named = model.layers.iter().find(|layer| Some(layer.index) == now).map(|layer| &layer.name);
            notes.layers.retain(|note| Some(&note.words[0]) == named);
            notes.layers.iter_mut().for_each(|note| note.words = Default::default());
            compose::draw_carve(&mut canvas, &notes, 0.85 * grid.unit);
            let (x, y) = grid.corner(place);
            imageops::overlay(&mut sheet, &canvas.finish(), x.into(), y.into());
        }
        Ok((grid.annotate(&sheet, model, &steps), simplified))
    }
}

/// What decides how large the small pictures are drawn.
fn is_cake(kind: PartKind) -> bool {
    matches!(
        kind,
        PartKind::RawLayer | PartKind::Kept | PartKind::Covering | PartKind::Finished | PartKind::Add
    )
}

/// Where things lie on the sheet, pixels.
struct Grid {
    size: (u32, u32),
    columns: u32,
    cell: (u32, u32),
    /// Room for words below each small picture.
    words: u32,
    top: u32,
    unit: f32,
}

impl Grid {
    /// The columns that make the small pictures largest.
    fn of(size: (u32, u32), count: usize) -> Self {
        let count = count.max(1) as u32;
        let unit = size.1 as f32 / 1000.0;
        let (top, foot, words) = ((125.0 * unit) as u32, (50.0 * unit) as u32, (126.0 * unit) as u32);
        let cell = |columns: u32| {
            let rows = count.div_ceil(columns);
            let high = ((size.1 - top - foot) / rows).saturating_sub(words).max(8);
            (((size.0 - (40.0 * unit) as u32) / columns).max(8), high)
        };
        let columns = (1..=count).max_by_key(|columns| cell(*columns).0.min(cell(*columns).1)).unwrap_or(1);
        Self { size, columns, cell: cell(columns), words, top, unit }
    }

    fn corner(&self, place: usize) -> (u32, u32) {
        let (column, row) = (place as u32 % self.columns, place as u32 / self.columns);
        let left = (self.size.0 - self.columns * self.cell.0) / 2;
        (left + column * self.cell.0, self.top + row * (self.cell.1 + self.words))
    }

    fn annotate(&self, image: &RgbaImage, model: &Model, steps: &[MakingStep]) -> RgbaImage {
        let mut canvas = Canvas::on(image);
        let u = self.unit;
        compose::draw_title(
            &mut canvas,
            &model.name,
            "Thick line: carved. Thin line: finished. Arrow: how far in from the side, half way up the layer.",
        );
        let room = self.cell.0 as f32 - 24.0 * u;
        let title = |place: usize, step: &MakingStep| format!("{}  {}", place + 1, step.name);
        // One size for all, so that all fit.
        let titles = steps.iter().enumerate();
        let titles =
            titles.map(|(place, step)| canvas.fitting(&title(place, step), 23.0 * u, Face::Bold, room));
        let title_size = titles.fold(f32::INFINITY, f32::min);
        let lines = steps.iter().flat_map(|step| &step.lines);
        let size =
            lines.map(|line| canvas.fitting(line, 18.0 * u, Face::Plain, room)).fold(f32::INFINITY, f32::min);
        for (place, step) in steps.iter().enumerate() {
            let (x, y) = self.corner(place);
            let (x, y) = (x as f32 + 16.0 * u, (y + self.cell.1) as f32);
            let name = title(place, step);
            canvas.text((x, y + 22.0 * u), title_size, Face::Bold, Anchor::Left, compose::INK, &name);
            for (line, words) in step.lines.iter().enumerate() {
                let at = (x, y + 24.0 * u + size * 1.2 * (line + 1) as f32);
                let colour = if words.starts_with(NEXT) { compose::FAINT } else { compose::INK };
                canvas.text(at, size, Face::Plain, Anchor::Left, colour, words);
            }
        }
        compose::draw_caution(&mut canvas);
        canvas.finish()
    }
}
