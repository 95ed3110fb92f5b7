//! Chooses what of a model stands on the stage, and how each piece looks.
//!
//! Pure: the same model and the same wishes give the same pieces, for the window and for pictures.

use glam::DVec3;

use super::{Section, Showing, Surface, ViewerError, cut};
use crate::model::{Model, Part, PartKind, Rgb};

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
}

impl Staging {
    /// Lowest and highest corner of everything, mm.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        self.pieces.iter().filter_map(|piece| piece.surface.mesh.bounds()).reduce(around)
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
    let mut staging = Staging::default();
    for (index, part) in model.parts.iter().enumerate() {
        if showing.hidden.contains(&part.name) {
            continue;
        }
        for (look, limit) in way.roles(part, showing) {
            let Some(mut surface) = limit.apply(part)? else { continue };
            if !matches!(look, Look::Hardware | Look::Ghost) {
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
                let colour = way.colour(part, look, showing);
                staging.pieces.push(Piece { part: index, look, colour, surface, lift });
            }
        }
    }
    if !staging.pieces.iter().any(|p| !matches!(p.look, Look::Hardware | Look::Ghost)) {
        return Err(ViewerError::Empty { stage: showing.stage.to_string(), missing: way.missing() });
    }
    let has = |look| staging.pieces.iter().any(|p| p.look == look);
    (staging.shortfall, staging.ghost) = (has(Look::Shortfall), has(Look::Ghost));
    let skins = staging.pieces.iter().filter(|p| p.look == Look::Depth);
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

/// What of a part is there at this point of the way.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Limit {
    Whole,
    /// Only what lies below this height, mm.
    Below(f64),
}

impl Limit {
    fn apply(self, part: &Part) -> Result<Option<Surface>, ViewerError> {
        let whole = Surface::from(part);
        match self {
            Self::Whole => Ok(Some(whole)),
            Self::Below(height) => cut::keep_inside(&whole, DVec3::Z, height, &part.name),
        }
    }
}

/// The colour of the ghost of what is shaved off.
const SHAVED_OFF: Rgb = Rgb(226, 178, 110);

/// The colour of fillings while colour means depth.
const BETWEEN: Rgb = Rgb(176, 178, 182);

/// Where on the way from raw stack to finished cake the stage stands.
struct Way {
    step: Step,
    /// Whether the finished cake must be shown as its coats, because the inside shows.
    opened: bool,
    /// Whether the model holds the finished cake as one solid.
    has_finished: bool,
    /// Whether there are coats under the outermost.
    inner_coats: bool,
    /// Whether there are coats at all.
    any_coats: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Step {
    Raw,
    /// The knife has come down to this height.
    Carving(f64),
    Carved,
    /// The inner coats have come up to this height.
    Coating(f64),
    Coated,
    /// The outermost coat has come up to this height.
    Covering(f64),
    Finished,
}

impl Way {
    fn of(model: &Model, showing: &Showing) -> Self {
        let thirds = showing.stage.fraction() * 3.0;
        let height = |kinds: &[PartKind]| {
            let of_kind = model.parts.iter().filter(|p| kinds.contains(&p.kind));
            let top = of_kind.filter_map(|p| p.mesh.bounds()).map(|(_, hi)| hi.z);
            top.reduce(f64::max).unwrap_or(0.0)
        };
        let raw = || height(&[PartKind::RawLayer, PartKind::Offcut, PartKind::Kept]);
        let coats = || height(&[PartKind::Covering, PartKind::Finished]);
        let near = |whole: f64| (thirds - whole).abs() < 1e-9;
        let step = match thirds {
            _ if near(0.0) => Step::Raw,
            _ if near(1.0) => Step::Carved,
            _ if near(2.0) => Step::Coated,
            _ if near(3.0) => Step::Finished,
            t if t < 1.0 => Step::Carving(raw() * (1.0 - t)),
            t if t < 2.0 => Step::Coating(coats() * (t - 1.0)),
            t => Step::Covering(coats() * (t - 2.0)),
        };
        let has_finished = model.parts.iter().any(|p| p.kind == PartKind::Finished);
        let opened = showing.section.is_some() || showing.pull_apart > 0.0 || !showing.hidden.is_empty();
        let inner_coats = model.parts.iter().any(|p| p.kind == PartKind::Covering && p.index > 0);
        let any_coats = model.parts.iter().any(|p| p.kind == PartKind::Covering);
        Self { step, opened, has_finished, inner_coats, any_coats }
    }

