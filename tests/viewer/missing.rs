//! What a machine without a driver or a screen gets to read, from the program itself: a sentence that says
//! what to install or which command still works, exit code 2, no backtrace.

use std::process::{Command, Output};

pub const BELL: &str =
    concat!(env!("CARGO_MANIFEST_DIR"), "/assets/examples/lopsided-bell/lopsided-bell.cake.toml");

/// No Vulkan driver is found here (the loader's own variables, the older one too).
pub const NO_VULKAN: [(&str, &str); 2] =
    [("VK_DRIVER_FILES", "/nonexistent.json"), ("VK_ICD_FILENAMES", "/nonexistent.json")];

/// Nor one for OpenGL (the variable of the vendor-neutral dispatch library).
pub const NO_DRIVER: [(&str, &str); 3] =
    [NO_VULKAN[0], NO_VULKAN[1], ("__EGL_VENDOR_LIBRARY_FILENAMES", "/nonexistent.json")];

pub fn crumbline(arguments: &[&str], environment: &[(&str, &str)]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_crumbline"));
    command.args(arguments).envs(environment.iter().copied()).env_remove("RUST_BACKTRACE").output().unwrap()
}

/// Panics unless the program ended with 2 and said all of `words`; returns what it said.
#[track_caller]
pub fn assert_refused(output: &Output, words: &[&str]) {
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    for word in words {
        assert!(said.contains(word), "\"{word}\" is not in: {said}");
    }
    for word in ["panicked", "backtrace"] {
        assert!(!said.contains(word), "\"{word}\" is in: {said}");
    }
}

#[test]
fn without_a_driver_the_message_says_what_to_install_and_what_still_works() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bell.png");
    let output = crumbline(&["picture", BELL, file.to_str().unwrap()], &NO_DRIVER);
    assert_refused(&output, &["mesa-vulkan-drivers", "plan", "export"]);
    assert!(!file.exists());
}

#[test]
fn without_a_screen_the_message_points_to_pictures() {
    for display in ["", ":60123"] {
        let output = crumbline(&["view", BELL], &[("DISPLAY", display), ("WAYLAND_DISPLAY", "")]);
        assert_refused(&output, &["no screen", "`picture`"]);
    }
}

#[test]
fn pictures_that_cannot_be_drawn_are_refused_with_the_fix() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bell.png");
    let file = file.to_str().unwrap();
    for (flags, words) in [
        (["--size", "4097x100"], ["4097x100", "4096"]),
        (["--size", "8x100"], ["8x100", "16"]),
        (["--size", "99999999999x1"], ["WIDTHxHEIGHT", "1600x1200"]),
        (["--samples", "0"], ["samples", "1 to 256"]),
        (["--turntable", "1"], ["steps", "2 to 720"]),
    ] {
        assert_refused(&crumbline(&[&["picture", BELL, file], &flags[..]].concat(), &[]), &words);
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "something was left behind");
}
