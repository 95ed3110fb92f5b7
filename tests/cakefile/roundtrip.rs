//! What is written of a cake is read back as the same cake.

use cakefile::{CakeFile, schema::*};
use geom::units::Unit;
use proptest::{collection::vec, option, prelude::*};

/// Units of the real world with the numbers that a cake can have in them.
fn quantity(numbers: std::ops::Range<f64>) -> impl Strategy<Value = Quantity> {
    let number = numbers.clone().prop_map(Quantity::Number);
    let text = (numbers, prop::sample::select(vec!["mm", "cm", "in", "\"", " in"]));
    prop_oneof![number, text.prop_map(|(number, unit)| Quantity::Text(format!("{number}{unit}")))]
}

fn length() -> impl Strategy<Value = Length> {
    quantity(-300.0..300.0).prop_map(Length)
}

fn size() -> impl Strategy<Value = Size> {
    quantity(0.1..300.0).prop_map(Size)
}

fn angle() -> impl Strategy<Value = Angle> {
    let text = (-9.0..9.0, prop::sample::select(vec![" deg", "°", " turn", ""]));
    prop_oneof![
        (-360.0..360.0).prop_map(Quantity::Number),
        text.prop_map(|(number, unit): (f64, _)| Quantity::Text(format!("{number}{unit}"))),
    ]
    .prop_map(Angle)
}

fn colour() -> impl Strategy<Value = Colour> {
    "#[0-9a-fA-F]{6}".prop_map(Colour)
}

/// Any text at all, such as a name with quotes, line breaks and emoji in it.
fn text() -> impl Strategy<Value = String> {
    prop_oneof!["[a-z ]{1,8}", any::<String>()]
}

fn point2() -> impl Strategy<Value = [Length; 2]> {
    [length(), length()]
}

fn point3() -> impl Strategy<Value = [Length; 3]> {
    [length(), length(), length()]
}

prop_compose! {
    fn board()(
        round in option::of(size()), rectangle in option::of([size(), size()]), thickness in size(),
        material in option::of(text()), offset in option::of(point2()), turn in option::of(angle()),
        icing in option::of(
            (option::of(text()), option::of(colour()), option::of(size()))
                .prop_map(|(material, colour, thickness)| BoardIcing { material, colour, thickness })
        ),
        ribbon in option::of(
            (option::of(size()), option::of(colour())).prop_map(|(width, colour)| Ribbon { width, colour })
        ),
    ) -> Board {
        Board { round, square: None, rectangle, thickness, hole: None, material, offset, turn, icing, ribbon }
    }
}

prop_compose! {
    fn stroke()(to in point2(), through in option::of(point2()), curve in option::of([point2(), point2()])) -> Stroke {
        Stroke { to, through, curve }
    }
}

prop_compose! {
    fn svg()(file in text(), id in option::of(text()), user_unit in option::of(size())) -> SvgPath {
        SvgPath { file, id, layer: None, user_unit, axis: None }
    }
}

prop_compose! {
    fn picture()(
        file in text(), height in option::of(size()), distance in option::of(size()), error in option::of(size()),
        marks in option::of([[0.0..4000.0, 0.0..4000.0], [0.0..4000.0, 0.0..4000.0]]),
        separate_by in option::of(prop_oneof![
            Just(SeparateBy::Brightness), Just(SeparateBy::Transparency), Just(SeparateBy::Colour)
        ]),
        threshold in option::of(0.0..1.0), ground in option::of(prop_oneof![Just(Ground::Light), Just(Ground::Dark)]),
        keep in option::of(prop_oneof![Just(Keep::Largest), Just(Keep::All)]), fill_holes in option::of(any::<bool>()),
        half in option::of(prop_oneof![Just(Half::Both), Just(Half::Left), Just(Half::Right)]),
        card in option::of(any::<bool>()),
    ) -> PictureOutline {
        PictureOutline {
            file, height: height.clone(), width: None, marks, distance, marks_across: marks, distance_across: height, card, separate_by,
            threshold, ground, speckle: None, keep, fill_holes, error, straighten: None, half, axis: None,
        }
    }
}

prop_compose! {
    fn words()(
        words in text(), size in size(), bold in option::of(any::<bool>()), font in option::of(text()),
        spacing in option::of(length()),
    ) -> TextOutline {
        TextOutline { words, size, bold, font, spacing }
    }
}

prop_compose! {
    fn outline()(
        points in option::of(vec(point2(), 0..5)), from in option::of(point2()),
        draw in option::of(vec(stroke(), 0..4)), svg in option::of(svg()), picture in option::of(picture()),
        circle in option::of(size()), ellipse in option::of([size(), size()]), text in option::of(words()),
        stroke in option::of(size()),
    ) -> Outline {
        Outline { points, from, draw, svg, picture, circle, rectangle: None, ellipse, text, stroke }
    }
}

