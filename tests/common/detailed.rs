//! A cylinder with cuts and adds.

// The tests of each member use their part of it.
#![allow(dead_code)]

use plan::Plan;

use crate::plans::plan;

/// How finely the cakes here are made, mm.
pub const CHORD: f64 = 0.02;

/// Icing and ganache together, mm.
pub const COVERINGS: f64 = 10.0;

/// A cylinder of radius 120 and height 160 under 10 mm of coverings, out of two layers, with these details.
pub fn cylinder(details: &str) -> Plan {
    plan(&format!(
        "crumbline = 1\nname = \"drum\"\naccuracy = {{ tool = {CHORD}, preview = 0.2 }}\n\
         [shape.turned]\npoints = [[120, 0], [120, 160]]\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 6\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 250 }}\nheight = 80\n\
         [[tier.layer]]\npan = {{ square = 260 }}\nheight = 80\n{details}"
    ))
}

/// A table of the cake file.
pub fn detail(name: &str, operation: &str, tool: &str) -> String {
    format!("[[detail]]\nname = \"{name}\"\n{operation}\n{tool}\n")
}

/// What a cut in the sponge takes from the carve, mm³, through the whole way from the text.
pub fn taken(tool: &str) -> f64 {
    let cut = cylinder(&detail("cut", "cut = \"sponge\"", tool));
    cylinder("").carving.carved - cut.carving.carved
}
