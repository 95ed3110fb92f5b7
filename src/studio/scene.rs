//! Chooses which parts of a model are shown, and how each is drawn.
//!
//! Pure: the same model and the same showing give the same pieces, for the window and for pictures.

use glam::{DVec2, DVec3};
use rayon::prelude::*;

use super::{
    OffcutView, Section, Showing, Surface, View, ViewerError, cut,
    scale::DepthScale,
    timeline::{Completion, OFF, Step, Timeline},
};
use formats::{
    model::{Model, Part, PartKind, Rgb, Tint},
    tint::Seen,
};
use geom::{
    Cancel,
    units::{Unit, UnitStyle},
};

/// How a piece is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Look {
    /// Sponge in its own colour, with its crumb.
    Crumb,
    /// Sponge that stays, coloured by how deep it was shaved.
    Depth,
    /// Missing cake, in its own colour and hatch.
    Shortfall,
    /// What lies between layers.
    Filling,
    /// A coat or an add: smooth, with a slight gloss.
    Icing,
    /// Boards and dowels.
    Hardware,
    /// Transparent, with its edges drawn: the raw stack around what is carved from it.
    Ghost,
    /// What is carved off: hatched in one colour.
    Offcut,
}

impl Look {
    /// Whether it is of the cake itself, and not what carries or surrounds it.
    fn is_cake(self) -> bool {
        !matches!(self, Self::Hardware | Self::Ghost | Self::Offcut)
    }
}

/// One thing that is shown.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The part of the model it comes from.
    pub part: usize,
    /// How it is drawn.
    pub look: Look,
    /// Its own colour.
    pub colour: Rgb,
    /// What is painted or brushed on it.
    pub tints: Vec<Tint>,
    /// What to draw, mm, already lifted and cut.
    pub surface: Surface,
    /// How far it was lifted when the layers were pulled apart, mm.
    pub lift: f64,
    /// Whether it lies flush in another piece, so that it takes no light from it.
    pub flush: bool,
    /// Whether its outside is as it was baked, with a crust.
    pub crust: bool,
    /// Whether it is of the presentation board, which the cake stands on.
    pub under_cake: bool,
}

impl Piece {
    /// Its colour on the whole, with half of what fades.
    pub fn mean_colour(&self) -> Rgb {
        let under = |seen: Seen, tint: &Tint| seen.under(tint, if tint.fade.is_some() { 0.5 } else { 1.0 });
        self.tints.iter().fold(Seen::plain(self.colour), under).stored()
    }

    /// Whether it is of the cake itself, and not what carries or surrounds it.
    pub fn is_cake(&self) -> bool {
        self.look.is_cake() && !self.under_cake
    }
}

/// Everything that is shown.
#[derive(Debug, Clone, Default)]
pub struct Scene {
    /// The maker's unit.
    pub unit: Unit,
    /// How far the making has come.
    pub step: Step,
    /// The pieces, bottom up and inside out.
    pub pieces: Vec<Piece>,
    /// The greatest shave depth shown, mm; `None` when no piece is coloured by depth.
    pub deepest: Option<f64>,
    /// Lowest and highest corner of the cake itself, whole and as built, mm.
    pub cake: Option<(DVec3, DVec3)>,
    /// Whether any shortfall is shown.
    pub shortfall: bool,
    /// Whether a ghost of the raw stack is shown.
    pub ghost: bool,
    /// Whether the inside shows.
    pub opened: bool,
    /// Whether it shows what carries what.
    pub loads: bool,
    /// Whether what is carved off is shown, hatched.
    pub offcut: bool,
    /// The cut through everything, asked for or that of a cut-away.
    pub section: Option<Section>,
    /// Whether its surfaces have the steps of a grid ([`Model::on_grid`]).
    pub on_grid: bool,
    /// The finished line in the plane of a cut-away, mm, as pieces of lines.
    pub finished_line: Vec<[DVec3; 2]>,
}

