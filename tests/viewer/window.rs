//! The window itself, on a screen that only exists in memory (Xvfb), with mouse and keys (xdotool).
//!
//! What it shows is compared with what it has to show from where the eye has to be ([`Expected`]); what it
//! writes is tested with the window's state, in the studio's own tests. All is done in one run of the program,
//! because drawing on the processor is slow. Screenshots are kept in the target folder's `tmp`.

use std::{
    collections::HashMap,
    fs,
    path::Path,
    process::{Child, Command},
    sync::Arc,
    thread::sleep,
    time::{Duration, Instant},
};

use crumbline::{
    cakefile::{Severity, world::Disk},
    geom::Cancel,
    viewer::{
        CakeFileSource, CakeSource, Lens, LoadedCake, Margins, Pose, Scene, Showing, Stage, View, build_scene,
    },
};
use glam::DVec3;
use image::RgbaImage;

use crate::{
    expected::{Agreement, Expected, is_grey},
    missing::{BELL, NO_DRIVER, NO_VULKAN, assert_refused, crumbline},
    screen::{Screen, wait_for},
};

/// Width of the panel, pixels.
const PANEL: u32 = 330;
/// Height of the bar above it, pixels.
const BAR: u32 = 28;

/// What a window remembers in these tests. One test alone lets the picture be drawn finely, which takes long without a
/// graphics card.
const USUAL: &str = "own_file_list = true\nno_guide = true\nquick_picture = true\noffcut = \"depth\"\n";

/// The program, with a window on one cake.
pub struct Program {
    process: Child,
    id: String,
    /// Where it keeps what it remembers: nothing of the user's own.
    home: Option<tempfile::TempDir>,
}

impl Program {
    /// Opens a window that fills `screen` on the cake in `file`, with `environment`.
    pub fn open(screen: &Screen, file: &str, name: &str, environment: &[(&str, &str)]) -> Self {
        Self::start(screen, tempfile::tempdir().unwrap(), &["view", file], name, environment)
    }

    /// Opens a window on its first page.
    pub fn begin(screen: &Screen, environment: &[(&str, &str)]) -> Self {
        Self::begin_in(screen, tempfile::tempdir().unwrap(), environment)
    }

    /// The same with what an earlier window keeps in `home`.
    pub fn begin_in(screen: &Screen, home: tempfile::TempDir, environment: &[(&str, &str)]) -> Self {
        Self::start(screen, home, &[], "Crumbline", environment)
    }

    /// Kills it at once, and gives what it keeps.
    pub fn kill(mut self) -> tempfile::TempDir {
        self.process.kill().unwrap();
        self.process.wait().unwrap();
        self.home.take().expect("it has a home")
    }

