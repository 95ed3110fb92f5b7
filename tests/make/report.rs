//! The report as text.

use make::report::{Report, text};

use crate::{cakes::small_cake, plans::plan};

fn plain(report: &Report) -> String {
    anstream::adapter::strip_str(&text(report)).to_string()
}

#[test]
fn the_report_in_millimetres() {
    insta::assert_snapshot!("small_cake_mm", plain(&Report::new(&plan(&small_cake("mm")))));
}

#[test]
fn the_report_in_inches() {
    insta::assert_snapshot!("small_cake_in", plain(&Report::new(&plan(&small_cake("in")))));
}
