//! How tools are cut to a small bed.

use geom::progress::NoProgress;
use glam::DVec3;
use make::kit::{Group, Kit, KitError};
use plan::design::Printing;

use crate::plans::example;

/// A bed of 100 mm: no piece that a tool is cut into is a strip or a crumb; a tool that cannot be cut otherwise is
/// listed, with both sizes, and all others are there.
#[test]
fn a_small_bed_leaves_no_strips() {
    let mut cut = 0;
    for name in ["sitting-hen", "boulder", "lopsided-bell", "garden-urn"] {
        let plan = example(name);
        let printing = Printing { bed: DVec3::new(100.0, 100.0, 250.0), ..plan.design.printing.clone() };
        let kit =
            Kit::new(&plan, &printing, &[Group::Scrapers, Group::Combs, Group::BoardTemplates], &NoProgress)
                .unwrap();
        for part in kit.parts.iter().filter(|part| part.piece.1 > 1) {
            let narrow = part.size().to_array().iter().filter(|&&side| side < 13.0).count();
            assert!(narrow < 2, "{name}: {}: {}", part.full_name(), part.size());
            cut += 1;
        }
        for error in &kit.left_out {
            let text = error.to_string();
            assert!(matches!(error, KitError::TooNarrow { .. }), "{name}: {text}");
            assert!(
                text.contains("the bed of 100 × 100 mm") && text.contains("narrower than 13 mm"),
                "{text}"
            );
        }
        let made = kit.parts.iter().filter(|part| part.piece.0 == 1).count();
        assert!(kit.left_out.len() * 3 <= made, "{name}: {} left out of {made}", kit.left_out.len());
    }
    assert!(cut > 150, "{cut} pieces");
}
