//! The sRGB transfer curve (IEC 61966-2-1): linear light to stored value and back, both 0 to 1.

/// Linear light to stored value.
pub fn encode(linear: f64) -> f64 {
    if linear <= 0.003_130_8 { linear * 12.92 } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 }
}

/// Stored value to linear light.
pub fn decode(stored: f64) -> f64 {
    if stored <= 0.040_45 { stored / 12.92 } else { ((stored + 0.055) / 1.055).powf(2.4) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn encoding_and_decoding_undo_each_other() {
        for value in 0..=255 {
            let stored = f64::from(value) / 255.0;
            assert!((encode(decode(stored)) - stored).abs() < 1e-6);
        }
    }
}
