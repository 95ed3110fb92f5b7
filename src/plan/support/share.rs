//! How a stiff board shares its load among the dowels under it.
//!
//! The board is taken as stiff and the dowels as equal springs that push but do not pull, as a bolt group is
//! worked out in any handbook: R = a + b x + c y, with the sums of forces and moments kept.

use glam::{DMat3, DVec2, DVec3};

/// What is left over of forces and moments counts as none below this share.
const BALANCED: f64 = 1e-6;

/// The push of each dowel in `at` when `load` stands on the board with its centre of mass over `centre`; `None`
/// if the board tips over, because the load stands outside all of them.
///
/// ```
/// use plan::support::share::reactions;
/// use glam::dvec2;
/// let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| dvec2(x, y));
/// let pushes = reactions(&corners, 8.0, dvec2(0.0, 0.0)).unwrap();
/// assert!(pushes.iter().all(|push| (push - 2.0).abs() < 1e-6));
/// assert!(reactions(&corners, 8.0, dvec2(1.5, 0.0)).is_none());
/// ```
pub fn reactions(at: &[DVec2], load: f64, centre: DVec2) -> Option<Vec<f64>> {
    let mut bearing: Vec<usize> = (0..at.len()).collect();
    while !bearing.is_empty() {
        let pushes = fitted(&bearing.iter().map(|&i| at[i]).collect::<Vec<_>>(), load, centre)?;
        let least = pushes.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1));
        match least {
            // A dowel that would have to pull lifts off, the furthest first.
            Some((worst, &push)) if push < -BALANCED * load => {
                bearing.remove(worst);
            }
            _ => {
                let mut all = vec![0.0; at.len()];
                for (&i, push) in bearing.iter().zip(pushes) {
                    all[i] = push.max(0.0);
                }
                return Some(all);
            }
        }
    }
    None
}

/// Pushes that are linear in place and balance the load; `None` if none do.
fn fitted(at: &[DVec2], load: f64, centre: DVec2) -> Option<Vec<f64>> {
    let spread = at.iter().map(|p| p.distance(centre)).fold(0.0, f64::max).max(1e-9);
    // From the load, in units of the furthest dowel, so that all three sums are of one size.
    let own: Vec<DVec2> = at.iter().map(|p| (*p - centre) / spread).collect();
    let ones = |p: &DVec2| DVec3::new(1.0, p.x, p.y);
    let sums = own.iter().map(|p| outer(ones(p))).fold(DMat3::ZERO, |a, b| a + b);
    // Dowels in a line or at one point leave directions without hold: a touch of softness there lets the rest be
    // solved, and the balance is looked at afterwards.
    let solved = (sums + DMat3::IDENTITY * 1e-9).inverse() * DVec3::new(load, 0.0, 0.0);
    let pushes: Vec<f64> = own.iter().map(|p| solved.dot(ones(p))).collect();
    let left = own.iter().zip(&pushes).map(|(p, push)| ones(p) * *push).sum::<DVec3>() - DVec3::X * load;
    (left.abs().max_element() <= BALANCED * load.max(f64::MIN_POSITIVE)).then_some(pushes)
}

fn outer(v: DVec3) -> DMat3 {
    DMat3::from_cols(v * v.x, v * v.y, v * v.z)
}

/// The greatest push on any dowel if any one of them is a hair too short to carry, as hand-cut ones are: what
/// each must be good for. Three always carry, for a plane goes through any three heads; of fewer none can be missing.
pub fn uneven(at: &[DVec2], load: f64, centre: DVec2) -> Option<f64> {
    let greatest = |pushes: Vec<f64>| pushes.into_iter().fold(0.0, f64::max);
    let all = greatest(reactions(at, load, centre)?);
    if at.len() < 4 {
        return Some(all);
    }
    let without = |short: usize| {
        let others: Vec<DVec2> =
            at.iter().enumerate().filter(|(i, _)| *i != short).map(|(_, p)| *p).collect();
        // Where the board would tip, it comes down on the short one after all.
        reactions(&others, load, centre).map_or(all, greatest)
    };
    Some((0..at.len()).map(without).fold(all, f64::max))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use glam::dvec2;

    use super::*;

    fn round(n: u32, radius: f64) -> Vec<DVec2> {
        (0..n).map(|i| radius * DVec2::from_angle(TAU * f64::from(i) / f64::from(n))).collect()
    }

    /// Three legs at the corners of a triangle carry by the lever rule: the load over one leg rests on it alone.
    #[test]
    fn three_legs_by_the_lever_rule() {
        let legs = [dvec2(0.0, 0.0), dvec2(100.0, 0.0), dvec2(0.0, 100.0)];
        let pushes = reactions(&legs, 12.0, dvec2(25.0, 50.0)).unwrap();
        for (got, expected) in pushes.iter().zip([3.0, 3.0, 6.0]) {
            assert!((got - expected).abs() < 1e-6, "{pushes:?}");
        }
        assert!(reactions(&legs, 12.0, dvec2(60.0, 60.0)).is_none());
    }

    /// A bolt group: four at the corners of a square of side 2 a, load off by e: R = P/4 (1 ± e/a).
    #[test]
    fn a_bolt_group_under_a_load_off_its_middle() {
        let bolts = [(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)].map(|(x, y)| dvec2(x, y));
        let pushes = reactions(&bolts, 40.0, dvec2(20.0, 0.0)).unwrap();
        for (got, expected) in pushes.iter().zip([6.0, 14.0, 14.0, 6.0]) {
            assert!((got - expected).abs() < 1e-6, "{pushes:?}");
        }
    }

    #[test]
    fn dowels_do_not_pull() {
        let pushes = reactions(&round(6, 40.0), 10.0, dvec2(34.0, 0.0)).unwrap();
        assert!(pushes.iter().all(|push| *push >= 0.0));
        assert!((pushes.iter().sum::<f64>() - 10.0).abs() < 1e-5);
        let moment: f64 = pushes.iter().zip(round(6, 40.0)).map(|(push, p)| push * p.x).sum();
        assert!((moment - 340.0).abs() < 1e-3, "{pushes:?}");
    }

    /// A table with four legs, one short, rocks on two: each carries half.
    #[test]
    fn of_four_one_short_two_carry_half_each() {
        assert!((uneven(&round(4, 40.0), 10.0, DVec2::ZERO).unwrap() - 5.0).abs() < 1e-6);
        assert!((uneven(&round(3, 40.0), 9.0, DVec2::ZERO).unwrap() - 3.0).abs() < 1e-6);
        assert!(uneven(&round(6, 40.0), 12.0, DVec2::ZERO).unwrap() > 2.0);
    }

    #[test]
    fn two_dowels_hold_only_what_stands_between_them() {
        let two = [dvec2(-10.0, 0.0), dvec2(10.0, 0.0)];
        let pushes = reactions(&two, 4.0, dvec2(5.0, 0.0)).unwrap();
        assert!((pushes[1] - 3.0).abs() < 1e-4, "{pushes:?}");
        assert!(reactions(&two, 4.0, dvec2(0.0, 3.0)).is_none());
        assert!(reactions(&[], 4.0, DVec2::ZERO).is_none());
    }
}
