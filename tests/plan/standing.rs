//! Whether a cake stands and travels: formulas against handbooks, masses against trimesh, load sharing against
//! scipy, and what a maker must be told.

mod advice;
mod fixes;
mod formulas;
mod masses;
mod trouble;

use plan::{Plan, support::Check};

/// The weakest check of one kind.
///
/// # Panics
/// When there is none.
#[track_caller]
fn check<'a>(plan: &'a Plan, code: &str) -> &'a Check {
    let mut of_kind = plan.support.checks.iter().filter(|check| check.code.as_str() == code);
    let worst = of_kind.clone().min_by(|a, b| a.share().total_cmp(&b.share()));
    let known: Vec<&str> = plan.support.checks.iter().map(|check| check.code.as_str()).collect();
    let _ = of_kind.next();
    worst.unwrap_or_else(|| panic!("no {code} among {known:?}"))
}

/// A plain cake of one density: a turned outline, one tier of layers of 500 mm pans.
fn turned(points: &str, layers: &[f64]) -> String {
    let layer = |h: &f64| format!("[[tier.layer]]\npan = {{ round = 500 }}\nheight = {h}\n");
    let layers: String = layers.iter().map(layer).collect();
    format!(
        "crumbline = 1\nname = \"Plain\"\n[shape.turned]\npoints = {points}\n[[tier]]\nname = \"only\"\n{layers}"
    )
}
