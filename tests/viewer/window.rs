//! A real window on a screen that only exists in memory (Xvfb), moved by hand (xdotool).

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread::sleep,
    time::{Duration, Instant},
};

use crumbline::{
    cakefile::Severity,
    viewer::{CakeFileSource, CakeSource, Finding, LoadedCake, view},
};
use glam::DVec3;
use image::RgbImage;

use crate::toadstool::toadstool;

/// A toadstool whose name stands in a file; a file that says "bad" cannot be read.
struct FromFile(PathBuf);

impl CakeSource for FromFile {
    fn load(&self) -> Result<LoadedCake, String> {
        let name = fs::read_to_string(&self.0).map_err(|e| format!("cannot read the cake file: {e}"))?;
        if name.contains("bad") {
            return Err("line 3: `height` is \"0 mm\"; a layer has to be higher than nothing\n\nhelp: write its levelled height, as \"1 1/2 in\"".into());
        }
        let mut model = toadstool();
        model.name = name.trim().to_owned();
        let mut cake = LoadedCake::from_model(model);
        cake.findings = vec![
            Finding {
                severity: Severity::Warning,
                message: "Layer 5 is too narrow: cake is missing all round".into(),
                help: Some("Bake it in a pan at least 204 mm (8 in) wide, or patch it".into()),
                place: Some(DVec3::new(96.0, -40.0, 156.0)),
            },
            Finding {
                severity: Severity::Note,
                message: "Three dowels carry the cap".into(),
                help: None,
                place: None,
            },
        ];
        Ok(cake)
    }

    fn files(&self) -> Vec<PathBuf> {
        vec![self.0.clone()]
    }
}

#[test]
#[ignore = "opens a window and stays open; run by the test below"]
fn alone_open_a_window_on_a_file() {
    let file = std::env::var_os("CRUMBLINE_TEST_CAKE").expect("the test below says which file");
    let file = PathBuf::from(file);
    if file.to_string_lossy().ends_with(".cake.toml") {
        view(CakeFileSource::new(file)).unwrap();
    } else {
        view(FromFile(file)).unwrap();
    }
}

/// A screen of 1366 by 768, the smallest that the window has to be readable on.
struct Screen {
    server: Child,
    display: String,
}

