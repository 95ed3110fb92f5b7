//! Source → plan, stage by stage; what did not change since the last time is not made again.
//!
//! | stage | is made anew when these change |
//! |---|---|
//! | shape | how it is written, the unit, the accuracy, the files that it names |
//! | lines | shape, thickness of the coats, the deepest pressed outline, grid, accuracy |
//! | carved and coated bodies | lines, details, the widest layer, accuracy |
//! | stack | tiers, centre dowel |
//! | carving | carved body, stack |
//! | places of rolls, zones of the coverings | always |
//! | support, findings | always |
//! | advice | always, last, only for [`Quality::Full`] and only where it is of use ([`Planner::plan_advised_if`]) |

use std::cmp::Reverse;
use std::sync::Arc;

use cakefile::{CakeFile, CakeFileError, Diagnostic, FieldPath, schema::Cake, schema_pantry::Order};
use geom::{
    Cancel, Tolerance,
    progress::{NoProgress, Progress},
};

use crate::{
    carve::{Body, Bulk, CarveError, Carving, Edited, check_details},
    design::{self, CentreDowel, Design, Detail, Remembered, Shape, Tier},
    findings::{Evidence, Finding, findings, laid_otherwise, unsupported, zoned},
    finishes::unseen,
    icing::IcingOnDemand,
    lines::{Lines, NothingLeft, deepest_relief},
    memo::{Memo, Same},
    offer::Offer,
    pantry::Pantry,
    plan::{Plan, PlanError},
    rolls::lay,
    source::Source,
    stack::Stack,
    support::{CarvedCake, Case, Support},
    zones::{weigh, zones},
};

/// How much is worked out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub enum Quality {
    /// Enough to look at while something is dragged: a shape that is not turned on a coarse grid, no changes tried
    /// for what does not stand.
    Draft,
    /// Everything, as exact as the cake file asks.
    #[default]
    Full,
}

/// Makes plans, and keeps what the next one can use again. Several threads may plan with it at once.
#[derive(Debug, Default)]
pub struct Planner {
    remembered: Remembered,
    lines: Memo<LinesKey, Lines>,
    targets: Memo<BodyKey, Target>,
    bulks: Memo<BodyKey, Bulk>,
    stacks: Memo<(Vec<Tier>, Option<CentreDowel>), Stack>,
    carvings: Memo<(Same<Target>, Same<Stack>, Tolerance), Carving>,
}

/// What lines are made from.
#[derive(Debug, PartialEq)]
struct LinesKey {
    shape: Same<Shape>,
    /// Name and thickness of every coat.
    coats: Vec<(String, f64)>,
    deepest_relief: f64,
    grid: f64,
    tolerance: Tolerance,
}

/// What bodies are made from.
#[derive(Debug, PartialEq)]
struct BodyKey {
    lines: Same<Lines>,
    details: Vec<Detail>,
    widest: f64,
    tolerance: Tolerance,
}

/// What is carved: the solid inside the carved line, with its edited sectors.
type Target = (Body, Vec<Edited>);

/// The stages that take time, as they are told to whoever waits.
#[derive(Debug, Clone, Copy)]
enum Stage {
    Shape,
    Lines,
    Carving,
    Support,
    Advice,
    Icing,
}

impl Stage {
    /// How many there are.
    const COUNT: u64 = Self::Icing as u64 + 1;

    /// Says that it begins, and how many are done before it.
    fn tell(self, progress: &dyn Progress) {
        let what = match self {
            Self::Shape => "reading the shape",
            Self::Lines => "finding the lines under the coverings",
            Self::Carving => "carving the layers",
            Self::Support => "checking that it stands",
            Self::Advice => "trying what would make it stand",
            Self::Icing => "laying the icing",
        };
        progress.start(what, Self::COUNT);
        progress.step(self as u64);
    }
}

/// A source understood: what it asks for, and what was remarked on the way.
#[derive(Debug, Clone)]
pub struct Understood {
    /// What the maker wants.
    pub design: Design,
    /// The pantry, with what the cake file says of it.
    pub pantry: Pantry,
    /// Who ordered it.
    pub order: Order,
    /// What the client may choose.
    pub offer: Offer,
    /// Warnings and notes.
    pub remarks: Vec<Diagnostic>,
}

impl Planner {
    /// A planner that has planned nothing yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Plans `source`.
    ///
    /// # Errors
    /// Every problem of the file at once, volumes that do not add up, or [`PlanError::Cancelled`] once `cancel`
    /// asks to stop.
    pub fn plan(&self, source: &Source, quality: Quality, cancel: &Cancel) -> Result<Plan, PlanError> {
        self.plan_with(source, quality, |_| quality == Quality::Full, cancel, &NoProgress)
    }

