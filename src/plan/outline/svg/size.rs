//! How large a drawing is in the real world.
//!
//! Source of the units: W3C CSS Values and Units Level 3, "Absolute lengths": 1 in = 2.54 cm = 96 px =
//! 72 pt = 6 pc.

use std::ops::Range;

use svgtypes::{Length, LengthUnit, ViewBox};
use usvg::roxmltree::{Document, Node};

use super::SvgError;
use geom::units::{self, MM_PER_INCH};

const MM_PER_PIXEL: f64 = MM_PER_INCH / 96.0;

/// The measures of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Frame {
    /// How long one pixel of usvg is, mm.
    pub unit: f64,
    /// Width and height, mm. `None` if the drawing has none: it is as large as what it shows, then.
    pub size: Option<(f64, f64)>,
    /// Whether the cake file overrules a real size that the drawing gives.
    pub overruled: bool,
    /// How tall the drawing is for each number of pixels in an inch, if it is measured in pixels.
    pub question: Option<String>,
    /// Width and height that usvg has to take instead of the written ones, pixels.
    stand_in: Option<(f64, f64)>,
}

/// The measures of the drawing whose root is `svg`, where the cake file says how long a user unit is.
pub(super) fn find(svg: Node, user_unit: Option<f64>) -> Result<Frame, SvgError> {
    if let Some(unit) = user_unit {
        units::check_size(unit)?;
    }
    let view_box = view_box(svg)?;
    let [width, height] = [side(svg, "width")?, side(svg, "height")?];
    let real = real_size(width, height, view_box);
    match (user_unit, real) {
        (Some(unit), real) => Ok(Frame {
            unit,
            size: size_in_units(width, height, view_box).map(|(w, h)| (w * unit, h * unit)),
            overruled: real.is_some(),
            question: None,
            stand_in: view_box.map(|view| (view.w, view.h)),
        }),
        (None, Some(size)) => {
            // usvg knows units in small letters only.
            let in_capitals = ["width", "height"].iter().any(|side| {
                svg.attribute(*side).is_some_and(|value| value.bytes().any(|b| b.is_ascii_uppercase()))
            });
            let stand_in = in_capitals.then_some((size.0 / MM_PER_PIXEL, size.1 / MM_PER_PIXEL));
            let in_pixels = [width, height].iter().flatten().any(|side| side.unit == LengthUnit::Px);
            let pixels = if in_pixels { size_in_units(width, height, view_box) } else { None };
            let question = pixels.map(|units| which_pixels(size.1 / MM_PER_PIXEL, units.1));
            Ok(Frame { unit: MM_PER_PIXEL, size: Some(size), overruled: false, stand_in, question })
        }
        (None, None) => {
            let tall = height.filter(|height| height.unit == LengthUnit::None).map(|height| height.number);
            let units = size_in_units(width, height, view_box).map(|size| size.1);
            let (tall, units) = (tall.or(view_box.map(|view| view.h)), units.or(tall));
            let which = tall.zip(units).map(|(tall, units)| which_pixels(tall, units));
            Err(SvgError::NoRealSize { found: found(svg), which })
        }
    }
}

/// Pixels in an inch that programs draw with: of PostScript points, of older programs, and of CSS.
const PIXELS_PER_INCH: [f64; 3] = [72.0, 90.0, 96.0];

/// How tall a drawing of so many pixels, which are `units` of its own units, is for each number of pixels in an inch.
fn which_pixels(pixels: f64, units: f64) -> String {
    let named = PIXELS_PER_INCH.map(|per_inch| {
        let tall = pixels * MM_PER_INCH / per_inch;
        let unit = tall / units;
        format!("{tall:.1} mm tall at {per_inch} pixels to the inch (user_unit = \"{unit:.4} mm\")")
    });
    named.join(", ")
}

/// How long a user unit of the drawing whose root is `svg` is by its own account, mm.
pub(super) fn user_unit(svg: Node) -> Result<Option<f64>, SvgError> {
    let view_box = view_box(svg)?;
    let [width, height] = [side(svg, "width")?, side(svg, "height")?];
    let real = real_size(width, height, view_box);
    Ok(real.zip(size_in_units(width, height, view_box)).map(|(real, units)| real.0 / units.0))
}

