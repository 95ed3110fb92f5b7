//! Homographies against scikit-image's projective transform, and against the pinhole camera.

use geom::Homography;
use glam::{DVec2, dvec2};
use serde_json::{Value, json};

use crate::{
    cameras::Pinhole,
    photographs::Random,
    reference::{asked, python},
};

fn points(value: &Value) -> Vec<DVec2> {
    let numbers = |p: &Value| dvec2(p[0].as_f64().unwrap(), p[1].as_f64().unwrap());
    value.as_array().unwrap().iter().map(numbers).collect()
}

/// Sets of points on a plane with where a camera sees them, each off by up to `noise` pixels.
fn seen(count: usize, noise: f64, random: &mut Random) -> Vec<(DVec2, DVec2)> {
    let pose = [60.0 * random.unit(), 360.0 * random.unit(), 360.0 * random.unit()];
    let camera = Pinhole::new((4000, 3000), 3200.0, dvec2(30.0, -20.0), 900.0, pose);
    let mut within = |reach: f64| (dvec2(random.unit(), random.unit()) - 0.5) * 2.0 * reach;
    let corners = [dvec2(-80.0, 110.0), dvec2(-80.0, -110.0), dvec2(80.0, -110.0), dvec2(80.0, 110.0)];
    let all: Vec<DVec2> = corners.into_iter().chain((4..count).map(|_| within(120.0))).collect();
    all.into_iter().map(|p| (camera.seen(p) + within(noise), p)).collect()
}

#[test]
fn four_exact_points_give_the_camera_back() {
    let mut random = Random(5);
    for _ in 0..50 {
        let pairs = seen(4, 0.0, &mut random);
        let map = Homography::from_points(&pairs).unwrap();
        for (pixel, p) in pairs {
            assert!(map.apply(pixel).unwrap().distance(p) < 1e-8);
        }
    }
    let camera = Pinhole::new((4000, 3000), 3200.0, DVec2::ZERO, 900.0, [45.0, 70.0, 20.0]);
    let corners = [dvec2(-80.0, 110.0), dvec2(-80.0, -110.0), dvec2(80.0, -110.0), dvec2(80.0, 110.0)];
    let map = Homography::from_points(&corners.map(|p| (camera.seen(p), p))).unwrap();
    for p in [dvec2(300.0, -200.0), dvec2(-250.0, 40.0), DVec2::ZERO] {
        assert!(map.apply(camera.seen(p)).unwrap().distance(p) < 1e-7);
    }
}

#[test]
fn homographies_agree_with_scikit_image() {
    let Some(python) = python() else { return };
    let mut random = Random(11);
    let sets: Vec<Vec<(DVec2, DVec2)>> = (0..24)
        .map(|i| seen(if i < 8 { 4 } else { 24 }, if i < 4 { 0.0 } else { 1.0 }, &mut random))
        .collect();
    let probes = [dvec2(2000.0, 1500.0), dvec2(1200.0, 1900.0), dvec2(2600.0, 1100.0)];
    let list = |points: Vec<DVec2>| points.iter().map(|p| [p.x, p.y]).collect::<Vec<_>>();
    let job = json!({
        "sets": sets.iter().map(|set| json!({
            "from": list(set.iter().map(|pair| pair.0).collect()),
            "to": list(set.iter().map(|pair| pair.1).collect()),
        })).collect::<Vec<_>>(),
        "probes": list(probes.to_vec()),
    });
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sets.json");
    std::fs::write(&file, job.to_string()).unwrap();
    let found = asked(&python, "homography.py", &[&file]);
    let answers = found.as_array().unwrap();
    assert_eq!(answers.len(), sets.len());
    for (set, answer) in sets.iter().zip(answers) {
        let map = Homography::from_points(set).unwrap();
        for (probe, expected) in probes.iter().zip(points(answer)) {
            let ours = map.apply(*probe).unwrap();
            // More than four points: scikit-image scales them by the root of the mean square of their distances, not
            // the mean, so that the algebraic errors weigh a little differently.
            let allowed = if set.len() == 4 { 1e-7 } else { 1e-3 };
            assert!(ours.distance(expected) < allowed, "{ours} is not {expected}");
        }
    }
}
