//! Pieces of sheet cakes laid side by side: the raw layer of a shape that no pan comes near, as a number or a letter.

use glam::{DVec2, dvec2};

use super::{Footprint, FootprintShape};
use geom::{Region, Tolerance, real};

/// Straight-sided pieces out of one or more sheet cakes, as they lie side by side in a layer, in its own frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Pieces {
    pan: [f64; 2],
    list: Vec<Piece>,
    outline: Region,
}

/// One piece of a sheet cake.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Size left to right before it is turned, mm.
    pub width: f64,
    /// Size front to back before it is turned, mm.
    pub depth: f64,
    /// Where its middle lies from the middle of the layer, mm.
    pub at: DVec2,
    /// How far it is turned, counter-clockwise, degrees.
    pub turn: f64,
    /// Size of the pan of the sheet cake that it is cut from, left to right and front to back, mm.
    pub pan: [f64; 2],
}

/// Two pieces of a layer that touch each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Join {
    /// From here, in the frame of the layer, mm.
    pub from: DVec2,
    /// To here, mm.
    pub to: DVec2,
}

impl Join {
    /// Its length, mm.
    pub fn length(&self) -> f64 {
        self.from.distance(self.to)
    }
}

impl Piece {
    /// Its outline in the frame of the layer.
    pub fn footprint(&self) -> Footprint {
        let shape = FootprintShape::Rectangle { width: self.width, depth: self.depth };
        Footprint { shape, centre: self.at, turn: self.turn }
    }

    /// Its corners in the frame of the layer, counter-clockwise.
    pub fn corners(&self) -> [DVec2; 4] {
        let turn = real::unit_vector(self.turn.to_radians());
        let half = dvec2(self.width, self.depth) / 2.0;
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .map(|(x, y)| self.at + turn.rotate(dvec2(x, y) * half))
    }

    /// Whether it can be cut from a pan of this size, turned crosswise if need be.
    pub fn fits(&self, [width, depth]: [f64; 2]) -> bool {
        let holds = |w: f64, d: f64| self.width <= w + FITS && self.depth <= d + FITS;
        holds(width, depth) || holds(depth, width)
    }

    /// How far it reaches into `other`, mm; 0 or less if they lie side by side. The least distance by which one would
    /// have to be moved (separating axes).
    pub fn overlap(&self, other: &Self) -> f64 {
        let (a, b) = (self.corners(), other.corners());
        let axes = [self, other].into_iter().flat_map(|piece| {
            let along = real::unit_vector(piece.turn.to_radians());
            [along, along.perp()]
        });
        let span = |corners: &[DVec2; 4], axis: DVec2| {
            let along = corners.map(|p| p.dot(axis));
            (along.into_iter().fold(f64::INFINITY, f64::min), along.into_iter().fold(f64::MIN, f64::max))
        };
        axes.map(|axis| {
            let ((low, high), (other_low, other_high)) = (span(&a, axis), span(&b, axis));
            (high - other_low).min(other_high - low)
        })
        .fold(f64::INFINITY, f64::min)
    }
}

/// A size that is as large as this beyond another one still fits in it: lengths as they were rounded, mm.
const FITS: f64 = 0.05;

impl Pieces {
    /// Pieces nearer to each other than this lie side by side, and one that reaches less far into another does, mm:
    /// what filling closes and a soft edge takes up (common practice, no source).
    pub const SLACK: f64 = 0.5;
    /// The most pieces of one layer.
    pub const MOST: usize = 64;

    /// Pieces of a layer whose pan has this size, left to right and front to back in mm: that of its pieces, unless they say
    /// otherwise.
    pub fn new(pan: [f64; 2], list: Vec<Piece>) -> Self {
        let outline = outline(&list);
        Self { pan, list, outline }
    }

    /// Size of the pan, left to right and front to back, mm.
    pub fn pan(&self) -> [f64; 2] {
        self.pan
    }

    /// The pieces, in the order of the cake file.
    pub fn list(&self) -> &[Piece] {
        &self.list
    }

    /// The outline of all of them together, joins closed.
    pub fn outline(&self) -> &Region {
        &self.outline
    }

    /// Area, mm².
    pub fn area(&self) -> f64 {
        self.list.iter().map(|piece| piece.width * piece.depth).sum()
    }

    /// The middle of their area, in the frame of the layer, mm.
    pub fn centroid(&self) -> DVec2 {
        let sum: DVec2 = self.list.iter().map(|piece| piece.at * (piece.width * piece.depth)).sum();
        sum / self.area().max(f64::MIN_POSITIVE)
    }

    /// All corners of all pieces, in the frame of the layer.
    pub fn corners(&self) -> impl Iterator<Item = DVec2> + '_ {
        self.list.iter().flat_map(Piece::corners)
    }

    /// The box round them all in the frame of the layer: its low and its high corner, mm.
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let (low, high) = (DVec2::splat(f64::INFINITY), DVec2::splat(f64::NEG_INFINITY));
        self.corners().fold((low, high), |(low, high), p| (low.min(p), high.max(p)))
    }

    /// Where two pieces touch each other: the part of a side of one along which the other lies.
    pub fn joins(&self) -> Vec<Join> {
        /// A shorter touch is a corner, mm.
        const SHORTEST: f64 = 1.0;
        let mut joins = Vec::new();
        for (i, a) in self.list.iter().enumerate() {
            for b in &self.list[i + 1..] {
                if let Some(join) = join(a, b).filter(|join| join.length() >= SHORTEST) {
                    joins.push(join);
                }
            }
        }
        joins
    }
}

