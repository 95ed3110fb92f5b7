//! The rules that verdicts follow, each with where it comes from.

/// How well a rule is founded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// A formula or figure of a handbook, a standard or a paper.
    Published,
    /// The same, quoted from memory.
    FromMemory,
    /// Common practice, no source.
    CommonPractice,
}

/// A rule of the check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// Tilted until the centre of mass stands plumb over the edge.
    Tipping,
    /// Load over sponge against the pressure that collapses it.
    SpongePressure,
    /// Sponge that reaches past what holds it.
    SpongeOverhang,
    /// Crushing, buckling and wrinkling of a dowel.
    Strut,
    /// Load shared by a stiff board.
    Sharing,
    /// A dowel's end on a board.
    Denting,
    /// A dowel through a board.
    Punching,
    /// Bending of a board.
    BoardBending,
    /// Sag of a board.
    BoardSag,
    /// How many dowels.
    DowelCount,
    /// A board for so much height.
    BoardSpacing,
    /// Dowels reach what they are to carry.
    DowelFit,
    /// Side force on square-cut dowels and sponge.
    SideForce,
    /// Side force on the centre dowel.
    CentreDowel,
    /// Friction under the board.
    Sliding,
    /// Layers slide on soft fillings.
    SoftFilling,
    /// A filling squeezed out by the weight on it.
    Squeezing,
    /// A coat slumps down the side.
    Slumping,
    /// How warm the room is.
    Room,
    /// Weight to carry.
    Lifting,
    /// Sharp things and small children.
    SharpThings,
    /// What nothing is known about.
    Unknown,
}

impl Rule {
    /// Every one.
    pub const ALL: [Self; 22] = [
        Self::Tipping,
        Self::SpongePressure,
        Self::SpongeOverhang,
        Self::Strut,
        Self::Sharing,
        Self::Denting,
        Self::Punching,
        Self::BoardBending,
        Self::BoardSag,
        Self::DowelCount,
        Self::BoardSpacing,
        Self::DowelFit,
        Self::SideForce,
        Self::CentreDowel,
        Self::Sliding,
        Self::SoftFilling,
        Self::Squeezing,
        Self::Slumping,
        Self::Room,
        Self::Lifting,
        Self::SharpThings,
        Self::Unknown,
    ];

