//! Solids and mock-ups in files: `export`.

use std::{
    cmp::Reverse,
    path::PathBuf,
    sync::atomic::{AtomicU64, Ordering},
};

use clap::Args as Flags;
use rayon::prelude::*;

use cakefile::Severity;
use formats::{
    export::{self, Format},
    model::{Model, Part, Stage},
};
use geom::progress::Progress;
use make::solids;

use super::{
    cake::CakeArgs,
    error::{CliError, tell},
    job::{self, StageName},
    progress::ProgressBars,
    run::{Outcome, print},
    talk::note,
};

/// Flags of `export`.
#[derive(Debug, Flags)]
pub struct ExportArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// The file to write; its ending says the format.
    pub file: PathBuf,
    /// A line ("finished", "coated", "carved") or a part by its name ("stalk 1", "offcut of stalk 1").
    /// May be given several times. Left out: the finished solid as STL, everything as OBJ, what the client sees
    /// as GLB and USDZ.
    #[arg(long, value_name = "NAME")]
    pub solid: Vec<String>,
    /// What the cake has come to in a GLB or USDZ file.
    #[arg(long, value_enum, conflicts_with = "solid")]
    pub stage: Option<StageName>,
    /// How far a mock-up's surface may stray from the true one, as "0.1 mm"; bare numbers are mm. GLB and USDZ files
    /// of few triangles are as fine as the cake file says.
    #[arg(long, value_name = "LENGTH", default_value = "0.1 mm")]
    pub error: String,
    /// Greatest distance between a curve and its straight pieces, instead of the cake file's.
    #[arg(long, value_name = "LENGTH")]
    pub chord: Option<String>,
}

/// The solid of an STL file unless others are asked for: the finished line's.
pub const FINISHED: &str = "finished";

/// How far a mock-up may stray from the true surface unless asked otherwise, mm.
pub const MOCK_UP_ERROR: f64 = 0.1;

/// A client's file of more triangles is simplified: so many are about 2 MB as GLB and 8 MB as USDZ, which goes with a letter
/// and turns smoothly on a phone (our choice).
const CLIENT_TRIANGLES: usize = 150_000;

/// `model` as light as a file of that format is to be.
pub fn lightened(model: Model, format: Format, error_mm: f64, progress: &dyn Progress) -> Model {
    match format {
        Format::Obj => simplified(model, error_mm, progress),
        Format::Glb | Format::Usdz if triangles(&model) > CLIENT_TRIANGLES => {
            simplified(model, error_mm, progress)
        }
        Format::Stl | Format::Glb | Format::Usdz => model,
    }
}

fn triangles(model: &Model) -> usize {
    model.parts.iter().map(|part| part.mesh.len()).sum()
}

fn simplified(mut model: Model, error_mm: f64, progress: &dyn Progress) -> Model {
    progress.start("simplifying", model.parts.len() as u64);
    let done = AtomicU64::new(0);
    // The largest first, so that none is left to a single thread at the end.
    let mut parts: Vec<&mut Part> = model.parts.iter_mut().collect();
    parts.sort_by_key(|part| Reverse(part.mesh.len()));
    parts.into_par_iter().with_max_len(1).for_each(|part| {
        part.mesh = export::simplified(&part.mesh, error_mm).mesh;
        part.shave_depth = Vec::new();
        progress.step(done.fetch_add(1, Ordering::Relaxed) + 1);
    });
    progress.finish();
    model
}

