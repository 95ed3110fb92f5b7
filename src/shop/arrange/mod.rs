//! Which pans, how many, where the boards go: the best stack for a shape, and honest alternatives.
//!
//! [`propose`] takes a cake file and a pantry. It looks at the carved shape cell by cell ([`needs`]), searches the
//! stacks that the pans can make (`search`) and writes each proposal back as the tiers of the cake file
//! (`edit`). Nothing is shown that was not planned: the figures of a proposal are those of its plan.

mod bakes;
mod bound;
mod clearance;
mod cover;
mod dowels;
mod drafted;
mod edit;
mod explain;
mod fit;
mod graph;
mod instead;
mod kept;
mod label;
mod label_search;
pub mod needs;
mod pieces;
mod places;
mod problem;
mod propose;
pub mod search;
mod setup;
mod summary;
mod text;
mod tiers;
mod uncut;

pub use drafted::Draft;
pub use edit::with_tiers;
pub use explain::outgrown;
pub use problem::{Problem, Rules, Weights};
pub use propose::propose;
pub use search::{Effort, Found, search};
pub use setup::{Setup, resolved};
pub use summary::{BakeSummary, ProposalSummary, SlabSummary, Summary, summary};
pub use text::text;

use cakefile::{
    CakeFileError, Severity,
    edit::{Edit, EditError},
};
use geom::Cancelled;
use plan::{
    Plan, PlanError,
    findings::Finding,
    pantry::{Bake, Pan, Trouble},
};

/// What a proposal saves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Aim {
    /// Offcut, bakes, loads and boards, each at what the pantry says that it is worth.
    Best,
    /// Offcut alone.
    LeastOffcut,
    /// Bakes before anything else.
    FewestBakes,
    /// Sizes of pan before anything else.
    FewestPanSizes,
    /// What is the best where no layer is laid of pieces; told where the best of all has such layers.
    WholeLayers,
}

impl Aim {
    /// Every aim that is looked for, the best first.
    pub const ALL: [Self; 4] = [Self::Best, Self::LeastOffcut, Self::FewestBakes, Self::FewestPanSizes];
    /// Every aim that a stack can be chosen by.
    pub const CHOICES: [Self; 5] =
        [Self::Best, Self::LeastOffcut, Self::FewestBakes, Self::FewestPanSizes, Self::WholeLayers];

    /// Its name, in commands.
    pub fn name(self) -> &'static str {
        match self {
            Self::Best => "best",
            Self::LeastOffcut => "least-offcut",
            Self::FewestBakes => "fewest-bakes",
            Self::FewestPanSizes => "fewest-pan-sizes",
            Self::WholeLayers => "whole-layers",
        }
    }

    fn weights(self, usual: Weights) -> Weights {
        /// A gram: it decides only between stacks that are as good otherwise.
        const HARDLY: f64 = 1.0;
        /// More than any offcut: it decides before anything else.
        const FIRST: f64 = 1e5;
        match self {
            Self::Best | Self::FewestPanSizes | Self::WholeLayers => usual,
            Self::LeastOffcut => {
                let hardly = HARDLY;
                Weights {
                    offcut: 1.0,
                    bake: 0.0,
                    load: hardly,
                    board: hardly,
                    overhang: hardly,
                    piece: hardly,
                }
            }
            Self::FewestBakes => Weights { bake: FIRST, ..usual },
        }
    }
}

/// A stack that is proposed.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// What it saves; several where one stack is the best in more than one way.
    pub aims: Vec<Aim>,
    /// What the search found.
    pub found: Found,
    /// Pans, in the search's order.
    pub pans: Vec<Pan>,
    /// Bakes of each pan with what is cut from each.
    pub bakes: Vec<(Pan, Vec<Bake>)>,
    /// Its tiers, to paste into the cake file.
    pub tiers: String,
    /// What puts them into the cake file.
    pub edit: Edit,
    /// The whole cake file after that.
    pub text: String,
    /// Its plan.
    pub plan: Plan,
}

impl Proposal {
    /// The first error of its plan that comes of the stack; what is wrong with the shape or its details is found in
    /// every stack.
    pub fn fault(&self) -> Option<&Finding> {
        fault_of(&self.plan.findings)
    }

    /// How many bakes it takes.
    pub fn bake_count(&self) -> usize {
        self.bakes.iter().map(|(_, bakes)| bakes.len()).sum()
    }

    /// Whether a layer of it is laid of pieces.
    pub fn has_pieces(&self) -> bool {
        self.found.slabs.iter().any(|slab| slab.footprint.shape.pieces().is_some())
    }

    /// Boards inside the cake.
    pub fn board_count(&self) -> usize {
        self.found.slabs.iter().filter(|slab| slab.board.is_some()).count()
    }

    /// What is baked, in grams.
    pub fn baked(&self, density: f64) -> f64 {
        let bakes = self.bakes.iter().map(|(pan, bakes)| pan.volume(pan.level) * bakes.len() as f64);
        bakes.sum::<f64>() / 1000.0 * density
    }
}

/// The first error among `findings` that comes of the stack.
fn fault_of(findings: &[Finding]) -> Option<&Finding> {
    findings.iter().find(|found| found.severity == Severity::Error && found.code.is_of_stack())
}

/// What came of looking for stacks.
#[derive(Debug, Clone)]
pub struct Proposals {
    /// The stacks, the best first. Empty if there is none. None has an error of its own: [`Proposal::fault`].
    pub proposals: Vec<Proposal>,
    /// Aims without a stack, since each that was found and tried has an error of its own: the cheapest of them.
    pub failed: Vec<Proposal>,
    /// Why there is none within the limits, with the fix; the proposals then go beyond the limit that it names.
    pub trouble: Option<Trouble>,
    /// What was asked.
    pub setup: Setup,
}

/// Why no stack was looked for.
#[derive(Debug, thiserror::Error)]
pub enum ArrangeError {
    /// The cake file or the pantry is wrong.
    #[error(transparent)]
    CakeFile(#[from] CakeFileError),
    /// A proposal could not be written into the cake file.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// A proposal could not be planned.
    #[error(transparent)]
    Plan(PlanError),
    /// There are no pans.
    #[error("the pantry has no pans")]
    NoPans,
    /// There are more pans than the search takes.
    #[error("the pantry has {0} sizes of pan, and at most {most} can be searched", most = search::MOST_PANS)]
    ManyPans(usize),
}

impl From<Cancelled> for ArrangeError {
    fn from(stopped: Cancelled) -> Self {
        Self::Plan(stopped.into())
    }
}

impl From<PlanError> for ArrangeError {
    fn from(error: PlanError) -> Self {
        match error {
            PlanError::CakeFile(error) => Self::CakeFile(error),
            other => Self::Plan(other),
        }
    }
}
