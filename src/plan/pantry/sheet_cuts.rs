//! Pieces cut from sheet cakes by straight cuts from edge to edge (guillotine cuts).
//!
//! For every set of pieces the smallest boxes that hold it are kept: two sets stand beside each other or one behind the
//! other, and each piece lies either way. So it is exact for the cuts that a knife makes, as long as the pieces are few;
//! more than [`MOST_EXACT`] are put into sheets one after the other, the largest first.

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

/// Up to so many pieces the fewest sheet cakes are found.
pub const MOST_EXACT: usize = 10;

/// A length that is as much larger as this still fits, mm: sizes as they were rounded.
const FITS: f64 = 0.05;

/// Cuts pieces of these sizes from sheet cakes of the size `pan`, all left to right and front to back in mm; `None` if
/// one of them is larger than the pan.
pub fn cut_sheets(sizes: &[[f64; 2]], pan: [f64; 2]) -> Option<CutSheets> {
    let mut order: Vec<usize> = (0..sizes.len()).collect();
    order.sort_by(|a, b| (sizes[*b][0] * sizes[*b][1]).total_cmp(&(sizes[*a][0] * sizes[*a][1])));
    let area: f64 = sizes.iter().map(|[w, d]| w * d).sum();
    let least = (area / (pan[0] * pan[1]) - 1e-6).ceil().max(0.0) as usize;
    if sizes.len() <= MOST_EXACT {
        let boxes = Boxes::new(&order, sizes, pan);
        let sheets = boxes.fewest()?;
        return Some(CutSheets { sheets: sheets.into_iter().map(|set| boxes.sheet(set)).collect(), fewest: true });
    }
    // First fit, the largest first.
    let mut sets: Vec<Vec<usize>> = Vec::new();
    for piece in order {
        let holds = |set: &Vec<usize>| {
            let with: Vec<usize> = set.iter().copied().chain([piece]).collect();
            with.len() <= MOST_EXACT && Boxes::new(&with, sizes, pan).holds_all()
        };
        match sets.iter().position(holds) {
            Some(known) => sets[known].push(piece),
            None if Boxes::new(&[piece], sizes, pan).holds_all() => sets.push(vec![piece]),
            None => return None,
        }
    }
    let sheets = sets.iter().map(|set| {
        let boxes = Boxes::new(set, sizes, pan);
        boxes.sheet(boxes.all())
    });
    let sheets: Vec<CutSheet> = sheets.collect();
    let fewest = sheets.len() <= least;
    Some(CutSheets { sheets, fewest })
}

/// A set of pieces, a bit each.
type Set = u32;

/// A box that holds a set of pieces.
#[derive(Debug, Clone, Copy)]
struct SetBox {
    size: [f64; 2],
    how: How,
}

/// How a box is made.
#[derive(Debug, Clone, Copy)]
enum How {
    /// It is one piece.
    Piece(usize),
    /// Two boxes beside each other (axis 0) or one behind the other (axis 1): their sets and their numbers.
    Joined { axis: usize, first: (Set, usize), second: (Set, usize) },
}

/// For every set of pieces the boxes that hold it and fit into the pan, none of them inside another.
struct Boxes {
    pan: [f64; 2],
    count: usize,
    /// By the number that the bits of the set make.
    of: Vec<Vec<SetBox>>,
}

impl Boxes {
    fn new(pieces: &[usize], sizes: &[[f64; 2]], pan: [f64; 2]) -> Self {
        let mut boxes = Self { pan, count: pieces.len(), of: vec![Vec::new(); 1 << pieces.len()] };
        for (i, &piece) in pieces.iter().enumerate() {
            let [w, d] = sizes[piece];
            let mut own = Vec::new();
            boxes.add(&mut own, SetBox { size: [w, d], how: How::Piece(piece) });
            boxes.add(&mut own, SetBox { size: [d, w], how: How::Piece(piece) });
            boxes.of[1 << i] = own;
        }
        for set in 1..=boxes.all() {
            if set.count_ones() < 2 {
                continue;
            }
            let mut own = Vec::new();
            // Every way to part the set; the part with the lowest bit comes first.
            let lowest = set & set.wrapping_neg();
            let mut part = (set - 1) & set;
            while part > 0 {
                if part & lowest > 0 {
                    boxes.join(part, set & !part, &mut own);
                }
                part = (part - 1) & set;
            }
            boxes.of[set as usize] = own;
        }
        boxes
    }

    fn all(&self) -> Set {
        (1 << self.count) - 1
    }

