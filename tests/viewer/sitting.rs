//! One sitting in the window, from two pictures of a template to a saved cake and its bench kit, with mouse and keys
//! and nothing else.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
    sync::Arc,
};

use crumbline::{
    cakefile::{CakeFile, world::Disk},
    plan::{Plan, Source},
};
use image::{GrayImage, Luma};

use crate::{
    screen::{Screen, wait_for},
    window::Program,
};

/// The silhouette of a dome that is this many pixels wide and 280 high, dark on a light ground.
fn template(folder: &Path, name: &str, wide: f64) -> PathBuf {
    let inside = |x: f64, y: f64| {
        let up = (340.0 - y) / 280.0;
        (0.0..=1.0).contains(&up) && (x - 320.0).abs() <= wide / 2.0 * (1.0 - up * up).sqrt()
    };
    let image = GrayImage::from_fn(640, 400, |x, y| {
        Luma([if inside(f64::from(x) + 0.5, f64::from(y) + 0.5) { 30 } else { 235 }])
    });
    let file = folder.join(name);
    image.save(&file).unwrap();
    file
}

/// The height that is typed, mm: 280 pixels are half a millimetre each.
const HEIGHT: f64 = 140.0;

#[test]
fn a_cake_is_made_from_two_pictures_to_a_kit_with_mouse_and_keys() {
    let folder = tempfile::tempdir().unwrap();
    let (front, side) =
        (template(folder.path(), "front.png", 480.0), template(folder.path(), "side.png", 400.0));
    let cake = folder.path().join("dome.cake.toml");
    let screen = Screen::open((1366, 768));
    let mut window = Program::begin(&screen, &[]);
    window.screenshot(&screen, "sitting-first-page");

    let type_path = |path: &Path| {
        screen.input(&["key", "ctrl+a"]);
        window.rest();
        screen.input(&["type", "--delay", "30", path.to_str().unwrap()]);
        window.rest();
        screen.input(&["key", "Return"]);
        window.rest();
    };
    // Front and side are chosen, the height is typed.
    window.click(&screen, (521, 276), false);
    type_path(&front);
    window.click(&screen, (521, 300), false);
    type_path(&side);
    window.click(&screen, (530, 324), false);
    screen.input(&["key", "ctrl+a"]);
    window.rest();
    screen.input(&["type", "--delay", "30", "140 mm"]);
    window.rest();
    window.screenshot(&screen, "sitting-chosen");
    window.click(&screen, (330, 346), false);
    wait_for("the window's name", 60, || !screen.input(&["search", "--name", "My cake"]).is_empty());
    window.screenshot(&screen, "sitting-shape");

    // The best stack is found and taken.
    screen.input(&["key", "ctrl+f"]);
    window.rest();
    window.screenshot(&screen, "sitting-stacks");
    screen.input(&["key", "ctrl+t"]);
    window.rest();
    window.screenshot(&screen, "sitting-stack");
    screen.input(&["key", "ctrl+8"]);
    window.rest();
    window.screenshot(&screen, "sitting-to-fix");

    // The kit asks first where the cake is to be saved.
    screen.input(&["key", "ctrl+k"]);
    window.rest();
    type_path(&cake);
    wait_for("the cake", 30, || cake.is_file());
    let kit = folder.path().join("dome-kit");
    wait_for("the kit", 120, || kit.join("kit.json").is_file());
    window.rest();
    window.screenshot(&screen, "sitting-kit");
    screen.input(&["key", "ctrl+q"]);
    let status = window.ended();
    assert!(status.success(), "the window left with {status}");

    // The saved file is a cake that stands, in the size that was asked for, and says so without the window.
    let file = CakeFile::read(&Disk::new(), &cake).unwrap();
    let plan = Plan::new(&Source::new(file, Arc::new(Disk::new()))).unwrap();
    assert!(!plan.has_errors(), "{:?}", plan.findings);
    let size = plan.extent().high - plan.extent().low;
    let wanted = glam::dvec3(240.0, 200.0, HEIGHT);
    assert!((size - wanted).abs().max_element() < 1.5, "{size} instead of {wanted}");
    assert!(plan.stack.slabs.len() > 1, "{:?}", plan.stack.slabs);
    for name in ["front.png", "side.png"] {
        assert!(folder.path().join(name).is_file(), "{name} lies beside the cake");
    }
    let checked = Command::new(env!("CARGO_BIN_EXE_crumbline"))
        .arg("check")
        .arg(&kit)
        .arg("--cake")
        .arg(&cake)
        .env("CRUMBLINE_CONFIG", folder.path().join("no-configuration"))
        .output()
        .unwrap();
    assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stdout));
}

/// A window that is killed while something is not saved offers it to the next one.
#[test]
fn what_was_not_saved_when_a_window_was_killed_is_offered_by_the_next() {
    let folder = tempfile::tempdir().unwrap();
    let cake = folder.path().join("bell.cake.toml");
    let text = fs::read_to_string(crate::missing::BELL).unwrap();
    fs::write(&cake, &text).unwrap();
    let screen = Screen::open((1366, 768));
    let home = {
        let window = Program::open(&screen, cake.to_str().unwrap(), "Lopsided bell", &[]);
        window.rest();
        // The name, in the panel of the order: its first field.
        screen.input(&["key", "ctrl+6"]);
        window.rest();
        window.click(&screen, (200, 63), false);
        screen.input(&["key", "ctrl+a"]);
        window.rest();
        screen.input(&["type", "--delay", "30", "Crooked bell"]);
        window.rest();
        screen.input(&["key", "Return"]);
        wait_for("the new name", 60, || !screen.input(&["search", "--name", "Crooked bell"]).is_empty());
        window.screenshot(&screen, "killed-before");
        window.kill()
    };
    assert_eq!(fs::read_to_string(&cake).unwrap(), text, "nothing was saved");
    let window = Program::begin_in(&screen, home, &[]);
    window.screenshot(&screen, "killed-after");
    // The button stands in the first card of the page.
    window.click(&screen, (345, 161), false);
    wait_for("the cake", 60, || !screen.input(&["search", "--name", "Crooked bell"]).is_empty());
    assert_eq!(fs::read_to_string(&cake).unwrap(), text, "nothing is saved unless it is asked for");
}
