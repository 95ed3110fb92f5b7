//! `crumbline stack`.

use std::fs;

use assert_cmd::Command;
use crumbline::{amounts::Amounts, plan::Plan};

fn example() -> String {
    format!("{}/assets/examples/toadstool-house/toadstool-house.cake.toml", env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn the_chosen_stack_goes_back_into_the_cake_file_with_its_remarks() {
    let folder = tempfile::tempdir().expect("a folder");
    let copy = folder.path().join("toadstool.cake.toml");
    let drawing = "details.svg";
    fs::copy(example().replace("toadstool-house.cake.toml", drawing), folder.path().join(drawing)).unwrap();
    let output = Command::cargo_bin("crumbline")
        .unwrap()
        .args(["stack", &example(), "--choose", "fewest-bakes", "--out"])
        .arg(&copy)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = fs::read_to_string(&copy).unwrap();
    let before = fs::read_to_string(example()).unwrap();
    for remark in before.lines().filter(|line| line.trim_start().starts_with('#')) {
        assert!(text.contains(remark), "{remark} is gone");
    }
    Command::cargo_bin("crumbline").unwrap().arg("plan").arg(&copy).assert().success();
}

#[test]
fn a_pantry_without_sense_is_told_with_its_lines() {
    let folder = tempfile::tempdir().expect("a folder");
    let pantry = folder.path().join("mine.toml");
    fs::write(
        &pantry,
        "crumbline = 1\n[pantry]\npan = []\n[pantry.stacking]\nstep = 0.01\n[pantry.money]\nhour = -3\n[pantry.recipe.sponge]\nparts = { flour = 0 }\n",
    )
    .unwrap();
    let output = Command::cargo_bin("crumbline")
        .unwrap()
        .args(["stack", &example(), "--pantry"])
        .arg(&pantry)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    for part in [
        "the pantry has no pans",
        "cannot be -3",
        "the recipe weighs nothing",
        "mine.toml:3",
        "mine.toml:5",
        "mine.toml:7",
        "steps of 0.01 mm",
    ] {
        assert!(told.contains(part), "{part} in\n{told}");
    }
}

fn bell() -> String {
    format!("{}/assets/examples/lopsided-bell/lopsided-bell.cake.toml", env!("CARGO_MANIFEST_DIR"))
}

/// The plan of the bell scaled as asked and stacked anew.
fn scaled(option: [&str; 2]) -> Plan {
    let folder = tempfile::tempdir().expect("a folder");
    let copy = folder.path().join("bell.cake.toml");
    let output = Command::cargo_bin("crumbline")
        .unwrap()
        .args(["stack", &bell(), option[0], option[1], "--out"])
        .arg(&copy)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stdout).contains("The shape is scaled to"));
    crate::plans::planned(&crate::files::read(&copy).unwrap()).unwrap()
}

#[test]
fn a_shape_is_scaled_to_serve_so_many() {
    let plan = scaled(["--serve", "30"]);
    let served = Amounts::new(&plan).servings.served[0].by_cutting;
    assert!((30..=34).contains(&served), "{served}");
}

#[test]
fn a_shape_is_scaled_to_a_height_or_into_a_space() {
    let high = scaled(["--height", "25 cm"]).design.shape.size().z;
    // The top is that of an outline made of straight pieces.
    assert!((high - 250.0).abs() < 0.025, "{high}");
    let plan = scaled(["--fit", "340 mm x 330 mm x 240 mm"]);
    let board = plan.design.board.as_ref().expect("a board");
    let (size, across) = (plan.design.shape.size(), 2.0 * board.footprint.reach());
    assert!(size.x.max(across) <= 340.0 + 1e-6 && size.y.max(across) <= 330.0 + 1e-6, "{size} {across}");
    let high = size.z + board.thickness;
    assert!(high <= 240.0 + 0.025 && high > 239.9, "as large as fits: {size} {high}");
}

#[test]
fn the_pantry_that_is_written_is_read_and_never_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let pantry = folder.path().join("mine.toml");
    let new =
        || Command::cargo_bin("crumbline").unwrap().args(["new", "--pantry"]).arg(&pantry).output().unwrap();
    assert!(new().status.success());
    let text = fs::read_to_string(&pantry).unwrap();
    let with = |options: &[&str]| {
        let output = Command::cargo_bin("crumbline")
            .unwrap()
            .args(["stack", &bell(), "--json"])
            .args(options)
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        output.stdout
    };
    // What is written is what the program uses without it.
    assert_eq!(with(&[]), with(&["--pantry", pantry.to_str().unwrap()]));
    assert_eq!(new().status.code(), Some(2));
    assert_eq!(fs::read_to_string(&pantry).unwrap(), text);
}
