//! The union of many solids: half by half, those that lie near each other first, and only where their boxes meet.
//!
//! Each half is a list of solids of which no two have a point in common. Of two halves only those whose boxes meet are
//! put through a boolean, all of a half at once. So solids that stand apart are never put through one, and most booleans
//! are small.

use glam::DVec3;

use crate::{Cancel, Solid, SolidError};

/// Solids of which no two have a point in common, and which are together what `solids` are together.
///
/// # Errors
/// When one of them is faulty, the kernel makes no solid of some, or once `cancel` asks to stop.
pub(crate) fn joined(
    solids: impl IntoIterator<Item = Solid>,
    cancel: &Cancel,
) -> Result<Vec<Solid>, SolidError> {
    let mut boxed = Vec::new();
    for solid in solids {
        solid.check()?;
        boxed.extend(Boxed::of(solid));
    }
    Ok(united(&mut boxed, cancel)?.into_iter().map(|boxed| boxed.solid).collect())
}

/// A solid and the box round it.
#[derive(Clone)]
struct Boxed {
    solid: Solid,
    lo: DVec3,
    hi: DVec3,
}

impl Boxed {
    fn of(solid: Solid) -> Option<Self> {
        let (lo, hi) = solid.bounds()?;
        Some(Self { solid, lo, hi })
    }

    fn meets(&self, other: &Self) -> bool {
        self.lo.cmple(other.hi).all() && other.lo.cmple(self.hi).all()
    }
}

/// Solids of which no two have a point in common, and which are together what `solids` are together. None of those
/// that are given back need be joined any more.
fn united(solids: &mut [Boxed], cancel: &Cancel) -> Result<Vec<Boxed>, SolidError> {
    cancel.check()?;
    if solids.len() < 2 {
        return Ok(solids.to_vec());
    }
    let middle = |solid: &Boxed| (solid.lo + solid.hi) / 2.0;
    let (lo, hi) = solids
        .iter()
        .map(middle)
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(lo, hi), p| (lo.min(p), hi.max(p)));
    let axis = (hi - lo).max_position();
    let half = solids.len() / 2;
    // Sorted by the place in the list last, so that the same solids are always joined in the same order.
    solids.sort_by(|a, b| middle(a)[axis].total_cmp(&middle(b)[axis]));
    let (left, right) = solids.split_at_mut(half);
    let (left, right) = rayon::join(|| united(left, cancel), || united(right, cancel));
    merged(left?, right?, cancel)
}

/// Two lists of solids, none of which meets another of its own list, as one such list.
fn merged(left: Vec<Boxed>, right: Vec<Boxed>, cancel: &Cancel) -> Result<Vec<Boxed>, SolidError> {
    let (count, begin) = (left.len() + right.len(), left.len());
    let mut all: Vec<Option<Boxed>> = left.into_iter().chain(right).map(Some).collect();
    let round = |part: &[Option<Boxed>]| {
        part.iter()
            .flatten()
            .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(lo, hi), s| (lo.min(s.lo), hi.max(s.hi)))
    };
    let near = |part: &[Option<Boxed>], first: usize, (lo, hi): (DVec3, DVec3)| {
        let meets = |s: &Boxed| s.lo.cmple(hi).all() && lo.cmple(s.hi).all();
        let of = part.iter().enumerate();
        of.filter(|(_, s)| s.as_ref().is_some_and(meets)).map(|(i, _)| first + i).collect::<Vec<_>>()
    };
    let (one, two) = all.split_at(begin);
    let (one, two) = (near(one, 0, round(two)), near(two, begin, round(one)));
    // Which hang together by boxes that meet.
    let mut group: Vec<usize> = (0..count).collect();
    fn root(group: &mut [usize], mut at: usize) -> usize {
        while group[at] != at {
            group[at] = group[group[at]];
            at = group[at];
        }
        at
    }
    for &i in &one {
        cancel.check()?;
        for &j in &two {
            if let (Some(a), Some(b)) = (&all[i], &all[j])
                && a.meets(b)
            {
                let (a, b) = (root(&mut group, i), root(&mut group, j));
                group[a.max(b)] = a.min(b);
            }
        }
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); count];
    for at in 0..count {
        let root = root(&mut group, at);
        groups[root].push(at);
    }
    let mut done = Vec::with_capacity(count);
    for members in groups.into_iter().filter(|members| !members.is_empty()) {
        let (one, two): (Vec<usize>, Vec<usize>) = members.iter().partition(|at| **at < begin);
        if one.is_empty() || two.is_empty() {
            done.extend(members.into_iter().filter_map(|at| all[at].take()));
            continue;
        }
        let mut side = |of: Vec<usize>| {
            let solids: Vec<Solid> =
                of.into_iter().filter_map(|at| all[at].take()).map(|s| s.solid).collect();
            Solid::side_by_side(&solids)
        };
        done.extend(Boxed::of(side(one)?.try_union(&side(two)?, cancel)?));
    }
    Ok(done)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Region;

    fn cube(x: f64) -> Solid {
        let square = Region::rectangle(glam::dvec2(x, 0.0), glam::dvec2(x + 1.0, 1.0));
        Solid::prism(&square, 0.0, 1.0)
    }

    #[test]
    fn solids_that_stand_apart_stay_apart_and_a_chain_is_one() {
        let apart = joined((0..50).map(|i| cube(2.0 * f64::from(i))), &Cancel::new()).unwrap();
        assert_eq!(apart.len(), 50);
        assert!(apart.iter().all(|solid| solid.to_mesh().len() == 12), "none was put through a boolean");
        let chain = joined((0..50).map(|i| cube(0.5 * f64::from(i))), &Cancel::new()).unwrap();
        assert_eq!(chain.len(), 1);
        assert!((chain[0].volume() - 25.5).abs() < 1e-9);
        assert!(joined([], &Cancel::new()).unwrap().is_empty());
        let faulty = Solid::faulty(crate::Cancelled.into());
        assert!(joined([cube(0.0), faulty], &Cancel::new()).is_err());
    }
}
