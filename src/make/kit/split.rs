//! Plates larger than the bed: cut into pieces that join with dovetails.
//!
//! A plate is halved again and again until every piece fits. Of all straight cuts along x or y the one is
//! taken that leaves the fewest pieces, then the one that crosses the working edge least, then the one whose
//! joints are wide enough for a dovetail, then the one nearest to the middle; of the best of these the first that
//! leaves two pieces, neither of them a strip or a crumb ([`is_sliver`]) and neither with a knife edge along the
//! cut, or the one that leaves the fewest of such. A dovetail keeps the two
//! pieces from being pulled apart along the plate; they are dropped into each other from above. The clearance
//! lies round the dovetail only: the straight faces meet, so that the whole keeps its length.

use glam::{DVec2, Vec2Swizzles as _, dvec2};

use cakefile::Severity;
use geom::{Region, SteppedPlate, Tolerance};
use plan::design::Printing;

use super::{
    bed,
    draft::{Draft, Finding, found},
};

/// Which way a cut runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Across {
    /// The cut is upright: all its points have one x.
    X,
    /// The cut is level: all its points have one y.
    Y,
}

impl Across {
    /// A point at `along` the cut and `over` across it.
    fn point(self, along: f64, over: f64) -> DVec2 {
        match self {
            Self::X => dvec2(over, along),
            Self::Y => dvec2(along, over),
        }
    }

    fn over(self, p: DVec2) -> f64 {
        match self {
            Self::X => p.x,
            Self::Y => p.y,
        }
    }

    /// Everything on one side of a cut at `at`: below it or above it.
    fn side(self, at: f64, above: bool) -> Region {
        /// Beyond any plate, mm.
        const FAR: f64 = 1e5;
        let (low, high) = if above { (at, FAR) } else { (-FAR, at) };
        let (a, b) = (self.point(-FAR, low), self.point(FAR, high));
        Region::rectangle(a.min(b), a.max(b))
    }
}

/// A cut under consideration.
#[derive(Debug, Clone, Copy)]
struct Cut {
    across: Across,
    at: f64,
    /// Beside the seams that the tool names.
    off_seam: bool,
}

/// Cuts one draft to the bed.
pub struct Cutting<'a> {
    /// The draft.
    pub draft: &'a Draft,
    /// The printer.
    pub printing: &'a Printing,
    /// How far curves may stray.
    pub fine: Tolerance,
}

/// A joint narrower than this gets no dovetail, mm.
const NARROWEST_JOINT: f64 = 10.0;

/// How far a dovetail reaches into the other piece at most, mm.
const DEEPEST: f64 = 8.0;

/// Places tried for a cut each way, besides the seams that the tool names.
const TRIED: u32 = 36;

/// How many of the best cuts are looked at more closely.
const LOOKED_AT: usize = 24;

/// A piece with two sides shorter than this is a strip or a crumb that breaks before it is joined, mm (common practice, no
/// source). The box round it counts.
pub const SLIVER: f64 = 13.0;

/// Cuts leave pieces at least this wide where they can, mm, so that what is cut off next is no sliver.
const NARROW: f64 = 20.0;

/// Less is no piece: no nozzle lays down so little, mm².
const LEAST_PIECE: f64 = 0.05;

/// Halved no more often than this: a long tool may lose one piece at a time at its end.
const DEPTH: u32 = 24;

