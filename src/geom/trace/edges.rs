//! The edges of a picture in the plane of the outline, without those of a scale card.
//!
//! With a card, what is traced lies either on it, on its white paper, or beside it, on another ground. On the card it
//! is dark; beside it, it stands out from the ground there. What is printed, the sheet itself, and what lies so far
//! off that it cannot belong to the outline is no edge.

use glam::{DVec2, dvec2};

use super::{
    Background, Options, SeparateBy, TraceError,
    card::{SeenCard, layout},
    contours::{Contour, Inside, contours, signed_area},
    grey_levels::{GreyLevels, WHITE},
    plane::Plane,
};
use crate::region::winding;

/// Edges, and what they separate.
pub(super) struct Edges {
    /// In the plane, [right, up]: outer ones counter-clockwise.
    pub contours: Vec<Vec<DVec2>>,
    /// From 0 to [`WHITE`].
    pub threshold: f64,
    pub background: Background,
}

/// What lies farther from the middle of the card cannot belong to the outline, mm.
const FARTHEST: f64 = 3000.0;
/// Something lies on the card if this part of what should be blank is dark.
const COVERED: f64 = 0.005;

/// The edges of a picture in `plane`; without those of `card` if there is one.
pub(super) fn edges(
    levels: &GreyLevels,
    options: &Options,
    card: Option<&SeenCard>,
    plane: &Plane,
) -> Result<Edges, TraceError> {
    let is_on_card = card.is_some_and(|card| {
        levels.separated_by == SeparateBy::Brightness
            && options.background.is_none_or(|background| background == Background::Light)
            && is_covered(levels, card)
    });
    let threshold = match (options.threshold, card) {
        (Some(share), _) => (share * (WHITE - 1.0)).floor() + 0.5,
        (None, None) => levels.otsu()?,
        (None, Some(card)) if is_on_card => GreyLevels::otsu_of(on_card(levels, card).into_iter())?,
        (None, Some(card)) => beside_threshold(levels, card),
    };
    let background = match options.background {
        Some(background) => background,
        None if is_on_card => Background::Light,
        None => levels.background(threshold)?,
    };
    let inside = if background == Background::Light { Inside::Below } else { Inside::Above };
    let of_outline = |threshold: f64| -> Result<Vec<Contour>, TraceError> {
        let mut all = contours(levels, threshold, inside)?;
        if let Some(card) = card {
            all.retain(|contour| is_of_outline(contour, card));
        }
        Ok(all)
    };
    let mut found = of_outline(threshold)?;
    let mut threshold = threshold;
    // The card says nothing of how bright the outline and its ground are where the light falls otherwise.
    if card.is_some()
        && options.threshold.is_none()
        && let Some(middle) = largest(&found).and_then(|contour| middle_level(levels, contour))
    {
        threshold = middle;
        found = of_outline(threshold)?;
    }
    let in_plane =
        |contour: Contour| contour.into_iter().map(|p| plane.to_plane.apply(p)).collect::<Option<Vec<_>>>();
    let contours = found.into_iter().filter_map(in_plane).collect();
    Ok(Edges { contours, threshold, background })
}

/// The edge with the largest area inside.
fn largest(contours: &[Contour]) -> Option<&Contour> {
    contours.iter().max_by(|a, b| signed_area(a).total_cmp(&signed_area(b)))
}

/// Halfway between the levels on both sides of an edge, where a soft edge has its middle; never a value that a pixel
/// has. `None` for edges too short to tell.
fn middle_level(levels: &GreyLevels, contour: &[DVec2]) -> Option<f64> {
    /// How far from the edge both sides are looked at, pixels: beyond the blur.
    const ASIDE: f64 = 4.0;
    /// Points looked at, and how far the neighbours are that show their direction.
    const POINTS: usize = 2000;
    const ALONG: usize = 3;
    const LEAST: usize = 40;
    let n = contour.len();
    let mut sides: [Vec<f64>; 2] = Default::default();
    for i in (0..n).step_by(n.div_ceil(POINTS)) {
        let along = contour[(i + ALONG) % n] - contour[(i + n - ALONG % n) % n];
        let Some(aside) = along.perp().try_normalize() else { continue };
        let both = [aside, -aside].map(|aside| levels.sample(contour[i] + aside * ASIDE));
        if let [Some(one), Some(other)] = both {
            sides[0].push(one);
            sides[1].push(other);
        }
    }
    if sides[0].len() < LEAST {
        return None;
    }
    let [one, other] = sides.map(|mut side| {
        let at = side.len() / 2;
        *side.select_nth_unstable_by(at, f64::total_cmp).1
    });
    Some(((one + other) / 2.0).floor() + 0.5)
}

