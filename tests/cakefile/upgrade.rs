//! Files in other words and older formats: the same file in the words of this one, every other byte as it was.

use cakefile::{CakeFile, upgraded};

/// Each line of the text keeps its number and its comment.
#[test]
fn other_spellings_are_the_keys_that_they_mean() {
    let text = "crumbline = 2 # mine\nname = \"x\"\n[[covering]]\nmaterial = \"icing\"\ncolor = \"#fff\" # white\n\
                [[tier]]\n[[tier.layer]]\ntin = { round = 200 }\n[[tier.layer]]\ntin.round = 200\n[[covering]]\n\
                \"color\" = \"#000\"\n[center_dowel]\ndiameter = 6\n";
    let found = upgraded(text).expect("words to change");
    let expected = text
        .replace("\"color\"", "colour")
        .replace("color", "colour")
        .replace("tin", "pan")
        .replace("center", "centre");
    assert_eq!(found.text, expected);
    assert_eq!(found.changes.len(), 5);
    assert_eq!(upgraded(&found.text), None, "once is enough");
}

/// Files of format 1 as they were written, each in the words of this format: read without a problem, as many lines as before
/// up to what is written at the end, and every comment kept.
#[test]
fn files_of_format_1_are_upgraded_with_their_comments() {
    let folder = crate::repository::root().join("tests/cakes/format-1");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let old = std::fs::read_to_string(&path).unwrap();
        let found = upgraded(&old).expect("a file of format 1").text;
        let read = CakeFile::from_text("x", "", found.clone()).parse();
        assert!(read.problems.is_empty(), "{}: {:?}", path.display(), read.problems);
        assert!(found.lines().count() >= old.lines().count());
        for (before, after) in old.lines().zip(found.lines()) {
            let comment = |line: &str| line.split_once(" # ").map(|(_, comment)| comment.to_owned());
            assert!(comment(before).is_none_or(|kept| after.ends_with(&kept)), "{before}\n{after}");
        }
        assert_eq!(upgraded(&found), None);
        count += 1;
    }
    assert_eq!(count, 5);
    let moved = upgraded("crumbline = 1\n[paper]\npass = 4 # thin\nsize = \"A4\"\n[shape]\n").unwrap();
    let expected = "crumbline = 2\n[paper]\n# pass: under [carving] at the end # thin\nsize = \"A4\"\n[shape]\n\n[carving]\n\
                    pass = 4\n";
    assert_eq!(moved.text, expected);
    let inline = upgraded("paper = { size = \"A4\", ease = 4 }\n[shape]\n").unwrap();
    assert_eq!(inline.text, "paper = { size = \"A4\" }\n[shape]\n\n[icing]\npattern_error = 4\n");
    let dotted = upgraded("paper.excess = 4\n[shape]\n").unwrap();
    assert_eq!(dotted.text, "icing.allowance = 4\n[shape]\n");
}

/// A key that means another one only where that may stand, and not where it stands already.
#[test]
fn words_are_left_where_they_mean_nothing_else() {
    for text in [
        "name = \"tin\" # color\n[material.tin]\nlike = \"sponge\"\n",
        "[[covering]]\ncolour = \"#fff\"\n[board]\ntin = 3\n",
        "name = [\n",
        "",
    ] {
        assert_eq!(upgraded(text), None, "{text}");
    }
}

#[test]
fn the_starter_and_the_examples_are_in_the_words_of_this_format() {
    assert_eq!(upgraded(&cakefile::starter("x")), None);
    let examples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../assets/examples");
    let folders = std::fs::read_dir(examples).unwrap().map(|entry| entry.unwrap().path());
    for folder in folders.filter(|path| path.is_dir()) {
        for file in std::fs::read_dir(folder).unwrap() {
            let path = file.unwrap().path();
            if path.extension().is_some_and(|ending| ending == "toml") {
                let text = std::fs::read_to_string(&path).unwrap();
                assert_eq!(upgraded(&text), None, "{}", path.display());
                assert!(!CakeFile::from_text("x", "", text).parse().has_errors(), "{}", path.display());
            }
        }
    }
}
