//! Straight-sided shapes are cut from strips of sheet cakes, not from slabs that enclose them.

use plan::{design::MaterialKind, pantry::PanShape, stack::SlabKind};
use shop::{
    amounts::{Amounts, BakeGroup},
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
const TWO: &str = "[[-30, 50], [-30, 57], [-29, 64], [-25, 71], [-21, 77], [-15, 81], [-8, 84], [-1, 85], [6, 84], [13, \
     82], [20, 78], [24, 72], [28, 66], [30, 59], [30, 51], [28, 44], [25, 38], [-95, -95], [-95, -150], \
     [95, -150], [95, -85], [15, -85], [78, 1], [89, 21], [94, 44], [94, 67], [89, 89], [78, 110], [62, \
     127], [42, 140], [21, 148], [-3, 150], [-26, 146], [-47, 138], [-66, 124], [-80, 106], [-90, 85], \
     [-95, 62], [-94, 39]]";
const HEART: &str = "[[0, 48], [-2, 57], [-8, 69], [-18, 83], [-32, 96], [-51, 104], [-72, 107], [-94, 104], [-114, 93], \
     [-130, 77], [-140, 58], [-144, 36], [-140, 14], [-130, -9], [-114, -30], [-94, -50], [-72, -68], \
     [-51, -86], [-32, -104], [-18, -119], [-8, -133], [-2, -144], [0, -151], [0, -153], [0, -151], [2, \
     -144], [8, -133], [18, -119], [32, -104], [51, -86], [72, -68], [94, -49], [114, -30], [130, -9], \
     [140, 14], [144, 36], [140, 58], [130, 77], [114, 93], [94, 104], [72, 107], [51, 104], [32, 96], \
     [18, 83], [8, 69], [2, 57], [0, 48], [0, 45]]";
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

/// A figure 2, a heart and an L: pieces of one layer come from sheet cakes of several sizes where that costs less, and the
/// plan bakes what the search counted.
#[test]
fn pieces_of_one_layer_come_from_several_pans() {
    let mut mixed = 0;
    for (name, outline, most) in [("2", TWO, 50.0), ("heart", HEART, 40.0), ("L", LETTER_L, 45.0)] {
        let found = proposals(&cake(outline), PANS);
        for aim in [Aim::Best, Aim::LeastOffcut] {
            let Some(chosen) = found.proposals.iter().find(|p| p.aims.contains(&aim)) else {
                panic!("{name} has no {aim:?}")
            };
            let shapes = chosen.pans.iter().map(|pan| pan.shape).zip(chosen.found.bakes.clone());
            let counted: Vec<(PanShape, u32)> = shapes.filter(|(_, count)| *count > 0).collect();
            let baked = chosen.bakes.iter().map(|(pan, bakes)| (pan.shape, bakes.len() as u32));
            assert_eq!(baked.collect::<Vec<_>>(), counted, "{name}");
            let amounts = Amounts::new(&chosen.plan);
            let bakes: usize = amounts.bakes.iter().map(|group| group.bakes.len()).sum();
            assert_eq!((bakes, chosen.plan.has_errors()), (chosen.bake_count(), false), "{name}");
            assert!(chosen.found.bound <= chosen.found.cost, "{name}");
            mixed += usize::from(chosen.has_pieces() && chosen.bakes.len() > 1);
        }
        assert!(waste(&found, Aim::LeastOffcut) < most, "{name}: {} %", waste(&found, Aim::LeastOffcut));
    }
    assert!(mixed >= 2, "{mixed} of them mix pans");
}

/// Baked = kept + carved off + left of the sheet cakes; the search, the plan and the amounts agree.
#[test]
fn whole_sheet_cakes_are_baked_and_nothing_is_lost() {
    let found = proposals(&cake(LETTER_L), PANS);
    let best = best(&found);
    let amounts = Amounts::new(&best.plan);
    let bakes: usize = amounts.bakes.iter().map(|group| group.bakes.len()).sum();
    assert_eq!(bakes, best.bake_count());
    let all = amounts.bakes.iter().flat_map(|group| &group.bakes);
    let letters: usize = all.map(|bake| bake.pieces.len()).sum();
    let laid: usize = best
        .found
        .slabs
        .iter()
        .filter_map(|slab| slab.footprint.shape.pieces())
        .map(|p| p.list().len())
        .sum();
    assert_eq!(letters, laid);
    let density = found.setup.density;
    let volume = |group: &BakeGroup| group.pan.volume(group.pan.level) * group.bakes.len() as f64;
    let baked = amounts.bakes.iter().map(volume).sum::<f64>() / 1000.0 * density;
    assert_close("baked", best.baked(density), baked, 1e-9);
    let sponge =
        |slab: &plan::stack::Slab| slab.kind == SlabKind::Layer && slab.material.kind == MaterialKind::Sponge;
    let volumes = best.plan.carving.total(&best.plan.stack, sponge);
    let in_pieces = volumes.raw / 1000.0 * density;
    assert_close(
        "pieces and rest",
        in_pieces + amounts.bakes.iter().map(|group| group.rest_g).sum::<f64>(),
        baked,
        1e-9,
    );
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

/// A round that no pan holds is laid of pieces of sheet cakes; where a round pan is large enough, it is baked in that.
#[test]
fn a_round_larger_than_every_pan_is_laid_of_pieces() {
    let drum = "crumbline = 1\nname = \"drum\"\n[shape.turned]\npoints = [[165, 0], [165, 80]]\n";
    let found = proposals(drum, PANS);
    assert!(found.trouble.is_none(), "{:?}", found.trouble);
    let laid = best(&found);
    assert!(laid.has_pieces() && !laid.plan.has_errors(), "{:?}", laid.plan.findings);
    assert!(waste(&found, Aim::Best) < 50.0, "{} %", waste(&found, Aim::Best));
    let round = "[[pantry.pan]]\nround = \"14 in\"\ndepth = 50\nlevel = 40\ncount = 2\n";
    assert!(!best(&proposals(drum, &format!("{PANS}{round}"))).has_pieces());
}

/// A firm layer under a figure stays where it is, and the sponge over it is laid of pieces.
#[test]
fn what_is_kept_lies_under_layers_of_pieces() {
    let layers = "[[tier]]\nname = \"base\"\n[[tier.layer]]\nname = \"plinth\"\nmaterial = \"cereal treat\"\n\
                  pan = { rectangle = [230, 330] }\nheight = 20\n[[tier.layer]]\npan = { rectangle = [230, 330] }\n\
                  height = 60\n";
    let whole = |found: &Proposals| waste(found, Aim::WholeLayers);
    let found = proposals(&format!("{}{layers}", cake(LETTER_L)), PANS);
    assert!(found.trouble.is_none(), "{:?}", found.trouble);
    let laid = best(&found);
    assert!(laid.has_pieces() && !laid.plan.has_errors(), "{:?}", laid.plan.findings);
    assert!(waste(&found, Aim::Best) < whole(&found), "{} %", waste(&found, Aim::Best));
    let of = |kind: fn(MaterialKind) -> bool| {
        laid.plan
            .stack
            .slabs
            .iter()
            .filter(move |slab| slab.kind == SlabKind::Layer && kind(slab.material.kind))
    };
    let firm: Vec<(&str, f64, f64)> =
        of(|kind| kind != MaterialKind::Sponge).map(|slab| (&*slab.name, slab.bottom, slab.top)).collect();
    assert_eq!(firm, [("plinth", 0.0, 20.0)]);
    let sponge: Vec<&plan::stack::Slab> = of(|kind| kind == MaterialKind::Sponge).collect();
    assert!(sponge.iter().all(|slab| slab.bottom >= 20.0 && slab.footprint.shape.pieces().is_some()));
    assert!(sponge.iter().any(|slab| slab.top >= 80.0));
    assert!(laid.found.bound <= laid.found.cost);
}
