//! Too much of everything.

use std::time::{Duration, Instant};

use crate::plans::plan;

/// Ten thousand layers of 0.05 mm are planned in seconds.
#[test]
fn ten_thousand_layers_are_planned_in_seconds() {
    let layer = "[[tier.layer]]\npan = { round = 180 }\nheight = 0.05\n";
    let text = format!(
        "crumbline = 1\nname = \"leaves\"\n[shape.turned]\npoints = [[80, 0], [60, 500]]\n\
         [[tier]]\nname = \"only\"\n{}",
        layer.repeat(10_000)
    );
    let start = Instant::now();
    let leaves = plan(&text);
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
    let kept: f64 = leaves.carving.slabs.iter().map(|s| s.volumes.kept).sum();
    assert!((kept / leaves.carving.carved - 1.0).abs() < 1e-9);
}

/// A profile of a million points is planned in seconds, and says what the smooth one says.
#[test]
fn a_million_points_are_planned_in_seconds() {
    let points: Vec<String> = (0..1_000_000)
        .map(|i| {
            let t = f64::from(i) / 1e6;
            format!("[{:.6},{:.6}]", 80.0 + 20.0 * (9.0 * t).sin(), 200.0 * t)
        })
        .collect();
    let text = format!(
        "crumbline = 1\nname = \"traced\"\n[shape.turned]\npoints = [{}]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 220 }}\nheight = 200\n",
        points.join(",")
    );
    let start = Instant::now();
    let traced = plan(&text);
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
    // π ∫ (80 + 20 sin 9t)² 200 dt from 0 to 1.
    let (s, c) = ((18.0f64).sin(), 9.0f64.cos());
    let mean = 6400.0 + 3200.0 * (1.0 - c) / 9.0 + 400.0 * (0.5 - s / 36.0);
    let exact = std::f64::consts::PI * 200.0 * mean;
    // Points within a tenth of the chord error are left out: at most that much of the side.
    let side = 2.0 * std::f64::consts::PI * 100.0 * 210.0;
    assert!((traced.carving.carved - exact).abs() < 0.05 * side, "{} for {exact}", traced.carving.carved);
}