impl Scene {
    /// Lowest and highest corner of everything, mm.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        self.pieces.iter().filter_map(|piece| piece.surface.mesh.bounds()).reduce(union)
    }

    /// Triangles of everything.
    pub fn triangles(&self) -> usize {
        self.pieces.iter().map(|piece| piece.surface.mesh.len()).sum()
    }

    /// The depth scale in use; `None` when no piece is coloured by depth.
    pub fn depth_scale(&self) -> Option<DepthScale> {
        self.deepest.map(|deepest| DepthScale::reaching(deepest, self.unit))
    }

    /// How its figures are written.
    pub fn style(&self) -> UnitStyle {
        UnitStyle::new(self.unit)
    }
}

/// Chooses the pieces, lifts them apart and cuts them.
///
/// # Errors
/// [`ViewerError::Empty`] when the model has nothing for this stage, [`ViewerError::AllHidden`] when what it
/// has is switched off, [`ViewerError::Cut`] when a part is no solid and so cannot be cut.
pub fn build_scene(model: &Model, showing: &Showing) -> Result<Scene, ViewerError> {
    build_scene_unless(model, showing, &Cancel::new())
}

/// [`build_scene`], which stops between two parts when asked to.
///
/// # Errors
/// As [`build_scene`]; [`ViewerError::Cancelled`] when asked to stop.
pub fn build_scene_unless(model: &Model, showing: &Showing, cancel: &Cancel) -> Result<Scene, ViewerError> {
    let timeline = Timeline::of(model, showing);
    let lifts = Lifts::of(model, showing.pull_apart);
    let level_faces = LevelFaces::of(model);
    let in_progress = timeline.in_progress(model);
    let halves = Halves::of(model, showing, &timeline.step);
    let section = section_of(model, showing, &timeline.step);
    let opened = section.is_some() || showing.pull_apart > 0.0;
    let step = timeline.step.clone();
    let (unit, loads, on_grid) = (model.unit, showing.loads, model.on_grid);
    let mut scene = Scene { unit, step, opened, loads, on_grid, ..Scene::default() };
    let mut hides_cake = false;
    for (index, part) in model.parts.iter().enumerate() {
        cancel.check()?;
        let appearances = timeline.appearances(model, part, showing);
        let under_cake = part.kind.is_of_presentation_board();
        if showing.hidden.contains(&part.name) {
            hides_cake |= !under_cake && appearances.iter().any(|(look, _)| look.is_cake());
            continue;
        }
        for (look, completion) in appearances {
            // A coat on its way on is in one piece, in place of that of its zones that has its name.
            let same = |other: &&Part| {
                other.kind == part.kind && other.index == part.index && other.name == part.name
            };
            let source = match completion {
                Completion::Complete => Some(part),
                Completion::Partial => in_progress.iter().find(same),
            };
            let Some(mut surface) = source.map(Surface::from) else { continue };
            let goes = look == Look::Offcut || part.kind == PartKind::RawFilling;
            if let Some(halves) = halves.as_ref().filter(|_| goes) {
                let lift = lifts.lift(part);
                lift_by(&mut surface, lift);
                scene.pieces.extend(halves.pieces((index, part), (surface, lift))?);
                continue;
            }
            if (look.is_cake() && !under_cake) || (showing.loads && part.kind == PartKind::Kept) {
                scene.cake = scene.cake.into_iter().chain(surface.mesh.bounds()).reduce(union);
            }
            let lift = lifts.lift(part);
            lift_by(&mut surface, lift);
            if let Some(mut surface) = cut_open(surface, part, look, section)? {
                if look == Look::Depth {
                    let inner: Vec<bool> = (0..surface.mesh.len())
                        .map(|t| level_faces.contains(part, &surface, t, lift))
                        .collect();
                    surface.mark_caps(&inner);
                }
                let colour = timeline.colour(model, part, look, showing);
                let flush = part.kind == PartKind::Inlay;
                let crust = matches!(part.kind, PartKind::RawLayer | PartKind::Offcut) && look == Look::Crumb;
                scene.pieces.push(Piece {
                    part: index,
                    look,
                    colour,
                    tints: if look == Look::Icing { part.tints.clone() } else { Vec::new() },
                    surface,
                    lift,
                    flush,
                    crust,
                    under_cake,
                });
            }
        }
    }
    if !scene.pieces.iter().any(|piece| showing.loads || piece.is_cake()) {
        return Err(match hides_cake {
            true => ViewerError::AllHidden,
            false => ViewerError::Empty { stage: showing.stage.to_string(), missing: timeline.missing() },
        });
    }
    scene.section = section;
    if let Some(section) =
        section.filter(|_| showing.offcut == OffcutView::CutAway && scene.step == Step::Carved)
    {
        scene.finished_line = finished_line(model, section)?;
    }
    let has = |look| scene.pieces.iter().any(|p| p.look == look);
    scene.offcut = has(Look::Offcut);
    (scene.shortfall, scene.ghost) = (has(Look::Shortfall), has(Look::Ghost) && !showing.loads);
    // What is still to be shaved off is less deep, and must not move the scale.
    let coloured = scene.pieces.iter().filter(|p| p.look == Look::Depth);
    let coloured = coloured.filter(|p| model.parts[p.part].kind == PartKind::Kept);
    scene.deepest = coloured.map(|p| level_faces.deepest_shave(&model.parts[p.part])).reduce(f64::max);
    Ok(scene)
}

