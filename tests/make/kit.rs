//! The printed tools: their working edges against handbook formulas, how they are cut, laid out, named and
//! refused; and all of them in the hands of trimesh and manifold3d (`kit/outside.rs`).

mod choice;
mod letters;
mod outside;
mod settings;
mod small_bed;

use std::fs;

use cakefile::Severity;
use geom::{TriMesh, progress::NoProgress};
use glam::{DVec2, DVec3, dvec2};
use make::kit::{Group, Kit, Part};
use plan::design::Printing;

use crate::{plans::plan, support::assert_close};

/// A cone frustum R 100 → 60, H 120, under 3 mm of icing and 7 mm of ganache, of four layers.
pub const CONE: &str = r#"
crumbline = 1
name = "Cone"
board = { round = 240, thickness = 10 }
centre_dowel = { diameter = 12, height = 200 }
[shape.turned]
points = [[100, 0], [60, 120]]
[[covering]]
material = "rolled icing"
thickness = 3
[[covering]]
material = "ganache"
thickness = 7
[[tier]]
name = "only"
dowels = { at = [[30, 10], [-25, 5]], diameter = 6 }
layer = [
    { pan = { round = 210 }, height = 30 },
    { pan = { round = 190 }, height = 30 },
    { pan = { round = 170 }, height = 30 },
    { pan = { round = 150 }, height = 40 },
]
[[detail]]
name = "flag"
cut = "icing"
outline = { shape = { points = [[0, 0], [30, 0], [30, 12], [10, 12], [10, 40], [0, 40]] }, height = 60, depth = 2 }
"#;

/// Radius of the cone's line `inset` mm inside the finished one: a parallel to a wall that leans by 1 in 3.
pub fn cone_radius(height: f64, inset: f64) -> f64 {
    100.0 - height / 3.0 - inset * (1.0f64 + 1.0 / 9.0).sqrt()
}

/// The kit of `text`, printed as `printing` says.
pub fn kit(text: &str, printing: &Printing, groups: &[Group]) -> Kit {
    Kit::new(&plan(text), printing, groups, &NoProgress).unwrap_or_else(|error| panic!("{error}"))
}

/// A printer with room for everything in one piece.
pub fn large() -> Printing {
    Printing { bed: DVec3::splat(900.0), ..Printing::default() }
}

fn part<'k>(kit: &'k Kit, name: &str) -> &'k Part {
    let names = || kit.parts.iter().map(Part::full_name).collect::<Vec<_>>();
    kit.parts
        .iter()
        .find(|part| part.full_name() == name)
        .unwrap_or_else(|| panic!("no {name} in {:#?}", names()))
}

/// Where a line through the solid at `y` and print height `z` enters and leaves it.
fn crossings(mesh: &TriMesh, y: f64, z: f64) -> Vec<f64> {
    // A plane cut by hand: each triangle that crosses height z gives an edge, each edge that crosses y an x.
    let mut found: Vec<f64> = (0..mesh.len())
        .filter_map(|i| {
            let at_height: Vec<DVec3> = (0..3)
                .filter_map(|k| {
                    let (a, b) = (mesh.corners(i)[k], mesh.corners(i)[(k + 1) % 3]);
                    ((a.z > z) != (b.z > z)).then(|| a.lerp(b, (z - a.z) / (b.z - a.z)))
                })
                .collect();
            let &[a, b] = at_height.as_slice() else { return None };
            ((a.y > y) != (b.y > y)).then(|| a.lerp(b, (y - a.y) / (b.y - a.y)).x)
        })
        .collect();
    found.sort_by(f64::total_cmp);
    found
}

