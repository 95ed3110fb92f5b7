//! How deep points lie in solids of free form, and what lies a depth inside, against exact answers.

use std::f64::consts::PI;

use geom::{DistanceField, MeshDefect, Region, TriMesh, revolve, uncancelled};
use glam::{DVec2, DVec3, dvec2, dvec3};

use crate::{
    meshes,
    support::{arc, assert_close, evenly, section},
};

/// A box on the board.
fn cuboid(lo: DVec2, hi: DVec2, height: f64) -> TriMesh {
    meshes::cuboid((hi - lo).extend(height)).translated(lo.extend(0.0))
}

/// The inset of a box is a box: creases stay sharp, the foot stays on the board, and nothing is taken off below.
#[test]
fn what_lies_inside_a_box_is_a_box() {
    let depths = DistanceField::new(&cuboid(dvec2(-50.0, -40.0), dvec2(50.0, 40.0), 80.0));
    for (p, depth) in [
        (dvec3(0.0, 0.0, 0.0), 40.0),
        (dvec3(0.0, 0.0, 75.0), 5.0),
        (dvec3(49.0, 0.0, 0.0), 1.0),
        (dvec3(53.0, 44.0, 20.0), -5.0),
        (dvec3(0.0, 0.0, 83.0), -3.0),
        (dvec3(60.0, 0.0, 0.0), -10.0),
    ] {
        assert!((depths.at(p) - depth).abs() < 1e-12, "{p}: {} is not {depth}", depths.at(p));
    }
    for step in [1.7, 2.0, 3.0] {
        for depth in [3.0, 9.0] {
            let inset = depths.inset(depth, step);
            inset.check().unwrap();
            let (lo, hi) = inset.bounds().unwrap();
            let off = (lo - dvec3(depth - 50.0, depth - 40.0, 0.0)).abs().max_element();
            let off = off.max((hi - dvec3(50.0 - depth, 40.0 - depth, 80.0 - depth)).abs().max_element());
            assert!(off < 1e-3 * step, "{depth} at {step}: {lo} to {hi}");
            let exact = (100.0 - 2.0 * depth) * (80.0 - 2.0 * depth) * (80.0 - depth);
            assert_close(&format!("{depth} at {step}"), inset.volume(), exact, 1e-5);
        }
    }
}

/// Greatest distance of the vertices of `mesh` above the board from where they should be, and of the middles of
/// its edges.
fn greatest_off(mesh: &TriMesh, off: impl Fn(DVec3) -> f64) -> (f64, f64) {
    let walls: Vec<&[u32; 3]> =
        mesh.triangles.iter().filter(|t| t.iter().any(|v| mesh.positions[*v as usize].z > 0.0)).collect();
    let at = |v: u32| mesh.positions[v as usize];
    let vertices = walls.iter().flat_map(|t| **t).map(|v| off(at(v)).abs()).fold(0.0, f64::max);
    let sides = walls.iter().flat_map(|[a, b, c]| [(*a, *b), (*b, *c), (*c, *a)]);
    let edges = sides.map(|(a, b)| off((at(a) + at(b)) / 2.0).abs()).fold(0.0, f64::max);
    (vertices, edges)
}

/// A ball of radius 60 that is cut off 20 below its middle. The inset is a ball; what is carried on below the
/// board runs straight, 19.47° from upright, and the lowest of the inset lies inside that.
#[test]
fn what_lies_inside_a_ball_is_a_ball() {
    let foot = (60f64.powi(2) - 20f64.powi(2)).sqrt();
    let mut outline = vec![(0.0, 0.0)];
    outline.extend(arc(60.0, 20.0, -(20.0f64 / 60.0).asin().to_degrees(), 90.0, 300));
    // The wall that is carried on is the lowest chord.
    let ((r0, z0), (r1, z1)) = (outline[1], outline[2]);
    let lean = ((r1 - r0) / (z1 - z0)).atan();
    let ball = revolve::revolve(&section(&outline), 720);
    let depths = DistanceField::new(&ball);
    // Chords of the tessellation lie inside the ball by up to this.
    let chord = 60.0 * (1.0 - (PI / 720.0).cos()) + 60.0 * (1.0 - (0.5 * 110f64.to_radians() / 300.0).cos());
    for p in evenly(2000) {
        let p = dvec3(140.0 * p[0] - 70.0, 140.0 * p[1] - 70.0, 90.0 * p[2]);
        let from_middle = (p - dvec3(0.0, 0.0, 20.0)).length();
        let (r, down) = (p.truncate().length(), 20.0 - p.z);
        // Nearest is the ball, unless the point lies towards what is carried on below the foot.
        if from_middle > 1.0 && down * foot < 20.0 * r {
            let depth = 60.0 - from_middle;
            assert!((depths.at(p) - depth).abs() < chord + 1e-9, "{p}: {} is not {depth}", depths.at(p));
        }
    }
    for (depth, step) in [(9.0, 3.0), (9.0, 1.5), (-4.0, 2.0)] {
        let inset = depths.inset(depth, step);
        inset.check().unwrap();
        let exact = |p: DVec3| {
            let (r, up) = (p.truncate().length(), p.z - 20.0);
            if up * foot > -20.0 * r {
                dvec2(r, up).length() - (60.0 - depth)
            } else {
                // Off the straight cone through the foot's rim, that leans by `lean`.
                (r - foot) * lean.cos() - p.z * lean.sin() + depth
            }
        };
        let (vertices, edges) = greatest_off(&inset, exact);
        assert!(vertices < chord + 1e-3 * step, "{depth} at {step}: vertices {vertices}");
        let stated = step * step / (2.0 * (60.0 - depth));
        assert!(edges < chord + stated + 1e-3, "{depth} at {step}: edges {edges} against {stated}");
    }
}

