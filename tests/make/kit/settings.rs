//! Settings of printed tools in the cake file, and what the plan says of them.

use cakefile::CakeFile;
use glam::DVec3;
use plan::PlanError;

use super::CONE;
use crate::plans::planned;

#[test]
fn an_outline_that_crosses_itself_is_remarked() {
    let bow = CONE.replace(
        "[[0, 0], [30, 0], [30, 12], [10, 12], [10, 40], [0, 40]]",
        "[[0, 0], [30, 30], [30, 0], [0, 30]]",
    );
    let plan = planned(&CakeFile::from_text("bow", "", bow)).unwrap();
    assert!(plan.findings.iter().any(|f| f.message.contains("crosses itself")), "{:?}", plan.findings);
    let plan = planned(&CakeFile::from_text("flag", "", CONE)).unwrap();
    assert!(!plan.findings.iter().any(|f| f.message.contains("crosses itself")));
}

#[test]
fn settings_are_read_from_the_cake_file_and_refused_by_name() {
    let file = |printing: &str| CakeFile::from_text("test", "", format!("{CONE}\n[printing]\n{printing}\n"));
    let plan =
        planned(&file("bed = [300, \"31 cm\", 400]\nnozzle = 0.35\nthickness = 5\ninfill = 0.15")).unwrap();
    let printing = &plan.design.printing;
    assert_eq!(
        (printing.bed, printing.nozzle, printing.thickness),
        (DVec3::new(300.0, 310.0, 400.0), 0.35, 5.0)
    );
    for (wrong, said) in [
        ("thickness = 0.5", "thinner than two widths"),
        ("blade = 0.5", "thinner than two widths"),
        ("dowel_clearance = 4", "as much as the wall"),
        ("infill = 20", "no share"),
        ("plastic_density = 0", "no plastic"),
        ("stand_below = -3", "above the board"),
        ("nozle = 0.4", "nozzle"),
    ] {
        let error = planned(&file(wrong)).unwrap_err();
        let text = match error {
            PlanError::CakeFile(error) => error.render(false),
            other => panic!("{other}"),
        };
        assert!(text.contains(said), "{wrong}: {text}");
    }
}
