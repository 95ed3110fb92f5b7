//! What a picture shows and from where: plain values, read from text once and used as types.

use std::{fmt, str::FromStr};

use super::ViewerError;

/// The greatest width or height of a picture, pixels.
pub const MAX_PIXELS: u32 = 4096;

/// Where the cake is looked at from.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub enum View {
    /// Straight at the front.
    Front,
    /// Straight at the right-hand side.
    Side,
    /// Straight at the back.
    Back,
    /// Straight down, front at the bottom.
    Top,
    /// From the front right and a little above.
    #[default]
    ThreeQuarter,
    /// From any bearing and elevation, degrees; bearing 0 is the front, 90 the right-hand side.
    From {
        /// Counter-clockwise seen from above, 0 at the front.
        bearing: f64,
        /// Above the level, −90 to 90.
        elevation: f64,
    },
}

impl View {
    /// Bearing and elevation of the eye, degrees.
    pub fn bearing_and_elevation(self) -> (f64, f64) {
        match self {
            Self::Front => (0.0, 0.0),
            Self::Side => (90.0, 0.0),
            Self::Back => (180.0, 0.0),
            Self::Top => (0.0, 90.0),
            Self::ThreeQuarter => (32.0, 15.0),
            Self::From { bearing, elevation } => (bearing, elevation.clamp(-90.0, 90.0)),
        }
    }
}

/// How depth is drawn.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Lens {
    /// As a camera sees it.
    #[default]
    Perspective,
    /// True to scale: parallel lines stay parallel and lengths can be measured.
    Orthographic,
}

/// How far the making has come.
///
/// Between the named stages the knife comes in evenly from outside, and the coats grow outwards.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub enum Stage {
    /// The stack before carving.
    Raw,
    /// After carving, coloured by how deep the knife went.
    #[default]
    Carved,
    /// With every coat but the outermost.
    Coated,
    /// As the client sees it.
    Finished,
    /// Any fraction of the making: 0 raw, 1/3 carved, 2/3 coated, 1 finished.
    Fraction(f64),
}

impl Stage {
    /// The fraction of the making, from raw stack to finished cake, 0 to 1.
    pub fn fraction(self) -> f64 {
        match self {
            Self::Raw => 0.0,
            Self::Carved => 1.0 / 3.0,
            Self::Coated => 2.0 / 3.0,
            Self::Finished => 1.0,
            Self::Fraction(fraction) => fraction.clamp(0.0, 1.0),
        }
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Raw => f.write_str("raw"),
            Self::Carved => f.write_str("carved"),
            Self::Coated => f.write_str("coated"),
            Self::Finished => f.write_str("finished"),
            Self::Fraction(fraction) => write!(f, "{fraction}"),
        }
    }
}

/// How what is carved off is shown, once the knife is on the carved line.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum OffcutView {
    /// The surface that the knife left is coloured by how deep it went.
    #[default]
    Depth,
    /// Cut open, with what goes hatched in one colour around what stays.
    CutAway,
    /// One half as baked, the other carved, with what goes lifted off it.
    Halves,
    /// Not at all: what stays, in its own colours.
    None,
}

impl OffcutView {
    /// All of them, as they are offered.
    pub const ALL: [Self; 4] = [Self::CutAway, Self::Halves, Self::Depth, Self::None];
}

impl fmt::Display for OffcutView {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Depth => "depth",
            Self::CutAway => "cut-away",
            Self::Halves => "halves",
            Self::None => "none",
        })
    }
}

impl FromStr for OffcutView {
    type Err = ViewerError;

    /// Reads `cut-away`, `halves`, `depth` or `none`.
    fn from_str(text: &str) -> Result<Self, ViewerError> {
        let found = Self::ALL.into_iter().find(|offcut| offcut.to_string() == text);
        found.ok_or_else(|| refuse("offcut", format!("\"{text}\""), "write cut-away, halves, depth or none"))
    }
}

/// A cut through everything, so that the inside shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Section {
    /// Level, at this height above the board, mm; what is above goes.
    Height(f64),
    /// Upright through the axis; the half on this bearing (degrees) goes.
    Bearing(f64),
    /// Upright and parallel to the front, this far behind the axis, mm; what is in front goes.
    Across(f64),
}