/// A ring that lies in the board up to its middle: tube 30, round 80. Its inner side is saddle-shaped.
#[test]
fn what_lies_inside_a_ring_is_a_ring() {
    let outline: Vec<(f64, f64)> =
        arc(30.0, 0.0, 0.0, 180.0, 200).into_iter().map(|(r, z)| (r + 80.0, z.max(0.0))).collect();
    let ring = revolve::revolve(&section(&outline), 600);
    let depths = DistanceField::new(&ring);
    let chord = 110.0 * (1.0 - (PI / 600.0).cos()) + 30.0 * (1.0 - (PI / 400.0).cos());
    for (depth, step) in [(8.0, 2.0), (14.0, 1.5), (-5.0, 2.0)] {
        let inset = depths.inset(depth, step);
        inset.check().unwrap();
        let off = |p: DVec3| dvec2(p.truncate().length() - 80.0, p.z).length() - (30.0 - depth);
        let (vertices, edges) = greatest_off(&inset, off);
        assert!(vertices < chord + 1e-3 * step, "{depth} at {step}: vertices {vertices}");
        let stated = step * step / (2.0 * (30.0 - depth));
        assert!(edges < chord + stated + 1e-3, "{depth} at {step}: edges {edges} against {stated}");
        // Half of Pappus's 2 π² R r².
        assert_close("volume", inset.volume(), PI * PI * 80.0 * (30.0 - depth).powi(2), 4e-3);
    }
}

/// The walls of a square frustum stay parallel right down to the board, its corners stay corners there, and a
/// hollow in its foot is no surface of the coat's if it is sealed.
#[test]
fn leaning_walls_run_parallel_down_to_the_board() {
    let (bottom, top, height) = (dvec2(70.0, 60.0), dvec2(50.0, 45.0), 90.0);
    let corner = |i: u32| {
        let half = if i & 4 == 0 { bottom } else { top };
        let sign = dvec2(if i & 1 == 0 { -1.0 } else { 1.0 }, if i & 2 == 0 { -1.0 } else { 1.0 });
        (half * sign).extend(if i & 4 == 0 { 0.0 } else { height })
    };
    let mut mesh = cuboid(DVec2::ZERO, DVec2::ONE, 1.0);
    mesh.positions = (0..8).map(corner).collect();
    let depth = 10.0;
    let lean = (bottom - top) / height;
    // A square distance of 10 is this much across.
    let across = dvec2((1.0 + lean.x * lean.x).sqrt(), (1.0 + lean.y * lean.y).sqrt()) * depth;
    let half = |z: f64| bottom - lean * z - across;
    let exact_volume = {
        let (a, m, b) = (half(0.0), half((height - depth) / 2.0), half(height - depth));
        (height - depth) / 6.0 * 4.0 * (a.x * a.y + 4.0 * m.x * m.y + b.x * b.y)
    };
    for hollow in [false, true] {
        let mut mesh = mesh.clone();
        if hollow {
            let mut inner =
                cuboid(dvec2(-10.0, -10.0), dvec2(10.0, 10.0), 20.0).translated(dvec3(0.0, 0.0, 30.0));
            inner.triangles.iter_mut().for_each(|t| t.swap(1, 2));
            mesh.append(&inner);
        }
        let inset = DistanceField::new(&mesh).inset(depth, 2.3);
        inset.check().unwrap();
        assert_close("volume", inset.volume(), exact_volume, 1e-5);
        let (lo, hi) = inset.bounds().unwrap();
        let most = half(0.0);
        assert!((hi.truncate() - most).abs().max_element() < 1e-3, "{hi} is not {most}");
        assert!((lo.truncate() + most).abs().max_element() < 1e-3 && lo.z == 0.0, "{lo}");
        // A corner of the foot.
        let nearest =
            inset.positions.iter().map(|p| p.distance(most.extend(0.0))).fold(f64::INFINITY, f64::min);
        assert!(nearest < 1e-3, "the foot's corner is off by {nearest}");
    }
}