/// The cut that is asked for; of a cut-away without one that of [`cut_away`].
fn section_of(model: &Model, showing: &Showing, step: &Step) -> Option<Section> {
    let is_carved = matches!(step, Step::Carved | Step::Carving { .. });
    let is_cut_away = showing.offcut == OffcutView::CutAway && is_carved && !showing.loads;
    showing.section.or_else(|| is_cut_away.then(|| cut_away(model).1))
}

/// From where a cut-away is looked at, and where it is cut: along the longer side of what stays, through the axis.
pub fn cut_away(model: &Model) -> (View, Section) {
    /// So much longer than wide it is looked at from the side.
    const LONGER: f64 = 1.1;
    let kept = model.parts.iter().filter(|part| part.kind == PartKind::Kept);
    let size = kept.filter_map(|part| part.mesh.bounds()).reduce(union).map(|(low, high)| high - low);
    match size {
        Some(size) if size.y > LONGER * size.x => (View::Side, Section::Bearing(90.0)),
        _ => (View::Front, Section::Across(0.0)),
    }
}

/// Where the finished surface meets the plane of a section.
pub(super) fn finished_line(model: &Model, section: Section) -> Result<Vec<[DVec3; 2]>, ViewerError> {
    let (outward, offset) = section.plane();
    // One part for each zone of the outermost covering.
    let mut outlines = Vec::new();
    for part in model.parts.iter().filter(|part| part.kind == PartKind::Finished) {
        let cut = cut::keep_inside(&Surface::from(part), outward, offset, &part.name)?;
        outlines.push(cut.map_or_else(Vec::new, |cut| cut.cap_outline()));
    }
    Ok(outside_of(&outlines, outward))
}

