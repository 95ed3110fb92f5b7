//! Every shipped example against its budgets: plan, stack, stack scaled to serve so many, kit and OBJ.
//!
//! `cargo bench --no-default-features --bench examples`; names after `--` choose examples. The references are the
//! budgets, and, for the plan, manifold3d carving the same meshes (`tests/reference/boolean_times.py`), which is
//! less work: no lines, no depths, no coverings, no support. The fastest of five counts: what else runs on the
//! machine only ever adds to a time.

#[allow(missing_docs, dead_code)]
mod meshes;
#[allow(missing_docs, dead_code)]
mod python;
#[allow(missing_docs, dead_code)]
mod row;

use std::{
    hint::black_box,
    path::Path,
    process::Command,
    sync::Arc,
    time::{Duration, Instant},
};

use crumbline::{
    arrange::{self, Aim, Effort},
    cakefile::world::Disk,
    geom::Cancel,
    kit::{Group, Kit},
    plan::{Plan, Planner, Source},
    progress::NoProgress,
};
use row::{head, row};

/// An example, and how long its plan, its stack, its kit and its OBJ may take, ms.
const EXAMPLES: [(&str, [u64; 4]); 7] = [
    ("toadstool-house", [60, 300, 2000, 500]),
    ("garden-urn", [60, 300, 2000, 500]),
    ("lopsided-bell", [60, 300, 2000, 500]),
    ("pebble-lantern", [60, 300, 2000, 500]),
    ("planter-pot", [60, 300, 2000, 500]),
    ("boulder", [400, 300, 2000, 500]),
    ("sitting-hen", [400, 1500, 2000, 2000]),
];

/// How many an example is scaled to serve; those that no stack serves so many of are left out.
const SERVED: [(&str, &str); 4] =
    [("toadstool-house", "40"), ("garden-urn", "20"), ("lopsided-bell", "40"), ("sitting-hen", "36")];

/// The most time for that.
const TO_SERVE: Duration = Duration::from_secs(2);

fn main() {
    let asked: Vec<String> = std::env::args().skip(1).filter(|name| !name.starts_with('-')).collect();
    head();
    for (name, budgets) in EXAMPLES {
        if asked.is_empty() || asked.iter().any(|asked| asked == name) {
            measure(name, budgets.map(Duration::from_millis));
        }
    }
}

fn measure(name: &str, [to_plan, to_stack, to_kit, to_obj]: [Duration; 4]) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let file = root.join(format!("assets/examples/{name}/{name}.cake.toml"));
    let folder = tempfile::tempdir().expect("a folder");
    let source = || Source::read(Arc::new(Disk::new()), &file, None).expect("read");
    let planned = || Plan::new(&source()).expect("a plan");
    let program = |arguments: &[&std::ffi::OsStr]| {
        let output = Command::new(env!("CARGO_BIN_EXE_crumbline")).args(arguments).output();
        assert!(output.expect("the program runs").status.code().is_some_and(|code| code < 2));
    };

    let whole = fastest(|| program(&["plan".as_ref(), file.as_os_str()]));
    row(&format!("{name}: plan, start to report"), whole, to_plan, Some(1.0));
    let inside = fastest(|| drop(black_box(planned())));
    row(&format!("{name}: of that cake file to plan"), inside, whole, None);

    let stacked = fastest(|| {
        let (planner, cancel) = (Planner::new(), Cancel::new());
        let proposals =
            arrange::propose(&planner, &source(), &Aim::ALL, Effort::default(), &cancel, &NoProgress);
        drop(black_box(proposals));
    });
    row(&format!("{name}: cake file to stacks"), stacked, to_stack, Some(1.0));

    if let Some((_, count)) = SERVED.iter().find(|(served, _)| *served == name) {
        let arguments = ["stack".as_ref(), file.as_os_str(), "--serve".as_ref(), count.as_ref()];
        let served = fastest(|| program(&arguments));
        row(&format!("{name}: stack that serves {count}, start to text"), served, TO_SERVE, Some(1.0));
    }

    let kit = fastest(|| {
        let plan = planned();
        drop(black_box(Kit::new(&plan, &plan.design.printing, &Group::ALL, &NoProgress).expect("a kit")));
    });
    row(&format!("{name}: cake file to printed tools"), kit, to_kit, Some(1.0));

    let obj = folder.path().join("cake.obj");
    let export = fastest(|| program(&["export".as_ref(), file.as_os_str(), obj.as_os_str()]));
    row(&format!("{name}: OBJ, start to file"), export, to_obj, Some(1.0));

    let plan = planned();
    let same = folder.path().join("meshes");
    meshes::write(&plan, plan.design.tool, &same);
    if let Some(times) = python::times("boolean_times.py", &[&same]) {
        row(&format!("{name}: cake file to plan vs manifold3d"), inside, times[0], None);
    }
}

/// The shortest of five times.
fn fastest(mut work: impl FnMut()) -> Duration {
    let time = |_| {
        let start = Instant::now();
        work();
        start.elapsed()
    };
    (0..5).map(time).min().unwrap_or_default()
}
