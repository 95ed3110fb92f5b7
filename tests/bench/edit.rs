//! How soon an edit in the window shows: from a number changed by dragging to the panels' drawings and the scene.
//!
//! `cargo bench --bench edit`. What the window does between a pointer that moved and a scene that can be drawn is done
//! here without a window: the edit of the text, the plan, the solids of all stages, the drawings of the panels, and the
//! pieces of the scene. Every edit is one that was not there before. Reference: 16 ms for turned shapes, 100 ms for the
//! others. "The text" is what answers in the same frame: the edit alone. At the end the memory of a window after 10 000
//! edits, each a step that can be undone, beside what it was after the first.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs, dead_code)]
mod row;

use std::{hint::black_box, path::Path, sync::Arc, time::Duration};

use crumbline::{
    cakefile::{
        FieldPath,
        edit::Edit,
        world::{Disk, World},
    },
    geom::Cancel,
    viewer::{CakeFileSource, CakeSource, Showing, build_scene},
};
use panels::Session;
use row::{head, medians, row};

const EXAMPLES: [(&str, u64); 6] = [
    ("toadstool-house", 16),
    ("garden-urn", 16),
    ("lopsided-bell", 16),
    ("pebble-lantern", 16),
    ("sitting-hen", 100),
    ("boulder", 100),
];

fn main() {
    head();
    let world: Arc<dyn World> = Arc::new(Disk::new());
    for (name, most) in EXAMPLES {
        let file = format!("assets/examples/{name}/{name}.cake.toml");
        let mut session = Session::open(&*world, Path::new(&file)).expect("an example");
        let source = CakeFileSource::new(world.clone(), Path::new(&file), None);
        let height = FieldPath::root().key("tier").index(0).key("layer").index(0).key("height");
        let form = session.document().length_form(&height);
        let mut mm = 50.0;
        let mut edit = |session: &mut Session| {
            mm += 0.01;
            let value = form.write(mm).expect("a length");
            session.drag("height", &Edit::Set { path: height.clone(), value }).expect("a height");
        };
        let [text] = medians([&mut || edit(&mut session)]);
        let [whole] = medians([&mut || {
            edit(&mut session);
            source.follow(&session);
            let cake = source.load(&Cancel::new()).expect("a cake");
            let scene = build_scene(&cake.model, &Showing::default()).expect("a scene");
            black_box(scene);
        }]);
        let budget = Duration::from_millis(most);
        row(&format!("{name}: the text vs {most} ms"), text, budget, Some(1.0));
        row(&format!("{name}: all that is shown vs {most} ms"), whole, budget, Some(1.0));
    }
    after_many_edits(&world);
}

/// Ten thousand steps; the cake is planned and its scene built for every tenth, as fast hands would.
fn after_many_edits(world: &Arc<dyn World>) {
    let file = "assets/examples/toadstool-house/toadstool-house.cake.toml";
    let mut session = Session::open(&**world, Path::new(file)).expect("an example");
    let source = CakeFileSource::new(world.clone(), Path::new(file), None);
    let height = FieldPath::root().key("tier").index(0).key("layer").index(0).key("height");
    let form = session.document().length_form(&height);
    let mut first = None;
    for step in 0..10_000_u32 {
        let value = form.write(50.0 + f64::from(step % 500) * 0.02).expect("a length");
        session.edit("height", &Edit::Set { path: height.clone(), value }).expect("a height");
        if step % 10 == 0 {
            source.follow(&session);
            let cake = source.load(&Cancel::new()).expect("a cake");
            black_box(build_scene(&cake.model, &Showing::default()).expect("a scene"));
        }
        if step == 100 {
            first = resident();
        }
    }
    if let (Some(first), Some(last)) = (first, resident()) {
        println!(
            "memory after 100 edits {first} MiB, after 10 000 {last} MiB: {:.2}",
            last as f64 / first as f64
        );
    }
}

/// Memory that is in use, MiB; `None` where the system does not tell.
fn resident() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
    Some(line.trim().trim_end_matches(" kB").parse::<u64>().ok()? / 1024)
}