/// The edges of these outlines in one plane that have an outline on one side only: where two meet there is no line.
fn outside_of(outlines: &[Vec<[DVec3; 2]>], normal: DVec3) -> Vec<[DVec3; 2]> {
    /// How far beside an edge is looked, mm.
    const BESIDE: f64 = 0.05;
    if outlines.len() < 2 {
        return outlines.concat();
    }
    let across = normal.any_orthonormal_vector();
    let over = normal.cross(across);
    let flat = |p: DVec3| DVec2::new(p.dot(across), p.dot(over));
    let flat_outlines: Vec<Vec<[DVec2; 2]>> =
        outlines.iter().map(|outline| outline.iter().map(|edge| edge.map(flat)).collect()).collect();
    let is_inside = |p: DVec2| {
        flat_outlines.iter().any(|outline| {
            let crossed = outline.iter().filter(|[a, b]| {
                (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
            });
            crossed.count() % 2 == 1
        })
    };
    let corners: Vec<DVec2> = flat_outlines.iter().flatten().map(|[a, _]| *a).collect();
    let outer_parts = |edge: &[DVec3; 2]| -> Vec<[DVec3; 2]> {
        let [a, b] = edge.map(flat);
        let along = b - a;
        // Where another outline begins or ends to run along it.
        let on_it = corners.iter().filter_map(|p| {
            let share = (*p - a).dot(along) / along.length_squared();
            let is_on = share > 0.0 && share < 1.0 && (a + along * share).distance(*p) < BESIDE / 10.0;
            is_on.then_some(share)
        });
        let mut places: Vec<f64> = on_it.chain([0.0, 1.0]).collect();
        places.sort_by(f64::total_cmp);
        let aside = along.perp().normalize_or_zero() * BESIDE;
        let is_outer = |pair: &&[f64]| {
            let middle = a + along * f64::midpoint(pair[0], pair[1]);
            is_inside(middle + aside) != is_inside(middle - aside)
        };
        let part = |pair: &[f64]| [0, 1].map(|i| edge[0].lerp(edge[1], pair[i]));
        places.windows(2).filter(is_outer).map(part).collect()
    };
    let edges: Vec<[DVec3; 2]> = outlines.concat();
    edges.par_iter().flat_map_iter(outer_parts).collect()
}

/// One half as baked, the other carved, with what goes lifted off it.
struct Halves {
    /// Towards the carved half, unit length, level.
    towards: DVec3,
    /// How far what goes is lifted away, mm.
    furthest: f64,
    /// The layers from the top down, by their places in the stack.
    layers: Vec<usize>,
    /// How much is lifted, from 0 to 1.
    lifted: f64,
}

impl Halves {
    /// `None` where the showing asks for nothing of the kind, or nothing is carved yet.
    fn of(model: &Model, showing: &Showing, step: &Step) -> Option<Self> {
        if showing.offcut != OffcutView::Halves || *step != Step::Carved || showing.section.is_some() {
            return None;
        }
        let (towards, _) = Section::Bearing(showing.carved_half).plane();
        let raw = model.parts.iter().filter(|part| part.kind == PartKind::RawLayer);
        let mut tops: Vec<(f64, usize)> =
            raw.clone().filter_map(|part| Some((part.mesh.bounds()?.1.z, part.index))).collect();
        tops.sort_by(|a, b| b.0.total_cmp(&a.0));
        let reach = raw.flat_map(|part| &part.mesh.positions).map(|p| p.dot(towards)).fold(0.0, f64::max);
        let layers = tops.into_iter().map(|(_, index)| index).collect();
        Some(Self { towards, furthest: 0.95 * reach, layers, lifted: showing.lifted.clamp(0.0, 1.0) })
    }

    /// How far what goes of a layer is lifted away, mm: the upper layers first.
    fn lift_of(&self, layer: usize) -> f64 {
        let place = self.layers.iter().position(|index| *index == layer).unwrap_or(0);
        let share = self.lifted * self.layers.len() as f64 - place as f64;
        share.clamp(0.0, 1.0) * self.furthest
    }

    /// What is there of a layer or a filling beside what stays: in the half as baked as sponge with a hatched cut face, in the other hatched and lifted away.
    fn pieces(
        &self,
        (index, part): (usize, &Part),
        (surface, lift): (Surface, f64),
    ) -> Result<Vec<Piece>, ViewerError> {
        let mut pieces = Vec::new();
        let mut push = |surface: Surface, look: Look, colour: Rgb| {
            if !surface.mesh.triangles.is_empty() {
                let crust = look == Look::Crumb;
                pieces.push(Piece {
                    part: index,
                    look,
                    colour,
                    tints: Vec::new(),
                    surface,
                    lift,
                    flush: false,
                    crust,
                    under_cake: false,
                });
            }
        };
        let baked = cut::keep_inside(&surface, self.towards, 0.0, &part.name)?;
        if part.kind == PartKind::RawFilling {
            baked.into_iter().for_each(|baked| push(baked, Look::Filling, part.colour));
            return Ok(pieces);
        }
        if let Some(baked) = baked {
            let (outside, face) = baked.without_caps();
            push(outside, Look::Crumb, part.colour);
            push(face, Look::Offcut, OFF);
        }
        if let Some(mut off) = cut::keep_inside(&surface, -self.towards, 0.0, &part.name)? {
            for p in &mut off.mesh.positions {
                *p += self.towards * self.lift_of(part.index);
            }
            push(off, Look::Offcut, OFF);
        }
        Ok(pieces)
    }
}

/// The box that holds two boxes.
fn union(a: (DVec3, DVec3), b: (DVec3, DVec3)) -> (DVec3, DVec3) {
    (a.0.min(b.0), a.1.max(b.1))
}

/// The level faces of the raw layers, where one layer lies against the next. The knife never touched
/// them, so they carry no depth colour.
struct LevelFaces {
    /// For each layer its place in the stack, and the heights of its underside and top, mm.
    layers: Vec<(usize, [f64; 2])>,
}

/// A face is level with a raw layer's when its corners are this close, mm: rounding only.
const LEVEL: f64 = 1e-6;

/// Less than this, mm, is no shave but rounding: the outside of the stack that was not cut.
const UNTOUCHED: f64 = 0.01;

impl LevelFaces {
    fn of(model: &Model) -> Self {
        let raw = model.parts.iter().filter(|p| p.kind == PartKind::RawLayer);
        let heights = |p: &Part| p.mesh.bounds().map(|(lo, hi)| (p.index, [lo.z, hi.z]));
        Self { layers: raw.filter_map(heights).collect() }
    }

    /// Whether a triangle of a part, lifted by so much, lies in such a face.
    fn contains(&self, part: &Part, surface: &Surface, triangle: usize, lift: f64) -> bool {
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
        self.carved_corners(part).map(|(depth, _)| depth).fold(0.0, f64::max)
    }

    /// Depth and place, mm, of every corner of every face that the knife may have left on a part.
    fn carved_corners(&self, part: &Part) -> impl Iterator<Item = (f64, DVec3)> {
        let surface = Surface::from(part);
        let cut = (0..surface.mesh.len()).filter(|t| !self.contains(part, &surface, *t, 0.0));
        let corners: Vec<u32> = cut.flat_map(|t| surface.mesh.triangles[t]).collect();
        corners.into_iter().filter_map(move |v| {
            let depth = surface.depth.get(v as usize)?;
            Some((*depth, surface.mesh.positions[v as usize]))
        })
    }
}

/// Where the knife goes deepest into a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DeepestPlace {
    /// How deep, mm.
    pub depth: f64,
    /// Where, mm.
    pub place: DVec3,
    /// Whether it goes about as deep all round at that height.
    pub all_round: bool,
}