/// Deeper than anything there is nothing; two feet that part give two pieces; the same for any number of threads.
#[test]
fn pieces_part_and_vanish_and_threads_change_nothing() {
    let mut mesh = cuboid(dvec2(-50.0, -20.0), dvec2(-4.0, 20.0), 60.0);
    mesh.append(&cuboid(dvec2(4.0, -20.0), dvec2(50.0, 20.0), 40.0));
    let depths = DistanceField::new(&mesh);
    assert!(depths.inset(30.0, 2.0).is_empty());
    let inset = depths.inset(6.0, 2.0);
    assert_eq!(inset.connected_components().1, 2);
    assert_close("both", inset.volume(), 34.0 * 28.0 * (54.0 + 34.0), 1e-4);
    let joined = depths.inset(-5.0, 2.0);
    joined.check().unwrap();
    assert_eq!(joined.connected_components().1, 1);
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let many = rayon::ThreadPoolBuilder::new().num_threads(7).build().unwrap();
    let levels = [6.0, -5.0, 2.5];
    let (one, seven) = (
        alone.install(|| uncancelled(|cancel| depths.insets(&levels, 2.0, cancel))),
        many.install(|| uncancelled(|cancel| depths.insets(&levels, 2.0, cancel))),
    );
    assert!(one == seven, "the number of threads changes the mesh");
}

/// Shapes whose surface passes lattice corners in every way there is stay closed at every depth.
#[test]
fn every_inset_of_a_crowd_of_boxes_is_closed() {
    let mut mesh = TriMesh::default();
    let corners: Vec<[f64; 3]> = evenly(36).collect();
    for pair in corners.chunks(2) {
        let lo = dvec3(pair[0][0], pair[0][1], pair[0][2]) * 40.0 + dvec3(0.0, 0.0, 2.0);
        let size = dvec3(pair[1][0], pair[1][1], pair[1][2]) * 9.0 + 2.0;
        let small = cuboid(DVec2::ZERO, size.truncate(), size.z).translated(lo);
        mesh.append(&small);
    }
    let mesh = geom::Solid::from_mesh(&mesh).unwrap();
    let mesh = geom::Solid::union_all(&[mesh.clone(), mesh.placed(&glam::DAffine3::IDENTITY)]).to_mesh();
    let depths = DistanceField::new(&mesh);
    for step in [0.9, 1.7] {
        for (i, inset) in
            uncancelled(|cancel| depths.insets(&[0.4, 0.9, 1.3, -0.3, -0.8, -1.4], step, cancel))
                .into_iter()
                .enumerate()
        {
            match inset.check() {
                Ok(()) => {}
                Err(MeshDefect::NoVolume { .. }) if inset.is_empty() => {}
                Err(defect) => panic!("inset {i} at {step}: {defect}"),
            }
        }
    }
}

/// A point in a leaning prism of three sides is as deep as its nearest side is far, by the formula for planes.
#[test]
fn depths_are_exact_to_round_off() {
    let outline = Region::from_simple(vec![dvec2(0.0, 0.0), dvec2(83.0, 7.0), dvec2(31.0, 71.0)]);
    let prism = geom::Solid::prism(&outline, 0.0, 55.0).to_mesh();
    let depths = DistanceField::new(&prism);
    let planes: Vec<(DVec2, DVec2)> = outline.edges().map(|(a, b)| (a, (b - a).perp().normalize())).collect();
    for p in evenly(5000) {
        let p = dvec3(83.0 * p[0], 71.0 * p[1], 55.0 * p[2]);
        let side =
            planes.iter().map(|(a, inwards)| (p.truncate() - *a).dot(*inwards)).fold(55.0 - p.z, f64::min);
        if side > 0.0 {
            assert!((depths.at(p) - side).abs() < 1e-12, "{p}: {} is not {side}", depths.at(p));
            let nearest = depths.nearest(p);
            assert!((nearest.point.distance(p) - side).abs() < 1e-12);
            assert!((nearest.inwards * side - (p - nearest.point)).length() < 1e-9);
        } else {
            assert!(depths.at(p) < 1e-12, "{p}: {}", depths.at(p));
        }
    }
}
