//! Pictures in cake files: a turned shape, a detail, a silhouette, and what is said about them.

use std::{f64::consts::PI, fs};

use cakefile::{
    CakeFile, Diagnostic, FieldPath, Severity,
    schema::Outline,
    world::{Beside, Memory},
};
use geom::units::Unit;
use glam::DVec2;
use kurbo::Shape;
use plan::outline::{Placement, View, to_path, to_silhouette};

use crate::{
    files::read,
    pictures::{drawn, png},
    plans::planned,
    repository,
    support::{assert_close, tolerance},
};

fn outline(picture: &str) -> Outline {
    #[derive(serde::Deserialize)]
    struct Only {
        shape: Outline,
    }
    toml::from_str::<Only>(&format!("shape.picture = {{ file = \"it.png\", {picture} }}")).unwrap().shape
}

/// A bucket upside down and a ball beside it, with a window in the bucket: 200 pixels are 100 mm.
fn bucket() -> Vec<u8> {
    png(&drawn(420, 260, |x, y| {
        let (across, up) = (x - 160.0, 240.0 - y);
        let bucket = ((120.0 - 0.2 * up - across.abs()) * 0.98).min(up).min(200.0 - up);
        let window = 30.0 - across.hypot(up - 100.0);
        bucket.min(-window).max(50.0 - (x - 350.0).hypot(y - 190.0))
    }))
}

fn messages(problems: &[Diagnostic]) -> Vec<(Severity, String)> {
    problems.iter().map(|p| (p.severity, p.message.clone())).collect()
}

#[test]
fn a_silhouette_has_its_holes_and_islands() {
    let field = FieldPath::root().key("shape");
    let read = |picture: &str, view| {
        let mut problems = Vec::new();
        let world = Memory::new().with("it.png", bucket());
        let loader = Beside::new(&world, "");
        let found = to_silhouette(
            &outline(picture),
            Unit::Millimetre,
            view,
            tolerance(0.02),
            &field,
            &loader,
            &mut problems,
        );
        (found.map(|found| found.region), problems)
    };
    let (bucket, ball, window) = (200.0 * (120.0 + 80.0) / 4.0, PI * 625.0, PI * 225.0);
    let (one, notes) = read("height = 100", View::Upright);
    let one = one.unwrap();
    assert_close("bucket", one.area(), bucket - window, 3e-3);
    let (lo, hi) = one.bounds().unwrap();
    assert!(lo.y == 0.0 && (hi.y - 100.0).abs() < 0.2 && (lo.x + hi.x).abs() < 0.2);
    let warning = "it.png: one more region in the picture, no mere speckle, left out";
    assert!(messages(&notes).contains(&(Severity::Warning, warning.into())), "{notes:?}");
    let (both, _) = read("marks = [[0, 0], [200, 0]], distance = 100, keep = \"all\"", View::Above);
    let both = both.unwrap();
    assert_close("both", both.area(), bucket - window + ball, 3e-3);
    assert_eq!((both.pieces().len(), both.holes().pieces().len()), (2, 1));
    let (lo, hi) = both.bounds().unwrap();
    assert!((lo + hi).length() < 0.01);
}

#[test]
fn a_turned_shape_and_a_detail_take_the_same_picture() {
    let field = FieldPath::root().key("shape");
    let read = |picture: &str, placement| {
        let mut problems = Vec::new();
        let world = Memory::new().with("it.png", bucket());
        let loader = Beside::new(&world, "");
        let path = to_path(&outline(picture), Unit::Centimetre, placement, &field, &loader, &mut problems);
        (path, problems)
    };
    // Heights are in the file's unit.
    let (profile, _) = read("height = 10", Placement::OnAxis);
    let end = profile.unwrap().bounding_box();
    assert!((end.x1 - 60.0).abs() < 0.3 && end.x0.abs() < 1e-9 && end.y0 == 0.0, "{end}");
    let (detail, _) = read("width = \"30 mm\", fill_holes = true", Placement::Centred);
    let detail = detail.unwrap();
    assert_close("detail", detail.area(), 200.0 * 200.0 / 64.0, 5e-3);
    assert!(detail.bounding_box().center().to_vec2().hypot() < 1e-6);
    for (picture, message) in [
        ("half = \"left\", height = 3", "only a turned shape is made of a half"),
        ("keep = \"all\"", "nothing says how large the outline in the picture is"),
        ("height = 3, width = 2", "`height` and `width` are both given, but only one of them can be"),
        ("marks = [[0, 0], [9, 9]]", "`marks` and `distance` belong together"),
        ("height = 3, distance = 2", "`marks` and `distance` belong together"),
        (
            "height = 3, marks_across = [[0, 0], [9, 9]]",
            "`marks_across` and `distance_across` belong together",
        ),
        (
            "height = 3, marks_across = [[0, 0], [9, 9]], distance_across = 3",
            "`marks_across` are a second pair beside `marks`, and there is no first one",
        ),
        ("height = 3, card = true", "it.png: no scale card is seen in the picture"),
        ("card = false", "nothing says how large the outline in the picture is"),
        ("height = 3, threshold = 1.5", "a threshold of 1.5 cannot be"),
    ] {
        let (path, problems) = read(picture, Placement::Centred);
        assert!(path.is_none(), "{picture}");
        assert_eq!(problems[0].message, message);
        assert!(problems[0].help.is_some());
    }
}

