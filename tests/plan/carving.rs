//! What carving takes from each layer, through the whole way from the text of a cake file.

use std::f64::consts::PI;

use plan::stack::SlabKind;

use crate::{
    cakes::{CONE, HALF_BALL, four_discs},
    plans::plan,
    support::assert_close,
};

/// The smallest round that covers each layer is its carved radius at the lower face.
#[test]
fn spare_at_the_side_is_measured_from_the_smallest_round_that_covers() {
    let half_ball = plan(&four_discs(HALF_BALL, 0.01));
    for (slab, covers) in half_ball.carving.slabs.iter().zip([100.0, 96.824_6, 86.602_5, 66.143_8]) {
        let spare = slab.spare.unwrap();
        assert!((spare.least - (100.0 - covers)).abs() < 1e-2, "{} for {covers}", spare.least);
    }
    let cone = plan(&four_discs(CONE, 0.05));
    for (slab, covers) in cone.carving.slabs.iter().zip([100.0, 75.0, 50.0, 25.0]) {
        assert!((slab.spare.unwrap().least - (100.0 - covers)).abs() < 1e-6);
    }
}

/// A round from a square wastes 1 − π/4, and lies wholly inside it.
#[test]
fn a_round_from_a_square_pan_wastes_its_corners_and_misses_nothing() {
    for turn in [0, 17, 45] {
        let square = plan(&format!(
            "crumbline = 1\nname = \"square\"\n[shape.turned]\npoints = [[100, 0], [100, 80]]\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ square = 200 }}\nheight = 80\nturn = {turn}\n"
        ));
        let volumes = square.carving.slabs[0].volumes;
        assert_close("raw", volumes.raw, 3_200_000.0, 1e-12);
        assert_close("kept", volumes.kept, PI * 1e4 * 80.0, 1e-9);
        assert_close("waste", volumes.offcut / volumes.raw, 0.214_601_836_6, 1e-9);
        assert!(volumes.shortfall <= 1e-9 * volumes.kept, "{volumes:?}");
        assert!(square.carving.slabs[0].general);
    }
}

/// Wherever a layer that is large enough stands, it keeps the whole slice; one wholly inside loses nothing.
#[test]
fn off_the_axis_straightening_the_round_invents_neither_shortfall_nor_offcut() {
    let cake = |pan: &str, offset: &str| {
        plan(&format!(
            "crumbline = 1\nname = \"aside\"\n[shape.turned]\npoints = [[90, 0], [70, 60]]\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ {pan} }}\noffset = {offset}\nheight = 60\n"
        ))
    };
    let slice = PI * 60.0 / 3.0 * (8100.0 + 6300.0 + 4900.0);
    for pan in ["round = 230", "square = 240", "rectangle = [260, 230]"] {
        let volumes = cake(pan, "[7, -11]").carving.slabs[0].volumes;
        assert_close(pan, volumes.kept, slice, 1e-9);
        assert!(volumes.shortfall <= 1e-9 * slice, "{pan}: {volumes:?}");
    }
    for (pan, raw) in [("round = 80", PI * 1600.0 * 60.0), ("square = 70", 4900.0 * 60.0)] {
        let volumes = cake(pan, "[12, 9]").carving.slabs[0].volumes;
        assert_close(pan, volumes.raw, raw, 1e-9);
        assert_close(pan, volumes.kept, raw, 1e-9);
        assert!(volumes.offcut.abs() <= 1e-9 * raw, "{pan}: {volumes:?}");
        assert_close(pan, volumes.shortfall, slice - raw, 1e-9);
    }
}

/// Two discs of one radius, their middles d apart, share 2 R² acos(d/2R) − d/2 √(4R² − d²) (CRC tables).
#[test]
fn a_layer_beside_the_axis_keeps_the_lens_of_two_circles() {
    let (radius, apart) = (100.0, 70.0f64);
    let lens = 2.0 * radius * radius * (apart / 200.0).acos() - apart / 2.0 * (4e4 - apart * apart).sqrt();
    for (offset, chord) in [("[70, 0]", 0.05), ("[42, 56]", 0.05), ("[42, 56]", 0.01)] {
        let beside = plan(&format!(
            "crumbline = 1\nname = \"beside\"\naccuracy = {{ tool = {chord} }}\n[shape.turned]\n\
             points = [[100, 0], [100, 40]]\n[[tier]]\nname = \"only\"\n\
             [[tier.layer]]\npan = {{ round = 200 }}\noffset = {offset}\nheight = 40\n"
        ));
        let kept = beside.carving.slabs[0].volumes.kept;
        let rim = 4.0 * radius * (apart / 200.0).acos() * 40.0;
        assert!((kept - lens * 40.0).abs() <= chord * rim, "{kept} for {}", lens * 40.0);
    }
}

