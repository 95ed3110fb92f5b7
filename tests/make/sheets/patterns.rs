//! Flat patterns, layers, details, boards and strips: their sizes against handbook formulas, read from the SVG
//! drawings by usvg.

use std::f64::consts::{PI, TAU};

use formats::drawing::{Drawing, Mark};
use glam::DVec2;
use make::language::Language;
use make::sheets::{Figure, SheetFile, Template, templates};
use plan::Plan;

use super::{named, straight};
use crate::{plans::example, support::assert_close};

/// The paths of an SVG drawing with their line widths and bounds in mm, as usvg reads them.
fn paths(file: &SheetFile) -> Vec<(f64, [f64; 4])> {
    let tree = usvg::Tree::from_data(&file.bytes, &usvg::Options::default()).unwrap();
    // 96 px to the inch (W3C CSS Values and Units).
    let mm = |px: f32| f64::from(px) * 25.4 / 96.0;
    fn collect(group: &usvg::Group, found: &mut Vec<(f32, usvg::tiny_skia_path::Rect)>) {
        for node in group.children() {
            match node {
                usvg::Node::Group(group) => collect(group, found),
                usvg::Node::Path(path) => {
                    let scale = path.abs_transform().sx;
                    let width = path.stroke().map_or(0.0, |stroke| stroke.width().get());
                    found.push((width * scale, path.abs_bounding_box()));
                }
                _ => {}
            }
        }
    }
    let mut found = Vec::new();
    collect(tree.root(), &mut found);
    let edges = |r: usvg::tiny_skia_path::Rect| [r.left(), r.top(), r.right(), r.bottom()].map(mm);
    found.into_iter().map(|(width, rect)| (mm(width), edges(rect))).collect()
}

/// Width and height of the largest path drawn with a line of this width.
fn size_of(file: &SheetFile, line: f64) -> (f64, f64) {
    let size = |[l, t, r, b]: [f64; 4]| (r - l, b - t);
    let all = paths(file).into_iter().filter(|(width, _)| (width - line).abs() < 1e-3);
    all.map(|(_, rect)| size(rect)).max_by(|a, b| (a.0 * a.1).total_cmp(&(b.0 * b.1))).expect("a path")
}

/// Corners of all closed outlines of a figure, outermost first by area.
fn outlines(figure: &Figure) -> Vec<Vec<DVec2>> {
    let closed = |mark: &Mark| match mark {
        Mark::Path { contours, closed: true, pen: Some(_), .. } => contours.clone(),
        _ => Vec::new(),
    };
    let Drawing { marks } = &figure.drawing;
    let mut all: Vec<Vec<DVec2>> = marks.iter().flat_map(closed).collect();
    all.sort_by(|a, b| area(b).total_cmp(&area(a)));
    all
}

fn area(outline: &[DVec2]) -> f64 {
    geom::region::signed_area(outline).abs()
}

fn figures(plan: &Plan, set: Template) -> Vec<Figure> {
    set.figures(plan, &plan.design.paper, Language::english())
}

/// A frustum under icing so thin that the patterns through its middle are those of the frustum, laid as a top and a side.
fn frustum(bottom: f64, top: f64, height: f64) -> Plan {
    crate::plans::plan(&format!(
        "crumbline = 1\nname = \"Frustum\"\naccuracy = {{ tool = 0.01 }}\n\
         [shape.turned]\npoints = [[{bottom}, 0], [{top}, {height}]]\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = {FILM}\nway = \"disc-and-wrap\"\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 260 }}\nheight = {height}\n\
         [icing]\nallowance = 0\n"
    ))
}

/// Thickness of icing that hardly is, mm: half of it is missing from each radius and height.
const FILM: f64 = 0.02;

