//! What carries what: boards on dowels, dowels on the board below, sponge alone where there are no dowels.

use glam::DVec2;

use crate::stack::{Dowel, SlabKind, Stack};
use geom::real;
use geom::{Hull, Moments, Region, Tolerance};

use super::{
    carved::CarvedCake,
    gravity::weight,
    masses::{Masses, Stage},
    share::{reactions, uneven},
};

/// The presentation board, or a board inside the cake, with what it carries and what carries it.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// The board's place in the stack; `None` for the presentation board.
    pub slab: Option<usize>,
    /// Its name.
    pub name: String,
    /// Height of its underside; 0 for the presentation board's top, mm.
    pub z: f64,
    /// Everything from it up, finished, g; of the presentation board the cake on it.
    pub load: Moments,
    /// The same, carved and not coated.
    pub carved_load: Moments,
    /// The same, raw.
    pub raw_load: Moments,
    /// Dowels whose heads carry it.
    pub carriers: Vec<usize>,
    /// Dowels of the tier below that do not carry it as they should.
    pub misfits: Vec<Misfit>,
    /// Push on each carrier, N, in their order; empty where they cannot balance it.
    pub pushes: Vec<f64>,
    /// The greatest push on one if any is a hair short, N.
    pub worst_push: f64,
    /// What it stands on, as seen from above: it tips over an edge of that.
    pub seat: Hull,
    /// Area of sponge or board under it, mm².
    pub bearing: f64,
    /// Whether it rests on firm stuff beside its dowels, such as cereal treat.
    pub on_firm: bool,
}

/// A dowel that does not carry the board above it as it should.
#[derive(Debug, Clone, PartialEq)]
pub struct Misfit {
    /// The dowel.
    pub dowel: usize,
    /// What is wrong with it.
    pub kind: MisfitKind,
    /// By how much, mm.
    pub by: f64,
}

/// What is wrong with a dowel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MisfitKind {
    /// It ends below the board.
    Short,
    /// It ends above the board's underside.
    Long,
    /// It stands outside the board, or partly.
    Outside,
}

/// Heads this near to a board carry it, mm.
const HEAD: f64 = 0.5;

impl Level {
    /// Whether it stands on dowels.
    pub fn is_on_dowels(&self) -> bool {
        !self.carriers.is_empty()
    }

    /// The weight on it, N.
    pub fn weight(&self) -> f64 {
        weight(self.load.amount)
    }

    /// Where its load stands, seen from above.
    pub fn centre(&self) -> DVec2 {
        self.load.centroid().unwrap_or_default().truncate()
    }
}

/// The levels of a cake, from the presentation board up.
pub(super) fn levels(cake: &CarvedCake<'_>, stack: &Stack, masses: &Masses) -> Vec<Level> {
    let mut found = vec![base(cake, masses)];
    for (i, slab) in stack.slabs.iter().enumerate() {
        if slab.kind == SlabKind::Board {
            found.push(inside(cake, stack, masses, i));
        }
    }
    found
}

/// What collapses no sooner holds a board up at its edge, kPa.
const FIRM: f64 = 10.0;

/// Looked above a seam, mm.
const ABOVE: f64 = 0.01;

fn base(cake: &CarvedCake<'_>, masses: &Masses) -> Level {
    let foot = cake.finished_at(ABOVE);
    Level {
        slab: None,
        name: "presentation board".into(),
        z: 0.0,
        load: masses.all(Stage::Finished),
        carved_load: masses.all(Stage::Carved),
        raw_load: masses.all(Stage::Raw),
        carriers: Vec::new(),
        misfits: Vec::new(),
        pushes: Vec::new(),
        worst_push: 0.0,
        seat: hull(&foot),
        bearing: foot.area(),
        on_firm: false,
    }
}

fn inside(cake: &CarvedCake<'_>, stack: &Stack, masses: &Masses, i: usize) -> Level {
    let board = &stack.slabs[i];
    let mut level = Level {
        slab: Some(i),
        name: board.name.clone(),
        z: board.bottom,
        load: masses.above(Stage::Finished, i),
        carved_load: masses.above(Stage::Carved, i),
        raw_load: masses.above(Stage::Raw, i),
        carriers: Vec::new(),
        misfits: Vec::new(),
        pushes: Vec::new(),
        worst_push: 0.0,
        seat: Hull::default(),
        bearing: 0.0,
        on_firm: false,
    };
    // The tier right below; what stands further down carries another board.
    let below = stack.slabs[..i].last().map(|slab| slab.tier);
    for (k, dowel) in stack.dowels.iter().enumerate() {
        if dowel.tier.is_none() || dowel.tier != below {
            continue;
        }
        let inside = board.footprint.depth(dowel.at) - dowel.diameter / 2.0;
        let (kind, by) = if dowel.top < board.bottom - HEAD {
            (MisfitKind::Short, board.bottom - dowel.top)
        } else if dowel.top > board.bottom + HEAD {
            (MisfitKind::Long, dowel.top - board.bottom)
        } else if inside < -1e-6 {
            (MisfitKind::Outside, -inside)
        } else {
            level.carriers.push(k);
            continue;
        };
        level.misfits.push(Misfit { dowel: k, kind, by });
    }
    // Too long ones lift the board off the rest.
    let long: Vec<usize> =
        level.misfits.iter().filter(|m| m.kind == MisfitKind::Long).map(|m| m.dowel).collect();
    if !long.is_empty() {
        level.carriers.retain(|k| long.iter().all(|&l| stack.dowels[*k].top >= stack.dowels[l].top - HEAD));
        level.carriers.extend(long);
        level.carriers.sort_unstable();
    }
    let under = cake.carved_at((board.bottom - ABOVE).max(0.0));
    let seat = under.intersection(&board.footprint.region(Tolerance::PREVIEW));
    level.bearing = seat.area();
    if level.carriers.is_empty() {
        level.seat = hull(&seat);
    } else {
        let heads: Vec<&Dowel> = level.carriers.iter().map(|&k| &stack.dowels[k]).collect();
        // Firm stuff bears the board beside the dowels, sponge gives way under its edge.
        let firm = stack.slabs[..i].last().and_then(|slab| slab.material.crumb());
        let firm = firm.is_some_and(|crumb| crumb.collapse >= FIRM);
        let beside = if firm { hull(&seat) } else { Hull::default() };
        level.seat =
            Hull::of(heads.iter().flat_map(|dowel| rim(dowel)).chain(beside.corners().iter().copied()));
        level.on_firm = firm;
        let at: Vec<DVec2> = heads.iter().map(|dowel| dowel.at).collect();
        level.pushes = reactions(&at, level.weight(), level.centre()).unwrap_or_default();
        level.worst_push = uneven(&at, level.weight(), level.centre()).unwrap_or(level.weight());
    }
    level
}

/// Points round a dowel's head.
fn rim(dowel: &Dowel) -> impl Iterator<Item = DVec2> + use<> {
    let (at, radius) = (dowel.at, dowel.diameter / 2.0);
    (0..12).map(move |k| at + radius * real::unit_vector(std::f64::consts::TAU * f64::from(k) / 12.0))
}

/// The hull of an outline.
pub(super) fn hull(region: &Region) -> Hull {
    Hull::of(region.contours().iter().flatten().copied())
}
