//! A tool as drawn, before it is cut to the bed, named, meshed and checked.

use glam::DVec2;
use rayon::prelude::*;

use cakefile::{FieldPath, Severity};
use formats::export::MeshF32;
use geom::{Cancel, Region, SolidError, SteppedPlate, Tolerance, TriMesh, units::UnitStyle};
use plan::{Plan, carve::BearingSections, design::Printing, lines::Line};

use super::{Extent, Group, KitError, Made, Part, Silhouette, bed, check, choice, label, split};

/// Everything that tools are drawn from.
pub struct Drawer<'a> {
    /// The cake.
    pub plan: &'a Plan,
    /// The printer.
    pub printing: &'a Printing,
    /// How far curves may stray.
    pub fine: Tolerance,
    /// How lengths are written.
    pub style: UnitStyle,
    /// Finished, coated and carved, each once.
    pub lines: Vec<Silhouette>,
    /// What tools that stand at the side are drawn from, if any is asked for: every line, if the shape is round,
    /// and every line at every bearing that is asked for, as cuts and adds leave it there. A shape that is not round
    /// has a section at the front, the back and both sides, unless others are asked for.
    pub sections: Vec<Silhouette>,
}

impl<'a> Drawer<'a> {
    /// Looks at the lines of `plan`, as far as `groups` need them.
    pub fn new(
        plan: &'a Plan,
        printing: &'a Printing,
        fine: Tolerance,
        style: UnitStyle,
        groups: &[Group],
    ) -> Result<Self, KitError> {
        // The outside of the coat that is scraped may lie between coated and carved.
        let spread = choice::spread_line(plan).map(|(line, _)| line);
        let mut wanted = vec![plan.lines.finished(), plan.lines.coated()];
        wanted.extend(spread.filter(|line| wanted.iter().all(|other| other.name != line.name)));
        wanted.push(plan.lines.carved());
        wanted.dedup_by(|a, b| a.name == b.name);
        let lines = wanted.into_iter().map(Silhouette::new).collect();
        let drawer = Self { plan, printing, fine, style, lines, sections: Vec::new() };
        // Made before the tools are drawn side by side, so that it is made once and none waits for it.
        let at_the_side = groups.iter().any(|group| matches!(group, Group::Scrapers | Group::Combs));
        let sections = if at_the_side { drawer.made_sections()? } else { Vec::new() };
        Ok(Self { sections, ..drawer })
    }

    /// The outermost line.
    pub fn finished(&self) -> &Silhouette {
        &self.lines[0]
    }

    /// The innermost line.
    pub fn carved(&self) -> &Silhouette {
        &self.lines[self.lines.len() - 1]
    }

    /// Whether the shape is turned, so that one edge serves it all round.
    pub fn is_round(&self) -> bool {
        self.plan.lines.is_turned()
    }

    fn made_sections(&self) -> Result<Vec<Silhouette>, KitError> {
        const ALL_ROUND: [f64; 4] = [0.0, 90.0, 180.0, 270.0];
        let asked = &self.printing.bearings[..];
        let bearings = if asked.is_empty() && !self.is_round() { &ALL_ROUND } else { asked };
        let mut all = if self.is_round() { self.lines.clone() } else { Vec::new() };
        if bearings.is_empty() {
            return Ok(all);
        }
        let wanted = |line: &Line| self.lines.iter().any(|l| l.name == line.name);
        let (plan, all_lines) = (self.plan, self.plan.lines.all());
        let levels: Vec<usize> = (0..all_lines.len()).filter(|level| wanted(&all_lines[*level])).collect();
        let found =
            BearingSections::new(&plan.design, &plan.lines, &levels, bearings, self.fine, &Cancel::new())
                .map_err(|source| KitError::Refused { part: "a section at a bearing".into(), source })?;
        let at_level = |&level: &usize| {
            let mut sections: Vec<Silhouette> = Vec::new();
            for (&bearing, section) in bearings.iter().zip(found.of(level)) {
                let section = Silhouette::at(&all_lines[level], bearing, section);
                // One tool serves every bearing with the same section, as left and right of most shapes.
                match sections.iter_mut().find(|other| other.is_like(&section)) {
                    Some(other) => other.bearings.push(bearing),
                    None => sections.push(section),
                }
            }
            sections
        };
        let found: Vec<Vec<Silhouette>> = levels.par_iter().map(at_level).collect();
        // Nothing of the shape may lie at a bearing.
        all.extend(found.into_iter().flatten().filter(|section| section.reach > 0.0));
        Ok(all)
    }

