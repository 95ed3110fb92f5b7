//! An outline covered by straight-sided pieces that lie side by side.
//!
//! The box round the outline is parted by straight cuts from edge to edge, again and again, and each part becomes one
//! piece: the smallest box round what of the outline lies in it. Over a lattice of lines the cheapest way to part it is
//! found for every box between lines, the small ones first (dynamic programming), so it is the cheapest of all covers by
//! such cuts on these lines. Covers that no such cuts make, and lines between these, are not looked at.

use glam::{DVec2, dvec2};

use geom::{Cancel, Cancelled, Region};

/// A piece as it lies: its front left and its back right corner, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Front left corner.
    pub low: DVec2,
    /// Back right corner.
    pub high: DVec2,
}

impl Part {
    /// Width and depth, mm.
    pub fn size(&self) -> DVec2 {
        self.high - self.low
    }

    /// Area, mm².
    pub fn area(&self) -> f64 {
        self.size().element_product()
    }
}

/// A cut between pieces: which axis it crosses, where, and from where to where along the other axis, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seam {
    axis: usize,
    at: f64,
    along: (f64, f64),
}

/// What is asked of a cover.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// Size of the sheet cakes that pieces are cut from, mm.
    pub pan: [f64; 2],
    /// Sizes and places are whole multiples of this, mm.
    pub mark: f64,
    /// What a piece costs besides its area, mm².
    pub piece: f64,
    /// Cuts of the layer below, over which none should lie.
    pub below: &'a [Seam],
}

/// A narrower piece does not hold together while it is laid, mm (common practice, no source).
const NARROWEST: f64 = 35.0;
/// Cuts of two layers nearer to each other than this count as one over the other, mm (common practice, no source).
pub const STAGGER: f64 = 20.0;
/// What a piece that is too narrow, or a cut over another one, costs besides, mm²: it is taken where nothing else will do.
const AVOIDED: f64 = 5000.0;
/// Lines across the longer side of the outline.
const LINES: f64 = 26.0;
/// What of the outline is less than this in one field of the lattice is round-off, mm².
const NOTHING: f64 = 0.5;

/// The outline seen through the lattice; made once for all covers of it.
#[derive(Debug)]
pub struct Lattice {
    /// Lines of either axis, from the low to the high edge.
    lines: [Vec<f64>; 2],
    /// For every field, row by row, the box round what lies in it.
    fields: Vec<Option<(DVec2, DVec2)>>,
}

impl Lattice {
    /// Looks at `outline`; `None` if it is empty.
    ///
    /// # Errors
    /// [`Cancelled`] once `cancel` asks to stop.
    pub fn new(outline: &Region, mark: f64, cancel: &Cancel) -> Result<Option<Self>, Cancelled> {
        let Some((low, high)) = outline.bounds() else { return Ok(None) };
        let step = ((high - low).max_element() / LINES / mark).ceil().max(1.0) * mark;
        let lines = [0, 1].map(|axis| lines(outline, axis, step, mark));
        let mut fields = Vec::new();
        for row in lines[1].windows(2) {
            cancel.check()?;
            let strip = outline.between(row[0], row[1]);
            for column in lines[0].windows(2) {
                let (low, high) = (dvec2(column[0], row[0]), dvec2(column[1], row[1]));
                let field = Region::rectangle(low, high);
                let inside = if strip.is_empty() { Region::default() } else { strip.intersection(&field) };
                let bounds = inside.bounds().filter(|_| inside.area() > NOTHING);
                fields.push(bounds.map(|(lo, hi)| (lo.max(low), hi.min(high))));
            }
        }
        Ok(Some(Self { lines, fields }))
    }

    /// The cheapest cover, with its cuts; `None` if no pieces of that pan cover it.
    pub fn cover(&self, asked: &Asked<'_>) -> Option<(Vec<Part>, Vec<Seam>)> {
        let table = Table::new(self, asked);
        let whole = table.number([0, 0], [self.lines[0].len() - 1, self.lines[1].len() - 1]);
        let mut found = (Vec::new(), Vec::new());
        if !table.cells[whole].cost.is_finite() {
            return None;
        }
        table.collect([0, 0], [self.lines[0].len() - 1, self.lines[1].len() - 1], &mut found);
        Some(found)
    }
}

/// Lines across `axis`, on whole marks: where the outline has a side along them, and even ones where none of these is near.
fn lines(outline: &Region, axis: usize, step: f64, mark: f64) -> Vec<f64> {
    /// A side shorter than this needs no line of its own, mm.
    const LONG: f64 = 30.0;
    /// No even line so near to another one, as a share of their step.
    const NEAR: f64 = 0.5;
    let (low, high) = outline.bounds().unwrap_or_default();
    let (low, high) = ((low[axis] / mark).floor() * mark, (high[axis] / mark).ceil() * mark);
    let mut lines = vec![low, high];
    let sides = outline.edges().filter(|(a, b)| (a[axis] - b[axis]).abs() < 1e-3 && a.distance(*b) >= LONG);
    lines.extend(
        sides.map(|(a, _)| (a[axis] / mark).round() * mark).filter(|line| (low..=high).contains(line)),
    );
    let count = ((high - low) / step).ceil().max(1.0) as usize;
    for even in (1..count).map(|i| low + step * i as f64) {
        if lines.iter().all(|line| (line - even).abs() >= NEAR * step) {
            lines.push(even);
        }
    }
    lines.sort_by(f64::total_cmp);
    lines.dedup_by(|a, b| (*a - *b).abs() < mark / 2.0);
    lines
}