    /// Its name in files, which never changes.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Tipping => "tipping",
            Self::SpongePressure => "sponge-pressure",
            Self::SpongeOverhang => "sponge-overhang",
            Self::Strut => "strut",
            Self::Sharing => "sharing",
            Self::Denting => "denting",
            Self::Punching => "punching",
            Self::BoardBending => "board-bending",
            Self::BoardSag => "board-sag",
            Self::DowelCount => "dowel-count",
            Self::BoardSpacing => "board-spacing",
            Self::DowelFit => "dowel-fit",
            Self::SideForce => "side-force",
            Self::CentreDowel => "centre-dowel",
            Self::Sliding => "sliding",
            Self::SoftFilling => "soft-filling",
            Self::Squeezing => "squeezing",
            Self::Slumping => "slumping",
            Self::Room => "room",
            Self::Lifting => "lifting",
            Self::SharpThings => "sharp-things",
            Self::Unknown => "unknown",
        }
    }

    /// What it says.
    pub fn says(self) -> &'static str {
        match self {
            Self::Tipping => "tips where tan θ = edge distance / height of the centre of mass",
            Self::SpongePressure => "weight / area against half of the pressure that collapses sponge",
            Self::SpongeOverhang => "cantilever: σ = 6 M / h² against half of what tears sponge",
            Self::Strut => {
                "least of crushing, elastic or short-column buckling and, for tubes, wrinkling of the wall"
            }
            Self::Sharing => "stiff board on equal springs; one dowel slightly short",
            Self::Denting => "push / area of the dowel's end against what dents the board",
            Self::Punching => "push / (π d t) against the board's shear strength",
            Self::BoardBending => "thin plate on points: σ = 6 M / t²",
            Self::BoardSag => "thin plate on points, sag at most 1/150 of the board's width",
            Self::DowelCount => "three dowels up to 6 in, four up to 10 in, five up to 14 in, six beyond",
            Self::BoardSpacing => "a board with its own dowels at least every 150 mm (6 in) of height",
            Self::DowelFit => "cut to the height of the board, inside its outline, foot on a board",
            Self::SideForce => {
                "square-cut dowels right themselves up to d / L of their load, cake holds each with p d L / 2"
            }
            Self::CentreDowel => "cantilever: M = Σ H z, σ = M / (π d³ / 32)",
            Self::Sliding => "slides where a / g is more than the friction: 0.6 on a mat, 0.3 without",
            Self::SoftFilling => "mass × a / area against what the filling holds without slipping",
            Self::Squeezing => "plastic squeeze flow: p = 2 τ R / (3 h)",
            Self::Slumping => "ρ g t against what the coat holds at that warmth",
            Self::Room => "warmer than the stated limit",
            Self::Lifting => "two people from the stated weight on",
            Self::SharpThings => "nothing sharp where small children eat",
            Self::Unknown => "no figure is known",
        }
    }

    /// Whether what holds is a strength, of which a margin is told as "2 ×"; counts, weights, warmth, angles and sizes
    /// are told as they are.
    pub fn is_strength(self) -> bool {
        matches!(
            self,
            Self::SpongePressure
                | Self::SpongeOverhang
                | Self::Strut
                | Self::Sharing
                | Self::Denting
                | Self::Punching
                | Self::BoardBending
                | Self::CentreDowel
                | Self::SoftFilling
                | Self::Squeezing
                | Self::Slumping
        )
    }

    /// Where it comes from.
    pub fn source(self) -> &'static str {
        match self {
            Self::Tipping => "statics, any handbook",
            Self::SpongePressure => {
                "statics; collapse of sponge: no published figure found, 2 kPa is a guess on the low side"
            }
            Self::SpongeOverhang => {
                "beam formula, any handbook; tearing of sponge: a guess, half of collapse"
            }
            Self::Strut => {
                "Mechanics of Materials, chapter on columns, any edition; NASA SP-8007; Wood Handbook"
            }
            Self::Sharing => "bolt group, any handbook; the short dowel: common practice",
            Self::Denting | Self::Punching => "stress on an area; strengths of boards: common practice",
            Self::BoardBending => "Theory of Plates and Shells, 2nd edition",
            Self::BoardSag => "the same; the limit: common practice",
            Self::DowelCount => {
                "between shop guides (four, five if larger) and tiered-cake guides (six up to 10 in, eight from 16 in)"
            }
            Self::BoardSpacing => "common practice in the trade: 4 to 6 in",
            Self::DowelFit => "tiered-cake construction guides: all cut to one mark, inside the tier above",
            Self::SideForce => "statics of a stiff pole on its foot; half of the guessed collapse of sponge",
            Self::CentreDowel => "beam formula, any handbook; Wood Handbook",
            Self::Sliding => "EN 12195-1, annex B: 0.6 for anti-slip mats; 0.3: common practice",
            Self::SoftFilling => "statics; strengths of fillings: common practice",
            Self::Squeezing => {
                "Use of the parallel-plate plastometer for the characterisation of viscous fluids with a yield stress, J. Non-Newtonian Fluid Mech. 8 (1981)"
            }
            Self::Slumping => "statics; strengths of coats: common practice",
            Self::Room => {
                "common practice: buttercream softens from 24 °C, butter is liquid from 32 to 35 °C"
            }
            Self::Lifting => "HSE INDG143 lifting filter, arms reached out at waist height",
            Self::SharpThings => "common practice; local food codes decide",
            Self::Unknown => "none",
        }
    }

    /// How well it is founded.
    pub fn basis(self) -> Basis {
        match self {
            Self::Tipping | Self::Strut | Self::BoardBending | Self::CentreDowel | Self::Sharing => {
                Basis::Published
            }
            Self::Sliding | Self::Squeezing | Self::Lifting => Basis::FromMemory,
            _ => Basis::CommonPractice,
        }
    }
}
