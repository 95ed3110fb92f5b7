//! Waste of a half-ball and of a cone carved from four equal discs, as the report says it: elementary integrals (a slice
//! of a ball from height a to b holds π (R² (b − a) − (b³ − a³)/3); CRC Standard Mathematical Tables).

use std::f64::consts::PI;

use make::report::Report;

use crate::{
    cakes::{CONE, HALF_BALL, four_discs},
    plans::plan,
    support::assert_close,
};

#[test]
fn a_cone_wastes_what_the_handbook_says() {
    let cone = plan(&four_discs(CONE, 0.05));
    let report = Report::new(&cone);
    let carved = [605_411.1, 310_886.8, 114_537.2, 16_362.5];
    for (i, (share, mm3)) in [11.0, 29.0, 41.0, 47.0].into_iter().zip(carved).enumerate() {
        let layer = &report.layers[i].carved;
        assert_close("raw", layer.raw.volume_ml, 785.398_163_4, 1e-9);
        assert_close("waste", layer.offcut_percent, 100.0 * share / 48.0, 1e-9);
        assert!((layer.kept.volume_ml * 1000.0 - mm3).abs() < 0.06, "carved {}", layer.kept.volume_ml);
    }
    assert_close("whole", report.totals.sponge.offcut_percent, 200.0 / 3.0, 1e-9);
}

#[test]
fn a_half_ball_wastes_what_the_handbook_says() {
    for chord in [0.2, 0.05, 0.01] {
        let report = Report::new(&plan(&four_discs(HALF_BALL, chord)));
        // Straightening the arc moves the surface by at most half of `chord`; each zone is 2πR · 25 of it.
        let moved = 2.0 * PI * 100.0 * 25.0 * chord / 2.0 / 785_398.163_4 * 100.0;
        let shares = [1.0, 7.0, 19.0, 37.0].map(|share| 100.0 * share / 48.0);
        for (layer, share) in report.layers.iter().zip(shares) {
            let off = layer.carved.offcut_percent - share;
            assert!((-1e-9..=moved).contains(&off), "{} at {chord}: {off} %", layer.name);
        }
        let off = report.totals.sponge.offcut_percent - 100.0 / 3.0;
        assert!((-1e-9..=moved).contains(&off), "{off} %");
    }
}

/// Baked in the smallest round that covers it, each layer of the half-ball wastes 2.08, 8.89, 19.44 and
/// 47.62 %.
#[test]
fn smaller_pans_waste_less() {
    let radii = [100.0, 9375f64.sqrt(), 7500f64.sqrt(), 4375f64.sqrt()];
    let layers: String = radii
        .iter()
        .map(|r| format!("[[tier.layer]]\npan = {{ round = {} }}\nheight = 25\n", 2.0 * r))
        .collect();
    let report = Report::new(&plan(&format!(
        "crumbline = 1\nname = \"steps\"\naccuracy = {{ tool = 0.01 }}\n[shape.turned]\n{HALF_BALL}\n\
         [[tier]]\nname = \"only\"\n{layers}"
    )));
    for (layer, percent) in report.layers.iter().zip([2.083_3, 8.889, 19.444, 47.619]) {
        assert!((layer.carved.offcut_percent - percent).abs() < 2e-2, "{}", layer.carved.offcut_percent);
        assert!(layer.carved.shortfall.volume_ml < 1e-6, "{:?}", layer.carved.shortfall);
    }
}