/// At a bearing asked for the edge follows what is cut there: the inner face of a box, further in by the
/// coverings on the lines inside them, and no more at a bearing that it does not reach.
#[test]
fn a_scraper_at_a_bearing_follows_what_is_cut_there() {
    let niche = "[[detail]]\nname = \"niche\"\ncut = \"sponge\"\n\
                 box = { centre = [0, -90, 50], size = [40, 60, 30] }\n";
    let printing = Printing { bearings: vec![0.0, 90.0], ..large() };
    let kit = kit(&format!("{CONE}{niche}"), &printing, &[Group::Scrapers]);
    for (name, inset) in [("finished", 0.0), ("coated", 3.0), ("carved", 10.0)] {
        let edge = |at: &str, height: f64| {
            crossings(&part(&kit, &format!("scraper, {name} line{at}")).mesh, height, 0.5)[0]
        };
        for height in [40.0, 50.0, 60.0] {
            let at_niche = edge(", at 0°", height);
            assert!((at_niche - (60.0 - inset)).abs() < 0.05, "{name} at {height}: {at_niche}");
        }
        for (at, height) in [(", at 0°", 5.0), (", at 0°", 95.0), (", at 90°", 50.0), ("", 50.0)] {
            let (found, exact) = (edge(at, height), cone_radius(height, inset));
            assert!((found - exact).abs() < 0.05, "{name}{at} at {height}: {found}, not {exact}");
        }
    }
}

#[test]
fn the_edge_of_a_scraper_is_the_line() {
    let kit = kit(CONE, &large(), &[Group::Scrapers]);
    for (name, inset, top) in [("finished", 0.0, 120.0), ("coated", 3.0, 117.0), ("carved", 10.0, 110.0)] {
        let scraper = part(&kit, &format!("scraper, {name} line"));
        for height in [0.5, 7.0, 33.0, 61.0, 99.0, top - 0.5] {
            // The working edge is upright through its whole width, here 1 mm.
            for z in [0.1, 0.9] {
                let edge = crossings(&scraper.mesh, height, z)[0];
                let exact = cone_radius(height, inset);
                assert!((edge - exact).abs() < 0.05, "{name} at {height}: {edge}, not {exact}");
            }
        }
        // The bevel leaves it at 45°: so far back, measured square to the edge, as it is high.
        let back = crossings(&scraper.mesh, 50.0, 3.0)[0] - cone_radius(50.0, inset);
        assert_close("bevel", back / (1.0f64 + 1.0 / 9.0).sqrt(), 2.0, 0.02);
    }
}

#[test]
fn a_scraper_beside_the_turntable_reaches_down_outside_the_board() {
    let printing = Printing { stand_below: 60.0, ..large() };
    let kit = kit(CONE, &printing, &[Group::Scrapers]);
    let mesh = &part(&kit, "scraper, carved line").mesh;
    assert!((mesh.bounds().unwrap().0.y + 60.0).abs() < 1e-6);
    // The board is 240 mm wide.
    let inner = crossings(mesh, -20.0, 0.5)[0];
    assert!(inner > 120.0 && inner < 125.0, "{inner}");
    assert!((crossings(mesh, 30.0, 0.5)[0] - cone_radius(30.0, 10.0)).abs() < 0.05);
}

#[test]
fn a_plate_drops_into_the_slots_of_its_foot_and_collar_with_the_stated_clearance() {
    let printing = large();
    let kit = kit(CONE, &printing, &[Group::Scrapers, Group::SwingFormers]);
    let foot = &part(&kit, "scraper foot").mesh;
    let (lo, hi) = foot.bounds().unwrap();
    let across = foot.clone().placed(&glam::DAffine3::from_rotation_z(-std::f64::consts::FRAC_PI_2));
    // Turned so that the slot runs along y: its two walls are the middle crossings.
    let walls = crossings(&across, -(lo.x + hi.x) / 2.0, 15.0);
    assert_eq!(walls.len(), 4, "{walls:?}");
    assert_close(
        "slot of the foot",
        walls[2] - walls[1],
        printing.thickness + 2.0 * printing.clearance,
        1e-6,
    );
    let collar = &part(&kit, "collar, dowel 12 mm").mesh;
    let bore = crossings(collar, 1e-3, 15.0);
    // The bore is the first gap from the left.
    assert!((bore[2] - bore[1] - (12.0 + printing.dowel_clearance)).abs() < 0.05, "{bore:?}");
    // The working edge runs through the axis: the slot lies about it by half the width of that edge.
    let across = collar.clone().placed(&glam::DAffine3::from_rotation_z(-std::f64::consts::FRAC_PI_2));
    let walls = crossings(&across, -20.0, 15.0);
    let (low, high) = (
        -printing.scraper_edge / 2.0 - printing.clearance,
        printing.thickness - printing.scraper_edge / 2.0 + printing.clearance,
    );
    assert!((walls[1] - low).abs() < 1e-6 && (walls[2] - high).abs() < 1e-6, "{walls:?}");
    assert!(kit.findings.iter().all(|f| f.code != "dowel-too-low"), "{:?}", kit.findings);
}

