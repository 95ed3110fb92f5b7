//! A straight-sided shape: a top by its outline, and sides that are flat or curve one way only.

use std::f64::consts::TAU;

use cakefile::schema::IcingWay;
use geom::{Hull, Region, Tolerance, TriMesh, develop::CORNER, real};
use glam::DVec2;

use super::{Covers, Laid, Piece, Refused, Sheet, free::sheet_over, limits::TOO_MUCH};
use geom::develop::Strain;

/// Whether a shape between two heights has one outline at every height, as a number or a heart has; `outline` is that
/// at a height.
pub fn is_straight_sided((low, high): (f64, f64), outline: impl Fn(f64) -> Region) -> bool {
    /// Shares of the height at which the outlines are compared: rounded edges lie outside.
    const SHARES: [f64; 4] = [0.08, 0.35, 0.65, 0.92];
    /// Outlines that differ by a smaller share of their area are cut as one.
    const ALIKE: f64 = 0.02;
    let outlines = SHARES.map(|share| outline(low + (high - low) * share));
    let first = &outlines[0];
    outlines.iter().all(|other| {
        let off = first.difference(other).area() + other.difference(first).area();
        off <= ALIKE * first.area()
    })
}

/// A straight-sided shape.
pub(super) struct Straight {
    /// Its outline seen from above, y to the back, mm.
    outline: Region,
    /// The same through the middle of the covering.
    middle: Region,
    /// Its height, mm.
    height: f64,
}

/// Corners that lie nearer to each other are one, mm.
const ONE_CORNER: f64 = 6.0;

impl Straight {
    /// The shape, if it is straight-sided; `half` is half the covering's thickness.
    pub fn of(mesh: &TriMesh, half: f64, tolerance: Tolerance) -> Option<Self> {
        let (lo, hi) = mesh.bounds()?;
        if !is_straight_sided((lo.z, hi.z), |z| mesh.section(z)) {
            return None;
        }
        let outline = mesh.section((lo.z + hi.z) / 2.0);
        let middle = outline.inset(half, tolerance);
        (!middle.is_empty()).then_some(Self { outline, middle, height: hi.z - half })
    }

    pub fn laid(&self, mesh: &TriMesh, asked: Option<IcingWay>) -> Laid {
        let laid = |way, pieces, refused| Laid { way, pieces, refused, tuck: None };
        let drapes = self.is_convex();
        let panels = self.panels();
        let mut refused = None;
        match asked {
            Some(IcingWay::Draped) if drapes => return laid(IcingWay::Draped, vec![self.draped(mesh)], None),
            Some(IcingWay::Draped) => refused = Some(Refused::Hollow),
            Some(IcingWay::DiscAndWrap) => return laid(IcingWay::DiscAndWrap, self.wrapped(), None),
            Some(IcingWay::Panels) => match panels {
                Some(panels) => return laid(IcingWay::Panels, panels, None),
                None => refused = Some(Refused::NoPanels),
            },
            Some(IcingWay::Bands) => refused = Some(Refused::NoBands),
            None => (),
        }
        if drapes && -self.gather() <= TOO_MUCH {
            return laid(IcingWay::Draped, vec![self.draped(mesh)], refused);
        }
        match self.panels() {
            Some(panels) => laid(IcingWay::Panels, panels, refused),
            None => laid(IcingWay::DiscAndWrap, self.wrapped(), refused),
        }
    }

    /// Whether no sheet hangs free across a hole or a corner that points inwards.
    fn is_convex(&self) -> bool {
        /// Share of its hull that an outline fills whose hollows a sheet is pressed into.
        const FILLED: f64 = 0.97;
        let hull = Hull::of(self.outline.contours().iter().flatten().copied());
        let hull = Region::from_simple(hull.corners().to_vec());
        self.outline.area() >= FILLED * hull.area()
    }

    /// The strain of a draped sheet at the foot: its girth there is the outline's at a distance of the height, by
    /// Steiner's formula for convex outlines.
    fn gather(&self) -> f64 {
        let girth = self.middle.perimeter();
        girth / (girth + TAU * self.height) - 1.0
    }

    fn draped(&self, mesh: &TriMesh) -> Piece {
        let girth = self.middle.perimeter();
        let [across, along] = sheet_over(mesh);
        /// Heights at which the strain is told.
        const STEPS: u32 = 8;
        let strain = |i: u32| {
            let height = self.height * f64::from(i) / f64::from(STEPS);
            let sheet = girth + TAU * (self.height - height);
            let at = DVec2::new(girth / TAU, height);
            Strain { at, along: height, share: girth / sheet - 1.0, off: girth - sheet }
        };
        Piece {
            covers: Covers::Whole,
            sheet: Sheet::Rectangle { across, along },
            heights: (0.0, self.height),
            strains: (0..=STEPS).map(strain).collect(),
            turned: [0.0; 2],
            at: None,
        }
    }

    fn top(&self) -> Piece {
        Piece::flat(Covers::Top, Sheet::Outline(self.outline.clone()), (self.height, self.height))
    }

    /// The top, and a strip round every outline.
    fn wrapped(&self) -> Vec<Piece> {
        let side = |contour: &Vec<DVec2>| {
            let length = closed(contour).map(|(a, b)| a.distance(b)).sum();
            let sheet = Sheet::Strip { length, height: self.height };
            Piece::flat(Covers::Side, sheet, (0.0, self.height))
        };
        [self.top()].into_iter().chain(self.middle.contours().iter().map(side)).collect()
    }