/// θ = 2π(R − r)/s, outer radius s·R/(R − r), inner s·r/(R − r), lateral area π(R + r)s (CRC Standard
/// Mathematical Tables). The numbers of the first two were worked out outside this program.
#[test]
fn a_flared_side_is_the_annular_sector_of_the_handbook() {
    let known = [
        (100.0, 60.0, 120.0, 113.841_996_f64, 316.227_766, 189.736_660),
        (127.0, 101.6, 101.6, 87.312_825, 523.634_414, 418.907_532),
        (60.0, 100.0, 120.0, 113.841_996, 316.227_766, 189.736_660),
    ];
    for (bottom, top, height, angle, outer, inner) in known {
        let plan = frustum(bottom, top, height);
        let bands = figures(&plan, Template::Icing);
        // The level top is laid first, then the side.
        assert_eq!(bands.len(), 2);
        let side = &outlines(&bands[1])[0];
        let radii: Vec<f64> = side.iter().map(|p| p.length()).collect();
        let (least, most) = radii.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &r| (a.min(r), b.max(r)));
        assert!((most - outer).abs() < 0.1 && (least - inner).abs() < 0.1, "{least} to {most}");
        let slant = f64::hypot(bottom - top, height);
        assert_close("lateral area", area(side), PI * (bottom + top) * slant, 5e-4);
        assert!(bands[1].notes[0].contains(&format!("{angle:.1}°")), "{:?}", bands[1].notes);
        let top_disc = &outlines(&bands[0])[0];
        assert_close("top", area(top_disc), PI * top * top, 6e-4);
        // In the drawing as a browser reads it: the outer chord is 2 R sin(θ/2).
        let files = templates(&plan, &plan.design.paper, &[Template::Icing], Language::english()).unwrap();
        let sector = files.iter().find(|file| file.name.contains("icing-side-sector")).unwrap();
        let chord = 2.0 * outer * (angle.to_radians() / 2.0).sin();
        assert!((size_of(sector, 0.5).0 - chord).abs() < 0.15, "{:?} is not {chord}", size_of(sector, 0.5));
    }
}

#[test]
fn a_straight_side_is_a_rectangle_once_round() {
    let plan = frustum(80.0, 80.0, 90.0);
    let files = templates(&plan, &plan.design.paper, &[Template::Icing], Language::english()).unwrap();
    let side = files.iter().find(|file| file.name.contains("rectangle")).unwrap();
    let (width, height) = size_of(side, 0.5);
    assert!((width - TAU * 79.99).abs() < 0.01 && (height - 89.99).abs() < 0.01, "{width} × {height}");
}

/// Half a ball of radius 90, laid in bands as asked: their slants add up to a quarter of its circumference, and none is
/// off by more than the ease asked for.
#[test]
fn bands_of_a_curved_side_cover_it_and_state_their_error() {
    let arc: Vec<String> = (0..=90)
        .map(|i| {
            let (sin, cos) = f64::from(i).to_radians().sin_cos();
            format!("[{}, {}]", if i == 90 { 0.0 } else { 90.0 * cos }, 90.0 * sin)
        })
        .collect();
    let plan = crate::plans::plan(&format!(
        "crumbline = 1\nname = \"Ball\"\n[shape.turned]\npoints = [{}]\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = {FILM}\nway = \"bands\"\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 200 }}\nheight = 95\n\
         [icing]\npattern_error = 4\n",
        arc.join(",")
    ));
    let bands = figures(&plan, Template::Icing);
    assert!(bands.len() > 3);
    // The uppermost is a disc that all but lies flat.
    let (disc, bands) = bands.split_last().unwrap();
    assert!(disc.title == "Icing: top" && disc.notes[0].starts_with("Level"), "{:?}", disc.notes);
    let mut slants = outlines(disc)[1].iter().map(|p| p.length()).fold(0.0, f64::max);
    for band in bands {
        let pattern = &outlines(band)[1];
        let radii: Vec<f64> = pattern.iter().map(|p| p.length()).collect();
        let (least, most) = radii.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), &r| (a.min(r), b.max(r)));
        slants += most - least;
        let stated = band.notes.iter().find(|note| note.starts_with("Curved")).expect("a curved side");
        let mm: f64 = stated.split_whitespace().find_map(|word| word.parse().ok()).unwrap();
        assert!(mm <= 4.0 && mm > 0.5, "{stated}");
    }
    assert_close("the way over the ball", slants, PI * 45.0, 1e-3);
}