#[test]
fn a_former_that_the_dowel_does_not_reach_says_how_long_it_must_be() {
    let low = CONE.replace("height = 200", "height = 100");
    let kit = kit(&low, &large(), &[Group::SwingFormers]);
    let found = kit.findings.iter().find(|f| f.code == "dowel-too-low").expect("a finding");
    assert_eq!(found.severity, Severity::Warning);
    assert!(found.message.contains("150 mm"), "{}", found.message);
}

#[test]
fn gauges_open_as_wide_as_the_line() {
    let kit = kit(CONE, &large(), &[Group::RingGauges, Group::Combs]);
    for (height, inset, name) in
        [(0.0, 10.0, "carved"), (30.0, 10.0, "carved"), (90.0, 10.0, "carved"), (0.0, 0.0, "finished")]
    {
        let ring = part(&kit, &format!("ring gauge, {name} line, height {height:.0} mm"));
        let walls = crossings(&ring.mesh, -4.0, 2.0);
        assert_eq!(walls.len(), 4);
        let exact = 2.0 * cone_radius(height, inset);
        assert!((walls[2] - walls[1] - exact).abs() < 0.05, "{name} {height}: {walls:?}, not {exact}");
    }
    let comb = &part(&kit, "comb, carved line").mesh;
    for height in [30.0, 60.0, 90.0] {
        let tip = crossings(comb, height + 1e-3, 2.0)[0];
        assert!((tip - cone_radius(height, 10.0)).abs() < 0.05, "{height}: {tip}");
    }
}

#[test]
fn a_depth_gauge_reaches_as_deep_as_the_detail() {
    let kit = kit(CONE, &large(), &[Group::DepthGauges]);
    let (lo, _) = part(&kit, "depth gauge, 2 mm").mesh.bounds().unwrap();
    assert!((lo.y + 2.0).abs() < 1e-9);
    assert_eq!(kit.parts.len(), 1);
}

#[test]
fn guide_discs_carry_the_cone_on() {
    let kit = kit(CONE, &large(), &[Group::GuideDiscs]);
    // The cone is straight all the way, so one pair does; the top layer ends above the carved line.
    let (lower, upper) =
        (part(&kit, "guide disc, lower, height 0 mm"), part(&kit, "guide disc, upper, height 90 mm"));
    let rim = |part: &Part, z: f64| *crossings(&part.mesh, 1e-4, z).last().unwrap();
    // The lower one's wide side is away from the cake and lies on the bed; it is 8 mm thick.
    for z in [0.01, 4.0, 7.9] {
        let exact = cone_radius(-8.0 + z, 10.0);
        assert!((rim(lower, z) - exact).abs() < 0.05, "{z}: {} not {exact}", rim(lower, z));
        let exact = cone_radius(90.0 + z, 10.0);
        assert!((rim(upper, z) - exact).abs() < 0.05, "{z}: {} not {exact}", rim(upper, z));
    }
    let said = kit.findings.iter().find(|f| f.code == "not-straight").expect("the top layer has no pair");
    assert!(said.message.contains("only 4") && !said.message.contains("only 3"), "{}", said.message);
}

#[test]
fn a_curved_stretch_is_guided_only_if_it_strays_little_enough() {
    // A wall that bulges by a circle's sagitta, s = c²/8R (any handbook): 60² / (8 · 450) = 1 mm.
    let cake = |allowed: f64| {
        format!(
            "crumbline = 1\nname = \"Bulge\"\n[printing]\nguide_tolerance = {allowed}\n[shape.turned]\nfrom = [80, 0]\n\
             draw = [{{ to = [80, 60], through = [81, 30] }}, {{ to = [80, 70] }}]\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 200 }}\nheight = 60\n\
             [[tier.layer]]\npan = {{ round = 200 }}\nheight = 20\n"
        )
    };
    for (allowed, pairs) in [(0.9, 0), (1.05, 2)] {
        let plan = plan(&cake(allowed));
        let kit = Kit::new(
            &plan,
            &Printing { bed: DVec3::splat(900.0), ..plan.design.printing.clone() },
            &[Group::GuideDiscs],
            &NoProgress,
        )
        .unwrap();
        assert_eq!(kit.parts.len(), pairs, "{allowed}: {:?}", kit.findings);
    }
}

