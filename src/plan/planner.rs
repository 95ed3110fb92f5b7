//! Cake file → plan, in one call: what the command line, the window and the tests all start from.

use crate::{
    carve::{Body, Bulk, CarveError, Carving, Edited, ShaveMap},
    design::{self, Design},
    findings::{Evidence, Finding, findings, unsupported},
    lines::{Lines, NothingLeft},
    outline::Loader,
    stack::Stack,
    support::Support,
};
use cakefile::{CakeFile, CakeFileError, Diagnostic, FieldPath, Severity, schema::Cake};
use geom::{Tolerance, units::UnitStyle};

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
    /// Volumes of coats and adds.
    pub bulk: Bulk,
    /// Whether it stands and travels.
    pub support: Support,
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
        Self::with(file, |_| ())
    }

    /// Plans the cake in `file` once `lend` has put in what is not written there.
    ///
    /// # Errors
    /// Every problem of the file at once, or volumes that do not add up.
    pub fn with(file: &CakeFile, lend: impl FnOnce(&mut Cake)) -> Result<Self, PlanError> {
        let (design, remarks) = design_of(file, lend)?;
        let plan = Self::of(design).map_err(|error| match error {
            CarveError::NothingLeft(nothing) => PlanError::CakeFile(nothing_left(file, &nothing)),
            other => other.into(),
        });
        plan.map(|plan| plan.with_remarks(&remarks))
    }

    /// Puts what was remarked on the cake file among the findings.
    fn with_remarks(mut self, remarks: &[Diagnostic]) -> Self {
        self.findings.extend(remarks.iter().map(|remark| Finding {
            severity: remark.severity,
            code: "cake-file",
            about: remark.path.to_string(),
            message: remark.message.clone(),
            mend: remark.help.clone().unwrap_or_else(|| "nothing needs to be done".into()),
            place: remark.place.as_deref().map(|place| (*place).into()),
            field: remark.path.clone(),
        }));
        self.findings.sort_by_key(|found| std::cmp::Reverse(found.severity));
        self
    }

    /// Plans a design.
    ///
    /// # Errors
    /// When the coverings leave nothing, or volumes do not add up.
    pub fn of(design: Design) -> Result<Self, CarveError> {
        let lines = Lines::new(&design, design.tool)?;
        let stack = Stack::new(&design);
        let carve = || {
            let carving = Carving::new(&design, &lines, &stack, design.tool)?;
            let style = UnitStyle::new(design.unit);
            let evidence =
                Evidence { design: &design, lines: &lines, stack: &stack, carving: &carving, style };
            let findings = findings(&evidence);
            Ok::<_, CarveError>((carving, findings))
        };
        let (carved, bulk) = rayon::join(carve, || Bulk::new(&design, &lines, design.preview));
        let (carving, mut findings) = carved?;
        let support = Support::new(&design, &stack, &carving, &bulk);
        findings.extend(unsupported(&support));
        findings.sort_by_key(|found| std::cmp::Reverse(found.severity));
        Ok(Self { design, lines, stack, carving, bulk, support, findings })
    }

    /// Volume inside each line from the outside in, mm³, cuts and sponge adds counted.
    pub fn line_volumes(&self) -> Vec<f64> {
        self.bulk.outer.iter().copied().chain([self.carving.carved]).collect()
    }

    /// The solid inside line `level` with what stands in its bays, if it was made within `tolerance` already.
    pub fn body(&self, level: usize, tolerance: Tolerance) -> Option<(&Body, &[Edited])> {
        match self.bulk.bodies.get(level) {
            Some((body, edited)) if tolerance == self.design.preview => Some((body, edited)),
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

/// `nothing` as a problem of `file`.
pub fn nothing_left(file: &CakeFile, nothing: &NothingLeft) -> CakeFileError {
    let field = FieldPath::root().key("covering").index(nothing.index).key("thickness");
    let mend = "make the coverings thinner, or the shape larger";
    file.error(vec![Diagnostic::error(field, nothing.to_string()).mend(mend)])
}

/// Reads and resolves `file`, with what `lend` puts in: the design with what was remarked on the way, or all
/// problems at once.
pub fn design_of(
    file: &CakeFile,
    lend: impl FnOnce(&mut Cake),
) -> Result<(Design, Vec<Diagnostic>), CakeFileError> {
    let mut parsed = file.parse();
    parsed.document.as_mut().map(lend);
    let resolved = parsed.document.as_ref().map(|cake| design::resolve(cake, file));
    match resolved {
        Some(Ok((design, remarks))) => {
            parsed.add(remarks);
            if !parsed.has_errors() {
                return Ok((design, parsed.problems));
            }
        }
        Some(Err(problems)) => parsed.add(problems),
        None => {}
    }
    Err(file.error(parsed.problems))
}

impl Loader for CakeFile {
    fn load(&self, name: &str) -> std::io::Result<Vec<u8>> {
        std::fs::read(self.folder().join(name))
    }
}
