//! What lies about a model and is no part of it: specks, and the sheet that it was shown on.

use glam::DVec3;

use geom::{Bvh, TriMesh};

/// A part no larger than this share of the whole is a speck, where nothing else is near it. Common practice, no
/// source: 3 mm of a model that measures 20 cm corner to corner.
const SPECK: f64 = 0.015;

/// Apart is what lies further from the rest than this share of the whole.
const APART: f64 = 1e-3;

/// A sheet is no thicker than this share of its width.
const SHEET: f64 = 5e-3;

/// A sheet reaches this much further than what stands on it, as a share of both areas.
const WIDER: f64 = 1.2;

/// Of more parts than this none is looked at: they are triangles that do not hang together at all.
const MOST_PARTS: usize = 10_000;

/// Of more specks than this none is left out: they are meant.
const MOST_SPECKS: usize = 100;

/// One part that hangs together by its vertices.
struct Part {
    lo: DVec3,
    hi: DVec3,
    area: f64,
}

impl Part {
    fn size(&self) -> f64 {
        self.hi.distance(self.lo)
    }

    fn is_near(&self, other: &Self, near: f64) -> bool {
        (self.lo - near).cmple(other.hi).all() && (self.hi + near).cmpge(other.lo).all()
    }
}

/// An upright model without what lies about it, and what that was in words; `None` where there is nothing of the
/// kind.
pub(super) fn without_debris(upright: &TriMesh) -> Option<(TriMesh, Vec<String>)> {
    let mut mesh = upright.welded().without_unused_vertices();
    let (component, count) = mesh.connected_components();
    if !(2..=MOST_PARTS).contains(&count) {
        return None;
    }
    let parts = parts(&mesh, &component, count);
    let (lo, hi) = mesh.bounds()?;
    let whole = hi.distance(lo);
    let mut left_out = vec![false; count];
    let sheet = sheet(&parts);
    if let Some(sheet) = sheet {
        left_out[sheet] = true;
    }
    // What is told from the sheet would look small beside it.
    let rest = parts.iter().enumerate().filter(|(i, _)| Some(*i) != sheet).map(|(_, part)| part);
    let (low, high) = rest
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(lo, hi), part| (lo.min(part.lo), hi.max(part.hi)));
    let specks = specks(&mesh, &component, &parts, &left_out, high.distance(low).min(whole));
    specks.iter().for_each(|speck| left_out[*speck] = true);
    let mut notes = Vec::new();
    if sheet.is_some() {
        notes.push("the flat sheet that it stands on was left out".to_owned());
    }
    match specks.len() {
        0 => {}
        1 => notes.push("a speck apart from the rest was left out".to_owned()),
        count => notes.push(format!("{count} specks apart from the rest were left out")),
    }
    if notes.is_empty() {
        return None;
    }
    mesh.triangles.retain(|t| !left_out[component[t[0] as usize] as usize]);
    Some((mesh.without_unused_vertices(), notes))
}

fn parts(mesh: &TriMesh, component: &[u32], count: usize) -> Vec<Part> {
    let none = || Part { lo: DVec3::INFINITY, hi: DVec3::NEG_INFINITY, area: 0.0 };
    let mut parts: Vec<Part> = (0..count).map(|_| none()).collect();
    for (index, t) in mesh.triangles.iter().enumerate() {
        let part = &mut parts[component[t[0] as usize] as usize];
        let [a, b, c] = mesh.corners(index);
        part.lo = part.lo.min(a).min(b).min(c);
        part.hi = part.hi.max(a).max(b).max(c);
        part.area += (b - a).cross(c - a).length() / 2.0;
    }
    parts
}

/// The one part that is a flat sheet under all others and reaches beyond them.
fn sheet(parts: &[Part]) -> Option<usize> {
    let one = parts.iter().position(|part| {
        let size = part.hi - part.lo;
        size.z <= SHEET * size.x.max(size.y)
    })?;
    let sheet = &parts[one];
    let others = parts.iter().enumerate().filter(|(i, _)| *i != one).map(|(_, part)| part);
    let (lo, hi) = others
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(lo, hi), part| (lo.min(part.lo), hi.max(part.hi)));
    let (wide, rest) = (sheet.hi - sheet.lo, hi - lo);
    let slack = SHEET * wide.max_element();
    let under = sheet.hi.z <= lo.z + slack && rest.z > 5.0 * wide.z;
    let around = sheet.lo.cmple(lo + slack).all() && sheet.hi.x >= hi.x - slack && sheet.hi.y >= hi.y - slack;
    let wider = wide.x * wide.y >= WIDER * rest.x * rest.y;
    (under && around && wider).then_some(one)
}

/// Small parts that neither touch a large one nor hang on one by way of others.
fn specks(mesh: &TriMesh, component: &[u32], parts: &[Part], left_out: &[bool], whole: f64) -> Vec<usize> {
    let is_small = |part: usize| parts[part].size() <= SPECK * whole;
    let mut small: Vec<usize> = (0..parts.len()).filter(|i| !left_out[*i] && is_small(*i)).collect();
    let area = |chosen: &dyn Fn(usize) -> bool| -> f64 {
        (0..parts.len()).filter(|i| !left_out[*i] && chosen(*i)).map(|i| parts[i].area).sum()
    };
    // Of what is all small pieces none is a speck.
    if small.is_empty() || area(&is_small) > 0.05 * area(&|_| true) {
        return Vec::new();
    }
    let near = APART * whole;
    let part_of = |t: &[u32; 3]| component[t[0] as usize] as usize;
    let large = TriMesh {
        positions: mesh.positions.clone(),
        triangles: mesh
            .triangles
            .iter()
            .filter(|t| !left_out[part_of(t)] && !is_small(part_of(t)))
            .copied()
            .collect(),
    };
    let large = Bvh::new(&large);
    let mut touches = vec![false; parts.len()];
    for t in mesh.triangles.iter().filter(|t| is_small(part_of(t))) {
        let part = part_of(t);
        touches[part] = touches[part] || t.iter().any(|v| large.is_within(mesh.positions[*v as usize], near));
    }
    let mut kept: Vec<usize> = small.iter().copied().filter(|i| touches[*i]).collect();
    small.retain(|i| !touches[*i]);
    while let Some(one) = kept.pop() {
        let (hang, apart) = small.iter().partition(|i| parts[**i].is_near(&parts[one], near));
        small = apart;
        kept.extend::<Vec<usize>>(hang);
    }
    if small.len() > MOST_SPECKS { Vec::new() } else { small }
}
