//! What manifold3d found is what it still finds (`tests/reference/measure.py`, `expected.json`).

use crate::{
    fixtures::{assert_cakes, assert_grown, read},
    reference::{asked, python},
};

/// Nothing in `expected.json` is out of date.
#[test]
fn the_reference_says_the_same_today() {
    let Some(python) = python() else { return };
    let today = asked::<&str>(&python, "measure.py", &[]);
    assert_eq!(today["made_by"], read("expected.json")["made_by"], "other versions: run measure.py again");
    assert_cakes(&today);
    assert_grown(&today);
}