impl Section {
    /// The plane as the outward normal of the cut face and its distance from the origin, mm: what
    /// stays lies on the inner side.
    pub fn plane(self) -> (glam::DVec3, f64) {
        match self {
            Self::Height(height) => (glam::DVec3::Z, height),
            Self::Bearing(bearing) => {
                let (sin, cos) = bearing.to_radians().sin_cos();
                (glam::DVec3::new(sin, -cos, 0.0), 0.0)
            }
            Self::Across(behind) => (glam::DVec3::NEG_Y, -behind),
        }
    }
}

/// What lies behind the cake.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Background {
    /// An even ground with a soft shadow.
    #[default]
    Plain,
    /// Transparent but for the shadow on the ground: to lay over something else.
    Shadow,
    /// Nothing: the cake alone.
    Transparent,
}

/// What is shown of the model, wherever it is looked at from.
#[derive(Debug, Clone, PartialEq)]
pub struct Showing {
    /// How far the making has come.
    pub stage: Stage,
    /// The cut through everything, if any.
    pub section: Option<Section>,
    /// Whether the raw stack is drawn as a ghost over what is carved from it.
    pub ghost: bool,
    /// How far the layers are pulled apart, mm between one and the next.
    pub pull_apart: f64,
    /// How what is carved off is shown.
    pub offcut: OffcutView,
    /// The bearing (degrees) that the carved half faces ([`OffcutView::Halves`]).
    pub carved_half: f64,
    /// How much of what is carved off is lifted away, from 0 to 1, the upper layers first ([`OffcutView::Halves`]).
    pub lifted: f64,
    /// Which layers are carved already and which one the knife is at ([`OffcutView::CutAway`]); without it the whole
    /// offcut is shown.
    pub carving: Option<CarvingLayer>,
    /// Names of parts left out.
    pub hidden: Vec<String>,
    /// Whether boards and dowels are shown in the carved cake, coloured by what they carry, with centres of mass and
    /// the edges that things tip over.
    pub loads: bool,
}

impl Default for Showing {
    fn default() -> Self {
        Self {
            stage: Stage::Carved,
            section: None,
            ghost: true,
            pull_apart: 0.0,
            offcut: OffcutView::default(),
            carved_half: 100.0,
            lifted: 1.0,
            carving: None,
            hidden: Vec::new(),
            loads: false,
        }
    }
}

/// How far the carving of the layers has come, layer by layer; layers by their places in the stack.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CarvingLayer {
    /// The layers that are carved.
    pub done: Vec<usize>,
    /// The layer that the knife is at.
    pub now: Option<usize>,
}

impl CarvingLayer {
    /// Whether the knife has not come to a layer yet.
    pub fn is_to_come(&self, layer: usize) -> bool {
        self.now != Some(layer) && !self.done.contains(&layer)
    }
}

/// Everything that decides a picture, apart from the cake.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureOptions {
    /// Where it is looked at from.
    pub view: View,
    /// How depth is drawn.
    pub lens: Lens,
    /// Width and height, pixels, each up to [`MAX_PIXELS`].
    pub size: (u32, u32),
    /// What is shown.
    pub showing: Showing,
    /// What lies behind.
    pub background: Background,
    /// Whether title and legend are drawn.
    pub legend: bool,
    /// Whether height and width are drawn (views square to the cake only).
    pub dimensions: bool,
    /// How many renders are averaged, each with the lights and the grid of pixels moved a little; more is
    /// softer and slower.
    pub samples: u32,
}

impl Default for PictureOptions {
    fn default() -> Self {
        Self {
            view: View::default(),
            lens: Lens::default(),
            size: (1600, 1200),
            showing: Showing::default(),
            background: Background::default(),
            legend: true,
            dimensions: true,
            samples: 16,
        }
    }
}

impl PictureOptions {
    /// Checks that a sheet of several pictures can be read, which `sheet` names.
    ///
    /// # Errors
    /// As [`Self::check`]; [`ViewerError::Option`] with the fix for a sheet that is too small.
    pub(super) fn check_sheet(&self, sheet: &str) -> Result<(), ViewerError> {
        self.check()?;
        let (width, height) = self.size;
        if width >= 640 && height >= 480 {
            return Ok(());
        }
        let fix = format!("{sheet} needs at least 640x480 pixels");
        Err(ViewerError::Option { what: "size", given: format!("{width}x{height}"), fix })
    }

