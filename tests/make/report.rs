//! The report as text.

use make::{
    language::Language,
    overview::Overview,
    report::{Explain, Report, text},
};
use plan::Plan;

use crate::{cakes::small_cake, plans::plan};

fn plain(plan: &Plan) -> String {
    let words = text(plan, &Report::new(plan), &Overview::new(plan), Explain::Rules, Language::english());
    anstream::adapter::strip_str(&words).to_string()
}

#[test]
fn the_report_in_millimetres() {
    insta::assert_snapshot!("small_cake_mm", plain(&plan(&small_cake("mm"))));
}

#[test]
fn the_report_in_inches() {
    insta::assert_snapshot!("small_cake_in", plain(&plan(&small_cake("in"))));
}
