//! Random cakes, written out as cake files.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::fmt::Write;

use proptest::{prelude::*, test_runner::FileFailurePersistence};

/// A cake in figures, mm and degrees.
#[derive(Debug, Clone)]
pub struct Cake {
    pub profile: Vec<[f64; 2]>,
    pub coverings: Vec<f64>,
    pub filling: Option<f64>,
    pub layers: Vec<Layer>,
    pub details: Vec<Detail>,
    pub chord: f64,
}

#[derive(Debug, Clone)]
pub struct Layer {
    pub pan: Pan,
    pub height: f64,
    pub offset: [f64; 2],
    pub turn: f64,
}

#[derive(Debug, Clone)]
pub enum Pan {
    Round(f64),
    Square(f64),
    HalfBall { diameter: f64, down: bool },
}

/// A cut or an add of one of the tools.
#[derive(Debug, Clone)]
pub struct Detail {
    pub operation: &'static str,
    pub tool: Tool,
}

#[derive(Debug, Clone)]
pub enum Tool {
    Ball { centre: [f64; 3], diameter: f64 },
    Box { centre: [f64; 3], size: [f64; 3], turn: f64 },
    Cylinder { from: [f64; 3], to: [f64; 3], diameter: f64 },
}

impl Cake {
    /// The cake file.
    pub fn text(&self) -> String {
        let mut text = format!(
            "crumbline = 1\nname = \"random\"\naccuracy = {{ tool = {0}, preview = {0} }}\n\
             [shape.turned]\npoints = {1:?}\n",
            self.chord, self.profile
        );
        for (thickness, material) in self.coverings.iter().zip(["rolled icing", "ganache", "buttercream"]) {
            let _ = write!(text, "[[covering]]\nmaterial = \"{material}\"\nthickness = {thickness}\n");
        }
        text += "[[tier]]\nname = \"only\"\n";
        if let Some(thickness) = self.filling {
            let _ = writeln!(text, "filling = {{ material = \"jam\", thickness = {thickness} }}");
        }
        self.layers.iter().for_each(|layer| text += &layer.text());
        self.details.iter().enumerate().for_each(|(i, detail)| text += &detail.text(i));
        text
    }

    /// Every length times `k`.
    pub fn scaled(&self, k: f64) -> Self {
        Self {
            profile: self.profile.iter().map(|p| p.map(|x| x * k)).collect(),
            coverings: self.coverings.iter().map(|t| t * k).collect(),
            filling: self.filling.map(|t| t * k),
            layers: self.layers.iter().map(|layer| layer.scaled(k)).collect(),
            details: self
                .details
                .iter()
                .map(|detail| Detail { tool: detail.tool.scaled(k), ..detail.clone() })
                .collect(),
            chord: self.chord * k,
        }
    }

    /// Layers and details turned by `degrees` about the axis.
    pub fn turned(&self, degrees: f64) -> Self {
        let mut turned = self.clone();
        for layer in &mut turned.layers {
            layer.offset = about_axis(layer.offset, degrees);
            layer.turn += degrees;
        }
        for detail in &mut turned.details {
            detail.tool = detail.tool.turned(degrees);
        }
        turned
    }
}

fn about_axis([x, y]: [f64; 2], degrees: f64) -> [f64; 2] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    [x * cos - y * sin, x * sin + y * cos]
}

fn point_about_axis([x, y, z]: [f64; 3], degrees: f64) -> [f64; 3] {
    let [x, y] = about_axis([x, y], degrees);
    [x, y, z]
}

impl Layer {
    fn text(&self) -> String {
        let pan = match self.pan {
            Pan::Round(diameter) => format!("round = {diameter}"),
            Pan::Square(side) => format!("square = {side}"),
            Pan::HalfBall { diameter, down: false } => format!("half_ball = {diameter}"),
            Pan::HalfBall { diameter, down: true } => format!("half_ball = {diameter}, dome = \"down\""),
        };
        format!(
            "[[tier.layer]]\npan = {{ {pan} }}\nheight = {}\noffset = {:?}\nturn = {}\n",
            self.height, self.offset, self.turn
        )
    }

    fn scaled(&self, k: f64) -> Self {
        let pan = match self.pan {
            Pan::Round(diameter) => Pan::Round(diameter * k),
            Pan::Square(side) => Pan::Square(side * k),
            Pan::HalfBall { diameter, down } => Pan::HalfBall { diameter: diameter * k, down },
        };
        Self { pan, height: self.height * k, offset: self.offset.map(|x| x * k), turn: self.turn }
    }
}

impl Detail {
    fn text(&self, i: usize) -> String {
        let tool = match &self.tool {
            Tool::Ball { centre, diameter } => {
                format!("ball = {{ centre = {centre:?}, diameter = {diameter} }}")
            }
            Tool::Box { centre, size, turn } => {
                format!("box = {{ centre = {centre:?}, size = {size:?}, turn = {turn} }}")
            }
            Tool::Cylinder { from, to, diameter } => {
                format!("cylinder = {{ from = {from:?}, to = {to:?}, diameter = {diameter} }}")
            }
        };
        format!("[[detail]]\nname = \"detail {i}\"\n{}\n{tool}\n", self.operation)
    }
}

