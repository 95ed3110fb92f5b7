//! Pictures measured: what they show has the right size, the right colours, the right number of layers.

use crumbline::{
    geom::units::Unit,
    model::{Model, Part, PartKind, Rgb},
    viewer::{
        Background, Lens, PictureOptions, Section, Showing, Stage, Studio, View, build_scene, cap_area,
        scale::DepthScale,
    },
};
use glam::DVec3;

use crate::toadstool::{LAYERS, cylinder, outline, toadstool, turn};

fn kept(name: &str, mesh: crumbline::geom::TriMesh, depth: f64) -> Part {
    Part {
        name: name.into(),
        kind: PartKind::Kept,
        index: 0,
        material: "sponge".into(),
        colour: Rgb(232, 196, 128),
        tints: Vec::new(),
        shave_depth: vec![depth; mesh.positions.len()],
        mesh,
    }
}

fn bare(view: View, size: (u32, u32)) -> PictureOptions {
    PictureOptions {
        view,
        lens: Lens::Orthographic,
        size,
        background: Background::Transparent,
        legend: false,
        dimensions: false,
        ..PictureOptions::default()
    }
}

/// Area of the half outline by the shoelace formula, mm².
fn half_area(outline: &[[f64; 2]]) -> f64 {
    let next = outline.iter().cycle().skip(1);
    outline.iter().zip(next).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum::<f64>() / 2.0
}

#[test]
fn the_front_silhouette_has_the_analytic_area() {
    let outline = outline(0.0);
    let model =
        Model { name: "solid".into(), parts: vec![kept("all", turn(&outline), 0.0)], ..Model::default() };
    let mut studio = Studio::open().unwrap();
    for view in [View::Front, View::Side] {
        let picture = studio.picture(&model, &bare(view, (700, 600))).unwrap();
        let mm = picture.mm_per_pixel.expect("the lens is orthographic");
        let covered: f64 = picture.image.pixels().map(|p| f64::from(p.0[3]) / 255.0).sum();
        let (area, wanted) = (covered * mm * mm, 2.0 * half_area(&outline));
        assert!((area / wanted - 1.0).abs() < 0.005, "{view:?}: {area} mm² for {wanted}");
    }
}

#[test]
fn the_colour_in_the_picture_is_the_colour_in_the_legend() {
    let depths = [0.0, 7.5, 22.5, 37.5, 58.0];
    let parts = depths.iter().enumerate().map(|(i, depth)| {
        let disc = cylinder(20.0, 0.0, 30.0).translated(DVec3::X * (60.0 * i as f64));
        kept(&format!("disc {i}"), disc, *depth)
    });
    let model = Model { name: "discs".into(), parts: parts.collect(), ..Model::default() };
    let mut studio = Studio::open().unwrap();
    let picture = studio.picture(&model, &bare(View::Top, (900, 400))).unwrap();
    let scale = picture.scale.expect("depth is shown");
    assert_eq!(scale, DepthScale::reaching(58.0, Unit::Millimetre));
    for (i, depth) in depths.iter().enumerate() {
        let at = picture.pose.project(DVec3::new(60.0 * i as f64 + 4.0, 3.0, 30.0), (900, 400));
        let seen = picture.image.get_pixel(at.x as u32, at.y as u32).0;
        let Rgb(r, g, b) = scale.colour(*depth);
        let off = [r, g, b].iter().zip(seen).map(|(a, b)| a.abs_diff(b)).max().unwrap();
        assert!(off <= 8, "{depth} mm: {seen:?} for {:?}", scale.colour(*depth));
    }
}

