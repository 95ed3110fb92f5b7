//! Paths from SVG drawings.
//!
//! Lengths are derived from W3C CSS Values and Units Level 3, "Absolute lengths": 1 in = 2.54 cm = 96 px
//! = 72 pt = 6 pc; and from W3C SVG 1.1, "Coordinate systems": y down, viewBox fitted to width × height.

use std::{f64::consts::PI, time::Instant};

use geom::Tolerance;
use kurbo::{PathEl, Point, Rect, Shape};
use plan::outline::svg::{SvgError, SvgOutline, SvgQuery, read_svg_figure, read_svg_path};

/// usvg computes in single precision.
const ROUNDING: f64 = 1e-4;

fn svg(attributes: &str, content: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" {attributes}>\
         {content}</svg>"
    )
}

/// A drawing of 200 mm × 100 mm whose user unit is a millimetre.
fn in_mm(content: &str) -> String {
    svg("width=\"200mm\" height=\"100mm\" viewBox=\"0 0 200 100\"", content)
}

fn read(text: &str) -> Result<SvgOutline, SvgError> {
    read_svg_path(text.as_bytes(), &SvgQuery::default())
}

fn read_id(text: &str, id: &str) -> Result<SvgOutline, SvgError> {
    read_svg_path(text.as_bytes(), &SvgQuery { id: Some(id.to_owned()), ..SvgQuery::default() })
}

fn read_with_unit(text: &str, mm: f64) -> Result<SvgOutline, SvgError> {
    read_svg_path(text.as_bytes(), &SvgQuery { user_unit: Some(mm), ..SvgQuery::default() })
}

#[track_caller]
fn assert_near(found: f64, expected: f64) {
    assert!((found - expected).abs() < ROUNDING, "{found} is not {expected}");
}

#[track_caller]
fn assert_bounds(outline: &SvgOutline, expected: [f64; 4]) {
    let Rect { x0, y0, x1, y1 } = outline.path.bounding_box();
    for (found, expected) in [x0, y0, x1, y1].into_iter().zip(expected) {
        assert_near(found, expected);
    }
}

fn length(outline: &SvgOutline) -> f64 {
    outline.path.perimeter(1e-9)
}

#[test]
fn every_unit_of_the_real_world_gives_its_size() {
    // An inch each: the line across the whole drawing is 25.4 mm long whatever the unit.
    for (inch, user_units) in
        [("25.4mm", 25.4), ("2.54cm", 2.54), ("1in", 1.0), ("72pt", 72.0), ("6pc", 6.0), ("96px", 96.0)]
    {
        let text = svg(
            &format!("width=\"{inch}\" height=\"{inch}\" viewBox=\"0 0 {user_units} {user_units}\""),
            &format!("<path d=\"M0 0H{user_units}\"/>"),
        );
        let outline = read(&text).unwrap();
        assert_near(length(&outline), 25.4);
        assert_near(outline.size.0, 25.4);
        assert_near(outline.size.1, 25.4);
        assert_eq!(outline.notes.len(), usize::from(inch.ends_with("px")), "{:?}", outline.notes);
    }
}

#[test]
fn without_a_view_box_a_user_unit_is_a_pixel() {
    let outline = read(&svg("width=\"10in\" height=\"5in\"", "<path d=\"M0 0H96\"/>")).unwrap();
    assert_near(length(&outline), 25.4);
    assert_eq!(outline.size, (254.0, 127.0));
}

#[test]
fn lengths_inside_the_drawing_keep_their_units() {
    // With a viewBox ten times as fine as millimetres, 1in is 96 user units of 0.1 mm.
    let text = svg(
        "width=\"100mm\" height=\"100mm\" viewBox=\"0 0 1000 1000\"",
        "<rect width=\"1in\" height=\"20\"/>",
    );
    assert_bounds(&read(&text).unwrap(), [0.0, 98.0, 9.6, 100.0]);
}

