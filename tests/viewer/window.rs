//! The window itself, on a screen that only exists in memory (Xvfb), moved by hand (xdotool).
//!
//! One run of the program answers for everything, because drawing on the processor is slow. What was on
//! the screen at each step is kept in the target folder's `tmp`, to be looked at.

use std::{
    fs,
    process::{Child, Command},
    thread::sleep,
    time::{Duration, Instant},
};

use image::RgbImage;

use crate::{
    missing::{BELL, NO_DRIVER, assert_refused, crumbline},
    screen::{Screen, changed, wait_for},
};

/// Width of the panel, pixels.
const PANEL: u32 = 330;

/// The program, with a window on one cake.
struct Program {
    process: Child,
    id: String,
}

impl Program {
    /// Opens a window that fills `screen` on the cake in `file`, with `environment`.
    fn open(screen: &Screen, file: &str, name: &str, environment: &[(&str, &str)]) -> Self {
        let process = Command::new(env!("CARGO_BIN_EXE_crumbline"))
            .args(["view", file])
            .env("DISPLAY", &screen.display)
            .env_remove("WAYLAND_DISPLAY")
            .envs(environment.iter().copied())
            .spawn()
            .unwrap();
        let search = ["search", "--name", name];
        wait_for("the window", 120, || !screen.hand(&search).is_empty());
        let id = screen.hand(&search).trim().to_owned();
        let (width, height) = screen.size;
        screen.hand(&["windowsize", "--sync", &id, &width.to_string(), &height.to_string()]);
        screen.hand(&["windowmove", &id, "0", "0"]);
        // Nobody else on this screen would hand the keyboard over.
        screen.hand(&["windowfocus", "--sync", &id]);
        Self { process, id }
    }

    /// Processor seconds used so far (proc(5): fields 14 and 15, in hundredths).
    fn processor_seconds(&self) -> f64 {
        let stat = fs::read_to_string(format!("/proc/{}/stat", self.process.id())).unwrap();
        let fields: Vec<&str> = stat.rsplit(") ").next().unwrap().split(' ').collect();
        (fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap()) / 100.0
    }

    /// Processor seconds used in this time from now.
    fn used_in(&self, time: Duration) -> f64 {
        let before = self.processor_seconds();
        sleep(time);
        self.processor_seconds() - before
    }

    /// Waits until everything that was asked for is done and drawn: until the program sleeps.
    fn rest(&self) {
        wait_for("rest", 60, || self.used_in(Duration::from_millis(500)) < 0.005);
    }

    /// What is on the screen once the program sleeps; kept under `name` to be looked at.
    fn seen(&self, screen: &Screen, name: &str) -> RgbImage {
        self.rest();
        screen.look(name)
    }

    /// Clicks at a place, or holds the button there for a while, and takes the pointer away again; drawing on
    /// the processor, a frame may take longer than a hand.
    fn click(&self, screen: &Screen, (x, y): (u32, u32), hold: bool) {
        screen.hand(&["mousemove", &x.to_string(), &y.to_string()]);
        self.rest();
        if hold {
            screen.hand(&["mousedown", "1"]);
            self.rest();
            screen.hand(&["mouseup", "1"]);
        } else {
            screen.hand(&["click", "1"]);
        }
        self.rest();
        screen.hand(&["mousemove", "1340", "700"]);
    }