    fn start(
        screen: &Screen,
        home: tempfile::TempDir,
        words: &[&str],
        name: &str,
        environment: &[(&str, &str)],
    ) -> Self {
        // Files are listed in the window itself, and nothing stands above the panels: every place is known.
        let settings = home.path().join("config/window.toml");
        if !settings.exists() {
            std::fs::create_dir_all(settings.parent().unwrap()).unwrap();
            std::fs::write(&settings, USUAL).unwrap();
        }
        let process = Command::new(env!("CARGO_BIN_EXE_crumbline"))
            .args(words)
            .env("HOME", home.path())
            .env("CRUMBLINE_CONFIG", home.path().join("config"))
            .env_remove("XDG_DATA_HOME")
            .env("DISPLAY", &screen.display)
            .env_remove("WAYLAND_DISPLAY")
            .envs(environment.iter().copied())
            .spawn()
            .unwrap();
        let search = ["search", "--name", name];
        wait_for("the window", 120, || !screen.input(&search).is_empty());
        let id = screen.input(&search).trim().to_owned();
        let (width, height) = screen.size;
        screen.input(&["windowsize", "--sync", &id, &width.to_string(), &height.to_string()]);
        screen.input(&["windowmove", &id, "0", "0"]);
        // There is no window manager that would give it the keyboard.
        screen.input(&["windowfocus", "--sync", &id]);
        Self { process, id, home: Some(home) }
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
    pub fn rest(&self) {
        wait_for("rest", 60, || self.used_in(Duration::from_millis(500)) < 0.005);
    }

    /// A screenshot once the program sleeps; kept under `name` to be looked at.
    pub fn screenshot(&self, screen: &Screen, name: &str) -> RgbaImage {
        self.rest();
        screen.screenshot(name)
    }

    /// Clicks at a place, or holds the button there for a while, and takes the pointer away again; drawing on
    /// the processor, a frame may take longer than a click.
    pub fn click(&self, screen: &Screen, (x, y): (u32, u32), hold: bool) {
        screen.input(&["mousemove", &x.to_string(), &y.to_string()]);
        self.rest();
        if hold {
            screen.input(&["mousedown", "1"]);
            self.rest();
            screen.input(&["mouseup", "1"]);
        } else {
            screen.input(&["click", "1"]);
        }
        self.rest();
        screen.input(&["mousemove", "1340", "700"]);
    }

    /// Waits for the program to end by itself.
    pub fn ended(&mut self) -> std::process::ExitStatus {
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

/// The window on a cake: what it has to show, and from where.
struct View3d {
    cake: LoadedCake,
    showing: Showing,
    scene: Scene,
    pose: Pose,
    lens: Lens,
    size: (u32, u32),
}

impl View3d {
    /// The front view of the cake in `file` as `showing` says, true to scale, in the part of a screen of this
    /// size that the panel leaves.
    fn front(file: &Path, showing: Showing, screen: (u32, u32)) -> Self {
        let cake = CakeFileSource::new(Arc::new(Disk::new()), file, None).load(&Cancel::new()).unwrap();
        let scene = build_scene(&cake.model, &showing).unwrap();
        let size = (screen.0 - PANEL, screen.1 - BAR);
        let mut view = Self {
            cake,
            showing,
            pose: Pose::looking_at(DVec3::ZERO, View::Front, Lens::Orthographic, 1.0),
            scene,
            lens: Lens::Orthographic,
            size,
        };
        view.pose = view.fitted(View::Front);
        view
    }

    /// A view that fits the cake leaves 8 % free on each side.
    fn fitted(&self, view: View) -> Pose {
        let margins = Margins { left: 0.08, right: 0.08, top: 0.08, bottom: 0.08 };
        let points = self.scene.pieces.iter().flat_map(|piece| piece.surface.mesh.positions.iter().copied());
        let aspect = f64::from(self.size.0) / f64::from(self.size.1);
        Pose::framing(points, view, self.lens, aspect, margins)
    }

    /// The same eye on another stage.
    fn at(&self, stage: Stage) -> Self {
        let showing = Showing { stage, ..self.showing.clone() };
        let scene = build_scene(&self.cake.model, &showing).unwrap();
        Self { cake: self.cake.clone(), showing, scene, ..*self }
    }

    /// The same scene from another place.
    fn from(&self, pose: Pose) -> Self {
        Self {
            cake: self.cake.clone(),
            showing: self.showing.clone(),
            scene: self.scene.clone(),
            pose,
            ..*self
        }
    }

    /// Compares a screenshot with this, except at the legend and the words about the pointer; only below
    /// `top`, pixels.
    fn agreement(&self, screenshot: &RgbaImage, top: u32) -> Agreement {
        let expected = Expected::of(&self.scene, &self.pose, self.size);
        let right = self.size.0 - 170;
        expected
            .agreement(&picture(screenshot), |x, y| y < top || (x > right && y < 480) || (x < 340 && y > 660))
    }

    #[track_caller]
    fn assert_shown(&self, screenshot: &RgbaImage, name: &str) {
        self.agreement(screenshot, 0).assert(name);
    }
}

/// The part of a screenshot that shows the cake.
fn picture(screenshot: &RgbaImage) -> RgbaImage {
    let (width, height) = (screenshot.width() - PANEL, screenshot.height() - BAR);
    image::imageops::crop_imm(screenshot, PANEL, BAR, width, height).to_image()
}

/// The commonest colour of the panel.
fn panel_colour(screenshot: &RgbaImage) -> [u8; 3] {
    let mut counts = HashMap::new();
    for pixel in image::imageops::crop_imm(screenshot, 0, 0, PANEL, screenshot.height()).to_image().pixels() {
        *counts.entry([pixel.0[0], pixel.0[1], pixel.0[2]]).or_insert(0) += 1;
    }
    counts.into_iter().max_by_key(|(_, count)| *count).expect("the panel has pixels").0
}

/// How many pixels at the top left of the picture have the colour of a problem's title.
fn title_pixels(screenshot: &RgbaImage) -> usize {
    let is_title = |p: &image::Rgba<u8>| p.0[0].abs_diff(200) < 30 && p.0[1] < 90 && p.0[2] < 90;
    image::imageops::crop_imm(screenshot, PANEL, BAR, 660, 60)
        .to_image()
        .pixels()
        .filter(|p| is_title(p))
        .count()
}

/// How many pixels of dark text there are where the window says what the pointer is on.
fn words_about_pointer(screenshot: &RgbaImage) -> usize {
    let words = image::imageops::crop_imm(screenshot, PANEL + 20, 690, 260, 60).to_image();
    words.pixels().filter(|p| is_grey(p.0) && p.0[0] < 90).count()
}

/// A place on the first link of the panel of findings, which leads to the place of the first of them.
fn first_link(screenshot: &RgbaImage) -> (u32, u32) {
    let is_link = |p: &image::Rgba<u8>| p.0[0] < 110 && p.0[2] > 190;
    let panel = image::imageops::crop_imm(screenshot, 0, 40, 420, screenshot.height() - 40).to_image();
    let blue: Vec<(u32, u32)> =
        panel.enumerate_pixels().filter(|p| is_link(p.2)).map(|p| (p.0, p.1 + 40)).collect();
    let top = blue.iter().map(|p| p.1).min().expect("the bell has errors and the panel tells them");
    let word = blue.iter().filter(|p| p.1 < top + 14);
    (word.map(|p| p.0).min().unwrap() + 20, top + 6)
}

/// Drags with a button 140 pixels to the right, over the middle of the picture.
fn drag(window: &Program, screen: &Screen, button: &str) {
    screen.input(&["mousemove", "800", "400"]);
    window.rest();
    screen.input(&["mousedown", button]);
    for x in [820, 860, 900, 940] {
        screen.input(&["mousemove", &x.to_string(), "400"]);
        sleep(Duration::from_millis(60));
    }
    screen.input(&["mouseup", button]);
    window.rest();
}

#[test]
fn the_window_follows_mouse_keys_and_files_and_sleeps_otherwise() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bell.cake.toml");
    let text = fs::read_to_string(BELL).unwrap();
    fs::write(&file, &text).unwrap();
    // The smallest screen that the window has to be readable on.
    let screen = Screen::open((1366, 768));
    let mut window = Program::open(&screen, file.to_str().unwrap(), "Lopsided bell", &[]);
    let away = || screen.input(&["mousemove", "1340", "700"]);
    away();
    window.screenshot(&screen, "opened");

    // Comes to rest, and sleeps while nothing happens.
    let used = window.used_in(Duration::from_secs(5));
    println!("{used:.2} s of processor time in 5 s of rest");
    assert!(used < 0.15, "{used} s of processor time in 5 s of rest");

    // Without the ghost, true to scale, from the front. The first pose fits the ghost too, so F comes last.
    for key in ["g", "o"] {
        screen.input(&["key", key]);
        window.rest();
    }
    screen.input(&["key", "f"]);
    let front = View3d::front(&file, Showing { ghost: false, ..Showing::default() }, screen.size);
    let at_front = window.screenshot(&screen, "front");
    front.assert_shown(&at_front, "front");

    // Says what is under the pointer, and nothing where there is only ground.
    assert_eq!(words_about_pointer(&at_front), 0);
    screen.input(&["mousemove", "848", "400"]);
    let pointed = window.screenshot(&screen, "pointed");
    assert!(words_about_pointer(&pointed) > 150, "nothing is said about the pointer's place");

    // Turns under the mouse, moves with the right button, comes nearer with the wheel.
    drag(&window, &screen, "1");
    away();
    // 0.4 degrees a pixel.
    let turned = View::From { bearing: -56.0, elevation: 0.0 };
    let pose = Pose::looking_at(front.pose.target, turned, Lens::Orthographic, front.pose.height);
    front.from(pose).assert_shown(&window.screenshot(&screen, "turned"), "turned");
    screen.input(&["key", "f"]);
    window.rest();
    drag(&window, &screen, "3");
    away();
    let mm = 140.0 * front.pose.height / f64::from(front.size.1);
    let target = front.pose.target - DVec3::X * mm;
    let moved = front.from(Pose::looking_at(target, View::Front, Lens::Orthographic, front.pose.height));
    moved.assert_shown(&window.screenshot(&screen, "moved"), "moved");
    screen.input(&["mousemove", "800", "400"]);
    screen.input(&["click", "--repeat", "3", "--delay", "60", "5"]);
    away();
    // Each notch of the wheel is 12 %; a screen without a real wheel sends each of them twice.
    let shown = window.screenshot(&screen, "further");
    let after = |notches| {
        let height = front.pose.height / 0.88f64.powi(notches);
        front.from(Pose::looking_at(target, View::Front, Lens::Orthographic, height))
    };
    let notches = if after(6).agreement(&shown, 0).cake > 0.9 { 6 } else { 3 };
    after(notches).assert_shown(&shown, "further");

    // Goes to the place of a finding, from the panel that tells them.
    let error = front.cake.findings.iter().find(|finding| finding.severity == Severity::Error).unwrap();
    let place = error.place.expect("the bell's first error has a place");
    screen.input(&["key", "ctrl+8"]);
    window.click(&screen, first_link(&window.screenshot(&screen, "to-fix")), false);
    screen.input(&["key", "ctrl+1"]);
    window.rest();
    let (lo, hi) = front.scene.bounds().unwrap();
    let out = place - (lo + hi) / 2.0;
    let view = View::From { bearing: out.x.atan2(-out.y).to_degrees(), elevation: 15.0 };
    let pose = Pose::looking_at(place, view, Lens::Orthographic, (hi - lo).length() / 2.0);
    front.from(pose).assert_shown(&window.screenshot(&screen, "finding"), "finding");

    // The keyboard reaches the panel: after the three menus and ten panels of the bar, the first control makes the
    // window dark and light again.
    const LIGHT: [u8; 3] = [248, 248, 250];
    const DARK: [u8; 3] = [36, 39, 44];
    for _ in 0..14 {
        screen.input(&["key", "Tab"]);
        window.rest();
    }
    screen.input(&["key", "space"]);
    assert_eq!(panel_colour(&window.screenshot(&screen, "dark")), DARK);
    screen.input(&["key", "space"]);
    window.rest();
    screen.input(&["key", "Escape"]);
    window.rest();
    screen.input(&["key", "f"]);
    let back = window.screenshot(&screen, "back");
    assert_eq!(panel_colour(&back), LIGHT);
    front.assert_shown(&back, "back at the front");

    carve(&window, &screen, &front);

    // Shows what is wrong with the file, over the same cake, and recovers.
    fs::write(&file, text.replace("height = 4\n", "height = -4\n")).unwrap();
    sleep(Duration::from_secs(1));
    let wrong = window.screenshot(&screen, "problem");
    assert!(title_pixels(&wrong) > 200, "nothing is said about the file");
    front.agreement(&wrong, 400).assert("the last good picture");
    fs::write(&file, text.replace("Lopsided bell", "Straight bell")).unwrap();
    wait_for("the new name", 30, || !screen.input(&["search", "--name", "Straight bell"]).is_empty());
    let fixed = window.screenshot(&screen, "fixed");
    assert_eq!(title_pixels(&fixed), 0);
    front.assert_shown(&fixed, "fixed");

    switch_off_and_on(&window, &screen, &file);

    // Leaves without a crash.
    screen.input(&["windowfocus", "--sync", &window.id]);
    screen.input(&["key", "ctrl+q"]);
    let status = window.ended();
    assert!(status.success(), "the window left with {status}");
}

/// Height at which the slider of the making lies, pixels.
const SLIDER: u32 = 112;

/// Clicks the slider of the making: half carved, under coats, carved again.
fn carve(window: &Program, screen: &Screen, front: &View3d) {
    for (name, fraction) in [("half-carved", 1.0 / 6.0), ("coating", 0.55), ("carved", 1.0 / 3.0)] {
        let x = 14.0 + fraction * 300.0;
        window.click(screen, (x as u32, SLIDER), true);
        let screenshot = window.screenshot(screen, name);
        front.at(Stage::Fraction(fraction)).assert_shown(&screenshot, name);
    }
}

/// Where the box of the only layer of a cake lies, pixels.
const LAYER: (u32, u32) = (15, 436);

/// Switches the only layer of a cake off and on again.
fn switch_off_and_on(window: &Program, screen: &Screen, file: &Path) {
    let text = "crumbline = 1\nname = \"One layer\"\nboard = { round = 250, thickness = 12 }\n\
                [shape.turned]\npoints = [[80, 0], [60, 90]]\n\
                [[tier]]\nname = \"all\"\nlayer = [{ pan = { round = 200 }, height = 100 }]\n";
    fs::write(file, text).unwrap();
    wait_for("the other cake", 30, || !screen.input(&["search", "--name", "One layer"]).is_empty());
    window.rest();
    screen.input(&["key", "f"]);
    let front = View3d::front(file, Showing { ghost: false, ..Showing::default() }, screen.size);
    front.assert_shown(&window.screenshot(screen, "one-layer"), "one layer");
    window.click(screen, LAYER, false);
    let off = window.screenshot(screen, "layer-off");
    assert!(title_pixels(&off) > 200, "nothing is said about what is switched off");
    let below = |p: &(u32, u32, &image::Rgba<u8>)| p.1 > 150 && p.1 < 660;
    let coloured = picture(&off).enumerate_pixels().filter(below).filter(|p| !is_grey(p.2.0)).count();
    assert_eq!(coloured, 0, "cake is shown although all of it is switched off");
    window.click(screen, LAYER, false);
    let on = window.screenshot(screen, "layer-on");
    assert_eq!(title_pixels(&on), 0, "the message stays");
    front.assert_shown(&on, "switched on again");
}

#[test]
fn a_window_without_a_driver_says_so_and_ends() {
    let screen = Screen::open((800, 600));
    let mut environment = NO_DRIVER.to_vec();
    environment.extend([("DISPLAY", screen.display.as_str()), ("WAYLAND_DISPLAY", "")]);
    assert_refused(&crumbline(&["view", BELL], &environment), &["mesa-vulkan-drivers", "plan"]);
}

#[test]
fn where_there_is_no_vulkan_the_window_draws_by_opengl() {
    let screen = Screen::open((1366, 768));
    let window = Program::open(&screen, BELL, "Lopsided bell", &NO_VULKAN);
    let shown = picture(&window.screenshot(&screen, "opengl"));
    let colours: std::collections::HashSet<[u8; 4]> = shown.pixels().map(|pixel| pixel.0).collect();
    assert!(colours.len() > 200, "only {} colours in the picture", colours.len());
}

/// Where a dark and a light pixel lie side by side with one between them that is neither: an edge that is smooth.
fn smooth_edges(picture: &RgbaImage) -> usize {
    let bright = |x: u32, y: u32| i32::from(picture.get_pixel(x, y).0[1]);
    let is_between = |(x, y): (u32, u32)| {
        let (a, b) = (bright(x - 1, y), bright(x + 1, y));
        (a - b).abs() > 60 && (a.min(b) + 15..a.max(b) - 15).contains(&bright(x, y))
    };
    (0..picture.height())
        .flat_map(|y| (1..picture.width() - 1).map(move |x| (x, y)))
        .filter(|p| is_between(*p))
        .count()
}

#[test]
fn a_picture_that_is_left_alone_is_drawn_finely() {
    let screen = Screen::open((800, 600));
    let edges = |settings: &str, name: &str, enough: usize| {
        let home = tempfile::tempdir().unwrap();
        fs::create_dir_all(home.path().join("config")).unwrap();
        fs::write(home.path().join("config/window.toml"), settings).unwrap();
        let window = Program::start(&screen, home, &["view", BELL], "Lopsided bell", &[]);
        let found = std::cell::Cell::new(0);
        wait_for(name, 100, || {
            found.set(smooth_edges(&picture(&window.screenshot(&screen, name))));
            found.get() > enough
        });
        found.get()
    };
    let quick = edges(USUAL, "quick", 0);
    let fine =
        edges(&USUAL.replace("quick_picture = true", "quick_picture = false"), "fine", quick + quick / 10);
    println!("{quick} smooth pixels in motion, {fine} at rest");
}

#[test]
#[ignore = "for looking: the window on a screen with two pixels a point, light and dark"]
fn look_at_a_screen_of_high_density() {
    let screen = Screen::open((2560, 1600));
    let house = BELL.replace("lopsided-bell", "toadstool-house");
    let window = Program::open(&screen, &house, "Toadstool house", &[("WINIT_X11_SCALE_FACTOR", "2")]);
    screen.input(&["mousemove", "1700", "800"]);
    window.screenshot(&screen, "dense-light");
    screen.input(&["key", "d"]);
    window.screenshot(&screen, "dense-dark");
    drop(window);
}