#[test]
fn levelling_rings_are_as_high_as_their_layers_and_wider_than_their_pans() {
    let kit = kit(CONE, &large(), &[Group::LevellingRings]);
    assert_eq!(kit.parts.len(), 4);
    let ring = part(&kit, "levelling ring, round 150 mm, height 40 mm");
    let walls = crossings(&ring.mesh, 1e-3, 20.0);
    let inside = walls[2] - walls[1];
    assert!(inside > 152.0 && inside < 154.0, "{inside}");
    assert!((ring.size().z - 40.0).abs() < 1e-6);
}

#[test]
fn a_drilling_template_is_drawn_from_below_and_a_dowel_guide_from_above() {
    let kit = kit(CONE, &large(), &[Group::BoardTemplates, Group::DowelGuides]);
    let template = &part(&kit, "drilling template, presentation board").footprint;
    let guide = &part(&kit, "dowel guide, only").footprint;
    for at in [dvec2(30.0, 10.0), dvec2(-25.0, 5.0)] {
        assert!(
            !template.contains(dvec2(-at.x, at.y)) && template.contains(dvec2(-at.x + 4.0, at.y)),
            "{at}"
        );
        // The bore is half a millimetre wider than the dowel.
        let clear = |p: DVec2| -guide.depth(p);
        assert!((clear(at) - 3.25).abs() < 0.05, "{at}: {}", clear(at));
    }
    assert!((-template.depth(DVec2::ZERO) - 6.0).abs() < 0.05);
}

#[test]
fn cutters_and_stamps_are_mirrored_and_true_to_size() {
    let kit = kit(CONE, &large(), &[Group::Cutters, Group::Stamps]);
    let cutter = part(&kit, "cutter, flag");
    // The opening is the outline: 30 × 12 + 10 × 28.
    let opening = cutter.footprint.holes();
    assert!((opening.area() - 640.0).abs() < 1e-6, "{}", opening.area());
    // The pole of the flag stands on the left as drawn, on the right as printed.
    let (lo, hi) = opening.bounds().unwrap();
    assert!(
        opening.contains(dvec2(hi.x - 5.0, hi.y - 2.0)) && !opening.contains(dvec2(lo.x + 5.0, hi.y - 2.0))
    );
    // At its edge the wall is as thick as asked, further down twice that.
    let walls = crossings(&cutter.mesh, hi.y - 10.0, 14.5);
    assert!((walls[1] - walls[0] - 0.8).abs() < 1e-6, "{walls:?}");
    let walls = crossings(&cutter.mesh, hi.y - 10.0, 5.0);
    assert!((walls[1] - walls[0] - 1.6).abs() < 1e-6, "{walls:?}");
    let stamp = part(&kit, "stamp, flag");
    let raised = crossings(&stamp.mesh, hi.y - 2.0, stamp.size().z - 0.5);
    assert!((raised[0] - (hi.x - 10.0)).abs() < 1e-6 && (raised[1] - hi.x).abs() < 1e-6, "{raised:?}");
}

#[test]
fn the_walls_of_a_ring_outline_are_bridged_clear_of_the_paste() {
    let ring = "outline = { shape = { svg = { file = \"ring.svg\" } }, height = 60, depth = 2 }";
    let text =
        CONE.lines().filter(|line| !line.starts_with("outline")).collect::<Vec<_>>().join("\n") + "\n" + ring;
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("ring.svg"),
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60mm\" height=\"60mm\" viewBox=\"0 0 60 60\">\
         <path fill-rule=\"evenodd\" d=\"M0 0 H60 V60 H0 Z M15 15 H45 V45 H15 Z\"/></svg>",
    )
    .unwrap();
    let path = folder.path().join("ring.cake.toml");
    fs::write(&path, text).unwrap();
    let plan = crate::plans::planned(&crate::files::read(&path).unwrap()).unwrap();
    let kit = Kit::new(&plan, &large(), &[Group::Cutters], &NoProgress).unwrap();
    assert_eq!(kit.parts.len(), 1);
    assert_eq!(kit.parts[0].footprint.pieces().len(), 1, "one flange");
    // The island is held on all four sides, 3 mm thick at the back.
    for (x, y) in [(-22.0, 0.0), (22.0, 0.0), (0.0, -22.0), (0.0, 22.0)] {
        let there = crossings(&kit.parts[0].mesh, y + 0.1, 1.5);
        let inside = there.chunks_exact(2).any(|pair| pair[0] < x && x < pair[1]);
        assert!(inside, "no bridge at {x}, {y}: {there:?}");
    }
    // At the cutting edge the two walls stand apart: four crossings each way through both.
    assert_eq!(crossings(&kit.parts[0].mesh, 0.1, 14.5).len(), 8);
}

