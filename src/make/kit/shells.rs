//! Turned tools in sectors: the cradle round the finished cake, and the mould for a foot that is cast.
//!
//! Both are closed round something that cannot be lifted in or out, so they come in two or more equal
//! sectors that are pushed together from the sides. Square pegs, standing on an edge so that their holes
//! print without support, keep the faces in line; a band or a string round the outside keeps them shut.

use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2, dvec3};

use cakefile::Severity;
use geom::real;
use geom::{MeridianRange, Region, Solid, SolidError, SteppedPlate, Tolerance, TriMesh, wedge::wedge};
use plan::design::{MaterialKind, Operation, Tier, Tool};

use super::{
    Group, bed,
    draft::{Draft, Drawer},
    lettering,
    room::Room,
};

/// Least wall of a shell, mm.
const WALL: f64 = 3.0;
/// The base flange of a cradle: how far it reaches out and how thick it is, mm.
const FLANGE: f64 = 13.0;
const FLANGE_THICKNESS: f64 = 5.0;
/// A peg: the side of its square, and how deep it goes into each face, mm.
const PEG: f64 = 5.0;
const PEG_DEPTH: f64 = 8.0;
/// Most sectors that a shell is cut into.
const MOST_SECTORS: u32 = 12;

/// The cradle: an offset shell from the board up to where the cake is widest, or higher where it leans in by
/// less than 45° above that.
pub fn cradle(drawer: &Drawer<'_>) -> Vec<Draft> {
    if !drawer.is_round() {
        return drawer.only_for_round(
            Group::Cradle,
            "carry it on its board, in a box that holds the board by its edges",
        );
    }
    let line = drawer.finished();
    let coarse = Tolerance::TOOL;
    let whole = line.shadow.union(&line.shadow.mirrored());
    let hollow = whole.outset(drawer.printing.cradle_gap, coarse).right_half();
    let outside = whole.outset(drawer.printing.cradle_gap + WALL, coarse).right_half();
    let top = cradle_top(line.widest(), line.top, &hollow);
    let outer = propped(&outside.between(0.0, top)).between(0.0, top);
    let foot = hollow.between(0.0, FLANGE_THICKNESS).bounds().map_or(0.0, |(_, hi)| hi.x) + WALL + FLANGE;
    let flange = Region::rectangle(DVec2::ZERO, dvec2(foot, FLANGE_THICKNESS.min(top)));
    let section = outer.union(&flange).difference(&hollow);
    let mut drafts = sectors(drawer, Group::Cradle, "cradle", &section, Some(foot));
    if let Some(first) = drafts.first_mut() {
        first.note(
            Severity::Note,
            "cradle-film",
            "the finished icing marks where plastic touches it".into(),
            "line the cradle with baking paper or film, and put it round the cake only to carry it",
        );
        let in_the_way = adds_below(drawer, top);
        if !in_the_way.is_empty() {
            first.note(
                Severity::Warning,
                "adds-in-the-way",
                format!("it has no room for what stands out from the side: {}", in_the_way.join(", ")),
                "put those on after the cake has been carried, or cut openings for them",
            );
        }
    }
    drafts
}

