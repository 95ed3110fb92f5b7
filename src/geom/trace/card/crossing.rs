//! A crossing of two edges between black and white, found to a small part of a pixel.
//!
//! A quadratic surface is fitted to the grey levels round the crossing; its saddle point is the crossing, since the
//! four fields round it are symmetrical about it whatever the perspective.

use glam::{DMat2, DVec2, dvec2};

use crate::trace::grey_levels::GreyLevels;

/// Steps until the saddle point stays where it is.
const STEPS: usize = 20;
/// It stays if it moves by less, pixels.
const STILL: f64 = 1e-3;

/// The crossing nearest to `start`, [right, down] in pixels, looking `reach` pixels round it. `None` where there is
/// none within that.
pub(super) fn refined(levels: &GreyLevels, start: DVec2, reach: f64) -> Option<DVec2> {
    let mut at = start;
    for _ in 0..STEPS {
        let step = saddle(levels, at, reach)?;
        at += step.clamp_length_max(reach / 2.0);
        if at.distance(start) > reach {
            return None;
        }
        if step.length() < STILL {
            return Some(at);
        }
    }
    None
}

/// Where the saddle point of the surface round `at` lies, from `at`.
fn saddle(levels: &GreyLevels, at: DVec2, reach: f64) -> Option<DVec2> {
    /// Most samples from the middle to the rim.
    const MOST: f64 = 14.0;
    let step = (reach / MOST).max(1.0);
    let count = (reach / step).floor() as i32;
    // Moments of weight and of weight times value over x^i y^j; those with odd powers of the weight alone vanish.
    let (mut w0, mut w2, mut w4, mut w22) = (0.0, 0.0, 0.0, 0.0);
    let (mut f, mut fx, mut fy, mut fxx, mut fxy, mut fyy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for j in -count..=count {
        for i in -count..=count {
            let p = dvec2(f64::from(i), f64::from(j)) * step;
            let share = 1.0 - p.length_squared() / (reach * reach);
            if share <= 0.0 {
                continue;
            }
            // Tukey's biweight: the rim counts little.
            let weight = share * share;
            let value = weight * levels.sample(at + p)?;
            w0 += weight;
            w2 += weight * p.x * p.x;
            w4 += weight * p.x * p.x * p.x * p.x;
            w22 += weight * p.x * p.x * p.y * p.y;
            f += value;
            fx += value * p.x;
            fy += value * p.y;
            fxx += value * p.x * p.x;
            fxy += value * p.x * p.y;
            fyy += value * p.y * p.y;
        }
    }
    // f ≈ c + gx x + gy y + a x² + b x y + d y², by least squares.
    let gradient = dvec2(fx, fy) / w2;
    let b = fxy / w22;
    // (a + d) and (a − d) apart.
    let sum = (w0 * (fxx + fyy) - 2.0 * w2 * f) / (w0 * (w4 + w22) - 2.0 * w2 * w2);
    let difference = (fxx - fyy) / (w4 - w22);
    let (a, d) = ((sum + difference) / 2.0, (sum - difference) / 2.0);
    let hessian = DMat2::from_cols(dvec2(2.0 * a, b), dvec2(b, 2.0 * d));
    let step = -(hessian.inverse() * gradient);
    (hessian.determinant() < 0.0 && step.is_finite()).then_some(step)
}