/// Writes what is asked for, in the format that the file's ending says.
pub fn export(args: &ExportArgs) -> Result<Outcome, CliError> {
    let ExportArgs { source, file, solid: names, stage, error, chord } = args;
    let format = Format::of(file)?;
    if stage.is_some() && !format.is_for_client() {
        return Err(CliError::Usage {
            what: format!("--stage goes with .glb and .usdz, not with .{}", format.ending()),
            fix: "leave it out, or name what to write with --solid (\"carved\")".into(),
        });
    }
    let error_mm = job::length(error, "--error")?;
    let chord = chord.as_deref().map(|text| job::tolerance(text, "--chord")).transpose()?;
    let plan = source.plan()?;
    let bars = ProgressBars::new();
    let catalogue = solids::catalogue(&plan);
    let design = &plan.design;
    bars.start("meshing", 1);
    let tolerance = chord.unwrap_or(match format {
        Format::Stl => design.tool,
        Format::Obj | Format::Glb | Format::Usdz => design.preview,
    });
    let model = match (format, names.as_slice()) {
        (Format::Obj, []) => solids::build_all(&plan, &job::mock_up(&catalogue), tolerance)?,
        (Format::Glb | Format::Usdz, []) => {
            let stage = stage.map(Stage::from).unwrap_or_default();
            solids::build_all(&plan, &job::shown_at(&plan, &catalogue, stage), tolerance)?
        }
        (Format::Stl, []) => job::built(&plan, &job::chosen(&catalogue, &[FINISHED.to_owned()])?, tolerance)?,
        (_, names) => job::built(&plan, &job::chosen(&catalogue, names)?, tolerance)?,
    };
    bars.finish();
    let model = lightened(model, format, error_mm, &bars);
    let left = triangles(&model);
    if format.is_for_client() && left > CLIENT_TRIANGLES {
        note(&format!(
            "note: {left} triangles are left, heavy for a phone; a larger --error makes them fewer\n"
        ));
    }
    let written = export::write_model(&model, file, &bars)?;
    for path in written {
        print(&format!("Wrote {}\n", path.display()))?;
    }
    let worst = plan.findings.iter().filter(|f| f.severity == Severity::Error).count();
    if worst == 0 {
        return Ok(Outcome::Sound);
    }
    tell(&format!("This cake has {worst} error finding(s): see crumbline plan {}\n", source.cake.display()));
    Ok(Outcome::Unsound)
}

#[cfg(test)]
mod tests {
    use formats::model::{PartKind, Rgb};
    use geom::{TriMesh, progress::NoProgress};
    use glam::DVec3;

    use super::*;

    /// A block with a surface of `across` by `across` squares on each side.
    fn block(across: u32) -> Model {
        let mut mesh = TriMesh::default();
        let mut numbers = std::collections::HashMap::new();
        for (side, flip) in (0..3).flat_map(|side| [(side, false), (side, true)]) {
            let mut at = |u: u32, v: u32| {
                let mut place = [0; 3];
                place[(side + 1) % 3] = u;
                place[(side + 2) % 3] = v;
                place[side] = if flip { 0 } else { across };
                *numbers.entry(place).or_insert_with(|| {
                    mesh.positions.push(DVec3::from(place.map(f64::from)));
                    mesh.positions.len() as u32 - 1
                })
            };
            for (u, v) in (0..across).flat_map(|u| (0..across).map(move |v| (u, v))) {
                let [a, b, c, d] = [at(u, v), at(u + 1, v), at(u + 1, v + 1), at(u, v + 1)];
                let triangles = if flip { [[a, c, b], [a, d, c]] } else { [[a, b, c], [a, c, d]] };
                mesh.triangles.extend(triangles);
            }
        }
        let (name, kind, colour) = ("block".to_owned(), PartKind::Finished, Rgb(1, 2, 3));
        let part = Part {
            name,
            kind,
            index: 0,
            material: String::new(),
            colour,
            tints: Vec::new(),
            mesh,
            shave_depth: Vec::new(),
        };
        Model { parts: vec![part], ..Model::default() }
    }

    #[test]
    fn a_heavy_file_for_the_client_is_simplified_and_a_light_one_left_as_it_is() {
        let (light, heavy) = (block(10), block(120));
        assert!(triangles(&light) < CLIENT_TRIANGLES && triangles(&heavy) > CLIENT_TRIANGLES);
        let left = |model: &Model, format| triangles(&lightened(model.clone(), format, 0.1, &NoProgress));
        for format in [Format::Glb, Format::Usdz] {
            assert_eq!(left(&light, format), triangles(&light));
            assert!(left(&heavy, format) < 1000, "{}", left(&heavy, format));
        }
        assert_eq!(left(&heavy, Format::Stl), triangles(&heavy));
        assert!(left(&light, Format::Obj) < 100);
    }
}