    /// The top, and a strip for each side between corners; `None` where no outline has two corners.
    fn panels(&self) -> Option<Vec<Piece>> {
        let sides: Vec<Vec<Side>> = self.outline.contours().iter().map(|contour| sides(contour)).collect();
        if sides.iter().all(|sides| sides.len() < 2) {
            return None;
        }
        let strip = |side: &Side| {
            let sheet = Sheet::Strip { length: side.length, height: self.height };
            Piece { at: Some(side.at), ..Piece::flat(Covers::Panel, sheet, (0.0, self.height)) }
        };
        Some([self.top()].into_iter().chain(sides.iter().flatten().map(strip)).collect())
    }
}

fn closed(contour: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    (0..contour.len()).map(|i| (contour[i], contour[(i + 1) % contour.len()]))
}

/// A side of an outline from corner to corner.
struct Side {
    /// Its length, mm.
    length: f64,
    /// Its middle, mm, and the direction from there into the outline.
    at: (DVec2, DVec2),
}

impl Side {
    /// The side along these points, the inside on its left.
    fn of(points: &[DVec2]) -> Self {
        let length: f64 = points.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
        let mut left: f64 = length / 2.0;
        let mut at = (DVec2::ZERO, DVec2::Y);
        for pair in points.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            let along = from.distance(to);
            at = (
                from.lerp(to, (left / along.max(f64::MIN_POSITIVE)).min(1.0)),
                (to - from).perp().normalize_or_zero(),
            );
            left -= along;
            if left <= 0.0 {
                break;
            }
        }
        Self { length, at }
    }
}

/// The sides of a closed outline between its corners, counter-clockwise seen from above, from the corner that lies
/// furthest to the front and left; the whole of it where it has none.
fn sides(contour: &[DVec2]) -> Vec<Side> {
    let n = contour.len();
    let turn = |i: usize| {
        let (before, here, after) = (contour[(i + n - 1) % n], contour[i], contour[(i + 1) % n]);
        real::angle_from_to(here - before, after - here).to_degrees().abs()
    };
    let is_corner: Vec<bool> = (0..n).map(|i| turn(i) > CORNER).collect();
    let place = |i: usize| contour[i].x + contour[i].y;
    let corners = (0..n).filter(|&i| is_corner[i]);
    let start = corners.min_by(|&a, &b| place(a).total_cmp(&place(b)));
    let from = start.unwrap_or(0);
    let mut sides: Vec<Vec<DVec2>> = Vec::new();
    let mut side = vec![contour[from]];
    for k in from + 1..=from + n {
        side.push(contour[k % n]);
        let length: f64 = side.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
        if k == from + n {
            // What is too short for a side of its own belongs to the one before.
            match sides.last_mut().filter(|_| length <= ONE_CORNER) {
                Some(last) => last.extend(side.drain(1..)),
                None => sides.push(std::mem::take(&mut side)),
            }
        } else if is_corner[k % n] && length > ONE_CORNER {
            sides.push(std::mem::replace(&mut side, vec![contour[k % n]]));
        }
    }
    sides.iter().map(|side| Side::of(side)).collect()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use glam::dvec2;

    use super::*;

    fn letter_l() -> Vec<DVec2> {
        [(0.0, 0.0), (120.0, 0.0), (120.0, 60.0), (60.0, 60.0), (60.0, 200.0), (0.0, 200.0)]
            .map(|(x, y)| dvec2(x, y))
            .to_vec()
    }

    fn straight(outline: Vec<DVec2>, height: f64) -> Straight {
        let outline = Region::from_simple(outline);
        Straight { middle: outline.clone(), outline, height }
    }

    #[test]
    fn a_letter_has_a_panel_for_each_side() {
        let letter = straight(letter_l(), 80.0);
        assert!(!letter.is_convex());
        let laid = letter.laid(&TriMesh::default(), None);
        assert_eq!(laid.way, IcingWay::Panels);
        let lengths: Vec<f64> = laid
            .pieces
            .iter()
            .filter_map(|piece| match piece.sheet {
                Sheet::Strip { length, .. } => Some(length),
                _ => None,
            })
            .collect();
        assert_eq!(lengths, [120.0, 60.0, 60.0, 140.0, 60.0, 200.0]);
        assert!(laid.pieces[0].covers == Covers::Top);
        for (asked, refused) in [(IcingWay::Draped, Refused::Hollow), (IcingWay::Bands, Refused::NoBands)] {
            assert_eq!(letter.laid(&TriMesh::default(), Some(asked)).refused, Some(refused));
        }
        let wrapped = letter.laid(&TriMesh::default(), Some(IcingWay::DiscAndWrap));
        assert!(matches!(wrapped.pieces[1].sheet, Sheet::Strip { length, .. } if length == 640.0));
    }

    /// A disc has no corners: its side is one strip, 2πR long.
    #[test]
    fn a_round_outline_is_wrapped() {
        let disc = Region::disc(DVec2::ZERO, 60.0, Tolerance::TOOL);
        let round = straight(disc.contours()[0].clone(), 300.0);
        let laid = round.laid(&TriMesh::default(), Some(IcingWay::Panels));
        assert_eq!((laid.way, laid.refused), (IcingWay::DiscAndWrap, Some(Refused::NoPanels)));
        let Sheet::Strip { length, .. } = laid.pieces[1].sheet else { panic!("a strip") };
        assert!((length - 120.0 * PI).abs() < 0.5, "{length}");
    }

    /// A square of 8 in, 4 in high: the girth of 32 in at the foot against 32 + 2π · 4 in of the sheet.
    #[test]
    fn a_square_gathers_at_its_corners() {
        let corners = [(0.0, 0.0), (203.2, 0.0), (203.2, 203.2), (0.0, 203.2)].map(|(x, y)| dvec2(x, y));
        let square = straight(corners.to_vec(), 101.6);
        assert!((square.gather() - (32.0 / (32.0 + 8.0 * PI) - 1.0)).abs() < 1e-12);
        assert!(square.is_convex());
    }
}
