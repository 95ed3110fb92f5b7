//! Paper: what is printed is true to size, says what the plan says, and is the same every time.
//!
//! PDFs are read by poppler (pdftoppm, pdftotext, pdffonts, pdfinfo), SVG drawings by usvg.

mod cutting;
mod finishes;
mod languages;
mod letters;
mod patterns;
pub mod raster;
mod rolls;
mod true_size;

use cakefile::CakeFile;
use make::{
    language::Language,
    sheets::{SheetFile, Template, cutting_sheet, templates},
};
use plan::{
    Plan, PlanError,
    design::{Paper, PaperSize},
};

use crate::plans::{example, plan, planned};

const EXAMPLES: [&str; 4] = ["toadstool-house", "garden-urn", "lopsided-bell", "planter-pot"];
const SIZES: [PaperSize; 4] = [PaperSize::A4, PaperSize::A3, PaperSize::Letter, PaperSize::Tabloid];

/// A turned cake of straight pieces with one coat of 8 mm, on layers wide enough.
fn straight(points: &str, height: f64) -> Plan {
    plan(&format!(
        "crumbline = 1\nname = \"Straight\"\n[shape.turned]\npoints = {points}\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 8\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 260 }}\nheight = {height}\n"
    ))
}

/// The same without a coat.
fn bare(points: &str, height: f64) -> Plan {
    plan(&format!(
        "crumbline = 1\nname = \"Bare\"\n[shape.turned]\npoints = {points}\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 260 }}\nheight = {height}\n"
    ))
}

fn on(plan: &Plan, size: PaperSize) -> Paper {
    Paper { size, ..plan.design.paper }
}

/// The only file whose name ends so.
#[track_caller]
fn named<'a>(files: &'a [SheetFile], ending: &str) -> &'a SheetFile {
    let mut found = files.iter().filter(|file| file.name.ends_with(ending));
    let names = || files.iter().map(|file| file.name.as_str()).collect::<Vec<_>>().join(", ");
    let file = found.next().unwrap_or_else(|| panic!("no file ends in {ending}: {}", names()));
    assert!(found.next().is_none(), "{ending}: {}", names());
    file
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let all = || {
        let plan = example("toadstool-house");
        let mut files = templates(&plan, &plan.design.paper, &Template::ALL, Language::english()).unwrap();
        files.extend(cutting_sheet(&plan, &plan.design.paper, Language::english()).unwrap());
        files
    };
    let first = all();
    assert!(first.len() > 30, "{} files", first.len());
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(alone.install(all), first);
    let contains = |file: &SheetFile, word: &[u8]| file.bytes.windows(word.len()).any(|part| part == word);
    for file in &first {
        assert!(!contains(file, b"/CreationDate") && !contains(file, b"/ModDate"), "{}", file.name);
    }
}

#[test]
fn names_say_cake_part_and_size_and_no_two_are_the_same() {
    for name in EXAMPLES {
        let plan = example(name);
        let mut files = templates(&plan, &plan.design.paper, &Template::ALL, Language::english()).unwrap();
        files.extend(cutting_sheet(&plan, &plan.design.paper, Language::english()).unwrap());
        let mut names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        assert!(names.iter().all(|file| file.starts_with(name)), "{names:?}");
        let size = plan.design.paper.size.name().to_lowercase();
        let ends = |file: &&str| {
            file.ends_with(&format!("-{size}.pdf")) || file.ends_with("mm.svg") || file.ends_with(".txt")
        };
        assert!(names.iter().all(ends), "{names:?}");
        let count = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), count);
    }
}

#[test]
fn each_set_can_be_asked_for_alone() {
    let plan = example("toadstool-house");
    for set in Template::ALL {
        let files = templates(&plan, &plan.design.paper, &[set], Language::english()).unwrap();
        let pdfs: Vec<&str> =
            files.iter().map(|file| file.name.as_str()).filter(|name| name.ends_with(".pdf")).collect();
        assert_eq!(pdfs, [format!("toadstool-house-{}-a4.pdf", set.name())]);
        assert_eq!(files.len() - 1, set.figures(&plan, &plan.design.paper, Language::english()).len());
    }
}

/// Every problem of the paper names the key of the cake file and the fix.
#[test]
fn paper_that_cannot_be_printed_on_is_refused() {
    let cake = "crumbline = 1\nname = \"Drum\"\n[shape.turned]\npoints = [[80, 0], [80, 90]]\n\
        [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 180 }\nheight = 90\n";
    for (lines, key, word) in [
        ("[paper]\nmargin = 110", "margin", "at most 15 mm"),
        ("[paper]\nsize = \"Letter\"\nmargin = \"3 in\"", "margin", "at most 18 mm"),
        ("[paper]\noverlap = 200", "overlap", "10 mm is enough"),
        ("[carving]\npass = 0.1", "pass", "at least 0.5 mm"),
        ("[carving]\npass = 0", "pass", "above zero"),
        ("[icing]\nallowance = -2", "allowance", "0 to 100 mm"),
        ("[icing]\npattern_error = 0.01", "pattern_error", "at least 0.5 mm"),
        ("[paper]\nsize = \"A44\"", "size", "A4"),
        ("[paper]\ncolour = 3", "colour", "paper"),
    ] {
        let file = CakeFile::from_text("test.cake.toml", "", format!("{cake}{lines}\n"));
        let said = planned(&file).expect_err(lines).to_string();
        let PlanError::CakeFile(error) = planned(&file).expect_err(lines) else { panic!("{said}") };
        let said = error.render(false);
        assert!(said.contains(key) && said.contains(word), "{lines}: {said}");
    }
    let plan = straight("[[80, 0], [80, 90]]", 90.0);
    let wrong = Paper { margin: 110.0, ..plan.design.paper };
    assert!(
        templates(&plan, &wrong, &Template::ALL, Language::english()).is_err()
            && cutting_sheet(&plan, &wrong, Language::english()).is_err()
    );
}

#[test]
fn settings_come_from_the_cake_file_and_usual_ones_follow_the_unit() {
    let paper = |text: &str| {
        plan(&format!(
            "crumbline = 1\nname = \"D\"\n{text}\n\
        [shape.turned]\npoints = [[\"80 mm\", 0], [\"80 mm\", \"90 mm\"]]\n\
        [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = \"180 mm\" }}\nheight = \"90 mm\"\n"
        ))
        .design
        .paper
    };
    assert_eq!(paper("").size, PaperSize::A4);
    assert_eq!(paper("unit = \"in\"").size, PaperSize::Letter);
    assert_eq!(paper("unit = \"in\"").pass, 6.35);
    let given = paper(
        "unit = \"cm\"\npaper = { size = \"Tabloid\", margin = 1.2, overlap = 2 }\ncarving = { pass = 0.4 }\nicing = { allowance = 0, pattern_error = 1 }",
    );
    let expected = Paper {
        size: PaperSize::Tabloid,
        margin: 12.0,
        overlap: 20.0,
        pass: 4.0,
        allowance: 0.0,
        pattern_error: Some(10.0),
    };
    assert_eq!(given, expected);
}
