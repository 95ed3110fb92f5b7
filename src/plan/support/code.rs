//! What can be checked.

/// What was checked: one stable name for programs each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CheckCode {
    /// A part tips over at too small a tilt.
    Tips,
    /// A part falls over by itself.
    Topples,
    /// The stack tips while one side is carved and the other is not.
    LeansWhileCarved,
    /// Sponge is squashed by what stands on it.
    SpongePressed,
    /// Sponge reaches too far past what holds it.
    SpongeOverhangs,
    /// Too much height without a board between.
    BoardsFarApart,
    /// Dowels end below the board that they are to carry.
    DowelTooShort,
    /// Dowels end above the board that they are to carry.
    DowelTooLong,
    /// Dowels stand outside the board that they are to carry.
    DowelOutsideBoard,
    /// The foot of a dowel stands on sponge.
    DowelOnSponge,
    /// Dowels carry nothing, as there is no board on them.
    DowelsWithoutBoard,
    /// A tier lies on the one below without a board.
    TierWithoutBoard,
    /// Dowels stand too near each other.
    DowelsCrowded,
    /// No dowel carries a board.
    BoardWithoutDowels,
    /// Too few dowels carry a board.
    DowelCount,
    /// A dowel gives way.
    DowelOverloaded,
    /// A dowel's end dents a board.
    BoardDented,
    /// A dowel is punched through a board.
    BoardPunched,
    /// A board breaks in bending.
    BoardBreaks,
    /// A board sags.
    BoardSags,
    /// The room is too warm.
    RoomTooWarm,
    /// A coat slumps down the side.
    CoatSlumps,
    /// A filling is squeezed out.
    FillingSqueezed,
    /// Layers slide on a filling.
    LayersSlide,
    /// A part tips over in a car.
    TipsInCar,
    /// A tier slides off its dowels in a car.
    TierSlidesOff,
    /// The centre dowel breaks in a car.
    CentreDowelBreaks,
    /// The presentation board slides in a car.
    SlidesInCar,
    /// A dowel gives way over a speed hump.
    DowelJolted,
    /// The cake is too heavy for one person.
    Heavy,
    /// Something sharp is hidden where small children eat.
    SharpForChildren,
    /// Nothing is known of how a material bears a load.
    StrengthUnknown,
}

impl CheckCode {
    /// Every one.
    pub const ALL: [Self; 32] = [
        Self::Tips,
        Self::Topples,
        Self::LeansWhileCarved,
        Self::SpongePressed,
        Self::SpongeOverhangs,
        Self::BoardsFarApart,
        Self::DowelTooShort,
        Self::DowelTooLong,
        Self::DowelOutsideBoard,
        Self::DowelOnSponge,
        Self::DowelsWithoutBoard,
        Self::TierWithoutBoard,
        Self::DowelsCrowded,
        Self::BoardWithoutDowels,
        Self::DowelCount,
        Self::DowelOverloaded,
        Self::BoardDented,
        Self::BoardPunched,
        Self::BoardBreaks,
        Self::BoardSags,
        Self::RoomTooWarm,
        Self::CoatSlumps,
        Self::FillingSqueezed,
        Self::LayersSlide,
        Self::TipsInCar,
        Self::TierSlidesOff,
        Self::CentreDowelBreaks,
        Self::SlidesInCar,
        Self::DowelJolted,
        Self::Heavy,
        Self::SharpForChildren,
        Self::StrengthUnknown,
    ];

    /// Whether another stack for the same shape may do better.
    pub fn is_of_stack(self) -> bool {
        !matches!(
            self,
            Self::Tips
                | Self::RoomTooWarm
                | Self::CoatSlumps
                | Self::TipsInCar
                | Self::SlidesInCar
                | Self::Heavy
                | Self::SharpForChildren
                | Self::StrengthUnknown
        )
    }

    /// Whether it is about how much a board or the dowels under it bear.
    pub fn is_of_bearing(self) -> bool {
        matches!(
            self,
            Self::BoardWithoutDowels
                | Self::BoardDented
                | Self::BoardPunched
                | Self::BoardBreaks
                | Self::BoardSags
                | Self::DowelOverloaded
        )
    }

    /// Its name in files, which never changes.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Tips => "tips",
            Self::Topples => "topples",
            Self::LeansWhileCarved => "leans-while-carved",
            Self::SpongePressed => "sponge-pressed",
            Self::SpongeOverhangs => "sponge-overhangs",
            Self::BoardsFarApart => "boards-far-apart",
            Self::DowelTooShort => "dowel-too-short",
            Self::DowelTooLong => "dowel-too-long",
            Self::DowelOutsideBoard => "dowel-outside-board",
            Self::DowelOnSponge => "dowel-on-sponge",
            Self::DowelsWithoutBoard => "dowels-without-board",
            Self::TierWithoutBoard => "tier-without-board",
            Self::DowelsCrowded => "dowels-crowded",
            Self::BoardWithoutDowels => "board-without-dowels",
            Self::DowelCount => "dowel-count",
            Self::DowelOverloaded => "dowel-overloaded",
            Self::BoardDented => "board-dented",
            Self::BoardPunched => "board-punched",
            Self::BoardBreaks => "board-breaks",
            Self::BoardSags => "board-sags",
            Self::RoomTooWarm => "room-too-warm",
            Self::CoatSlumps => "coat-slumps",
            Self::FillingSqueezed => "filling-squeezed",
            Self::LayersSlide => "layers-slide",
            Self::TipsInCar => "tips-in-car",
            Self::TierSlidesOff => "tier-slides-off",
            Self::CentreDowelBreaks => "centre-dowel-breaks",
            Self::SlidesInCar => "slides-in-car",
            Self::DowelJolted => "dowel-jolted",
            Self::Heavy => "heavy",
            Self::SharpForChildren => "sharp-for-children",
            Self::StrengthUnknown => "strength-unknown",
        }
    }
}

impl std::fmt::Display for CheckCode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}
