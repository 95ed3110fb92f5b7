//! Client models as shapes.

use geom::DistanceField;
use plan::Planner;

use crate::{
    files::read,
    plans::{planned, source},
    repository::example,
};

/// The boulder's cake file and its model are read as they stand, and what was done is told.
#[test]
fn the_boulder_is_a_sound_shape() {
    let file = read(example("boulder")).unwrap();
    let understood = Planner::new().understand(&source(&file), &geom::Cancel::new(), |_, _| ()).unwrap();
    let (design, remarks) = (understood.design, understood.remarks);
    let mesh = &design.shape.form().unwrap().mesh;
    mesh.check().unwrap();
    let told: Vec<&str> = remarks.iter().map(|remark| remark.message.as_str()).collect();
    assert_eq!(told, ["boulder.stl: it was open underneath and was closed there"]);
    let (lo, hi) = mesh.bounds().unwrap();
    assert!(lo.z == 0.0 && hi.z > 150.0 && hi.z < 200.0, "{lo} {hi}");
    let plan = planned(&file).unwrap();
    assert!(!plan.has_errors(), "{:?}", plan.findings);
    let carved = plan.lines.carved().solid.clone().expect("no section describes a stone");
    carved.check().unwrap();
    // Wherever the knife leaves off, the finished surface lies as far outside as the coverings are thick.
    let depths = DistanceField::new(mesh);
    for p in carved.positions.iter().step_by(37).filter(|p| p.z > 0.0) {
        assert!((depths.at(*p) - 10.0).abs() < 2e-3, "{p}: {}", depths.at(*p));
    }
}
