//! Chooses what of a model stands on the stage, and how each piece looks.
//!
//! Pure: the same model and the same wishes give the same pieces, for the window and for pictures.

use glam::DVec3;

use super::{
    Section, Showing, Surface, ViewerError, cut,
    way::{Shape, Step, Way},
};
use formats::model::{Model, Part, PartKind, Rgb};

/// How a piece is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Look {
    /// Cake in its own colour, crumbly.
    Crumb,
    /// Cake that stays, coloured by how deep it was shaved.
    Depth,
    /// Missing cake, in its own colour and hatch.
    Shortfall,
    /// What lies between layers.
    Spread,
    /// A coat or an add: smooth, with a slight sheen.
    Icing,
    /// Boards and dowels.
    Hardware,
    /// The raw stack shown through, as a ghost.
    Ghost,
}

/// One thing on the stage.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The part of the model it comes from.
    pub part: usize,
    /// How it is drawn.
    pub look: Look,
    /// Its own colour.
    pub colour: Rgb,
    /// What to draw, mm, already lifted and cut.
    pub surface: Surface,
    /// How far it was lifted when the layers were pulled apart, mm.
    pub lift: f64,
}

/// Everything on the stage.
#[derive(Debug, Clone, Default)]
pub struct Staging {
    /// How far the making has come.
    pub step: Step,
    /// The pieces, bottom up and inside out.
    pub pieces: Vec<Piece>,
    /// The deepest shave on the stage, mm; `None` when no piece is coloured by depth.
    pub deepest: Option<f64>,
    /// Lowest and highest corner of the cake itself, whole and as built, mm.
    pub cake: Option<(DVec3, DVec3)>,
    /// Whether any shortfall is on the stage.
    pub shortfall: bool,
    /// Whether a ghost of the raw stack is on the stage.
    pub ghost: bool,
    /// Whether the inside shows.
    pub opened: bool,
    /// Whether it shows what carries what.
    pub loads: bool,
}

impl Staging {
    /// Lowest and highest corner of everything, mm.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        self.pieces.iter().filter_map(|piece| piece.surface.mesh.bounds()).reduce(around)
    }

    /// Triangles of everything.
    pub fn triangles(&self) -> usize {
        self.pieces.iter().map(|piece| piece.surface.mesh.len()).sum()
    }
}

/// Chooses the pieces, lifts them apart and cuts them.
///
/// # Errors
/// [`ViewerError::Empty`] when the model has nothing for this stage, [`ViewerError::Cut`] when a part
/// is no solid and so cannot be cut.
pub fn stage(model: &Model, showing: &Showing) -> Result<Staging, ViewerError> {
    let way = Way::of(model, showing);
    let gaps = Gaps::of(model, showing.pull_apart);
    let flats = Flats::of(model);
    let under_way = way.under_way(model);
    let opened = showing.section.is_some() || showing.pull_apart > 0.0;
    let mut staging = Staging { step: way.step.clone(), opened, loads: showing.loads, ..Staging::default() };
    for (index, part) in model.parts.iter().enumerate() {
        if showing.hidden.contains(&part.name) {
            continue;
        }
        for (look, shape) in way.roles(model, part, showing) {
            let same = |other: &&Part| other.kind == part.kind && other.index == part.index;
            let there = if shape == Shape::Whole { Some(part) } else { under_way.iter().find(same) };
            let Some(mut surface) = there.map(Surface::from) else { continue };
            if !matches!(look, Look::Hardware | Look::Ghost) || (showing.loads && part.kind == PartKind::Kept)
            {
                staging.cake = staging.cake.into_iter().chain(surface.mesh.bounds()).reduce(around);
            }
            let lift = gaps.lift(part);
            lift_by(&mut surface, lift);
            if let Some(mut surface) = cut_open(surface, part, look, showing.section)? {
                if look == Look::Depth {
                    let inner: Vec<bool> =
                        (0..surface.mesh.len()).map(|t| flats.hold(part, &surface, t, lift)).collect();
                    surface.mark_caps(&inner);
                }
                let colour = way.colour(model, part, look, showing);
                staging.pieces.push(Piece { part: index, look, colour, surface, lift });
            }
        }
    }
    let is_cake = |p: &Piece| showing.loads || !matches!(p.look, Look::Hardware | Look::Ghost);
    if !staging.pieces.iter().any(is_cake) {
        return Err(ViewerError::Empty { stage: showing.stage.to_string(), missing: way.missing() });
    }
    let has = |look| staging.pieces.iter().any(|p| p.look == look);
    (staging.shortfall, staging.ghost) = (has(Look::Shortfall), has(Look::Ghost) && !showing.loads);
    // What is still to be shaved off is less deep, and must not move the scale.
    let skins = staging.pieces.iter().filter(|p| p.look == Look::Depth);
    let skins = skins.filter(|p| model.parts[p.part].kind == PartKind::Kept);
    staging.deepest = skins.map(|p| flats.deepest_shave(&model.parts[p.part])).reduce(f64::max);
    Ok(staging)
}