/// The adds that stand out from the side below `top` by more than the gap of the cradle.
fn adds_below(drawer: &Drawer<'_>, top: f64) -> Vec<String> {
    let line = drawer.finished();
    let gap = drawer.printing.cradle_gap;
    let beyond = |p: DVec3, r: f64| {
        p.z - r < top && p.truncate().length() + r > line.widest_between(p.z - r, p.z + r) + gap
    };
    let stands_out = |tool: &Tool| match tool {
        Tool::Relief(relief) => {
            relief.on_top().is_none() && relief.depth > gap && relief.height - relief.reach() < top
        }
        Tool::Ball { centre, radius } => beyond(*centre, *radius),
        Tool::Box { centre, size, .. } => beyond(*centre, size.length() / 2.0),
        Tool::Cylinder { from, to, from_radius, to_radius } => {
            beyond(*from, *from_radius) || beyond(*to, *to_radius)
        }
        Tool::Ring { centre, radius, bar_radius, .. } => beyond(*centre, radius + bar_radius),
        Tool::Bar { stations } => stations.iter().any(|&(p, r)| beyond(p, r)),
        Tool::Roll(roll) => roll.places().any(|(p, r)| beyond(p, r)),
        Tool::HalfSpace { .. } => false,
    };
    let adds =
        drawer.plan.design.details.iter().filter(|t| t.operation == Operation::Add && stands_out(&t.tool));
    let mut names: Vec<String> = adds.map(|detail| detail.written_name().to_owned()).collect();
    names.dedup();
    names
}

/// Where a cradle ends: no lower than the widest place, no higher than half the cake, and no further than
/// its inside leans in by 45°.
fn cradle_top(widest: f64, height: f64, hollow: &Region) -> f64 {
    const STEP: f64 = 2.0;
    let radius = |z: f64| hollow.row(z).last().map_or(0.0, |&(_, r)| r);
    let mut top = widest.max(STEP);
    while top + STEP < height / 2.0 && radius(top + 1e-6) - radius(top + STEP) <= 0.95 * STEP {
        top += STEP;
    }
    top.max(FLANGE_THICKNESS + 10.0).min(height)
}

/// The region with everything below each of its points within 45°, so that no underside needs support.
fn propped(region: &Region) -> Region {
    let Some((_, hi)) = region.bounds() else { return Region::default() };
    let down = dvec2(-hi.y, -hi.y);
    let mut swept: Vec<Vec<DVec2>> = region.contours().to_vec();
    for (a, b) in region.edges() {
        let mut quad = vec![a, b, b + down, a + down];
        if geom::region::signed_area(&quad) < 0.0 {
            quad.reverse();
        }
        swept.push(quad);
    }
    Region::new(swept).between(0.0, hi.y).right_half()
}

/// The mould for the foot, if the lowest tier is not cake but something that is pressed or cast.
pub fn foot_mould(drawer: &Drawer<'_>) -> Vec<Draft> {
    let plan = drawer.plan;
    let Some(tier) = plan.design.tiers.first() else { return Vec::new() };
    let firm = tier.layers.iter().all(|layer| layer.material.kind == MaterialKind::Firm);
    let top = plan.stack.slabs.iter().filter(|slab| slab.tier == 0).map(|slab| slab.top).fold(0.0, f64::max);
    let line = drawer.carved();
    if firm && !drawer.is_round() {
        return drawer
            .only_for_round(Group::FootMould, "press the foot by hand to the templates of its layers");
    }
    if !firm || tier.layers.is_empty() || top <= 0.0 {
        return Vec::new();
    }
    let cast = line.shadow.between(0.0, top.min(line.top));
    let Some((_, hi)) = cast.bounds() else { return Vec::new() };
    let block = Region::rectangle(DVec2::ZERO, dvec2(hi.x + 2.0 * WALL, hi.y));
    // Upright or upside down, whichever has less of a ceiling in its hollow.
    let flipped = flipped(&cast, hi.y);
    let cast = if ceiling(&flipped) < ceiling(&cast) { flipped } else { cast };
    let mut drafts = sectors(drawer, Group::FootMould, "foot mould", &block.difference(&cast), None);
    if let Some(first) = drafts.first_mut() {
        let volume = geom::revolve::revolved_volume(&cast);
        first.note(
            Severity::Warning,
            "hot-casting",
            format!(
                "common filament softens from about 55 °C, and layer lines hold what is cast; the cast takes {}",
                drawer.style.volume(volume)
            ),
            &format!("line the mould with film, tie it shut, stand it on baking paper; {}", filled(tier)),
        );
    }
    drafts
}