/// The carved line is 8 mm inside the side: on a cylinder its silhouette is 2 (R − 8) wide and 8 lower.
#[test]
fn the_carved_line_is_drawn_where_it_is() {
    let plan = straight("[[80, 0], [80, 100]]", 100.0);
    let files = templates(&plan, &plan.design.paper, &[Template::Silhouettes], Language::english()).unwrap();
    let svg = named(&files, ".svg");
    for (line, width, height) in [(0.3, 160.0, 100.0), (0.8, 144.0, 92.0)] {
        let got = size_of(svg, line);
        assert!((got.0 - width).abs() < 0.01 && (got.1 - height).abs() < 0.01, "{got:?}");
    }
    // The drawing is as large as it says: 96 px to the inch.
    let tree = usvg::Tree::from_data(&svg.bytes, &usvg::Options::default()).unwrap();
    let mm = f64::from(tree.size().width()) * 25.4 / 96.0;
    assert!(svg.name.contains(&format!("-{mm:.0}x")), "{}: {mm}", svg.name);
}

/// A cone frustum's radius falls in proportion to the height; both faces of each layer are discs of it.
#[test]
fn layers_are_drawn_as_the_line_cuts_their_faces() {
    let plan = crate::plans::plan(
        "crumbline = 1\nname = \"Frustum\"\n[shape.turned]\npoints = [[80, 0], [50, 120]]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 180 }\nheight = 50\n\
         [[tier.layer]]\npan = { round = 160 }\nheight = 70\n",
    );
    let layers = figures(&plan, Template::Layers);
    assert_eq!(layers.len(), 2);
    for (layer, (low, high)) in layers.iter().zip([(0.0, 50.0), (50.0, 120.0)]) {
        let faces = outlines(layer);
        let radius = |z: f64| 80.0 - z / 4.0;
        assert_eq!(faces.len(), 2);
        for (face, z) in faces.iter().zip([low, high]) {
            let most = face.iter().map(|p| p.length()).fold(0.0, f64::max);
            assert!((most - radius(z)).abs() < 0.01, "{most} at {z}");
        }
        assert!(layer.notes.iter().any(|note| note.contains("cut from line to line")), "{:?}", layer.notes);
    }
    assert!(
        layers[0].notes.iter().any(|note| note.contains("10 mm show all round")),
        "{:?}",
        layers[0].notes
    );
}

/// A straight cut from face to face must not go into the cake: a barrel is cut along its belly.
#[test]
fn a_layer_that_bulges_is_cut_along_its_widest_line() {
    let plan = crate::plans::plan(
        "crumbline = 1\nname = \"Barrel\"\n\
         [shape.turned]\nfrom = [60, 0]\ndraw = [{ to = [60, 100], through = [75, 50] }]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 180 }\nheight = 100\n",
    );
    let barrel = &figures(&plan, Template::Layers)[0];
    assert!(
        barrel.notes.iter().any(|note| note.contains("bulges, furthest at height 50 mm")),
        "{:?}",
        barrel.notes
    );
    let most = outlines(barrel)[0].iter().map(|p| p.length()).fold(0.0, f64::max);
    assert!((most - 75.0).abs() < 0.06, "{most}");
}

