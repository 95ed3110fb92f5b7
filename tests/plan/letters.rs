//! Letters, ellipses and lines on a cake: as large as fontTools and the closed forms have them, where they lie, and what is
//! told of them.

use std::{f64::consts::PI, sync::Arc};

use cakefile::{
    CakeFile, Severity,
    world::{Content, Memory, Recorded},
};
use formats::text::{
    Face, fonts,
    words::{Typeface, Words},
};
use geom::{Region, uncancelled};
use glam::{DVec2, dvec2};
use kurbo::Shape;
use plan::{
    Plan, PlanError, Source,
    carve::Surface,
    design::{Relief, Tool},
    findings::{Finding, FindingCode},
};

use crate::{
    detailed::{cylinder, detail},
    plans::plan,
    reference::{asked, python},
    repository::root,
    support::{assert_close, tolerance},
};

/// The form of a detail with this outline, on the side of a cylinder of radius 120 mm.
fn outline(shape: &str) -> String {
    format!("outline = {{ shape = {{ {shape} }}, height = 80, depth = 2, wrap = true }}")
}

fn relief(plan: &Plan) -> &Relief {
    let Tool::Relief(relief) = &plan.design.details[0].tool else { panic!("an outline") };
    relief
}

fn put_on(shape: &str) -> Plan {
    cylinder(&detail("greeting", "add = \"icing\"", &outline(shape)))
}

/// What the outline holds, mm².
fn region(shape: &str) -> Region {
    relief(&put_on(shape)).outline.clone()
}

fn remarks(plan: &Plan) -> Vec<String> {
    plan.findings.iter().filter(|f| f.code == FindingCode::CakeFile).map(|f| f.message.clone()).collect()
}

#[test]
fn letters_are_those_that_fonttools_draws() {
    let Some(python) = python() else { return };
    let words = ["Mia 7", "é", "AV"];
    for (face, file, bold) in
        [(Face::Plain, "DejaVuSans.ttf", "false"), (Face::Bold, "DejaVuSans-Bold.ttf", "true")]
    {
        let font = root().join("assets/fonts").join(file);
        let arguments = [&[font.to_str().unwrap()][..], &words].concat();
        let found = asked(&python, "letters.py", &arguments);
        for (i, words) in words.into_iter().enumerate() {
            let edge = |k: usize| found[i]["box"][k].as_f64().unwrap();
            let area = found[i]["area"].as_f64().unwrap();
            // The outlines themselves, curves and all.
            for typeface in [Typeface::Shipped(face), Typeface::File(fonts::file(face))] {
                let path = Words { words, capital: 100.0, spacing: 0.0, typeface }.outline().unwrap();
                let bounds = path.bounding_box();
                assert_close(words, path.area().abs(), 1e4 * area, 1e-3);
                assert_close(words, bounds.width(), 100.0 * (edge(2) - edge(0)), 1e-3);
                assert_close(words, bounds.height(), 100.0 * (edge(3) - edge(1)), 1e-3);
                assert_close(words, bounds.y1 + 50.0, 100.0 * edge(3), 1e-3);
                assert!((bounds.x0 + bounds.x1).abs() < 1e-9);
            }
            // What is put on the cake, curves as fine as those of a circle.
            let laid = region(&format!("text = {{ words = \"{words}\", size = 100, bold = {bold} }}"));
            let (lo, hi) = laid.bounds().unwrap();
            assert_close(words, laid.area(), 1e4 * area, 2e-3);
            assert_close(words, hi.x - lo.x, 100.0 * (edge(2) - edge(0)), 1e-3);
            assert_close(words, hi.y - lo.y, 100.0 * (edge(3) - edge(1)), 1e-3);
        }
    }
}