#[test]
fn the_origin_is_the_lower_left_corner_and_y_goes_up() {
    let outline = read(&in_mm("<path d=\"M10 90 L60 90 L60 30\"/>")).unwrap();
    let PathEl::MoveTo(start) = outline.path.elements()[0] else { panic!("a path begins with a move") };
    assert!((start - Point::new(10.0, 10.0)).hypot() < ROUNDING);
    assert_bounds(&outline, [10.0, 10.0, 60.0, 70.0]);
}

#[test]
fn a_view_box_may_begin_anywhere_and_is_fitted_in() {
    let moved =
        svg("width=\"200mm\" height=\"100mm\" viewBox=\"-50 -20 200 100\"", "<path d=\"M-50 -20H0V80\"/>");
    assert_bounds(&read(&moved).unwrap(), [0.0, 0.0, 50.0, 100.0]);
    // A square fitted into the middle of a wide drawing (xMidYMid meet) ...
    let square = "viewBox=\"0 0 10 10\"";
    let fitted =
        svg(&format!("width=\"200mm\" height=\"100mm\" {square}"), "<rect width=\"10\" height=\"10\"/>");
    assert_bounds(&read(&fitted).unwrap(), [50.0, 0.0, 150.0, 100.0]);
    // ... or stretched over it.
    let stretched = svg(
        &format!("width=\"200mm\" height=\"100mm\" preserveAspectRatio=\"none\" {square}"),
        "<rect width=\"10\" height=\"10\"/>",
    );
    assert_bounds(&read(&stretched).unwrap(), [0.0, 0.0, 200.0, 100.0]);
}

#[test]
fn one_side_is_enough_where_the_view_box_gives_the_other() {
    for side in ["width=\"20cm\"", "height=\"10cm\"", "width=\"20cm\" height=\"auto\""] {
        let outline = read(&svg(&format!("{side} viewBox=\"0 0 40 20\""), "<path d=\"M0 20H40\"/>")).unwrap();
        assert_eq!(outline.size, (200.0, 100.0), "{side}");
        assert_bounds(&outline, [0.0, 0.0, 200.0, 0.0]);
    }
}

#[test]
fn a_drawing_without_a_real_size_needs_the_user_unit() {
    for (size, found) in [
        ("", "it has no width and height"),
        ("width=\"40\" height=\"20\"", "it has width=\"40\" height=\"20\""),
        ("width=\"100%\" height=\"100%\"", "it has width=\"100%\" height=\"100%\""),
        ("width=\"40mm\" height=\"20\"", "it has width=\"40mm\" height=\"20\""),
        ("width=\"4em\" height=\"2em\"", "it has width=\"4em\" height=\"2em\""),
    ] {
        let text = svg(&format!("{size} viewBox=\"0 0 40 20\""), "<path d=\"M10 20H30\"/>");
        let error = read(&text).unwrap_err();
        assert!(matches!(&error, SvgError::NoRealSize { found: told, .. } if told == found), "{error:?}");
        assert!(error.fix().contains("user_unit = \"1 mm\""));
        // With it every one of them is the same drawing.
        let outline = read_with_unit(&text, 5.0).unwrap();
        assert_eq!(outline.size, (200.0, 100.0), "{size}");
        assert_bounds(&outline, [50.0, 0.0, 150.0, 0.0]);
    }
    let text = svg("width=\"40\" height=\"20\"", "<path d=\"M10 20H30\"/>");
    assert_bounds(&read_with_unit(&text, 5.0).unwrap(), [50.0, 0.0, 150.0, 0.0]);
}

#[test]
fn a_drawing_without_any_size_is_as_large_as_what_it_shows() {
    let outline = read_with_unit(&svg("", "<path d=\"M10 10H30V50\"/>"), 2.0).unwrap();
    assert_bounds(&outline, [20.0, 0.0, 60.0, 80.0]);
    assert_eq!(outline.size, (60.0, 100.0));
}

