//! Why no outline can be traced from a picture, and the remedy.

use super::{Background, CardFault, MOST_PIXELS, plane::MOST_FORESHORTENING, tracing::MOST_TILT};

/// Why no outline could be traced from a picture.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TraceError {
    /// The file is no picture of a kind that is read.
    #[error("this is no PNG, JPEG or GIF picture")]
    NoPicture,
    /// The file is broken.
    #[error("the picture cannot be read: {reason}")]
    Broken {
        /// What the decoder says.
        reason: String,
    },
    /// The file stops before the picture does.
    #[error("the picture ends early: the file is cut short")]
    EndsEarly,
    /// The file says that the picture has no width or no height.
    #[error("the picture is {width} × {height} pixels large: there is nothing in it")]
    NoPixels {
        /// Pixels from left to right.
        width: u32,
        /// Pixels from top to bottom.
        height: u32,
    },
    /// The picture is larger than any that a camera makes.
    #[error("the picture has {width} × {height} pixels, more than {} million", MOST_PIXELS / 1_000_000)]
    TooManyPixels {
        /// Pixels from left to right.
        width: u32,
        /// Pixels from top to bottom.
        height: u32,
    },
    /// Decoding would take too much memory.
    #[error("the picture takes too much memory")]
    TooMuchMemory,
    /// The whole picture has one colour.
    #[error("there is nothing in the picture: it is {colour} all over")]
    Blank {
        /// Which.
        colour: &'static str,
    },
    /// The picture is not one colour, but outline and background hardly differ.
    #[error(
        "the picture is too even: what would be the outline and its ground differ by only {percent:.1} %"
    )]
    TooEven {
        /// How far the means of both lie apart, of black to white.
        percent: f64,
    },
    /// Opacity was asked for, but there is none.
    #[error("no part of the picture is transparent")]
    NotTransparent,
    /// The border shows as much of the outline as of its background.
    #[error(
        "the border of the picture is partly light and partly dark, so it does not show which is the ground"
    )]
    BackgroundUnclear,
    /// No pixel lies on the outline's side of the threshold.
    #[error("nothing in the picture is {} than the threshold", match .background { Background::Light => "darker", Background::Dark => "lighter" })]
    NothingBeyond {
        /// What the background is.
        background: Background,
    },
    /// There are only speckles.
    #[error("there is nothing in the picture but speckles: the largest is {across:.1} mm across")]
    OnlySpeckles {
        /// Diameter of a disc as large as the largest, mm.
        across: f64,
    },
    /// Far too many edges: noise.
    #[error("the picture falls into countless speckles at this threshold")]
    Noise,
    /// The two marks are the same point.
    #[error("the two marks are the same point")]
    MarksMeet,
    /// Nothing says how large the outline is, and no card is seen.
    #[error("nothing says how large the outline is")]
    NoScale,
    /// A scale card was to be there.
    #[error("no scale card is seen in the picture")]
    NoCard,
    /// A scale card is seen, but gives no scale.
    #[error(transparent)]
    Card(#[from] CardFault),
    /// Nothing is seen but the card.
    #[error("nothing is seen in the picture that stands out from its ground, except the card")]
    OnlyCard,
    /// Two lines that are to be at right angles are seen at a small angle.
    #[error(
        "the two pairs of marks lie along nearly the same direction in the picture ({degrees:.0}° apart)"
    )]
    MarksAlong {
        /// The angle between them, degrees.
        degrees: f64,
    },
    /// Two distances that make one direction look much shorter than the other.
    #[error(
        "by the two distances of the marks one direction is foreshortened {times:.1} times, more than \
         {MOST_FORESHORTENING}"
    )]
    Foreshortened {
        /// How many times.
        times: f64,
    },
    /// A mark is not in the picture.
    #[error("the mark [{right}, {down}] lies outside the picture, which has {width} × {height} pixels")]
    MarkOutside {
        /// Pixels from the left edge.
        right: f64,
        /// Pixels from the upper edge.
        down: f64,
        /// Pixels of the picture from left to right.
        width: f64,
        /// Pixels of the picture from top to bottom.
        height: f64,
    },
    /// The outline is larger or smaller than anything on a cake.
    #[error("the outline is no size for a cake: {0}")]
    Extent(#[from] crate::units::UnitError),
    /// The base of the outline is tilted too far.
    #[error("the line that the outline stands on is tilted by {degrees:.1}°, more than {MOST_TILT:.0}°")]
    Tilted {
        /// How far, counter-clockwise.
        degrees: f64,
    },
    /// The axis is not in the picture.
    #[error(
        "the axis, {pixels} pixels from the left, lies outside the picture, which is {width} pixels wide"
    )]
    AxisBeside {
        /// Pixels from the left edge.
        pixels: f64,
        /// Pixels of the picture from left to right.
        width: f64,
    },
    /// The axis leaves nothing on the side that is asked for.
    #[error("the axis, {pixels} pixels from the left, leaves nothing of the outline on {side}")]
    AxisOutside {
        /// Pixels from the left edge.
        pixels: f64,
        /// The empty side.
        side: &'static str,
    },
}

