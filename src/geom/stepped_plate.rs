//! Plates whose top lies at different heights: what a printer makes flat on its bed without supports.
//!
//! A [`SteppedPlate`] is made of regions of the plane that do not overlap, each with a height: flat, or a bevel that
//! rises with the distance from a line. The underside is flat at height 0. All cuts are cuts of regions;
//! the surface is then made in one go, from one triangulation of all outlines, so that neighbours meet
//! vertex to vertex and no boolean of solids is needed.

mod surface;

use std::{f64::consts::FRAC_PI_8, sync::Arc};

use glam::DVec2;

use super::{MeshDefect, Region, TriMesh};

/// The height of a region of a plate.
#[derive(Debug, Clone)]
pub enum Top {
    /// Level, at this height, mm.
    Flat(f64),
    /// Rising from `from` at the edge of `line` by `slope` for each mm away from it, up to `to`, mm.
    Bevel {
        /// The region that the bevel rises away from.
        line: Arc<Region>,
        /// Height at its edge, mm.
        from: f64,
        /// Greatest height, mm.
        to: f64,
        /// Rise for each mm of distance; 1 is 45°.
        slope: f64,
    },
}

impl Top {
    fn height(&self, p: DVec2) -> f64 {
        /// Heights nearer than this to an end of a bevel are that end, mm.
        const END: f64 = 1e-4;
        match self {
            Self::Flat(height) => *height,
            Self::Bevel { line, from, to, slope } => {
                let edges = line.edges();
                let away = edges.map(|(a, b)| super::region::distance_to_segment(p, a, b));
                let height = from + slope * away.fold(f64::INFINITY, f64::min);
                if height > to - END {
                    *to
                } else if height < from + END {
                    *from
                } else {
                    height
                }
            }
        }
    }

    /// A contour with points put into it where the height along an edge is not linear.
    fn refined(&self, contour: &[DVec2]) -> Vec<DVec2> {
        /// Deviations from linear less than this are left, mm.
        const DEVIATION: f64 = 0.01;
        /// An edge is bisected no more often than this.
        const BISECTIONS: u32 = 9;
        if matches!(self, Self::Flat(_)) {
            return contour.to_vec();
        }
        let mut points = Vec::with_capacity(contour.len());
        for i in 0..contour.len() {
            let (a, b) = (contour[i], contour[(i + 1) % contour.len()]);
            points.push(a);
            self.bisect((a, self.height(a)), (b, self.height(b)), BISECTIONS, DEVIATION, &mut points);
        }
        points
    }

    fn bisect(&self, a: (DVec2, f64), b: (DVec2, f64), left: u32, deviation: f64, points: &mut Vec<DVec2>) {
        // Tested at three points: the greatest deviation may lie to one side of the middle.
        let strays =
            |share: f64| (self.height(a.0.lerp(b.0, share)) - (a.1 + (b.1 - a.1) * share)).abs() > deviation;
        if left == 0 || ![0.25, 0.5, 0.75].into_iter().any(strays) {
            return;
        }
        let middle = a.0.lerp(b.0, 0.5);
        let middle = (middle, self.height(middle));
        self.bisect(a, middle, left - 1, deviation, points);
        points.push(middle.0);
        self.bisect(middle, b, left - 1, deviation, points);
    }

    fn moved(&self, move_region: impl Fn(&Region) -> Region) -> Self {
        match self {
            Self::Flat(height) => Self::Flat(*height),
            Self::Bevel { line, from, to, slope } => {
                let line = Arc::new(move_region(line));
                Self::Bevel { line, from: *from, to: *to, slope: *slope }
            }
        }
    }
}

/// A region with its height.
#[derive(Debug, Clone)]
struct PlatePart {
    region: Region,
    top: Top,
}

/// A plate on the plane z = 0 whose top lies at different heights.
#[derive(Debug, Clone, Default)]
pub struct SteppedPlate(Vec<PlatePart>);

impl SteppedPlate {
    /// A plate of one height, mm.
    pub fn flat(region: Region, height: f64) -> Self {
        Self(vec![PlatePart { region, top: Top::Flat(height) }])
    }