#[test]
fn a_section_shows_as_many_layers_as_there_are() {
    let model = toadstool();
    let showing = Showing { section: Some(Section::Bearing(0.0)), ghost: false, ..Showing::default() };
    let options = PictureOptions { showing, ..bare(View::Front, (800, 1000)) };
    let picture = Studio::open().unwrap().picture(&model, &options).unwrap();
    // Up a line beside the axis that misses the dowels, sponge alternates with what lies between.
    let foot = picture.pose.project(DVec3::new(9.0, 0.0, 1.0), options.size);
    let top = picture.pose.project(DVec3::new(9.0, 0.0, 207.0), options.size);
    let is_sponge = |y: u32| {
        let [r, g, b, _] = picture.image.get_pixel(foot.x as u32, y).0.map(f64::from);
        g > 0.62 * r && r > 1.25 * b
    };
    let column: Vec<bool> = (top.y as u32..foot.y as u32).map(is_sponge).collect();
    let runs = column.chunk_by(|a, b| a == b).filter(|run| run[0] && run.len() > 12).count();
    assert_eq!(runs, LAYERS.len());
}

#[test]
fn the_cut_faces_of_a_section_have_the_area_of_the_half_outline() {
    let outline = outline(0.0);
    let model =
        Model { name: "solid".into(), parts: vec![kept("all", turn(&outline), 0.0)], ..Model::default() };
    // At a meridian the polygon is as wide as the outline.
    let showing = Showing { section: Some(Section::Bearing(0.0)), ..Showing::default() };
    let scene = build_scene(&model, &showing).unwrap();
    let area: f64 = scene.pieces.iter().map(|piece| cap_area(&piece.surface)).sum();
    assert!((area / (2.0 * half_area(&outline)) - 1.0).abs() < 1e-9);
}

#[test]
fn from_raw_to_finished_the_cake_loses_sponge_and_gains_coats() {
    let model = toadstool();
    let volume = |fraction: f64, kinds: &[PartKind]| -> f64 {
        let showing =
            Showing { stage: Stage::Fraction(fraction), ghost: false, section: None, ..Showing::default() };
        let scene = build_scene(&model, &showing).unwrap();
        let of_kind = scene.pieces.iter().filter(|p| kinds.contains(&model.parts[p.part].kind));
        of_kind.map(|p| p.surface.mesh.volume()).sum()
    };
    let sponge = [PartKind::RawLayer, PartKind::Kept, PartKind::Offcut];
    let left: Vec<f64> = [0.0, 0.1, 0.2, 0.3, 1.0 / 3.0].iter().map(|w| volume(*w, &sponge)).collect();
    assert!(left.windows(2).all(|w| w[1] < w[0] * 0.999_999), "{left:?}");
    let coat = [PartKind::Covering];
    let laid: Vec<f64> = [0.34, 0.5, 0.7, 0.9, 0.99].iter().map(|w| volume(*w, &coat)).collect();
    assert!(laid.windows(2).all(|w| w[1] > w[0]), "{laid:?}");
}

#[test]
fn the_same_options_give_the_same_pixels() {
    let model = toadstool();
    let options = PictureOptions { size: (320, 240), samples: 4, ..PictureOptions::default() };
    let mut studio = Studio::open().unwrap();
    let first = studio.picture(&model, &options).unwrap().image;
    let again = studio.picture(&model, &options).unwrap().image;
    let elsewhere = Studio::open().unwrap().picture(&model, &options).unwrap().image;
    assert!(first == again, "the second picture differs");
    assert!(first == elsewhere, "another studio differs");
    let other = PictureOptions { view: View::Back, ..options };
    assert!(first != studio.picture(&model, &other).unwrap().image, "the back looks like the front");
}

#[test]
fn a_transparent_ground_is_clear_at_the_corners_and_solid_on_the_cake() {
    let options = PictureOptions {
        background: Background::Transparent,
        legend: false,
        size: (400, 300),
        ..PictureOptions::default()
    };
    let picture = Studio::open().unwrap().picture(&toadstool(), &options).unwrap();
    assert_eq!(picture.image.get_pixel(2, 2).0[3], 0);
    let at = picture.pose.project(DVec3::new(0.0, -100.0, 130.0), options.size);
    assert_eq!(picture.image.get_pixel(at.x as u32, at.y as u32).0[3], 255);
}

#[test]
fn a_stage_without_anything_to_show_is_an_error_that_says_what_is_missing() {
    let error = build_scene(&Model::default(), &Showing::default()).unwrap_err().to_string();
    assert!(error.contains("carved layers"), "{error}");
}
