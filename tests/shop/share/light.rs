//! The page draws in the window's light: the same functions, the same numbers.

use std::collections::BTreeMap;

use crate::repository::root;

fn read(file: &str) -> String {
    std::fs::read_to_string(root().join(file)).unwrap_or_else(|error| panic!("{file}: {error}"))
}

/// Words, numbers and signs of a text without its comments.
fn tokens(text: &str) -> Vec<String> {
    let mut tokens: Vec<String> = Vec::new();
    for line in text.lines() {
        let line = line.split("//").next().unwrap_or_default();
        let mut rest = line.chars().peekable();
        while let Some(c) = rest.next() {
            let is_word = |c: char| c.is_alphanumeric() || c == '_' || c == '.';
            if c.is_whitespace() {
                continue;
            }
            let mut token = c.to_string();
            if is_word(c) {
                while let Some(next) = rest.next_if(|next| is_word(*next)) {
                    token.push(next);
                }
            }
            tokens.push(token);
        }
    }
    tokens
}

/// The tokens of each function, from its name to its last bracket, by name; `begins` tells where one begins.
fn functions(text: &str, begins: impl Fn(&[String]) -> bool) -> BTreeMap<String, Vec<String>> {
    let tokens = tokens(text);
    let mut found = BTreeMap::new();
    let mut at = 0;
    while at + 3 < tokens.len() {
        if !begins(&tokens[at..]) {
            at += 1;
            continue;
        }
        let name = tokens[at + 1].clone();
        let (mut depth, mut end) = (0, at);
        loop {
            match tokens[end].as_str() {
                "{" => depth += 1,
                "}" => depth -= 1,
                _ => {}
            }
            end += 1;
            if depth == 0 && tokens[end - 1] == "}" {
                break;
            }
        }
        found.insert(name, tokens[at + 1..end].to_vec());
        at = end;
    }
    found
}

const TYPES: [&str; 11] =
    ["float", "vec2", "vec3", "vec4", "Seen", "ivec3", "int", "uint", "bool", "Patch", "Light"];

/// WGSL without its types, its words called as in GLSL.
fn wgsl(text: &str) -> BTreeMap<String, Vec<String>> {
    let plain = |tokens: &[String]| {
        let mut out: Vec<String> = Vec::new();
        let mut i = 0;
        // A type in angle brackets, as "vec3<f32>", and what GLSL calls it.
        let named = |i: usize| -> (String, usize) {
            let angled = tokens.get(i + 1).is_some_and(|next| next == "<")
                && ["vec2", "vec3", "array"].contains(&tokens[i].as_str());
            if !angled {
                return (tokens[i].clone(), 1);
            }
            let close = tokens[i..].iter().position(|token| token == ">").expect("a type ends");
            match (tokens[i].as_str(), tokens[i + 2].as_str()) {
                ("array", _) => (format!("[{}]", tokens[i + 4]), close + 1),
                (word, "i32") => (format!("i{word}"), close + 1),
                (word, _) => (word.to_owned(), close + 1),
            }
        };
        while i < tokens.len() {
            match tokens[i].as_str() {
                "let" | "var" => i += 1,
                ":" | "-" if tokens[i] == ":" || tokens[i + 1] == ">" => {
                    i += if tokens[i] == ":" { 1 } else { 2 };
                    let (name, used) = named(i);
                    if name.starts_with('[') {
                        out.extend(self::tokens(&name));
                    }
                    i += used;
                }
                _ => {
                    let (name, used) = named(i);
                    out.push(match name.as_str() {
                        "f32" => "float".to_owned(),
                        "u32" => "uint".to_owned(),
                        "dpdx" => "dFdx".to_owned(),
                        "dpdy" => "dFdy".to_owned(),
                        _ => name,
                    });
                    i += used;
                }
            }
        }
        without_last_commas(out)
    };
    let found = functions(text, |tokens| tokens[0] == "fn");
    found.into_iter().map(|(name, tokens)| (name, plain(&tokens))).collect()
}