/// The best way to cover the box between four lines.
#[derive(Debug, Clone, Copy)]
struct Cell {
    cost: f64,
    /// The box round what of the outline lies in it; low above high where there is nothing.
    low: DVec2,
    high: DVec2,
    /// The axis and the line that parts it; `None` for one piece.
    split: Option<(u8, u8)>,
}

struct Table<'a> {
    lattice: &'a Lattice,
    asked: &'a Asked<'a>,
    counts: [usize; 2],
    cells: Vec<Cell>,
}

impl<'a> Table<'a> {
    fn new(lattice: &'a Lattice, asked: &'a Asked<'a>) -> Self {
        let counts = [lattice.lines[0].len(), lattice.lines[1].len()];
        let nothing = Cell {
            cost: 0.0,
            low: DVec2::splat(f64::INFINITY),
            high: DVec2::splat(f64::NEG_INFINITY),
            split: None,
        };
        let cells = vec![nothing; (counts[0] * counts[1]).pow(2)];
        let mut table = Self { lattice, asked, counts, cells };
        for wide in 1..counts[0] {
            for deep in 1..counts[1] {
                for x in 0..counts[0] - wide {
                    for y in 0..counts[1] - deep {
                        let (from, to) = ([x, y], [x + wide, y + deep]);
                        let number = table.number(from, to);
                        table.cells[number] = table.best(from, to);
                    }
                }
            }
        }
        table
    }

    fn number(&self, from: [usize; 2], to: [usize; 2]) -> usize {
        let [w, d] = self.counts;
        ((from[0] * d + from[1]) * w + to[0]) * d + to[1]
    }

    /// The two halves of a box, parted at line `line` of `axis`.
    fn halves(&self, from: [usize; 2], to: [usize; 2], axis: usize, line: usize) -> (&Cell, &Cell) {
        let (mut end, mut start) = (to, from);
        (end[axis], start[axis]) = (line, line);
        (&self.cells[self.number(from, end)], &self.cells[self.number(start, to)])
    }

    fn best(&self, from: [usize; 2], to: [usize; 2]) -> Cell {
        let mut cell = self.bounds(from, to);
        if cell.low.x > cell.high.x {
            return cell;
        }
        cell.cost = self.piece_cost(&self.part(&cell));
        for axis in [0, 1] {
            for line in from[axis] + 1..to[axis] {
                let (near, far) = self.halves(from, to, axis, line);
                let seam = self.seam_cost(near, far, axis, self.lattice.lines[axis][line]);
                let cost = near.cost + far.cost + seam;
                if cost < cell.cost {
                    (cell.cost, cell.split) = (cost, Some((axis as u8, line as u8)));
                }
            }
        }
        cell
    }

    /// The box round what lies between four lines, out of that of two halves.
    fn bounds(&self, from: [usize; 2], to: [usize; 2]) -> Cell {
        let nothing = Cell {
            cost: 0.0,
            low: DVec2::splat(f64::INFINITY),
            high: DVec2::splat(f64::NEG_INFINITY),
            split: None,
        };
        if let Some(axis) = [0, 1].into_iter().find(|&axis| to[axis] - from[axis] > 1) {
            let (near, far) = self.halves(from, to, axis, from[axis] + 1);
            return Cell { low: near.low.min(far.low), high: near.high.max(far.high), ..nothing };
        }
        match self.lattice.fields[from[1] * (self.counts[0] - 1) + from[0]] {
            Some((low, high)) => Cell { low, high, ..nothing },
            None => nothing,
        }
    }

    /// The piece that covers a cell: its box on whole marks.
    fn part(&self, cell: &Cell) -> Part {
        /// What lies this little beyond a mark lies on it, in marks.
        const ON: f64 = 1e-4;
        let mark = self.asked.mark;
        let low = ((cell.low / mark) + ON).floor() * mark;
        let high = ((cell.high / mark) - ON).ceil() * mark;
        Part { low, high: high.max(low + mark) }
    }

    fn piece_cost(&self, part: &Part) -> f64 {
        /// Sizes as they were rounded, mm.
        const FITS: f64 = 1e-6;
        let (size, [w, d]) = (part.size(), self.asked.pan);
        let fits = |w: f64, d: f64| size.x <= w + FITS && size.y <= d + FITS;
        if !fits(w, d) && !fits(d, w) {
            return f64::INFINITY;
        }
        let narrow = if size.min_element() < NARROWEST { AVOIDED } else { 0.0 };
        part.area() + self.asked.piece + narrow
    }

