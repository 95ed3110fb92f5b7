//! The places at which rays are followed, and what lies between them.

use std::collections::{HashMap, HashSet};

use glam::{DVec3, IVec3, Vec3};

use rayon::prelude::*;

use super::Body;
use crate::Vertex;

/// Places chosen from all vertices: in each cell of a lattice the first of each body and of each way that it faces there.
pub(super) struct Places {
    /// Position and normal of each.
    pub chosen: Vec<(DVec3, DVec3)>,
    /// Which of them lie in a cell.
    cells: HashMap<IVec3, Vec<u32>>,
    spacing: f64,
}

/// Ways that surfaces face are told apart in steps of about so much of a unit vector.
const FACING: f64 = 1.49;

impl Places {
    pub fn of(bodies: &[Body<'_>], spacing: f64) -> Self {
        let mut places = Self { chosen: Vec::new(), cells: HashMap::new(), spacing };
        let mut known: HashSet<(usize, IVec3, IVec3)> = HashSet::new();
        // Of each body, since one may hide what another has there.
        for (number, body) in bodies.iter().enumerate() {
            for vertex in body.vertices {
                let cell = places.cell(vertex.position);
                let facing = (vertex.normal * FACING).round().as_ivec3();
                if known.insert((number, cell, facing)) {
                    places.cells.entry(cell).or_default().push(places.chosen.len() as u32);
                    places.chosen.push((vertex.position, vertex.normal));
                }
            }
        }
        places
    }

    fn cell(&self, position: DVec3) -> IVec3 {
        (position / self.spacing).floor().as_ivec3()
    }

    /// The light at the places themselves, each levelled with those near by: what differs between them by the pattern
    /// of rays goes.
    pub fn levelled(&self, light: &[Option<Vec3>]) -> Vec<Option<Vec3>> {
        let level =
            |(place, own): (&(DVec3, DVec3), &Option<Vec3>)| own.map(|_| self.mean(place.0, place.1, light));
        self.chosen.par_iter().zip(light).map(level).collect()
    }

    /// The light at a vertex.
    pub fn between(&self, vertex: &Vertex, light: &[Option<Vec3>]) -> Vec3 {
        self.mean(vertex.position, vertex.normal, light)
    }

    /// The light at a point with this normal: the mean of those near by that face alike and lie in about the same plane,
    /// the nearest counting most; else of the nearest.
    fn mean(&self, point: DVec3, facing: DVec3, light: &[Option<Vec3>]) -> Vec3 {
        let (mut sum, mut weights) = (Vec3::ZERO, 0.0f32);
        let mut nearest: Option<(f64, Vec3)> = None;
        let cell = self.cell(point);
        let around =
            (-1..=1).flat_map(|x| (-1..=1).flat_map(move |y| (-1..=1).map(move |z| IVec3::new(x, y, z))));
        for number in around.filter_map(|step| self.cells.get(&(cell + step))).flatten() {
            let Some(value) = light[*number as usize] else { continue };
            let (position, normal) = self.chosen[*number as usize];
            let apart = point - position;
            let alike = facing.dot(normal);
            let off = apart.dot(facing).abs() / self.spacing;
            let distance = apart.length() / self.spacing;
            let weight = (1.0 - distance / 1.6).max(0.0).powi(2)
                * ((alike - 0.6) / 0.4).max(0.0)
                * (1.0 - 2.0 * off).max(0.0);
            sum += value * weight as f32;
            weights += weight as f32;
            let far = distance + 2.0 * (1.0 - alike);
            if nearest.is_none_or(|(least, _)| far < least) {
                nearest = Some((far, value));
            }
        }
        if weights > 1e-4 { sum / weights } else { nearest.map_or(Vec3::ZERO, |(_, value)| value) }
    }
}
