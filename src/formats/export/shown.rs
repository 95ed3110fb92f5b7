//! What a renderer draws of a solid: each corner with a place and a normal of its own.

use glam::{DVec3, Vec3};
use rustc_hash::FxHashMap;

use super::{MeshF32, corner_normals, obj::CREASE};
use crate::{
    model::{Model, Part, PartKind},
    tint::{Seen, seen},
};

/// A solid with a vertex for each place and normal that meet in a corner, so that edges sharper than [`CREASE`] are seen.
/// y is up and the front faces +z.
pub(super) struct Shown<P> {
    /// The place and the normal of each vertex, in the order in which the triangles name them first.
    pub vertices: Vec<(P, DVec3)>,
    /// Three indices into the vertices for each triangle.
    pub triangles: Vec<[u32; 3]>,
}

impl<P: Copy + PartialEq> Shown<P> {
    /// The solid with its places as a format writes them. Triangles of which two corners fall on one place by that are left
    /// out: the others close over them.
    pub fn new(solid: &MeshF32<'_>, written: impl Fn(Vec3) -> P) -> Self {
        let shading = corner_normals(solid.positions(), solid.triangles(), CREASE);
        let places: Vec<P> = solid.positions().iter().map(|p| written(y_up(*p))).collect();
        let mut numbers = FxHashMap::default();
        let mut shown = Self { vertices: Vec::with_capacity(places.len()), triangles: Vec::new() };
        for (triangle, normals) in solid.triangles().iter().zip(&shading.corners) {
            let [a, b, c] = triangle.map(|v| places[v as usize]);
            if a == b || b == c || c == a {
                continue;
            }
            let corner = |slot: usize| {
                let (place, normal) = (triangle[slot], normals[slot]);
                *numbers.entry((place, normal)).or_insert_with(|| {
                    let DVec3 { x, y, z } = shading.normals[normal as usize];
                    shown.vertices.push((places[place as usize], DVec3::new(x, z, -y)));
                    (shown.vertices.len() - 1) as u32
                })
            };
            let corners = [0, 1, 2].map(corner);
            shown.triangles.push(corners);
        }
        shown
    }
}

/// z up with the front facing −y → y up with the front facing +z; a turn, so the winding stays.
pub(super) fn y_up(p: Vec3) -> Vec3 {
    // Zero minus y, as −0 would be written with its sign.
    Vec3::new(p.x, p.z, 0.0 - p.y)
}

/// How a part looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Look<'a> {
    /// Name of its material.
    pub material: &'a str,
    /// Its colour, linear light, 0 to 1.
    pub colour: [f64; 3],
    /// How far it mirrors like metal, 0 to 1.
    pub metal: f64,
    /// Roughness of the metallic-roughness model, 0 (a mirror) to 1.
    pub roughness: f64,
}

impl<'a> Look<'a> {
    fn of(part: &'a Part) -> Self {
        let Seen { colour, metal } = seen(part);
        Self {
            material: &part.material,
            colour: colour.map(decimals),
            metal: decimals(metal),
            roughness: match part.kind {
                // Rolled icing and sugar paste have a satin finish: the roughness that the window draws them with.
                PartKind::Finished
                | PartKind::Covering
                | PartKind::BoardIcing
                | PartKind::Ribbon
                | PartKind::Add
                | PartKind::Inlay => 0.4,
                // Card, crumb and what lies bare are matt.
                _ => 0.9,
            },
        }
    }

    /// Every look of `model` once, and for each part the number of its own.
    pub fn all(model: &'a Model) -> (Vec<Self>, Vec<usize>) {
        let mut looks: Vec<Self> = Vec::new();
        let number = |part| {
            let look = Self::of(part);
            looks.iter().position(|other| *other == look).unwrap_or_else(|| {
                looks.push(look);
                looks.len() - 1
            })
        };
        let numbers = model.parts.iter().map(number).collect();
        (looks, numbers)
    }
}

/// To six decimals.
fn decimals(share: f64) -> f64 {
    (share * 1e6).round() / 1e6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_are_linear_light() {
        // Mid grey of the standard's curve, and its ends.
        let light = |part: u8| decimals(crate::tint::linear(part));
        assert_eq!([0, 10, 188, 255].map(light), [0.0, 0.003_035, 0.502_886, 1.0]);
    }
}