/// A capital reads the right way round on the surface, and is as high as `size` says: the foot of an L lies below, on the
/// right.
#[test]
fn letters_read_from_left_to_right() {
    let l = region("text = { words = \"L\", size = 40 }");
    let (lo, hi) = l.bounds().unwrap();
    assert!((lo.y + 20.0).abs() < 1e-6 && (hi.y - 20.0).abs() < 1e-6);
    assert!(l.contains(dvec2(hi.x - 1.0, lo.y + 1.0)) && !l.contains(dvec2(hi.x - 1.0, hi.y - 1.0)));
    assert!(l.contains(dvec2(lo.x + 1.0, hi.y - 1.0)));
    // The counter of an O is no part of it.
    let o = region("text = { words = \"O\", size = 40 }");
    assert!(!o.contains(DVec2::ZERO) && o.pieces().len() == 1 && o.holes().pieces().len() == 1);
}

/// Wrapped round a cylinder of radius R, an outline of area A that stands out by d holds A d (1 + d / 2R) (Pappus); on a
/// level top A d.
#[test]
fn raised_letters_hold_what_their_area_says() {
    let text = "text = { words = \"Mia 7\", size = 30 }";
    for (lies, factor) in
        [("height = 80, wrap = true", 1.0 + 2.0 / 240.0), ("top = [10, -20], turn = 30", 1.0)]
    {
        let tool = format!("outline = {{ shape = {{ {text} }}, depth = 2, {lies} }}");
        let plan = cylinder(&detail("greeting", "add = \"icing\"", &tool));
        let relief = relief(&plan);
        let solid = uncancelled(|cancel| {
            let surface = Surface { lines: &plan.lines, depth: 0.0, tolerance: tolerance(0.01), cancel };
            surface.raised(relief, 0.0)
        });
        assert_close(lies, solid.volume(), relief.outline.area() * 2.0 * factor, 2e-3);
    }
}

#[test]
fn letters_can_be_cut_repeated_mirrored_and_be_a_zone() {
    let text = "shape = { text = { words = \"Bo\", size = 24, bold = true } }";
    for (operation, lies) in [
        ("cut = \"icing\"", "height = 80, bearing = 40"),
        ("cut = \"sponge\"", "height = 80, bearing = 40, turn = 20"),
        ("add = \"icing\"", "top = [50, 30], turn = 20"),
    ] {
        let tool =
            format!("outline = {{ {text}, {lies}, depth = 2 }}\nmirror = true\nrepeat = {{ count = 2 }}\n");
        let plan = cylinder(&detail("letters", operation, &tool));
        assert_eq!(plan.design.details.len(), 4);
        let said: Vec<&Finding> = plan.findings.iter().filter(|f| f.about == "letters").collect();
        assert!(said.is_empty(), "{said:?}");
        // Those on the other side can be read as well: they are turned, never mirrored.
        let outlines: Vec<&Relief> = plan
            .design
            .details
            .iter()
            .map(|detail| match &detail.tool {
                Tool::Relief(relief) => relief,
                _ => panic!("an outline"),
            })
            .collect();
        let upright = |relief: &Relief| {
            relief.outline.placed(-relief.letters.as_ref().unwrap().turn.to_radians(), DVec2::ZERO)
        };
        for other in &outlines {
            assert!(upright(other).difference(&upright(outlines[0])).area() < 1e-3, "{lies}");
        }
    }
    let zone = format!(
        "[[covering.zone]]\nname = \"gold\"\ncolour = \"#d8a93a\"\noutline = {{ {text}, height = 80, wrap = true }}\n"
    );
    let cake = format!(
        "crumbline = 2\nname = \"zoned\"\n[shape.turned]\npoints = [[120, 0], [120, 160], [0, 160]]\n[[covering]]\n\
         material = \"rolled icing\"\nthickness = 4\n{zone}[[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 260 }}\n\
         height = 160\n"
    );
    let plan = plan(&cake);
    let area = region("text = { words = \"Bo\", size = 24, bold = true }").area();
    // Within the icing the letters narrow towards the axis: half way through it they are at 118 of 120 mm.
    assert_close("zone", plan.zones[0].parts[1].area, area * 118.0 / 120.0, 5e-3);
}