/// Sizes that are no round figures, thin fillings and small cakes add up all the same.
#[test]
fn odd_sizes_add_up() {
    for (scale, name) in [(1.0, "full size"), (0.07, "a thimble"), (7.0, "a giant")] {
        let mm = |x: f64| x * scale;
        let odd = plan(&format!(
            "crumbline = 1\nname = \"{name}\"\n\
             [shape.turned]\npoints = [[{}, 0], [{}, {}], [{}, {}]]\n\
             [[tier]]\nname = \"only\"\nfilling = {{ material = \"jam\", thickness = {} }}\n{}",
            mm(100.0 / 3.0 * 2.0),
            mm(250.0 / 3.0),
            mm(100.0 / 7.0),
            mm(40.0 / 3.0),
            mm(300.0 / 7.0),
            mm(1.0 / 3.0),
            format!(
                "[[tier.layer]]\npan = {{ round = {} }}\nheight = {}\n",
                mm(1000.0 / 7.0),
                mm(50.0 / 7.0)
            )
            .repeat(6),
        ));
        for (slab, carved) in odd.stack.slabs.iter().zip(&odd.carving.slabs) {
            let v = carved.volumes;
            assert_close(&slab.name, v.kept + v.offcut, v.raw, 1e-9);
        }
        assert!(odd.stack.slabs.iter().any(|s| s.kind == SlabKind::Filling));
        let held: f64 = odd.carving.slabs.iter().map(|s| s.volumes.kept).sum();
        assert_close("carved", held + odd.carving.shortfall(), odd.carving.carved, 1e-9);
    }
}

/// A gap that no eye sees still adds up.
#[test]
fn hairline_gaps_add_up() {
    for gap in [1e-4, 5e-7, 1e-8] {
        let text = format!(
            "crumbline = 1\nname = \"hair\"\n[shape.turned]\npoints = [[100, 0], [100, 80]]\n\
             [[tier]]\nname = \"only\"\n\
             [[tier.layer]]\npan = {{ round = 220 }}\nheight = 40\n\
             [[tier.layer]]\npan = {{ round = 220 }}\nheight = 40\nbottom = {}\n",
            40.0 + gap
        );
        let hair = plan(&text);
        let held: f64 = hair.carving.slabs.iter().map(|s| s.volumes.kept).sum();
        assert_close("carved", held + hair.carving.shortfall(), hair.carving.carved, 1e-9);
    }
}

/// The mean depth over the side of a cylinder with a groove turned into half of it is the mean of both,
/// each by its surface.
#[test]
fn the_mean_depth_weighs_every_place_by_its_surface() {
    // Out of a round of 120 mm radius: 20 mm at the plain side; a wedge of the side cut 10 mm deeper by a
    // wrapped outline of the whole height, a quarter of the way round.
    let quarter = PI * 50.0;
    let cut = plan(&format!(
        "crumbline = 1\nname = \"quarter\"\n[shape.turned]\npoints = [[100, 0], [100, 200]]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 240 }}\nheight = 60\n\
         [[tier.layer]]\npan = {{ round = 240 }}\nheight = 200\n[[detail]]\nname = \"quarter\"\ncut = \"sponge\"\n\
         outline = {{ shape = {{ rectangle = [{quarter}, 500] }}, height = 100, depth = 10, wrap = true }}\n"
    ));
    let found = cut.carving.slabs[0].shave.unwrap().mean;
    // Side 20 mm deep, bottom of the cut 30 mm, its two walls (10 mm wide) 25 mm in the mean.
    let (side, bottom, walls) = (3.0 * quarter, quarter * 0.9, 20.0);
    let exact = (side * 20.0 + bottom * 30.0 + walls * 25.0) / (side + bottom + walls);
    assert_close("mean depth", found, exact, 5e-3);
}

/// An outline that ends where it began is a ring: what lies between it and the axis is no cake, however the
/// outline is given (annular cylinder R 100, r 40, H 80: 2111150.26321 mm³, CRC tables).
#[test]
fn an_outline_that_closes_itself_leaves_a_hollow() {
    for outline in [
        "points = [[40, 0], [100, 0], [100, 80], [40, 80], [40, 0]]",
        "from = [40, 0]\ndraw = [{ to = [100, 0] }, { to = [100, 80] }, { to = [40, 80] }, { to = [40, 0] }]",
    ] {
        let ring = plan(&format!(
            "crumbline = 1\nname = \"ring\"\n[shape.turned]\n{outline}\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 210 }}\nheight = 80\n"
        ));
        assert_close(outline, ring.carving.carved, 2_111_150.263_21, 1e-9);
        assert_close(outline, ring.carving.slabs[0].volumes.kept, 2_111_150.263_21, 1e-9);
    }
}
