//! What can be found.

use std::fmt;

use crate::support::CheckCode;

/// What kind of thing was found: one stable name for programs each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FindingCode {
    /// A remark on the cake file.
    CakeFile,
    /// An even coat does not reach the finished line.
    DetailLost,
    /// A part is thinner than the coats on both its sides.
    ThinPart,
    /// Nothing of the cake is left after carving.
    NothingKept,
    /// A layer is too small for the carved shape.
    Shortfall,
    /// A layer has little sponge to spare at its side.
    LittleSpare,
    /// Nothing of a layer is left after carving.
    AllOffcut,
    /// A board sticks out of the carved line.
    BoardTooWide,
    /// A board has no hole that the centre dowel goes through.
    BoardWithoutHole,
    /// What is carved of a layer hangs over what carries it.
    Overhang,
    /// A layer hangs over what carries it until it is carved.
    RawOverhang,
    /// A layer hangs above what it is to lie on.
    Gap,
    /// Two layers overlap.
    Overlap,
    /// Joins between pieces lie over joins of the layer below.
    JoinsInLine,
    /// The stack ends below the top of the carved shape.
    TooLow,
    /// No layer reaches some height of the carved shape.
    NoCake,
    /// A dowel comes out of the carved line.
    DowelComesOut,
    /// A dowel lies near the carved line.
    DowelNearSurface,
    /// Nothing holds the foot of the centre dowel.
    CentreDowelNotHeld,
    /// A name has letters that pages cannot print.
    LettersLacking,
    /// A cut does not meet the shape.
    CutMisses,
    /// An add does not touch the shape.
    AddFloats,
    /// Nothing of an add comes out of the shape.
    AddInside,
    /// Places of one detail overlap each other.
    CopiesOverlap,
    /// A roll lies nowhere: there is no such edge.
    RollNowhere,
    /// A roll would lie in itself.
    RollTooThick,
    /// A roll is thinner than can be rolled by hand.
    RollTooThin,
    /// A roll would reach into the board.
    RollInBoard,
    /// Nothing is left of an add once the coverings over it are taken off.
    NothingToBuild,
    /// Letters have strokes too thin to be cut or pressed.
    LettersThin,
    /// A detail is pressed deeper than what it is pressed into.
    PressedThrough,
    /// A detail belongs to a covering that the cake does not have.
    NoSuchCovering,
    /// A zone of a covering lies nowhere on the cake.
    ZoneNowhere,
    /// Later zones lie over all of a zone.
    ZoneHidden,
    /// Two zones share heights.
    ZonesOverlap,
    /// A narrow strip is left between zones.
    ZoneGap,
    /// Nobody sees what is painted or dusted on.
    FinishUnseen,
    /// Rolled icing cannot be laid as the cake file asks.
    IcingWay,
    /// A check of the support estimate does not hold as it ought to.
    Support(CheckCode),
}

impl FindingCode {
    /// Every one that is not of the support check.
    pub const ALL: [Self; 38] = [
        Self::CakeFile,
        Self::DetailLost,
        Self::ThinPart,
        Self::NothingKept,
        Self::Shortfall,
        Self::LittleSpare,
        Self::AllOffcut,
        Self::BoardTooWide,
        Self::BoardWithoutHole,
        Self::Overhang,
        Self::RawOverhang,
        Self::Gap,
        Self::Overlap,
        Self::JoinsInLine,
        Self::TooLow,
        Self::NoCake,
        Self::DowelComesOut,
        Self::DowelNearSurface,
        Self::CentreDowelNotHeld,
        Self::LettersLacking,
        Self::CutMisses,
        Self::AddFloats,
        Self::AddInside,
        Self::CopiesOverlap,
        Self::RollNowhere,
        Self::RollTooThick,
        Self::RollTooThin,
        Self::RollInBoard,
        Self::NothingToBuild,
        Self::LettersThin,
        Self::PressedThrough,
        Self::NoSuchCovering,
        Self::ZoneNowhere,
        Self::ZoneHidden,
        Self::ZonesOverlap,
        Self::ZoneGap,
        Self::FinishUnseen,
        Self::IcingWay,
    ];

    /// Whether it comes of the stack and would not be found with another one for the same shape.
    pub fn is_of_stack(self) -> bool {
        match self {
            Self::Shortfall
            | Self::LittleSpare
            | Self::AllOffcut
            | Self::BoardTooWide
            | Self::BoardWithoutHole
            | Self::Overhang
            | Self::RawOverhang
            | Self::Gap
            | Self::Overlap
            | Self::JoinsInLine
            | Self::TooLow
            | Self::NoCake
            | Self::DowelComesOut
            | Self::DowelNearSurface => true,
            Self::Support(check) => check.is_of_stack(),
            _ => false,
        }
    }

    /// Its name in files, which never changes.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::CakeFile => "cake-file",
            Self::DetailLost => "detail-lost",
            Self::ThinPart => "thin-part",
            Self::NothingKept => "nothing-kept",
            Self::Shortfall => "shortfall",
            Self::LittleSpare => "little-spare",
            Self::AllOffcut => "all-offcut",
            Self::BoardTooWide => "board-too-wide",
            Self::BoardWithoutHole => "board-without-hole",
            Self::Overhang => "overhang",
            Self::RawOverhang => "raw-overhang",
            Self::Gap => "gap",
            Self::Overlap => "overlap",
            Self::JoinsInLine => "joins-in-line",
            Self::TooLow => "too-low",
            Self::NoCake => "no-cake",
            Self::DowelComesOut => "dowel-comes-out",
            Self::DowelNearSurface => "dowel-near-surface",
            Self::CentreDowelNotHeld => "centre-dowel-not-held",
            Self::LettersLacking => "letters-lacking",
            Self::CutMisses => "cut-misses",
            Self::AddFloats => "add-floats",
            Self::AddInside => "add-inside",
            Self::CopiesOverlap => "copies-overlap",
            Self::RollNowhere => "roll-nowhere",
            Self::RollTooThick => "roll-too-thick",
            Self::RollTooThin => "roll-too-thin",
            Self::RollInBoard => "roll-in-board",
            Self::NothingToBuild => "nothing-to-build",
            Self::LettersThin => "letters-thin",
            Self::PressedThrough => "pressed-through",
            Self::NoSuchCovering => "no-such-covering",
            Self::ZoneNowhere => "zone-nowhere",
            Self::ZoneHidden => "zone-hidden",
            Self::ZonesOverlap => "zones-overlap",
            Self::ZoneGap => "zone-gap",
            Self::FinishUnseen => "finish-unseen",
            Self::IcingWay => "icing-way",
            Self::Support(check) => check.as_str(),
        }
    }
}

impl fmt::Display for FindingCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl serde::Serialize for FindingCode {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.as_str())
    }
}