impl Frame {
    /// The text of the drawing as usvg has to see it, with something put in at a place. With a stand-in
    /// size one pixel is one user unit.
    pub fn apply_to(&self, text: &str, document: &Document, insertion: Option<(usize, String)>) -> String {
        let mut edits: Vec<(Range<usize>, String)> =
            insertion.into_iter().map(|(at, text)| (at..at, text)).collect();
        if let Some((width, height)) = self.stand_in {
            let svg = document.root_element();
            edits.extend([("width", width), ("height", height)].into_iter().filter_map(|(name, value)| {
                Some((svg.attribute_node(name)?.range_value(), value.to_string()))
            }));
        }
        // From the back, so that the first edit does not move the place of the second.
        edits.sort_by_key(|(range, _)| std::cmp::Reverse(range.start));
        let mut text = text.to_owned();
        for (range, value) in edits {
            text.replace_range(range, &value);
        }
        text
    }
}

fn view_box(svg: Node) -> Result<Option<ViewBox>, SvgError> {
    let Some(value) = svg.attribute("viewBox") else { return Ok(None) };
    let bad = || SvgError::BadSize { attribute: "viewBox", value: value.to_owned() };
    let view: ViewBox = value.parse().map_err(|_| bad())?;
    let finite = [view.x, view.y, view.w, view.h].iter().all(|number| number.is_finite());
    if finite { Ok(Some(view)) } else { Err(bad()) }
}

fn side(svg: Node, attribute: &'static str) -> Result<Option<Length>, SvgError> {
    let Some(value) = svg.attribute(attribute).filter(|value| *value != "auto") else { return Ok(None) };
    // Units may be in capitals (CSS Values and Units Level 3, section 2).
    match value.trim().to_ascii_lowercase().parse::<Length>() {
        Ok(length) if length.number > 0.0 && length.number.is_finite() => Ok(Some(length)),
        _ => Err(SvgError::BadSize { attribute, value: value.to_owned() }),
    }
}

/// Width and height in mm, where both have a unit of the real world or one has and the viewBox gives the
/// other.
fn real_size(width: Option<Length>, height: Option<Length>, view: Option<ViewBox>) -> Option<(f64, f64)> {
    match (width, height, view) {
        (Some(width), Some(height), _) => Some((real(width)?, real(height)?)),
        (Some(width), None, Some(view)) => real(width).map(|width| (width, view.h * width / view.w)),
        (None, Some(height), Some(view)) => real(height).map(|height| (view.w * height / view.h, height)),
        _ => None,
    }
}

/// Width and height in user units.
fn size_in_units(width: Option<Length>, height: Option<Length>, view: Option<ViewBox>) -> Option<(f64, f64)> {
    match view {
        Some(view) => Some((view.w, view.h)),
        // Without a viewBox a user unit is a pixel.
        None => Some((pixels(width?)?, pixels(height?)?)),
    }
}

fn real(length: Length) -> Option<f64> {
    let in_mm = match length.unit {
        LengthUnit::Mm => 1.0,
        LengthUnit::Cm => 10.0,
        LengthUnit::In => MM_PER_INCH,
        LengthUnit::Pt => MM_PER_INCH / 72.0,
        LengthUnit::Pc => MM_PER_INCH / 6.0,
        LengthUnit::Px => MM_PER_PIXEL,
        LengthUnit::None | LengthUnit::Percent | LengthUnit::Em | LengthUnit::Ex => return None,
    };
    Some(length.number * in_mm)
}

fn pixels(length: Length) -> Option<f64> {
    match length.unit {
        LengthUnit::None => Some(length.number),
        _ => real(length).map(|mm| mm / MM_PER_PIXEL),
    }
}

/// What the drawing says about its size, for a message.
fn found(svg: Node) -> String {
    let written = |name| svg.attribute(name).map(|value| format!("{name}=\"{value}\""));
    let found: Vec<String> = ["width", "height"].into_iter().filter_map(written).collect();
    if found.is_empty() {
        "it has no width and height".to_owned()
    } else {
        format!("it has {}", found.join(" "))
    }
}
