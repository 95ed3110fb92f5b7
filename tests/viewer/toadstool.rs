//! A believable cake to look at: a toadstool carved from six round layers, with every kind of part.
//!
//! Built with the boolean kernel straight from its half outline, so that it does not depend on the
//! planner.

use std::{f64::consts::TAU, sync::Arc};

use crumbline::{
    geom::TriMesh,
    model::{Between, Model, Part, PartKind, Rgb},
};
use glam::DVec3;
use manifold_rust::{manifold::Manifold, types::MeshGL64};

/// Meridians of every turned solid.
pub const MERIDIANS: u32 = 96;

/// Sponge layers as (radius, bottom, top), mm.
pub const LAYERS: [(f64, f64, f64); 6] = [
    (62.0, 0.0, 36.0),
    (62.0, 38.0, 74.0),
    (62.0, 76.0, 110.0),
    (128.0, 114.0, 148.0),
    (99.0, 150.0, 184.0),
    (90.0, 186.0, 214.0),
];

/// Thickness of icing and ganache together, mm.
pub const COATS: f64 = 8.0;
const ICING: f64 = 4.0;

const SPONGE: Rgb = Rgb(232, 196, 128);
const RASPBERRY: Rgb = Rgb(150, 40, 62);
const GANACHE: Rgb = Rgb(92, 58, 40);
const RED: Rgb = Rgb(196, 44, 38);
const WHITE: Rgb = Rgb(246, 241, 232);
const CARD: Rgb = Rgb(206, 208, 212);
const WOOD: Rgb = Rgb(214, 184, 140);

/// The half outline of the toadstool, `inset` mm inside its finished surface, from the foot up.
pub fn outline(inset: f64) -> Vec<[f64; 2]> {
    let mut points = vec![[0.0, 0.0]];
    for i in 0..=12 {
        let z = (112.0 + inset) * f64::from(i) / 12.0;
        let swell = (1.0 - z / 120.0).powi(2) * 9.0;
        points.push([44.0 + swell - inset, z]);
    }
    points.push([104.0 - inset, 110.0 + inset]);
    points.push([113.0 - inset, 116.0 + inset * 0.6]);
    for i in 0..=32 {
        let (sin, cos) = (TAU / 4.0 * f64::from(i) / 32.0).sin_cos();
        points.push([(118.0 - inset) * cos, 127.0 + (90.0 - inset) * sin]);
    }
    points.last_mut().expect("there are points")[0] = 0.0;
    points
}

