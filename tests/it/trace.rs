//! The `trace` command: what it writes, what it says, and what it leaves alone.

use std::{fs, path::Path, time::Duration};

use assert_cmd::Command;
use crumbline::{
    outline::svg::{SvgQuery, read_svg_path},
    trace::card::layout::{MARKS, is_black},
};
use glam::{DVec2, dvec2};
use kurbo::Shape;

use crate::{
    cameras::{Pinhole, Spoiling},
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
fn two_distances_give_the_scale_both_ways() {
    let folder = folder();
    let one = ["block.png", "block.svg", "--marks", "50,20:50,180", "--distance", "100"];
    let (code, said, _) = trace(
        folder.path(),
        &[&one[..], &["--marks-across", "50,20:250,20", "--distance-across", "5 in"]].concat(),
    );
    assert_eq!(code, Some(0));
    assert!(said.contains("127.0 × 100.0 mm") && said.contains("by two distances at right angles"), "{said}");
}

/// A photograph of the card and a template of 150 × 90 mm on a light ground, tilted by 45°; `hidden` marks are covered.
fn photograph(hidden: usize) -> Vec<u8> {
    let view = Pinhole::new((1600, 1200), 1500.0, dvec2(-30.0, 0.0), 780.0, [45.0, 260.0, 0.0]);
    let at = dvec2(-125.0, 0.0);
    let shown = |p: DVec2| {
        let covered = MARKS[..hidden].iter().any(|mark| (p - at - *mark).length() < 13.0);
        match p {
            _ if covered => 0.8,
            _ if (p - dvec2(80.0, 0.0)).abs().cmplt(dvec2(75.0, 45.0)).all() => 0.2,
            _ if is_black(p - at) => 0.14,
            _ => 0.85,
        }
    };
    png(&view.photograph(shown, &Spoiling { blur: 0.9, noise: 10.0, shade: 0.15, seed: 6 }))
}

#[test]
fn a_photographed_card_gives_the_scale() {
    let folder = tempfile::tempdir().unwrap();
    let card = |name: &str| {
        Command::cargo_bin("crumbline")
            .unwrap()
            .current_dir(folder.path())
            .args(["card", name])
            .output()
            .unwrap()
    };
    assert!(card("card.pdf").status.success() && card("card.svg").status.success());
    assert!(fs::read(folder.path().join("card.pdf")).unwrap().starts_with(b"%PDF"));
    let refused = card("card.png");
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("let it end in .pdf or .svg"));
    fs::write(folder.path().join("photograph.png"), photograph(0)).unwrap();
    let (code, said, error) = trace(folder.path(), &["photograph.png", "out.svg"]);
    assert_eq!(code, Some(0), "{error}");
    for fact in ["1 region, no holes", "by the card 150 × 90 mm, ± 0.", "tilt of 45°", "lens distortion not"]
    {
        assert!(said.contains(fact), "{fact:?} is not in\n{said}");
    }
    let svg = fs::read(folder.path().join("out.svg")).unwrap();
    let bounds = read_svg_path(&svg, &SvgQuery::default()).unwrap().path.bounding_box();
    assert!((bounds.width() - 150.0).abs() < 0.75 && (bounds.height() - 90.0).abs() < 0.75, "{bounds}");
    fs::write(folder.path().join("photograph.png"), photograph(1)).unwrap();
    let (code, _, error) = trace(folder.path(), &["photograph.png", "part.svg"]);
    assert_eq!(code, Some(2));
    assert!(
        error.contains("only 3 of the 4 marks of the card are seen") && error.contains("all four marks"),
        "{error}"
    );
    let (code, said, _) = trace(folder.path(), &["photograph.png", "part.svg", "--width", "150"]);
    assert_eq!(code, Some(0));
    assert!(said.contains("so the camera's perspective is not taken out"), "{said}");
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
        (&["block.png", "block.svg"][..], "nothing says how large the outline is"),
        (&["block.png", "block.svg", "--no-card"], "nothing says how large the outline is"),
        (
            &["block.png", "block.svg", "--height", "9", "--marks-across", "1,2:3,4"],
            "--distance-across <LENGTH>",
        ),
        (
            &[
                "block.png",
                "b.svg",
                "--marks",
                "9,9:9,99",
                "--distance",
                "9",
                "--marks-across",
                "20,9:20,99",
                "--distance-across",
                "9",
            ],
            "along nearly the same direction",
        ),
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
