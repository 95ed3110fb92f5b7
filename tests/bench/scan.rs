//! A client's model of a million triangles against a stack of six layers: from the file to the plan.
//!
//! `cargo bench --no-default-features --bench scan`. Budget: 3 s on two cores and 1.5 GB for everything. Beside it
//! trimesh, which reads the same file, takes its volume and cuts it at the twelve heights of the layers
//! (`tests/reference/scan_times.py`).

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs)]
mod python;
#[allow(missing_docs)]
mod row;

use std::{
    f64::consts::{PI, TAU},
    fs,
    hint::black_box,
    sync::Arc,
    time::{Duration, Instant},
};

use crumbline::{
    cakefile::world::Disk,
    export::stl,
    geom::{DistanceField, TriMesh, uncancelled},
    plan::{Plan, Source},
    scan::{self, Placing, RepairOptions, Scale},
};
use glam::{DVec3, dvec3};
use row::{head, medians, row};

/// Most that everything may take.
const BUDGET: Duration = Duration::from_secs(3);

/// Most memory that everything may take, MB.
const MEMORY: u64 = 1500;

const CAKE: &str = r#"
crumbline = 1
name = "stone"
shape = { scanned = { file = "stone.stl", unit = "mm", cut_bottom = 8 } }
covering = [{ material = "rolled icing", thickness = 3 }, { material = "ganache", thickness = 6 }]
[[tier]]
name = "stone"
filling = { material = "buttercream", thickness = 4 }
layer = [
    { pan = { round = 300 }, height = 30 },
    { pan = { round = 300 }, height = 30 },
    { pan = { round = 300 }, height = 30 },
    { pan = { round = 300 }, height = 30 },
    { pan = { round = 300 }, height = 30, offset = [3, 0] },
    { pan = { round = 240 }, height = 30 },
]
"#;

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let (model, cake) = (folder.path().join("stone.stl"), folder.path().join("stone.cake.toml"));
    fs::write(&model, stl_bytes(&stone(1000, 501))).expect("written");
    fs::write(&cake, CAKE).expect("written");
    println!("{} threads", rayon::current_num_threads());
    let whole = || {
        let source = Source::read(Arc::new(Disk::new()), &cake, None).expect("read");
        Plan::new(&source).expect("a plan")
    };
    let before = Instant::now();
    let plan = whole();
    let first = before.elapsed();
    let (used, fits) = (peak_memory(), |most: u64, used: u64| if used <= most { "met" } else { "not met" });
    println!("{} findings", plan.findings.len());
    drop(plan);
    steps(&model);
    let again = median(whole);
    let verdict = if again <= BUDGET { "met" } else { "not met" };
    println!("all of it, first time {first:.2?}, then {again:.2?}, budget {BUDGET:?}: {verdict}");
    match used {
        Some(used) => println!("memory at most {used} MB, budget {MEMORY} MB: {}", fits(MEMORY, used)),
        None => println!("memory is known on Linux only"),
    }
    if let Some(times) = python::times("scan_times.py", &[&model]) {
        head();
        row("1 M triangles to a plan vs trimesh's cuts", again, times[0], None);
    }
}

/// Times of the steps that are this module's own.
fn steps(model: &std::path::Path) {
    let bytes = fs::read(model).expect("there");
    let timed = |name: &str, took: Duration| println!("{name:<44} {:>7.1} ms", 1e3 * took.as_secs_f64());
    timed("STL read and weld", median(|| stl::read(&bytes).expect("read")));
    let nothing = |_: &str| Err(std::io::ErrorKind::NotFound.into());
    let model = scan::read(&bytes, scan::Format::Stl, &nothing).expect("read");
    let placing = Placing {
        up: None,
        front: None,
        turn: 0.0,
        scale: Scale::Unit(1.0),
        sink: 8.0,
        centre: scan::Centre::Box,
    };
    timed("stood on the board", median(|| placing.of(&model).expect("placed")));
    let placed = placing.of(&model).expect("placed");
    timed("repaired", median(|| scan::repaired(&placed, &RepairOptions::default()).expect("repaired")));
    let mesh = scan::repaired(&placed, &RepairOptions::default()).expect("repaired").mesh;
    timed("ready for depths", median(|| DistanceField::new(&mesh)));
    let depths = DistanceField::new(&mesh);
    timed("undercuts", median(|| scan::undercuts(&mesh, &depths)));
    for step in [1.5, 2.0, 3.0] {
        let insets = uncancelled(|cancel| depths.insets(&[3.0, 9.0], step, cancel));
        let triangles: usize = insets.iter().map(TriMesh::len).sum();
        timed(
            &format!("two insets, step {step} mm, {triangles} triangles"),
            median(|| uncancelled(|cancel| depths.insets(&[3.0, 9.0], step, cancel))),
        );
    }
}

fn median<T>(work: impl Fn() -> T) -> Duration {
    let [time] = medians([&mut || drop(black_box(work()))]);
    time
}

/// The most memory that this process has held, MB.
fn peak_memory() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse::<u64>().ok().map(|kilobytes| kilobytes / 1024)
}

/// A worn stone 260 mm wide of 2 · `around` · (`up` − 1) triangles.
fn stone(around: u32, up: u32) -> TriMesh {
    let at = |u: f64, v: f64| {
        let (sin, cos) = (PI * v).sin_cos();
        let (x, y) = (TAU * u).sin_cos();
        let n = dvec3(x * sin, y * sin, -cos);
        let waves =
            0.04 * (5.0 * n.x + 1.0).sin() * (4.0 * n.y).cos() + 0.02 * (11.0 * n.z + 7.0 * n.x).sin();
        n * dvec3(130.0, 118.0, 104.0) * (1.0 + waves)
    };
    let mut mesh = TriMesh { positions: vec![at(0.0, 0.0), at(0.0, 1.0)], triangles: Vec::new() };
    for j in 1..up {
        mesh.positions
            .extend((0..around).map(|i| at(f64::from(i) / f64::from(around), f64::from(j) / f64::from(up))));
    }
    let vertex = |i: u32, j: u32| match j {
        0 => 0,
        j if j == up => 1,
        j => 2 + (j - 1) * around + i % around,
    };
    for j in 0..up {
        for i in 0..around {
            let [a, b, c, d] = [vertex(i, j), vertex(i + 1, j), vertex(i + 1, j + 1), vertex(i, j + 1)];
            if j > 0 {
                mesh.triangles.push([a, c, b]);
            }
            if j + 1 < up {
                mesh.triangles.push([a, d, c]);
            }
        }
    }
    mesh
}

fn stl_bytes(mesh: &TriMesh) -> Vec<u8> {
    let mut bytes = vec![b'-'; 80];
    bytes.extend((mesh.len() as u32).to_le_bytes());
    for index in 0..mesh.len() {
        bytes.extend([0; 12]);
        let corners: [DVec3; 3] = mesh.corners(index);
        bytes.extend(corners.iter().flat_map(|p| p.as_vec3().to_array()).flat_map(f32::to_le_bytes));
        bytes.extend([0; 2]);
    }
    bytes
}
