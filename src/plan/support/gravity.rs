//! From mass to weight.

/// Standard gravity, m/s² (ISO 80000-3).
pub const GRAVITY: f64 = 9.806_65;

/// The weight of `grams`, N.
pub fn weight(grams: f64) -> f64 {
    grams * GRAVITY / 1000.0
}