/// The toadstool's details, from its own drawing: a door 36 mm wide with a round arch of 18 mm over 34 mm, and
/// spots that are circles. Cut in the sponge under 10 mm of coverings the door is 10 mm larger all round.
#[test]
fn details_are_drawn_at_true_size() {
    let plan = example("toadstool-house");
    let details = figures(&plan, Template::Details);
    let find = |name: &str| details.iter().find(|figure| figure.title.contains(name)).unwrap();
    let door = outlines(find("door"));
    let doorway = 36.0 * 34.0 + PI * 18.0 * 18.0 / 2.0;
    let round = 36.0 + 2.0 * 34.0 + PI * 18.0;
    assert_close("door", area(&door[1]), doorway, 2e-3);
    // Steiner's formula for a convex outline: A + P d + π d².
    assert_close("door in the sponge", area(&door[0]), doorway + 10.0 * round + 100.0 * PI, 2e-3);
    assert_close("spot 1", area(&outlines(find("spot 1"))[0]), PI * 22.0 * 22.0, 3e-3);
    // Both windows are one outline.
    assert_eq!(find("window").title, "window × 2");
}

/// Holes and dowels stand where the plan has them.
#[test]
fn boards_are_drawn_with_holes_and_dowels_in_their_places() {
    let plan = example("toadstool-house");
    let boards = figures(&plan, Template::Boards);
    assert_eq!(boards.len(), 2);
    let centre = |outline: &Vec<DVec2>| outline.iter().sum::<DVec2>() / outline.len() as f64;
    let drawn: Vec<(DVec2, f64)> = outlines(&boards[1])
        .iter()
        .map(|outline| (centre(outline), (area(outline) / PI).sqrt() * 2.0))
        .collect();
    let is_drawn = |at: DVec2, diameter: f64| {
        drawn.iter().any(|(p, d)| p.distance(at) < 1e-6 && (d - diameter).abs() < 0.2)
    };
    assert!(is_drawn(DVec2::ZERO, 206.0) && is_drawn(DVec2::ZERO, 14.0));
    for dowel in plan.stack.dowels.iter().filter(|dowel| dowel.tier == Some(0)) {
        // On paper y points down.
        assert!(is_drawn(DVec2::new(dowel.at.x, -dowel.at.y), 6.0), "{}", dowel.name);
    }
}

/// On a strip round the side an outline at bearing β lies r·β from the front line.
#[test]
fn strips_show_outlines_at_their_way_round() {
    let plan = crate::plans::plan(
        "crumbline = 1\nname = \"Drum\"\n[shape.turned]\npoints = [[80, 0], [80, 100]]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 180 }\nheight = 100\n\
         [[detail]]\nname = \"star\"\ncut = \"icing\"\n\
         outline = { shape = { circle = 20 }, height = 40, bearing = 60, depth = 2, wrap = true }\n",
    );
    let strips = figures(&plan, Template::Wraps);
    assert_eq!(strips.len(), 1);
    let outline = outlines(&strips[0]).into_iter().find(|o| (area(o) - PI * 100.0).abs() < 5.0).unwrap();
    let middle = outline.iter().sum::<DVec2>() / outline.len() as f64;
    assert!((middle.x - 80.0 * PI / 3.0).abs() < 1e-6, "{middle}");
    assert!(strips[0].notes[0].contains("503 mm"), "{:?}", strips[0].notes);
}

/// A drum cut off by a plane: the front silhouette is the rectangle without its corner, the side one is the
/// whole rectangle, and a face above the plane's lowest point is a disc without a segment (area R² acos(d/R)
/// − d √(R² − d²), any handbook).
#[test]
fn a_slanting_cut_shows_in_silhouettes_and_layers() {
    let plan = crate::plans::plan(
        "crumbline = 1\nname = \"Cut drum\"\n[shape.turned]\npoints = [[60, 0], [60, 100]]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 140 }\nheight = 60\n\
         [[tier.layer]]\npan = { round = 140 }\nheight = 40\n\
         [[detail]]\nname = \"slope\"\ncut = \"sponge\"\n\
         half_space = { point = [20, 0, 80], normal = [1, 0, 1] }\n",
    );
    let views = figures(&plan, Template::Silhouettes);
    let titles: Vec<&str> = views.iter().map(|figure| figure.slug.as_str()).collect();
    assert_eq!(titles, ["front-silhouette", "side-silhouette"]);
    // The plane x + z = 100 takes the corner beyond it: legs of 60 mm.
    assert_close("front", area(&outlines(&views[0])[0]), 120.0 * 100.0 - 60.0 * 60.0 / 2.0, 1e-3);
    assert_close("side", area(&outlines(&views[1])[0]), 120.0 * 100.0, 1e-3);
    let layers = figures(&plan, Template::Layers);
    // At height 60 the plane lies at x = 40.
    let faces = outlines(&layers[1]);
    let (r, d) = (60.0_f64, 40.0_f64);
    let segment = r * r * (d / r).acos() - d * (r * r - d * d).sqrt();
    let cut = PI * r * r - segment;
    let found = faces.iter().any(|face| (area(face) / cut - 1.0).abs() < 2e-3);
    assert!(found, "{cut}: {:?}", faces.iter().map(|face| area(face)).collect::<Vec<_>>());
}