#[test]
fn the_user_unit_goes_before_a_real_size_and_says_so() {
    let outline = read_with_unit(&in_mm("<path d=\"M0 0H50\"/>"), 2.0).unwrap();
    assert_near(length(&outline), 100.0);
    assert_eq!(outline.size, (400.0, 200.0));
    assert_eq!(outline.notes, ["the drawing gives a real size, but `user_unit` goes before it"]);
}

#[test]
fn shapes_have_the_lengths_of_geometry() {
    let of = |content: &str| length(&read(&in_mm(content)).unwrap());
    assert_near(of("<rect x=\"10\" y=\"10\" width=\"30\" height=\"40\"/>"), 140.0);
    assert_near(of("<polygon points=\"0,0 30,0 0,40\"/>"), 120.0);
    assert_near(of("<polyline points=\"0,0 30,0 0,40\"/>"), 80.0);
    assert_near(of("<line x1=\"0\" y1=\"0\" x2=\"30\" y2=\"40\"/>"), 50.0);
    // Circles and arcs are cubics within 3e-4 of their radius.
    for (content, expected) in [
        ("<circle cx=\"50\" cy=\"50\" r=\"40\"/>", 2.0 * PI * 40.0),
        ("<path d=\"M10 50A40 40 0 0 1 90 50\"/>", PI * 40.0),
        ("<path d=\"M10 50a40 40 0 1 0 80 0\"/>", PI * 40.0),
    ] {
        let found = of(content);
        assert!((found / expected - 1.0).abs() < 3e-4, "{content}: {found} is not {expected}");
    }
    let ellipse = read(&in_mm("<ellipse cx=\"50\" cy=\"50\" rx=\"40\" ry=\"20\"/>")).unwrap();
    assert!((ellipse.path.area().abs() / (PI * 40.0 * 20.0) - 1.0).abs() < 6e-4);
}

#[test]
fn relative_commands_and_curves_arrive_where_they_should() {
    let outline =
        read(&in_mm("<path d=\"m10 10 h20 v10 l-5 5 q0 10 10 10 t10 10 c0 5 5 5 5 0 s5 -5 5 0 z\"/>"))
            .unwrap();
    let ends: Vec<Point> = outline.path.elements().iter().filter_map(PathEl::end_point).collect();
    let expected = [(10, 90), (30, 90), (30, 80), (25, 75), (35, 65), (45, 55), (50, 55), (55, 55)];
    assert_eq!(ends.len(), expected.len());
    for (end, (x, y)) in ends.iter().zip(expected) {
        assert!((*end - Point::new(x.into(), y.into())).hypot() < ROUNDING, "{ends:?}");
    }
    assert_eq!(outline.path.elements().last(), Some(&PathEl::ClosePath));
}

#[test]
fn nested_groups_and_transforms_are_applied() {
    // Turned by 90° about the drawing's corner, doubled, moved: (0,0)-(10,0) becomes (100,20)-(100,40).
    let content = "<g transform=\"translate(100 20)\"><g transform=\"scale(2)\">\
                   <path transform=\"rotate(90)\" d=\"M0 0H10\"/></g></g>";
    assert_bounds(&read(&in_mm(content)).unwrap(), [100.0, 60.0, 100.0, 80.0]);
    let skewed = "<path transform=\"skewX(45)\" d=\"M0 0V10\"/>";
    assert_near(length(&read(&in_mm(skewed)).unwrap()), 200.0_f64.sqrt());
    let nested =
        "<svg x=\"50\" y=\"10\" width=\"40\" height=\"20\" viewBox=\"0 0 4 2\"><path d=\"M0 0H4\"/></svg>";
    assert_bounds(&read(&in_mm(nested)).unwrap(), [50.0, 90.0, 90.0, 90.0]);
}

#[test]
fn a_path_without_paint_counts_and_a_hidden_one_does_not() {
    let outline = read(&in_mm("<path fill=\"none\" d=\"M0 0H5\"/>")).unwrap();
    assert_near(length(&outline), 5.0);
    let one_hidden = in_mm("<path d=\"M0 0H5\"/><path id=\"old\" style=\"display:none\" d=\"M0 0H9\"/>");
    assert_near(length(&read(&one_hidden).unwrap()), 5.0);
    let error = read_id(&one_hidden, "old").unwrap_err();
    assert_eq!(error.to_string(), "\"old\" is a `path` of the drawing that shows no path");
}

