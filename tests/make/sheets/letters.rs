//! Letters and lines on their paper template.

use make::{
    language::Language,
    sheets::{Template, templates},
};

use super::{
    named,
    raster::{PER_MM, Raster, text},
};
use crate::plans::plan;

fn cake(shape: &str) -> String {
    format!(
        "crumbline = 2\nname = \"Letters\"\n[shape.turned]\npoints = [[80, 0], [80, 140], [0, 140]]\n[[covering]]\n\
         material = \"rolled icing\"\nthickness = 4\n[[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 180 }}\n\
         height = 140\n[[detail]]\nname = \"letter\"\ncut = \"icing\"\noutline = {{ shape = {{ {shape} }}, height = 70, \
         depth = 2 }}\n"
    )
}

/// On paper an L reads right: its stem at the left, its foot below to the right, capitals as high as asked.
#[test]
fn a_letter_reads_right_on_its_template() {
    let plan = plan(&cake("text = { words = \"L\", size = 100 }"));
    let german = Language::shipped("de").unwrap();
    for (language, told) in [
        (Language::english(), "Letters: L. Capitals are 100 mm"),
        (&german, "Buchstaben: L. Großbuchstaben sind 100 mm"),
    ] {
        let files = templates(&plan, &plan.design.paper, &[Template::Details], language).unwrap();
        let Some(printed) = text("pdftotext", &["-raw"], named(&files, ".pdf")) else { return };
        let printed = printed.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(printed.contains(told), "{printed}");
        let rows = Raster::page(named(&files, ".pdf"), 1).unwrap().largest_shape();
        assert!((rows.len() as f64 / PER_MM - 100.5).abs() < 0.3, "{} pixels high", rows.len());
        let (_, left, right) = rows[rows.len() / 2];
        let (_, foot_left, foot_right) = rows[rows.len() - 20];
        assert_eq!(left, foot_left);
        assert!(foot_right > right + 200, "{right} {foot_right}");
    }
}

#[test]
fn a_line_is_told_with_its_width() {
    let plan = plan(&cake("points = [[-20, 0], [20, 10]], stroke = 3"));
    let files = templates(&plan, &plan.design.paper, &[Template::Details], Language::english()).unwrap();
    let Some(printed) = text("pdftotext", &["-raw"], named(&files, ".pdf")) else { return };
    assert!(printed.contains("A line 3 mm"), "{printed}");
}