#[test]
fn an_ellipse_is_as_large_as_it_says() {
    let found = region("ellipse = [60, 40]");
    // Area π a b; its circumference lies below that of the box round it.
    let lack = PI * 30.0 * 20.0 - found.area();
    assert!((0.0..0.05 * 200.0).contains(&lack), "{lack}");
    for contour in found.contours() {
        for (i, p) in contour.iter().enumerate() {
            // Curves become straight pieces by way of parabolas, within a tenth of the tolerance.
            let at = ((p.x / 30.0).powi(2) + (p.y / 20.0).powi(2)).sqrt();
            assert!((1.0 - at).abs() * 30.0 < 0.005, "{p}");
            // The middle of a chord lies within the tolerance: no nearer than that along the shorter axis.
            let middle = (*p + contour[(i + 1) % contour.len()]) / 2.0;
            let inside = ((middle.x / 30.0).powi(2) + (middle.y / 20.0).powi(2)).sqrt();
            assert!((1.0 - inside) * 20.0 <= 0.05 + 1e-9, "{middle}");
        }
    }
    // As a shape seen from above it is one too.
    let cake = "crumbline = 2\nname = \"oval\"\n[shape.sections]\nat = [{ height = 0, outline = { ellipse = [160, 100] } }, \
                { height = 80, outline = { ellipse = [160, 100] } }]\n[[tier]]\nname = \"only\"\n[[tier.layer]]\n\
                pan = { round = 200 }\nheight = 80\n";
    assert_close("oval cake", plan(cake).line_volumes()[0], PI * 80.0 * 50.0 * 80.0, 0.01);
}

/// A straight line of length l and width w with round ends holds l w + π w² / 4, one round a circle of radius r 2 π r w.
#[test]
fn a_line_is_as_wide_as_it_says() {
    let straight = "points = [[-20, 0], [20, 0]], stroke = 3";
    assert_close("straight", region(straight).area(), 40.0 * 3.0 + PI * 2.25, 5e-3);
    assert_close("ring", region("circle = 40, stroke = 4").area(), 2.0 * PI * 20.0 * 4.0, 5e-3);
    assert_eq!(region("circle = 40, stroke = 4").holes().pieces().len(), 1);
    let (lo, hi) = region(straight).bounds().unwrap();
    assert!((lo - dvec2(-21.5, -1.5)).length() < 0.05 && (hi - dvec2(21.5, 1.5)).length() < 0.05);
    // Three sides of a square are open; with the first point once more it goes round, and so does what is closed.
    let open = region("points = [[0, 0], [30, 0], [30, 30], [0, 30]], stroke = 2");
    assert!(open.holes().is_empty());
    assert_close("open", open.area(), 90.0 * 2.0 + PI - 2.0 * (1.0 - PI / 4.0), 5e-3);
    let round = "points = [[0, 0], [30, 0], [30, 30], [0, 30], [0, 0]], stroke = 2";
    for shape in [round, "rectangle = [30, 30], stroke = 2"] {
        // 30² + 4 · 30 · 1 + π outside (Steiner), less 28² inside.
        assert_close(shape, region(shape).area(), 900.0 + 120.0 + PI - 784.0, 5e-3);
    }
    // Two half turns, drawn open: π r w each.
    let curved = "from = [0, 0], draw = [{ to = [20, 0], through = [10, 10] }, { to = [40, 0], through = [30, -10] }], stroke = 2";
    assert_close("curved", region(curved).area(), 2.0 * PI * 10.0 * 2.0 + PI, 5e-3);
    // Along letters it goes round each of their outlines, the counter of the O too.
    let o = region("text = { words = \"O\", size = 60 }, stroke = 1");
    let edge: f64 = region("text = { words = \"O\", size = 60 }").perimeter();
    assert_eq!(o.holes().pieces().len(), 2);
    assert_close("letters", o.area(), edge, 0.01);
    assert!(remarks(&put_on(straight)).is_empty());
}