/// GLSL without its types.
fn glsl(text: &str) -> BTreeMap<String, Vec<String>> {
    let is_type = |token: &String| TYPES.contains(&token.as_str());
    let is_word = |token: &String| token.chars().next().is_some_and(|c| c.is_alphabetic() || c == '_');
    let plain = |tokens: &[String]| {
        let next = |i: usize| tokens.get(i + 1).is_some_and(is_word);
        let kept = tokens.iter().enumerate().filter(|(i, token)| !(is_type(token) && next(*i)));
        without_last_commas(kept.map(|(_, token)| token.clone()).collect())
    };
    let begins = |tokens: &[String]| is_type(&tokens[0]) && is_word(&tokens[1]) && tokens[2] == "(";
    functions(text, begins).into_iter().map(|(name, tokens)| (name, plain(&tokens))).collect()
}

/// Lists without a comma behind the last of them.
fn without_last_commas(tokens: Vec<String>) -> Vec<String> {
    let closes = |i: usize| tokens.get(i + 1).is_some_and(|next| next == ")");
    let kept = tokens.iter().enumerate().filter(|(i, token)| !(*token == "," && closes(*i)));
    kept.map(|(_, token)| token.clone()).collect()
}

#[test]
fn functions_of_the_light_are_those_of_the_window() {
    let light = glsl(shop::share::LIGHT);
    for file in ["shaders/light.wgsl", "shaders/crumb.wgsl"] {
        let window = wgsl(&read(file));
        assert!(window.len() >= 5, "{file}: {:?}", window.keys());
        for (name, ours) in window {
            assert_eq!(light.get(&name), Some(&ours), "{name} of {file}");
        }
    }
    let (cake, shading) = (wgsl(&read("shaders/cake.wgsl")), glsl(&read("assets/share/shading.glsl")));
    assert_eq!(light["pixel_share"], cake["pixel_share"]);
    for name in ["smooth_surface", "tinted", "flakes", "relief", "icing_normal"] {
        assert_eq!(shading[name], cake[name], "{name}");
    }
}

/// What is read by the comparison above is not all left out: a number that is off is seen.
#[test]
fn another_number_would_be_seen() {
    let text = read("shaders/light.wgsl");
    let other = text.replacen("40.0, 3.2", "40.0, 3.1", 1);
    assert_ne!(text, other);
    assert_ne!(wgsl(&text)["reflected"], wgsl(&other)["reflected"]);
}

#[test]
fn numbers_of_the_light_are_those_of_the_window() {
    let page = [shop::share::LIGHT, &read("assets/share/shading.glsl")].concat();
    for (file, constants) in [
        ("shaders/light.wgsl", &["WARM", "SKY", "BOARD", "WALL", "TABLE"][..]),
        ("shaders/cake.wgsl", &["CUT_FLOOR", "GROUND_FLOOR", "FOOT_MM", "CRUST"][..]),
        ("shaders/crumb.wgsl", &["PORE", "LARGE_PORE", "FINE_PORE"]),
    ] {
        let window = read(file);
        for name in constants {
            let value = |text: &str, begin: &str| {
                let line = text.lines().find(|line| line.starts_with("const") && line.contains(begin));
                let line = line.unwrap_or_else(|| panic!("no {name} in {file}"));
                line.split_once('=').unwrap().1.trim().to_owned()
            };
            assert_eq!(value(&page, &format!(" {name} = ")), value(&window, &format!(" {name}: ")), "{name}");
        }
    }
    let (lamps, material) = (read("src/studio/lamps.rs"), read("src/studio/cake_material.rs"));
    let (page, viewer) = (read("src/shop/share/page.rs"), read("assets/share/viewer.js"));
    for (window, said, ours, told) in [
        (&lamps, "pub const LAMP: f64 = 0.68;", &page, "(\"lamp\", 0.68)"),
        (&lamps, "pub const CEILING: f64 = 0.48;", &page, "(\"ceiling\", 0.48)"),
        (&lamps, "pub const BOUNCE: f64 = 0.20;", &page, "(\"bounce\", 0.20)"),
        (&lamps, "LAMP_PLACE: (f64, f64) = (-38.0, 46.0);", &viewer, "direction(view.bearing - 38, 46)"),
        (&material, "reflectance: 0.045,", &page, "(\"reflectance\", 0.045)"),
        (&material, "{ 0.40 } else { 0.5 }", &page, "(\"icing\", 0.40),\n    (\"other\", 0.5)"),
    ] {
        assert!(window.contains(said), "the window no longer says {said}: change the page too");
        assert!(ours.contains(told), "the page does not say {told}");
    }
    let surface = read("src/studio/surface.rs");
    assert!(surface.contains("CREASE_DEGREES: f64 = 32.0;") && viewer.contains("(32 * Math.PI) / 180"));
}
