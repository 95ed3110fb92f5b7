//! The closed form of the shave depth against the slow way: distance to every triangle of the stack's
//! surface, inside or outside told by the solid angle that it fills.

use std::f64::consts::PI;

use geom::{Solid, TriMesh};
use glam::{DVec3, dvec3};
use plan::stack::{SlabKind, Stack};

use crate::{
    plans::plan,
    support::{evenly, tolerance},
};

/// How finely the surface is meshed, mm; round things differ from their mesh by no more.
const CHORD: f64 = 0.02;

/// The stack of a cake with these tiers.
fn stack(tiers: &str) -> Stack {
    let text = "crumbline = 1\nname = \"stack\"\n[shape.turned]\npoints = [[60, 0], [40, 60]]\n";
    Stack::clone(&plan(&format!("{text}{tiers}")).stack)
}

/// The union of all slabs as one surface. The hole of a board and the slit round it are no skin: it is made
/// as wide as the smaller of its neighbours.
fn surface(stack: &Stack) -> TriMesh {
    let mut slabs = stack.slabs.clone();
    for i in 1..slabs.len() - 1 {
        if slabs[i].kind == SlabKind::Board {
            let neighbours = [slabs[i - 1].footprint.clone(), slabs[i + 1].footprint.clone()];
            slabs[i].hole = 0.0;
            slabs[i].footprint = neighbours.into_iter().min_by(|a, b| a.area().total_cmp(&b.area())).unwrap();
        }
    }
    let solids: Vec<Solid> = slabs.iter().map(|slab| slab.solid(tolerance(CHORD))).collect();
    Solid::union_all(&solids).to_mesh()
}

/// Distance to the nearest triangle that is no part of the foot.
fn distance(mesh: &TriMesh, foot: f64, p: DVec3) -> f64 {
    let on_foot = |corners: &[DVec3; 3]| corners.iter().all(|c| (c.z - foot).abs() < 1e-9);
    let triangles = (0..mesh.len()).map(|i| mesh.corners(i)).filter(|corners| !on_foot(corners));
    triangles.map(|corners| to_triangle(p, corners)).fold(f64::INFINITY, f64::min)
}

/// Distance from a point to a triangle: its plane where the foot of the perpendicular lies inside, the
/// nearest edge elsewhere.
fn to_triangle(p: DVec3, [a, b, c]: [DVec3; 3]) -> f64 {
    let normal = (b - a).cross(c - a).normalize_or_zero();
    let edges = [(a, b), (b, c), (c, a)];
    if edges.iter().all(|&(from, to)| normal.dot((to - from).cross(p - from)) >= 0.0) {
        return normal.dot(p - a).abs();
    }
    let to_edge = |&(from, to): &(DVec3, DVec3)| {
        let along = to - from;
        let t = ((p - from).dot(along) / along.length_squared()).clamp(0.0, 1.0);
        p.distance(from + along * t)
    };
    edges.iter().map(to_edge).fold(f64::INFINITY, f64::min)
}

/// Whether `p` lies inside: the solid angles of all triangles (van Oosterom and Strackee 1983) add up to 4π.
fn is_inside(mesh: &TriMesh, p: DVec3) -> bool {
    let angle = |i: usize| {
        let [a, b, c] = mesh.corners(i).map(|corner| corner - p);
        let (la, lb, lc) = (a.length(), b.length(), c.length());
        let below = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
        2.0 * a.dot(b.cross(c)).atan2(below)
    };
    (0..mesh.len()).map(angle).sum::<f64>() > 2.0 * PI
}

/// Compares closed form and slow way at many points in and round the stack.
fn assert_depths(name: &str, tiers: &str) {
    let stack = stack(tiers);
    let mesh = surface(&stack);
    mesh.check().unwrap();
    let (lo, hi) = mesh.bounds().unwrap();
    let foot = stack.slabs[0].bottom;
    let (lo, hi) = (dvec3(lo.x - 15.0, lo.y - 15.0, foot), hi + DVec3::splat(15.0));
    let (mut inside, mut outside) = (0, 0);
    for p in evenly(600).map(|t| lo + (hi - lo) * DVec3::from(t)) {
        let slow = distance(&mesh, foot, p);
        let depth = stack.depth(p);
        assert!((depth.abs() - slow).abs() <= 2.0 * CHORD, "{name} at {p}: {depth}, the slow way {slow}");
        if slow > 2.0 * CHORD {
            assert_eq!(depth > 0.0, is_inside(&mesh, p), "{name}: the wrong side at {p}");
        }
        if depth > 0.0 { inside += 1 } else { outside += 1 }
    }
    assert!(inside > 60 && outside > 60, "{name}: {inside} inside, {outside} outside");
}

