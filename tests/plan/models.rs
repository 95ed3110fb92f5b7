//! Client models as shapes.

use geom::DistanceField;
use plan::Planner;

use crate::{
    files::read,
    plans::{plan, planned, source},
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
    // Its open rim lies a little above the board, down to which an open surface is counted.
    assert_eq!(
        told,
        [
            "boulder.stl: it was open underneath and was closed there",
            "boulder.stl: as it came it enclosed 4.925 l; mended it encloses 5.098 l"
        ]
    );
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

/// A table on four square legs and a drum on a post, both thinner than the coats on their sides: told with how thick
/// they are and what they hold, by arithmetic, and the rest is planned. `carved` is how much of the shape is left.
#[test]
fn parts_too_thin_for_cake_are_told_and_the_rest_is_planned() {
    let legs = "points = [[-70, 0], [-56, 0], [-56, 60], [56, 60], [56, 0], [70, 0], [70, 160], [-70, 160]]";
    let table = format!("[shape.crossed]\nfront = {{ {legs} }}\nside = {{ {legs} }}");
    let drum = "[shape.turned]\npoints = [[0, 0], [7, 0], [7, 60], [80, 60], [80, 160], [0, 160]]";
    let post = std::f64::consts::PI * 49.0 * 60.0;
    for (shape, count, volume, thick) in
        [(table.as_str(), 4, 4.0 * 14.0 * 14.0 * 60.0, 14.0), (drum, 1, post, 14.0)]
    {
        let plan = plan(&format!(
            "crumbline = 1\nname = \"Thin\"\nunit = \"mm\"\n{shape}\n\
             [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
             [[covering]]\nmaterial = \"ganache\"\nthickness = 14\n\
             [[tier]]\nname = \"all\"\n\
             [[tier.layer]]\nname = \"low\"\npan = {{ round = 240 }}\nheight = 80\n\
             [[tier.layer]]\nname = \"high\"\npan = {{ round = 240 }}\nheight = 80\n"
        ));
        let [thin] = plan.lines.thin() else { panic!("{:?}", plan.lines.thin()) };
        assert_eq!(thin.count, count);
        assert!((thin.thickest - thick).abs() < 1.0, "{thin:?}");
        // With it goes the rounding where it grows out of the rest.
        assert!(thin.volume > 0.95 * volume && thin.volume < 1.25 * volume, "{thin:?} of {volume}");
        assert!(thin.heights.0 < 1.0 && (55.0..72.0).contains(&thin.heights.1), "{thin:?}");
        let told = plan.findings.iter().find(|f| f.code.as_str() == "thin-part").expect("told");
        assert!(told.message.contains("thick: no cake fits inside 18 mm"), "{}", told.message);
        assert!(told.fix.words.contains("model it from chocolate"), "{:?}", told.fix);
        assert!(plan.carving.carved > 3e5, "{}", plan.carving.carved);
    }
}