#[test]
fn a_path_is_found_by_its_id() {
    let text = in_mm(
        "<path id=\"side\" d=\"M0 0H5\"/><g id=\"pair\"><path d=\"M0 0H6\"/><path d=\"M0 0H7\"/></g>\
         <g id=\"single\"><g><circle id=\"ring\" r=\"3\"/></g></g><text id=\"word\">x</text>\
         <defs><path id=\"leaf\" d=\"M0 0H8\"/></defs><use id=\"copy\" x=\"9\" href=\"#leaf\"/>",
    );
    assert_near(length(&read_id(&text, "side").unwrap()), 5.0);
    assert_near(read_id(&text, "single").unwrap().path.bounding_box().width(), 6.0);
    assert_bounds(&read_id(&text, "copy").unwrap(), [9.0, 100.0, 17.0, 100.0]);
    let told = |id: &str| {
        let error = read_id(&text, id).unwrap_err();
        format!("{error}: {}", error.fix())
    };
    assert_eq!(told("sidw"), "the drawing has no path with the id \"sidw\": did you mean \"side\"?");
    assert_eq!(told("zzz"), "the drawing has no path with the id \"zzz\": there are \"ring\", \"side\"");
    assert_eq!(told("pair"), "\"pair\" is a group of 2 paths: name one path, or join them into one");
    assert_eq!(
        told("word"),
        "\"word\" is a `text` of the drawing that shows no path: turn the text into paths in the drawing"
    );
    let several = read(&text).unwrap_err();
    assert_eq!(several.to_string(), "the drawing holds 5 paths, and none is named");
    assert_eq!(several.fix(), "name one with `id`: there are \"ring\", \"side\"");
}

#[test]
fn no_path_at_all_is_an_error() {
    for content in
        ["", "<text>Happy birthday</text>", "<path d=\"\"/>", "<path/>", "<rect width=\"0\" height=\"1\"/>"]
    {
        assert_eq!(read(&in_mm(content)), Err(SvgError::NoPath), "{content}");
    }
    let unnamed = read(&in_mm("<path d=\"M0 0H5\"/><path d=\"M0 0H6\"/>")).unwrap_err();
    assert!(unnamed.fix().starts_with("give the path an id"));
}

#[test]
fn a_broken_path_is_refused_rather_than_cut_short() {
    let text = in_mm("<path id=\"a\" d=\"M0 0 L10 10 L20 oops\"/><path id=\"b\" d=\"M0 0H5\"/>");
    assert!(matches!(read_id(&text, "a"), Err(SvgError::BrokenPath { id: Some(id), .. }) if id == "a"));
    assert_near(length(&read_id(&text, "b").unwrap()), 5.0);
}

#[test]
fn clipping_text_and_pictures_are_left_out_with_a_note() {
    let text = in_mm(
        "<clipPath id=\"c\"><rect width=\"1\" height=\"1\"/></clipPath><text>x</text>\
         <image href=\"http://example.org/x.png\" width=\"5\" height=\"5\"/>\
         <image href=\"data:image/svg+xml;base64,PHN2Zy8+\" width=\"5\" height=\"5\"/>\
         <use href=\"other.svg#p\"/>\
         <path clip-path=\"url(#c)\" mask=\"url(#missing)\" style=\"filter:url(#missing)\" d=\"M0 0H50\"/>",
    );
    let outline = read(&text).unwrap();
    assert_near(length(&outline), 50.0);
    assert_eq!(
        outline.notes,
        [
            "the text in the drawing is left out: turn it into paths to use it",
            "the pictures in the drawing are left out",
            "clipping and masks in the drawing are left out: paths are taken whole",
            "what the drawing takes from other files is left out",
        ]
    );
}

