//! Pieces cut from sheet cakes by straight cuts from edge to edge (guillotine cuts).
//!
//! For every set of pieces the smallest boxes that hold it are kept: two sets stand beside each other or one behind the
//! other, and each piece lies either way. So it is exact for the cuts that a knife makes, as long as the pieces are few, or
//! many of one size; others are put into sheets one after the other, the largest first.

mod boxes;

use boxes::{Boxes, Set};

/// A piece where it lies in its sheet cake. Lengths in mm from the front left corner.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct SheetPiece {
    /// Which of the pieces it is.
    pub piece: usize,
    /// Its front left corner.
    pub at: [f64; 2],
    /// Its size left to right and front to back, as it lies there.
    pub size: [f64; 2],
}

/// A straight cut, mm from the front left corner of the sheet cake.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct SheetCut {
    /// Where it begins.
    pub from: [f64; 2],
    /// Where it ends.
    pub to: [f64; 2],
}

/// What one sheet cake is cut into.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CutSheet {
    /// The pieces.
    pub pieces: Vec<SheetPiece>,
    /// The cuts in order: each goes from edge to edge of what is in front of the knife.
    pub cuts: Vec<SheetCut>,
}

/// Pieces cut from sheet cakes.
#[derive(Debug, Clone, PartialEq)]
pub struct CutSheets {
    /// The sheet cakes.
    pub sheets: Vec<CutSheet>,
    /// Whether it is proved that fewer will not do.
    pub fewest: bool,
}

/// A length that is as much larger as this still fits, mm: sizes as they were rounded.
const FITS: f64 = 0.05;

/// Cuts pieces of these sizes from sheet cakes of the size `pan`, all left to right and front to back in mm; `None` if
/// one of them is larger than the pan.
pub fn cut_sheets(sizes: &[[f64; 2]], pan: [f64; 2]) -> Option<CutSheets> {
    let mut order: Vec<usize> = (0..sizes.len()).collect();
    order.sort_by(|a, b| (sizes[*b][0] * sizes[*b][1]).total_cmp(&(sizes[*a][0] * sizes[*a][1])));
    let area: f64 = sizes.iter().map(|[w, d]| w * d).sum();
    let least = (area / (pan[0] * pan[1]) - 1e-6).ceil().max(0.0) as usize;
    if let Some(boxes) = Boxes::new(&order, sizes, pan) {
        let sheets = boxes.fewest()?;
        return Some(CutSheets { sheets: boxes.sheets(&sheets), fewest: true });
    }
    let quick = one_by_one(&order, sizes, pan)?;
    if quick.len() <= least {
        return Some(CutSheets { sheets: quick, fewest: true });
    }
    // First fit, the largest first.
    let mut lots: Vec<Vec<usize>> = Vec::new();
    let area = |lot: &[usize]| lot.iter().map(|p| sizes[*p][0] * sizes[*p][1]).sum::<f64>();
    let holds = |lot: &[usize]| {
        area(lot) <= pan[0] * pan[1] && Boxes::new(lot, sizes, pan).is_some_and(|boxes| boxes.holds_all())
    };
    for piece in order {
        let with = |lot: &Vec<usize>| lot.iter().copied().chain([piece]).collect::<Vec<_>>();
        match lots.iter().position(|lot| holds(&with(lot))) {
            Some(known) => lots[known].push(piece),
            None if holds(&[piece]) => lots.push(vec![piece]),
            None => return None,
        }
    }
    let sheets = lots.iter().filter_map(|lot| Boxes::new(lot, sizes, pan));
    let sheets: Vec<CutSheet> = sheets.flat_map(|boxes| boxes.sheets(&[boxes.all()])).collect();
    let sheets = if quick.len() < sheets.len() { quick } else { sheets };
    let fewest = sheets.len() <= least;
    Some(CutSheets { sheets, fewest })
}

