//! The places at which rays are followed, and what lies between them.

use std::ops::Range;

use glam::{DVec3, I64Vec3, Vec3};
use rayon::prelude::*;

use super::Body;
use crate::Vertex;

/// Places chosen from all vertices: in each cell of a lattice one of each body and of each way that it faces there.
pub(super) struct Places {
    /// Position and normal of each, in the order of their cells.
    pub chosen: Vec<(DVec3, DVec3)>,
    /// The cell of each, in that order.
    cells: Vec<u64>,
    spacing: f64,
}

/// Ways that surfaces face are told apart in steps of about so much of a unit vector.
const FACING: f64 = 1.49;

/// Bits of one coordinate of a cell, and what is added so that none is negative.
const BITS: u32 = 21;
const MIDDLE: i64 = 1 << (BITS - 1);

/// A cell as a number: cells beside each other along x follow one another.
fn number(cell: I64Vec3) -> u64 {
    let [x, y, z] = cell.to_array().map(|c| (c + MIDDLE).clamp(0, 2 * MIDDLE - 1) as u64);
    (z << (2 * BITS)) | (y << BITS) | x
}

impl Places {
    pub fn of(bodies: &[Body<'_>], spacing: f64) -> Self {
        let cell = |position: DVec3| (position / spacing).floor().as_i64vec3();
        // By cell, body and way of facing, each with the vertex that it comes from.
        let keys = bodies.par_iter().enumerate().flat_map(|(body, of)| {
            let vertices = of.vertices.par_iter().enumerate();
            vertices.map(move |(vertex, v)| {
                let [x, y, z] = (v.normal * FACING).round().as_i64vec3().to_array();
                let facing = ((x + 2) * 25 + (y + 2) * 5 + z + 2) as u32;
                (number(cell(v.position)), body as u32, facing, vertex as u32)
            })
        });
        let mut keys: Vec<(u64, u32, u32, u32)> = keys.collect();
        keys.par_sort_unstable();
        keys.dedup_by_key(|(cell, body, facing, _)| (*cell, *body, *facing));
        let place = |(_, body, _, vertex): &(u64, u32, u32, u32)| {
            let v = &bodies[*body as usize].vertices[*vertex as usize];
            (v.position, v.normal)
        };
        let chosen = keys.par_iter().map(place).collect();
        Self { chosen, cells: keys.into_iter().map(|(cell, ..)| cell).collect(), spacing }
    }

    /// The places in the row of three cells whose middle one this is.
    fn row(&self, middle: I64Vec3) -> Range<usize> {
        let (first, last) = (number(middle - I64Vec3::X), number(middle + I64Vec3::X));
        let start = self.cells.partition_point(|cell| *cell < first);
        start..start + self.cells[start..].partition_point(|cell| *cell <= last)
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
        let cell = (point / self.spacing).floor().as_i64vec3();
        let rows = (-1..=1).flat_map(|y| (-1..=1).map(move |z| I64Vec3::new(0, y, z)));
        for number in rows.flat_map(|step| self.row(cell + step)) {
            let Some(value) = light[number] else { continue };
            let (position, normal) = self.chosen[number];
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