impl Cutting<'_> {
    /// The pieces of `plate`, with what the maker should know about the cuts.
    pub fn pieces(&self, plate: &SteppedPlate) -> (Vec<SteppedPlate>, Vec<Finding>) {
        let (mut pieces, mut findings) = (Vec::new(), Vec::new());
        self.halve(plate.clone(), DEPTH, &mut pieces, &mut findings);
        findings.dedup_by(|a, b| a.code == b.code);
        (pieces, findings)
    }

    /// Whether `plate` need not be cut.
    pub fn fits(&self, plate: &SteppedPlate) -> bool {
        plate.bounds().is_none_or(|(lo, hi)| bed::fits(hi - lo, self.printing))
    }

    fn halve(
        &self,
        plate: SteppedPlate,
        depth: u32,
        pieces: &mut Vec<SteppedPlate>,
        findings: &mut Vec<Finding>,
    ) {
        let Some((lo, hi)) = plate.bounds() else { return };
        if bed::fits(hi - lo, self.printing) || depth == 0 {
            // Two parts of one plate that no longer hang together are two pieces; what booleans leave between parts
            // that meet is none.
            let all = plate.footprint().pieces();
            match all.iter().filter(|part| part.area() >= LEAST_PIECE).collect::<Vec<_>>()[..] {
                [] => {}
                [_] if all.len() == 1 => pieces.push(plate),
                ref parts => pieces.extend(parts.iter().map(|part| plate.within(part))),
            }
            return;
        }
        let footprint = plate.footprint();
        let flipped = flipped(&footprint);
        let rows = |cut: Cut| match cut.across {
            Across::Y => footprint.row(cut.at),
            Across::X => flipped.row(cut.at),
        };
        let cost = |cut: &Cut| {
            let joints = rows(*cut);
            let narrow = joints.iter().filter(|(a, b)| b - a < NARROWEST_JOINT).count();
            let middle = cut.across.over(lo + hi) / 2.0;
            let off = (cut.at - middle).abs() / cut.across.over(hi - lo);
            (
                self.pieces_after(*cut, lo, hi),
                self.kept_cut(*cut),
                (self.crossings(*cut), narrow, cut.off_seam),
                off,
            )
        };
        let mut ranked: Vec<_> = self.candidates(lo, hi).into_iter().map(|cut| (cost(&cut), cut)).collect();
        ranked.sort_by(|(a, _), (b, _)| (a.0, a.1, a.2).cmp(&(b.0, b.1, b.2)).then(a.3.total_cmp(&b.3)));
        // Of the best few the first without a flaw, or the one with the fewest.
        let mut best = None;
        for one in ranked.iter().take(LOOKED_AT) {
            let flaws = self.flaws(one.1, &footprint);
            if best.as_ref().is_none_or(|(fewest, _)| flaws < *fewest) {
                best = Some((flaws, one));
            }
            if flaws == 0 {
                break;
            }
        }
        let best = best.map(|(_, one)| one);
        let Some(&((_, _, (crossings, narrow, _), _), cut)) = best else { return };
        self.remark(crossings, narrow, findings);
        let keys = self.keys(cut, &rows(cut), &footprint);
        let below = cut.across.side(cut.at, false).union(&keys);
        let above =
            cut.across.side(cut.at, true).difference(&keys.outset(self.printing.clearance, self.fine));
        self.halve(plate.within(&below), depth - 1, pieces, findings);
        self.halve(plate.within(&above), depth - 1, pieces, findings);
    }

    fn candidates(&self, lo: DVec2, hi: DVec2) -> Vec<Cut> {
        let mut cuts = Vec::new();
        for (across, seams) in [(Across::X, &self.draft.seams[0]), (Across::Y, &self.draft.seams[1])] {
            let (low, high) = (across.over(lo), across.over(hi));
            let evenly = (1..TRIED).map(|i| low + (high - low) * f64::from(i) / f64::from(TRIED));
            // A hair beside any corner, so that a row is never looked up at one. Seams that the tool names
            // come first, and other places where those do not help.
            let places =
                seams.iter().map(|at| (*at, false)).chain(evenly.map(|at| (at + 1e-4, !seams.is_empty())));
            let inside = places.filter(|(at, _)| low + 1.0 < *at && *at < high - 1.0);
            cuts.extend(inside.map(|(at, off_seam)| Cut { across, at, off_seam }));
        }
        if cuts.is_empty() {
            let middle = (lo + hi) / 2.0;
            cuts.extend([Across::X, Across::Y].map(|across| Cut {
                across,
                at: across.over(middle) + 1e-4,
                off_seam: false,
            }));
        }
        cuts
    }

    /// How many pieces the two halves need at least.
    fn pieces_after(&self, cut: Cut, lo: DVec2, hi: DVec2) -> u64 {
        let size = hi - lo;
        let below = cut.at - cut.across.over(lo) + DEEPEST;
        let above = cut.across.over(hi) - cut.at;
        [below, above]
            .map(|over| match cut.across {
                Across::X => bed::pieces_for(dvec2(over, size.y), self.printing),
                Across::Y => bed::pieces_for(dvec2(size.x, over), self.printing),
            })
            .iter()
            .sum()
    }

    /// How many strips, crumbs and knife edges a cut leaves, and pieces beyond two.
    fn flaws(&self, cut: Cut, footprint: &Region) -> usize {
        let narrow = NARROW.min(short_side(footprint));
        let of_half = |above: bool| {
            let half = footprint.intersection(&cut.across.side(cut.at, above));
            let pieces = half.pieces();
            let mut pieces: Vec<&Region> = pieces.iter().filter(|part| part.area() >= LEAST_PIECE).collect();
            pieces.sort_by(|a, b| b.area().total_cmp(&a.area()));
            let strips = pieces.iter().filter(|part| short_side(part) < narrow).count();
            pieces.len().max(1) - 1 + strips + knife_edges(cut, &half, self.fine)
        };
        of_half(false) + of_half(true)
    }

    /// How often a cut crosses the working edge.
    fn crossings(&self, cut: Cut) -> usize {
        let over = |p: DVec2| cut.across.over(p) > cut.at;
        self.draft.working.iter().filter(|&&(a, b)| over(a) != over(b)).count()
    }

    /// How many of the places that should stay whole a cut runs through.
    fn kept_cut(&self, cut: Cut) -> usize {
        let through = |&&(lo, hi): &&(DVec2, DVec2)| {
            let (low, high) = (cut.across.over(lo), cut.across.over(hi));
            low - DEEPEST < cut.at && cut.at < high
        };
        self.draft.keep.iter().filter(through).count()
    }

    fn remark(&self, crossings: usize, narrow: usize, findings: &mut Vec<Finding>) {
        let name = &self.draft.name;
        if crossings > 0 {
            findings.push(found(
                Severity::Note,
                "edge-cut",
                name,
                "it is larger than the bed, and its working edge is cut".into(),
                "glue the pieces on a flat table and smooth the joint with fine paper, or use a larger bed",
            ));
        }
        if narrow > 0 {
            findings.push(found(
                Severity::Note,
                "butt-joint",
                name,
                "it is cut where there is no room for a dovetail".into(),
                "glue the pieces edge to edge on a flat table, with a strip across the back",
            ));
        }
    }

    /// The dovetails of a cut: what the piece below it keeps of the piece above.
    fn keys(&self, cut: Cut, joints: &[(f64, f64)], footprint: &Region) -> Region {
        /// One dovetail for so much of a joint, mm.
        const SPACING: f64 = 70.0;
        let mut keys = Region::default();
        for &(from, to) in joints.iter().filter(|(a, b)| b - a >= NARROWEST_JOINT) {
            let count = ((to - from) / SPACING).ceil().max(1.0);
            let share = (to - from) / count;
            for i in 0..count as u32 {
                let middle = from + share * (f64::from(i) + 0.5);
                // The widest that leaves enough on both sides; narrower, and nearer, where that is not free.
                let fitting = [1.0, 0.8, 0.6, 0.45]
                    .iter()
                    .map(|k| dovetail(cut, middle, (share * 0.45).min(22.0) * k))
                    .find(|key| {
                        let walls =
                            key.outset(self.printing.clearance + self.printing.thinnest_wall(), self.fine);
                        walls.intersection(&cut.across.side(cut.at, true)).difference(footprint).area() < 1e-6
                    });
                if let Some(key) = fitting {
                    keys = keys.union(&key);
                }
            }
        }
        keys
    }
}

