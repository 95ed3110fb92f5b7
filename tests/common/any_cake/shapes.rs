//! Shapes of every kind.

use std::f64::consts::TAU;
use std::fmt::Write;

use cakefile::schema::{Axis, Centre, Crossed, ModelUnit, Outline, Scanned, SectionAt, Sections, Shape};

use super::{
    Tape,
    outlines::{self, Of},
};

/// About how large a shape is, mm.
#[derive(Debug, Clone, Copy)]
pub struct Bulk {
    /// From the axis outwards.
    pub reach: f64,
    /// From the board up.
    pub height: f64,
}

/// A shape and about how large it is.
pub fn any_shape(t: &mut Tape) -> (Shape, Bulk) {
    let size = Bulk { reach: t.number(60.0, 150.0), height: t.number(50.0, 260.0) };
    let mut shape = Shape { turned: None, crossed: None, sections: None, scanned: None };
    match t.below(5) {
        1 => shape.crossed = Some(crossed(t, &size)),
        2 => shape.sections = Some(sections(t, &size)),
        3 => shape.scanned = Some(scanned(t, &size)),
        _ => {
            let profile = outlines::profile(t, size.reach, size.height);
            shape.turned = Some(outlines::outline(t, &profile, Of::Profile));
        }
    }
    (shape, size)
}

fn crossed(t: &mut Tape, size: &Bulk) -> Crossed {
    let view = |t: &mut Tape| {
        let corners = outlines::silhouette(t, size.reach, size.height);
        outlines::outline(t, &corners, Of::Silhouette)
    };
    let (front, side) = (view(t), view(t));
    let above = t.maybe(5, |t| {
        let corners = outlines::star(t, 0.7 * size.reach, 1.2 * size.reach);
        Outline {
            points: Some(corners.iter().map(|p| p.map(|x| t.length_of(x))).collect()),
            ..Outline::default()
        }
    });
    let (corner, roundness) = match t.below(3) {
        1 => (Some(t.size(3.0, 60.0)), None),
        2 => (None, Some(t.share(2.0, 6.0))),
        _ => (None, None),
    };
    Crossed {
        front,
        side,
        above_scale: above.is_some().then(|| t.share(0.9, 1.1)).filter(|_| t.chance(3)),
        above,
        corner,
        roundness,
        front_scale: None,
        side_scale: None,
        // What a picture or a drawing says of its height may differ by a hair from what is typed.
        height_tolerance: Some(t.size(4.0, 8.0)),
    }
}

fn sections(t: &mut Tape, size: &Bulk) -> Sections {
    let count = t.count(2, 5);
    let tip = t.chance(4);
    let at = (0..count)
        .map(|i| {
            let height = size.height * i as f64 / (count - 1) as f64;
            let is_tip = tip && i == count - 1;
            SectionAt {
                height: t.length_of(height),
                outline: (!is_tip).then(|| outlines::detail(t, 0.5 * size.reach, size.reach)),
                tip: is_tip.then(|| [t.length(-20.0, 20.0), t.length(-20.0, 20.0)]),
                offset: if is_tip {
                    None
                } else {
                    t.maybe(3, |t| [t.length(-15.0, 15.0), t.length(-15.0, 15.0)])
                },
                turn: if is_tip {
                    None
                } else {
                    t.maybe(3, |t| cakefile::schema::Angle::from(t.number(-40.0, 40.0)))
                },
            }
        })
        .collect();
    Sections { at, smooth: t.maybe(3, |t| t.chance(2)) }
}

fn scanned(t: &mut Tape, size: &Bulk) -> Scanned {
    // A lathe of few sides, or a box: closed, with z up.
    let sides = t.count(3, 24);
    let rings = t.count(2, 6);
    let radii: Vec<f64> = (0..rings).map(|_| t.number(40.0, size.reach)).collect();
    let mut points = vec![[0.0, 0.0, 0.0], [0.0, 0.0, size.height]];
    for (ring, radius) in radii.iter().enumerate() {
        for side in 0..sides {
            let (sin, cos) = (TAU * side as f64 / sides as f64).sin_cos();
            points.push([radius * cos, radius * sin, size.height * ring as f64 / (rings - 1) as f64]);
        }
    }
    let at = |ring: usize, side: usize| 2 + ring * sides + side % sides;
    let mut triangles = Vec::new();
    for side in 0..sides {
        triangles.push([0, at(0, side + 1), at(0, side)]);
        triangles.push([1, at(rings - 1, side), at(rings - 1, side + 1)]);
        for ring in 1..rings {
            let (a, b) = (at(ring - 1, side), at(ring - 1, side + 1));
            let (c, d) = (at(ring, side + 1), at(ring, side));
            triangles.push([a, b, c]);
            triangles.push([a, c, d]);
        }
    }
    let file = if t.chance(2) {
        let mut text = String::new();
        points.iter().for_each(|[x, y, z]| _ = writeln!(text, "v {x} {y} {z}"));
        triangles.iter().for_each(|t| _ = writeln!(text, "f {} {} {}", t[0] + 1, t[1] + 1, t[2] + 1));
        t.file("obj", text.into_bytes())
    } else {
        let mut bytes = vec![b' '; 80];
        bytes.extend((triangles.len() as u32).to_le_bytes());
        for triangle in &triangles {
            bytes.extend([0; 12]);
            for p in triangle.map(|v| points[v]) {
                p.iter().for_each(|x| bytes.extend((*x as f32).to_le_bytes()));
            }
            bytes.extend([0; 2]);
        }
        t.file("stl", bytes)
    };
    let height = t.maybe(3, |t| t.size_of(size.height));
    Scanned {
        file,
        unit: height.is_none().then_some(ModelUnit::Millimetre),
        height,
        up: Some(*t.pick(&[Axis::Z, Axis::Z, Axis::Z, Axis::MinusZ, Axis::Y, Axis::MinusX])),
        front: None,
        turn: t.maybe(3, Tape::angle),
        cut_bottom: t.maybe(4, |t| t.size(0.5, 10.0)),
        centre: t.maybe(3, |t| *t.pick(&[Centre::Box, Centre::Foot])),
        close_gaps: None,
        fill: None,
    }
}