    fn holds_all(&self) -> bool {
        !self.of[self.all() as usize].is_empty()
    }

    fn join(&self, a: Set, b: Set, own: &mut Vec<SetBox>) {
        for (i, first) in self.of[a as usize].iter().enumerate() {
            for (j, second) in self.of[b as usize].iter().enumerate() {
                for axis in [0, 1] {
                    let mut size = [0.0; 2];
                    size[axis] = first.size[axis] + second.size[axis];
                    size[1 - axis] = first.size[1 - axis].max(second.size[1 - axis]);
                    self.add(own, SetBox { size, how: How::Joined { axis, first: (a, i), second: (b, j) } });
                }
            }
        }
    }

    /// Adds a box to those of its set, unless it does not fit or one of them lies inside it.
    fn add(&self, own: &mut Vec<SetBox>, new: SetBox) {
        let inside = |a: &[f64; 2], b: &[f64; 2], by: f64| a[0] <= b[0] + by && a[1] <= b[1] + by;
        if !inside(&new.size, &self.pan, FITS) || own.iter().any(|known| inside(&known.size, &new.size, 0.0)) {
            return;
        }
        own.retain(|known| !inside(&new.size, &known.size, 0.0));
        own.push(new);
    }

    /// Sets of pieces for as few sheets as can be; `None` if a piece fits into none.
    fn fewest(&self) -> Option<Vec<Set>> {
        // The last sheet of the fewest that hold each set.
        let mut last: Vec<Option<(usize, Set)>> = vec![None; self.of.len()];
        last[0] = Some((0, 0));
        for set in 1..=self.all() {
            let lowest = set & set.wrapping_neg();
            let mut best: Option<(usize, Set)> = None;
            let mut part = set;
            while part > 0 {
                if part & lowest > 0
                    && !self.of[part as usize].is_empty()
                    && let Some((others, _)) = last[(set & !part) as usize]
                    && best.is_none_or(|(known, _)| others + 1 < known)
                {
                    best = Some((others + 1, part));
                }
                part = (part - 1) & set;
            }
            last[set as usize] = best;
        }
        let mut sheets = Vec::new();
        let mut left = self.all();
        while left > 0 {
            let (_, part) = last[left as usize]?;
            sheets.push(part);
            left &= !part;
        }
        Some(sheets)
    }

    /// The sheet that holds the pieces of `set`: in the box that leaves the largest strip beside or behind it.
    fn sheet(&self, set: Set) -> CutSheet {
        let mut sheet = CutSheet::default();
        let left = |size: [f64; 2]| {
            let [w, d] = self.pan;
            ((w - size[0]) * d).max((d - size[1]) * w)
        };
        let boxes = self.of[set as usize].iter().enumerate();
        let best = boxes.max_by(|a, b| left(a.1.size).total_cmp(&left(b.1.size)));
        if let Some((number, _)) = best {
            self.lay((set, number), [0.0; 2], self.pan, &mut sheet);
        }
        sheet
    }

    /// Puts a box into the corner `at` of a part of the sheet `room` large, and cuts what is over.
    fn lay(&self, (set, number): (Set, usize), at: [f64; 2], room: [f64; 2], sheet: &mut CutSheet) {
        let made = self.of[set as usize][number];
        let mut room = room;
        // The longer strip first, so that it stays whole.
        let over = [room[0] - made.size[0], room[1] - made.size[1]];
        let first = usize::from(over[1] * room[0] > over[0] * room[1]);
        for axis in [first, 1 - first] {
            if over[axis] > FITS {
                sheet.cut(axis, at, made.size[axis], room);
                room[axis] = made.size[axis];
            }
        }
        match made.how {
            How::Piece(piece) => sheet.pieces.push(SheetPiece { piece, at, size: made.size }),
            How::Joined { axis, first, second } => {
                let along = self.of[first.0 as usize][first.1].size[axis];
                sheet.cut(axis, at, along, room);
                let (mut near, mut far, mut behind) = (room, room, at);
                near[axis] = along;
                far[axis] -= along;
                behind[axis] += along;
                self.lay(first, at, near, sheet);
                self.lay(second, behind, far, sheet);
            }
        }
    }
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
                    let apart = (0..2)
                        .any(|k| a.at[k] >= b.at[k] + b.size[k] - 1e-9 || b.at[k] >= a.at[k] + a.size[k] - 1e-9);
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
        assert!(cut.sheets.len() as f64 * 60_000.0 < 1.5 * area(&sizes));
    }
}