/// What is draped has no pattern; a top and a side have one each, the side as long as once round; a letter has its outline
/// and each panel, those of one size on one sheet.
#[test]
fn only_what_is_cut_by_a_pattern_has_one() {
    let drum = |way: &str| {
        crate::plans::plan(&format!(
            "crumbline = 1\nname = \"Drum\"\n[shape.turned]\npoints = [[80, 0], [80, 90]]\n\
             [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n{way}\n\
             [[covering]]\nmaterial = \"ganache\"\nthickness = 5\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 180 }}\nheight = 90\n"
        ))
    };
    assert!(figures(&drum(""), Template::Icing).is_empty());
    assert!(
        templates(&drum(""), &drum("").design.paper, &[Template::Icing], Language::english())
            .unwrap()
            .is_empty()
    );
    let wrapped = figures(&drum("way = \"disc-and-wrap\""), Template::Icing);
    let titles: Vec<&str> = wrapped.iter().map(|figure| figure.title.as_str()).collect();
    assert_eq!(titles, ["Icing: top", "Icing: side"]);
    // Through the middle of the icing: 2 mm inside.
    assert_close("top", area(&outlines(&wrapped[0])[1]), PI * 78.0 * 78.0, 1e-3);
    assert_close("side", area(&outlines(&wrapped[1])[1]), TAU * 78.0 * 88.0, 1e-3);
    assert!(wrapped[1].notes.iter().any(|note| note.contains("middle line comes at the front")));
    let left = figures(&drum("way = \"disc-and-wrap\"\nseam = \"270 deg\""), Template::Icing);
    assert!(left[1].notes.iter().any(|note| note.contains("comes at the right, the seam at the left")));

    let corners = "[[-100, -125], [80, -125], [80, -55], [-20, -55], [-20, 125], [-100, 125]]";
    let letter = crate::plans::plan(&format!(
        "crumbline = 1\nname = \"L\"\n[shape.sections]\nat = [{{ height = 0, outline = {{ points = {corners} }} }}, \
         {{ height = 80, outline = {{ points = {corners} }} }}]\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ rectangle = [230, 280] }}\nheight = 80\n"
    ));
    let panels = figures(&letter, Template::Icing);
    let titles: Vec<&str> = panels.iter().map(|figure| figure.title.as_str()).collect();
    assert_eq!(
        titles,
        [
            "Icing: top",
            "Icing: panels 1, 4 of 6",
            "Icing: panel 2 of 6",
            "Icing: panel 3 of 6",
            "Icing: panel 5 of 6",
            "Icing: panel 6 of 6"
        ]
    );
    let whole = 180.0 * 70.0 + 80.0 * 180.0;
    assert_close("the letter", area(&outlines(&panels[0])[1]), whole, 1e-3);
    for (panel, length) in panels[1..].iter().zip([180.0, 70.0, 100.0, 80.0, 250.0]) {
        assert_close(&panel.title, area(&outlines(panel)[1]), length * 78.0, 1e-3);
    }
}
