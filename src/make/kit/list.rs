//! The list of a kit in words, to lie beside the printer.

use std::fmt::Write as _;

use super::Kit;
use formats::escape;

/// What must be said wherever printed tools are listed.
const CAUTIONS: &str = "\
Printed plastic is not safe for food by default: layer lines hold food and bacteria, and nobody knows what
the nozzle and the colourants leave. Keep a barrier film between tool and cake, or use a tool once; your
local food code and licensing come first. Common filament softens in hot water: wash by hand, lukewarm, and
keep it away from hot sugar and hot chocolate. Knives ride along guides: keep fingers behind the blade.
Count every part, dowel, stick and straw out again before the cake is served. Dowels are of untreated,
food-grade stock, never building timber. Mind allergens on tools that are used again.
";

/// The parts with sizes, copies and plastic, the beds, the findings and the cautions.
pub fn list(kit: &Kit) -> String {
    let mut text = format!("{}: printed parts\n\n", kit.cake);
    if !kit.left_out.is_empty() {
        text += "NOT IN THIS KIT\n";
        for error in &kit.left_out {
            let _ = writeln!(text, "- {error}");
        }
        text.push('\n');
    }
    let width = kit.parts.iter().map(|p| p.full_name().chars().count()).max().unwrap_or(0);
    let (mut grams, mut metres) = (0.0, 0.0);
    for part in &kit.parts {
        let (size, copies) = (part.size(), part.copies as f64);
        let each = if part.copies > 1 { format!("  × {}", part.copies) } else { String::new() };
        let _ = writeln!(
            text,
            "{:<width$}  {:>4.0} × {:>3.0} × {:>3.0} mm  {:>5.0} g  {:>5.1} m{each}",
            part.full_name(),
            size.x,
            size.y,
            size.z,
            part.plastic.grams,
            part.plastic.filament / 1000.0,
        );
        grams += copies * part.plastic.grams;
        metres += copies * part.plastic.filament / 1000.0;
    }
    let _ = writeln!(
        text,
        "\n{} parts on {} beds, about {grams:.0} g or {metres:.0} m of filament (an estimate; your slicer decides)",
        kit.parts.iter().map(|p| p.copies).sum::<usize>(),
        kit.beds.len()
    );
    for (number, bed) in kit.beds.iter().enumerate() {
        let names: Vec<String> = bed.placed.iter().map(|p| kit.parts[p.part].full_name()).collect();
        let _ = writeln!(text, "bed {}: {}", number + 1, names.join("; "));
    }
    if !kit.findings.is_empty() {
        text += "\nBefore printing\n";
        for finding in &kit.findings {
            let _ = writeln!(text, "- {}: {}\n  mend: {}", finding.about, finding.message, finding.fix.words);
        }
    }
    escape::lines(&(text + "\nCautions\n" + CAUTIONS)).into_owned()
}
