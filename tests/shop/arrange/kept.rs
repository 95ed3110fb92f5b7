//! What is not sponge stays where the cake file has it.

use cakefile::CakeFile;
use plan::{design::MaterialKind, stack::SlabKind};
use shop::arrange::{Aim, Proposal};

use super::trade::proposals;

/// A drum 200 mm across and 160 mm high on a foot of cereal treat 40 mm high, with `tiers` instead of it.
fn drum(tiers: &str) -> String {
    format!("crumbline = 1\nname = \"drum\"\n[shape.turned]\npoints = [[90, 0], [90, 160]]\n{tiers}")
}

const FOOT: &str = "[[tier]]\nname = \"base\"\n[[tier.layer]]\nname = \"cup\"\nmaterial = \"cereal treat\"\n\
                    pan = { round = 200 }\nheight = 40\n";
const SPONGE: &str = "[[tier.layer]]\npan = { round = 254 }\nheight = 60\n";
const TOP: &str = "[[tier]]\nname = \"cap\"\n[[tier.layer]]\nname = \"lid\"\nmaterial = \"foam dummy\"\n\
                   pan = { round = 200 }\nheight = 60\n";

fn best(text: &str) -> Proposal {
    let found = proposals(text, "");
    let told = format!("{:?}", found.trouble);
    found.proposals.into_iter().find(|proposal| proposal.aims.contains(&Aim::Best)).expect(&told)
}

/// Name, heights of underside and top of every layer that is not sponge.
fn firm(proposal: &Proposal) -> Vec<(String, f64, f64)> {
    let layers = proposal.plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Layer);
    let firm = layers.filter(|slab| slab.material.kind != MaterialKind::Sponge);
    firm.map(|slab| (slab.name.clone(), slab.bottom, slab.top)).collect()
}

fn top_of_sponge(proposal: &Proposal) -> f64 {
    let slabs = proposal.plan.stack.slabs.iter();
    slabs.filter(|slab| slab.material.kind == MaterialKind::Sponge).map(|slab| slab.top).fold(0.0, f64::max)
}

#[test]
fn a_foot_below_and_a_dummy_on_top_stay() {
    let foot = best(&drum(&format!("{FOOT}{SPONGE}{SPONGE}")));
    assert_eq!(firm(&foot), [("cup".to_owned(), 0.0, 40.0)]);
    assert!(top_of_sponge(&foot) >= 160.0 && !foot.plan.has_errors());

    // The lid lies at 40 + 60 + 60, less what the shape does not reach: at 160 there is nothing; so one layer of sponge.
    let both = best(&drum(&format!("{FOOT}{SPONGE}{TOP}")));
    assert_eq!(
        firm(&both),
        [("cup".to_owned(), 0.0, 40.0), ("lid".to_owned(), 100.0, 160.0)],
        "{}",
        both.tiers
    );
    assert!((top_of_sponge(&both) - 95.0).abs() < 1e-6 || (top_of_sponge(&both) - 100.0).abs() < 1e-6);
    assert!(!both.plan.has_errors(), "{:?}", both.plan.findings);
    // What is proposed is a cake file that has them, whole.
    let written = CakeFile::from_text("x", "", &both.text).parse();
    assert!(written.document.is_some() && both.tiers.contains("\"cup\"") && both.tiers.contains("\"lid\""));
}

/// Of two stretches of sponge the higher one is arranged; the other stays with what is not sponge, and is told.
#[test]
fn the_highest_stretch_of_sponge_is_arranged() {
    let low = "[[tier]]\nname = \"base\"\n[[tier.layer]]\nname = \"first\"\npan = { round = 203 }\nheight = 40\n\
               [[tier.layer]]\nname = \"ring\"\nmaterial = \"cereal treat\"\npan = { round = 203 }\nheight = 30\n";
    let text = drum(&format!("{low}{SPONGE}{SPONGE}"));
    let found = proposals(&text, "");
    assert_eq!(found.setup.kept.names, ["first", "ring"]);
    let best = best(&text);
    assert_eq!(firm(&best), [("ring".to_owned(), 40.0, 70.0)]);
    assert!(best.plan.stack.slabs.iter().any(|slab| slab.name == "first" && slab.top == 40.0));
}