/// The deepest place of what stays of a layer; `None` where it is not carved.
pub fn deepest_place(model: &Model, kept: &Part) -> Option<DeepestPlace> {
    /// Sides that are looked at, how much less deep they may be, and how far off in height, mm.
    const SIDES: (usize, f64, f64) = (12, 0.9, 6.0);
    let faces = LevelFaces::of(model);
    let places: Vec<(f64, DVec3)> =
        faces.carved_corners(kept).filter(|(depth, _)| *depth > UNTOUCHED).collect();
    let (depth, place) = places.iter().copied().reduce(|a, b| if b.0 > a.0 { b } else { a })?;
    let (sides, share, near) = SIDES;
    let mut found = vec![false; sides];
    for (_, p) in places.iter().filter(|(d, p)| *d > share * depth && (p.z - place.z).abs() < near) {
        let turn = p.y.atan2(p.x).rem_euclid(std::f64::consts::TAU) / std::f64::consts::TAU;
        found[((turn * sides as f64) as usize).min(sides - 1)] = true;
    }
    Some(DeepestPlace { depth, place, all_round: found.iter().all(|found| *found) })
}

/// Where the raw layers begin, and so how far each part is lifted when they are pulled apart.
struct Lifts {
    /// Heights of the undersides of the raw layers, bottom up, mm.
    bottoms: Vec<f64>,
    /// The gap between one layer and the next, mm.
    gap: f64,
}

impl Lifts {
    fn of(model: &Model, gap: f64) -> Self {
        let layers = model.parts.iter().filter(|p| p.kind == PartKind::RawLayer);
        let mut bottoms: Vec<f64> = layers.filter_map(|p| p.mesh.bounds()).map(|(lo, _)| lo.z).collect();
        bottoms.sort_by(f64::total_cmp);
        bottoms.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        Self { bottoms, gap }
    }

