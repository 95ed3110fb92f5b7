//! From a picture to its outline in millimetres, with what was found and decided on the way.

use glam::{DVec2, dvec2};
use kurbo::BezPath;

use super::{
    Background, Half, HalfOutline, Picture, SeparateBy, TraceError,
    base::{Base, base, levelled},
    contours::{Contour, Inside, contours},
    fit::Fitted,
    grey_levels::{GreyLevels, WHITE},
    half_outline::half_outline,
    regions::{self, Regions},
    standing,
};
use crate::real;
use crate::{region::signed_area, units};

/// Greatest tilt of the base that is turned back, degrees: more is refused.
pub const MOST_TILT: f64 = 10.0;
/// Tilts below this are not turned back, degrees: less than a pixel over a thousand.
const LEAST_TILT: f64 = 0.05;
/// The allowed error where none is given, in pixels; and where edges are hard: such a picture itself shows a line only
/// to within half a pixel on either side.
const ERROR_IN_PIXELS: f64 = 0.5;
const HARD_ERROR_IN_PIXELS: f64 = 1.0;
/// But not less than this, mm: nobody cuts closer.
const LEAST_ERROR: f64 = 0.05;
/// The least allowed error, mm: a smaller difference between outline and picture cannot be seen.
const FINEST_ERROR: f64 = 1e-3;

/// Sizes of a whole shape that are likely, mm: anything else is likelier a slip of the unit.
const LIKELY: std::ops::RangeInclusive<f64> = 40.0..=1500.0;

/// Why the size of a trace is unlikely to be that of a whole shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnlikelySize {
    /// Its larger side is shorter than 40 mm.
    Small,
    /// Its larger side is longer than 1.5 m.
    Large,
}

impl UnlikelySize {
    /// In a word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Small => "small",
            Self::Large => "large",
        }
    }
}

/// How large the outline really is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// Its height, mm.
    Height(f64),
    /// Its width, mm.
    Width(f64),
    /// Two points of the picture, [right, down] in pixels, and how far apart they are, mm.
    Marks([DVec2; 2], f64),
}

/// Which regions are kept.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Keep {
    /// The one with the largest area.
    #[default]
    Largest,
    /// All but speckles.
    All,
}

/// How a picture is traced.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// How large the outline really is.
    pub scale: Scale,
    /// What separates it from its background; found if `None`.
    pub separate_by: Option<SeparateBy>,
    /// Where that is cut, from 0 to 1; Otsu's if `None`.
    pub threshold: Option<f64>,
    /// How bright the background is; found from the border if `None`.
    pub background: Option<Background>,
    /// Regions and holes smaller than a disc of this diameter are dropped, mm.
    pub speckle: f64,
    /// Which of the others are kept.
    pub keep: Keep,
    /// Leave no holes.
    pub fill_holes: bool,
    /// How far the outline may stray from the edge in the picture, mm; half a pixel if `None`, a whole one
    /// where edges are hard.
    pub error: Option<f64>,
    /// Turn the picture so that the base is level.
    pub straighten: bool,
    /// Where x = 0 is, pixels from the left edge at the foot; the middle of the outline if `None`.
    pub axis: Option<f64>,
}

impl Options {
    /// The usual way, for an outline of this size.
    pub fn new(scale: Scale) -> Self {
        Self {
            scale,
            separate_by: None,
            threshold: None,
            background: None,
            speckle: 2.0,
            keep: Keep::Largest,
            fill_holes: false,
            error: None,
            straighten: true,
            axis: None,
        }
    }
}

/// The outline in a picture. Lengths in mm; x = 0 is the centre line, y = 0 the base or the lowest point.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// How long the side of a pixel is.
    pub pixel: f64,
    /// Width and height.
    pub size: DVec2,
    /// What separates the outline from its background.
    pub separated_by: SeparateBy,
    /// Where that was cut, from 0 to 1.
    pub threshold: f64,
    /// How bright the background is.
    pub background: Background,
    /// How far the base rose to the right, degrees; `None` where the outline has no base.
    pub base: Option<f64>,
    /// How far the picture was turned back, degrees.
    pub straightened: f64,
    /// How many regions are kept.
    pub islands: usize,
    /// How many holes they have.
    pub holes: usize,
    /// How many regions that are no speckles are left out.
    pub left_out: usize,
    /// How many speckles and small holes are dropped.
    pub speckles: usize,
    /// Whether the outline runs along the edge of the picture, which probably cuts it off.
    pub cut_off: bool,
    /// How far the outline may stray from the edge in the picture.
    pub allowed: f64,
    /// The edges in the picture, point by point: outer ones counter-clockwise, each followed by its holes.
    contours: Vec<Vec<DVec2>>,
    mapping: PixelMapping,
    axis_given: bool,
    /// Whether it has a base that lies level at y = 0.
    is_level: bool,
}