/// How the mould is filled with what the foot of `tier` is made of, so that it stays cold enough for the mould.
fn filled(tier: &Tier) -> &'static str {
    match tier.layers.first().map(|layer| layer.material.like) {
        // Marshmallow and butter come from the pan well above what the plastic bears. Common practice, no source.
        Some("cereal treat") => {
            "press cereal treat in only once it is hand-warm (below 40 °C): from the pan it softens the plastic"
        }
        // Working temperatures of tempered chocolate: Beckett, Industrial Chocolate Manufacture and Use, from memory.
        Some("modelling chocolate") => {
            "press modelling chocolate in kneaded, at room temperature; if you cast tempered chocolate instead, pour \
             dark at 31 to 32 °C, milk at 29 to 30 °C, white at 28 to 29 °C"
        }
        _ => "fill it no warmer than your hand (below 40 °C), never with hot sugar",
    }
}

/// The section upside down between 0 and `height`.
fn flipped(section: &Region, height: f64) -> Region {
    let flip = |c: &Vec<DVec2>| c.iter().rev().map(|p| dvec2(p.x, height - p.y)).collect();
    Region::new(section.contours().iter().map(flip).collect())
}

/// How far a hollow closes in flatter than 45° towards its top, mm.
fn ceiling(hollow: &Region) -> f64 {
    hollow
        .edges()
        .filter(|(a, b)| b.x < a.x && b.y - a.y < a.x - b.x && a.x > 1e-6 && a.y > 1e-6)
        .map(|(a, b)| (a.x - b.x) * (a.x + b.x))
        .sum()
}

/// The turned section in as few equal sectors as fit the bed, with their pegs. `flange` is the outer radius of
/// a flange on the bed that has room for a mark.
fn sectors(
    drawer: &Drawer<'_>,
    group: Group,
    name: &str,
    section: &Region,
    flange: Option<f64>,
) -> Vec<Draft> {
    let Some((_, hi)) = section.bounds() else { return Vec::new() };
    let around = Tolerance::TOOL.segments(hi.x).next_multiple_of(24);
    let fitting = |n: &u32| {
        let reach = hi.x;
        let size = if *n == 2 { dvec2(2.0 * reach, reach) } else { sector_size(reach, *n) };
        bed::fits(size, drawer.printing)
    };
    let count = [2, 4, 6, 8, MOST_SECTORS].into_iter().find(fitting).unwrap_or(MOST_SECTORS);
    let holes = peg_spots(section, drawer.printing.clearance);
    let steps = around / count;
    let mut drafts: Vec<Draft> = (0..count)
        .map(|i| {
            let range = MeridianRange { first: i * steps, steps };
            let mesh =
                drilled(&wedge(section, range, around), range, around, &holes, drawer.printing.clearance);
            let mesh = mesh.and_then(|mesh| match flange {
                Some(outer) => marked(mesh, section, (range, around), outer, (i + 1, count)),
                None => Ok(mesh),
            });
            // Turned back to one side, so that all sectors lie alike on the bed.
            let turn = -std::f64::consts::TAU * f64::from(i * steps) / f64::from(around);
            let mesh = mesh.map(|mesh| mesh.placed(&real::turned_z(turn)));
            let mut draft = Draft::solid(group, name, mesh);
            draft.piece = (i as usize + 1, count as usize);
            draft
        })
        .collect();
    if !holes.is_empty() {
        let peg = Region::rectangle(DVec2::ZERO, dvec2(2.0 * PEG_DEPTH - 1.0, PEG));
        let mut pegs = Draft::plate(group, format!("{name} peg"), SteppedPlate::flat(peg, PEG));
        pegs.copies = holes.len() * count as usize;
        pegs.quiet = true;
        pegs.small = true;
        drafts.push(pegs);
    } else if let Some(first) = drafts.first_mut() {
        first.note(
            Severity::Note,
            "no-pegs",
            "its wall leaves no room for pegs".into(),
            "hold the sectors in line with tape while you tie them",
        );
    }
    drafts
}

