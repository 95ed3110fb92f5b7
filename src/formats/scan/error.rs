//! What can be wrong with a model, and how to fix it.

use std::io;

use glam::DVec3;

use crate::export::stl::StlError;
use geom::real;

/// An opening in a model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Middle of its rim in the model's own coordinates.
    pub in_model: DVec3,
    /// Middle of its rim on the cake, mm.
    pub on_cake: DVec3,
    /// Length of its rim on the cake, mm.
    pub rim: f64,
}

/// Why a model cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum ScanError {
    /// The name of the file ends in something unknown.
    #[error("its name does not end in .stl, .obj, .3mf, .gltf or .glb")]
    UnknownFormat,
    /// The STL reader's complaint.
    #[error(transparent)]
    Stl(#[from] StlError),
    /// A line of text is wrong.
    #[error("line {number}: {problem}")]
    Line {
        /// Its number, from 1.
        number: usize,
        /// What is wrong.
        problem: String,
    },
    /// The file cannot be understood.
    #[error("this is no whole {format} file: {problem}")]
    Damaged {
        /// The format that it should have.
        format: &'static str,
        /// What is wrong.
        problem: String,
    },
    /// A surface takes its look from a material that is not there.
    #[error("{} of object {object} takes its looks from material {look}, which is not in the file", .triangle.map_or("the whole".into(), |number| format!("triangle {number}")))]
    NoLook {
        /// Number of the material, or of the group of materials or colours.
        look: usize,
        /// The object that names it.
        object: usize,
        /// Which triangle of that, from 1; `None` if the object does for all.
        triangle: Option<usize>,
    },
    /// Its shape is written in a way that is not read.
    #[error("its shape is written with the extension \"{name}\", which is not read")]
    NeedsExtension {
        /// The name of the extension.
        name: String,
    },
    /// The file swells when it is unpacked.
    #[error("unpacked it comes to more than {} MB, which no model needs", most >> 20)]
    Swells {
        /// The most that is unpacked, bytes.
        most: u64,
    },
    /// A name leads out of the folder.
    #[error("it names \"{name}\", which does not lie beside it")]
    Elsewhere {
        /// The name.
        name: String,
    },
    /// A file that belongs to the model cannot be read.
    #[error("it needs \"{name}\" beside it")]
    Beside {
        /// The name.
        name: String,
        /// What the system said.
        source: io::Error,
    },
    /// There is no surface.
    #[error("it holds no surface")]
    Empty,
    /// There is too much of it.
    #[error("it holds {triangles} triangles")]
    TooMany {
        /// How many.
        triangles: usize,
    },
    /// A corner is no finite point, or lies beyond all measure.
    #[error("a corner lies at {}, {}, {}", at.x, at.y, at.z)]
    FarOff {
        /// Where, in the model's own coordinates.
        at: DVec3,
    },
    /// The format has no unit, and none is given.
    #[error("its format has no unit: at 1 unit = 1 mm it would be {} mm tall{}", short(*height), which(likely))]
    NeedsUnit {
        /// Its height in its own units.
        height: f64,
        /// The units that would make it a cake, each with its height then, mm.
        likely: Vec<(&'static str, f64)>,
    },
    /// No cake is so large or so small.
    #[error("it would be {} mm tall, which is no size for a cake{}", short(*height), which(likely))]
    NoCakesSize {
        /// Its height, mm.
        height: f64,
        /// The units that would make it a cake, each with its height then, mm.
        likely: Vec<(&'static str, f64)>,
    },
    /// All corners are in one plane, or there is nothing upright.
    #[error("it is flat: it has no height")]
    Flat,
    /// The front looks the way that is up.
    #[error("the front cannot look the way that is up")]
    FrontIsUp,
    /// What is cut off at the bottom is all of it.
    #[error("nothing of it is left when {} mm are cut off at its bottom", short(*sink))]
    SunkAltogether {
        /// How deep it sinks, mm.
        sink: f64,
    },
    /// Holes that are too large to be closed without knowing what belongs there.
    #[error("{}", holes_named(holes))]
    Holes {
        /// Every hole left, the largest first.
        holes: Vec<Hole>,
        /// Longest rim that is closed, mm.
        longest: f64,
    },
    /// A surface with just one side.
    #[error("its surface near {} has no inside: it is twisted like a Möbius strip", place(*at))]
    OneSided {
        /// Where, on the cake, mm.
        at: DVec3,
    },
    /// Its surfaces cross in too many places.
    #[error(
        "its surfaces cross each other or themselves in more places than are worked on, the first {} (in the model {}, {}, {})",
        place(*on_cake),
        short(in_model.x),
        short(in_model.y),
        short(in_model.z)
    )]
    Crosses {
        /// Where one is, in the model's own coordinates.
        in_model: DVec3,
        /// The same on the cake, mm.
        on_cake: DVec3,
    },
    /// Too many triangles lie beside each other.
    #[error(
        "too many of its triangles lie beside each other to be checked, most of them {} (in the model {}, {}, {})",
        place(*on_cake),
        short(in_model.x),
        short(in_model.y),
        short(in_model.z)
    )]
    Thin {
        /// The vertex that most triangles share, in the model's own coordinates.
        in_model: DVec3,
        /// The same on the cake, mm.
        on_cake: DVec3,
    },
    /// The work was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] geom::Cancelled),
    /// It bounds no solid.
    #[error("no solid can be made of it: {problem}")]
    NoSolid {
        /// What is wrong.
        problem: String,
    },
    /// It stands on a point or an edge.
    #[error("it has no foot to stand on: it only touches the board")]
    NoFoot {
        /// How deep it should sink so that it has one, mm.
        sink: f64,
    },
}

