//! The same cake gives the same figures, whichever command is asked.

use std::{fs, path::Path};

use assert_cmd::Command;
use serde_json::Value;

/// A sponge as heavy as clay: whoever does not look into the pantry says another mass and another verdict.
const HEAVY: &str = "crumbline = 1\n[pantry.recipe.sponge]\ndensity = 1.2\n";

const EXAMPLES: [&str; 7] = [
    "toadstool-house",
    "garden-urn",
    "lopsided-bell",
    "pebble-lantern",
    "planter-pot",
    "sitting-hen",
    "boulder",
];

/// What `crumbline` prints with these arguments in `folder`; it may find the cake unsound.
fn run(folder: &Path, args: &[&str]) -> String {
    let output = Command::cargo_bin("crumbline").unwrap().current_dir(folder).args(args).output().unwrap();
    assert!(
        matches!(output.status.code(), Some(0 | 1)),
        "{args:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

fn json(folder: &Path, args: &[&str]) -> Value {
    serde_json::from_str(&run(folder, args)).unwrap()
}

/// How each question begins in what the maker reads.
const QUESTIONS: [(&str, &str); 5] = [
    ("bench", "on the bench"),
    ("carving", "while it is carved"),
    ("venue", "at the venue"),
    ("car", "in a car"),
    ("people", "to lift and serve"),
];

/// International avoirdupois pound, g (by definition since 1959).
const GRAMS_PER_POUND: f64 = 453.592_37;

/// The masses in a line of text, g.
fn grams(line: &str) -> Vec<f64> {
    let words: Vec<&str> = line.split([' ', ',']).collect();
    let unit = |word: &str| match word {
        "kg" => Some(1000.0),
        "g" => Some(1.0),
        "lb" => Some(GRAMS_PER_POUND),
        "oz" => Some(GRAMS_PER_POUND / 16.0),
        _ => None,
    };
    let mut found: Vec<f64> = Vec::new();
    let mut pounds = false;
    for pair in words.windows(2) {
        let Some(grams) = pair[0].parse::<f64>().ok().zip(unit(pair[1])).map(|(count, unit)| count * unit)
        else {
            continue;
        };
        // "1 lb 4 oz" is one mass.
        match found.last_mut().filter(|_| pounds && pair[1] == "oz") {
            Some(last) => *last += grams,
            None => found.push(grams),
        }
        pounds = pair[1] == "lb";
    }
    found
}

/// Asks every command about an example, with this pantry beside it; what it weighs on its board, g.
fn check(name: &str, pantry: Option<&str>) -> f64 {
    let folder = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/examples").join(name);
    for file in fs::read_dir(from).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), folder.path().join(file.file_name())).unwrap();
    }
    if let Some(text) = pantry {
        fs::write(folder.path().join("pantry.toml"), text).unwrap();
    }
    let (folder, cake) = (folder.path(), format!("{name}.cake.toml"));
    let report = json(folder, &["plan", &cake, "--json"]);
    let text = run(folder, &["plan", &cake]);
    run(folder, &["kit", &cake, "--only", "cutting-sheet", "--out", "kit"]);
    let slug = report["name"].as_str().unwrap().to_lowercase().replace(' ', "-");
    let sheet = fs::read_to_string(folder.join(format!("kit/{slug}-cutting-sheet.txt"))).unwrap();

    // Verdicts: the report as JSON, the report as text, and the cutting sheet at the bench.
    let answers = report["support"]["answers"].as_array().unwrap();
    assert_eq!(answers.len(), QUESTIONS.len(), "{name}");
    for (answer, (question, asked)) in answers.iter().zip(QUESTIONS) {
        assert_eq!(answer["question"], question);
        let verdict = answer["answer"].as_str().unwrap();
        let row = format!("  {verdict:<8} {asked}");
        assert!(text.contains(&row), "{name}: {row} in\n{text}");
        let begins = format!("- {}{}", asked[..1].to_uppercase(), &asked[1..]);
        let line = sheet.lines().find(|line| line.starts_with(&begins)).expect(&begins);
        assert!(line.contains(&format!(": {verdict}.")), "{name}: {verdict} in {line}");
    }

    // Masses: tiers as they are put on the scales.
    for weight in report["support"]["weights"].as_array().unwrap() {
        let tier = weight["tier"].as_str().unwrap();
        let row = sheet.lines().find(|line| line.starts_with(&format!("[ ] {tier}: raw"))).unwrap();
        for key in ["raw_g", "carved_g", "finished_g"] {
            let wanted = weight[key].as_f64().unwrap();
            // Three figures, or whole ounces.
            let near = |found: &f64| (found - wanted).abs() < 0.005 * wanted + GRAMS_PER_POUND / 32.0;
            let near = grams(row).iter().any(near);
            assert!(near, "{name}: {wanted} g in {row}");
        }
    }

    // Offcut: what is shaved off each layer in the report, and what the amounts count for it.
    let amounts = json(folder, &["amounts", &cake, "--json"]);
    let layers = report["layers"].as_array().unwrap();
    let offcuts = amounts["offcuts"].as_array().unwrap();
    assert!(!offcuts.is_empty(), "{name}");
    for offcut in offcuts {
        let layer = layers.iter().find(|layer| layer["name"] == offcut["layer"]).unwrap();
        let (a, b) = (offcut["mass_g"].as_f64().unwrap(), layer["offcut"]["mass_g"].as_f64().unwrap());
        assert!((a - b).abs() <= 1e-9 * b.max(1.0), "{name}: {a} g and {b} g off {}", offcut["layer"]);
    }

    // Height: the report, and the solid that is written.
    run(folder, &["export", &cake, "finished.stl", "--solid", "finished"]);
    let mesh = stl_io::read_stl(&mut fs::File::open(folder.join("finished.stl")).unwrap()).unwrap();
    let top = mesh.vertices.iter().map(|v| f64::from(v[2])).fold(f64::MIN, f64::max);
    let height = report["shape"]["height_mm"].as_f64().unwrap();
    assert!((top - height).abs() < 0.1, "{name}: {top} mm, {height} mm");

    // Soundness: the batch plans the folder with what lies in it.
    let batch = json(folder, &["batch", ".", "--json"]);
    assert_eq!(batch["rows"][0]["sound"], report["sound"], "{name}");
    report["support"]["carried_g"].as_f64().unwrap()
}

#[test]
fn every_command_says_the_same_of_every_example() {
    let mut counted = Vec::new();
    for name in EXAMPLES {
        let light = check(name, None);
        let heavy = check(name, Some(HEAVY));
        // A cake of another sponge than the pantry's, or whose file says how heavy it is, stays as it is.
        assert!(heavy >= light, "{name}: {light} g, {heavy} g");
        if heavy > 1.2 * light {
            counted.push(name);
        }
    }
    assert!(counted.contains(&"toadstool-house") && counted.len() >= 3, "the pantry counts for {counted:?}");
}
