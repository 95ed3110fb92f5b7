//! How well colours are told apart: contrast of letters on their ground.
//!
//! Relative luminance and contrast as the Web Content Accessibility Guidelines (WCAG) 2.2 define them; 4.5 to 1 is what
//! they ask of text at least (success criterion 1.4.3).

use crate::model::Rgb;
use geom::real;

/// The least contrast of text with its ground (WCAG 2.2, 1.4.3).
pub const LEAST_CONTRAST: f64 = 4.5;

const BLACK: Rgb = Rgb(0, 0, 0);
const WHITE: Rgb = Rgb(255, 255, 255);

/// Relative luminance, 0 for black to 1 for white (WCAG 2.2, "relative luminance").
pub fn luminance(Rgb(r, g, b): Rgb) -> f64 {
    let [r, g, b] = [r, g, b].map(|stored| {
        let stored = f64::from(stored) / 255.0;
        if stored <= 0.04045 { stored / 12.92 } else { real::powf((stored + 0.055) / 1.055, 2.4) }
    });
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

/// Contrast of two colours, 1 to 21 (WCAG 2.2, "contrast ratio").
pub fn contrast(a: Rgb, b: Rgb) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// Black or white, whichever is read better on `ground`: one of them always has a contrast of 4.58 or more.
pub fn ink_on(ground: Rgb) -> Rgb {
    if contrast(WHITE, ground) >= contrast(BLACK, ground) { WHITE } else { BLACK }
}

/// `colour` as letters on `ground`: as it is where that can be read, else moved towards black or white, whichever is read
/// better there, as little as will do.
pub fn legible(colour: Rgb, ground: Rgb) -> Rgb {
    /// Steps on the way.
    const STEPS: u32 = 50;
    let to = ink_on(ground);
    (0..=STEPS)
        .map(|step| mixed(colour, to, f64::from(step) / f64::from(STEPS)))
        .find(|shade| contrast(*shade, ground) >= LEAST_CONTRAST)
        .unwrap_or(to)
}

/// A colour between two, by the share of the second.
pub fn mixed(a: Rgb, b: Rgb, share: f64) -> Rgb {
    let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * share).round() as u8;
    Rgb(mix(a.0, b.0), mix(a.1, b.1), mix(a.2, b.2))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Black on white is 21:1 by the definition itself; the greys are those that texts on WCAG name as the last that passes
    /// on white and the first that does not (from memory: #767676 at 4.54, #777777 at 4.48).
    #[test]
    fn contrast_is_that_of_the_guidelines() {
        assert!((contrast(BLACK, WHITE) - 21.0).abs() < 1e-12);
        assert!((contrast(Rgb(0x76, 0x76, 0x76), WHITE) - 4.54).abs() < 0.005);
        assert!((contrast(Rgb(0x77, 0x77, 0x77), WHITE) - 4.48).abs() < 0.005);
        assert!((contrast(WHITE, WHITE) - 1.0).abs() < 1e-12);
        // The luminance of the three lights adds up to that of white.
        let lights = [Rgb(255, 0, 0), Rgb(0, 255, 0), Rgb(0, 0, 255)].map(luminance);
        assert!((lights.iter().sum::<f64>() - luminance(WHITE)).abs() < 1e-12);
    }

    #[test]
    fn letters_on_any_ground_can_be_read() {
        for r in (0..=255).step_by(15) {
            for g in (0..=255).step_by(15) {
                for b in (0..=255).step_by(51) {
                    let ground = Rgb(r as u8, g as u8, b as u8);
                    assert!(contrast(ink_on(ground), ground) >= LEAST_CONTRAST, "{ground:?}");
                    let letters = legible(Rgb(255, 204, 0), ground);
                    assert!(contrast(letters, ground) >= LEAST_CONTRAST, "{ground:?}");
                }
            }
        }
        let plum = Rgb(0x6a, 0x3a, 0x52);
        assert_eq!(legible(plum, WHITE), plum, "what can be read stays");
    }
}