    /// The lowest layer stays; coats and adds go above everything.
    fn lift(&self, part: &Part) -> f64 {
        let above = match part.kind {
            _ if self.gap == 0.0 => 0,
            kind if kind.is_of_presentation_board() => 0,
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

/// How far the cutting plane is moved outwards for a part, mm: too little to see, but enough that of two
/// cut faces in one place the one of the part that reaches into the other is drawn. A dowel runs through
/// the layers, and an add may reach into the coat under it.
fn cap_offset(kind: PartKind) -> f64 {
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
    let Some(section) = section.filter(|_| !part.kind.is_of_presentation_board()) else {
        return Ok(Some(surface));
    };
    let (outward, offset) = section.plane();
    let mut cut = cut::keep_inside(&surface, outward, offset + cap_offset(part.kind), &part.name)?;
    if look == Look::Ghost
        && let Some(ghost) = &mut cut
    {
        remove_caps(ghost);
    }
    Ok(cut)
}

/// Takes the cut faces out of a ghost, so that they do not cover what the cut shows.
fn remove_caps(surface: &mut Surface) {
    let caps = std::mem::take(&mut surface.cap);
    let mut is_cap = caps.into_iter();
    surface.mesh.triangles.retain(|_| !is_cap.next().unwrap_or(false));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Stage, test_model::one_layer};

    #[test]
    fn where_two_outlines_meet_there_is_no_line() {
        let square = |low: DVec2, high: DVec2| -> Vec<[DVec3; 2]> {
            let corners = [low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)];
            (0..4).map(|i| [corners[i], corners[(i + 1) % 4]].map(|p| p.extend(0.0))).collect()
        };
        let (low, high) =
            (square(DVec2::ZERO, DVec2::new(9.0, 4.0)), square(DVec2::new(0.0, 4.0), DVec2::splat(9.0)));
        let line = outside_of(&[low.clone(), high], DVec3::Z);
        assert_eq!(line.len(), 6, "the two edges between them are gone");
        assert!(line.iter().all(|[a, b]| !(a.y == 4.0 && b.y == 4.0)));
        assert_eq!(outside_of(std::slice::from_ref(&low), DVec3::Z), low);
        // A lid wider than what it lies on keeps its underside where that looks out.
        let lid = square(DVec2::new(-2.0, 4.0), DVec2::new(11.0, 6.0));
        let line = outside_of(&[low, lid], DVec3::Z);
        let underside = line.iter().filter(|[a, b]| a.y == 4.0 && b.y == 4.0);
        let length: f64 = underside.map(|[a, b]| a.distance(*b)).sum();
        assert!((length - 4.0).abs() < 1e-9, "{length}");
    }

    fn hiding(names: &[&str]) -> Showing {
        Showing { hidden: names.iter().map(|name| (*name).to_owned()).collect(), ..Showing::default() }
    }

    #[test]
    fn what_is_switched_off_and_what_is_not_there_are_told_apart() {
        let model = one_layer();
        assert_eq!(build_scene(&model, &hiding(&[])).unwrap().pieces.len(), 2);
        let error = build_scene(&model, &hiding(&["raw", "layer"])).unwrap_err();
        assert!(matches!(error, ViewerError::AllHidden), "{error}");
        assert_eq!(error.to_string(), "nothing is shown: all parts are switched off");
        let coated = Showing { stage: Stage::Coated, ..Showing::default() };
        let bare = Model { parts: Vec::new(), ..Model::default() };
        let error = build_scene(&bare, &coated).unwrap_err();
        assert!(matches!(error, ViewerError::Empty { missing: "coats", .. }), "{error}");
    }

    #[test]
    fn a_hidden_part_that_the_cake_no_longer_has_changes_nothing() {
        let whole = build_scene(&one_layer(), &hiding(&[])).unwrap();
        let same = build_scene(&one_layer(), &hiding(&["layer of another name"])).unwrap();
        assert_eq!(same.pieces.len(), whole.pieces.len());
        let finished = Showing { stage: Stage::Finished, ..hiding(&["layer of another name"]) };
        let mut model = one_layer();
        let solid = Part { name: "finished".into(), kind: PartKind::Finished, ..model.parts[1].clone() };
        model.parts.push(solid);
        let looks: Vec<Look> =
            build_scene(&model, &finished).unwrap().pieces.iter().map(|piece| piece.look).collect();
        assert_eq!(looks, [Look::Icing], "the finished cake is shown as one solid");
    }

    #[test]
    fn a_cancelled_scene_is_no_scene() {
        let cancel = Cancel::new();
        cancel.cancel();
        let error = build_scene_unless(&one_layer(), &Showing::default(), &cancel).unwrap_err();
        assert!(matches!(error, ViewerError::Cancelled(_)), "{error}");
    }
}