/// The longest stretch along which sides of two pieces lie on each other.
fn join(a: &Piece, b: &Piece) -> Option<Join> {
    let side = |corners: [DVec2; 4], i: usize| (corners[i], corners[(i + 1) % 4]);
    let (a, b) = (a.corners(), b.corners());
    let stretches = (0..4).flat_map(|i| (0..4).map(move |j| (i, j))).filter_map(|(i, j)| {
        let ((from, to), (p, q)) = (side(a, i), side(b, j));
        let length = from.distance(to);
        let along = (to - from) / length.max(f64::MIN_POSITIVE);
        let is_on = |p: DVec2| along.perp_dot(p - from).abs() <= Pieces::SLACK + FITS;
        if !is_on(p) || !is_on(q) {
            return None;
        }
        let (s, t) = (along.dot(p - from), along.dot(q - from));
        let (low, high) = (s.min(t).max(0.0), s.max(t).min(length));
        (low < high).then(|| Join { from: from + along * low, to: from + along * high })
    });
    stretches.max_by(|a, b| a.length().total_cmp(&b.length()))
}

/// The outline of all pieces, slits between them closed.
fn outline(list: &[Piece]) -> Region {
    let union = list
        .iter()
        .fold(Region::default(), |all, piece| all.union(&piece.footprint().region(Tolerance::TOOL)));
    let closed = union
        .outset(Pieces::SLACK / 2.0 + FITS, Tolerance::TOOL)
        .inset(Pieces::SLACK / 2.0 + FITS, Tolerance::TOOL);
    // Only where there was a slit: closing writes every corner as several.
    let around = |region: &Region| region.edges().map(|(a, b)| a.distance(b)).sum::<f64>();
    if around(&closed) < around(&union) - 2.0 { closed } else { union }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(width: f64, depth: f64, x: f64, y: f64, turn: f64) -> Piece {
        Piece { width, depth, at: dvec2(x, y), turn, pan: [400.0, 400.0] }
    }

    /// An L of two strips: 200 × 60 and 60 × 140.
    #[test]
    fn two_strips_make_one_outline() {
        let l = Pieces::new(
            [300.0, 200.0],
            vec![piece(200.0, 60.0, 0.0, -70.0, 0.0), piece(140.0, 60.0, -70.0, 30.0, 90.0)],
        );
        assert_eq!(l.area(), 200.0 * 60.0 + 140.0 * 60.0);
        assert!((l.outline().area() - l.area()).abs() < 1e-3 && l.outline().contours().len() == 1);
        let joins = l.joins();
        assert!(joins.len() == 1 && (joins[0].length() - 60.0).abs() < 1e-9, "{joins:?}");
        assert_eq!(l.bounds(), (dvec2(-100.0, -100.0), dvec2(100.0, 100.0)));
        // Inside the corner of the L no side is nearer than the corner: 30 mm off either way.
        let footprint = Footprint {
            shape: FootprintShape::Pieces(std::sync::Arc::new(l)),
            centre: dvec2(5.0, 0.0),
            turn: 0.0,
        };
        assert!((footprint.depth(dvec2(-55.0, -60.0)) - 800f64.sqrt()).abs() < 1e-6);
        assert!((footprint.depth(dvec2(5.0, 0.0)) + 40.0).abs() < 1e-6);
    }

    #[test]
    fn a_slit_between_pieces_is_a_join() {
        let near = Pieces::new(
            [300.0, 200.0],
            vec![piece(100.0, 50.0, 0.0, 25.15, 0.0), piece(100.0, 50.0, 0.0, -25.15, 0.0)],
        );
        assert_eq!(near.outline().contours().len(), 1);
        assert!((near.joins()[0].length() - 100.0).abs() < 1e-9);
        let far = Pieces::new(
            [300.0, 200.0],
            vec![piece(100.0, 50.0, 0.0, 30.0, 0.0), piece(100.0, 50.0, 0.0, -30.0, 0.0)],
        );
        assert!(far.outline().contours().len() == 2 && far.joins().is_empty());
    }

    #[test]
    fn pieces_overlap_by_how_far_they_would_have_to_be_moved() {
        let square = piece(100.0, 100.0, 0.0, 0.0, 0.0);
        assert!((square.overlap(&piece(100.0, 100.0, 90.0, 0.0, 0.0)) - 10.0).abs() < 1e-9);
        assert!(square.overlap(&piece(100.0, 100.0, 100.0, 30.0, 0.0)).abs() < 1e-9);
        // A square on its corner, whose corner lies 4 mm inside the other's side.
        let out = 50.0 + 50.0 * 2f64.sqrt() - 4.0;
        assert!((square.overlap(&piece(100.0, 100.0, out, 0.0, 45.0)) - 4.0).abs() < 1e-9);
        assert!(square.fits([100.0, 100.0]) && !piece(101.0, 20.0, 0.0, 0.0, 0.0).fits([100.0, 100.0]));
        assert!(piece(30.0, 120.0, 0.0, 0.0, 0.0).fits([120.0, 30.0]));
    }
}