/// Which of `pans` each piece comes from, so that their sheet cakes cost the least: a sheet cake of a pan costs what stands
/// beside its size. `None` where a piece is larger than every pan, and for more pieces than can be looked at in every way.
pub fn cheapest_pans(sizes: &[[f64; 2]], pans: &[([f64; 2], f64)]) -> Option<Vec<usize>> {
    let order: Vec<usize> = (0..sizes.len()).collect();
    let boxes: Vec<Boxes> =
        pans.iter().map(|(pan, _)| Boxes::new(&order, sizes, *pan)).collect::<Option<_>>()?;
    // The pieces have the same kinds, and so their sets the same numbers, whatever the pan.
    let first = boxes.first()?;
    // What the sheet cakes of each set cost, with the pan and the pieces of the last of them.
    let mut last: Vec<Option<(f64, usize, Set)>> = vec![None; first.of.len()];
    last[0] = Some((0.0, 0, 0));
    for set in 1..first.of.len() {
        let mut best: Option<(f64, usize, Set)> = None;
        for part in first.parts(set).chain([set]) {
            let Some((others, ..)) = last[set - part] else { continue };
            for (pan, (boxes, (_, cost))) in boxes.iter().zip(pans).enumerate() {
                let all = others + cost;
                if !boxes.of[part].is_empty() && best.is_none_or(|(least, ..)| all < least) {
                    best = Some((all, pan, part));
                }
            }
        }
        last[set] = best;
    }
    let mut of = vec![0; sizes.len()];
    let mut unused: Vec<&[usize]> = first.kinds.iter().map(|kind| &kind.pieces[..]).collect();
    let mut left = first.all();
    while left > 0 {
        let (_, pan, part) = last[left]?;
        for (kind, unused) in unused.iter_mut().enumerate() {
            let (taken, rest) = unused.split_at(first.count(part, kind));
            taken.iter().for_each(|piece| of[*piece] = pan);
            *unused = rest;
        }
        left -= part;
    }
    Some(of)
}

/// Each piece, the largest first, cut from the corner of what is left over so far where it leaves the shortest strip; what
/// is left of that is parted along its shorter side. `None` if one is larger than the pan.
fn one_by_one(order: &[usize], sizes: &[[f64; 2]], pan: [f64; 2]) -> Option<Vec<CutSheet>> {
    let mut sheets: Vec<CutSheet> = Vec::new();
    // The sheet, the corner and the size of what is left over.
    let mut free: Vec<(usize, [f64; 2], [f64; 2])> = Vec::new();
    for &piece in order {
        let [w, d] = sizes[piece];
        let best = |free: &[(usize, [f64; 2], [f64; 2])]| {
            let ways = (0..free.len()).flat_map(|i| [(i, [w, d]), (i, [d, w])]);
            let strip = |(i, size): &(usize, [f64; 2])| {
                let room = free[*i].2;
                (room[0] - size[0]).min(room[1] - size[1])
            };
            ways.filter(|way| strip(way) >= -FITS).min_by(|a, b| strip(a).total_cmp(&strip(b)))
        };
        let (i, size) = match best(&free) {
            Some(found) => found,
            None => {
                free.push((sheets.len(), [0.0; 2], pan));
                sheets.push(CutSheet::default());
                best(&free)?
            }
        };
        let (number, at, mut room) = free.swap_remove(i);
        let sheet = &mut sheets[number];
        let over = [room[0] - size[0], room[1] - size[1]];
        let first = usize::from(over[1] > over[0]);
        for axis in [first, 1 - first] {
            if over[axis] > FITS {
                sheet.cut(axis, at, size[axis], room);
                let (mut corner, mut left) = (at, room);
                corner[axis] += size[axis];
                left[axis] = over[axis];
                free.push((number, corner, left));
                room[axis] = size[axis];
            }
        }
        sheet.pieces.push(SheetPiece { piece, at, size });
    }
    Some(sheets)
}

