//! Open seams: edges that should be one and are not.

use glam::DVec3;
use rustc_hash::{FxHashMap, FxHashSet};

use super::sides::{self, Sides};
use geom::{Bvh, TriMesh};

/// Brings corners together that lie on open edges and within `weld` mm of each other, and puts corners into open
/// edges that pass them as near. Gives back how many corners were brought in.
pub(super) fn closed(mesh: &mut TriMesh, weld: f64) -> usize {
    let open = sides::open(&mesh.triangles);
    if open.is_empty() || weld <= 0.0 {
        return 0;
    }
    let welded = weld_corners(mesh, &open, weld);
    mesh.triangles.retain(|[a, b, c]| a != b && b != c && c != a);
    welded + split_edges(mesh, weld)
}

type Cell = [i64; 3];

fn cell(p: DVec3, size: f64) -> Cell {
    (p / size).floor().to_array().map(|x| x as i64)
}

fn around([x, y, z]: Cell) -> impl Iterator<Item = Cell> {
    (-1..=1).flat_map(move |i| (-1..=1).flat_map(move |j| (-1..=1).map(move |k| [x + i, y + j, z + k])))
}

fn weld_corners(mesh: &mut TriMesh, open: &[(u32, u32)], weld: f64) -> usize {
    let mut corners: Vec<u32> = open.iter().flat_map(|(a, b)| [*a, *b]).collect();
    corners.sort_unstable();
    corners.dedup();
    let mut place: FxHashMap<Cell, Vec<u32>> = FxHashMap::default();
    let mut becomes: FxHashMap<u32, u32> = FxHashMap::default();
    for v in corners {
        let p = mesh.positions[v as usize];
        let near = around(cell(p, weld))
            .filter_map(|cell| place.get(&cell))
            .flatten()
            .map(|other| (mesh.positions[*other as usize].distance(p), *other))
            .filter(|(distance, _)| *distance <= weld)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        match near {
            Some((_, other)) => {
                becomes.insert(v, other);
            }
            None => place.entry(cell(p, weld)).or_default().push(v),
        }
    }
    for v in mesh.triangles.iter_mut().flatten() {
        *v = becomes.get(v).copied().unwrap_or(*v);
    }
    becomes.len()
}

/// Puts corners on open edges into other open edges that pass within `weld` mm.
fn split_edges(mesh: &mut TriMesh, weld: f64) -> usize {
    let sides = Sides::of(&mesh.triangles);
    let open: Vec<sides::Side> = sides.edges().filter(|edge| edge.len() == 1).map(|edge| edge[0].1).collect();
    if open.is_empty() {
        return 0;
    }
    let corners: FxHashSet<u32> =
        open.iter().flat_map(|side| <[u32; 2]>::from(sides::ends(&mesh.triangles, *side))).collect();
    let mut corners: Vec<u32> = corners.into_iter().collect();
    corners.sort_unstable();
    // Points as triangles without size.
    let points = TriMesh {
        positions: corners.iter().map(|v| mesh.positions[*v as usize]).collect(),
        triangles: (0..corners.len() as u32).map(|v| [v; 3]).collect(),
    };
    let points = Bvh::new(&points);
    let mut put_in = 0;
    let mut more = Vec::new();
    let mut done: FxHashSet<u32> = FxHashSet::default();
    for side in open {
        // One side of a triangle at a time; a second open side of the same one stays for the holes.
        if !done.insert(side / 3) {
            continue;
        }
        let (a, b) = sides::ends(&mesh.triangles, side);
        let (p, q) = (mesh.positions[a as usize], mesh.positions[b as usize]);
        let along = q - p;
        let mut on: Vec<(f64, u32)> = Vec::new();
        points.each_along(p, q, weld, |point| {
            let v = corners[point as usize];
            let at = mesh.positions[v as usize];
            let share = along.dot(at - p) / along.length_squared();
            if v != a && v != b && share > 0.0 && share < 1.0 && at.distance(p + along * share) <= weld {
                on.push((share, v));
            }
            true
        });
        if on.is_empty() {
            continue;
        }
        on.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let t = mesh.triangles[(side / 3) as usize];
        let apex = t[((side % 3) as usize + 2) % 3];
        on.retain(|(_, v)| *v != apex);
        put_in += on.len();
        let chain: Vec<u32> = [a].into_iter().chain(on.iter().map(|(_, v)| *v)).chain([b]).collect();
        let mut pieces = chain.windows(2).map(|pair| [pair[0], pair[1], apex]);
        if let Some(first) = pieces.next() {
            mesh.triangles[(side / 3) as usize] = first;
        }
        more.extend(pieces);
    }
    mesh.triangles.extend(more);
    put_in
}