#[test]
fn a_line_along_an_open_path_of_a_drawing_stays_open() {
    const SVG: &[u8] =
        br#"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
        <path id="open" d="M10 10 H50 V50"/><path id="round" d="M10 10 H50 V50 Z"/></svg>"#;
    let area = |id: &str| {
        let shape = format!("svg = {{ file = \"a.svg\", id = \"{id}\" }}, stroke = 2");
        let plan = planned(&shape, Memory::new().with("a.svg", SVG)).unwrap();
        relief(&plan).outline.area()
    };
    assert_close("open", area("open"), 80.0 * 2.0 + PI - (1.0 - PI / 4.0), 0.01);
    assert!(area("round") > area("open") + 100.0);
}

#[test]
fn lines_that_cannot_be_laid_are_told() {
    let wide = remarks(&put_on("points = [[0, 0], [5, 0]], stroke = 8"));
    assert_eq!(wide, ["the line is wider than it is long"]);
    let filled = remarks(&put_on("circle = 20, stroke = 25"));
    assert_eq!(filled, ["the line is so wide that nothing is left open inside the outline"]);
    for (shape, said) in [
        ("circle = 20, stroke = 0.4", "a line 0.4 mm wide is narrower than any that is laid or pressed"),
        ("points = [[3, 4]], stroke = 2", "the line has no length"),
    ] {
        assert_eq!(refused(shape, Memory::new()), [said], "{shape}");
    }
    let turned = "crumbline = 2\nname = \"x\"\n[shape.turned]\npoints = [[80, 0], [80, 90]]\nstroke = 3\n";
    let told = problems(Source::new(CakeFile::from_text("x", "", turned), Arc::new(Memory::new())));
    assert!(told.iter().any(|told| told == "a line lies on a shape and is none"), "{told:?}");
    let words =
        turned.replace("points = [[80, 0], [80, 90]]\nstroke = 3", "text = { words = \"A\", size = 90 }");
    let told = problems(Source::new(CakeFile::from_text("x", "", words), Arc::new(Memory::new())));
    assert!(told.iter().any(|told| told == "letters lie on a shape and are none"), "{told:?}");
}

/// A cake with a detail of this outline, and these files beside it.
fn source(shape: &str, files: Memory) -> Source {
    let text = format!(
        "crumbline = 2\nname = \"letters\"\n[shape.turned]\npoints = [[120, 0], [120, 160], [0, 160]]\n[[covering]]\n\
         material = \"rolled icing\"\nthickness = 4\n[[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 260 }}\n\
         height = 160\n[[detail]]\nname = \"greeting\"\nadd = \"icing\"\n{}\n",
        outline(shape)
    );
    Source::new(CakeFile::from_text("letters.cake.toml", "", text), Arc::new(files))
}

fn planned(shape: &str, files: Memory) -> Result<Plan, PlanError> {
    Plan::new(&source(shape, files))
}

/// What is wrong with a cake, one sentence each.
fn problems(source: Source) -> Vec<String> {
    match Plan::new(&source) {
        Ok(_) => panic!("it can be planned"),
        Err(PlanError::CakeFile(error)) => error
            .problems()
            .iter()
            .filter(|p| p.severity == Severity::Error)
            .map(|p| p.message.clone())
            .collect(),
        Err(error) => panic!("{error}"),
    }
}

fn refused(shape: &str, files: Memory) -> Vec<String> {
    problems(source(shape, files))
}

