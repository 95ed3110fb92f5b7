//! The stack before carving: every slab at its height, every dowel in its place.
//!
//! Slabs lie one on the other from the board up, in the order of the cake file: a tier's board, its
//! layers, what lies between them. A layer may name its own height; gaps and overlaps that come of it
//! are kept as they are and reported. Heights lie on the grid of [`geom::region`], so that what is
//! cut at them adds up.

mod footprint;
mod sheet_cakes;
mod skin;

use glam::{DVec2, dvec2};

pub use sheet_cakes::{LaidPiece, SheetCake, SheetPieces, laid_pieces, sheet_cakes};
use skin::Skin;

use crate::design::{Board, Design, Dome, Filling, Footprint, FootprintShape, Join, Layer, Material, Tier};
use cakefile::FieldPath;
use geom::real;
use geom::{Region, Solid, Tolerance, region::on_grid, revolve};

/// What a slab is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SlabKind {
    /// Sponge, or what stands in for it.
    Layer,
    /// What lies between two layers.
    Filling,
    /// A board inside the cake.
    Board,
}

/// One slab at its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Slab {
    /// What it is.
    pub kind: SlabKind,
    /// Its name; unique among the slabs.
    pub name: String,
    /// The tier it belongs to, from 0 at the bottom.
    pub tier: usize,
    /// What it is made of.
    pub material: Material,
    /// Its outline seen from above; of a half-ball, the rim.
    pub footprint: Footprint,
    /// Which way a half-ball's dome points; `None` for a flat slab.
    pub dome: Option<Dome>,
    /// Diameter of the hole in its middle, mm; 0 for none.
    pub hole: f64,
    /// Height of its underside, mm.
    pub bottom: f64,
    /// Height of its top, mm.
    pub top: f64,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// An upright dowel at its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Dowel {
    /// Its name; unique among the dowels.
    pub name: String,
    /// The tier it stands in; `None` for the centre dowel.
    pub tier: Option<usize>,
    /// Where it stands, mm.
    pub at: DVec2,
    /// Diameter, mm.
    pub diameter: f64,
    /// Thickness of the wall of a tube, mm; `None` if it is solid.
    pub wall: Option<f64>,
    /// Height of its foot, mm.
    pub bottom: f64,
    /// Height of its top, mm.
    pub top: f64,
    /// What it is made of.
    pub material: Material,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

/// Everything before carving, bottom up.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// Slabs from the bottom up.
    pub slabs: Vec<Slab>,
    /// Dowels tier by tier, the centre dowel last.
    pub dowels: Vec<Dowel>,
    /// The slabs as the knife meets them.
    skin: Skin,
    coaxial: bool,
}

impl Stack {
    /// Stacks the tiers of `design`.
    pub fn new(design: &Design) -> Self {
        let mut slabs = Vec::new();
        let mut dowels = Vec::new();
        let mut height = 0.0;
        for (index, tier) in design.tiers.iter().enumerate() {
            height = push_tier(&mut slabs, &mut dowels, index, tier, height);
        }
        spread_fillings(&mut slabs);
        if let Some(centre) = &design.centre_dowel {
            dowels.push(Dowel {
                name: "centre dowel".into(),
                tier: None,
                at: DVec2::ZERO,
                diameter: centre.diameter,
                wall: centre.wall,
                bottom: 0.0,
                top: centre.height,
                material: centre.material.clone(),
                field: centre.field.clone(),
            });
        }
        Self::of(slabs, dowels)
    }

    /// A stack of slabs and dowels that are at their places already, slabs from the bottom up.
    pub fn of(slabs: Vec<Slab>, dowels: Vec<Dowel>) -> Self {
        let skin = Skin::new(&slabs);
        let coaxial = slabs.iter().all(Slab::is_coaxial);
        Self { slabs, dowels, skin, coaxial }
    }

    /// Height of the top of the highest slab, mm.
    pub fn height(&self) -> f64 {
        self.slabs.iter().map(|s| s.top).fold(0.0, f64::max)
    }

    /// Whether every slab stands on the axis of the cake and is round, so that the whole stack is a
    /// solid of revolution.
    pub fn is_coaxial(&self) -> bool {
        self.coaxial
    }
}

/// Pushes a tier that stands at `height`; returns the height of its top.
fn push_tier(
    slabs: &mut Vec<Slab>,
    dowels: &mut Vec<Dowel>,
    index: usize,
    tier: &Tier,
    mut height: f64,
) -> f64 {
    if let Some(board) = &tier.board {
        slabs.push(board_slab(board, index, tier, height));
        height = on_grid(height + board.thickness);
    }
    let foot = height;
    for layer in &tier.layers {
        let bottom = layer.bottom.map_or(height, on_grid);
        slabs.push(layer_slab(layer, index, bottom));
        height = on_grid(bottom + layer.height);
        if let Some(filling) = &layer.filling {
            slabs.push(filling_slab(filling, layer, index, height));
            height = on_grid(height + filling.thickness);
        }
    }
    if let Some(set) = &tier.dowels {
        dowels.extend(set.at.iter().enumerate().map(|(i, &at)| Dowel {
            name: format!("{} dowel {}", tier.name, i + 1),
            tier: Some(index),
            at,
            diameter: set.diameter,
            wall: set.wall,
            bottom: foot,
            top: set.length.map_or(height, |length| on_grid(foot + length)),
            material: set.material.clone(),
            field: set.field.clone(),
        }));
    }
    height
}

fn board_slab(board: &Board, tier_index: usize, tier: &Tier, bottom: f64) -> Slab {
    Slab {
        kind: SlabKind::Board,
        name: format!("{} board", tier.name),
        tier: tier_index,
        material: board.material.clone(),
        footprint: board.footprint.clone(),
        dome: None,
        hole: board.hole,
        bottom,
        top: on_grid(bottom + board.thickness),
        field: board.field.clone(),
    }
}

