//! The examples that come with the program, to look at and to begin from.

/// A cake that can be begun from.
#[derive(Debug, Clone, Copy)]
pub struct Example {
    /// What it is called.
    pub name: &'static str,
    /// What it shows, in a sentence.
    pub help: &'static str,
    /// The name of its file.
    pub file: &'static str,
    /// Its text.
    pub text: &'static str,
    /// The files that it names, with their bytes.
    pub beside: &'static [(&'static str, &'static [u8])],
}

macro_rules! example_file {
    ($folder:literal, $file:literal) => {
        include_bytes!(concat!("../../../assets/examples/", $folder, "/", $file))
    };
}

macro_rules! example_text {
    ($folder:literal) => {
        include_str!(concat!("../../../assets/examples/", $folder, "/", $folder, ".cake.toml"))
    };
}

/// All of them.
pub const EXAMPLES: &[Example] = &[
    Example {
        name: "Toadstool house",
        help: "A round shape of two tiers with a door, windows, a chimney and spots.",
        file: "toadstool-house.cake.toml",
        text: example_text!("toadstool-house"),
        beside: &[("details.svg", example_file!("toadstool-house", "details.svg"))],
    },
    Example {
        name: "Garden urn",
        help: "A round shape with a narrow foot, in inches.",
        file: "garden-urn.cake.toml",
        text: example_text!("garden-urn"),
        beside: &[],
    },
    Example {
        name: "Lopsided bell",
        help: "A round shape of which a slice is cut off.",
        file: "lopsided-bell.cake.toml",
        text: example_text!("lopsided-bell"),
        beside: &[],
    },
    Example {
        name: "Pebble lantern",
        help: "A round shape from a photographed template.",
        file: "pebble-lantern.cake.toml",
        text: example_text!("pebble-lantern"),
        beside: &[("template.png", example_file!("pebble-lantern", "template.png"))],
    },
    Example {
        name: "Planter pot",
        help: "Icing in three colours, a rolled rim, and petals that are written once.",
        file: "planter-pot.cake.toml",
        text: example_text!("planter-pot"),
        beside: &[],
    },
    Example {
        name: "Sitting hen",
        help: "A front and a side drawing, crossed.",
        file: "sitting-hen.cake.toml",
        text: example_text!("sitting-hen"),
        beside: &[("hen.svg", example_file!("sitting-hen", "hen.svg"))],
    },
    Example {
        name: "Boulder",
        help: "A model from a scanner.",
        file: "boulder.cake.toml",
        text: example_text!("boulder"),
        beside: &[("boulder.stl", example_file!("boulder", "boulder.stl"))],
    },
];

#[cfg(test)]
mod tests {
    use super::*;
    use cakefile::CakeFile;

    #[test]
    fn the_files_that_an_example_names_come_with_it() {
        for example in EXAMPLES {
            let reading = CakeFile::from_text(example.file, "", example.text).parse();
            assert!(!reading.has_errors(), "{}: {:?}", example.name, reading.problems);
            let named = example.text.lines().filter_map(|line| {
                let at = line.find("file = \"")? + "file = \"".len();
                line[at..].split('"').next()
            });
            for name in named {
                assert!(example.beside.iter().any(|(file, _)| *file == name), "{}: {name}", example.name);
            }
        }
    }
}