    /// Says that there is no such tool for a shape that is not round.
    pub fn only_for_round(&self, group: Group, instead: &str) -> Vec<Draft> {
        let finding = found(
            Severity::Note,
            "only-for-round",
            group.name(),
            "none can be drawn for a shape that is not turned".into(),
            instead,
        );
        vec![Draft::only_says(group, finding)]
    }

    /// A length in the maker's unit.
    pub fn mm(&self, mm: f64) -> String {
        self.style.length_alone(mm)
    }
}

/// What a tool is made of.
#[derive(Debug, Clone)]
pub enum Body {
    /// A flat plate with steps; may be cut into pieces.
    Plate(SteppedPlate),
    /// A solid that lies on the bed at z = 0, or why the kernel made none.
    Solid(Result<TriMesh, SolidError>),
}

/// A tool as drawn.
#[derive(Debug, Clone)]
pub struct Draft {
    /// What it belongs to.
    pub group: Group,
    /// What it is called.
    pub name: String,
    /// How many are needed.
    pub copies: usize,
    /// Its form.
    pub body: Body,
    /// Edges that do the work and are not cut if that can be helped.
    pub working: Vec<(DVec2, DVec2)>,
    /// Boxes that are not cut through if that can be helped.
    pub keep: Vec<(DVec2, DVec2)>,
    /// Places where it may well be cut: x and y.
    pub seams: [Vec<f64>; 2],
    /// Lines of text raised on it where there is room.
    pub label: Vec<String>,
    /// Sunk into the face rather than raised, as that face lies on something.
    pub sunk: bool,
    /// No finding if there is no room for them.
    pub quiet: bool,
    /// The line or the detail that it belongs to; `None` if it serves all of its group.
    pub subject: Option<String>,
    /// As small as it is meant to be: a small piece of it is no crumb.
    pub small: bool,
    /// Which piece of how many it is, if it was drawn in pieces.
    pub piece: (usize, usize),
    /// Findings about it.
    pub findings: Vec<Finding>,
}

impl Draft {
    /// A plate.
    pub fn plate(group: Group, name: impl Into<String>, plate: SteppedPlate) -> Self {
        Self::new(group, name.into(), Body::Plate(plate))
    }

    /// A solid, or why there is none.
    pub fn solid(group: Group, name: impl Into<String>, mesh: Result<TriMesh, SolidError>) -> Self {
        Self::new(group, name.into(), Body::Solid(mesh))
    }

    fn new(group: Group, name: String, body: Body) -> Self {
        Self {
            group,
            name,
            copies: 1,
            body,
            working: Vec::new(),
            keep: Vec::new(),
            seams: [Vec::new(), Vec::new()],
            label: Vec::new(),
            sunk: false,
            quiet: false,
            subject: None,
            small: false,
            piece: (1, 1),
            findings: Vec::new(),
        }
    }

    /// No tool at all, only a finding that says why there is none.
    pub fn only_says(group: Group, finding: Finding) -> Self {
        let mut draft = Self::plate(group, "", SteppedPlate::default());
        draft.findings.push(finding);
        draft
    }

    /// Whether it is among what is wanted of its group.
    pub fn is_within(&self, extent: &Extent) -> bool {
        match extent {
            Extent::Whole => true,
            Extent::Of(subjects) => self.subject.as_ref().is_none_or(|subject| subjects.contains(subject)),
            Extent::Nothing => false,
        }
    }

    /// Says something about the tool.
    pub fn note(&mut self, severity: Severity, code: &'static str, message: String, fix: &str) {
        self.findings.push(found(severity, code, &self.name, message, fix));
    }

