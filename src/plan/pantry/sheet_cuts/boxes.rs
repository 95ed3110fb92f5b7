//! For every set of pieces the boxes that hold it, each one piece or two boxes joined by a straight cut.

use super::{CutSheet, FITS, SheetPiece};

/// Pieces of one size.
pub(super) struct Kind {
    size: [f64; 2],
    pub pieces: Vec<usize>,
    /// What one of them adds to the number of a set.
    unit: usize,
}

/// A set of pieces by how many there are of each kind: a number whose digits they are. Sets of the same sizes are one.
pub(super) type Set = usize;

/// A box that holds a set of pieces.
#[derive(Debug, Clone, Copy)]
pub(super) struct SetBox {
    size: [f64; 2],
    how: How,
}

/// How a box is made.
#[derive(Debug, Clone, Copy)]
enum How {
    /// It is one piece, of this kind.
    Piece(usize),
    /// Two boxes beside each other (axis 0) or one behind the other (axis 1): their sets and their numbers.
    Joined { axis: usize, first: (Set, usize), second: (Set, usize) },
}

/// For every set of pieces the boxes that hold it and fit into the pan, none of them inside another.
pub(super) struct Boxes {
    pan: [f64; 2],
    pub kinds: Vec<Kind>,
    pub of: Vec<Vec<SetBox>>,
}

impl Boxes {
    /// `None` for more pieces than can be looked at in every way.
    pub fn new(pieces: &[usize], sizes: &[[f64; 2]], pan: [f64; 2]) -> Option<Self> {
        /// Most ways to part sets in two.
        const MOST_WAYS: usize = 60_000;
        let mut kinds: Vec<Kind> = Vec::new();
        for &piece in pieces {
            let size = sizes[piece];
            match kinds.iter_mut().find(|kind| kind.size == size) {
                Some(kind) => kind.pieces.push(piece),
                None => kinds.push(Kind { size, pieces: vec![piece], unit: 0 }),
            }
        }
        let (mut sets, mut ways) = (1, 1_usize);
        for kind in &mut kinds {
            let count = kind.pieces.len() + 1;
            kind.unit = sets;
            ways = ways.saturating_mul(count * (count + 1) / 2);
            if ways > MOST_WAYS {
                return None;
            }
            sets *= count;
        }
        let mut boxes = Self { pan, kinds, of: vec![Vec::new(); sets] };
        for set in 1..sets {
            let own = boxes.of_set(set);
            boxes.of[set] = own;
        }
        Some(boxes)
    }

    pub fn all(&self) -> Set {
        self.of.len() - 1
    }

    pub fn holds_all(&self) -> bool {
        self.of.len() == 1 || !self.of[self.all()].is_empty()
    }

    /// How many pieces of a kind a set has.
    pub fn count(&self, set: Set, kind: usize) -> usize {
        let kind = &self.kinds[kind];
        set / kind.unit % (kind.pieces.len() + 1)
    }

    /// Every set within `set` that has not none and not all of it.
    pub fn parts(&self, set: Set) -> impl Iterator<Item = Set> + '_ {
        let within =
            move |part: Set| (0..self.kinds.len()).all(|k| self.count(part, k) <= self.count(set, k));
        (1..set).filter(move |part| within(*part))
    }

    fn of_set(&self, set: Set) -> Vec<SetBox> {
        let mut own = Vec::new();
        if let Some(kind) = self.kinds.iter().position(|kind| kind.unit == set) {
            let [w, d] = self.kinds[kind].size;
            self.add(&mut own, SetBox { size: [w, d], how: How::Piece(kind) });
            self.add(&mut own, SetBox { size: [d, w], how: How::Piece(kind) });
            return own;
        }
        // Which of two parts comes first is all the same.
        for part in self.parts(set).filter(|part| 2 * part <= set) {
            self.join(part, set - part, &mut own);
        }
        own
    }

    fn join(&self, a: Set, b: Set, own: &mut Vec<SetBox>) {
        for (i, first) in self.of[a].iter().enumerate() {
            for (j, second) in self.of[b].iter().enumerate() {
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
        if !inside(&new.size, &self.pan, FITS) || own.iter().any(|known| inside(&known.size, &new.size, 0.0))
        {
            return;
        }
        own.retain(|known| !inside(&new.size, &known.size, 0.0));
        own.push(new);
    }

    /// Sets of pieces for as few sheets as can be; `None` if a piece fits into none.
    pub fn fewest(&self) -> Option<Vec<Set>> {
        // How many sheets hold each set, and what is in the last of them.
        let mut last: Vec<Option<(usize, Set)>> = vec![None; self.of.len()];
        last[0] = Some((0, 0));
        for set in 1..self.of.len() {
            let whole = (!self.of[set].is_empty()).then_some((1, set));
            let parted = self.parts(set).filter(|part| !self.of[*part].is_empty());
            let parted = parted.filter_map(|part| last[set - part].map(|(others, _)| (others + 1, part)));
            last[set] = whole.or_else(|| parted.min_by_key(|(count, _)| *count));
        }
        let mut sheets = Vec::new();
        let mut left = self.all();
        while left > 0 {
            let (_, part) = last[left]?;
            sheets.push(part);
            left -= part;
        }
        Some(sheets)
    }

    /// The sheets of these sets, which are disjoint: each in the box that leaves the largest strip beside or behind it.
    pub fn sheets(&self, sets: &[Set]) -> Vec<CutSheet> {
        let left = |size: [f64; 2]| {
            let [w, d] = self.pan;
            ((w - size[0]) * d).max((d - size[1]) * w)
        };
        let mut unused: Vec<&[usize]> = self.kinds.iter().map(|kind| &kind.pieces[..]).collect();
        let sheet = |set: &Set| {
            let mut sheet = CutSheet::default();
            let boxes = self.of[*set].iter().enumerate();
            if let Some((number, _)) = boxes.max_by(|a, b| left(a.1.size).total_cmp(&left(b.1.size))) {
                self.lay((*set, number), [0.0; 2], self.pan, &mut unused, &mut sheet);
            }
            sheet
        };
        sets.iter().map(sheet).collect()
    }

    /// Puts a box into the corner `at` of a part of the sheet `room` large, and cuts what is over.
    fn lay(
        &self,
        (set, number): (Set, usize),
        at: [f64; 2],
        room: [f64; 2],
        unused: &mut [&[usize]],
        sheet: &mut CutSheet,
    ) {
        let made = self.of[set][number];
        let mut room = room;
        // The larger strip first, so that it stays whole.
        let over = [room[0] - made.size[0], room[1] - made.size[1]];
        let first = usize::from(over[1] * room[0] > over[0] * room[1]);
        for axis in [first, 1 - first] {
            if over[axis] > FITS {
                sheet.cut(axis, at, made.size[axis], room);
                room[axis] = made.size[axis];
            }
        }
        match made.how {
            How::Piece(kind) => {
                if let Some((&piece, rest)) = unused[kind].split_first() {
                    unused[kind] = rest;
                    sheet.pieces.push(SheetPiece { piece, at, size: made.size });
                }
            }
            How::Joined { axis, first, second } => {
                let along = self.of[first.0][first.1].size[axis];
                sheet.cut(axis, at, along, room);
                let (mut near, mut far, mut behind) = (room, room, at);
                near[axis] = along;
                far[axis] -= along;
                behind[axis] += along;
                self.lay(first, at, near, unused, sheet);
                self.lay(second, behind, far, unused, sheet);
            }
        }
    }
}