    /// What a cut between two cells costs: something where it lies over one of the layer below.
    fn seam_cost(&self, near: &Cell, far: &Cell, axis: usize, at: f64) -> f64 {
        if near.low.x > near.high.x || far.low.x > far.high.x {
            return 0.0;
        }
        let other = 1 - axis;
        let along = (near.low[other].max(far.low[other]), near.high[other].min(far.high[other]));
        let over = |seam: &&Seam| {
            seam.axis == axis
                && (seam.at - at).abs() < STAGGER
                && seam.along.0 < along.1 - STAGGER
                && along.0 < seam.along.1 - STAGGER
        };
        if self.asked.below.iter().any(|seam| over(&seam)) { AVOIDED } else { 0.0 }
    }

    fn collect(&self, from: [usize; 2], to: [usize; 2], found: &mut (Vec<Part>, Vec<Seam>)) {
        let cell = &self.cells[self.number(from, to)];
        if cell.low.x > cell.high.x {
            return;
        }
        let Some((axis, line)) = cell.split else {
            found.0.push(self.part(cell));
            return;
        };
        let (axis, line) = (usize::from(axis), usize::from(line));
        let (near, far) = self.halves(from, to, axis, line);
        let other = 1 - axis;
        let along = (near.low[other].max(far.low[other]), near.high[other].min(far.high[other]));
        if along.0 < along.1 {
            found.1.push(Seam { axis, at: self.lattice.lines[axis][line], along });
        }
        let (mut end, mut start) = (to, from);
        (end[axis], start[axis]) = (line, line);
        self.collect(from, end, found);
        self.collect(start, to, found);
    }
}

#[cfg(test)]
mod tests {
    use geom::Tolerance;

    use super::*;

    fn cover(outline: &Region, pan: [f64; 2], piece: f64) -> Vec<Part> {
        let lattice = Lattice::new(outline, 1.0, &Cancel::new()).unwrap().unwrap();
        lattice.cover(&Asked { pan, mark: 1.0, piece, below: &[] }).unwrap().0
    }

    fn letter_l() -> Region {
        Region::new(vec![
            [(0.0, 0.0), (200.0, 0.0), (200.0, 70.0), (60.0, 70.0), (60.0, 300.0), (0.0, 300.0)]
                .map(|(x, y)| dvec2(x, y))
                .into(),
        ])
    }

    /// An L of two strips has no cover of less than its own area, and two pieces have no less.
    #[test]
    fn a_letter_l_is_two_strips() {
        let parts = cover(&letter_l(), [330.0, 228.0], 500.0);
        assert_eq!(parts.len(), 2, "{parts:?}");
        let area: f64 = parts.iter().map(Part::area).sum();
        assert!((area - (200.0 * 70.0 + 60.0 * 230.0)).abs() < 1e-6, "{parts:?}");
        // Dear pieces leave one box; a small pan takes more pieces.
        assert_eq!(cover(&letter_l(), [330.0, 228.0], 1e6).len(), 1);
        assert!(cover(&letter_l(), [120.0, 120.0], 500.0).len() >= 4);
    }

    /// Every point of the outline lies in a piece, no two pieces overlap, and none is larger than the pan.
    #[test]
    fn a_ring_is_covered_by_pieces_side_by_side() {
        let ring = Region::disc(dvec2(7.0, -3.0), 140.0, Tolerance::PREVIEW).difference(&Region::disc(
            dvec2(7.0, -3.0),
            80.0,
            Tolerance::PREVIEW,
        ));
        let parts = cover(&ring, [203.2, 203.2], 1000.0);
        let all = parts.iter().fold(Region::default(), |all, part| {
            assert!(part.size().max_element() <= 203.2 + 1e-6);
            all.union(&Region::rectangle(part.low, part.high))
        });
        assert!(ring.difference(&all).area() < 1.0);
        let area: f64 = parts.iter().map(Part::area).sum();
        assert!((all.area() - area).abs() < 1e-3 * area, "{} {area}", all.area());
        // Better than the box, and no better than the ring itself.
        assert!(area < 0.85 * 280.0 * 280.0 && area > ring.area());
    }

    /// With the cuts of the layer below known, those of the next lie elsewhere.
    #[test]
    fn cuts_are_staggered() {
        let lattice = Lattice::new(&letter_l(), 1.0, &Cancel::new()).unwrap().unwrap();
        let asked = Asked { pan: [330.0, 228.0], mark: 1.0, piece: 500.0, below: &[] };
        let (_, first) = lattice.cover(&asked).unwrap();
        let (parts, second) = lattice.cover(&Asked { below: &first, ..asked }).unwrap();
        assert_eq!((first.len(), second.len(), parts.len()), (1, 1, 2));
        assert!(first[0].axis != second[0].axis || (first[0].at - second[0].at).abs() >= STAGGER);
    }
}
