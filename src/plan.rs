//! Cake file → plan, in one call: what the command line, the window and the tests all start from.

use crate::{
    cakefile::{CakeFile, CakeFileError, Diagnostic, FieldPath, Severity},
    carve::{CarveError, Carving, ShaveMap},
    design::{self, Design},
    findings::{Evidence, Finding, findings},
    lines::Lines,
    outline::Loader,
    stack::Stack,
    units::UnitStyle,
};

/// A cake planned from end to end.
#[derive(Debug, Clone)]
pub struct Plan {
    /// What the maker wants.
    pub design: Design,
    /// Finished, coated and carved lines.
    pub lines: Lines,
    /// The raw stack.
    pub stack: Stack,
    /// What carving does to it.
    pub carving: Carving,
    /// What to know before baking, the worst first.
    pub findings: Vec<Finding>,
}

/// Why there is no plan.
#[derive(Debug, thiserror::Error)]
pub enum PlanError {
    /// The cake file is wrong.
    #[error(transparent)]
    CakeFile(#[from] CakeFileError),
    /// The volumes do not add up.
    #[error(transparent)]
    Carve(#[from] CarveError),
}

/// Rows of the shave chart are this far apart, mm.
const CHART_STEP: f64 = 5.0;
/// Columns of the shave chart.
const CHART_COLUMNS: u32 = 72;

impl Plan {
    /// Plans the cake in `file`.
    ///
    /// # Errors
    /// Every problem of the file at once, or volumes that do not add up.
    pub fn new(file: &CakeFile) -> Result<Self, PlanError> {
        let design = design_of(file)?;
        Self::of(design).map_err(|error| match error {
            CarveError::NothingLeft(nothing) => {
                let field = FieldPath::root().key("covering").index(nothing.index).key("thickness");
                let problem = Diagnostic::error(field, nothing.to_string())
                    .mend("make the coverings thinner, or the shape larger");
                PlanError::CakeFile(file.error(vec![problem]))
            }
            other => other.into(),
        })
    }

    /// Plans a design.
    ///
    /// # Errors
    /// When the coverings leave nothing, or volumes do not add up.
    pub fn of(design: Design) -> Result<Self, CarveError> {
        let lines = Lines::new(&design, design.tool)?;
        let stack = Stack::new(&design);
        let carving = Carving::new(&design, &lines, &stack, design.tool)?;
        let style = UnitStyle::new(design.unit);
        let evidence = Evidence { design: &design, lines: &lines, stack: &stack, carving: &carving, style };
        let findings = findings(&evidence);
        Ok(Self { design, lines, stack, carving, findings })
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

/// Reads and resolves `file`, with all problems at once.
fn design_of(file: &CakeFile) -> Result<Design, CakeFileError> {
    let parsed = file.parse();
    let mut problems = parsed.problems;
    if let Some(cake) = &parsed.cake {
        match design::resolve(cake, file) {
            Ok((design, warnings)) => {
                if problems.iter().all(|p| p.severity != Severity::Error) {
                    return Ok(design);
                }
                problems.extend(warnings);
            }
            // A value that the reader has refused already need not be refused again.
            Err(more) => {
                let fresh: Vec<_> =
                    more.into_iter().filter(|p| !problems.iter().any(|q| q.path == p.path)).collect();
                problems.extend(fresh);
            }
        }
    }
    Err(file.error(problems))
}

impl Loader for CakeFile {
    fn load(&self, name: &str) -> std::io::Result<Vec<u8>> {
        std::fs::read(self.folder().join(name))
    }
}