prop_compose! {
    fn filling()(material in text(), thickness in size()) -> Filling {
        Filling { material, thickness }
    }
}

prop_compose! {
    fn layer()(
        name in option::of(text()), round in option::of(size()), dome in prop::bool::ANY, height in size(),
        turn in option::of(angle()), filling in option::of(filling()),
    ) -> Layer {
        let dome = dome.then_some(Dome::Down);
        let pan = Pan { round, dome, ..Pan::default() };
        let pieces = Vec::new();
        Layer { name, pan, height, pieces, material: None, offset: None, turn, bottom: None, filling }
    }
}

prop_compose! {
    fn dowels()(count in option::of(any::<u32>()), diameter in size(), at in option::of(vec(point2(), 0..4))) -> Dowels {
        Dowels { count, diameter, circle: None, turn: None, at, material: None, wall: None, length: None }
    }
}

prop_compose! {
    fn tier()(
        name in text(), board in option::of(board()), dowels in option::of(dowels()),
        filling in option::of(filling()), layers in vec(layer(), 0..4),
    ) -> Tier {
        Tier { name, board, dowels, filling, layers }
    }
}

prop_compose! {
    fn repeat()(
        count in any::<u32>(), first in option::of(angle()), over in option::of(angle()), rise in option::of(length()),
        along in option::of(point3()), turn in option::of(angle()), mirror in option::of(prop::bool::ANY),
    ) -> Repeat {
        Repeat { count, first, over, rise, along, turn, mirror }
    }
}

prop_compose! {
    fn roll()(
        foot in option::of(prop::bool::ANY), height in option::of(length()), zone in option::of(text()),
        path in option::of(vec((angle(), length()), 0..3)), diameter in size(), from in option::of(angle()),
        taper in option::of(length()),
    ) -> RollTool {
        let path = path.map(|path| path.into_iter().map(|(bearing, height)| OnSide { bearing, height }).collect());
        let border = foot.map(|lower| if lower { Border::Lower } else { Border::Upper });
        let along = RollAlong { foot, rim: foot, height, zone, border, path };
        RollTool { along, end_diameter: Some(diameter.clone()), diameter, to: from.clone(), from, sunk: foot, twisted: foot, taper }
    }
}

prop_compose! {
    fn finish()(
        kind in prop::sample::select(vec![FinishKind::Paint, FinishKind::Lustre, FinishKind::Pearl, FinishKind::Dust]),
        colour in option::of(colour()), coats in option::of(1u32..9), fade in option::of(point2()),
        for_show in option::of(prop::bool::ANY),
    ) -> Finish {
        Finish { kind, colour, coats, fade, for_show }
    }
}

prop_compose! {
    fn trim()(
        name in text(), cut in prop::sample::select(vec![None, Some(Depth::Sponge), Some(Depth::Icing)]),
        colour in option::of(colour()), centre in point3(), diameter in size(),
        path in vec(point3(), 0..4), smooth in option::of(prop::bool::ANY), shape in option::of(outline()),
        repeat in option::of(repeat()), roll in option::of(roll()), finish in vec(finish(), 0..3),
    ) -> Detail {
        let ball = Some(BallTool { centre, diameter: diameter.clone() });
        let bar = Some(BarTool { path, diameter: diameter.clone(), smooth, taper: None, end_diameter: None });
        let outline = shape.map(|shape| OutlineTool {
            shape, height: Some(Length::from(1.0)), top: None, as_drawn: None, bearing: None, turn: None, depth: diameter, wrap: smooth,
        });
        Detail {
            name, cut, add: None, material: None, colour, cuboid: None, ball, cylinder: None, ring: None, bar,
            roll, half_space: None, outline, finish, repeat, mirror: smooth,
        }
    }
}

prop_compose! {
    fn zone()(
        name in text(), top in option::of(prop::bool::ANY), between in option::of(point2()),
        shape in option::of(outline()), material in option::of(text()), colour in option::of(colour()),
        thickness in option::of(size()), seam in option::of(angle()), finish in vec(finish(), 0..2),
    ) -> Zone {
        let outline = shape.map(|shape| ZoneOutline {
            shape, height: None, top: between.clone(), bearing: seam.clone(), turn: None, wrap: top,
        });
        Zone { name, top, side: None, between, outline, material, colour, thickness, seam, finish }
    }
}

prop_compose! {
    fn covering()(
        material in text(), thickness in size(), colour in option::of(colour()),
        way in option::of(prop::sample::select(vec![IcingWay::Draped, IcingWay::DiscAndWrap, IcingWay::Panels, IcingWay::Bands])),
        seam in option::of(angle()), finish in vec(finish(), 0..2), zones in vec(zone(), 0..3),
    ) -> Covering {
        Covering { material, thickness, colour, way, seam, finish, zones }
    }
}

