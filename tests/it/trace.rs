//! The `trace` command: what it writes, what it says, and what it leaves alone.

use std::{fs, path::Path, time::Duration};

use assert_cmd::Command;
use crumbline::outline::svg::{SvgQuery, read_svg_path};
use kurbo::Shape;

use crate::{
    pictures::{drawn, png},
    support::assert_close,
};

fn trace(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::cargo_bin("crumbline").unwrap();
    command.env_remove("CLICOLOR_FORCE").timeout(Duration::from_secs(120)).current_dir(folder);
    let output = command.arg("trace").args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

/// A folder with a picture of a block with a round window, 300 × 200 pixels, 200 of them a millimetre and a half.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let window = |x: f64, y: f64| (150.0 - x).hypot(100.0 - y) - 40.0;
    let block =
        drawn(300, 200, |x, y| (100.0 - (x - 150.0).abs()).min(80.0 - (y - 100.0).abs()).min(window(x, y)));
    fs::write(folder.path().join("block.png"), png(&block)).unwrap();
    folder
}

fn files(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<String> = names.collect();
    names.sort();
    names
}

#[test]
fn the_drawing_has_its_true_size_and_is_read_back() {
    let folder = folder();
    let (code, said, _) = trace(folder.path(), &["block.png", "block.svg", "--height", "24 cm"]);
    assert_eq!(code, Some(0));
    assert_eq!(files(folder.path()), ["block-traced.png", "block.png", "block.svg"]);
    for fact in ["300.0 × 240.0 mm, 1.500", "1 region, 1 hole", "cut at 52 %, on a light ground", "block.svg"]
    {
        assert!(said.contains(fact), "{fact:?} is not in\n{said}");
    }
    assert!(said.contains("svg = { file = \"block.svg\", id = \"outline\" }"));
    let svg = fs::read(folder.path().join("block.svg")).unwrap();
    let query = SvgQuery { id: Some("outline".into()), ..SvgQuery::default() };
    let outline = read_svg_path(&svg, &query).unwrap();
    let expected = 300.0 * 240.0 - std::f64::consts::PI * 60.0 * 60.0;
    assert_close("area", outline.path.area().abs(), expected, 2e-3);
    assert_eq!(outline.notes, [] as [&str; 0]);
    let proof = image::open(folder.path().join("block-traced.png")).unwrap();
    // Four times as large, with room for words below.
    assert!(proof.width() == 1200 && proof.height() > 900, "{} × {}", proof.width(), proof.height());
    // The line of the outline crosses the middle of the left edge of the block, which is at x = 50 pixels.
    let row: Vec<u32> = (0..400).filter(|x| is_red(&proof.to_rgb8(), *x, 300)).collect();
    assert!(row.iter().all(|x| x.abs_diff(200) < 4) && row.len() >= 2, "{row:?}");
}

fn is_red(image: &image::RgbImage, x: u32, y: u32) -> bool {
    let [r, g, b] = image.get_pixel(x, y).0.map(i32::from);
    r - g > 60 && r - b > 20
}

#[test]
fn a_turned_shape_gives_its_half_outline() {
    let folder = folder();
    let (code, said, _) = trace(
        folder.path(),
        &["block.png", "out/half.svg", "--width", "10 in", "--turned", "--half", "right"],
    );
    assert_eq!(code, Some(0));
    assert!(said.contains("the right one is taken") && said.contains("id = \"profile\""), "{said}");
    let svg = fs::read(folder.path().join("out/half.svg")).unwrap();
    let bounds = read_svg_path(&svg, &SvgQuery::default()).unwrap().path.bounding_box();
    assert!((bounds.width() - 127.0).abs() < 0.5 && (bounds.height() - 203.2).abs() < 0.7, "{bounds}");
}

#[test]
fn marks_give_the_scale() {
    let folder = folder();
    let arguments = ["block.png", "block.svg", "--marks", "50,20:250,20", "--distance", "100"];
    let (code, said, _) = trace(folder.path(), &arguments);
    assert_eq!(code, Some(0));
    assert!(said.contains("100.0 × 80.0 mm, 0.5000 mm a pixel"), "{said}");
}

#[test]
fn what_cannot_be_traced_leaves_nothing_behind() {
    let folder = folder();
    fs::write(folder.path().join("cut.png"), &fs::read(folder.path().join("block.png")).unwrap()[..300])
        .unwrap();
    fs::write(
        folder.path().join("block-traced.png"),
        png(&drawn(40, 40, |x, y| 9.0 - (x - 20.0).hypot(y - 20.0))),
    )
    .unwrap();
    let before = files(folder.path());
    for (arguments, message) in [
        (&["block.png", "block.svg"][..], "--height <LENGTH>|--width <LENGTH>|--marks <X,Y:X,Y>"),
        (&["gone.png", "block.svg", "--height", "9 in"], "cannot read gone.png"),
        (&["cut.png", "block.svg", "--height", "9 in"], "cut.png: the picture cannot be read"),
        (&["block.png", "block.png", "--height", "9 in"], "block.png is no name for a drawing"),
        (
            &["block-traced.png", "block.svg", "--height", "9 in"],
            "the picture block-traced.png would be written over",
        ),
        (&["block.png", "block.svg", "--height", "tall"], "--height"),
        (&["block.png", "block.svg", "--height", "9", "--threshold", "7"], "a number from 0 to 1"),
        (&["block.png", "block.svg", "--marks", "1,2:3", "--distance", "9"], "as 120,80:120,1980"),
    ] {
        let (code, said, error) = trace(folder.path(), arguments);
        assert_eq!((code, said.as_str()), (Some(2), ""), "{arguments:?}: {error}");
        assert!(error.contains(message), "{message:?} is not in\n{error}");
        assert_eq!(files(folder.path()), before);
    }
}