#[test]
fn markers_and_styles_do_not_add_paths() {
    let text = in_mm(
        "<style>path { marker-end: url(#m) !important; stroke: black }</style>\
         <marker id=\"m\"><path d=\"M0 0H1\"/></marker><path marker-start=\"url(#m)\" d=\"M0 0H50\"/>",
    );
    // A maker's own `!important` comes after ours and does not win.
    assert_near(length(&read(&text).unwrap()), 50.0);
}

#[test]
fn what_is_no_drawing_is_refused() {
    let told = |bytes: &[u8]| read_svg_path(bytes, &SvgQuery::default()).unwrap_err().to_string();
    assert!(told(b"").starts_with("the drawing is not well-formed XML"));
    assert!(told(b"hello").starts_with("the drawing is not well-formed XML"));
    assert!(told(b"<svg><path></svg>").starts_with("the drawing is not well-formed XML"));
    assert_eq!(told(b"<html/>"), "this is not an SVG drawing: it begins with <html>");
    assert_eq!(told(b"\x1f\x8b\x08rest"), "the drawing is compressed (svgz)");
    assert_eq!(told(b"\xff\xfe<\0s\0v\0g\0"), "the drawing is not UTF-8 text");
    // The namespace may be forgotten: what is meant is clear.
    let plain = read("<svg width='10mm' height='10mm' viewBox='0 0 10 10'><path d='M0 0H5'/></svg>");
    assert_near(length(&plain.unwrap()), 5.0);
    let bom = format!("\u{feff}<?xml version=\"1.0\"?>\r\n{}", in_mm("<path d=\"M0 0H5\"/>"));
    assert_near(length(&read(&bom).unwrap()), 5.0);
}

#[test]
fn sizes_that_are_none_are_refused() {
    for attributes in [
        "width=\"0mm\" height=\"10mm\"",
        "width=\"-1mm\" height=\"10mm\"",
        "width=\"wide\" height=\"10mm\"",
        "width=\"1e999mm\" height=\"10mm\"",
        "width=\"10mm\" height=\"10mm\" viewBox=\"0 0 0 10\"",
        "width=\"10mm\" height=\"10mm\" viewBox=\"0 0 10\"",
        "width=\"10mm\" height=\"10mm\" viewBox=\"none\"",
    ] {
        let found = read(&svg(attributes, "<path d=\"M0 0H5\"/>"));
        assert!(matches!(found, Err(SvgError::BadSize { .. })), "{attributes}: {found:?}");
    }
    let extent = |text: &str| matches!(read(text), Err(SvgError::Extent(_)));
    assert!(extent(&in_mm("<path d=\"M0 0H20000\"/>")), "no cake is 20 m wide");
    assert!(extent(&in_mm("<path d=\"M0 0H0.001\"/>")), "nor a micrometre");
    assert!(extent(&svg("width=\"1e30mm\" height=\"1e30mm\" viewBox=\"0 0 1 1\"", "<path d=\"M0 0H1\"/>")));
    for unit in [0.0, -1.0, f64::NAN, 1e9] {
        assert!(
            matches!(read_with_unit(&in_mm("<path d=\"M0 0H5\"/>"), unit), Err(SvgError::Extent(_))),
            "{unit}"
        );
    }
    for data in ["M0 0H1e39", "M1e38 1e38L-1e38 0", "M0 0H1e400"] {
        assert!(read(&in_mm(&format!("<path d=\"{data}\"/>"))).is_err(), "{data}");
    }
}