impl CutSheet {
    /// A cut across `axis`, `along` it from the corner `at` of a part that is `room` large.
    fn cut(&mut self, axis: usize, at: [f64; 2], along: f64, room: [f64; 2]) {
        let (mut from, mut to) = (at, at);
        from[axis] += along;
        to[axis] += along;
        to[1 - axis] += room[1 - axis];
        self.cuts.push(SheetCut { from, to });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(sizes: &[[f64; 2]]) -> f64 {
        sizes.iter().map(|[w, d]| w * d).sum()
    }

    /// That no two overlap, all lie in the pan and keep their sizes, and no cut goes through one.
    fn check(cut: &CutSheets, sizes: &[[f64; 2]], pan: [f64; 2]) {
        let mut seen = vec![false; sizes.len()];
        for sheet in &cut.sheets {
            for (i, a) in sheet.pieces.iter().enumerate() {
                assert!(!std::mem::replace(&mut seen[a.piece], true));
                let [w, d] = sizes[a.piece];
                assert!(a.size == [w, d] || a.size == [d, w]);
                assert!((0..2).all(|k| a.at[k] >= -1e-9 && a.at[k] + a.size[k] <= pan[k] + FITS));
                for b in &sheet.pieces[..i] {
                    let apart = (0..2).any(|k| {
                        a.at[k] >= b.at[k] + b.size[k] - 1e-9 || b.at[k] >= a.at[k] + a.size[k] - 1e-9
                    });
                    assert!(apart, "{a:?} {b:?}");
                }
                for cut in &sheet.cuts {
                    let k = usize::from(cut.from[1] == cut.to[1]);
                    let across = cut.from[k] > a.at[k] + 1e-9 && cut.from[k] < a.at[k] + a.size[k] - 1e-9;
                    let along = cut.from[1 - k] < a.at[1 - k] + a.size[1 - k] - 1e-9
                        && cut.to[1 - k] > a.at[1 - k] + 1e-9;
                    assert!(!(across && along), "{cut:?} goes through {a:?}");
                }
            }
        }
        assert!(seen.into_iter().all(|seen| seen));
    }

    #[test]
    fn four_quarters_come_from_one_sheet_and_a_fifth_from_another() {
        let pan = [330.0, 228.0];
        let four = [[165.0, 114.0]; 4];
        let cut = cut_sheets(&four, pan).unwrap();
        check(&cut, &four, pan);
        assert_eq!((cut.sheets.len(), cut.fewest), (1, true));
        assert_eq!(cut.sheets[0].cuts.len(), 3);
        let five = [[165.0, 114.0]; 5];
        assert_eq!(cut_sheets(&five, pan).unwrap().sheets.len(), 2);
        assert_eq!(cut_sheets(&[[331.0, 20.0]], pan), None);
        assert!(cut_sheets(&[], pan).unwrap().sheets.is_empty());
    }

    /// Against every way to give each piece one of the pans.
    #[test]
    fn pieces_come_from_the_cheapest_pans() {
        let pans = [([330.0, 228.0], 100.0), ([200.0, 200.0], 58.0), ([150.0, 100.0], 25.0)];
        for sizes in [
            vec![[300.0, 120.0], [200.0, 100.0], [140.0, 90.0]],
            vec![[180.0, 90.0]; 5],
            vec![[320.0, 60.0], [90.0, 60.0], [190.0, 190.0], [60.0, 140.0], [20.0, 20.0]],
        ] {
            let cost = |of: &[usize]| -> Option<f64> {
                let of_pan = |pan: usize| -> Option<f64> {
                    let own: Vec<[f64; 2]> =
                        sizes.iter().zip(of).filter(|(_, p)| **p == pan).map(|(size, _)| *size).collect();
                    Some(cut_sheets(&own, pans[pan].0)?.sheets.len() as f64 * pans[pan].1)
                };
                (0..pans.len()).map(of_pan).sum()
            };
            let every = (0..pans.len().pow(sizes.len() as u32)).filter_map(|number| {
                let of: Vec<usize> =
                    (0..sizes.len()).map(|i| number / pans.len().pow(i as u32) % pans.len()).collect();
                cost(&of)
            });
            let least = every.fold(f64::INFINITY, f64::min);
            let found = cheapest_pans(&sizes, &pans).unwrap();
            assert_eq!(cost(&found), Some(least), "{sizes:?}: {found:?}");
        }
        assert_eq!(cheapest_pans(&[[400.0, 10.0]], &pans), None);
    }

    /// Four strips round a middle fill the square of 100 mm, but no cut goes from edge to edge: two sheets.
    #[test]
    fn a_pinwheel_cannot_be_cut() {
        let sizes = [[60.0, 40.0], [60.0, 40.0], [40.0, 60.0], [40.0, 60.0], [20.0, 20.0]];
        assert_eq!(area(&sizes), 10_000.0);
        let cut = cut_sheets(&sizes, [100.0, 100.0]).unwrap();
        check(&cut, &sizes, [100.0, 100.0]);
        assert_eq!(cut.sheets.len(), 2);
    }

    #[test]
    fn many_pieces_are_cut_as_well() {
        let sizes: Vec<[f64; 2]> = (0..30).map(|i| [30.0 + f64::from(i), 90.0 - f64::from(i)]).collect();
        let cut = cut_sheets(&sizes, [300.0, 200.0]).unwrap();
        check(&cut, &sizes, [300.0, 200.0]);
        assert!(cut.sheets.len() as f64 * 60_000.0 < 2.0 * area(&sizes));
    }
}