#[test]
fn a_cradle_stands_off_the_cake_by_its_gap() {
    let drum = "crumbline = 1\nname = \"Drum\"\n[shape.turned]\npoints = [[80, 0], [80, 100]]\n\
        [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
        [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 100\n";
    let kit = kit(drum, &Printing::default(), &[Group::Cradle]);
    let sectors: Vec<&Part> = kit.parts.iter().filter(|p| p.name == "cradle").collect();
    assert_eq!(sectors.len(), 2, "a half fits a bed of 220 mm");
    for half in sectors {
        let radii = half.mesh.positions.iter().filter(|p| p.z > 6.0).map(|p| p.truncate().length());
        let (least, most) = radii.fold((f64::INFINITY, 0.0f64), |(lo, hi), r| (lo.min(r), hi.max(r)));
        // Corners lie on the circles: 80 + 2 of gap, and 3 of wall.
        assert!((least - 82.0).abs() < 0.01 && (most - 85.0).abs() < 0.01, "{least} {most}");
    }
}

#[test]
fn no_two_parts_share_a_name() {
    // In inches both depths are 1/16, and a file would be lost.
    let text = CONE
        .replace("name = \"Cone\"", "name = \"Cone\"\nunit = \"in\"")
        .replace("round = 240", "round = \"240 mm\"");
    let mm = |text: &str| text.replace("[[100, 0], [60, 120]]", "[[4, 0], [2.4, 4.8]]");
    let text = mm(&text).replace("depth = 2 }", "depth = \"1.5 mm\" }\n[[detail]]\nname = \"dot\"\ncut = \"icing\"\noutline = { shape = { circle = 1 }, height = 1, depth = \"1.7 mm\" }");
    let text = text
        .replace("thickness = 10", "thickness = 0.4")
        .replace("diameter = 12, height = 200", "diameter = 0.5, height = 8")
        .replace("thickness = 3", "thickness = 0.12")
        .replace("thickness = 7", "thickness = 0.28")
        .replace("[[30, 10], [-25, 5]], diameter = 6", "[[1.2, 0.4], [-1, 0.2]], diameter = 0.24")
        .replace("round = 210", "round = 8")
        .replace("round = 190", "round = 8")
        .replace("round = 170", "round = 7")
        .replace("round = 150", "round = 6")
        .replace("height = 30", "height = 1.2")
        .replace("height = 40", "height = 1.6")
        .replace("height = 60, depth", "height = 2, depth")
        .replace("[[0, 0], [30, 0], [30, 12], [10, 12], [10, 40], [0, 40]]", "[[0, 0], [1, 0], [1, 1]]");
    let kit = kit(&text, &large(), &Group::ALL);
    let mut files: Vec<String> = kit.parts.iter().map(Part::file_stem).collect();
    assert_eq!(kit.parts.iter().filter(|p| p.group == Group::DepthGauges).count(), 2);
    let all = files.len();
    files.sort();
    files.dedup();
    assert_eq!(files.len(), all);
}

#[test]
fn a_cradle_names_what_stands_in_its_way() {
    let handle = "\n[[detail]]\nname = \"knob\"\nadd = \"icing\"\nball = { centre = [98, 0, 20], diameter = 30 }\n\
        [[detail]]\nname = \"button\"\nadd = \"icing\"\nball = { centre = [86, 0, 20], diameter = 10 }\n";
    let drum = CONE.replace("[60, 120]", "[101, 120]") + handle;
    let kit = kit(&drum, &large(), &[Group::Cradle]);
    let found = kit.findings.iter().find(|f| f.code == "adds-in-the-way").expect("a finding");
    assert!(found.message.contains("knob") && !found.message.contains("button"), "{}", found.message);
}

#[test]
fn a_foot_that_is_not_cake_gets_a_mould_that_holds_it() {
    let foot = "crumbline = 1\nname = \"Cup\"\n[shape.turned]\npoints = [[60, 0], [40, 50], [90, 120]]\n\
        [[tier]]\nname = \"foot\"\n[[tier.layer]]\nmaterial = \"modelling chocolate\"\npan = { round = 130 }\nheight = 50\n\
        [[tier]]\nname = \"cup\"\n[[tier.layer]]\npan = { round = 200 }\nheight = 70\n";
    let made = kit(foot, &Printing::default(), &[Group::FootMould]);
    let sectors: Vec<&Part> = made.parts.iter().filter(|p| p.name == "foot mould").collect();
    assert!(!sectors.is_empty());
    // Block less mould is the cast: a frustum, πH/3 (R² + Rr + r²) (any handbook), but for the peg holes and
    // the chords of the round.
    let block = std::f64::consts::PI * 66.0f64.powi(2) * 50.0;
    let cast = std::f64::consts::PI * 50.0 / 3.0 * (3600.0 + 2400.0 + 1600.0);
    let mould: f64 = sectors.iter().map(|p| p.mesh.volume()).sum();
    assert_close("mould", mould, block - cast, 0.02);
    assert!(made.findings.iter().any(|f| f.code == "hot-casting"));
    let cake = foot.replace("modelling chocolate", "sponge");
    assert!(kit(&cake, &Printing::default(), &[Group::FootMould]).parts.is_empty());
}

#[test]
fn plastic_is_counted_by_volume_and_density() {
    let printing = Printing { infill: 1.0, ..large() };
    let kit = kit(CONE, &printing, &[Group::DepthGauges]);
    let part = &kit.parts[0];
    let volume = part.mesh.volume();
    assert_close("mass", part.plastic.grams, volume / 1000.0 * 1.24, 1e-9);
    // Length of a wire of 1.75 mm: volume over its section, any handbook.
    assert_close(
        "filament",
        part.plastic.filament,
        volume / (std::f64::consts::PI * 1.75 * 1.75 / 4.0),
        1e-9,
    );
}

#[test]
fn a_foot_narrower_than_its_dowel_is_an_error() {
    let thin = CONE.replace("[[100, 0], [60, 120]]", "[[16, 0], [60, 120]]");
    let kit = kit(&thin, &large(), &[Group::SwingFormers]);
    let found = kit.findings.iter().find(|f| f.code == "foot-narrower-than-dowel").expect("a finding");
    assert_eq!(found.severity, Severity::Error);
}

#[test]
fn every_part_lies_on_the_bed_and_fits_it() {
    let printing = Printing { bed: DVec3::new(150.0, 170.0, 160.0), ..Printing::default() };
    let kit = kit(CONE, &printing, &Group::ALL);
    assert!(kit.parts.iter().any(|p| p.piece.1 > 1) && kit.parts.len() > 30);
    for part in &kit.parts {
        let (size, lo) = (part.size(), part.mesh.bounds().unwrap().0);
        assert_eq!(lo.z, 0.0, "{}", part.full_name());
        let room = printing.bed;
        let fits = size.x <= room.x && size.y <= room.y || size.y <= room.x && size.x <= room.y;
        assert!(fits && size.z <= room.z, "{}: {size}", part.full_name());
    }
    let placed: usize = kit.beds.iter().map(|bed| bed.placed.len()).sum();
    assert_eq!(placed, kit.parts.iter().map(|p| p.copies).sum::<usize>());
    for placed in kit.beds.iter().flat_map(|bed| &bed.placed) {
        let mesh = kit.parts[placed.part].mesh.clone().placed(&placed.frame());
        let (lo, hi) = mesh.bounds().unwrap();
        assert!(lo.min_element() > -1e-6 && hi.cmple(printing.bed).all(), "{lo} {hi}");
    }
}
