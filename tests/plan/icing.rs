//! How a cake file says how icing is laid, and what is said where it cannot be.

use cakefile::{Severity, edit::Document};
use plan::{
    Plan,
    design::IcingWay,
    findings::{Finding, FindingCode},
};

fn text(shape: &str, covering: &str) -> String {
    format!(
        "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = {shape}\n[[covering]]\n{covering}\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 220 }}\nheight = 120\n"
    )
}

const DRUM: &str = "[[100, 0], [100, 120]]";
const CUP: &str = "[[60, 0], [100, 120]]";
const ICING: &str = "material = \"rolled icing\"\nthickness = 4";

fn refused(plan: &Plan) -> Option<&Finding> {
    plan.findings.iter().find(|found| found.code == FindingCode::IcingWay)
}

#[test]
fn the_way_is_chosen_by_the_shape_and_taken_from_the_file_where_it_can_be() {
    for (shape, way, expected) in [
        (DRUM, "", IcingWay::Draped),
        (DRUM, "way = \"disc-and-wrap\"", IcingWay::DiscAndWrap),
        (DRUM, "way = \"bands\"", IcingWay::Bands),
        (CUP, "", IcingWay::DiscAndWrap),
        (CUP, "way = \"disc-and-wrap\"", IcingWay::DiscAndWrap),
    ] {
        let plan = crate::plans::plan(&text(shape, &format!("{ICING}\n{way}")));
        assert_eq!(plan.icing()[0].way, expected, "{shape} {way}");
        assert!(refused(&plan).is_none());
    }
}

/// A sheet cannot be draped over a cup (through the middle of 4 mm of icing it goes in by 40 · 118/120 mm), and a drum has no panels: both are told, with the way that is planned, and the fix
/// of the file leaves nothing to tell.
#[test]
fn an_impossible_way_is_told_with_its_fix() {
    for (shape, way, said, planned) in [
        (CUP, "draped", "goes in by 39 mm below something wider", IcingWay::DiscAndWrap),
        (DRUM, "panels", "no flat sides with corners", IcingWay::Draped),
    ] {
        let text = text(shape, &format!("{ICING}\nway = \"{way}\""));
        let plan = crate::plans::plan(&text);
        let found = refused(&plan).unwrap_or_else(|| panic!("{way}: {:?}", plan.findings));
        assert_eq!(found.severity, Severity::Warning);
        assert!(found.message.contains(said), "{}", found.message);
        assert_eq!(found.field.to_string(), "covering[0].way");
        assert_eq!(plan.icing()[0].way, planned);
        let document = Document::from_text("x.cake.toml", text);
        let fix = found.fix.edit.as_ref().expect("an edit").to_edit(&document);
        let fixed = document.apply(&fix).unwrap().document;
        assert!(refused(&crate::plans::plan(fixed.text())).is_none());
    }
}

/// The way of what is spread means nothing, and a way that nobody knows is refused with those that there are.
#[test]
fn wrong_keys_are_told() {
    let ganache = "material = \"ganache\"\nthickness = 4\nway = \"bands\"\nseam = 90";
    let plan = crate::plans::plan(&text(DRUM, ganache));
    assert!(plan.icing().is_empty());
    for key in ["way", "seam"] {
        let told = plan.findings.iter().find(|found| found.field.to_string() == format!("covering[0].{key}"));
        let told = told.unwrap_or_else(|| panic!("{key}"));
        assert!(told.message.contains("spread, not rolled"), "{}", told.message);
    }
    for (line, said) in [
        ("way = \"inside out\"", "\"draped\", \"disc-and-wrap\", \"panels\" or \"bands\""),
        ("way = \"drapd\"", "did you mean \"draped\"?"),
        ("way = 3", "it has to be a word"),
        ("seam = \"behind\"", "seam"),
    ] {
        let file = cakefile::CakeFile::from_text("x.cake.toml", "", text(DRUM, &format!("{ICING}\n{line}")));
        let error = crate::plans::planned(&file).expect_err(line).render();
        assert!(error.contains(said), "{line}: {error}");
    }
}