impl Tool {
    fn scaled(&self, k: f64) -> Self {
        let by = |p: &[f64; 3]| p.map(|x| x * k);
        match self {
            Self::Ball { centre, diameter } => Self::Ball { centre: by(centre), diameter: diameter * k },
            Self::Box { centre, size, turn } => Self::Box { centre: by(centre), size: by(size), turn: *turn },
            Self::Cylinder { from, to, diameter } => {
                Self::Cylinder { from: by(from), to: by(to), diameter: diameter * k }
            }
        }
    }

    fn turned(&self, degrees: f64) -> Self {
        let about = |p: &[f64; 3]| point_about_axis(*p, degrees);
        match self {
            Self::Ball { centre, diameter } => Self::Ball { centre: about(centre), diameter: *diameter },
            Self::Box { centre, size, turn } => {
                Self::Box { centre: about(centre), size: *size, turn: turn + degrees }
            }
            Self::Cylinder { from, to, diameter } => {
                Self::Cylinder { from: about(from), to: about(to), diameter: *diameter }
            }
        }
    }
}

/// Radii between 45 and 150 mm over rising heights: belly, waist and overhang, never crossing.
fn any_profile() -> impl Strategy<Value = Vec<[f64; 2]>> {
    prop::collection::vec((45.0..150.0f64, 15.0..70.0f64), 2..6).prop_map(|steps| {
        let mut height = 0.0;
        let mut profile = Vec::new();
        for (radius, rise) in steps {
            profile.push([radius, height]);
            height += rise;
        }
        profile
    })
}

fn any_layer(off_axis: bool) -> impl Strategy<Value = Layer> {
    let pan = if off_axis {
        prop_oneof![
            3 => (80.0..340.0f64).prop_map(Pan::Round),
            2 => (80.0..300.0f64).prop_map(Pan::Square),
            1 => (130.0..300.0f64, any::<bool>()).prop_map(|(diameter, down)| Pan::HalfBall { diameter, down }),
        ]
        .boxed()
    } else {
        prop_oneof![
            3 => (80.0..340.0f64).prop_map(Pan::Round),
            1 => (130.0..300.0f64, any::<bool>()).prop_map(|(diameter, down)| Pan::HalfBall { diameter, down }),
        ]
        .boxed()
    };
    let aside =
        prop_oneof![2 => Just([0.0, 0.0]), 1 => (-40.0..40.0f64, -40.0..40.0f64).prop_map(|(x, y)| [x, y])];
    let turn = prop_oneof![1 => Just(0.0), 1 => -180.0..180.0f64];
    (pan, 12.0..60.0f64, aside, turn).prop_map(move |(pan, height, offset, turn)| Layer {
        pan,
        height,
        offset: if off_axis { offset } else { [0.0, 0.0] },
        turn: if off_axis { turn } else { 0.0 },
    })
}

fn any_trim() -> impl Strategy<Value = Detail> {
    let place = || (-120.0..120.0f64, -120.0..120.0f64, 0.0..150.0f64).prop_map(|(x, y, z)| [x, y, z]);
    let tool = prop_oneof![
        (place(), 20.0..120.0f64).prop_map(|(centre, diameter)| Tool::Ball { centre, diameter }),
        (place(), [20.0..90.0f64, 20.0..90.0, 20.0..90.0], 0.0..90.0f64)
            .prop_map(|(centre, size, turn)| Tool::Box { centre, size, turn }),
        (place(), place(), 10.0..60.0f64)
            .prop_filter("the ends differ", |(from, to, _)| (from[2] - to[2]).abs() > 1.0)
            .prop_map(|(from, to, diameter)| Tool::Cylinder { from, to, diameter }),
    ];
    let operation = prop::sample::select(vec![
        "cut = \"sponge\"",
        "cut = \"sponge\"",
        "add = \"sponge\"",
        "cut = \"coating\"",
        "cut = \"icing\"",
        "add = \"icing\"",
    ]);
    (operation, tool).prop_map(|(operation, tool)| Detail { operation, tool })
}

fn cake(off_axis: bool, details: usize) -> impl Strategy<Value = Cake> {
    (
        any_profile(),
        prop::collection::vec(1.0..8.0f64, 0..3),
        prop::option::of(0.5..8.0f64),
        prop::collection::vec(any_layer(off_axis), 1..5),
        prop::collection::vec(any_trim(), 0..=details),
        prop::sample::select(vec![0.1, 0.4]),
    )
        .prop_map(|(profile, coverings, filling, layers, details, chord)| Cake {
            profile,
            coverings,
            filling,
            layers,
            details,
            chord,
        })
}

/// Layers on and off the axis, round, square and half-balls; up to three details.
pub fn any_cake() -> impl Strategy<Value = Cake> {
    cake(true, 3)
}

/// Everything on the axis and round, without details.
pub fn round_cake() -> impl Strategy<Value = Cake> {
    cake(false, 0)
}

/// Few cases, since each is a whole cake; `PROPTEST_CASES` asks for more.
pub fn config() -> ProptestConfig {
    let default = ProptestConfig::default();
    let asked = std::env::var_os("PROPTEST_CASES").is_some();
    let seeds = FileFailurePersistence::WithSource("proptest-regressions");
    ProptestConfig {
        cases: if asked { default.cases } else { 24 },
        failure_persistence: Some(Box::new(seeds)),
        ..default
    }
}
