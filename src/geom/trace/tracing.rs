//! From a picture to its outline in millimetres, with what was found and decided on the way.

use glam::{DVec2, dvec2};
use kurbo::BezPath;

use super::{
    Background, CardFault, CardUse, Half, HalfOutline, Options, Picture, Scale, SeparateBy, TraceError,
    base::{Base, base, levelled},
    card::{self, SeenCard, layout},
    edges::{Edges, edges},
    fit::Fitted,
    grey_levels::{GreyLevels, WHITE},
    half_outline::half_outline,
    plane::{Plane, PlaneScale},
    regions::{self, Regions},
    standing,
};
use crate::{Homography, real, region::signed_area, units};

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
    /// How wide the line is that the outline is drawn as; `None` where it is no line drawing, or was not asked. The
    /// outside of the line is the outline.
    pub line: Option<f64>,
    /// Whether the outline runs along the edge of the picture, which probably cuts it off.
    pub cut_off: bool,
    /// How far the outline may stray from the edge in the picture.
    pub allowed: f64,
    /// The scale card that took the perspective out; `None` where there is none.
    pub card: Option<CardReading>,
    /// Why a card that is seen in part was not used.
    pub card_fault: Option<CardFault>,
    /// What two distances at right angles say of the picture, where they give the scale.
    pub crossed: Option<CrossedReading>,
    /// The edges in the picture, point by point: outer ones counter-clockwise, each followed by its holes.
    contours: Vec<Vec<DVec2>>,
    mapping: PixelMapping,
    axis_given: bool,
    /// Whether it has a base that lies level at y = 0.
    is_level: bool,
}

/// What a scale card says of an outline that lies in its plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CardReading {
    /// Width and height by the card, mm.
    pub size: DVec2,
    /// How far these may be off by the finding of the card, mm: twice the standard deviation. What the edge itself is
    /// off comes on top.
    pub error: f64,
    /// How far the farthest of the card's control points lies from where it was printed, mm.
    pub off: f64,
    /// How many of them are seen besides the four marks.
    pub crossings: usize,
    /// How far the camera was tilted against the card, degrees, if the picture is uncropped.
    pub tilt: f64,
    /// Whether the outline runs over what is printed on the card.
    pub over_print: bool,
}

/// What two distances at right angles say of a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossedReading {
    /// How much shorter lengths look along the direction in which they look shortest.
    pub foreshortening: f64,
    /// How far width and height may be off, mm, if each mark is off by a pixel.
    pub error: f64,
}

/// From pixels to mm and back.
#[derive(Debug, Clone, Copy, PartialEq)]
struct PixelMapping {
    /// From pixels, right and down, to the plane of the outline, right and up, about a pixel a unit.
    to_plane: Homography,
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
    let size = picture.size();
    let (card, card_fault) = seen_card(picture, &levels, options)?;
    let plane = Plane::new(options.scale, card.as_ref(), size)?;
    if let Some(pixels) = options.axis.filter(|right| !(0.0..=size.x).contains(right)) {
        return Err(TraceError::AxisBeside { pixels, width: size.x });
    }
    let Edges { contours, threshold, background } = edges(&levels, options, card.as_ref(), &plane)?;
    let separated_by = levels.separated_by;
    let error_in_pixels =
        if levels.has_hard_edges(threshold) { HARD_ERROR_IN_PIXELS } else { ERROR_IN_PIXELS };
    drop(levels);
    let speckle = |across: DVec2| {
        std::f64::consts::FRAC_PI_4 * real::powi(options.speckle / plane.scale.mm_a_unit(across), 2)
    };
    let largest = largest_across(&contours, plane.scale);
    let found = regions::choose(contours, options.keep, options.fill_holes, speckle)?;
    let nothing = match &card {
        Some(_) => TraceError::OnlyCard,
        None => TraceError::NothingBeyond { background },
    };
    let Regions { contours, left_out, speckles, line } = found.ok_or(nothing)?;
    if contours.is_empty() {
        return Err(TraceError::OnlySpeckles { across: largest });
    }
    let over_print = card.is_some() && contours.iter().flatten().any(|&p| layout::is_print(p));
    let cut_off = runs_along_edge(&contours, &plane, size);
    let (plane, contours) = plane.upright_at(contours)?;

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
    let pixel = plane.scale.mm_a_unit(dvec2(hi.x - lo.x, hi.y - bottom));
    let width = (hi.x - lo.x) * pixel;
    let height = (hi.y - bottom) * pixel;
    units::check_size(width)?;
    units::check_size(height)?;
    let mapping = PixelMapping { to_plane: plane.to_plane, base: about, pixel, origin: DVec2::ZERO };
    let foot = mapping.to_pixels(dvec2((lo.x + hi.x) / 2.0, bottom) * pixel);
    let centre = match options.axis {
        Some(right) => mapping.to_mm(dvec2(right, foot.y)).ok_or(TraceError::OnlyCard)?.x,
        None => (lo.x + hi.x) / 2.0 * pixel,
    };
    let mapping = PixelMapping { origin: dvec2(centre, bottom * pixel), ..mapping };
    let allowed = options.error.unwrap_or((error_in_pixels * pixel).max(LEAST_ERROR)).max(FINEST_ERROR);
    let mut contours: Vec<Vec<DVec2>> =
        level.iter().map(|c| c.iter().map(|p| *p * pixel - mapping.origin).collect()).collect();
    if is_level {
        flatten_base(&mut contours, allowed.max(pixel));
    }
    let ends = ends(&level).map(|p| mapping.to_pixels(p * pixel - mapping.origin));
    let by_card = dvec2(width, height) * (plane.unit.unwrap_or(pixel) / pixel);
    let card = card.map(|card| reading(&card, size, by_card, ends, over_print)).transpose()?;
    let crossed = plane.crossed.map(|crossed| CrossedReading {
        foreshortening: crossed.foreshortening,
        error: crossed.relative_error * width.max(height),
    });
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
        line: line.map(|width| width * pixel),
        cut_off,
        allowed,
        card,
        card_fault,
        crossed,
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
    fn to_mm(self, pixel: DVec2) -> Option<DVec2> {
        Some(levelled(self.to_plane.apply(pixel)?, self.base) * self.pixel - self.origin)
    }