#[test]
fn letters_that_cannot_be_drawn_are_refused() {
    for (words, said) in [
        ("Mia 蛋糕", "the font has no letters for 蛋 糕"),
        ("", "nothing is written"),
        (" \\n ", "nothing is written"),
    ] {
        let shape = format!("text = {{ words = \"{words}\", size = 20 }}");
        assert_eq!(refused(&shape, Memory::new()), [said], "{words}");
    }
    let far = refused("text = { words = \"ab\", size = 10, spacing = -8 }", Memory::new());
    assert_eq!(far, ["letters 10 mm high cannot be read when they stand so far off"]);
    let shape = "text = { words = \"ab\", size = 10, font = \"a.ttf\" }";
    let missing = refused(shape, Memory::new());
    assert!(missing[0].starts_with("cannot read a.ttf:"), "{missing:?}");
    let large = vec![0; Content::Font.largest() as usize + 1];
    let large = refused(shape, Memory::new().with("a.ttf", large));
    assert_eq!(large, ["cannot read a.ttf: it is larger than any font (32 MiB)"]);
    let no_font = refused(shape, Memory::new().with("a.ttf", *b"no font"));
    assert_eq!(no_font, ["a.ttf: it is not a font that can be read"]);
    let outside = refused(&shape.replace("a.ttf", "../a.ttf"), Memory::new().with("../a.ttf", *b"x"));
    assert!(outside[0].contains("outside the folder"), "{outside:?}");
    // As drawn says where a drawing lies; words do not.
    let drawn = "crumbline = 2\nname = \"x\"\n[shape.turned]\npoints = [[80, 0], [80, 90]]\n[[tier]]\nname = \"only\"\n\
                 [[tier.layer]]\npan = { round = 180 }\nheight = 90\n[[detail]]\nname = \"a\"\nadd = \"icing\"\n\
                 outline = { shape = { text = { words = \"A\", size = 20 } }, as_drawn = \"front\", depth = 2 }\n";
    let told = problems(Source::new(CakeFile::from_text("x", "", drawn), Arc::new(Memory::new())));
    assert_eq!(told, ["words do not say where on the shape they lie"]);
}

/// The font is read from beside the cake file, and known as one of the files that the cake is made from.
#[test]
fn a_font_beside_the_cake_file_is_used() {
    let files = Memory::new().with("fonts/mine.ttf", fonts::file(Face::Bold));
    let shape = "text = { words = \"Mia\", size = 20, font = \"fonts/mine.ttf\" }";
    let recorded = Arc::new(Recorded::new(files));
    let mine = Plan::new(&Source::new(source(shape, Memory::new()).cake, recorded.clone())).unwrap();
    let bold = put_on("text = { words = \"Mia\", size = 20, bold = true }");
    assert_eq!(relief(&mine).outline, relief(&bold).outline);
    assert!(
        recorded.reads().iter().any(|read| read.path.ends_with("fonts/mine.ttf") && read.revision.is_some())
    );
    let both = planned(
        "text = { words = \"Mia\", size = 20, font = \"a.ttf\", bold = true }",
        Memory::new().with("a.ttf", fonts::file(Face::Plain)),
    );
    assert_eq!(remarks(&both.unwrap()), ["`bold` has no meaning here: a font file has its own letters"]);
}

/// Strokes of the plain letters are about a ninth as thick as a capital is high, so that 1.5 mm ask for 13 mm or more.
#[test]
fn letters_too_thin_to_be_cut_are_told_with_the_size_that_does() {
    let thin = |size: f64, words: &str| {
        let plan = put_on(&format!("text = {{ words = \"{words}\", size = {size} }}"));
        plan.findings.iter().find(|f| f.code == FindingCode::LettersThin).cloned()
    };
    for words in ["Mia 7", "Happy birthday"] {
        let found = thin(6.0, words).unwrap();
        assert_eq!((found.severity, found.about.as_str()), (Severity::Warning, "greeting"));
        let size: f64 = found.fix.words.split(' ').find_map(|word| word.parse().ok()).unwrap();
        assert!((11.0..18.0).contains(&size), "{}", found.fix.words);
        assert!(found.fix.edit.is_some() && thin(size, words).is_none());
        assert!(thin(size - 1.0, words).is_some());
        assert!(thin(30.0, words).is_none());
    }
    // How wide a line along letters is, the maker says.
    let line = put_on("text = { words = \"Mia\", size = 20 }, stroke = 1");
    assert!(line.findings.iter().all(|f| f.code != FindingCode::LettersThin));
}
