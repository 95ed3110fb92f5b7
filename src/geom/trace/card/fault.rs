//! Why a scale card that is seen in a picture gives no scale, and the remedy.

/// Why a scale card that is seen in a picture gives no scale.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CardFault {
    /// Some of its marks are hidden, blurred or outside the picture.
    #[error("only {marks} of the 4 marks of the card {} seen", if *.marks == 1 { "is" } else { "are" })]
    Partly {
        /// How many are seen.
        marks: usize,
    },
    /// Its marks are not where they are on the card.
    #[error("{marks} marks of a card are seen, but they do not lie as on the card")]
    Misfit {
        /// How many are seen.
        marks: usize,
    },
    /// There is more than one.
    #[error("more than one card is seen")]
    Several,
    /// Its control points lie off by more than a flat card's would.
    #[error(
        "the card is not flat, or the lens bends straight lines: its crossings lie up to {off:.1} mm off"
    )]
    Bent {
        /// How far the farthest lies off, mm.
        off: f64,
    },
}

impl CardFault {
    /// The remedy.
    pub fn fix(self) -> &'static str {
        match self {
            Self::Partly { .. } => {
                "take the picture again with all four marks whole, in focus and with white paper round them"
            }
            Self::Misfit { .. } => {
                "use a card as it was printed, uncut and flat, and a picture that is not mirrored or put together"
            }
            Self::Several => "leave one card only in the picture",
            Self::Bent { .. } => {
                "lay the card on something flat, and take the picture from farther away rather than with a wide angle"
            }
        }
    }
}