    /// Sets the height of `region` to `top`, inside the plate and outside.
    pub fn put(&mut self, region: &Region, top: Top) {
        self.cut(region);
        if !region.is_empty() {
            self.0.push(PlatePart { region: region.clone(), top });
        }
    }

    /// Takes `region` out of the plate.
    pub fn cut(&mut self, region: &Region) {
        let Some((lo, hi)) = region.bounds() else { return };
        for part in &mut self.0 {
            let meets = part.region.bounds().is_some_and(|(a, b)| a.cmple(hi).all() && lo.cmple(b).all());
            if meets {
                part.region = part.region.difference(region);
            }
        }
        self.0.retain(|part| !part.region.is_empty());
    }

    /// The part of the plate within `region`.
    #[must_use]
    pub fn within(&self, region: &Region) -> Self {
        let part = |t: &PlatePart| PlatePart { region: t.region.intersection(region), top: t.top.clone() };
        Self(self.0.iter().map(part).filter(|t| !t.region.is_empty()).collect())
    }

    /// The plate turned by `angle` radians about the origin and then moved.
    #[must_use]
    pub fn placed(&self, angle: f64, by: DVec2) -> Self {
        self.moved(|region| region.placed(angle, by))
    }

    /// The plate mirrored in the axis x = 0.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        self.moved(Region::mirrored)
    }

    fn moved(&self, move_region: impl Fn(&Region) -> Region + Copy) -> Self {
        let one = |t: &PlatePart| PlatePart { region: move_region(&t.region), top: t.top.moved(move_region) };
        Self(self.0.iter().map(one).collect())
    }

    /// What the plate covers, seen from above.
    pub fn footprint(&self) -> Region {
        Region::new(self.0.iter().flat_map(|t| t.region.contours().iter().cloned()).collect())
    }

    /// The level parts with their heights, mm.
    pub fn levels(&self) -> impl Iterator<Item = (&Region, f64)> {
        self.0.iter().filter_map(|t| match t.top {
            Top::Flat(height) => Some((&t.region, height)),
            Top::Bevel { .. } => None,
        })
    }

    /// Every part with the height of its top, that of a bevel at its highest, mm.
    pub fn parts(&self) -> impl Iterator<Item = (&Region, f64)> {
        self.0.iter().map(|t| match t.top {
            Top::Flat(height) => (&t.region, height),
            Top::Bevel { to, .. } => (&t.region, to),
        })
    }

    /// The regions that reach up to `height` mm; a bevel counts as a whole, by its highest point.
    pub fn reaching(&self, height: f64) -> Region {
        let reaches = |top: &Top| match top {
            Top::Flat(own) => *own >= height,
            Top::Bevel { to, .. } => *to >= height,
        };
        let regions = self.0.iter().filter(|t| reaches(&t.top)).map(|t| &t.region);
        Region::new(regions.flat_map(|region| region.contours().iter().cloned()).collect())
    }

    /// Lower left and upper right corner seen from above; `None` when there is nothing.
    pub fn bounds(&self) -> Option<(DVec2, DVec2)> {
        let boxes = self.0.iter().filter_map(|t| t.region.bounds());
        boxes.reduce(|(a, b), (c, d)| (a.min(c), b.max(d)))
    }

    /// The surface, closed and outward. Where two parts meet in no more than an upright line, as a hole that just
    /// touches the rim, they are joined by a bridge too small to be printed.
    ///
    /// # Errors
    /// When it is not closed.
    pub fn mesh(&self) -> Result<TriMesh, MeshDefect> {
        /// Radius of a bridge, mm.
        const BRIDGE: f64 = 0.02;
        /// A bridge may touch something in its turn.
        const ROUNDS: usize = 4;
        let mut bridged = self.clone();
        for _ in 0..ROUNDS {
            let mesh = surface::surface(&bridged.0)?;
            let crowded = mesh.crowded_edges();
            if crowded.is_empty() {
                mesh.check()?;
                return Ok(mesh);
            }
            for (from, to) in crowded {
                let [from, to] = [from, to].map(|v| mesh.positions[v as usize]);
                let at = from.truncate();
                // Eight corners, so that none lies on a line along an axis through the place.
                let corner =
                    |k: i32| at + BRIDGE * crate::real::unit_vector(f64::from(2 * k + 1) * FRAC_PI_8);
                let bridge = Region::from_simple((0..8).map(corner).collect());
                bridged.put(&bridge, Top::Flat(from.z.max(to.z)));
            }
        }
        let mesh = surface::surface(&bridged.0)?;
        mesh.check()?;
        Ok(mesh)
    }
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;
    use crate::Tolerance;

    fn square(low: f64, high: f64) -> Region {
        Region::rectangle(DVec2::splat(low), DVec2::splat(high))
    }

    #[test]
    fn steps_and_holes_add_up() {
        let mut plate = SteppedPlate::flat(square(0.0, 40.0), 3.0);
        plate.put(&square(10.0, 20.0), Top::Flat(7.0));
        plate.put(&square(15.0, 20.0), Top::Flat(9.0));
        plate.cut(&square(30.0, 35.0));
        let mesh = plate.mesh().unwrap();
        let exact = (1600.0 - 25.0) * 3.0 + 100.0 * 4.0 + 25.0 * 2.0;
        assert!((mesh.volume() - exact).abs() < 1e-6, "{}", mesh.volume());
        assert_eq!(mesh.bounds().unwrap().1.z, 9.0);
    }

    #[test]
    fn a_bevel_round_a_square_holds_its_prismatoid() {
        // A square frustum, any handbook: h/3 (A + B + √(A B)), here as a pyramid frustum 30 → 20, 5 high.
        let outside = square(-50.0, 50.0).difference(&square(0.0, 30.0));
        let mut plate = SteppedPlate::flat(square(0.0, 30.0), 6.0);
        let rim = square(0.0, 30.0).difference(&square(5.0, 25.0));
        plate.put(&rim, Top::Bevel { line: Arc::new(outside), from: 1.0, to: 6.0, slope: 1.0 });
        let exact = 900.0 + 5.0 / 3.0 * (900.0 + 400.0 + 600.0);
        assert!((plate.mesh().unwrap().volume() - exact).abs() < 1e-6);
    }

    /// Holes that touch the rim, and towers that touch each other, in one line.
    #[test]
    fn parts_that_meet_in_a_line_are_joined() {
        let mut plate = SteppedPlate::flat(square(0.0, 40.0), 3.0);
        let fine = Tolerance::new(0.01).unwrap();
        // Touches the rim from inside in one corner of its outline.
        plate.cut(&Region::from_simple(vec![dvec2(0.0, 10.0), dvec2(4.0, 8.0), dvec2(4.0, 12.0)]));
        plate.put(&square(15.0, 20.0), Top::Flat(25.0));
        plate.put(&square(20.0, 25.0), Top::Flat(25.0));
        plate.cut(&Region::disc(dvec2(37.0, 30.0), 3.0, fine));
        assert!(!surface::surface(&plate.0).unwrap().crowded_edges().is_empty());
        let mesh = plate.mesh().unwrap();
        let hole = Region::disc(dvec2(37.0, 30.0), 3.0, fine).area();
        let exact = (1600.0 - 8.0 - hole) * 3.0 + 2.0 * 25.0 * 22.0;
        assert!((mesh.volume() - exact).abs() < 0.1, "{} {exact}", mesh.volume());
    }

    #[test]
    fn cutting_and_putting_back_keeps_every_edge_closed() {
        let fine = Tolerance::new(0.01).unwrap();
        let disc = Region::disc(dvec2(3.0, 4.0), 25.0, fine);
        let mut plate = SteppedPlate::flat(disc.clone(), 2.0);
        plate.put(&disc.inset(3.0, fine), Top::Flat(5.0));
        plate.put(&Region::disc(dvec2(10.0, 4.0), 9.0, fine), Top::Flat(3.5));
        let half = Region::rectangle(dvec2(-100.0, -100.0), dvec2(7.7, 100.0));
        let rest = Region::rectangle(dvec2(7.7, -100.0), dvec2(100.0, 100.0));
        let whole = plate.mesh().unwrap().volume();
        let parts = [half, rest].map(|part| plate.within(&part).mesh().unwrap().volume());
        assert!((parts[0] + parts[1] - whole).abs() < 1e-5, "{parts:?} {whole}");
        assert!((plate.mirrored().mesh().unwrap().volume() - whole).abs() < 1e-6);
    }
}