fn layer_slab(layer: &Layer, tier: usize, bottom: f64) -> Slab {
    Slab {
        kind: SlabKind::Layer,
        name: layer.name.clone(),
        tier,
        material: layer.material.clone(),
        footprint: layer.footprint.clone(),
        dome: layer.dome,
        hole: 0.0,
        bottom,
        top: on_grid(bottom + layer.height),
        field: layer.field.clone(),
    }
}

fn filling_slab(filling: &Filling, below: &Layer, tier: usize, bottom: f64) -> Slab {
    Slab {
        kind: SlabKind::Filling,
        name: format!("filling on {}", below.name),
        tier,
        material: filling.material.clone(),
        footprint: below.footprint.clone(),
        dome: None,
        hole: 0.0,
        bottom,
        top: on_grid(bottom + filling.thickness),
        field: filling.field.clone(),
    }
}

/// A filling reaches to the edge of the smaller of its two neighbours.
fn spread_fillings(slabs: &mut [Slab]) {
    for i in 1..slabs.len().saturating_sub(1) {
        if slabs[i].kind == SlabKind::Filling {
            slabs[i].footprint = smaller_neighbour(slabs, i);
        }
    }
}

/// The outline of the smaller of the slabs below and above slab `i`.
fn smaller_neighbour(slabs: &[Slab], i: usize) -> Footprint {
    let (below, above) = (&slabs[i - 1].footprint, &slabs[i + 1].footprint);
    if above.area() < below.area() { above.clone() } else { below.clone() }
}

impl Slab {
    /// Whether it is round and stands on the axis of the cake.
    pub fn is_coaxial(&self) -> bool {
        matches!(self.footprint.shape, FootprintShape::Round { .. }) && self.footprint.centre == DVec2::ZERO
    }

    /// Height of the slab, mm.
    pub fn height(&self) -> f64 {
        self.top - self.bottom
    }

    /// Volume before carving, mm³.
    pub fn volume(&self) -> f64 {
        match (self.dome, &self.footprint.shape) {
            (Some(_), FootprintShape::Round { diameter }) => {
                // A ball's slice from its middle to height h: π h (R² − h²/3).
                let (r, h) = (diameter / 2.0, self.height());
                std::f64::consts::PI * h * (r * r - h * h / 3.0)
            }
            _ => {
                let hole = std::f64::consts::PI * self.hole * self.hole / 4.0;
                (self.footprint.area() - hole) * self.height()
            }
        }
    }

    /// Area of the joins between its pieces, mm²; 0 for a whole slab.
    pub fn join_area(&self) -> f64 {
        let joins = self.footprint.shape.pieces().map_or_else(Vec::new, |pieces| pieces.joins());
        joins.iter().map(Join::length).sum::<f64>() * self.height()
    }

    /// Half section of a slab about its own upright axis: a rectangle, or part of a disc; `None` if it
    /// is not round.
    pub fn section(&self, tolerance: Tolerance) -> Option<Region> {
        let FootprintShape::Round { diameter } = self.footprint.shape else { return None };
        let radius = diameter / 2.0;
        let Some(dome) = self.dome else {
            let (inner, outer) = (dvec2(self.hole / 2.0, self.bottom), dvec2(radius, self.top));
            return Some(Region::rectangle(inner, outer).snapped());
        };
        let segments = tolerance.segments(radius) / 4;
        let sweep = real::asin((self.height() / radius).min(1.0));
        let arc = (0..=segments).map(|i| {
            let (sin, cos) = real::sin_cos(sweep * f64::from(i) / f64::from(segments));
            dvec2(radius * cos, radius * sin)
        });
        let mut contour: Vec<DVec2> = arc.collect();
        if contour.last().is_some_and(|p| p.x > 1e-9) {
            contour.push(dvec2(0.0, self.height()));
        } else if let Some(last) = contour.last_mut() {
            last.x = 0.0;
        }
        contour.push(DVec2::ZERO);
        let place = |p: DVec2| match dome {
            Dome::Up => dvec2(p.x, self.bottom + p.y),
            Dome::Down => dvec2(p.x, self.top - p.y),
        };
        Some(Region::from_simple(contour.into_iter().map(place).collect()).snapped())
    }

    /// The slab as a solid.
    pub fn solid(&self, tolerance: Tolerance) -> Solid {
        if matches!(self.footprint.shape, FootprintShape::Round { .. }) {
            return self.turned_solid(tolerance.segments(self.footprint.reach()), tolerance);
        }
        let mut outline = self.footprint.region(tolerance);
        if self.hole > 0.0 {
            outline = outline.difference(&Region::disc(self.footprint.centre, self.hole / 2.0, tolerance));
        }
        Solid::prism(&outline, self.bottom, self.top)
    }

    /// A round slab as a solid with `meridians` round it; empty if it is not round.
    pub fn turned_solid(&self, meridians: u32, tolerance: Tolerance) -> Solid {
        let Some(section) = self.section(tolerance) else { return Solid::empty() };
        let mesh = revolve::revolve(&section, meridians).translated(self.footprint.centre.extend(0.0));
        Solid::of_closed(&mesh)
    }
}

impl Dowel {
    /// Length, mm.
    pub fn length(&self) -> f64 {
        self.top - self.bottom
    }

    /// Volume of what it is made of, mm³.
    pub fn volume(&self) -> f64 {
        let bore = self.wall.map_or(0.0, |wall| self.diameter - 2.0 * wall);
        std::f64::consts::PI * (self.diameter * self.diameter - bore * bore) / 4.0 * self.length()
    }
}
