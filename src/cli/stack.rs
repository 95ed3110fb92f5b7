//! `stack`: which pans, how many, where the boards go.

use std::path::PathBuf;

use clap::Args;

use super::{
    cake::CakeArgs,
    error::CliError,
    job,
    progress::ProgressBars,
    run::{Outcome, json_text, print},
};
use formats::export::write_atomic;
use geom::Cancel;
use plan::{Planner, pantry::Pantry};
use shop::{
    arrange::{self, Aim, Effort},
    scale::{self, Goal, ScaleError},
};

/// Flags of `stack`.
#[derive(Debug, Args)]
pub struct StackArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// Scale the shape to serve so many, by the cutting plan in the pantry's portion.
    #[arg(long, value_name = "COUNT", group = "goal")]
    pub serve: Option<u32>,
    /// Scale the shape to this height.
    #[arg(long, value_name = "LENGTH", group = "goal")]
    pub height: Option<String>,
    /// Scale the shape to fit, board and all: a space of the pantry, as fridge, or a box as "300 mm x 300 mm x 350 mm".
    #[arg(long, value_name = "SPACE", group = "goal")]
    pub fit: Option<String>,
    /// The stack to show in full and to write: best, least-waste, fewest-bakes, fewest-pan-sizes or, where the best has
    /// layers of pieces, whole-layers.
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
    let found = Aim::CHOICES.into_iter().find(|aim| aim.name() == text);
    found.ok_or_else(|| "choose best, least-waste, fewest-bakes, fewest-pan-sizes or whole-layers".into())
}

impl StackArgs {
    /// What the shape is to be scaled for.
    fn goal(&self, pantry: &Pantry) -> Result<Option<Goal>, CliError> {
        let usage = |what: String, fix: &str| CliError::Usage { what, fix: fix.into() };
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
            let fix = format!(
                "give width x depth x height, as \"300 mm x 300 mm x 350 mm\", or a space under [pantry.spaces]{}",
                if known.is_empty() { String::new() } else { format!(": {}", known.join(", ")) }
            );
            return Err(usage(format!("--fit: the pantry has no space called \"{space}\""), &fix));
        };
        Ok(Some(Goal::Fit([job::length(w, "--fit")?, job::length(d, "--fit")?, job::length(h, "--fit")?])))
    }
}

fn refused(error: ScaleError) -> CliError {
    let fix = error.fix();
    match error {
        ScaleError::Arrange(error) => error.into(),
        other => CliError::Usage { what: other.to_string(), fix },
    }
}

/// Proposes stacks and writes the chosen one.
///
/// # Errors
/// A wrong cake or pantry file, or a file that cannot be written.
pub fn stack(args: &StackArgs) -> Result<Outcome, CliError> {
    let source = args.source.source()?;
    let (planner, cancel) = (Planner::new(), Cancel::new());
    let pantry = arrange::resolved(&planner, &source, &cancel)?.pantry;
    let scaled = match args.goal(&pantry)? {
        Some(goal) => Some(scale::scale(&planner, &source, goal, &cancel).map_err(refused)?),
        None => None,
    };
    if let Some(scaled) = scaled.as_ref().filter(|_| !args.json) {
        print(&format!("The shape is scaled to {:.1} % of its size.\n\n", 100.0 * scaled.factor))?;
    }
    let source = scaled.map_or(source, |scaled| scaled.source);
    let proposals =
        arrange::propose(&planner, &source, &Aim::ALL, Effort::default(), &cancel, &ProgressBars::new())?;
    let has = |p: &arrange::Proposal| p.aims.contains(&args.choose);
    // An aim whose stacks fail their own check has none to show, or to write.
    let chosen = match proposals.proposals.iter().position(has) {
        None if proposals.failed.iter().any(has) => proposals.proposals.len(),
        position => position.unwrap_or(0),
    };
    let text =
        if args.json { json_text(&arrange::summary(&proposals))? } else { arrange::text(&proposals, chosen) };
    print(&text)?;
    if let (Some(out), Some(proposal)) = (&args.out, proposals.proposals.get(chosen)) {
        write_atomic(out, |w| w.write_all(proposal.text.as_bytes()))?;
        if !args.json {
            print(&format!("\nWrote {}. Next: crumbline plan {0}\n", out.display()))?;
        }
    }
    let sound = proposals.trouble.is_none()
        && proposals.proposals.get(chosen).is_some_and(|proposal| !proposal.plan.has_errors());
    Ok(if sound { Outcome::Sound } else { Outcome::Unsound })
}
