//! Solids to write, all closed and outward, mm.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::{collections::HashMap, f64::consts::TAU};

use geom::TriMesh;
use glam::DVec3;
use proptest::prelude::*;

/// A box from the origin to `size`, 12 triangles.
pub fn cuboid(size: DVec3) -> TriMesh {
    let corner = |i: u32| size * DVec3::new(f64::from(i & 1), f64::from(i >> 1 & 1), f64::from(i >> 2 & 1));
    let sides = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles = sides.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
    TriMesh { positions: (0..8).map(corner).collect(), triangles }
}

/// A tetrahedron with corners at the origin and `size` along each axis.
pub fn tetrahedron(size: f64) -> TriMesh {
    TriMesh {
        positions: vec![DVec3::ZERO, DVec3::X * size, DVec3::Y * size, DVec3::Z * size],
        triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
    }
}

/// The half outline (radius, height), bottom to top, with radii above zero, turned about the z axis in
/// `sections` steps and closed by flat ends.
pub fn turned(outline: &[(f64, f64)], sections: u32) -> TriMesh {
    let rows = outline.len() as u32;
    let mut positions: Vec<DVec3> = (0..sections)
        .flat_map(|i| {
            let (sin, cos) = (TAU * f64::from(i) / f64::from(sections)).sin_cos();
            outline.iter().map(move |&(r, z)| DVec3::new(r * cos, r * sin, z))
        })
        .collect();
    let (bottom, top) = (positions.len() as u32, positions.len() as u32 + 1);
    positions.push(DVec3::Z * outline[0].1);
    positions.push(DVec3::Z * outline[outline.len() - 1].1);
    let mut triangles = Vec::new();
    for i in 0..sections {
        let (here, next) = (i * rows, (i + 1) % sections * rows);
        triangles.push([bottom, next, here]);
        triangles.push([top, here + rows - 1, next + rows - 1]);
        for row in 0..rows - 1 {
            triangles.push([here + row, next + row, next + row + 1]);
            triangles.push([here + row, next + row + 1, here + row + 1]);
        }
    }
    TriMesh { positions, triangles }
}

/// A cylinder on the ground.
pub fn cylinder(radius: f64, height: f64, sections: u32) -> TriMesh {
    turned(&[(radius, 0.0), (radius, height)], sections)
}

/// A ball of `radius` about the origin, all but small flat ends.
pub fn ball(radius: f64, rows: u32, sections: u32) -> TriMesh {
    let outline: Vec<_> = (1..rows)
        .map(|i| (TAU / 2.0 * f64::from(i) / f64::from(rows)).sin_cos())
        .map(|(sin, cos)| (radius * sin, -radius * cos))
        .collect();
    turned(&outline, sections)
}

/// Turned solids of any shape, 1 mm to 1 m, anywhere within a metre of the origin.
pub fn any_turned() -> impl Strategy<Value = TriMesh> {
    let outline = prop::collection::vec((0.01f64..1.0, 0.001f64..0.5), 2..9);
    let place = prop::array::uniform3(-1000.0f64..1000.0);
    (outline, 3u32..40, -1.0f64..2.7, place).prop_map(|(outline, sections, scale, place)| {
        let scale = 10f64.powf(scale);
        let mut height = 0.0;
        let rising: Vec<_> = outline
            .into_iter()
            .map(|(radius, rise)| {
                height += scale * rise;
                (scale * radius, height)
            })
            .collect();
        turned(&rising, sections).translated(DVec3::from_array(place))
    })
}

/// How many directed edges, matched by the exact places of their ends, lack their opposite.
pub fn open_edges(corners: impl Iterator<Item = [[u32; 3]; 3]>) -> i64 {
    let mut balance: HashMap<([u32; 3], [u32; 3]), i64> = HashMap::new();
    for [a, b, c] in corners {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            *balance.entry((from, to)).or_default() += 1;
            *balance.entry((to, from)).or_default() -= 1;
        }
    }
    balance.values().map(|count| count.abs()).sum::<i64>() / 2
}