    /// Cuts it to the bed, names the pieces, makes and checks their surfaces.
    pub fn make(&self, printing: &Printing, fine: Tolerance) -> Result<Made, KitError> {
        let mut findings = self.findings.clone();
        let mut parts = Vec::new();
        match &self.body {
            Body::Solid(mesh) => {
                let mesh = mesh.as_ref().map_err(|fault| self.refused(fault))?;
                let (lo, hi) = mesh.bounds().unwrap_or_default();
                let footprint = Region::rectangle(lo.truncate(), hi.truncate());
                parts.push(self.part(mesh.clone(), None, footprint, self.piece, printing)?);
            }
            Body::Plate(plate) => {
                let cut = split::Cutting { draft: self, printing, fine };
                let (mut pieces, more) = cut.pieces(plate);
                findings.extend(more);
                let any = !pieces.is_empty();
                if !self.small {
                    pieces.retain(|piece| !is_crumb(piece));
                }
                let sliver = pieces.iter().find(|piece| pieces.len() > 1 && split::is_sliver(piece));
                if let Some(sliver) = sliver.filter(|_| !self.small && !cut.fits(plate)) {
                    return Err(self.too_narrow(sliver, printing));
                }
                if any && pieces.is_empty() {
                    findings.push(found(
                        Severity::Note,
                        "too-small",
                        &self.name,
                        "nothing of it is large enough to be held".into(),
                        "check that place with the paper template",
                    ));
                }
                findings.extend(check::thin_walls(self, &pieces, printing, fine));
                findings.extend(label::put(self, &mut pieces, printing, fine));
                let of = pieces.len();
                for (i, piece) in pieces.iter().enumerate() {
                    let mesh = piece.mesh().map_err(|defect| self.not_solid(defect))?;
                    parts.push(self.part(
                        mesh,
                        Some(piece.clone()),
                        piece.footprint(),
                        (i + 1, of),
                        printing,
                    )?);
                }
            }
        }
        for part in &parts {
            findings.extend(check::overhang(part));
        }
        Ok((parts, findings))
    }

    fn part(
        &self,
        mesh: TriMesh,
        plate: Option<SteppedPlate>,
        footprint: Region,
        piece: (usize, usize),
        printing: &Printing,
    ) -> Result<Part, KitError> {
        mesh.check().map_err(|defect| self.not_solid(defect))?;
        // And rounded to what a file of it holds.
        MeshF32::new(&mesh).map_err(|defect| self.not_solid(defect))?;
        let plastic = check::Plastic::of(&mesh, printing);
        let name = self.name.clone();
        let part =
            Part { group: self.group, name, piece, copies: self.copies, mesh, plate, footprint, plastic };
        let (size, room) = (part.size(), printing.bed);
        if size.z > room.z || !bed::fits(size.truncate(), printing) {
            return Err(KitError::BedTooSmall { part: part.full_name(), size, bed: room });
        }
        Ok(part)
    }

    fn too_narrow(&self, sliver: &SteppedPlate, printing: &Printing) -> KitError {
        let (lo, hi) = sliver.bounds().unwrap_or_default();
        let (part, bed, least) = (self.name.clone(), printing.bed, split::SLIVER);
        KitError::TooNarrow { part, piece: hi - lo, least, bed }
    }

    fn refused(&self, source: &SolidError) -> KitError {
        KitError::Refused { part: self.name.clone(), source: source.clone() }
    }

    fn not_solid(&self, defect: geom::MeshDefect) -> KitError {
        KitError::NotSolid { part: self.name.clone(), defect }
    }
}

/// Whether a piece is smaller in two directions than anything that is held or joined: what an edge leaves between a
/// corner and the rim, not a tool.
fn is_crumb(piece: &SteppedPlate) -> bool {
    /// Smaller is lost on the bed, mm (common practice, no source).
    const LEAST: f64 = 15.0;
    let size = piece.bounds().map_or(DVec2::ZERO, |(lo, hi)| hi - lo);
    let thick = piece.levels().map(|(_, height)| height).fold(0.0, f64::max);
    [size.x, size.y, thick].iter().filter(|side| **side < LEAST).count() > 1
        && piece.footprint().area() < LEAST * LEAST
}

/// What to know about a tool, with a stable name for programs.
pub type Finding = plan::findings::Finding<&'static str>;

/// A finding about the tool called `about`.
pub fn found(severity: Severity, code: &'static str, about: &str, message: String, fix: &str) -> Finding {
    Finding {
        severity,
        code,
        about: about.to_owned(),
        message,
        fix: fix.into(),
        place: None,
        field: FieldPath::root().key("printing"),
    }
}
