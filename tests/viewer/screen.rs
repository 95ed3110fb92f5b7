//! A screen that only exists in memory, with its mouse and keys.

use std::{
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    sync::atomic::{AtomicU32, Ordering},
    thread::sleep,
    time::{Duration, Instant},
};

use image::RgbaImage;

/// An Xvfb server.
pub struct Screen {
    server: Child,
    /// Its name, as in `DISPLAY`.
    pub display: String,
    /// Width and height, pixels.
    pub size: (u32, u32),
}

/// Screens opened by this process so far.
static OPENED: AtomicU32 = AtomicU32::new(0);

impl Screen {
    /// Opens a screen of this size.
    pub fn open(size: (u32, u32)) -> Self {
        /// Screens of one process: more than there are tests with a window, as two of one number would be one.
        const SCREENS: u32 = 32;
        let own = OPENED.fetch_add(1, Ordering::Relaxed);
        assert!(own < SCREENS, "more screens than there are numbers for");
        let number = 90 + SCREENS * (std::process::id() % 200) + own;
        let display = format!(":{number}");
        let socket = format!("/tmp/.X11-unix/X{number}");
        assert!(!Path::new(&socket).exists(), "{display} is another's screen");
        let server = Command::new("Xvfb")
            .args([
                &display,
                "-screen",
                "0",
                &format!("{}x{}x24", size.0, size.1),
                "-nolisten",
                "tcp",
                "-noreset",
            ])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb is installed");
        wait_for("the screen", 20, || Path::new(&socket).exists());
        Self { server, display, size }
    }

    /// Moves or presses mouse or keys; returns what xdotool prints.
    pub fn input(&self, arguments: &[&str]) -> String {
        let output = Command::new("xdotool").args(arguments).env("DISPLAY", &self.display).output();
        String::from_utf8_lossy(&output.expect("xdotool is installed").stdout).into_owned()
    }

    /// A screenshot; kept under `name` to be looked at.
    pub fn screenshot(&self, name: &str) -> RgbaImage {
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("window-{name}.png"));
        let status = Command::new("import")
            .args(["-window", "root", path.to_str().unwrap()])
            .env("DISPLAY", &self.display)
            .status()
            .expect("ImageMagick is installed");
        assert!(status.success());
        image::open(path).unwrap().into_rgba8()
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// Waits until `ready`.
pub fn wait_for(what: &str, seconds: u64, ready: impl Fn() -> bool) {
    let start = Instant::now();
    while !ready() {
        assert!(start.elapsed() < Duration::from_secs(seconds), "{what} did not come");
        sleep(Duration::from_millis(50));
    }
}