    /// Plans `source` as [`Planner::plan`] does, and tells `progress` each stage as it begins.
    ///
    /// # Errors
    /// As for [`Planner::plan`].
    pub fn plan_telling(
        &self,
        source: &Source,
        quality: Quality,
        cancel: &Cancel,
        progress: &dyn Progress,
    ) -> Result<Plan, PlanError> {
        let plan = self.plan_with(source, quality, |_| quality == Quality::Full, cancel, progress);
        progress.finish();
        plan
    }

    /// Plans `source` in full, but for the changes that would fix what does not stand: these are tried only where
    /// `is_of_use` says so of the findings, whose severity, code and words they do not change.
    ///
    /// # Errors
    /// As for [`Planner::plan`].
    pub fn plan_advised_if(
        &self,
        source: &Source,
        is_of_use: impl FnOnce(&[Finding]) -> bool,
        cancel: &Cancel,
    ) -> Result<Plan, PlanError> {
        self.plan_with(source, Quality::Full, is_of_use, cancel, &NoProgress)
    }

    fn plan_with(
        &self,
        source: &Source,
        quality: Quality,
        is_advised: impl FnOnce(&[Finding]) -> bool,
        cancel: &Cancel,
        progress: &dyn Progress,
    ) -> Result<Plan, PlanError> {
        Stage::Shape.tell(progress);
        let understood = self.understand(source, cancel, |_, _| ());
        // What was stopped has no shape, and tells no problem.
        cancel.check()?;
        let mut understood = understood?;
        if let Err(problem) = check_details(&understood.design) {
            return Err(source.cake.error(vec![problem]).into());
        }
        if quality == Quality::Draft {
            understood.make_coarse();
        }
        self.stages(understood, is_advised, cancel, progress).map_err(|error| match error {
            CarveError::NothingLeft(nothing) => nothing_left(&source.cake, &nothing).into(),
            CarveError::Cancelled(stopped) => stopped.into(),
            other => PlanError::Carve(other),
        })
    }

    /// Reads and resolves `source`, once `adjust` has put in what is not written there.
    ///
    /// # Errors
    /// Every problem of the file at once; without a meaning once `cancel` asks to stop.
    pub fn understand(
        &self,
        source: &Source,
        cancel: &Cancel,
        adjust: impl FnOnce(&mut Cake, &Pantry),
    ) -> Result<Understood, CakeFileError> {
        let file = &source.cake;
        let mut parsed = file.parse();
        let Some(cake) = &mut parsed.document else { return Err(file.error(parsed.problems)) };
        let mut problems = Vec::new();
        let pantry = source.pantry.with_cake(cake, &mut problems);
        pantry.lend(cake);
        adjust(cake, &pantry);
        let order = cake.order.clone().unwrap_or_default();
        let offer = Offer::read(cake, &mut problems);
        let design = match design::resolve(cake, &source.files(), &self.remembered, cancel) {
            Ok((design, remarks)) => {
                problems.extend(remarks);
                Some(design)
            }
            Err(found) => {
                problems.extend(found);
                None
            }
        };
        parsed.add(problems);
        match design {
            Some(design) if !parsed.has_errors() => {
                Ok(Understood { design, pantry, order, offer, remarks: parsed.problems })
            }
            _ => Err(file.error(parsed.problems)),
        }
    }

    /// The lines of `design`.
    ///
    /// # Errors
    /// When the coverings leave nothing, or [`CarveError::Cancelled`].
    pub fn lines(&self, design: &Design, cancel: &Cancel) -> Result<Arc<Lines>, CarveError> {
        let coat = |covering: &design::Covering| (covering.material.name.clone(), covering.thickness);
        let key = LinesKey {
            shape: Same(design.shape.clone()),
            coats: design.coverings.iter().map(coat).collect(),
            deepest_relief: deepest_relief(&design.details),
            grid: design.grid,
            tolerance: design.tool,
        };
        self.lines.get_or(key, |_| Ok(Lines::new(design, design.tool, cancel)?))
    }

    /// The solid inside the carved line of `design`, with its edited sectors.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`].
    pub fn target(
        &self,
        design: &Design,
        lines: &Arc<Lines>,
        cancel: &Cancel,
    ) -> Result<Arc<Target>, CarveError> {
        self.targets.get_or(body_key(design, lines, design.tool), |_| {
            let body = Body::new(design, lines, lines.all().len() - 1, design.tool, cancel)?;
            let edited = body.edited(body.meridians(design.tool), cancel)?;
            Ok((body, edited))
        })
    }

