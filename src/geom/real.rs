//! Functions of real numbers that give the same bits on every platform.
//!
//! Those of the standard library (`f64::sin` and the like) may differ between platforms: their precision is
//! unspecified. These are libm's, and products. The lint in `tests/lint/clippy.toml` points here. Square roots,
//! rounding and remainders are exact in the standard library and are used from there.

use glam::{DAffine3, DMat3, DVec2, DVec3};

/// Sine of an angle in radians.
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine of an angle in radians.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Sine and cosine of an angle in radians.
pub fn sin_cos(x: f64) -> (f64, f64) {
    libm::sincos(x)
}

/// Tangent of an angle in radians.
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}

/// Angle in radians, −π/2 to π/2, whose sine is `x`.
pub fn asin(x: f64) -> f64 {
    libm::asin(x)
}

/// Angle in radians, 0 to π, whose cosine is `x`.
pub fn acos(x: f64) -> f64 {
    libm::acos(x)
}

/// Angle in radians, −π to π, from the direction of x to (x, y).
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// e to the power of `x`.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Decimal logarithm.
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// Cube root.
pub fn cbrt(x: f64) -> f64 {
    libm::cbrt(x)
}

/// `x` to the power of `y`.
pub fn powf(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// `x` to a whole power, by squaring.
pub fn powi(x: f64, power: i32) -> f64 {
    let (mut result, mut square, mut left) = (1.0, x, power.unsigned_abs());
    while left > 0 {
        if left & 1 == 1 {
            result *= square;
        }
        square *= square;
        left >>= 1;
    }
    if power < 0 { 1.0 / result } else { result }
}

/// Length of the hypotenuse of a right triangle with these legs.
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}

/// The Bessel function of the first kind of order 0.
pub fn bessel_j0(x: f64) -> f64 {
    libm::j0(x)
}

/// The Bessel function of the first kind of order 1.
pub fn bessel_j1(x: f64) -> f64 {
    libm::j1(x)
}

/// The vector of length 1 at an angle from x, radians counter-clockwise.
pub fn unit_vector(angle: f64) -> DVec2 {
    let (sin, cos) = sin_cos(angle);
    DVec2::new(cos, sin)
}

/// The angle of a vector from x, radians counter-clockwise, −π to π.
pub fn direction_angle(v: DVec2) -> f64 {
    atan2(v.y, v.x)
}

/// The angle from one vector of the plane to another, radians counter-clockwise, −π to π.
pub fn angle_from_to(from: DVec2, to: DVec2) -> f64 {
    atan2(from.perp_dot(to), from.dot(to))
}

/// The angle between two vectors, radians, 0 to π.
pub fn angle_between(a: DVec3, b: DVec3) -> f64 {
    atan2(a.cross(b).length(), a.dot(b))
}

/// The rotation about z by an angle in radians.
pub fn rotation_z(angle: f64) -> DMat3 {
    let (sin, cos) = sin_cos(angle);
    DMat3::from_cols(DVec3::new(cos, sin, 0.0), DVec3::new(-sin, cos, 0.0), DVec3::Z)
}

/// The frame turned about z by an angle in radians.
pub fn turned_z(angle: f64) -> DAffine3 {
    DAffine3::from_mat3(rotation_z(angle))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Within the last digits of what this platform's standard library gives.
    #[test]
    fn as_the_standard_library_but_for_the_last_digits() {
        let close =
            |a: f64, b: f64| assert!((a - b).abs() <= 16.0 * f64::EPSILON * b.abs().max(1.0), "{a} {b}");
        for k in 1..400 {
            let x = f64::from(k) / 37.0;
            close(sin(x), x.sin());
            close(cos(-x), x.cos());
            close(tan(x / 8.0), (x / 8.0).tan());
            close(asin(x / 11.0), (x / 11.0).asin());
            close(acos(x / 11.0), (x / 11.0).acos());
            close(atan2(-x, 3.0), (-x).atan2(3.0));
            close(exp(-x), (-x).exp());
            close(log10(x), x.log10());
            close(cbrt(x), x.cbrt());
            close(powf(x, 0.3), x.powf(0.3));
            close(hypot(x, 2.0), x.hypot(2.0));
            let v = DVec2::new(x - 5.0, 2.0);
            close(direction_angle(v), v.to_angle());
            // glam's are arc cosines, which lose half of the digits at small angles.
            let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-7, "{a} {b}");
            near(angle_from_to(DVec2::new(1.0, x), v), DVec2::new(1.0, x).angle_to(v));
            near(angle_between(v.extend(1.0), DVec3::Y), v.extend(1.0).angle_between(DVec3::Y));
            assert!(rotation_z(x).abs_diff_eq(DMat3::from_rotation_z(x), 1e-15));
        }
    }

    #[test]
    fn whole_powers_are_products() {
        assert_eq!(
            [powi(3.0, 0), powi(3.0, 1), powi(1.1, 2), powi(1.1, 3)],
            [1.0, 3.0, 1.1 * 1.1, 1.1 * (1.1 * 1.1)]
        );
        assert_eq!((powi(2.0, -3), powi(-2.0, 5), powi(10.0, 2)), (0.125, -32.0, 100.0));
    }
}