#[test]
fn bombs_are_defused() {
    let start = Instant::now();
    let told = |text: &str| read(text).unwrap_err();

    // A hundred million laughs, by entities that name each other, and by one long one named often.
    let mut laughs = String::from("<!DOCTYPE svg [<!ENTITY a0 \"ha\">");
    for i in 1..9 {
        laughs += &format!("<!ENTITY a{i} \"{}\">", format!("&a{};", i - 1).repeat(10));
    }
    assert!(matches!(told(&format!("{laughs}]>{}", in_mm("<text>&a8;</text>"))), SvgError::NotXml { .. }));
    let long = format!("<!DOCTYPE svg [<!ENTITY a \"{}\">]>", "x".repeat(100_000));
    let text = in_mm(&format!("<text>{}</text>", "&a;".repeat(100_000)));
    assert_eq!(told(&(long + &text)), SvgError::Entities);
    // External entities are not read.
    let outside = "<!DOCTYPE svg [<!ENTITY e SYSTEM \"file:///etc/hostname\">]>";
    let text = format!("{outside}{}", in_mm("<text>&e;</text><path d=\"M0 0H5\"/>"));
    assert!(matches!(told(&text), SvgError::NotXml { .. }));

    // Copies of copies.
    let mut copies = String::from("<defs><path id=\"u0\" d=\"M0 0H5\"/>");
    for i in 1..9 {
        copies += &format!("<g id=\"u{i}\">{}</g>", format!("<use xlink:href=\"#u{}\"/>", i - 1).repeat(10));
    }
    assert_eq!(told(&in_mm(&format!("{copies}</defs><use href=\"#u8\"/>"))), SvgError::TooManyElements);
    let endless = "<g id=\"a\"><use href=\"#b\"/></g><g id=\"b\"><use href=\"#a\"/></g>";
    assert_eq!(told(&in_mm(endless)), SvgError::Endless { id: "a".to_owned() });

    let many = "<path d=\"M0 0H5\"/>".repeat(100_001);
    assert_eq!(told(&in_mm(&many)), SvgError::TooManyElements);
    let attributes = |count: usize| (0..count).map(|i| format!(" a{i}='1'")).collect::<String>();
    let wide = in_mm(&format!("<!-- it's -->\n<path d=\"M0 0H5\"{}/>", attributes(100_000)));
    assert_eq!(told(&wide), SvgError::TooManyAttributes { line: 2 });
    let hidden = format!("<!DOCTYPE svg [<!ENTITY e \"<g{}/>\">]>", attributes(2000));
    assert!(matches!(told(&format!("{hidden}{}", in_mm("&e;"))), SvgError::TooManyAttributes { line: 1 }));
    assert_near(length(&read(&in_mm(&format!("<path d=\"M0 0H5\"{}/>", attributes(900)))).unwrap()), 5.0);
    let deep = format!("{}<path d=\"M0 0H5\"/>{}", "<g>".repeat(100_000), "</g>".repeat(100_000));
    assert_eq!(told(&in_mm(&deep)), SvgError::TooDeep);
    let styles = format!("<style>{}</style>", "a{}".repeat(100_000));
    assert_eq!(told(&in_mm(&format!("{styles}{}", "<g/>".repeat(50_000)))), SvgError::StyleSheet);
    assert_eq!(told(&" ".repeat(16 * 1024 * 1024 + 1)), SvgError::TooLarge);
    assert!(start.elapsed().as_secs() < 20, "took {:?}", start.elapsed());
}

#[test]
fn what_is_just_within_the_limits_is_read() {
    let start = Instant::now();
    let nested = format!("{}<path d=\"M0 0H5\"/>{}", "<g>".repeat(98), "</g>".repeat(98));
    assert_near(length(&read(&in_mm(&nested)).unwrap()), 5.0);
    let many = "<path d=\"M0 0H5\"/>".repeat(99_990) + "<path id=\"it\" d=\"M0 0H6\"/>";
    assert_near(length(&read_id(&in_mm(&many), "it").unwrap()), 6.0);
    let long = format!("<path d=\"M0 0{}\"/>", "l.001 0".repeat(200_000));
    let outline = read(&in_mm(&long)).unwrap();
    assert_eq!(outline.path.elements().len(), 200_001);
    let entities = "<!DOCTYPE svg [<!ENTITY w \"200mm\">]>";
    let text = svg("width=\"&w;\" height=\"100mm\" viewBox=\"0 0 200 100\"", "<path d=\"M0 0H7\"/>");
    assert_near(length(&read(&format!("{entities}{text}")).unwrap()), 7.0);
    assert!(start.elapsed().as_secs() < 20, "took {:?}", start.elapsed());
}

