//! Printed parts in the hands of trimesh and manifold3d (`tests/reference/kit_parts.py`).

use formats::export::write_stl;
use glam::DVec3;
use make::kit::Group;
use plan::design::Printing;

use super::{CONE, kit, large};
use crate::{
    plans::example,
    reference::{asked, number, python},
    support::assert_close,
};

/// The scraper of the toadstool house against the outline of its cake file, sampled from the curves as they
/// are written there (Bézier's own formula) and measured on the STL by trimesh.
#[test]
fn the_edge_of_a_written_scraper_follows_the_curves_of_the_cake_file() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let plan = example("toadstool-house");
    let made = make::kit::Kit::new(&plan, &large(), &[Group::Scrapers], &geom::progress::NoProgress).unwrap();
    let scraper = made.parts.iter().find(|p| p.name == "scraper, finished line").unwrap();
    let path = folder.path().join("scraper.stl");
    write_stl(&[&scraper.mesh], "scraper", &path).unwrap();
    let bezier = |p: [[f64; 2]; 4], t: f64| {
        let s = 1.0 - t;
        let weights = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
        [0, 1].map(|k| (0..4).map(|i| weights[i] * p[i][k]).sum::<f64>())
    };
    let foot = [[78.0, 0.0], [74.0, 14.0], [62.0, 30.0], [60.0, 52.0]];
    let stalk = [[60.0, 52.0], [58.0, 74.0], [55.0, 98.0], [56.0, 112.0]];
    let cap = [[128.0, 149.0], [128.0, 206.0], [66.0, 238.0], [0.0, 238.0]];
    let samples: Vec<[f64; 2]> = [foot, stalk, cap]
        .into_iter()
        .flat_map(|curve| [0.07, 0.23, 0.41, 0.62, 0.78].map(|t| bezier(curve, t)))
        .collect();
    let heights: Vec<String> = samples.iter().map(|p| p[1].to_string()).collect();
    let mut arguments = vec!["edge", path.to_str().unwrap(), "0.5"];
    arguments.extend(heights.iter().map(String::as_str));
    let measured = asked(&python, "kit_parts.py", &arguments);
    for ([radius, height], found) in samples.iter().zip(measured.as_array().unwrap()) {
        let found = found.as_f64().unwrap();
        // Measured along the radius; the cap's line lies flatter there, so that 0.05 mm square to it is more.
        assert!((found - radius).abs() < 0.1, "height {height}: {found}, not {radius}");
        let square = if *height > 149.0 { 0.5 } else { 1.0 };
        assert!((found - radius).abs() * square < 0.05, "height {height}: {found}, not {radius}");
    }
}

/// The pieces of a part that is larger than the bed, put back: nothing beyond the whole, nothing twice, and
/// no more lacking than the clearance round the dovetails.
#[test]
fn pieces_put_back_are_the_whole_less_the_clearance() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let groups = [Group::Scrapers, Group::LevellingRings, Group::RingGauges, Group::BoardTemplates];
    let whole = kit(CONE, &large(), &groups);
    let mut lacking = Vec::new();
    for fit in [0.25, 0.05] {
        let bed = DVec3::new(140.0, 140.0, 250.0);
        let cut = kit(CONE, &Printing { clearance: fit, bed, ..Printing::default() }, &groups);
        let names = ["scraper, finished line", "ring gauge, finished line, height 0 mm"];
        for name in names {
            let write = |part: &make::kit::Part, file: &str| {
                let path = folder.path().join(file);
                write_stl(&[&part.mesh], name, &path).unwrap();
                path.to_str().unwrap().to_owned()
            };
            let same_fit = kit(CONE, &Printing { clearance: fit, ..large() }, &groups);
            let one = same_fit.parts.iter().find(|p| p.name == name).unwrap();
            let pieces: Vec<_> = cut.parts.iter().filter(|p| p.name == name).collect();
            assert!(pieces.len() > 1, "{name} fits");
            let mut files = vec![write(one, "whole.stl")];
            files.extend(pieces.iter().enumerate().map(|(i, p)| write(p, &format!("{i}.stl"))));
            // Below the letters, which differ.
            let mut arguments = vec!["pieces", "3.99"];
            arguments.extend(files.iter().map(String::as_str));
            let found = asked(&python, "kit_parts.py", &arguments);
            // A bevel round a corner is made of straight pieces, and of others after the cut.
            assert!(number(&found, "beyond") < 0.5, "{name}: {found}");
            assert!(number(&found, "shared") < 1e-3, "{name}: {found}");
            let least = number(&found, "lacking") / fit;
            // Round each dovetail, some 8 + 13 + 8 mm of clearance in a plate of 4 mm.
            let joints = (pieces.len() * 3) as f64;
            assert!(least > 0.0 && least < 40.0 * 4.0 * joints, "{name}: {found}");
            lacking.push(number(&found, "lacking"));
            // Within the working edge, below the bevel, all is upright and exact.
            arguments[1] = "0.99";
            let found = asked(&python, "kit_parts.py", &arguments);
            assert!(number(&found, "beyond") < 1e-3, "{name}: {found}");
        }
    }
    // With a fifth of the clearance a fifth is lacking.
    for (wide, narrow) in [(lacking[0], lacking[2]), (lacking[1], lacking[3])] {
        assert_close("clearance", narrow / wide, 0.2, 0.1);
    }
    assert!(whole.parts.iter().all(|p| p.piece.1 == 1));
}

/// The opening of a half ring, measured on the STL.
#[test]
fn the_opening_of_a_written_gauge_is_the_line() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let made = kit(CONE, &large(), &[Group::RingGauges]);
    let path = folder.path().join("ring.stl");
    for height in [0.0, 30.0, 60.0, 90.0] {
        let name = format!("ring gauge, carved line, height {height:.0} mm");
        let ring = made.parts.iter().find(|p| p.name == name).unwrap_or_else(|| panic!("{name}"));
        write_stl(&[&ring.mesh], "ring", &path).unwrap();
        let opening = asked(&python, "kit_parts.py", &["opening", path.to_str().unwrap(), "2", "-4"]);
        let exact = 2.0 * super::cone_radius(height, 10.0);
        let opening = opening.as_f64().unwrap_or_else(|| panic!("{opening}"));
        assert!((opening - exact).abs() < 0.05, "{height}: {opening}, not {exact}");
    }
}