impl ScanError {
    /// How to fix it.
    pub fn fix(&self) -> String {
        match self {
            Self::UnknownFormat => "export the model as STL, OBJ, 3MF or glTF".into(),
            Self::Stl(_) => "ask for the file again, or open it in a mesh program and export it anew".into(),
            Self::Line { .. } => "correct the line, or export the model again, in triangles".into(),
            Self::NoLook { .. } => {
                "export it again without materials and colours, which are not read, or as binary STL".into()
            }
            Self::Damaged { .. } => "copy the file again, or export the model as binary STL".into(),
            Self::Swells { .. } => "do not trust this file; ask for the model as binary STL".into(),
            Self::NeedsExtension { .. } => {
                "export it again without compression (and without instances), or as binary STL".into()
            }
            Self::Elsewhere { .. } => {
                "put the file that it names into its folder, or export the model as one file (.glb)".into()
            }
            Self::Beside { .. } => "put that file beside it, or export the model as one file (.glb)".into(),
            Self::Empty => "export it again with the whole model chosen, as a mesh".into(),
            Self::TooMany { .. } => "make it coarser: a cake shows no more than a million".into(),
            Self::FarOff { .. } => "move the model near its origin and export it again".into(),
            Self::NeedsUnit { likely, .. } | Self::NoCakesSize { likely, .. } => {
                let tall = "give the height it is to have, as height = \"20 cm\"";
                let unit = |(unit, _): &(&str, f64)| format!("unit = \"{unit}\"");
                match &likely.iter().map(unit).collect::<Vec<_>>()[..] {
                    [] => tall.into(),
                    [one] => format!("{tall}, or its unit: that would fit {one}"),
                    several => format!("{tall}, or its unit: one of {}", several.join(", ")),
                }
            }
            Self::Flat => "check which axis is up, and that the model is solid".into(),
            Self::FrontIsUp => "give front an axis that lies level".into(),
            Self::SunkAltogether { .. } => "make cut_bottom smaller".into(),
            Self::Holes { longest, .. } => format!(
                "close them in a mesh program, or let larger ones be filled flat: fill = (now {} mm)",
                short(*longest)
            ),
            Self::OneSided { .. } => "cut the surface there in a mesh program and close it as a solid".into(),
            Self::Crosses { .. } => {
                "join its parts into one solid in a mesh program (union, or remesh), or make it coarser"
                    .into()
            }
            Self::Thin { .. } => {
                "remesh it in a mesh program, with triangles about as long as wide, or make it coarser".into()
            }
            Self::Cancelled(_) => "plan it again".into(),
            Self::NoSolid { .. } => "repair it in a mesh program and export it again".into(),
            Self::NoFoot { sink } => {
                format!("cut a slice off below, so that it has a foot: cut_bottom = \"{} mm\"", short(*sink))
            }
        }
    }
}

/// The question which unit is meant, with the height in each; nothing where no unit makes a cake of it.
fn which(likely: &[(&'static str, f64)]) -> String {
    let named = |(unit, mm): &(&str, f64)| {
        let tall = if *mm < 1000.0 {
            format!("{} cm", short(mm / 10.0))
        } else {
            format!("{} m", short(mm / 1000.0))
        };
        format!("{tall} (unit = \"{unit}\")")
    };
    match &likely.iter().map(named).collect::<Vec<_>>()[..] {
        [] => String::new(),
        [one] => format!(", or {one}"),
        [first @ .., last] => format!(", or {} or {last}: which?", first.join(", ")),
    }
}

/// How many holes are named one by one.
const NAMED: usize = 3;

fn holes_named(holes: &[Hole]) -> String {
    let one = |hole: &Hole| {
        format!(
            "near {} (in the model {}, {}, {}), {} mm round",
            place(hole.on_cake),
            short(hole.in_model.x),
            short(hole.in_model.y),
            short(hole.in_model.z),
            short(hole.rim)
        )
    };
    let named: Vec<String> = holes.iter().take(NAMED).map(one).collect();
    let more = holes.len().saturating_sub(NAMED);
    let rest = if more == 0 { String::new() } else { format!("; and {more} more") };
    match holes.len() {
        1 => format!("it has a hole {}", named.join("; ")),
        count => format!("it has {count} holes: {}{rest}", named.join("; ")),
    }
}

/// A place on the cake, in words.
pub fn place(p: DVec3) -> String {
    let side = |value: f64, plus: &str, minus: &str| match value {
        v if v.abs() < 0.5 => None,
        v => Some(format!("{} mm {}", v.abs().round(), if v > 0.0 { plus } else { minus })),
    };
    let level = [side(p.x, "right", "left"), side(p.y, "back", "front")];
    let level: Vec<String> = level.into_iter().flatten().collect();
    let level = if level.is_empty() { "the middle".to_owned() } else { level.join(", ") };
    format!("{level}, {} mm up", p.z.round() + 0.0)
}

/// A number with three digits that count.
pub(super) fn short(x: f64) -> String {
    if x == 0.0 || !x.is_finite() {
        return format!("{x}");
    }
    let digits = (2 - real::log10(x.abs()).floor() as i32).clamp(0, 12) as usize;
    let text = format!("{x:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}