/// Turns a half outline that begins and ends on the axis.
pub fn turn(outline: &[[f64; 2]]) -> TriMesh {
    let inner = &outline[1..outline.len() - 1];
    let mut positions = vec![DVec3::Z * outline[0][1], DVec3::Z * outline[outline.len() - 1][1]];
    for m in 0..MERIDIANS {
        let (sin, cos) = (TAU * f64::from(m) / f64::from(MERIDIANS)).sin_cos();
        positions.extend(inner.iter().map(|[r, z]| DVec3::new(r * cos, r * sin, *z)));
    }
    let rows = inner.len() as u32;
    let at = |m: u32, row: u32| 2 + (m % MERIDIANS) * rows + row;
    let mut triangles = Vec::new();
    for m in 0..MERIDIANS {
        triangles.push([0, at(m + 1, 0), at(m, 0)]);
        triangles.push([1, at(m, rows - 1), at(m + 1, rows - 1)]);
        for row in 0..rows - 1 {
            let [a, b, c, d] = [at(m, row), at(m + 1, row), at(m + 1, row + 1), at(m, row + 1)];
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    TriMesh { positions, triangles }
}

/// An upright cylinder about the axis.
pub fn cylinder(radius: f64, bottom: f64, top: f64) -> TriMesh {
    turn(&[[0.0, bottom], [radius, bottom], [radius, top], [0.0, top]])
}

/// The whole toadstool.
pub fn toadstool() -> Model {
    let carved = solid(&turn(&outline(COATS)));
    let coated = solid(&turn(&outline(ICING)));
    let finished = solid(&turn(&outline(0.0)));
    let mut model = Model { name: "Toadstool".into(), parts: Vec::new(), ..Model::default() };
    let mut add = |kind, index, name: String, material: &str, colour, mesh: TriMesh| {
        if !mesh.is_empty() {
            let shave_depth = depths(kind, &mesh);
            model.parts.push(Part {
                name,
                kind,
                index,
                material: material.into(),
                colour,
                mesh,
                tints: Vec::new(),
                shave_depth,
            });
        }
    };
    add(
        PartKind::PresentationBoard,
        0,
        "presentation board".into(),
        "board",
        CARD,
        cylinder(150.0, -12.0, 0.0),
    );
    let mut below = carved.clone();
    for (i, (radius, bottom, top)) in LAYERS.into_iter().enumerate() {
        let raw = cylinder(radius, bottom, top);
        let raw_solid = solid(&raw);
        let number = i + 1;
        add(
            PartKind::Kept,
            i,
            format!("layer {number}"),
            "sponge",
            SPONGE,
            mesh(&raw_solid.intersection(&carved)),
        );
        add(
            PartKind::Offcut,
            i,
            format!("offcut {number}"),
            "sponge",
            SPONGE,
            mesh(&raw_solid.difference(&carved)),
        );
        add(PartKind::RawLayer, i, format!("raw layer {number}"), "sponge", SPONGE, raw);
        let next = LAYERS.get(i + 1).filter(|_| i != 2);
        if let Some(next) = next {
            let spread = cylinder(radius.min(next.0), top, next.1);
            let kept = mesh(&solid(&spread).intersection(&carved));
            add(
                PartKind::RawFilling,
                i,
                format!("raw filling {number}"),
                "raspberry filling",
                RASPBERRY,
                spread,
            );
            add(PartKind::Filling, i, format!("filling {number}"), "raspberry filling", RASPBERRY, kept);
        }
        below = below.difference(&solid(&cylinder(radius, bottom - 4.0 + 2.0, top + 0.0)));
    }
    let card = cylinder(52.0, 110.0, 114.0);
    let held = below.difference(&solid(&cylinder(128.0, 109.0, 114.0)));
    let held = held.difference(&solid(&cylinder(62.0, -1.0, 110.0)));
    add(PartKind::Shortfall, 4, "shortfall 5".into(), "sponge", SPONGE, mesh(&held));
    add(PartKind::Board, 1, "cake card".into(), "card", CARD, mesh(&solid(&card).intersection(&carved)));
    for i in 0..3 {
        let (sin, cos) = (TAU * f64::from(i) / 3.0 + 0.4).sin_cos();
        let dowel = cylinder(5.0, 0.0, 110.0).translated(DVec3::new(22.0 * cos, 22.0 * sin, 0.0));
        add(PartKind::Dowel, i as usize, format!("dowel {}", i + 1), "wood", WOOD, dowel);
    }
    add(PartKind::Covering, 1, "ganache".into(), "ganache", GANACHE, mesh(&coated.difference(&carved)));
    add(
        PartKind::Covering,
        0,
        "rolled icing".into(),
        "rolled icing",
        RED,
        mesh(&finished.difference(&coated)),
    );
    add(PartKind::Finished, 0, "finished".into(), "rolled icing", RED, mesh(&finished));
    for (i, (around, up)) in
        [(0.1, 0.5), (1.2, 0.75), (2.3, 0.45), (3.6, 0.6), (4.7, 0.5), (5.6, 0.8), (0.0, 1.5)]
            .into_iter()
            .enumerate()
    {
        add(PartKind::Add, i, format!("spot {}", i + 1), "rolled icing", WHITE, spot(around - 1.6, up));
    }
    model.between = Some(Arc::new(Growing));
    model
}

/// The knife comes in, and the coats grow, by the inset of the half outline.
#[derive(Debug)]
struct Growing;

/// The outline this far outside the carved one holds the whole raw stack, mm.
pub const START: f64 = 35.0;

impl Between for Growing {
    fn start(&self) -> f64 {
        START
    }

    fn offcuts(&self, off: f64) -> Vec<Part> {
        let carved = solid(&turn(&outline(COATS)));
        let left = solid(&turn(&outline(COATS - off))).difference(&carved);
        let offcut = |(i, (radius, bottom, top)): (usize, (f64, f64, f64))| {
            let mesh = mesh(&solid(&cylinder(radius, bottom, top)).intersection(&left));
            let shave_depth = mesh.positions.iter().map(|p| shave_depth(*p)).collect();
            Part {
                name: format!("offcut {}", i + 1),
                kind: PartKind::Offcut,
                index: i,
                material: "sponge".into(),
                colour: SPONGE,
                mesh,
                tints: Vec::new(),
                shave_depth,
            }
        };
        LAYERS.into_iter().enumerate().map(offcut).filter(|part| !part.mesh.is_empty()).collect()
    }

    fn thickness(&self, index: usize) -> f64 {
        if index == 0 { ICING } else { COATS - ICING }
    }

    fn coat(&self, index: usize, laid: f64) -> Option<Part> {
        let inner = if index == 0 { ICING } else { COATS };
        let coat = solid(&turn(&outline(inner - laid))).difference(&solid(&turn(&outline(inner))));
        let (name, colour) = if index == 0 { ("rolled icing", RED) } else { ("ganache", GANACHE) };
        (laid > 0.0).then(|| Part {
            name: name.into(),
            kind: PartKind::Covering,
            index,
            material: name.into(),
            colour,
            mesh: mesh(&coat),
            tints: Vec::new(),
            shave_depth: Vec::new(),
        })
    }
}

/// A flat round spot lying on the cap.
fn spot(around: f64, up: f64) -> TriMesh {
    let (sin_u, cos_u) = f64::sin_cos(up);
    let (sin_a, cos_a) = f64::sin_cos(around);
    let middle = DVec3::new(118.0 * cos_u * cos_a, 118.0 * cos_u * sin_a, 127.0 + 90.0 * sin_u);
    let out = DVec3::new(cos_u * cos_a / 118.0, cos_u * sin_a / 118.0, sin_u / 90.0).normalize();
    let across = out.any_orthonormal_vector();
    let over = out.cross(across);
    let dome: Vec<[f64; 2]> = (0..=12)
        .map(|i| (TAU / 2.0 * (f64::from(i) / 12.0 - 0.5)).sin_cos())
        .map(|(sin, cos)| [if cos < 1e-9 { 0.0 } else { 16.0 * cos }, 3.5 * sin])
        .collect();
    let mut mesh = turn(&dome);
    for p in &mut mesh.positions {
        *p = middle + across * p.x + over * p.y + out * p.z;
    }
    mesh
}

/// Distance below the skin of the raw stack, negative outside it.
pub fn shave_depth(p: DVec3) -> f64 {
    let r = p.truncate().length();
    let within = |z: f64| LAYERS.iter().find(|(_, bottom, top)| (bottom - 2.1..=top + 2.1).contains(&z));
    let side = within(p.z).map_or(-1.0, |(radius, _, _)| radius - r);
    // The next level above at which the stack does not reach out this far.
    let open =
        LAYERS.iter().filter(|(radius, _, top)| *top >= p.z && *radius >= r).map(|(_, _, top)| top - p.z);
    let above = open.fold(0.0, f64::max);
    // Underneath a wider layer the skin is its open underside.
    let under = if p.z >= 114.0 { (p.z - 114.0).hypot((62.0 - r).max(0.0)) } else { f64::INFINITY };
    side.min(above).min(under)
}

fn depths(kind: PartKind, mesh: &TriMesh) -> Vec<f64> {
    match kind {
        PartKind::Kept | PartKind::Shortfall => mesh.positions.iter().map(|p| shave_depth(*p)).collect(),
        _ => Vec::new(),
    }
}

fn solid(mesh: &TriMesh) -> Manifold {
    Manifold::from_mesh_gl64(&MeshGL64 {
        num_prop: 3,
        vert_properties: mesh.positions.iter().flat_map(|p| p.to_array()).collect(),
        tri_verts: mesh.triangles.iter().flatten().map(|v| (*v).into()).collect(),
        ..MeshGL64::default()
    })
}

fn mesh(solid: &Manifold) -> TriMesh {
    let gl = solid.get_mesh_gl64(-1);
    let stride = gl.num_prop as usize;
    let positions = gl.vert_properties.chunks(stride).map(|v| DVec3::from_slice(&v[..3])).collect();
    let triangles = gl.tri_verts.as_chunks::<3>().0.iter().map(|t| t.map(|v| v as u32)).collect();
    TriMesh { positions, triangles }.welded()
}
