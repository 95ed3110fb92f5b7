//! Straight-sided shapes are cut from strips of sheet cakes, not from slabs that enclose them.

use plan::{design::MaterialKind, stack::SlabKind};
use shop::{
    amounts::Amounts,
    arrange::{Aim, Proposal, Proposals, summary},
};

use crate::support::assert_close;

use super::trade::proposals;

/// Sheet pans of a shop.
const PANS: &str = r#"
crumbline = 1
[[pantry.pan]]
rectangle = ["15 in", "11 in"]
depth = 50
level = 40
count = 2
[[pantry.pan]]
rectangle = ["13 in", "9 in"]
depth = 50
level = 40
count = 2
[[pantry.pan]]
rectangle = ["11 in", "7 in"]
depth = 50
level = 40
count = 2
[[pantry.pan]]
square = "8 in"
depth = 50
level = 40
count = 2
"#;

const ONE: &str = "[[-100, -150], [100, -150], [100, -90], [40, -90], [40, 150], [-25, 150], [-100, 90], [-70, 50], \
     [-35, 78], [-35, -90], [-100, -90]]";
const SEVEN: &str = "[[-100, 150], [-100, 80], [10, 80], [-75, -150], [0, -150], [100, 95], [100, 150]]";
const LETTER_L: &str = "[[-100, -150], [100, -150], [100, -80], [-30, -80], [-30, 150], [-100, 150]]";

/// A cake with this outline, 80 mm high.
fn cake(outline: &str) -> String {
    format!(
        "crumbline = 1\nname = \"figure\"\n[[shape.sections.at]]\nheight = 0\noutline = {{ points = {outline} }}\n\
         [[shape.sections.at]]\nheight = 80\noutline = {{ points = {outline} }}\n"
    )
}

fn best(found: &Proposals) -> &Proposal {
    found.proposals.iter().find(|proposal| proposal.aims.contains(&Aim::Best)).unwrap()
}

/// Share of what is baked that is not on the cake, percent.
fn waste(found: &Proposals, aim: Aim) -> f64 {
    let summary = summary(found);
    summary.proposals.iter().find(|p| p.aims.contains(&aim)).unwrap().offcut_percent
}

/// 1, 7 and L of 300 × 200 × 80 mm out of a shop's sheet pans: strips waste less than 48 %, and two thirds or less of what
/// the best stack of whole layers wastes, which is still told.
#[test]
fn figures_are_cut_from_strips() {
    for (name, outline, most) in [("1", ONE, 45.0), ("7", SEVEN, 45.0), ("L", LETTER_L, 48.0)] {
        let found = proposals(&cake(outline), PANS);
        assert!(found.trouble.is_none(), "{name}: {:?}", found.trouble);
        let (pieces, whole) = (waste(&found, Aim::Best), waste(&found, Aim::WholeLayers));
        assert!(pieces < most && pieces < 0.8 * whole, "{name}: {pieces} % against {whole} %");
        let best = best(&found);
        assert!(best.has_pieces() && !best.plan.has_errors(), "{name}");
        // No less than its volume can be baked, and nothing is called proved that is not.
        assert!(best.found.bound <= best.found.cost, "{name}");
        let told = summary(&found);
        let told = told.proposals.iter().find(|p| p.aims.contains(&Aim::Best)).unwrap();
        assert!(told.pieces && (told.proved == (told.gap == 0.0)), "{name}");
    }
}

/// Baked = kept + shaved off + left of the sheet cakes; the search, the plan and the amounts agree.
#[test]
fn whole_sheet_cakes_are_baked_and_nothing_is_lost() {
    let found = proposals(&cake(LETTER_L), PANS);
    let best = best(&found);
    let amounts = Amounts::new(&best.plan);
    let group = &amounts.bakes[0];
    assert_eq!((amounts.bakes.len(), group.bakes.len()), (1, best.bake_count()));
    let letters: usize = group.bakes.iter().map(|bake| bake.pieces.len()).sum();
    let laid: usize = best
        .found
        .slabs
        .iter()
        .filter_map(|slab| slab.footprint.shape.pieces())
        .map(|p| p.list().len())
        .sum();
    assert_eq!(letters, laid);
    let density = found.setup.density;
    let baked = group.pan.volume(group.pan.level) * group.bakes.len() as f64 / 1000.0 * density;
    assert_close("baked", best.baked(density), baked, 1e-9);
    let sponge =
        |slab: &plan::stack::Slab| slab.kind == SlabKind::Layer && slab.material.kind == MaterialKind::Sponge;
    let volumes = best.plan.carving.total(&best.plan.stack, sponge);
    let in_pieces = volumes.raw / 1000.0 * density;
    assert_close("pieces and rest", in_pieces + group.rest_g, baked, 1e-9);
    assert_close("offcut", amounts.offcut_g, baked - volumes.kept / 1000.0 * density, 1e-9);
}

/// A plain block is one slab of a pan that is there; a turned shape is never laid of pieces.
#[test]
fn whole_slabs_stay_where_they_are_as_good() {
    let block = cake("[[-130, -80], [130, -80], [130, 80], [-130, 80]]");
    let found = proposals(
        &block,
        "crumbline = 1\n[[pantry.pan]]\nrectangle = [280, 180]\ndepth = 50\nlevel = 40\ncount = 2\n",
    );
    assert!(!best(&found).has_pieces());
    assert!(found.proposals.iter().all(|proposal| !proposal.aims.contains(&Aim::WholeLayers)));
    let drum = "crumbline = 1\nname = \"drum\"\n[shape.turned]\npoints = [[90, 0], [90, 80]]\n";
    assert!(proposals(drum, PANS).proposals.iter().all(|proposal| !proposal.has_pieces()));
}

/// A letter that no pan holds in one piece is laid of several.
#[test]
fn what_no_pan_holds_whole_is_laid_of_pieces() {
    let square = "crumbline = 1\n[[pantry.pan]]\nsquare = \"8 in\"\ndepth = 50\nlevel = 40\ncount = 2\n";
    let found = proposals(&cake(LETTER_L), square);
    assert!(found.trouble.is_none() && best(&found).has_pieces(), "{:?}", found.trouble);
}
