//! Solids by catalogue: what is listed is what comes out, alone or together.

use std::collections::BTreeSet;

use formats::model::{Part, PartKind};
use make::solids;

use crate::plans::example;

/// Made alone, a solid is the same to the last bit as made together with all others.
#[test]
fn a_solid_made_alone_is_the_one_made_among_all() {
    for (name, count) in [("lopsided-bell", 14), ("toadstool-house", 30)] {
        let plan = example(name);
        let catalogue = solids::catalogue(&plan);
        let names: BTreeSet<&str> = catalogue.iter().map(|entry| entry.name.as_str()).collect();
        assert_eq!(names.len(), catalogue.len(), "{name}: a name is there twice");
        let tolerance = plan.design.preview;
        let all = solids::build_all(&plan, &catalogue, tolerance).unwrap();
        let made = |entry: &solids::Entry| all.parts.iter().find(|part| part.name == entry.name);
        for entry in &catalogue {
            let alone = solids::build(&plan, entry, tolerance).unwrap();
            let among: &Part = made(entry).unwrap_or_else(|| panic!("{name}: {} is listed", entry.name));
            assert!(alone.mesh == among.mesh && !alone.mesh.is_empty(), "{name}: {}", entry.name);
            assert_eq!((alone.kind, &alone.material), (entry.kind, &entry.material));
        }
        assert!(all.parts.len() >= count, "{name}: {}", all.parts.len());
    }
}

/// Pictures show what the catalogue lists, with the finished cake for the lines.
#[test]
fn a_model_has_what_the_catalogue_lists() {
    let plan = example("toadstool-house");
    let model = solids::model(&plan, plan.design.preview).unwrap();
    let shown: BTreeSet<&str> = model.parts.iter().map(|part| part.name.as_str()).collect();
    let catalogue = solids::catalogue(&plan);
    let (lines, parts): (Vec<_>, Vec<_>) = catalogue.iter().partition(|entry| entry.kind == PartKind::Line);
    let listed: BTreeSet<&str> = parts.iter().map(|entry| entry.name.as_str()).chain(["finished"]).collect();
    assert_eq!(shown, listed);
    let names: Vec<&str> = lines.iter().map(|entry| entry.name.as_str()).collect();
    assert_eq!((names.first(), names.last()), (Some(&"finished"), Some(&"carved")));
}
