//! Slabs packed into bakes, bakes into oven loads: both exact.

use super::Pan;

/// A slab that is cut from a bake.
#[derive(Debug, Clone, PartialEq)]
pub struct Slab {
    /// Its name.
    pub name: String,
    /// Its height, mm.
    pub height: f64,
}

/// A bake and the slabs that are cut from it, the thickest first.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bake {
    /// What is cut from it.
    pub slabs: Vec<Slab>,
}

impl Bake {
    /// Height that is used, mm.
    pub fn used(&self) -> f64 {
        self.slabs.iter().map(|slab| slab.height).sum()
    }
}

/// Heights closer than this are one, mm.
const SAME: f64 = 1e-6;

/// Fewest bakes `level` mm high that hold slabs of these heights. Each must be at most `level` high; one that is
/// higher takes a bake for itself.
pub fn bakes_needed(heights: &[f64], level: f64) -> usize {
    let slabs: Vec<Slab> = heights.iter().map(|&height| Slab { name: String::new(), height }).collect();
    pack(&slabs, level).len()
}

/// `slabs` cut from as few bakes `level` mm high as can be. Exact: first fit decreasing, then bettered by branch
/// and bound; cakes have few slabs of a size.
pub fn pack(slabs: &[Slab], level: f64) -> Vec<Bake> {
    let mut sorted = slabs.to_vec();
    sorted.sort_by(|a, b| b.height.total_cmp(&a.height));
    let mut best = first_fit(&sorted, level);
    let total: f64 = sorted.iter().map(|slab| slab.height.min(level)).sum();
    let least = ((total - SAME) / level).ceil().max(0.0) as usize;
    if best.len() > least {
        let mut tries = MOST_TRIES;
        branch(&sorted, level, &mut Vec::new(), &mut best, least, &mut tries);
    }
    best
}

/// Beyond this many steps the packing found so far is kept: more slabs of one size than any cake has.
const MOST_TRIES: u32 = 200_000;

fn first_fit(sorted: &[Slab], level: f64) -> Vec<Bake> {
    let mut bakes: Vec<Bake> = Vec::new();
    for slab in sorted {
        match bakes.iter_mut().find(|bake| bake.used() + slab.height <= level + SAME) {
            Some(bake) => bake.slabs.push(slab.clone()),
            None => bakes.push(Bake { slabs: vec![slab.clone()] }),
        }
    }
    bakes
}

fn branch(
    left: &[Slab],
    level: f64,
    made: &mut Vec<Bake>,
    best: &mut Vec<Bake>,
    least: usize,
    tries: &mut u32,
) {
    if made.len() >= best.len() || best.len() == least || *tries == 0 {
        return;
    }
    *tries -= 1;
    let Some((next, rest)) = left.split_first() else {
        best.clone_from(made);
        return;
    };
    let mut seen: Vec<f64> = Vec::new();
    for i in 0..made.len() {
        let used = made[i].used();
        // Bakes filled alike are alike.
        if used + next.height > level + SAME || seen.iter().any(|other| (other - used).abs() < SAME) {
            continue;
        }
        seen.push(used);
        made[i].slabs.push(next.clone());
        branch(rest, level, made, best, least, tries);
        made[i].slabs.pop();
    }
    if made.len() + 1 < best.len() {
        made.push(Bake { slabs: vec![next.clone()] });
        branch(rest, level, made, best, least, tries);
        made.pop();
    }
}

/// Bakes counted by pan, those in pans of one size together, whatever is baked in them.
pub fn by_pan(bakes: impl IntoIterator<Item = (Pan, u32)>) -> Vec<(Pan, u32)> {
    let mut pans: Vec<(Pan, u32)> = Vec::new();
    for (pan, count) in bakes {
        match pans.iter_mut().find(|(known, _)| known.shape.is(pan.shape)) {
            Some((_, known)) => *known += count,
            None => pans.push((pan, count)),
        }
    }
    pans
}

/// Oven loads for so many bakes of each pan, when `at_once` pans bake together. Exact: bakes dealt out in turn,
/// pan by pan, reach both bounds.
pub fn loads_needed<'a>(bakes: impl IntoIterator<Item = (&'a Pan, u32)>, at_once: u32) -> u32 {
    let (all, most) = bakes
        .into_iter()
        .fold((0, 0), |(all, most), (pan, count)| (all + count, count.div_ceil(pan.count.max(1)).max(most)));
    all.div_ceil(at_once.max(1)).max(most)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First fit decreasing takes three bakes here; two will do.
    #[test]
    fn packing_betters_first_fit() {
        let heights = [40.0, 30.0, 30.0, 20.0, 20.0, 20.0];
        assert_eq!(bakes_needed(&heights, 80.0), 2);
        assert_eq!(bakes_needed(&[], 80.0), 0);
        assert_eq!(bakes_needed(&[90.0, 10.0], 80.0), 2);
    }
}
