//! A cake planned from end to end.

use std::sync::Arc;

use glam::DVec3;

use cakefile::{CakeFileError, Severity, schema_pantry::Order};
use geom::{Cancel, Cancelled, Tolerance};

use crate::{
    carve::{Body, Bulk, CarveError, Carving, Edited, ShaveMap},
    design::Design,
    extent::Extent,
    findings::Finding,
    icing::{Icing, IcingOnDemand},
    lines::Lines,
    offer::Offer,
    pantry::Pantry,
    planner::{Planner, Quality},
    source::Source,
    stack::Stack,
    support::Support,
    zones::CoatZones,
};

/// A cake planned from end to end: what everything that is shown, written or charged starts from.
#[derive(Debug, Clone)]
pub struct Plan {
    /// What the maker wants.
    pub design: Arc<Design>,
    /// Finished, coated and carved lines.
    pub lines: Arc<Lines>,
    /// The raw stack.
    pub stack: Arc<Stack>,
    /// What carving does to it.
    pub carving: Arc<Carving>,
    /// Volumes of coats and adds.
    pub bulk: Arc<Bulk>,
    /// The zones of every covering, from the outside in.
    pub zones: Arc<Vec<CoatZones>>,
    /// Whether it stands and travels.
    pub support: Arc<Support>,
    /// What to know before baking, the worst first.
    pub findings: Vec<Finding>,
    /// What the maker owns, mixes, buys and charges, with what the cake file says of it.
    pub pantry: Arc<Pantry>,
    /// Who ordered it, and when it is handed over.
    pub order: Order,
    /// What the client may choose.
    pub offer: Offer,
    /// How the rolled coverings are laid: see [`Plan::icing`].
    pub icing: IcingOnDemand,
}

/// Why there is no plan.
#[derive(Debug, thiserror::Error)]
pub enum PlanError {
    /// The cake file is wrong.
    #[error(transparent)]
    CakeFile(#[from] CakeFileError),
    /// The volumes do not add up.
    #[error(transparent)]
    Carve(CarveError),
    /// It was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl PlanError {
    /// The error as a maker reads it: of a wrong file every problem with its line and the fix.
    pub fn render(&self) -> String {
        match self {
            Self::CakeFile(error) => error.render(false),
            other => other.to_string(),
        }
    }
}

/// Rows of the shave chart are this far apart, mm.
const CHART_STEP: f64 = 5.0;
/// Columns of the shave chart.
const CHART_COLUMNS: u32 = 72;

impl Plan {
    /// Plans `source` in full, once. Whoever plans again after a change keeps a [`Planner`].
    ///
    /// # Errors
    /// Every problem of the file at once, or volumes that do not add up.
    pub fn new(source: &Source) -> Result<Self, PlanError> {
        Planner::new().plan(source, Quality::Full, &Cancel::new())
    }

    /// Volume inside each line from the outside in, mm³, cuts and sponge adds counted.
    pub fn line_volumes(&self) -> Vec<f64> {
        self.bulk.outer.iter().copied().chain([self.carving.carved]).collect()
    }

    /// How every rolled covering is laid, from the outside in; worked out when first asked for.
    pub fn icing(&self) -> &[Icing] {
        self.icing.get(&self.design, &self.lines, &self.zones)
    }

    /// The room that the finished cake takes, with all adds and without the presentation board.
    pub fn extent(&self) -> Extent {
        let points = self.spanning();
        Extent::of(&points).unwrap_or(Extent { low: DVec3::ZERO, high: DVec3::ZERO, across: 0.0 })
    }

    /// Whether two people must carry it: the cake with its board weighs as much as [`crate::design::SupportSettings::two_people`]
    /// says, or more.
    pub fn needs_two(&self) -> bool {
        self.support.carried >= self.design.support.two_people
    }

    /// Points whose convex hull as seen from above is that of the finished cake with all adds, with its heights, mm.
    pub fn spanning(&self) -> Vec<DVec3> {
        let finished = self.bulk.bodies.first().map(|(body, edited)| (body, edited.as_slice()));
        let (body, edited) = finished.unwrap_or((&self.carving.target, &self.carving.edited));
        let mut points = body.spanning(edited, body.meridians(self.design.tool));
        points.extend(&self.bulk.adds_span);
        points
    }

    /// The solid inside line `level` with its edited sectors, if it was made within `tolerance` already.
    pub fn body(&self, level: usize, tolerance: Tolerance) -> Option<(&Body, &[Edited])> {
        match self.bulk.bodies.get(level) {
            Some((body, edited)) if tolerance == self.design.tool => Some((body, edited)),
            None if tolerance == self.design.tool => Some((&self.carving.target, &self.carving.edited)),
            _ => None,
        }
    }

    /// Whether any finding is an error.
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Error)
    }

    /// The shave chart: radius and depth over height and bearing.
    pub fn shave_map(&self) -> ShaveMap {
        ShaveMap::new(&self.carving.target, &self.stack, CHART_STEP, CHART_COLUMNS, self.design.tool)
    }
}