/// From pixels, right and up, to mm and back.
#[derive(Debug, Clone, Copy, PartialEq)]
struct PixelMapping {
    /// Height of the picture, pixels.
    height: f64,
    base: Base,
    pixel: f64,
    /// The origin of the trace after scaling, mm.
    origin: DVec2,
}

/// Traces the outline in `picture`.
///
/// # Errors
/// When there is none, when outline and background cannot be separated, and when the outline is tilted too far or is
/// no size for a cake.
pub fn trace(picture: &Picture, options: &Options) -> Result<Trace, TraceError> {
    let levels = GreyLevels::of(picture.image(), options.separate_by)?;
    let threshold = match options.threshold {
        Some(share) => (share * (WHITE - 1.0)).floor() + 0.5,
        None => levels.otsu()?,
    };
    let background = options.background.map_or_else(|| levels.background(threshold), Ok)?;
    let inside = if background == Background::Light { Inside::Below } else { Inside::Above };
    let size = picture.size();
    if let Scale::Marks(marks, _) = options.scale {
        check_marks(marks, size)?;
    }
    if let Some(pixels) = options.axis.filter(|right| !(0.0..=size.x).contains(right)) {
        return Err(TraceError::AxisBeside { pixels, width: size.x });
    }
    let edges = contours(&levels, threshold, inside)?;
    let separated_by = levels.separated_by;
    let error_in_pixels =
        if levels.has_hard_edges(threshold) { HARD_ERROR_IN_PIXELS } else { ERROR_IN_PIXELS };
    drop(levels);
    let speckle = |across: DVec2| {
        std::f64::consts::FRAC_PI_4 * real::powi(options.speckle / pixel_size(options.scale, across), 2)
    };
    let largest = largest_across(&edges, options.scale);
    let found = regions::choose(edges, size.y, options.keep, options.fill_holes, speckle)?;
    let nothing = TraceError::NothingBeyond { background };
    let Regions { contours, left_out, speckles } = found.ok_or(nothing)?;
    if contours.is_empty() {
        return Err(TraceError::OnlySpeckles { across: largest });
    }
    let cut_off = runs_along_edge(&contours, size);

    let base = base(&contours);
    let tilt = base.map(|base| base.tilt.to_degrees());
    let turn = match tilt {
        Some(degrees) if options.straighten && degrees.abs() > MOST_TILT => {
            return Err(TraceError::Tilted { degrees });
        }
        Some(degrees) if options.straighten && degrees.abs() > LEAST_TILT => degrees,
        _ => 0.0,
    };
    let about = Base { tilt: turn.to_radians(), at: base.map_or(DVec2::ZERO, |base| base.at) };
    let level = |p: &DVec2| levelled(*p, about);
    let level: Vec<Vec<DVec2>> = contours.iter().map(|c| c.iter().map(level).collect()).collect();
    let (lo, hi) = regions::bounds(level.iter().flatten());
    // A base lies at 0 already, and what strays below it is part of it.
    let is_level = base.is_some() && (turn != 0.0 || tilt.is_some_and(|tilt| tilt.abs() <= LEAST_TILT));
    let bottom = if is_level { 0.0 } else { lo.y };
    let pixel = pixel_size(options.scale, dvec2(hi.x - lo.x, hi.y - bottom));
    let width = (hi.x - lo.x) * pixel;
    let height = (hi.y - bottom) * pixel;
    units::check_size(width)?;
    units::check_size(height)?;
    let mapping = PixelMapping { height: size.y, base: about, pixel, origin: DVec2::ZERO };
    let centre = match options.axis {
        Some(right) => mapping.to_mm(dvec2(right, about.at.y)).x,
        None => (lo.x + hi.x) / 2.0 * pixel,
    };
    let mapping = PixelMapping { origin: dvec2(centre, bottom * pixel), ..mapping };
    let allowed = options.error.unwrap_or((error_in_pixels * pixel).max(LEAST_ERROR)).max(FINEST_ERROR);
    let mut contours: Vec<Vec<DVec2>> =
        level.iter().map(|c| c.iter().map(|p| *p * pixel - mapping.origin).collect()).collect();
    if is_level {
        flatten_base(&mut contours, allowed.max(pixel));
    }
    let islands = contours.iter().filter(|c| signed_area(c) > 0.0).count();
    Ok(Trace {
        pixel,
        size: dvec2(width, height),
        separated_by,
        threshold: threshold / WHITE,
        background,
        base: tilt,
        straightened: turn,
        islands,
        holes: contours.len() - islands,
        left_out,
        speckles,
        cut_off,
        allowed,
        contours,
        mapping,
        axis_given: options.axis.is_some(),
        is_level,
    })
}