/// A half outline in pieces: lines, and one path of two subpaths, in any order and direction, is the outline drawn in
/// one go. Where the pieces do not meet there are several.
#[test]
fn an_outline_in_pieces_is_joined() {
    let whole = read(&in_mm("<path d=\"M0 100L80 100L80 50L60 20L0 20\"/>")).unwrap();
    for pieces in [
        "<line x1=\"0\" y1=\"100\" x2=\"80\" y2=\"100\"/><line x1=\"80\" y1=\"50\" x2=\"80\" y2=\"100\"/>\
         <polyline points=\"0,20 60,20 80,50\"/>",
        "<path d=\"M80 100L80.0004 50M0 100L80 100M80 50L60 20L0 20\"/>",
    ] {
        let joined = read(&in_mm(pieces)).unwrap();
        assert!((length(&joined) - length(&whole)).abs() < 1e-2, "{}", length(&joined));
        assert!(
            joined.notes.iter().any(|note| note.contains("3 pieces whose ends meet")),
            "{:?}",
            joined.notes
        );
        let starts = joined.path.elements().iter().filter(|el| matches!(el, PathEl::MoveTo(_))).count();
        assert_eq!(starts, 1);
    }
    let apart = "<path d=\"M0 100L80 100\"/><path d=\"M80 90L80 50\"/>";
    assert!(matches!(read(&in_mm(apart)), Err(SvgError::SeveralPaths { count: 2, .. })));
}

/// White over black is a hole; white with a line round it, or with nothing under it, is none. Areas are arithmetic.
#[test]
fn what_is_white_over_something_is_a_hole() {
    let figure = |content: &str| read_svg_figure(in_mm(content).as_bytes(), &SvgQuery::default());
    let area = |content: &str| figure(content).unwrap().region(Tolerance::TOOL).area();
    let black = "<rect x=\"20\" y=\"20\" width=\"100\" height=\"60\"/>";
    let white = "<rect x=\"40\" y=\"40\" width=\"20\" height=\"10\" fill=\"#fff\"/>";
    let paper = "<rect width=\"200\" height=\"100\" style=\"fill:white\"/>";
    let assert_area = |content: &str, expected: f64| assert!((area(content) - expected).abs() < 1e-2);
    assert_area(&format!("{black}{white}"), 6000.0 - 200.0);
    assert_area(&format!("{paper}{black}{white}"), 6000.0 - 200.0);
    assert_area(white, 200.0);
    let ringed = white.replace("fill=", "stroke=\"black\" fill=");
    assert!(matches!(figure(&format!("{black}{ringed}")), Err(SvgError::SeveralPaths { .. })));
}

/// Units in capitals are units, and pixels are asked about with the heights that each number of them gives: 425.2 of 72
/// to the inch are 150 mm.
#[test]
fn capitals_are_read_and_pixels_are_asked_about() {
    let path = "<path d=\"M0 0H200\"/>";
    let capitals = read(&svg("width=\"200MM\" height=\"10Cm\" viewBox=\"0 0 200 100\"", path)).unwrap();
    assert_eq!(capitals.size, (200.0, 100.0));
    assert_near(length(&capitals), 200.0);
    let heights = ["150.0 mm tall at 72", "120.0 mm tall at 90", "112.5 mm tall at 96"];
    let pixels = read(&svg("width=\"425.2px\" height=\"425.2px\"", path)).unwrap();
    let bare = read(&svg("width=\"425.2\" height=\"425.2\"", path)).unwrap_err();
    for height in heights {
        assert!(pixels.notes.iter().any(|note| note.contains(height)), "{:?}", pixels.notes);
        assert!(bare.fix().contains(height), "{}", bare.fix());
    }
}