impl TraceError {
    /// The remedy.
    pub fn fix(&self) -> String {
        match self {
            Self::NoPicture => "save it as PNG or JPEG".to_owned(),
            Self::Broken { .. } | Self::NoPixels { .. } => {
                "open it in a picture program and save it again".to_owned()
            }
            Self::EndsEarly => "copy or send it again".to_owned(),
            Self::TooManyPixels { .. } | Self::TooMuchMemory => {
                "make it smaller: 4000 pixels are plenty for any template".to_owned()
            }
            Self::Blank { .. } | Self::OnlySpeckles { .. } => {
                "choose a picture that shows the whole outline on a plain ground".to_owned()
            }
            Self::TooEven { .. } => {
                "take it again in better light, on a ground that stands out, or part it by \"colour\" \
                 (`separate_by`)"
                    .to_owned()
            }
            Self::NotTransparent => "leave out `separate_by`, or make the ground transparent".to_owned(),
            Self::BackgroundUnclear => {
                "say `ground = \"light\"` or `ground = \"dark\"`, or leave more room round the outline"
                    .to_owned()
            }
            Self::NothingBeyond { .. } => "change `threshold` or `ground`, or leave them out".to_owned(),
            Self::Noise => {
                "change `threshold`, or take the picture on a plain ground and in even light".to_owned()
            }
            Self::MarksMeet => "put them at the two ends of something of known length".to_owned(),
            Self::NoScale => "lay the card that `crumbline card` writes beside it in its plane and take the picture with \
                              it, or give its height, its width, or two marks and their distance"
                .to_owned(),
            Self::NoCard => {
                "take the picture with all of the card in it, or leave out the demand for it".to_owned()
            }
            Self::Card(fault) => format!("{}, or give a height or a width", fault.fix()),
            Self::OnlyCard => {
                "lay the template on the blank part of the card or beside it, not touching it, on a ground that \
                 stands out"
                    .to_owned()
            }
            Self::MarksAlong { .. } => {
                "take two lengths that are really at right angles, such as two sides of a sheet of paper".to_owned()
            }
            Self::Foreshortened { .. } => {
                "check marks and distances, or take the picture from more nearly above".to_owned()
            }
            Self::MarkOutside { .. } => {
                "count pixels from the upper left corner: [right, down], as picture programs show them"
                    .to_owned()
            }
            Self::Extent(_) => "check `height`, `width` or `distance`".to_owned(),
            Self::Tilted { .. } => {
                "turn the picture upright, or say `straighten = false` if it is meant to stand like this"
                    .to_owned()
            }
            Self::AxisBeside { .. } => "count pixels from the left edge of the picture".to_owned(),
            Self::AxisOutside { .. } => {
                "count pixels from the left edge of the picture, or take the other `half`".to_owned()
            }
        }
    }
}
