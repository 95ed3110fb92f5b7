//! Triangles that are there twice, and triangles that face the wrong way.

use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

use super::sides::{Sides, ends};
use geom::TriMesh;

/// Takes out triangles with a corner twice and those on the same corners as another. Two that face each other
/// are the wall between two parts that touch, and stay, unless each triangle of the whole model is there both
/// ways round, or taking one of them makes its edges whole. Gives back how many went.
pub(super) fn single(mesh: &mut TriMesh) -> usize {
    let before = mesh.len();
    mesh.triangles.retain(|[a, b, c]| a != b && b != c && c != a);
    let mut keyed: Vec<([u32; 3], bool, u32)> = (0u32..)
        .zip(&mesh.triangles)
        .map(|(i, &[a, b, c])| {
            let mut key = [a, b, c];
            key.sort_unstable();
            (key, (a < b) ^ (b < c) ^ (a < c), i)
        })
        .collect();
    keyed.par_sort_unstable();
    let mut keep = vec![false; mesh.len()];
    let (mut faced, mut different) = (Vec::new(), 0);
    for alike in keyed.chunk_by(|a, b| a.0 == b.0) {
        different += 1;
        let first = alike[0];
        keep[first.2 as usize] = true;
        if let Some(other) = alike.iter().find(|t| t.1 != first.1) {
            keep[other.2 as usize] = true;
            faced.push(other.2);
        }
    }
    if !faced.is_empty() {
        let all = faced.len() * 10 >= different * 9;
        let kept: Vec<[u32; 3]> =
            mesh.triangles.iter().zip(&keep).filter(|(_, keep)| **keep).map(|(t, _)| *t).collect();
        let needless = if all { faced.clone() } else { needless(&faced, &mesh.triangles, &Sides::of(&kept)) };
        for number in needless {
            keep[number as usize] = false;
        }
    }
    let mut kept = keep.into_iter();
    mesh.triangles.retain(|_| kept.next().unwrap_or(false));
    before - mesh.len()
}

/// Of triangles that face another, those without which the edges round them are whole: an edge there is met an odd
/// number of times. So are those next to them.
fn needless(faced: &[u32], triangles: &[[u32; 3]], sides: &Sides) -> Vec<u32> {
    let edges = |number: u32| {
        let [a, b, c] = triangles[number as usize];
        [(a, b), (b, c), (c, a)].map(|(a, b)| (a.min(b), a.max(b)))
    };
    let mut at: FxHashMap<(u32, u32), Vec<u32>> = FxHashMap::default();
    for &number in faced {
        edges(number).into_iter().for_each(|edge| at.entry(edge).or_default().push(number));
    }
    let is_odd = |&(a, b): &(u32, u32)| sides.along(a, b).len() % 2 == 1;
    let mut found: Vec<u32> =
        faced.iter().copied().filter(|number| edges(*number).iter().any(is_odd)).collect();
    let mut seen: FxHashSet<u32> = found.iter().copied().collect();
    let mut next = 0;
    while let Some(&number) = found.get(next) {
        next += 1;
        for neighbour in edges(number).iter().filter_map(|edge| at.get(edge)).flatten() {
            if seen.insert(*neighbour) {
                found.push(*neighbour);
            }
        }
    }
    found
}

/// Turns triangles so that neighbours face the same way, and every sheet so that it encloses more than nothing.
/// Gives back how many were turned.
///
/// # Errors
/// The place where a surface has just one side.
pub(super) fn oriented(mesh: &mut TriMesh) -> Result<usize, DVec3> {
    /// No neighbour, or several.
    const NONE: u32 = u32::MAX;
    let mut beyond = vec![NONE; mesh.len() * 3];
    let sides = Sides::of(&mesh.triangles);
    for edge in sides.edges() {
        if let [(_, one), (_, two)] = *edge {
            (beyond[one as usize], beyond[two as usize]) = (two, one);
        }
    }
    // 0 not met yet, 1 as it is, 2 turned.
    let mut state = vec![0u8; mesh.len()];
    let mut sheets: Vec<Vec<u32>> = Vec::new();
    for start in 0..mesh.len() as u32 {
        if state[start as usize] != 0 {
            continue;
        }
        state[start as usize] = 1;
        let (mut sheet, mut next) = (vec![start], 0);
        while let Some(&triangle) = sheet.get(next) {
            next += 1;
            for side in 3 * triangle..3 * triangle + 3 {
                let other = beyond[side as usize];
                if other == NONE {
                    continue;
                }
                // Neighbours that face the same way run along their edge in opposite directions.
                let agree = ends(&mesh.triangles, side).0 != ends(&mesh.triangles, other).0;
                let wanted = if agree { state[triangle as usize] } else { 3 - state[triangle as usize] };
                let neighbour = other / 3;
                match state[neighbour as usize] {
                    0 => {
                        state[neighbour as usize] = wanted;
                        sheet.push(neighbour);
                    }
                    found if found != wanted => {
                        let (a, b) = ends(&mesh.triangles, side);
                        return Err((mesh.positions[a as usize] + mesh.positions[b as usize]) / 2.0);
                    }
                    _ => {}
                }
            }
        }
        sheets.push(sheet);
    }
    let middle = mesh.bounds().map_or(DVec3::ZERO, |(lo, hi)| (lo + hi) / 2.0);
    let mut turned = 0;
    for sheet in &sheets {
        let signed = |triangle: &u32| {
            let [a, b, c] = mesh.corners(*triangle as usize).map(|p| p - middle);
            a.dot(b.cross(c)) * if state[*triangle as usize] == 1 { 1.0 } else { -1.0 }
        };
        // A sheet with few triangles turned is kept as most of it is: it may be a hollow.
        let wrong = sheet.iter().filter(|t| state[**t as usize] == 2).count();
        let mixed = wrong != 0 && wrong != sheet.len();
        let flip = if mixed { sheet.iter().map(signed).sum::<f64>() < 0.0 } else { wrong != 0 };
        for triangle in sheet {
            if (state[*triangle as usize] == 2) != flip {
                mesh.triangles[*triangle as usize].swap(1, 2);
                turned += 1;
            }
        }
    }
    Ok(turned)
}
