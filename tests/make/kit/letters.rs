//! Cutters and stamps of letters: mirrored, in one piece, with the counters of the letters in them.

use geom::progress::NoProgress;
use make::kit::{Group, Kit, Part};

use super::{CONE, crossings, large, part};
use crate::plans::plan;

/// The kit of a cone with letters that are pressed in, or put on.
fn letters(words: &str, operation: &str, group: Group) -> Kit {
    let plain: Vec<&str> = CONE.lines().take_while(|line| *line != "[[detail]]").collect();
    let text = format!(
        "{}\n[[detail]]\nname = \"letters\"\n{operation} = \"icing\"\noutline = {{ shape = {{ text = {{ words = \"{words}\", \
         size = 40 }} }}, height = 60, depth = 2 }}\n",
        plain.join("\n")
    );
    Kit::new(&plan(&text), &large(), &[group], &NoProgress).unwrap_or_else(|error| panic!("{error}"))
}

fn only(kit: &Kit) -> &Part {
    assert_eq!(kit.parts.len(), 1, "{:?}", kit.parts.iter().map(Part::full_name).collect::<Vec<_>>());
    &kit.parts[0]
}

/// The foot of an L points to the right on the cake; looking at the face of a stamp (down onto its print) it points to the
/// left, so that what is pressed reads right. The face stands 3 mm above the block: depth and 1 mm.
#[test]
fn a_stamp_of_letters_is_their_mirror_image() {
    let kit = letters("L", "cut", Group::Stamps);
    let stamp = part(&kit, "stamp, letters");
    let face = stamp.size().z - 0.5;
    // The block reaches 3 mm beyond the letter on all sides.
    let (lo, hi) = stamp.mesh.bounds().unwrap();
    let foot = crossings(&stamp.mesh, lo.y + 4.0, face);
    let stem = crossings(&stamp.mesh, hi.y - 4.0, face);
    assert_eq!((foot.len(), stem.len()), (2, 2));
    assert!((foot[0] - (lo.x + 3.0)).abs() < 0.1 && (foot[1] - (hi.x - 3.0)).abs() < 0.1, "{foot:?}");
    assert!((stem[1] - foot[1]).abs() < 1e-3 && stem[0] > foot[0] + 10.0, "{stem:?} {foot:?}");
    assert_eq!(only(&letters("L", "cut", Group::Stamps)).mesh.positions, stamp.mesh.positions);
}

/// Letters that stand further apart than their blocks reach are one stamp all the same.
#[test]
fn a_stamp_of_several_letters_is_one_piece() {
    for words in ["I I", "i", "Mia 7", "Lo\\nve"] {
        let kit = letters(words, "cut", Group::Stamps);
        let stamp = only(&kit);
        assert_eq!(stamp.footprint.pieces().len(), 1, "{words}");
    }
}

/// The wall of a counter is held by bridges at the back, clear of the paste.
#[test]
fn a_cutter_of_letters_cuts_their_counters_and_is_one_piece() {
    for (words, walls) in [("O", 8), ("I", 4)] {
        let kit = letters(words, "add", Group::Cutters);
        let cutter = only(&kit);
        assert_eq!(cutter.footprint.pieces().len(), 1, "{words}");
        let (lo, hi) = cutter.mesh.bounds().unwrap();
        // At the cutting edge two crossings for every wall: of an O four walls, outside and round its counter.
        let edge = crossings(&cutter.mesh, f64::midpoint(lo.y, hi.y) + 0.1, cutter.size().z - 0.3);
        assert_eq!(edge.len(), walls, "{words}: {edge:?}");
    }
    assert_eq!(only(&letters("Mia 7", "add", Group::Cutters)).footprint.pieces().len(), 1);
}
