//! Names with letters that the font of the pages does not have.

use std::collections::BTreeSet;

use formats::text::lacking;

use super::{Evidence, Finding, FindingCode};
use cakefile::{FieldPath, Severity};

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    /// Letters shown at most; the rest is counted.
    const SHOWN: usize = 12;
    let design = e.design;
    let tiers = design.tiers.iter().flat_map(|tier| {
        let layers = tier.layers.iter().map(|layer| layer.name.as_str());
        std::iter::once(tier.name.as_str()).chain(layers)
    });
    let names = std::iter::once(design.name.as_str())
        .chain(tiers)
        .chain(design.details.iter().map(|detail| detail.name.as_str()))
        .chain(design.coverings.iter().flat_map(|covering| &covering.zones).map(|zone| zone.name.as_str()));
    let lacking: BTreeSet<char> = names.flat_map(lacking).collect();
    if lacking.is_empty() {
        return;
    }
    let shown: String = lacking.iter().take(SHOWN).collect();
    let more =
        if lacking.len() > SHOWN { format!(" and {} more", lacking.len() - SHOWN) } else { String::new() };
    found.push(Finding {
        severity: Severity::Note,
        code: FindingCode::LettersLacking,
        about: "names".into(),
        message: format!(
            "the pages' font has no letters for {shown}{more}: in their place a question mark is printed; lists, plain \
             text and file names keep them"
        ),
        fix: "give names in Latin, Greek, Cyrillic, Hebrew or Arabic letters where they are to be printed".into(),
        place: None,
        field: FieldPath::root().key("name"),
    });
}