    /// The ways in which a part is on the stage: none, one, or as ghost beside its own.
    fn roles(&self, part: &Part, showing: &Showing) -> Vec<(Look, Limit)> {
        use PartKind as Kind;
        let whole = |look| vec![(look, Limit::Whole)];
        let nothing = Vec::new;
        let one_solid = self.step == Step::Finished && self.has_finished && !self.opened;
        match part.kind {
            Kind::PresentationBoard => whole(Look::Hardware),
            Kind::Finished if one_solid => whole(Look::Icing),
            Kind::Finished | Kind::Line => nothing(),
            Kind::Add | Kind::Inlay if self.step == Step::Finished => whole(Look::Icing),
            Kind::Add | Kind::Inlay => nothing(),
            _ if one_solid => nothing(),
            Kind::Covering => self.coat(part),
            _ if self.hides_inside() => nothing(),
            Kind::Board | Kind::Dowel => whole(Look::Hardware),
            Kind::RawLayer if self.step == Step::Raw => whole(Look::Crumb),
            Kind::RawLayer if self.haunts(showing) => whole(Look::Ghost),
            Kind::RawLayer => nothing(),
            Kind::RawFilling if self.step == Step::Raw => whole(Look::Spread),
            Kind::RawFilling | Kind::Offcut => match self.step {
                Step::Carving(down_to) => {
                    let look = if part.kind == Kind::Offcut { Look::Crumb } else { Look::Spread };
                    vec![(look, Limit::Below(down_to))]
                }
                _ => nothing(),
            },
            Kind::Kept | Kind::Shortfall | Kind::Filling if self.step == Step::Raw => nothing(),
            Kind::Kept if showing.depth_colour && !self.is_coated() => whole(Look::Depth),
            Kind::Kept => whole(Look::Crumb),
            Kind::Shortfall => whole(Look::Shortfall),
            Kind::Filling => whole(Look::Spread),
        }
    }

    /// Coverings are counted from the outside in: the first one goes on last.
    fn coat(&self, part: &Part) -> Vec<(Look, Limit)> {
        let limit = match (self.step, part.index) {
            (Step::Finished, _) => Limit::Whole,
            (Step::Covering(up_to), 0) => Limit::Below(up_to),
            (Step::Coating(up_to), 1..) => Limit::Below(up_to),
            (Step::Coated | Step::Covering(_), 1..) => Limit::Whole,
            _ => return Vec::new(),
        };
        vec![(Look::Icing, limit)]
    }

    /// Whether coats hide all that the knife left, so that its depth cannot be seen anywhere.
    fn is_coated(&self) -> bool {
        match self.step {
            Step::Coated | Step::Covering(_) => self.inner_coats,
            Step::Finished => self.any_coats,
            _ => false,
        }
    }

    /// Whether nothing inside the coats can be seen.
    fn hides_inside(&self) -> bool {
        self.is_coated() && !self.opened
    }

    /// A part's own colour; but while colour means depth, what lies between the layers is grey, so
    /// that it cannot be taken for a depth.
    fn colour(&self, part: &Part, look: Look, showing: &Showing) -> Rgb {
        if look == Look::Ghost {
            return SHAVED_OFF;
        }
        let carving = matches!(self.step, Step::Carving(_) | Step::Carved);
        let between = matches!(part.kind, PartKind::Filling | PartKind::RawFilling);
        if carving && between && showing.depth_colour { BETWEEN } else { part.colour }
    }

    fn haunts(&self, showing: &Showing) -> bool {
        showing.ghost && matches!(self.step, Step::Carving(_) | Step::Carved)
    }

    fn missing(&self) -> &'static str {
        match self.step {
            Step::Raw => "layers",
            Step::Carving(_) | Step::Carved => "carved layers",
            Step::Coating(_) | Step::Coated => "coats",
            Step::Covering(_) | Step::Finished => "finished shape",
        }
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
