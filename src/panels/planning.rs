//! Planning for the window: a cake that has no layers yet is shown all the same, as a block that its shape is cut from.

use cakefile::{
    Diagnostic, FieldPath, Severity,
    edit::{Document, Edit, EditValue},
};
use geom::Cancel;
use plan::{Plan, PlanError, Planner, Quality, Source};
use shop::arrange::resolved;

/// Plans `source` in that quality. Of a cake without layers the plan is that of a block round its shape, and what is wrong with the file
/// comes with it.
///
/// # Errors
/// As [`Planner::plan`].
pub fn plan_for_window(
    planner: &Planner,
    source: &Source,
    quality: Quality,
    cancel: &Cancel,
) -> Result<(Plan, Vec<Diagnostic>), PlanError> {
    let error = match planner.plan(source, quality, cancel) {
        Ok(plan) => return Ok((plan, Vec::new())),
        Err(PlanError::CakeFile(error)) if lacks_layers(source, error.problems()) => error,
        Err(error) => return Err(error),
    };
    let shape = resolved(planner, source, cancel)?.design.shape.clone();
    let Some((low, high)) = bounds(&shape) else { return Err(error.into()) };
    let document = Document::from_text("cake", source.cake.text());
    let mm = |mm: f64| EditValue::from(format!("{} mm", mm.ceil()));
    let across = 2.0 * low.truncate().abs().max(high.truncate().abs());
    let layer = EditValue::table([
        ("pan", EditValue::inline([("rectangle", EditValue::Array(vec![mm(across.x), mm(across.y)]))])),
        ("height", mm(high.z)),
    ]);
    let tier =
        EditValue::table([("name", EditValue::from("block")), ("layer", EditValue::Array(vec![layer]))]);
    let edit = Edit::Insert { path: FieldPath::root().key("tier").index(0), value: tier };
    let Ok(applied) = document.apply(&edit) else { return Err(error.into()) };
    let mut plan = planner.plan(&source.with_text(applied.document.text()), Quality::Draft, cancel)?;
    // What is found in the block is nothing that the maker made.
    plan.findings.retain(|finding| !finding.code.is_of_stack() && document.value(&finding.field).is_some());
    Ok((plan, error.problems().to_vec()))
}

fn lacks_layers(source: &Source, problems: &[Diagnostic]) -> bool {
    has_no_layers(&Document::from_text("cake", source.cake.text()), problems)
}

/// Whether all that is wrong with a cake is that it has no layers.
pub fn has_no_layers(document: &Document, problems: &[Diagnostic]) -> bool {
    let tier = FieldPath::root().key("tier");
    let errors = || problems.iter().filter(|problem| problem.severity == Severity::Error);
    document.value(&tier).is_none() && errors().count() == 1 && errors().all(|problem| problem.path == tier)
}

fn bounds(shape: &plan::design::Shape) -> Option<(glam::DVec3, glam::DVec3)> {
    match shape.form() {
        Some(form) => form.mesh.bounds(),
        None => {
            let (_, high) = shape.section().bounds()?;
            Some((glam::dvec3(-high.x, -high.x, 0.0), glam::dvec3(high.x, high.x, high.y)))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cakefile::{CakeFile, world::Memory};
    use std::sync::Arc;

    fn planned(text: &str) -> Result<(Plan, Vec<Diagnostic>), PlanError> {
        let cake = CakeFile::from_text("cake", "", text);
        let source = Source::new(cake, Arc::new(Memory::new()));
        plan_for_window(&Planner::new(), &source, Quality::Full, &Cancel::new())
    }

    const CONE: &str =
        "crumbline = 2\nname = \"Cone\"\nunit = \"in\"\n[shape.turned]\npoints = [[4, 0], [0, 8]]\n";

    #[test]
    fn a_cake_without_layers_is_shown_and_the_problem_told() {
        let (plan, problems) = planned(CONE).unwrap();
        assert_eq!(problems.len(), 1);
        // π r² h / 3 of a cone of 4 in radius and 8 in height.
        let volume = std::f64::consts::PI * 101.6_f64.powi(2) * 203.2 / 3.0;
        let held = plan.line_volumes()[0];
        assert!((held / volume - 1.0).abs() < 0.002, "{held} and {volume}");
        assert!(plan.carving.shortfall() < 1e-6, "the block holds the shape");
        assert!(plan.findings.iter().all(|finding| !finding.code.is_of_stack()), "{:?}", plan.findings);
    }

    #[test]
    fn other_problems_are_no_plan() {
        assert!(planned(&CONE.replace("[4, 0]", "[4, \"low\"]")).is_err());
        assert!(planned("crumbline = 2\nname = \"Nothing\"\n").is_err());
    }
}