impl Trace {
    /// Smooth curves along all edges: outer ones counter-clockwise, holes clockwise. Where it stands level on a base,
    /// that is exactly straight at y = 0; elsewhere the lowest point is there to within the error.
    pub fn outline(&self) -> Fitted {
        let mut all = Fitted { path: BezPath::new(), error: 0.0 };
        for contour in &self.contours {
            let fitted = standing::fit_standing(contour, self.is_level, self.allowed, self.pixel);
            all.error = all.error.max(fitted.error);
            all.path.extend(fitted.path);
        }
        all
    }

    /// The half outline of a turned shape, about the given axis or the one that is found.
    ///
    /// # Errors
    /// When there is nothing on the side of the axis that is asked for.
    pub fn half_outline(&self, half: Half) -> Result<HalfOutline, TraceError> {
        half_outline(self, half, self.axis_given.then_some(0.0))
    }

    /// Whether it stands on a base that lies level at y = 0.
    pub fn is_level(&self) -> bool {
        self.is_level
    }

    /// Whether it is unlikely to be a whole shape, by its size.
    pub fn unlikely_size(&self) -> Option<UnlikelySize> {
        let size = self.size.max_element();
        match size {
            _ if LIKELY.contains(&size) => None,
            _ if size < *LIKELY.start() => Some(UnlikelySize::Small),
            _ => Some(UnlikelySize::Large),
        }
    }

    /// The edges in the picture, point by point: outer ones counter-clockwise, holes clockwise.
    pub fn edges(&self) -> &[Vec<DVec2>] {
        &self.contours
    }

    /// The outer edges.
    pub(super) fn outer_contours(&self) -> impl Iterator<Item = &Vec<DVec2>> {
        self.contours.iter().filter(|contour| signed_area(contour) > 0.0)
    }

    /// Area inside the edges, mm².
    pub fn area(&self) -> f64 {
        self.contours.iter().map(|contour| signed_area(contour)).sum()
    }

    /// The pixel, [right, down], that a point of the outline was traced from.
    pub fn pixel_of(&self, p: DVec2) -> DVec2 {
        self.mapping.to_pixels(p)
    }
}

impl PixelMapping {
    fn to_mm(self, upright: DVec2) -> DVec2 {
        levelled(upright, self.base) * self.pixel - self.origin
    }

    fn to_pixels(self, p: DVec2) -> DVec2 {
        let level = (p + self.origin) / self.pixel - dvec2(self.base.at.x, 0.0);
        let upright = real::unit_vector(self.base.tilt).rotate(level) + self.base.at;
        dvec2(upright.x, self.height - upright.y)
    }
}

/// How many mm a pixel is where the outline is so many pixels wide and high.
fn pixel_size(scale: Scale, across: DVec2) -> f64 {
    match scale {
        Scale::Height(height) => height / across.y,
        Scale::Width(width) => width / across.x,
        Scale::Marks([a, b], distance) => distance / a.distance(b),
    }
}

/// Diameter of a disc as large as the largest region, mm.
fn largest_across(edges: &[Contour], scale: Scale) -> f64 {
    let sized = edges.iter().map(|edge| (super::contours::signed_area(edge), edge));
    sized.max_by(|a, b| a.0.total_cmp(&b.0)).map_or(0.0, |(area, edge)| {
        let (lo, hi) = regions::bounds(edge);
        2.0 * (area / std::f64::consts::PI).sqrt() * pixel_size(scale, hi - lo)
    })
}

fn check_marks(marks: [DVec2; 2], size: DVec2) -> Result<(), TraceError> {
    for mark in marks {
        if mark.cmplt(DVec2::ZERO).any() || mark.cmpgt(size).any() || !mark.is_finite() {
            return Err(TraceError::MarkOutside {
                right: mark.x,
                down: mark.y,
                width: size.x,
                height: size.y,
            });
        }
    }
    if marks[0].distance(marks[1]) < 1.0 { Err(TraceError::MarksMeet) } else { Ok(()) }
}

/// Whether edges run along the border of a picture for more than a few pixels.
fn runs_along_edge(contours: &[Vec<DVec2>], size: DVec2) -> bool {
    const FEW: usize = 3;
    let on_edge = |p: &&DVec2| p.x <= 0.0 || p.y <= 0.0 || p.x >= size.x || p.y >= size.y;
    contours.iter().map(|contour| contour.iter().filter(on_edge).count()).sum::<usize>() > FEW
}

/// Puts points less than `distance` above the base onto it.
fn flatten_base(contours: &mut [Vec<DVec2>], distance: f64) {
    for p in contours.iter_mut().flatten() {
        if p.y < distance {
            p.y = 0.0;
        }
    }
}