/// The box around two boxes.
fn around(a: (DVec3, DVec3), b: (DVec3, DVec3)) -> (DVec3, DVec3) {
    (a.0.min(b.0), a.1.max(b.1))
}

/// The level faces of the raw layers, where one layer lies against the next. The knife never touched
/// them, so they carry no depth colour.
struct Flats {
    /// For each layer its place in the stack, and the heights of its underside and top, mm.
    layers: Vec<(usize, [f64; 2])>,
}

/// A face is level with a raw layer's when its corners are this close, mm: rounding only.
const LEVEL: f64 = 1e-6;

/// Less than this, mm, is no shave but rounding: the untouched skin of the stack.
const UNTOUCHED: f64 = 0.01;

impl Flats {
    fn of(model: &Model) -> Self {
        let raw = model.parts.iter().filter(|p| p.kind == PartKind::RawLayer);
        let heights = |p: &Part| p.mesh.bounds().map(|(lo, hi)| (p.index, [lo.z, hi.z]));
        Self { layers: raw.filter_map(heights).collect() }
    }

    /// Whether a triangle of a part, lifted by so much, lies in such a face.
    fn hold(&self, part: &Part, surface: &Surface, triangle: usize, lift: f64) -> bool {
        let corners = surface.mesh.triangles[triangle].map(|v| v as usize);
        let Some((_, heights)) = self.layers.iter().find(|(index, _)| *index == part.index) else {
            return false;
        };
        let level = |height: f64| {
            corners.iter().all(|v| (surface.mesh.positions[*v].z - lift - height).abs() < LEVEL)
        };
        let shaved = |v: &usize| surface.depth.get(*v).is_some_and(|depth| *depth > UNTOUCHED);
        heights.iter().any(|height| level(*height)) && corners.iter().any(shaved)
    }

    /// The deepest shave that the knife left on a part, mm.
    fn deepest_shave(&self, part: &Part) -> f64 {
        let surface = Surface::from(part);
        let cut = (0..surface.mesh.len()).filter(|t| !self.hold(part, &surface, *t, 0.0));
        let corners = cut.flat_map(|t| surface.mesh.triangles[t]);
        corners.filter_map(|v| surface.depth.get(v as usize)).copied().fold(0.0, f64::max)
    }
}

/// Where the raw layers begin, and so how far each part is lifted when they are pulled apart.
struct Gaps {
    bottoms: Vec<f64>,
    gap: f64,
}

impl Gaps {
    fn of(model: &Model, gap: f64) -> Self {
        let layers = model.parts.iter().filter(|p| p.kind == PartKind::RawLayer);
        let mut bottoms: Vec<f64> = layers.filter_map(|p| p.mesh.bounds()).map(|(lo, _)| lo.z).collect();
        bottoms.sort_by(f64::total_cmp);
        bottoms.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        Self { bottoms, gap }
    }

    /// The lowest layer stays; coats and adds go above everything, like a lid.
    fn lift(&self, part: &Part) -> f64 {
        let above = match part.kind {
            _ if self.gap == 0.0 => 0,
            PartKind::PresentationBoard => 0,
            PartKind::Covering | PartKind::Finished | PartKind::Add | PartKind::Inlay => self.bottoms.len(),
            _ => {
                let bottom = part.mesh.bounds().map_or(0.0, |(lo, _)| lo.z);
                self.bottoms.partition_point(|b| *b <= bottom + 1e-6).saturating_sub(1)
            }
        };
        above as f64 * self.gap
    }
}

fn lift_by(surface: &mut Surface, lift: f64) {
    if lift != 0.0 {
        for p in &mut surface.mesh.positions {
            p.z += lift;
        }
    }
}

/// How far the cut face of a part stands proud of the others, mm: too little to see, but enough that
/// what reaches into something else wins over it. A dowel runs through the layers, and an add may
/// reach into the coat under it.
fn proud(kind: PartKind) -> f64 {
    match kind {
        PartKind::Board => 0.02,
        PartKind::Dowel => 0.04,
        PartKind::Add | PartKind::Inlay => 0.06,
        _ => 0.0,
    }
}

/// Cuts one piece open. The presentation board stays whole: the cake goes on standing on it.
fn cut_open(
    surface: Surface,
    part: &Part,
    look: Look,
    section: Option<Section>,
) -> Result<Option<Surface>, ViewerError> {
    let Some(section) = section.filter(|_| part.kind != PartKind::PresentationBoard) else {
        return Ok(Some(surface));
    };
    let (outward, offset) = section.plane();
    let mut cut = cut::keep_inside(&surface, outward, offset + proud(part.kind), &part.name)?;
    if look == Look::Ghost
        && let Some(ghost) = &mut cut
    {
        open_caps(ghost);
    }
    Ok(cut)
}

/// Takes the cut faces out of a ghost, so that it does not veil what the cut shows.
fn open_caps(surface: &mut Surface) {
    let caps = std::mem::take(&mut surface.cap);
    let mut is_cap = caps.into_iter();
    surface.mesh.triangles.retain(|_| !is_cap.next().unwrap_or(false));
}
