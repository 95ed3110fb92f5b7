//! `stack`: which pans, how many, where the boards go.

use std::path::{Path, PathBuf};

use clap::Args;

use super::{
    error::CliError,
    job,
    run::{Outcome, print},
};
use cakefile::CakeFile;
use formats::export::write_whole;
use plan::pantry::Pantry;
use shop::{
    arrange::{self, Aim, Effort},
    scale::{self, Goal, ScaleError},
};

/// Flags of `stack`.
#[derive(Debug, Args)]
pub struct StackArgs {
    /// The cake file; its own tiers are not looked at.
    pub cake: PathBuf,
    /// The pantry file. Left out: `pantry.toml` beside the cake file, or the pantry that comes with the program.
    #[arg(long, value_name = "FILE")]
    pub pantry: Option<PathBuf>,
    /// Scale the shape to serve so many, by the cutting plan in the pantry's portion.
    #[arg(long, value_name = "COUNT", group = "goal")]
    pub serve: Option<u32>,
    /// Scale the shape to this height.
    #[arg(long, value_name = "LENGTH", group = "goal")]
    pub height: Option<String>,
    /// Scale the shape to fit, board and all: a space of the pantry, as fridge, or a box as "300 mm x 300 mm x 350 mm".
    #[arg(long, value_name = "SPACE", group = "goal")]
    pub fit: Option<String>,
    /// The stack to show in full and to write: best, least-waste, fewest-bakes or fewest-pan-sizes.
    #[arg(long, value_name = "AIM", value_parser = aim, default_value = "best")]
    pub choose: Aim,
    /// Write the cake file with the chosen stack in the place of its own tiers here.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Print the proposals as JSON.
    #[arg(long)]
    pub json: bool,
}

fn aim(text: &str) -> Result<Aim, String> {
    let found = Aim::ALL.into_iter().find(|aim| aim.name() == text);
    found.ok_or_else(|| "choose best, least-waste, fewest-bakes or fewest-pan-sizes".into())
}

/// The pantry that a cake is planned with: the program's, the maker's over it, the cake file's over both.
///
/// # Errors
/// Every problem of the pantry file, or of the cake file's own part.
pub(super) fn pantry(file: &CakeFile, named: Option<&Path>) -> Result<Pantry, CliError> {
    let shared = shared_pantry(file.folder(), named)?;
    match file.parse().document {
        Some(cake) => Ok(shared.with_cake(&cake, file)?),
        None => Ok(shared),
    }
}

/// The pantry for every cake in `folder`.
///
/// # Errors
/// Every problem of the pantry file.
pub(super) fn shared_pantry(folder: &Path, named: Option<&Path>) -> Result<Pantry, CliError> {
    /// What a pantry file beside a cake file is called.
    const BESIDE: &str = "pantry.toml";
    let beside = folder.join(BESIDE);
    match named {
        Some(named) => Ok(Pantry::usual().with_file(&CakeFile::read(named)?)?),
        None if beside.is_file() => Ok(Pantry::usual().with_file(&CakeFile::read(&beside)?)?),
        None => Ok(Pantry::usual()),
    }
}

impl StackArgs {
    /// What the shape is to be scaled for.
    fn goal(&self, pantry: &Pantry) -> Result<Option<Goal>, CliError> {
        let usage = |what: String, mend: &str| CliError::Usage { what, mend: mend.into() };
        if self.serve == Some(0) {
            return Err(usage("--serve cannot be 0".into(), "give how many are to be served"));
        }
        if let Some(height) = &self.height {
            return Ok(Some(Goal::Height(job::length(height, "--height")?)));
        }
        let Some(space) = &self.fit else { return Ok(self.serve.map(Goal::Serve)) };
        if let Some(known) = pantry.spaces.get(space) {
            return Ok(Some(Goal::Fit(*known)));
        }
        let sides: Vec<&str> = space.split('x').map(str::trim).collect();
        let [w, d, h] = sides[..] else {
            let known: Vec<&str> = pantry.spaces.keys().map(String::as_str).collect();
            let mend = format!(
                "give width x depth x height, as \"300 mm x 300 mm x 350 mm\", or a space under [pantry.spaces]{}",
                if known.is_empty() { String::new() } else { format!(": {}", known.join(", ")) }
            );
            return Err(usage(format!("--fit: the pantry has no space called \"{space}\""), &mend));
        };
        Ok(Some(Goal::Fit([job::length(w, "--fit")?, job::length(d, "--fit")?, job::length(h, "--fit")?])))
    }
}

fn refused(error: ScaleError) -> CliError {
    let mend = error.mend();
    match error {
        ScaleError::Arrange(error) => error.into(),
        other => CliError::Usage { what: other.to_string(), mend },
    }
}

/// Proposes stacks and writes the chosen one.
///
/// # Errors
/// A wrong cake or pantry file, or a file that cannot be written.
pub fn stack(args: &StackArgs) -> Result<Outcome, CliError> {
    let file = CakeFile::read(&args.cake)?;
    let pantry = pantry(&file, args.pantry.as_deref())?;
    let scaled = match args.goal(&pantry)? {
        Some(goal) => Some(scale::scale(&file, &pantry, goal).map_err(refused)?),
        None => None,
    };
    if let Some(scaled) = scaled.as_ref().filter(|_| !args.json) {
        print(&format!("The shape is scaled to {:.1} % of its size.\n\n", 100.0 * scaled.factor))?;
    }
    let file = scaled.map_or(file, |scaled| scaled.file);
    let proposals = arrange::propose(&file, &pantry, &Aim::ALL, Effort::default())?;
    let has = |p: &arrange::Proposal| p.aims.contains(&args.choose);
    let chosen = proposals.proposals.iter().position(has).unwrap_or(0);
    let text = if args.json {
        serde_json::to_string_pretty(&arrange::told(&proposals))? + "\n"
    } else {
        arrange::text(&proposals, chosen)
    };
    print(&text)?;
    if let (Some(out), Some(proposal)) = (&args.out, proposals.proposals.get(chosen)) {
        write_whole(out, |w| w.write_all(proposal.text.as_bytes()))?;
        if !args.json {
            print(&format!("\nWrote {}. Next: crumbline plan {0}\n", out.display()))?;
        }
    }
    let sound = proposals.trouble.is_none()
        && proposals.proposals.get(chosen).is_some_and(|proposal| !proposal.plan.has_errors());
    Ok(if sound { Outcome::Sound } else { Outcome::Unsound })
}