impl Screen {
    fn open() -> Self {
        let number = 90 + std::process::id() % 800;
        let display = format!(":{number}");
        let server = Command::new("Xvfb")
            .args([&display, "-screen", "0", "1366x768x24", "-nolisten", "tcp"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb is installed");
        let socket = format!("/tmp/.X11-unix/X{number}");
        wait_for("the screen", 10, || Path::new(&socket).exists());
        Self { server, display }
    }

    fn hand(&self, arguments: &[&str]) -> String {
        let output = Command::new("xdotool").args(arguments).env("DISPLAY", &self.display).output();
        String::from_utf8_lossy(&output.expect("xdotool is installed").stdout).into_owned()
    }

    /// What is on the screen; kept under `name` to be looked at.
    fn look(&self, name: &str) -> RgbImage {
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("window-{name}.png"));
        let status = Command::new("import")
            .args(["-window", "root", path.to_str().unwrap()])
            .env("DISPLAY", &self.display)
            .status()
            .expect("ImageMagick is installed");
        assert!(status.success());
        image::open(path).unwrap().into_rgb8()
    }

    /// Looks until nothing has changed for a while.
    fn settled(&self, name: &str) -> RgbImage {
        let (mut last, mut same) = (self.look(name), 0);
        for _ in 0..80 {
            sleep(Duration::from_millis(400));
            let next = self.look(name);
            same = if next == last { same + 1 } else { 0 };
            if same == 4 {
                return next;
            }
            last = next;
        }
        panic!("the screen never came to rest: {name}");
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

fn wait_for(what: &str, seconds: u64, ready: impl Fn() -> bool) {
    let start = Instant::now();
    while !ready() {
        assert!(start.elapsed() < Duration::from_secs(seconds), "{what} did not come");
        sleep(Duration::from_millis(50));
    }
}

/// Share of pixels that differ clearly.
fn changed(a: &RgbImage, b: &RgbImage) -> f64 {
    let differ =
        |(p, q): (&image::Rgb<u8>, &image::Rgb<u8>)| p.0.iter().zip(q.0).any(|(x, y)| x.abs_diff(y) > 12);
    a.pixels().zip(b.pixels()).filter(|pair| differ(*pair)).count() as f64 / a.pixels().len() as f64
}

/// Processor seconds that a process has used (proc(5): fields 14 and 15, in hundredths).
fn processor_seconds(process: u32) -> f64 {
    let stat = fs::read_to_string(format!("/proc/{process}/stat")).unwrap();
    let fields: Vec<&str> = stat.rsplit(") ").next().unwrap().split(' ').collect();
    (fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap()) / 100.0
}

#[test]
#[ignore = "needs Xvfb, xdotool and ImageMagick"]
fn the_window_turns_the_cake_follows_the_file_and_sleeps_when_nothing_happens() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("toadstool.toml");
    fs::write(&file, "Toadstool").unwrap();
    let screen = Screen::open();
    let mut window = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "window::alone_open_a_window_on_a_file", "--ignored", "--nocapture"])
        .envs([("DISPLAY", screen.display.as_str()), ("CRUMBLINE_TEST_CAKE", file.to_str().unwrap())])
        .spawn()
        .unwrap();
    wait_for("the window", 60, || !screen.hand(&["search", "--name", "Toadstool"]).is_empty());
    let id = screen.hand(&["search", "--name", "Toadstool"]);
    screen.hand(&["windowsize", "--sync", id.trim(), "1366", "768"]);
    screen.hand(&["windowmove", id.trim(), "0", "0"]);
    // Nobody else on this screen would hand the keyboard over.
    screen.hand(&["windowfocus", "--sync", id.trim()]);
    let opened = screen.settled("opened");

    // Sleeps while nothing happens.
    let before = processor_seconds(window.id());
    sleep(Duration::from_secs(4));
    let used = processor_seconds(window.id()) - before;
    assert!(used < 0.2, "{used} s of processor time in 4 s of rest");

    // Turns under the mouse.
    screen.hand(&["mousemove", "800", "400"]);
    let pointed = screen.settled("pointed");
    screen.hand(&["mousedown", "1"]);
    for x in [820, 860, 900, 940] {
        screen.hand(&["mousemove", &x.to_string(), "420"]);
        sleep(Duration::from_millis(60));
    }
    screen.hand(&["mouseup", "1"]);
    let turned = screen.settled("turned");
    assert!(changed(&pointed, &turned) > 0.02, "nothing turned");

    // Jumps to the front and goes through the stages with the mouse on the panel.
    screen.hand(&["mousemove", "1340", "740"]);
    screen.hand(&["key", "f"]);
    let front = screen.settled("front");
    assert!(changed(&turned, &front) > 0.02, "no jump to the front");

    // Shows what is wrong with the file, over the same cake, and recovers.
    fs::write(&file, "bad").unwrap();
    sleep(Duration::from_secs(1));
    let complaint = screen.settled("complaint");
    let share = changed(&front, &complaint);
    assert!(share > 0.01 && share < 0.5, "{share} of the screen changed");
    fs::write(&file, "Toadstool again").unwrap();
    wait_for("the new name", 20, || !screen.hand(&["search", "--name", "Toadstool again"]).is_empty());
    let mended = screen.settled("mended");
    assert!(changed(&front, &mended) < 0.02, "the cake did not come back");

    // Leaves without a crash.
    screen.hand(&["key", "ctrl+q"]);
    let start = Instant::now();
    let status = loop {
        match window.try_wait().unwrap() {
            Some(status) => break status,
            None if start.elapsed() > Duration::from_secs(20) => {
                window.kill().unwrap();
                panic!("the window did not close");
            }
            None => sleep(Duration::from_millis(50)),
        }
    };
    assert!(status.success(), "the window left with {status}");
    assert!(changed(&opened, &front) > 0.0);
}