/// A sketch in a single line is taken as what it goes round, and told; the line alone on demand.
#[test]
fn a_line_drawing_is_told() {
    let square = |x: f64, y: f64, half: f64| half - (x - 100.0).abs().max((y - 100.0).abs());
    let image = drawn(200, 200, |x, y| square(x, y, 80.0).min(-square(x, y, 77.0)));
    let field = FieldPath::root().key("shape");
    let read = |more: &str| {
        let mut problems = Vec::new();
        let world = Memory::new().with("it.png", png(&image));
        let loader = Beside::new(&world, "");
        let found = to_path(
            &outline(&format!("width = 160{more}")),
            Unit::Millimetre,
            Placement::Centred,
            &field,
            &loader,
            &mut problems,
        );
        (found.unwrap().area(), problems)
    };
    let (area, notes) = read("");
    assert_close("within", area, 160.0 * 160.0, 5e-3);
    let told = notes.iter().find(|note| note.message.contains("a line drawing")).expect("a note");
    assert!(told.message.contains("the outside of its line, 3"), "{}", told.message);
    assert_eq!(told.help.as_deref(), Some("say `fill_holes = false` if the line itself is meant"));
    let (area, notes) = read(", fill_holes = false");
    assert_close("line", area, 160.0 * 160.0 - 154.0 * 154.0, 0.1);
    assert!(!notes.iter().any(|note| note.message.contains("line drawing")));
}

/// A frustum of the same picture: V = π h (R² + R r + r²) / 3.
#[test]
fn a_cake_from_a_picture_has_the_volume_of_its_frustum() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("bucket.png"), bucket()).unwrap();
    let text = r#"crumbline = 1
name = "Bucket"
shape.turned.picture = { file = "bucket.png", height = 100 }
[[tier]]
name = "only"
[[tier.layer]]
pan = { round = 140 }
height = 110
"#;
    let file = CakeFile::from_text("bucket.cake.toml", folder.path(), text);
    let plan = planned(&file).unwrap();
    // Pappus, as an integral along the outline of the half section.
    let around = |(a, b): (DVec2, DVec2)| (a.x * a.x + a.x * b.x + b.x * b.x) * (b.y - a.y) / 6.0;
    let volume = 2.0 * PI * plan.lines.finished().section.edges().map(around).sum::<f64>();
    let expected = PI * 100.0 * (3600.0 + 60.0 * 40.0 + 1600.0) / 3.0;
    assert_close("volume", volume, expected, 5e-3);
    let found = plan.findings.iter().map(|f| f.message.as_str()).collect::<Vec<_>>();
    assert!(found.iter().any(|m| m.starts_with("bucket.png: traced within 0.")), "{found:?}");
    assert!(found.iter().any(|m| m.contains("both halves are alike")), "{found:?}");
    let broken =
        CakeFile::from_text("bucket.cake.toml", folder.path(), text.replace("bucket.png", "gone.png"));
    let error = planned(&broken).unwrap_err().to_string();
    assert!(error.contains("cannot read gone.png"), "{error}");
}

#[test]
fn the_pebble_lantern_is_drawn_by_its_own_script_and_sound() {
    let folder = repository::root().join("assets/examples/pebble-lantern");
    let plan = planned(&read(folder.join("pebble-lantern.cake.toml")).unwrap()).unwrap();
    // Tall and narrow: the roof is to travel apart.
    let told = |f: &&plan::findings::Finding| f.severity > Severity::Note && f.code.as_str() != "tips-in-car";
    assert!(!plan.findings.iter().any(|f| told(&f)), "{:?}", plan.findings);
    // The script needs nothing but Python; it takes some seconds.
    let scratch = tempfile::tempdir().unwrap();
    let again = scratch.path().join("template.png");
    let Ok(run) = std::process::Command::new("python3").arg(folder.join("draw.py")).arg(&again).output()
    else {
        println!("skipped: no Python");
        return;
    };
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let pixels = |path| image::open(path).unwrap().to_luma8();
    assert_eq!(pixels(again), pixels(folder.join("template.png")));
}