    /// Waits for the program to end by itself.
    fn ended(&mut self) -> std::process::ExitStatus {
        let start = Instant::now();
        loop {
            match self.process.try_wait().unwrap() {
                Some(status) => return status,
                None if start.elapsed() > Duration::from_secs(30) => panic!("the window did not close"),
                None => sleep(Duration::from_millis(50)),
            }
        }
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Only the part of a screen that shows the cake, or only the panel.
fn part(screen: &RgbImage, panel: bool) -> RgbImage {
    let (x, width) = if panel { (0, PANEL) } else { (PANEL, screen.width() - PANEL) };
    image::imageops::crop_imm(screen, x, 0, width, screen.height()).to_image()
}

fn cake(screen: &RgbImage) -> RgbImage {
    part(screen, false)
}

fn panel(screen: &RgbImage) -> RgbImage {
    part(screen, true)
}

/// The middle of the first word in the colour of an error, on the panel.
fn first_error(screen: &RgbImage) -> (u32, u32) {
    let is_red = |p: &image::Rgb<u8>| p.0[0].abs_diff(176) < 30 && p.0[1] < 70 && p.0[2] < 80;
    let panel = panel(screen);
    let red: Vec<(u32, u32)> = panel.enumerate_pixels().filter(|p| is_red(p.2)).map(|p| (p.0, p.1)).collect();
    let top = red.iter().map(|p| p.1).min().expect("the bell has errors and the panel tells them");
    let word: Vec<&(u32, u32)> = red.iter().filter(|p| p.1 < top + 14).collect();
    (word.iter().map(|p| p.0).max().unwrap(), top + 5)
}

#[test]
fn the_window_does_what_hands_and_files_ask_and_sleeps_otherwise() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bell.cake.toml");
    let text = fs::read_to_string(BELL).unwrap();
    fs::write(&file, &text).unwrap();
    // The smallest screen that the window has to be readable on.
    let screen = Screen::open((1366, 768));
    let mut window = Program::open(&screen, file.to_str().unwrap(), "Lopsided bell", &[]);
    let away = || screen.hand(&["mousemove", "1340", "700"]);
    away();
    let opened = window.seen(&screen, "opened");

    // Comes to rest, and sleeps while nothing happens.
    let used = window.used_in(Duration::from_secs(5));
    println!("{used:.2} s of processor time in 5 s of rest");
    assert!(used < 0.15, "{used} s of processor time in 5 s of rest");

    // Tells what is under the pointer, at the bottom left of the picture.
    screen.hand(&["mousemove", "800", "400"]);
    let pointed = window.seen(&screen, "pointed");
    let readout = |s: &RgbImage| image::imageops::crop_imm(s, PANEL, 668, 300, 100).to_image();
    assert!(
        changed(&readout(&opened), &readout(&pointed)) > 0.02,
        "nothing is told about the pointer's place"
    );

    // Turns under the mouse, moves with the right button, comes nearer with the wheel.
    let mut last = pointed;
    for (name, button) in [("turned", "1"), ("moved", "3")] {
        screen.hand(&["mousemove", "800", "400"]);
        window.rest();
        screen.hand(&["mousedown", button]);
        for x in [820, 860, 900, 940] {
            screen.hand(&["mousemove", &x.to_string(), "420"]);
            sleep(Duration::from_millis(60));
        }
        screen.hand(&["mouseup", button]);
        let next = window.seen(&screen, name);
        assert!(changed(&cake(&last), &cake(&next)) > 0.02, "not {name}");
        last = next;
    }
    screen.hand(&["click", "--repeat", "3", "--delay", "60", "4"]);
    let nearer = window.seen(&screen, "nearer");
    assert!(changed(&cake(&last), &cake(&nearer)) > 0.02, "the wheel does nothing");

    // Jumps to a view by key, and to the place of a finding that is clicked.
    away();
    screen.hand(&["key", "f"]);
    let front = window.seen(&screen, "front");
    assert!(changed(&cake(&nearer), &cake(&front)) > 0.02, "no jump to the front");
    let (x, y) = first_error(&front);
    window.click(&screen, (x + 40, y), false);
    let place = window.seen(&screen, "finding");
    assert!(changed(&cake(&front), &cake(&place)) > 0.05, "a clicked finding does not move the eye");

    // The keyboard reaches the panel: the first control makes the window dark and light again.
    screen.hand(&["key", "Tab"]);
    window.rest();
    screen.hand(&["key", "space"]);
    let dark = window.seen(&screen, "dark");
    assert!(changed(&panel(&place), &panel(&dark)) > 0.5, "Tab and Space do not reach the panel");
    screen.hand(&["key", "space"]);
    window.rest();
    screen.hand(&["key", "Escape"]);
    window.rest();
    screen.hand(&["key", "f"]);
    let back = window.seen(&screen, "back");
    assert!(changed(&front, &back) < 0.02, "the keys did not come back to the cake");

    // Carves by the slider: from the raw stack half way.
    slide(&window, &screen, &back);

    // Shows what is wrong with the file, over the same cake, and recovers.
    screen.hand(&["key", "f"]);
    let whole = window.seen(&screen, "whole");
    fs::write(&file, text.replace("height = 4\n", "height = -4\n")).unwrap();
    sleep(Duration::from_secs(1));
    let complaint = window.seen(&screen, "complaint");
    let share = changed(&cake(&whole), &cake(&complaint));
    assert!(share > 0.01 && share < 0.6, "{share} of the picture changed");
    fs::write(&file, text.replace("Lopsided bell", "Straight bell")).unwrap();
    wait_for("the new name", 30, || !screen.hand(&["search", "--name", "Straight bell"]).is_empty());
    let mended = window.seen(&screen, "mended");
    assert!(changed(&cake(&whole), &cake(&mended)) < 0.02, "the cake did not come back");

    // Leaves without a crash.
    screen.hand(&["windowfocus", "--sync", &window.id]);
    screen.hand(&["key", "ctrl+q"]);
    let status = window.ended();
    assert!(status.success(), "the window left with {status}");
}

/// Clicks the slider that carves, a sixth and a half of the way along.
fn slide(window: &Program, screen: &Screen, before: &RgbImage) {
    let mut last = before.clone();
    for (name, share) in [("half-carved", 1.0 / 6.0), ("coating", 0.55), ("carved", 1.0 / 3.0)] {
        let x = 14.0 + share * 300.0;
        window.click(screen, (x as u32, SLIDER), true);
        let next = window.seen(screen, name);
        assert!(changed(&cake(&last), &cake(&next)) > 0.01, "{name}: the slider does not move the making");
        last = next;
    }
}

/// Height at which the slider that carves lies, pixels.
const SLIDER: u32 = 84;

#[test]
fn a_window_without_a_driver_says_so_and_ends() {
    let screen = Screen::open((800, 600));
    let environment =
        [NO_DRIVER[0], NO_DRIVER[1], ("DISPLAY", screen.display.as_str()), ("WAYLAND_DISPLAY", "")];
    assert_refused(&crumbline(&["view", BELL], &environment), &["mesa-vulkan-drivers", "plan"]);
}

#[test]
#[ignore = "for looking: the window on a screen with two pixels a point, light and dark"]
fn look_at_a_screen_of_high_density() {
    let screen = Screen::open((2560, 1600));
    let house = BELL.replace("lopsided-bell", "toadstool-house");
    let window = Program::open(&screen, &house, "Toadstool house", &[("WINIT_X11_SCALE_FACTOR", "2")]);
    screen.hand(&["mousemove", "1700", "800"]);
    window.seen(&screen, "dense-light");
    screen.hand(&["key", "d"]);
    window.seen(&screen, "dense-dark");
    drop(window);
}
