//! What a machine without a driver or a screen gets to read.
//!
//! The environment decides which driver is found, so each case runs in a process of its own: this
//! test program again, with one ignored test picked out.

use std::process::{Command, Output};

use crumbline::viewer::{CakeSource, LoadedCake, PictureOptions, picture, view};

use crate::toadstool::toadstool;

struct Toadstool;

impl CakeSource for Toadstool {
    fn load(&self) -> Result<LoadedCake, String> {
        Ok(LoadedCake::from_model(toadstool()))
    }

    fn files(&self) -> Vec<std::path::PathBuf> {
        Vec::new()
    }
}

fn run_alone(test: &str, environment: &[(&str, &str)]) -> Output {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args(["--exact", test, "--ignored", "--nocapture"]);
    command.envs(environment.iter().copied()).output().unwrap()
}

#[test]
#[ignore = "run by the test below"]
fn alone_draw_a_picture() {
    match picture(&toadstool(), &PictureOptions { size: (64, 64), takes: 1, ..PictureOptions::default() }) {
        Ok(_) => println!("drawn"),
        Err(error) => println!("exit code {}: {error}", error.exit_code()),
    }
}

#[test]
fn without_a_driver_the_message_says_what_to_install_and_what_still_works() {
    let nowhere = [("VK_DRIVER_FILES", "/nonexistent.json"), ("VK_ICD_FILENAMES", "/nonexistent.json")];
    let output = run_alone("missing::alone_draw_a_picture", &nowhere);
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(said.contains("exit code 2") && said.contains("mesa-vulkan-drivers"), "{said}");
    assert!(said.contains("plan") && !said.contains("backtrace") && !said.contains("panicked"), "{said}");
}

#[test]
#[ignore = "run by the test below"]
fn alone_open_a_window() {
    match view(Toadstool) {
        Ok(()) => println!("closed"),
        Err(error) => println!("exit code {}: {error}", error.exit_code()),
    }
}

#[test]
fn without_a_screen_the_message_points_to_pictures() {
    for display in ["", ":60123"] {
        let output =
            run_alone("missing::alone_open_a_window", &[("DISPLAY", display), ("WAYLAND_DISPLAY", "")]);
        let said = String::from_utf8_lossy(&output.stdout);
        assert!(said.contains("exit code 2") && said.contains("`picture`"), "{said}");
        assert!(!said.contains("panicked"), "{said}");
    }
}
