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
    scale::{self, Goal, Grow, ScaleError},
    serve::serve,
};

/// Flags of `stack`.
#[derive(Debug, Args)]
pub struct StackArgs {
    #[command(flatten)]
    pub source: CakeArgs,
    /// Scale the shape to serve so many, by the cutting plan in the pantry's portion.
    #[arg(long, value_name = "COUNT", group = "goal")]
    pub serve: Option<u32>,
    /// How --serve or --fit scale it: sideways (its height stays) or evenly. Left out, evenly; but with --serve a shape with
    /// the same outline at every height grows sideways.
    #[arg(long, value_name = "HOW", value_parser = grow)]
    pub grow: Option<Grow>,
    /// Scale the shape to this height.
    #[arg(long, value_name = "LENGTH", group = "goal")]
    pub height: Option<String>,
    /// Scale the shape to fit, board and all: a space of the pantry, as fridge, or a box as "300 mm x 300 mm x 350 mm".
    #[arg(long, value_name = "SPACE", group = "goal")]
    pub fit: Option<String>,
    /// The stack to show in full and to write: best, least-offcut, fewest-bakes, fewest-pan-sizes or, where the best has
    /// layers of pieces, whole-layers.
    #[arg(long, value_name = "AIM", value_parser = aim, default_value = "best")]
    pub choose: Aim,
    /// Write the cake file with the chosen stack in the place of its own tiers here.
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Print the proposals as JSON.
    #[arg(long)]
    pub json: bool,
}

fn grow(text: &str) -> Result<Grow, String> {
    match text {
        "sideways" => Ok(Grow::Sideways),
        "evenly" => Ok(Grow::Evenly),
        _ => Err("choose sideways or evenly".into()),
    }
}

fn aim(text: &str) -> Result<Aim, String> {
    let found = Aim::CHOICES.into_iter().find(|aim| aim.name() == text);
    found.ok_or_else(|| "choose best, least-offcut, fewest-bakes, fewest-pan-sizes or whole-layers".into())
}

impl StackArgs {
    /// What the shape is to be scaled for.
    fn goal(&self, pantry: &Pantry) -> Result<Option<Goal>, CliError> {
        let usage = |what: String, fix: &str| CliError::Usage { what, fix: fix.into() };
        if self.serve == Some(0) {
            return Err(usage("--serve cannot be 0".into(), "give how many are to be served"));
        }
        if self.grow.is_some() && self.serve.is_none() && self.fit.is_none() {
            return Err(usage(
                "--grow says how --serve and --fit scale the shape, and neither is given".into(),
                "leave it out, or add --serve COUNT or --fit SPACE",
            ));
        }
        if let Some(height) = &self.height {
            return Ok(Some(Goal::Height(job::length(height, "--height")?)));
        }
        let Some(space) = &self.fit else { return Ok(None) };
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
    let goal = args.goal(&pantry)?;
    let effort = Effort::default();
    let progress = ProgressBars::new();
    let (scaled, found) = match (args.serve, goal) {
        (Some(count), _) => {
            let made = serve(&planner, &source, count, args.grow, &Aim::ALL, effort, &cancel, &progress);
            let (scaled, found) = made.map_err(refused)?;
            (Some(scaled), Some(found))
        }
        (None, Some(goal)) => {
            let grow = args.grow.unwrap_or(Grow::Evenly);
            (Some(scale::scale(&planner, &source, goal, grow, &cancel).map_err(refused)?), None)
        }
        (None, None) => (None, None),
    };
    if let Some(scaled) = scaled.as_ref().filter(|_| !args.json) {
        let percent = 100.0 * scaled.factor;
        print(&match scaled.grow {
            Grow::Evenly => format!("The shape is scaled to {percent:.1} % of its size.\n\n"),
            Grow::Sideways => {
                format!("The shape is scaled to {percent:.1} % of its width and depth; its height stays.\n\n")
            }
        })?;
    }
    let proposals = match found {
        Some(found) => found,
        None => {
            let source = scaled.map_or(source, |scaled| scaled.source);
            arrange::propose(&planner, &source, &Aim::ALL, effort, &cancel, &progress)?
        }
    };
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