/// Whether a piece is a strip or a crumb: two sides of the box round it are shorter than [`SLIVER`].
pub fn is_sliver(piece: &SteppedPlate) -> bool {
    let thick = piece.levels().map(|(_, height)| height).fold(0.0, f64::max);
    let (lo, hi) = piece.bounds().unwrap_or_default();
    [hi.x - lo.x, hi.y - lo.y, thick].iter().filter(|side| **side < SLIVER).count() > 1
}

/// The shorter side of the box round a region, mm.
fn short_side(region: &Region) -> f64 {
    region.bounds().map_or(0.0, |(lo, hi)| (hi - lo).min_element())
}

/// How many edges sharper than some 30° a cut leaves to the `half` beside it.
fn knife_edges(cut: Cut, half: &Region, fine: Tolerance) -> usize {
    /// How far from the cut they are looked for, mm.
    const BESIDE: f64 = 10.0;
    /// A disc of this radius does not reach into the end of a wedge, mm; what it leaves of one of 30°, mm².
    const DISC: f64 = 1.5;
    const LEFT: f64 = 5.5;
    let near = cut.across.side(cut.at - BESIDE, true).intersection(&cut.across.side(cut.at + BESIDE, false));
    let near = half.intersection(&near);
    let reached = near.inset(DISC, fine).outset(DISC + 2.0 * fine.chord_mm(), fine);
    let is_at_cut = |part: &Region| {
        part.bounds().is_some_and(|(lo, hi)| {
            cut.across.over(lo) < cut.at + 0.1 && cut.across.over(hi) > cut.at - 0.1 && part.area() > LEFT
        })
    };
    near.difference(&reached).pieces().iter().filter(|part| is_at_cut(part)).count()
}

/// A dovetail across `cut`, `width` mm wide at its far end and two thirds of that at the cut.
fn dovetail(cut: Cut, middle: f64, width: f64) -> Region {
    /// How far it reaches back into its own piece, mm, so that both are one.
    const BACK: f64 = 1.0;
    let (neck, reach) = (width / 3.0, (width * 0.6).min(DEEPEST));
    let corners = [
        (-neck, -BACK),
        (neck, -BACK),
        (neck, 0.0),
        (width / 2.0, reach),
        (-width / 2.0, reach),
        (-neck, 0.0),
    ];
    Region::from_simple(
        corners.iter().map(|&(along, over)| cut.across.point(middle + along, cut.at + over)).collect(),
    )
}

/// The region with x and y exchanged.
fn flipped(region: &Region) -> Region {
    let flip = |c: &Vec<DVec2>| c.iter().rev().map(|p| p.yx()).collect();
    Region::new(region.contours().iter().map(flip).collect())
}