/// One tier of layers with filling between them; semicolons stand for line ends.
fn tier(layers: &[&str]) -> String {
    let layer = |text: &&str| format!("[[tier.layer]]\n{}\n", text.replace("; ", "\n"));
    let layers: String = layers.iter().map(layer).collect();
    format!("[[tier]]\nname = \"only\"\nfilling = {{ material = \"jam\", thickness = 4 }}\n{layers}")
}

#[test]
fn round_steps() {
    assert_depths(
        "steps",
        &tier(&[
            "pan = { round = 200 }; height = 40",
            "pan = { round = 120 }; height = 30",
            "pan = { round = 170 }; height = 35",
        ]),
    );
}

#[test]
fn layers_beside_the_axis() {
    assert_depths(
        "aside",
        &tier(&[
            "pan = { round = 180 }; height = 40; offset = [15, -20]",
            "pan = { round = 150 }; height = 30; offset = [-30, 10]",
            "pan = { round = 90 }; height = 35; offset = [25, 25]",
        ]),
    );
}

#[test]
fn turned_squares_and_rectangles() {
    assert_depths(
        "squares",
        &tier(&[
            "pan = { square = 160 }; height = 40; turn = 20",
            "pan = { rectangle = [190, 80] }; height = 30; turn = -35; offset = [10, 5]",
            "pan = { square = 120 }; height = 35; turn = 45",
        ]),
    );
}

#[test]
fn half_balls_up_and_down_and_levelled() {
    assert_depths(
        "dome",
        &tier(&["pan = { round = 160 }; height = 40", "pan = { half_ball = 140 }; height = 70"]),
    );
    assert_depths(
        "levelled",
        &tier(&[
            "pan = { half_ball = 160, dome = \"down\" }; height = 60",
            "pan = { half_ball = 150 }; height = 45; offset = [8, 6]",
            "pan = { round = 60 }; height = 30",
        ]),
    );
    assert_depths("bowl", &tier(&["pan = { half_ball = 160, dome = \"down\" }; height = 80"]));
}

#[test]
fn a_board_between_and_a_gap() {
    assert_depths(
        "tiers",
        "[[tier]]\nname = \"low\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 50\n\
         [[tier]]\nname = \"high\"\nboard = { round = 90, thickness = 4, hole = 14 }\n\
         [[tier.layer]]\npan = { square = 130 }\nheight = 40\n\
         [[tier.layer]]\npan = { round = 100 }\nheight = 40\nbottom = 110\n",
    );
}

/// Fillings lie between layers; a tier's board is a slab of its own.
#[test]
fn slabs_come_bottom_up() {
    let kinds: Vec<SlabKind> =
        stack(&tier(&["pan = { round = 200 }; height = 40", "pan = { round = 120 }; height = 30"]))
            .slabs
            .iter()
            .map(|slab| slab.kind)
            .collect();
    assert_eq!(kinds, [SlabKind::Layer, SlabKind::Filling, SlabKind::Layer]);
}

/// DejaVu Sans has Latin, Greek and Cyrillic letters, and none for Chinese (its own list of covered blocks).
#[test]
fn letters_that_pages_cannot_print_are_told() {
    let named = |name: &str| {
        let text = format!(
            "crumbline = 1\nname = \"{name}\"\n[shape.turned]\npoints = [[60, 0], [60, 40]]\n[[tier]]\nname = \"a\"\n\
             [[tier.layer]]\npan = {{ round = 140 }}\nheight = 40\n"
        );
        let plan = crate::plans::planned(&cakefile::CakeFile::from_text("x", "", text)).unwrap();
        let found = plan.findings.iter().find(|found| found.code.as_str() == "letters-lacking");
        found.map(|found| found.message.clone())
    };
    assert_eq!(named("Ярмарка, Πίτα, Törtchen"), None);
    assert!(named("蛋糕 1").unwrap().contains("no letters for 糕蛋:"));
}