prop_compose! {
    fn material()(like in option::of(text()), density in option::of(0.0..20.0), colour in option::of(colour())) -> Material {
        Material { like, density, colour }
    }
}

prop_compose! {
    fn paper()(
        size in prop::sample::select(vec![None, Some(PaperSize::A4), Some(PaperSize::A3), Some(PaperSize::Letter), Some(PaperSize::Tabloid)]),
        margin in option::of(size()),
    ) -> Paper {
        Paper { size, margin, ..Paper::default() }
    }
}

prop_compose! {
    fn printing()(
        bed in option::of([size(), size(), size()]), nozzle in option::of(size()), clearance in option::of(size()),
        stand_below in option::of(length()), infill in option::of(0.0..1.0),
    ) -> Printing {
        Printing { bed, nozzle, clearance, stand_below, infill, ..Printing::default() }
    }
}

fn temperature() -> impl Strategy<Value = Temperature> {
    let text = (-30.0..90.0, prop::sample::select(vec![" °C", "C", "°F", ""]));
    prop_oneof![
        (-30.0..90.0).prop_map(Quantity::Number),
        text.prop_map(|(number, unit): (f64, _)| Quantity::Text(format!("{number}{unit}"))),
    ]
    .prop_map(Temperature)
}

prop_compose! {
    fn support()(
        room in option::of(temperature()), tilt in option::of(angle()), safety in option::of(1.0..9.0),
        mat in option::of(prop::bool::ANY), apart in option::of(vec(text(), 0..3)),
        hidden in vec((1_u32..9, option::of(text())), 0..3),
    ) -> Support {
        let thing = |(count, place)| Hidden { what: HiddenThing::Wire, count, place };
        let hidden = hidden.into_iter().map(thing).collect();
        Support { room, tilt, safety, mat, apart, hidden, ..Support::default() }
    }
}

prop_compose! {
    fn units()(
        mass in option::of(prop::sample::select(vec![MassUnit::Gram, MassUnit::Ounce])),
        volume in option::of(prop::sample::select(vec![VolumeUnit::Millilitre, VolumeUnit::Cup])),
        temperature in option::of(prop::sample::select(vec![TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit])),
        cups in option::of(prop::sample::select(vec![Cups::Us, Cups::Metric, Cups::Australian])),
    ) -> Units {
        Units { mass, volume, temperature, cups }
    }
}

prop_compose! {
    fn cake()(
        (name, notes) in (text(), option::of(text())),
        unit in prop::sample::select(vec![None, Some(Unit::Millimetre), Some(Unit::Centimetre), Some(Unit::Inch)]),
        board in option::of(board()), turned in option::of(outline()), coverings in vec(covering(), 0..3),
        tiers in vec(tier(), 0..3), details in vec(trim(), 0..3),
        materials in prop::collection::btree_map(text(), material(), 0..3), spare in option::of(length()),
        (paper, printing, support) in (option::of(paper()), option::of(printing()), option::of(support())),
        units in option::of(units()),
        (pass, allowance) in (option::of(size()), option::of(length())),
    ) -> Cake {
        let limits = spare.map(|spare| Limits { spare: Some(spare), ..Limits::default() });
        Cake {
            crumbline: FORMAT_VERSION, name, unit, units, notes, board, shape: Shape { turned, crossed: None, sections: None, scanned: None }, coverings, tiers,
            centre_dowel: None, details, materials, limits, accuracy: None, paper,
            carving: pass.map(|pass| Carving { pass: Some(pass) }),
            icing: allowance.map(|allowance| IcingSheets { allowance: Some(allowance), pattern_error: None }),
            printing, support, pantry: None, order: None, offer: None,
        }
    }
}

proptest! {
    #[test]
    fn a_cake_written_and_read_is_the_same_cake(cake in cake()) {
        let text = toml::to_string(&cake).unwrap();
        let parsed = CakeFile::from_text("cake.toml", "", &text).parse();
        prop_assert_eq!(&parsed.problems, &[], "{}", text);
        prop_assert_eq!(parsed.document, Some(cake), "{}", text);
    }

    /// Cutting a cake file anywhere, or putting anything into it, never makes the reader panic, and it
    /// never lets a file through that it has nothing against and cannot read.
    #[test]
    fn a_damaged_file_is_told_or_read(at in 0_usize..2400, cut in 0_usize..40, put in "[\\[\\]{}=\"'#.,a0\\-\\n ]{0,6}") {
        let mut text = cakefile::starter("Test");
        let (from, to) = (text.floor_char_boundary(at), text.floor_char_boundary(at + cut));
        text.replace_range(from..to, &put);
        let file = CakeFile::from_text("cake.toml", "", text);
        let parsed = file.parse();
        prop_assert!(parsed.has_errors() || parsed.document.is_some());
        prop_assert_eq!(file.error(parsed.problems.clone()).render(false).is_empty(), parsed.problems.is_empty());
    }
}