    fn stages(
        &self,
        understood: Understood,
        is_advised: impl FnOnce(&[Finding]) -> bool,
        cancel: &Cancel,
        progress: &dyn Progress,
    ) -> Result<Plan, CarveError> {
        let Understood { mut design, pantry, order, offer, remarks } = understood;
        Stage::Lines.tell(progress);
        let lines = self.lines(&design, cancel)?;
        lay(&mut design, &lines, cancel)?;
        let zones = zones(&design, &lines, cancel)?;
        weigh(&mut design, &zones);
        let stack = self.stack(&design);
        Stage::Carving.tell(progress);
        let (carved, bulk) = rayon::join(
            || self.carve(&design, &lines, &stack, cancel),
            || {
                self.bulks.get_or(body_key(&design, &lines, design.tool), |_| {
                    Ok(Bulk::new(&design, &lines, design.tool, cancel)?)
                })
            },
        );
        let ((carving, mut findings), bulk): (_, Result<_, CarveError>) = (carved?, bulk);
        let bulk = bulk?;
        Stage::Support.tell(progress);
        let cake = CarvedCake::new(&design, &stack, &carving, &bulk);
        let case = Case::new(&cake, &design, &stack);
        let mut support = Support::new(&case);
        cancel.check()?;
        findings.extend(zoned(&design, &zones, &lines));
        findings.extend(unseen(&design, &lines, &zones));
        let of_shape = findings.len();
        findings.extend(unsupported(&support));
        if is_advised(&findings) {
            Stage::Advice.tell(progress);
            support.advise(&case, &bulk, cancel)?;
            findings.truncate(of_shape);
            findings.extend(unsupported(&support));
        }
        let icing = IcingOnDemand::default();
        // What the cake file does not ask for is worked out when something speaks of it.
        if design.coverings.iter().any(|covering| covering.way.is_some()) {
            Stage::Icing.tell(progress);
            findings.extend(laid_otherwise(&design, icing.try_get(&design, &lines, &zones, cancel)?));
        }
        findings.extend(remarks.iter().map(Finding::of_remark));
        findings.sort_by_key(|found| Reverse(found.severity));
        Ok(Plan {
            design: Arc::new(design),
            lines,
            stack,
            carving,
            bulk,
            zones: Arc::new(zones),
            support: Arc::new(support),
            findings,
            pantry: Arc::new(pantry),
            order,
            offer,
            icing,
        })
    }

    fn stack(&self, design: &Design) -> Arc<Stack> {
        let key = (design.tiers.clone(), design.centre_dowel.clone());
        let stack = self.stacks.get_or(key, |_| Ok::<_, std::convert::Infallible>(Stack::new(design)));
        stack.unwrap_or_else(|never| match never {})
    }

    fn carve(
        &self,
        design: &Design,
        lines: &Arc<Lines>,
        stack: &Arc<Stack>,
        cancel: &Cancel,
    ) -> Result<(Arc<Carving>, Vec<Finding>), CarveError> {
        let target = self.target(design, lines, cancel)?;
        let key = (Same(target.clone()), Same(stack.clone()), design.tool);
        let carving = self.carvings.get_or(key, |_| {
            let (body, edited) = (*target).clone();
            Carving::of(body, edited, stack, design.tool, cancel)
        })?;
        let style = design.style;
        let found = findings(&Evidence { design, lines, stack, carving: &carving, style });
        Ok((carving, found))
    }
}

fn body_key(design: &Design, lines: &Arc<Lines>, tolerance: Tolerance) -> BodyKey {
    // Colours, finishes and what an add is made of change no solid.
    let formed =
        |detail: &Detail| Detail { material: None, colour: None, finishes: Vec::new(), ..detail.clone() };
    BodyKey {
        lines: Same(lines.clone()),
        details: design.details.iter().map(formed).collect(),
        widest: design.widest(),
        tolerance,
    }
}

/// A shape that is not turned is planned within this share of its size while something is dragged.
const DRAFT_GRID: f64 = 1.0 / 40.0;

impl Understood {
    /// Sets the grid and the accuracy of a draft, as [`Quality::Draft`] plans it.
    pub fn make_coarse(&mut self) {
        let design = &mut self.design;
        design.tool = design.preview;
        if design.shape.form().is_some() {
            design.grid = design.grid.max(design.shape.size().max_element() * DRAFT_GRID);
        }
    }
}

/// `nothing` as a problem of `file`.
pub fn nothing_left(file: &CakeFile, nothing: &NothingLeft) -> CakeFileError {
    let field = FieldPath::root().key("covering").index(nothing.index).key("thickness");
    let fix = "make the coverings thinner, or the shape larger";
    file.error(vec![Diagnostic::error(field, nothing.to_string()).fix(fix)])
}