/// Whether an edge may belong to the outline: not the card's print, nor its sheet, nor the ground it lies on, nor far
/// off.
fn is_of_outline(contour: &[DVec2], card: &SeenCard) -> bool {
    let on_card = |p: &DVec2| card.to_card.apply(*p);
    let is_near = |p: &DVec2| on_card(p).is_some_and(|p| p.length() < FARTHEST);
    let is_print = || contour.iter().all(|p| on_card(p).is_some_and(layout::is_print));
    let is_sheet = || card.marks.iter().any(|&mark| winding(contour, mark) != 0);
    contour.iter().all(is_near) && !is_print() && !is_sheet()
}

/// Whether something dark lies on the part of the card that should be blank.
fn is_covered(levels: &GreyLevels, card: &SeenCard) -> bool {
    const STEP: f64 = 1.0;
    let blank = samples(levels, card, STEP, layout::is_blank);
    let dark = blank.iter().filter(|value| f64::from(**value) < card.middle_grey).count();
    dark as f64 > COVERED * blank.len() as f64
}

/// Levels on the card.
fn on_card(levels: &GreyLevels, card: &SeenCard) -> Vec<u16> {
    const STEP: f64 = 0.5;
    samples(levels, card, STEP, |p| layout::is_blank(p) || layout::is_print(p))
}

/// The threshold for what lies beside the card: Otsu's where few levels lie near it, as between two even shades;
/// otherwise, as where a small template lies on a shaded ground, halfway between the card's black and white.
fn beside_threshold(levels: &GreyLevels, card: &SeenCard) -> f64 {
    /// Near is within this part of [`WHITE`], and few are less than this part of all.
    const NEAR: f64 = 0.04;
    const FEW: f64 = 0.05;
    let beside = beside_card(levels, card);
    let usual = if levels.separated_by == SeparateBy::Brightness { Some(card.middle_grey) } else { None };
    match (GreyLevels::otsu_of(beside.iter().copied()), usual) {
        (Ok(otsu), Some(usual)) => {
            let near = beside.iter().filter(|value| (f64::from(**value) - otsu).abs() < NEAR * WHITE).count();
            if (near as f64) < FEW * beside.len() as f64 { otsu } else { usual }
        }
        (Ok(otsu), None) => otsu,
        (Err(_), usual) => usual.unwrap_or(WHITE / 2.0),
    }
}

/// Levels at points of the card, `step` mm apart, where `wanted`.
fn samples(levels: &GreyLevels, card: &SeenCard, step: f64, wanted: impl Fn(DVec2) -> bool) -> Vec<u16> {
    let to_picture = card.to_card.inverse();
    let count = (layout::REACH / step).floor();
    let (across, up) = (count.x as i32, count.y as i32);
    let points =
        (-up..=up).flat_map(|y| (-across..=across).map(move |x| dvec2(f64::from(x), f64::from(y)) * step));
    points
        .filter(|p| wanted(*p))
        .filter_map(|p| to_picture.apply(p).and_then(|p| levels.sample(p)))
        .map(|value| value as u16)
        .collect()
}

/// Levels of pixels that do not lie on the sheet of the card, evenly spaced.
fn beside_card(levels: &GreyLevels, card: &SeenCard) -> Vec<u16> {
    /// At least so many pixels are looked at, if there are so many.
    const ENOUGH: f64 = 300_000.0;
    let step = (((levels.width * levels.height) as f64 / ENOUGH).sqrt().floor() as usize).max(1);
    let mut values = Vec::new();
    for y in (0..levels.height).step_by(step) {
        for x in (0..levels.width).step_by(step) {
            let p = dvec2(x as f64 + 0.5, y as f64 + 0.5);
            if !card.to_card.apply(p).is_some_and(layout::is_on_sheet) {
                values.push(levels.values[y * levels.width + x]);
            }
        }
    }
    values
}
