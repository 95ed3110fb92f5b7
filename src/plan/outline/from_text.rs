//! Words as an outline: letters of the program's own font, or of a font file beside the cake file.

use formats::text::{
    Face,
    words::{Typeface, Words},
};
use kurbo::BezPath;

use super::{Reading, closed_path, flattened};
use cakefile::{Diagnostic, schema::TextOutline, world::Content};
use geom::{Region, Tolerance, units::UnitStyle};

/// The outlines of the letters of `source`, about the middle of their width and of their capitals. What overlaps counts
/// once: strokes of a letter, and letters that join.
pub(super) fn path(source: &TextOutline, mut reading: Reading<'_>) -> Option<BezPath> {
    let unit = reading.unit;
    let capital = reading.value(Some(source.size.to_mm(unit)), "size");
    let spacing = reading.value(source.spacing.as_ref().map(|length| length.to_mm(unit)), "spacing");
    let bytes = match &source.font {
        None => None,
        Some(file) => Some(reading.load_at("font", file, Content::Font)?),
    };
    let (capital, spacing) = (capital??, spacing?.unwrap_or(0.0));
    if bytes.is_some() && source.bold == Some(true) {
        reading.problems.push(
            Diagnostic::warning(
                reading.field.key("bold"),
                "`bold` has no meaning here: a font file has its own letters",
            )
            .fix("name the file of the bold letters, and take `bold` out"),
        );
    }
    if !(-0.5 * capital..=5.0 * capital).contains(&spacing) {
        let style = UnitStyle::new(unit);
        return reading.refuse(
            "spacing",
            format!("letters {} high cannot be read when they stand so far off", style.length_fine(capital)),
            format!(
                "give {} to {}; 0 if left out",
                style.length_fine(-0.5 * capital),
                style.length_fine(5.0 * capital)
            ),
        );
    }
    let typeface = match &bytes {
        Some(bytes) => Typeface::File(bytes),
        None if source.bold == Some(true) => Typeface::Shipped(Face::Bold),
        None => Typeface::Shipped(Face::Plain),
    };
    match (Words { words: &source.words, capital, spacing, typeface }).outline() {
        // What a font fills by the non-zero rule, as outlines that do not overlap.
        Ok(path) => Some(closed_path(&Region::new(flattened(&path, Tolerance::TOOL)))),
        Err(error) => {
            let key = if error.is_of_font() { "font" } else { "words" };
            let message = match (&source.font, error.is_of_font()) {
                (Some(file), true) => format!("{file}: {error}"),
                _ => error.to_string(),
            };
            reading.refuse(key, message, error.fix())
        }
    }
}
