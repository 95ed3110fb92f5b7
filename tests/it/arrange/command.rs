//! `crumbline stack`.

use std::fs;

use assert_cmd::Command;

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