    /// Checks what a type cannot rule out.
    ///
    /// # Errors
    /// [`ViewerError::Option`] with the fix, for a size, a number of samples or a distance that cannot
    /// be drawn.
    pub fn check(&self) -> Result<(), ViewerError> {
        let (width, height) = self.size;
        let pixels = 16..=MAX_PIXELS;
        if !pixels.contains(&width) || !pixels.contains(&height) {
            return Err(refuse("size", format!("{width}x{height}"), "each side must be 16 to 4096 pixels"));
        }
        if !(1..=256).contains(&self.samples) {
            return Err(refuse("samples", self.samples.to_string(), "it must be 1 to 256"));
        }
        let numbers = [
            ("pull apart", Some(self.showing.pull_apart)),
            ("stage", Some(self.showing.stage.fraction())),
            ("carved half", Some(self.showing.carved_half + self.showing.lifted)),
            ("section", self.showing.section.map(|s| s.plane().1 + s.plane().0.x)),
            ("view", Some(self.view.bearing_and_elevation().0 + self.view.bearing_and_elevation().1)),
        ];
        for (what, number) in numbers {
            if let Some(number) = number.filter(|n| !n.is_finite()) {
                return Err(refuse(what, number.to_string(), "it must be a plain number"));
            }
        }
        Ok(())
    }
}

fn refuse(what: &'static str, given: String, fix: &str) -> ViewerError {
    ViewerError::Option { what, given, fix: fix.to_owned() }
}

impl FromStr for View {
    type Err = ViewerError;

    /// Reads `front`, `side`, `back`, `top`, `three-quarter`, or `BEARING,ELEVATION` in degrees.
    fn from_str(text: &str) -> Result<Self, ViewerError> {
        Ok(match text {
            "front" => Self::Front,
            "side" => Self::Side,
            "back" => Self::Back,
            "top" => Self::Top,
            "three-quarter" => Self::ThreeQuarter,
            _ => text
                .split_once(',')
                .and_then(|(b, e)| Some((number(b)?, number(e)?)))
                .map(|(bearing, elevation)| Self::From { bearing, elevation })
                .ok_or_else(|| {
                    refuse(
                        "view",
                        format!("\"{text}\""),
                        "write front, side, back, top, three-quarter, or BEARING,ELEVATION in degrees",
                    )
                })?,
        })
    }
}

impl FromStr for Stage {
    type Err = ViewerError;

    /// Reads `raw`, `carved`, `coated`, `finished`, or a fraction from 0 to 1.
    fn from_str(text: &str) -> Result<Self, ViewerError> {
        Ok(match text {
            "raw" => Self::Raw,
            "carved" => Self::Carved,
            "coated" => Self::Coated,
            "finished" => Self::Finished,
            _ => number(text).filter(|f| (0.0..=1.0).contains(f)).map(Self::Fraction).ok_or_else(|| {
                refuse(
                    "stage",
                    format!("\"{text}\""),
                    "write raw, carved, coated, finished, or a fraction from 0 to 1",
                )
            })?,
        })
    }
}

fn number(text: &str) -> Option<f64> {
    text.trim().parse().ok().filter(|n: &f64| n.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn views_and_stages_read_back_what_they_print() {
        for stage in [Stage::Raw, Stage::Carved, Stage::Coated, Stage::Finished, Stage::Fraction(0.25)] {
            assert_eq!(stage.to_string().parse::<Stage>().unwrap(), stage);
        }
        for offcut in OffcutView::ALL {
            assert_eq!(offcut.to_string().parse::<OffcutView>().unwrap(), offcut);
        }
        assert!("some".parse::<OffcutView>().is_err());
        assert_eq!("30,-10".parse::<View>().unwrap(), View::From { bearing: 30.0, elevation: -10.0 });
        assert!("1.5".parse::<Stage>().is_err());
        assert!("NaN,0".parse::<View>().is_err());
    }

    #[test]
    fn a_section_by_bearing_takes_away_the_half_on_that_bearing() {
        let (normal, offset) = Section::Bearing(90.0).plane();
        assert!((normal - glam::DVec3::X).length() < 1e-12);
        assert_eq!(offset, 0.0);
        let (front, _) = Section::Bearing(0.0).plane();
        assert!((front - glam::DVec3::NEG_Y).length() < 1e-12);
    }

    #[test]
    fn sizes_that_no_card_can_draw_are_refused_with_the_fix() {
        let options = PictureOptions { size: (5000, 100), ..PictureOptions::default() };
        let message = options.check().unwrap_err().to_string();
        assert!(message.contains("5000x100") && message.contains("4096"), "{message}");
    }
}