    /// The corner of the picture for what lies beyond the horizon: nothing of an outline does.
    fn to_pixels(self, p: DVec2) -> DVec2 {
        let level = (p + self.origin) / self.pixel - dvec2(self.base.at.x, 0.0);
        let upright = real::unit_vector(self.base.tilt).rotate(level) + self.base.at;
        self.to_plane.inverse().apply(upright).unwrap_or_default()
    }
}

/// The card in the picture, if one is to be used, or why one that is seen is not.
fn seen_card(
    picture: &Picture,
    levels: &GreyLevels,
    options: &Options,
) -> Result<(Option<SeenCard>, Option<CardFault>), TraceError> {
    let is_needed = options.scale == Scale::Card || options.card == CardUse::Needed;
    if options.card == CardUse::Ignored {
        return if options.scale == Scale::Card { Err(TraceError::NoScale) } else { Ok((None, None)) };
    }
    let found = if levels.separated_by == SeparateBy::Brightness {
        card::find(levels)
    } else {
        card::find(&GreyLevels::of(picture.image(), Some(SeparateBy::Brightness))?)
    };
    match found {
        Ok(None) if options.scale == Scale::Card => Err(TraceError::NoScale),
        Ok(None) if is_needed => Err(TraceError::NoCard),
        Ok(card) => Ok((card, None)),
        Err(fault) if is_needed => Err(fault.into()),
        // A single thing that looks like a mark may be anything.
        Err(CardFault::Partly { marks: 1 }) => Ok((None, None)),
        Err(fault) => Ok((None, Some(fault))),
    }
}

/// The points farthest left, right, down and up.
fn ends(contours: &[Vec<DVec2>]) -> [DVec2; 4] {
    let farthest = |key: fn(&DVec2) -> f64| {
        contours.iter().flatten().copied().max_by(|a, b| key(a).total_cmp(&key(b))).unwrap_or_default()
    };
    [farthest(|p| -p.x), farthest(|p| p.x), farthest(|p| -p.y), farthest(|p| p.y)]
}

/// What the card says of an outline of this size, with these `ends` in the picture.
fn reading(
    card: &SeenCard,
    picture: DVec2,
    size: DVec2,
    ends: [DVec2; 4],
    over_print: bool,
) -> Result<CardReading, TraceError> {
    let lengths = |to_card: &Homography| {
        let [left, right, low, high] = ends.map(|p| to_card.apply(p));
        Some(dvec2(left?.distance(right?), low?.distance(high?)))
    };
    let (error, tilt) = card.error(lengths).zip(card.tilt(picture)).ok_or(TraceError::OnlyCard)?;
    Ok(CardReading { size, error, off: card.off, crossings: card.crossings, tilt, over_print })
}

/// Diameter of a disc as large as the largest region, mm.
fn largest_across(edges: &[Vec<DVec2>], scale: PlaneScale) -> f64 {
    let sized = edges.iter().map(|edge| (signed_area(edge), edge));
    sized.max_by(|a, b| a.0.total_cmp(&b.0)).map_or(0.0, |(area, edge)| {
        let (lo, hi) = regions::bounds(edge);
        2.0 * (area.max(0.0) / std::f64::consts::PI).sqrt() * scale.mm_a_unit(hi - lo)
    })
}

/// Whether edges run along the border of a picture for more than a few pixels.
fn runs_along_edge(contours: &[Vec<DVec2>], plane: &Plane, size: DVec2) -> bool {
    const FEW: usize = 3;
    /// Rounding, pixels.
    const NEAR: f64 = 1e-6;
    let to_picture = plane.to_plane.inverse();
    let on_edge = |p: &&DVec2| {
        let Some(p) = to_picture.apply(**p) else { return true };
        p.cmple(DVec2::splat(NEAR)).any() || p.cmpge(size - NEAR).any()
    };
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
