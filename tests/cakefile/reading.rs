//! Cake files: what is read, what is refused, and what the maker is told.

use std::{fs, path::PathBuf, time::Instant};

use cakefile::{
    CakeFile, Diagnostic, FieldPath, Reading, Severity, json_schema,
    schema::{Cake, Quantity, Unit},
    starter,
};

/// The least that is a cake file, and `more` after it.
fn with(more: &str) -> String {
    format!("crumbline = 1\nname = \"Test\"\n{more}\n[shape]\n")
}

fn parse(text: &str) -> Reading<Cake> {
    CakeFile::from_text("cake.toml", "", text).parse()
}

/// What the maker is shown.
fn shown(text: &str) -> String {
    let file = CakeFile::from_text("cake.toml", "", text);
    file.error(file.parse().problems).render(false)
}

/// Each problem as "path: message".
fn problems(text: &str) -> Vec<String> {
    let file = CakeFile::from_text("cake.toml", "", text);
    let error = file.error(file.parse().problems);
    error.problems().iter().map(|p| format!("{}: {}", p.path, p.message)).collect()
}

fn good(text: &str) -> Cake {
    let parsed = parse(text);
    assert_eq!(parsed.problems, [], "{text}");
    parsed.document.expect("a cake without problems is made out")
}

fn path(text: &str) -> FieldPath {
    text.split('.').fold(FieldPath::root(), |path, step| match step.split_once('[') {
        Some((key, index)) => path.key(key).index(index.trim_end_matches(']').parse().unwrap()),
        None => path.key(step),
    })
}

#[test]
fn the_starter_parses_whatever_the_name() {
    for name in ["Anna's cake", "a \"quoted\" \\ name", "two\nlines", "\u{1b}[31m", "", "\"First cake\""] {
        let cake = good(&starter(name));
        assert_eq!(cake.name, name.replace('\n', " "));
        assert_eq!((cake.tiers.len(), cake.tiers[1].layers.len(), cake.coverings.len()), (2, 2, 2));
    }
}

#[test]
fn the_remarks_in_the_starter_are_true() {
    let text = starter("Test");
    let (before, details) = text.split_once("# [[detail]]").expect("the starter shows a detail");
    // Lines of a file that are only to be taken the # away from, not those that explain.
    let is_written = |line: &str| {
        line.starts_with("[[") || line.split_once(" = ").is_some_and(|(key, _)| !key.contains([' ', '`']))
    };
    let written = details.lines().map(|line| line.trim_start_matches("# ")).filter(|line| is_written(line));
    let written: String = written.map(|line| format!("{line}\n")).collect();
    let (first, second) = before.split_once("# [[covering.zone]]").expect("the starter shows a zone");
    let zone = second.split_once("\n\n").expect("a blank line ends the zone");
    let rest = zone.0.lines().map(|line| line.trim_start_matches("# ")).filter(|line| is_written(line));
    let zone_written: String = rest.map(|line| format!("{line}\n")).collect();
    let before = format!("{first}\n[[covering.zone]]\n{zone_written}\n\n{}", zone.1);
    let cake = good(&format!("{before}\n[[detail]]\n{written}"));
    assert_eq!(cake.coverings[0].zones[0].name, "foot band");
    assert!(cake.details.len() == 5 && cake.details[0].ball.is_some());
    assert_eq!(cake.details[1].repeat.as_ref().map(|repeat| repeat.count), Some(12));
    let text = cake.details[2].outline.as_ref().and_then(|outline| outline.shape.text.as_ref());
    assert_eq!(text.map(|text| (text.words.as_str(), text.bold)), Some(("Happy birthday", Some(true))));
    assert_eq!(cake.details[3].mirror, Some(true));
    assert_eq!(cake.details[4].roll.as_ref().and_then(|roll| roll.along.foot), Some(true));
}