/// Width and depth of a sector that begins at the front.
fn sector_size(reach: f64, n: u32) -> DVec2 {
    let sweep = std::f64::consts::TAU / f64::from(n);
    dvec2(reach * real::sin(sweep).max(if n <= 4 { 1.0 } else { 0.0 }), reach)
}

/// Up to two places in the section where a peg leaves walls all round: one low, one high.
fn peg_spots(section: &Region, fit: f64) -> Vec<DVec2> {
    let Some((lo, hi)) = section.bounds() else { return Vec::new() };
    let size = DVec2::splat((PEG + 2.0 * fit) * std::f64::consts::SQRT_2 + 3.0);
    let middle = (lo.y + hi.y) / 2.0;
    [(lo.y, middle), (middle, hi.y)]
        .into_iter()
        .filter_map(|(low, high)| Room::new(section.between(low, high)).place(size))
        .collect()
}

/// A sector with a hole for each peg in both of its end faces.
fn drilled(
    mesh: &TriMesh,
    range: MeridianRange,
    around: u32,
    spots: &[DVec2],
    fit: f64,
) -> Result<TriMesh, SolidError> {
    let half = (PEG / 2.0 + fit) * std::f64::consts::SQRT_2;
    let diamond =
        Region::from_simple(vec![dvec2(half, 0.0), dvec2(0.0, half), dvec2(-half, 0.0), dvec2(0.0, -half)]);
    let end = |steps: u32| {
        let bearing = 360.0 * f64::from(range.first + steps) / f64::from(around);
        geom::revolve::at_bearing(1.0, 0.0, bearing)
    };
    let ends = [end(0), end(range.steps)];
    let mut solid = Solid::from_mesh(mesh)?;
    for (out, (low, high)) in ends.into_iter().zip([(-PEG_DEPTH, 1.0), (-1.0, PEG_DEPTH)]) {
        let frame = DMat3::from_cols(out, DVec3::Z, out.cross(DVec3::Z));
        for spot in spots {
            let at = out * spot.x + DVec3::Z * spot.y;
            let hole = Solid::prism(&diamond, low, high);
            solid = solid.difference(&hole.placed(&DAffine3 { matrix3: frame, translation: at }));
        }
    }
    surface_of(&solid)
}

/// A sector with its number raised on the flange, where the flange is free.
fn marked(
    mesh: TriMesh,
    section: &Region,
    (range, around): (MeridianRange, u32),
    outer: f64,
    (number, of): (u32, u32),
) -> Result<TriMesh, SolidError> {
    /// Height of the font, mm, and how high it stands.
    const SIZE: f64 = 7.0;
    const RAISED: f64 = 0.6;
    let wall = section.between(FLANGE_THICKNESS + 0.1, FLANGE_THICKNESS + 2.0);
    let inner = wall.bounds().map_or(outer - FLANGE, |(_, hi)| hi.x);
    if outer - inner < SIZE + 2.0 {
        return Ok(mesh);
    }
    let solid = Solid::from_mesh(&mesh)?;
    let text = lettering::lines(&[format!("{number}/{of}")], SIZE, Tolerance::TOOL);
    let bearing = 360.0 * (f64::from(range.first) + f64::from(range.steps) / 2.0) / f64::from(around);
    let frame = real::turned_z(bearing.to_radians())
        * DAffine3::from_translation(dvec3(0.0, -(inner + outer) / 2.0, 0.0));
    let raised = Solid::prism(&text, FLANGE_THICKNESS - 0.5, FLANGE_THICKNESS + RAISED).placed(&frame);
    surface_of(&solid.union(&raised))
}

/// The surface of `solid`, if it is one.
fn surface_of(solid: &Solid) -> Result<TriMesh, SolidError> {
    solid.check()?;
    Ok(solid.to_mesh().tidied())
}
