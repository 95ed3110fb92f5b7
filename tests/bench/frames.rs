//! How soon the first picture is there, and how long a frame takes while the cake turns.
//!
//! `cargo bench --bench frames`, on a machine with a graphics card; on one without it draws on the
//! processor and is slow. The window's scene is drawn without a window at 1920 × 1080: a vessel under two
//! coverings out of five layers, carved and coloured by depth, with the raw stack as a ghost. Each size runs
//! in a process of its own. The first picture is counted from the start of that process, planning and
//! meshing the cake included; a frame is what the engine takes to send it and what the card then still takes to
//! finish it. The window does both side by side, so the longer one counts. Budgets: 1 s, and 4 ms a frame.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs, dead_code)]
mod cake;

use std::{
    process::Command,
    time::{Duration, Instant},
};

use crumbline::viewer::{FrameTime, PictureOptions, Studio, describe_driver, stage};

/// Triangles wanted on the stage, points of the profile and meridians that give about as many.
const SIZES: [(&str, u32, u32); 2] = [("130 000", 100, 288), ("1 000 000", 480, 640)];

/// Frames in one turn; without a graphics card, where each takes long, only a few.
const FRAMES: u32 = 240;
const FEW: u32 = 12;

fn main() {
    let start = Instant::now();
    // Cargo passes `--bench` along; the row to measure comes from below.
    match std::env::var("CRUMBLINE_FRAMES_ROW").ok().and_then(|row| row.parse::<usize>().ok()) {
        Some(row) => measure(start, SIZES[row]),
        None => all(),
    }
}

fn all() {
    match describe_driver() {
        Ok(driver) => println!("drawn by {driver}"),
        Err(error) => return println!("not measured: {error}"),
    }
    println!(
        "{:<10} {:>10} {:>14} {:>9} {:>9} {:>9}  budgets: first ≤ 1 s, median frame ≤ 4 ms",
        "wanted", "triangles", "first picture", "median", "95 in 100", "longest"
    );
    for row in 0..SIZES.len() {
        let program = std::env::current_exe().expect("a program knows itself");
        let status = Command::new(program).env("CRUMBLINE_FRAMES_ROW", row.to_string()).status();
        assert!(status.expect("it starts").success(), "row {row} was not measured");
    }
}

fn measure(start: Instant, (wanted, points, around): (&str, u32, u32)) {
    let fine = cake::meridians(140.0, around);
    let (_, model) = cake::planned(&cake::vessel(points, "pan = { round = 280 }", ""), fine);
    let options = PictureOptions { size: (1920, 1080), takes: 1, legend: false, ..PictureOptions::default() };
    let ready = start.elapsed();
    let mut studio = Studio::open().expect("a driver");
    let opened = start.elapsed();
    studio.picture(&model, &options).expect("a picture");
    let first = start.elapsed();
    let clock = Instant::now();
    let drawn = stage(&model, &options.showing).expect("a stage").pieces;
    let staging = clock.elapsed();
    let triangles: usize = drawn.iter().map(|piece| piece.surface.mesh.len()).sum();
    let mut turn = |frames| studio.turning_times(&model, &options, frames).expect("a turn");
    let mut times = turn(FEW);
    if times.iter().all(|time| time.engine + time.card < Duration::from_millis(50)) {
        times = turn(FRAMES);
    }
    let share = |of: fn(&FrameTime) -> Duration, share: usize| {
        let mut all: Vec<Duration> = times.iter().map(of).collect();
        all.sort_unstable();
        ms(all[(all.len() - 1) * share / 100])
    };
    let longer = |time: &FrameTime| time.engine.max(time.card);
    let met = |yes: bool| if yes { "met" } else { "not met" };
    println!(
        "{wanted:<10} {triangles:>10} {:>11.0} ms {:>6.2} ms {:>6.2} ms {:>6.2} ms  {}, {}",
        ms(first),
        share(longer, 50),
        share(longer, 95),
        share(longer, 100),
        met(first <= Duration::from_secs(1)),
        met(share(longer, 50) <= 4.0),
    );
    println!(
        "{:<21} medians: engine {:.2} ms, card {:.2} ms, one after the other {:.2} ms",
        "",
        share(|time| time.engine, 50),
        share(|time| time.card, 50),
        share(|time| time.engine + time.card, 50)
    );
    println!(
        "{:<21} of that: cake {:.0} ms, driver and engine {:.0} ms, stage {:.0} ms, meshes, shaders and picture {:.0} ms",
        "",
        ms(ready),
        ms(opened - ready),
        ms(staging),
        ms(first - opened - staging)
    );
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}