#[test]
fn crlf_and_a_byte_order_mark_change_nothing() {
    let plain = good(&starter("Test"));
    let crlf = starter("Test").replace('\n', "\r\n");
    assert_eq!(good(&crlf), plain);
    assert_eq!(good(&format!("\u{feff}{crlf}")), plain);
    insta::assert_snapshot!(shown("\u{feff}crumbline = 1\r\nname = \"x\"\r\nhight = 3\r\n[shape]\r\n"), @r##"
 × `hight` is not known here
  ╭─[cake.toml:3:1]
3 │ hight = 3
  · ──┬──
  ·   ╰── hight
  ╰────
 help: known here are `accuracy`, `board`, `carving`, `centre_dowel`, `covering`,
       `crumbline`, `detail`, `icing`, `limits`, `material`, `name`, `notes`, `offer`,
       `order`, `pantry`, `paper`, `printing`, `shape`, `support`, `tier`, `unit` and
       `units`
"##);
}

#[test]
fn an_empty_file_says_so() {
    for text in ["", "\n\n", "# only a remark", "\u{feff}"] {
        assert_eq!(problems(text), [": the cake file is empty"], "{text:?}");
    }
    insta::assert_snapshot!(shown(""), @r##"
× the cake file is empty
 ╭─[cake.toml:1:1]
 ╰────
help: `crumbline new` writes one to begin from
"##);
}

#[test]
fn all_problems_are_told_at_once_and_in_order() {
    insta::assert_snapshot!(shown(r##"
crumbline = 1
name = 5
unit = "inch"

[shape.turned]
points = [[0, 0], [1, nan], [2], ["tall", -1e9]]

[[covering]]
material = "ganache"
thicknes = "6,5"
colour = "red"

[[tier]]
name = "lower"
[[tier.layer]]
pan = { round = "9 inn", dome = "upp" }
height = 0
"##), @r##"
 × this is a number, but it has to be text
  ╭─[cake.toml:3:8]
3 │ name = 5
  ·        ┬
  ·        ╰── name
  ╰────
 help: write "5", in quotes

 × "inch" cannot be chosen here
  ╭─[cake.toml:4:8]
4 │ unit = "inch"
  ·        ───┬──
  ·           ╰── unit
  ╰────
 help: write "mm", "cm" or "in"

 × this is not a finite number
  ╭─[cake.toml:7:23]
7 │ points = [[0, 0], [1, nan], [2], ["tall", -1e9]]
  ·                       ─┬─
  ·                        ╰── shape.turned.points[1][1]
  ╰────

 × there must be 2 values here, not 1
  ╭─[cake.toml:7:29]
7 │ points = [[0, 0], [1, nan], [2], ["tall", -1e9]]
  ·                             ─┬─
  ·                              ╰── shape.turned.points[2]
  ╰────

 × "tall" is not a number with a unit
  ╭─[cake.toml:7:35]
7 │ points = [[0, 0], [1, nan], [2], ["tall", -1e9]]
  ·                                   ───┬──
  ·                                      ╰── shape.turned.points[3][0]
  ╰────
 help: write a number and a unit, as "203 mm" or "8 1/2 in"

 × -1e9 mm is longer than any cake: at most 10000 mm (10 m) will do
  ╭─[cake.toml:7:43]
7 │ points = [[0, 0], [1, nan], [2], ["tall", -1e9]]
  ·                                           ──┬─
  ·                                             ╰── shape.turned.points[3][1]
  ╰────
 help: check the unit: was mm or cm meant?

 × `thicknes` is not known here
   ╭─[cake.toml:11:1]
11 │ thicknes = "6,5"
   · ────┬───
   ·     ╰── covering[0].thicknes
   ╰────
 help: did you mean `thickness`?

 × "red" is not a colour
   ╭─[cake.toml:12:10]
12 │ colour = "red"
   ·          ──┬──
   ·            ╰── covering[0].colour
   ╰────
 help: write red, green and blue as six digits, as "#f4e1c1"

 × "inn" is not a unit of length
   ╭─[cake.toml:17:17]
17 │ pan = { round = "9 inn", dome = "upp" }
   ·                 ───┬───
   ·                    ╰── tier[0].layer[0].pan.round
   ╰────
 help: lengths are in mm, cm, m, in or ft

 × "upp" cannot be chosen here
   ╭─[cake.toml:17:33]
17 │ pan = { round = "9 inn", dome = "upp" }
   ·                                 ──┬──
   ·                                   ╰── tier[0].layer[0].pan.dome
   ╰────
 help: did you mean "up"?

 × a size must be above zero: at least 0.01 mm, but this is 0 mm
   ╭─[cake.toml:18:10]
18 │ height = 0
   ·          ┬
   ·          ╰── tier[0].layer[0].height
   ╰────
"##);
}

#[test]
fn slips_of_toml_are_told_with_the_fix() {
    insta::assert_snapshot!(shown("crumbline = 1\nname = \"x\"\nnotes = 8 in\nunit =\n[shape]\n"), @r##"
 × this cannot be read as a value
  ╭─[cake.toml:3:9]
3 │ notes = 8 in
  ·         ────
  ╰────
 help: text, and a number with a unit, stands in quotes, as "8 in"

 × nothing is written after the `=`
  ╭─[cake.toml:4:7]
4 │ unit =
  ╰────
 help: write a value there, or take the line out
"##);
    insta::assert_snapshot!(shown(&with("notes = \"open")), @r##"
 × invalid basic string, expected `"`
  ╭─[cake.toml:3:14]
3 │ notes = "open
  ╰────
 help: text begins and ends with a quote
"##);
    // The rest of the file is still looked at, but nothing is called missing that may be there.
    assert!(problems("name = \nfoo = 1").iter().any(|p| p.starts_with("foo")));
    assert!(!problems("crumbline = 1\n[shape\nname = 2").iter().any(|p| p.contains("no `name`")));
}

#[test]
fn a_key_given_twice_is_told_and_the_first_counts() {
    let text = with("notes = \"a\"\nnotes = \"b\"");
    assert_eq!(problems(&text), [": `notes` is written twice"]);
    assert_eq!(parse(&text).document.unwrap().notes.as_deref(), Some("a"));
    assert_eq!(problems(&format!("{}[shape]\n", with(""))), [": `shape` is written twice"]);
}

#[test]
fn the_format_version_is_asked_for() {
    let version = |value: &str| problems(&format!("{value}\nname = \"x\"\nwibble = 1\n[shape]\n"))[0].clone();
    assert_eq!(
        version(""),
        "crumbline: the file does not say which version of the cake file format it is in"
    );
    for value in ["0", "-1", "\"1\"", "1.0", "true"] {
        let message = version(&format!("crumbline = {value}"));
        assert_eq!(message, "crumbline: there is no such version of the cake file format", "{value}");
    }
    for value in ["3", "4294967296", "99999999999999999999999999999999999999999999"] {
        let found = problems(&format!("crumbline = {value}\nwibble = 1"));
        assert_eq!(found.len(), 1, "the rest of a newer file is not judged: {found:?}");
        assert!(found[0].contains("this program reads up to 2"), "{found:?}");
    }
}

#[test]
fn numbers_that_no_cake_has_are_refused() {
    let board = |round: &str| {
        problems(&with("").replace("[shape]", &format!("[shape]\n[board]\nthickness=3\nround={round}")))
    };
    for round in ["nan", "+inf", "-inf", "1e999", "\"1e999 mm\"", "\"nan\""] {
        assert_eq!(board(round).len(), 1, "{round}");
    }
    for (round, words) in [
        ("0", "above zero"),
        ("-200", "above zero"),
        ("\"-8 in\"", "above zero"),
        ("1e-9", "above zero"),
        ("1e9", "longer than any cake"),
        ("99999999999999999999999999999999999999999999", "longer than any cake"),
        ("\"11 m\"", "longer than any cake"),
        ("\"eight inches\"", "not a number"),
        ("\"\"", "nothing is written"),
        ("true", "has to be a length"),
        ("1979-05-27", "a date or time"),
        ("[8]", "has to be a length"),
    ] {
        let found = board(round);
        assert!(
            found.len() == 1 && found[0].starts_with("board.round: ") && found[0].contains(words),
            "{found:?}"
        );
    }
    for round in ["200", "200.5", "0x10", "1_0", "\"8 in\"", "\"8½\\\"\""] {
        assert_eq!(board(round), [] as [&str; 0], "{round}");
    }
}

#[test]
fn bare_numbers_follow_the_unit_of_the_file() {
    let text = |unit: &str| with(&format!("unit = \"{unit}\"")) + "[board]\nround = 450\nthickness = 1\n";
    assert_eq!(problems(&text("mm")), [] as [&str; 0]);
    assert_eq!(problems(&text("cm")), [] as [&str; 0]);
    assert!(problems(&text("in"))[0].contains("11430 mm is longer than any cake"));
    assert_eq!(good(&text("cm")).unit, Some(Unit::Centimetre));
}

#[test]
fn values_of_the_wrong_kind_are_told_with_the_fix() {
    insta::assert_snapshot!(shown(&with("materials = 1\nboard = \"big\"\nlimits = [1]\nnotes = 5")
        .replace("[shape]", "[shape]\n[covering]\n[material.plain]\ndensity = \"0.4\"")), @r##"
 × `materials` is not known here
  ╭─[cake.toml:3:1]
3 │ materials = 1
  · ────┬────
  ·     ╰── materials
  ╰────
 help: did you mean `material`?

 × this is text, but it has to be a table
  ╭─[cake.toml:4:9]
4 │ board = "big"
  ·         ──┬──
  ·           ╰── board
  ╰────
 help: write a table: its name in brackets, and its keys below

 × this is a list, but it has to be a table
  ╭─[cake.toml:5:10]
5 │ limits = [1]
  ·          ─┬─
  ·           ╰── limits
  ╰────
 help: put the name in single brackets, as [board]: there is only one

 × this is a number, but it has to be text
  ╭─[cake.toml:6:9]
6 │ notes = 5
  ·         ┬
  ·         ╰── notes
  ╰────
 help: write "5", in quotes

 × this is a table, but it has to be a list
  ╭─[cake.toml:8:1]
8 │ [covering]
  · ─────┬────
  ·      ╰── covering
  ╰────
 help: put the name in double brackets, as [[tier]]: there may be several

 × this is text, but it has to be a number
   ╭─[cake.toml:10:11]
10 │ density = "0.4"
   ·           ──┬──
   ·             ╰── material.plain.density
   ╰────
 help: write 0.4, without quotes
"##);
}

#[test]
fn what_is_wrong_is_left_out_and_the_rest_kept() {
    let parsed = parse(&starter("Test").replacen("height = 42", "height = -42", 1));
    let cake = parsed.document.as_ref().expect("the rest can be made out");
    assert!(cake.tiers[0].layers.is_empty() && cake.tiers[1].layers.len() == 2);
    assert_eq!(parsed.pruned.last().unwrap().to_string(), "tier[0].layer");
    assert!(parsed.has_errors());
}

#[test]
fn an_echo_of_a_problem_is_not_told() {
    let mut parsed = parse(&starter("Test").replacen("height = 42", "height = -42", 1));
    let told = parsed.problems.len();
    let later = |text: &str| Diagnostic::error(path(text), "something follows");
    parsed.add(["tier[0]", "tier[0].layer", "tier[0].layer[1].height", "tier"].map(later));
    assert_eq!(parsed.problems.len(), told, "all of these follow from the layer that was left out");
    parsed.add(["tier[1]", "tier[0].dowels", "shape"].map(later));
    assert_eq!(parsed.problems.len(), told + 3);
}

#[test]
fn keys_missing_at_the_top_do_not_hide_other_problems() {
    let parsed = parse("crumbline = 1\n[board]\nthickness = 3\n");
    assert_eq!(parsed.problems.len(), 2);
    let cake = parsed.document.expect("the rest can be made out");
    assert!(cake.board.is_some() && cake.shape.turned.is_none());
}

#[test]
fn paths_lead_to_the_text() {
    let file = CakeFile::from_text("cake.toml", "", starter("Test"));
    let at = |text: &str| &file.text()[file.locate(&path(text))];
    assert_eq!(at("name"), "\"Test\"");
    assert_eq!(at("tier[1].layer[0].height"), "48");
    assert_eq!(at("tier[0].dowels.count"), "4");
    assert_eq!(at("shape.turned.draw[3].through[1]"), "190");
    assert_eq!(at("tier[1].layer[1]"), "[[tier.layer]]");
    // What is not there is shown where it would be.
    assert_eq!(at("tier[1].layer[1].turn"), "[[tier.layer]]");
    assert_eq!(at("board.hole"), "[board]");
    assert_eq!(file.locate(&FieldPath::root()), 0..0);
    assert_eq!(file.locate(&path("wibble.wobble")), 0..0);
}

#[test]
fn problems_of_later_steps_are_shown_at_their_place() {
    let file = CakeFile::from_text("cake.toml", "", starter("Test"));
    let thin = Diagnostic::warning(path("tier[0].layer[1].pan.round"), "the pan has little to spare")
        .fix("take one of at least 220 mm");
    let wrong = Diagnostic::error(path("board"), "the board is too small");
    let error = file.error(vec![thin, wrong]);
    assert_eq!(error.problems()[0].severity, Severity::Error, "sorted by place");
    insta::assert_snapshot!(error.render(false), @r##"
 × the board is too small
   ╭─[cake.toml:10:1]
10 │ [board]
   · ───┬───
   ·    ╰── board
   ╰────

 ⚠ the pan has little to spare
   ╭─[cake.toml:61:17]
61 │ pan = { round = "8 in" }
   ·                 ───┬──
   ·                    ╰── tier[0].layer[1].pan.round
   ╰────
 help: take one of at least 220 mm
"##);
    assert!(error.render(true).contains("\u{1b}["), "colours when asked for");
    assert!(!error.render(false).contains('\u{1b}'), "no colours otherwise");
    assert_eq!(error.to_string(), "cake.toml has 2 problems");
}

#[test]
fn text_from_the_file_cannot_play_with_the_terminal() {
    let text = with(&format!("unit = \"\u{1b}[31m\"\n\"\\u001b]0;x\" = 1\nx = \"{}\"", "y".repeat(5000)));
    let shown = shown(&text);
    assert!(!shown.contains('\u{1b}'), "{shown}");
    assert!(shown.lines().all(|line| line.chars().count() < 120), "long lines are cut: {shown}");
}

#[test]
fn files_that_cannot_be_read_say_why() {
    let folder = tempfile::tempdir().unwrap();
    let told = |name: &str| {
        let error = crate::files::read(folder.path().join(name)).unwrap_err();
        error.render(false).replace(&folder.path().display().to_string(), "DIR")
    };
    fs::write(folder.path().join("latin1.toml"), b"crumbline = 1\nname = \"caf\xe9\"\n").unwrap();
    let large = fs::File::create(folder.path().join("large.toml")).unwrap();
    large.set_len(8 * 1024 * 1024 + 1).unwrap();
    insta::assert_snapshot!(told("nothing.toml"), @r##"
× cannot read DIR/nothing.toml: there is no such file
help: check the name and the folder
"##);
    insta::assert_snapshot!(told("."), @r##"
× cannot read DIR/.: it is a folder
help: name the cake file in it
"##);
    insta::assert_snapshot!(told("latin1.toml"), @r##"
× DIR/latin1.toml is not UTF-8 text: see line 2
help: save it as UTF-8, or check that it is a cake file
"##);
    insta::assert_snapshot!(told("large.toml"), @r##"
× cannot read DIR/large.toml: it is larger than any cake file (8 MiB)
help: check that it is a cake file
"##);
    let missing = crate::files::read(folder.path().join("nothing.toml")).unwrap_err();
    assert!(std::error::Error::source(&missing).is_some(), "the cause is kept");
}

#[test]
fn a_file_on_disk_knows_its_folder() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cake.toml");
    fs::write(&path, format!("\u{feff}{}", starter("Test"))).unwrap();
    let file = crate::files::read(&path).unwrap();
    assert_eq!(file.folder(), folder.path());
    assert_eq!(file.text(), starter("Test"));
}

#[test]
fn a_million_points_are_read_in_seconds() {
    let mut text = with("") + "[shape.turned]\npoints = [\n";
    for i in 0..1_000_000 {
        text += &format!("[{}.5, {}],\n", i % 100, i as f64 / 10_000.0);
    }
    text += "]\n";
    let start = Instant::now();
    let cake = good(&text);
    let took = start.elapsed();
    assert_eq!(cake.shape.turned.unwrap().points.unwrap().len(), 1_000_000);
    assert!(took.as_secs_f64() < 20.0, "a million points took {took:?}");
}

#[test]
fn a_million_wrong_points_do_not_flood_the_maker() {
    let points = "[nan, -1e9],".repeat(500_000);
    let text = with("") + &format!("[shape.turned]\npoints = [{points}]\n");
    let file = CakeFile::from_text("cake.toml", "", text);
    let error = file.error(file.parse().problems);
    assert_eq!(error.problems().len(), 1001);
    let shown = error.render(false);
    assert!(shown.len() < 100_000 && shown.contains("... and 951 more in cake.toml"), "{shown}");
}

#[test]
fn ten_thousand_layers_are_read() {
    let layer = "[[tier.layer]]\npan = { round = \"8 in\" }\nheight = 40\n";
    let text = with("") + "[[tier]]\nname = \"tower\"\n" + &layer.repeat(10_000);
    assert_eq!(good(&text).tiers[0].layers.len(), 10_000);
    let wrong = text + "[[tier.layer]]\nheight = 40\n";
    assert_eq!(problems(&wrong), ["tier[0].layer[10000].pan: `pan` is missing here"]);
}

#[test]
fn deep_nesting_is_refused() {
    let found = problems(&with(&format!("notes = {}", "[".repeat(100_000))));
    assert!(found.iter().any(|problem| problem.starts_with("notes: ")), "{found:?}");
}

#[test]
fn the_schema_for_editors_knows_every_key_of_the_starter() {
    let schema = json_schema();
    let keys = schema["properties"].as_object().unwrap();
    let table: toml::Table = starter("Test").parse().unwrap();
    assert!(table.keys().all(|key| keys.contains_key(key)) && table.len() > 5);
    assert_eq!(schema["$defs"]["Layer"]["properties"]["height"]["format"], "size");
    assert_eq!(schema["required"], serde_json::json!(["crumbline", "name", "shape"]));
}

#[test]
fn quantities_keep_how_they_are_written() {
    let cake = good(&(with("") + "[board]\nround = \"8 1/2 in\"\nthickness = 12\n"));
    let board = cake.board.unwrap();
    assert_eq!(board.round.unwrap().0, Quantity::Text("8 1/2 in".into()));
    assert_eq!(board.thickness.0, Quantity::Number(12.0));
}

/// Every problem in `tests/cakes/bad` is the one that the file itself says, and there is no other.
#[test]
fn bad_cakes_are_told_what_they_say() {
    let mut count = 0;
    for file in cakes("bad") {
        let told = file.text().lines().filter_map(|line| line.strip_prefix("# told: "));
        let told: Vec<String> = told.map(str::to_owned).collect();
        assert_eq!(problems(file.text()), told, "{}", file.name());
        assert!(!told.is_empty() && !file.error(file.parse().problems).render(false).is_empty());
        count += 1;
    }
    assert_eq!(count, 13);
}

#[test]
fn good_cakes_are_read_and_written_back_the_same() {
    let mut count = 0;
    for file in cakes("good") {
        let cake = good(file.text());
        assert_eq!(good(&toml::to_string(&cake).unwrap()), cake, "{}", file.name());
        count += 1;
    }
    assert_eq!(count, 1);
}

/// `every-key.toml` keeps its promise, so that no key goes untested.
#[test]
fn every_key_of_the_schema_is_read_once() {
    let text = fs::read_to_string(folder("good").join("every-key.toml")).unwrap();
    let schema = json_schema();
    let mut tables: Vec<&serde_json::Value> = schema["$defs"].as_object().unwrap().values().collect();
    tables.push(&schema);
    let keys = tables.iter().filter_map(|table| table["properties"].as_object()).flat_map(|keys| keys.keys());
    let missing: Vec<&String> = keys.filter(|key| !is_written(&text, key)).collect();
    assert_eq!(missing, [] as [&String; 0]);
}

/// Whether `key` is given in `text`, as a key or as the last part of a header.
fn is_written(text: &str, key: &str) -> bool {
    let header = |line: &str| line.starts_with('[') && line.split(['[', ']', '.']).any(|part| part == key);
    let words = |line: &str| line.split([' ', '{', ',']).map(str::to_owned).collect::<Vec<_>>();
    text.lines().any(|line| header(line) || words(line).windows(2).any(|pair| pair == [key, "="]))
}

fn folder(name: &str) -> PathBuf {
    crate::repository::root().join("tests/cakes").join(name)
}

fn cakes(name: &str) -> Vec<CakeFile> {
    let entries = fs::read_dir(folder(name)).unwrap();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|path| crate::files::read(path).unwrap()).collect()
}

/// A mistyped key is one problem: that the right one is missing follows from it.
#[test]
fn a_mistyped_key_is_one_problem() {
    let of = |text: &str| problems(&with(text));
    let covering = "[[covering]]\nmaterial = \"ganache\"\nthicknes = \"6 mm\"\n";
    assert_eq!(of(covering), ["covering[0].thicknes: `thicknes` is not known here"]);
    // One that is mistyped elsewhere explains nothing.
    let two = format!("{covering}[[covering]]\nmaterial = \"ganache\"\n");
    assert_eq!(
        of(&two),
        [
            "covering[0].thicknes: `thicknes` is not known here",
            "covering[1].thickness: `thickness` is missing here"
        ]
    );
}
