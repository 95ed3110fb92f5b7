//! The finished, coated and carved lines: one inside the other by the thickness of each covering.
//!
//! For a turned shape the surface that lies d mm inside is the revolved inset of its section, mirrored
//! in the axis so that the axis is no edge. For crossed silhouettes it is the crossing of their insets,
//! exactly: what is further than d from the outside of an intersection is so from the outside of each. For
//! any other solid it is a level of the field of distances. A covering does not lie under the cake: before
//! the inset the shape is carried on below the board in the direction its walls have there, and afterwards
//! it is cut at the board. A hollow that no outside reaches is not coated.

mod outside;
mod thin;

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError},
};

use glam::{DVec2, DVec3};

use crate::design::{Covering, Design, Detail, Tool};
use geom::units::{Unit, UnitStyle};
use geom::{
    Cancel, Cancelled, Region, Solid, Tolerance, TriMesh,
    revolve::{at_bearing, revolved_volume},
};
use outside::Outside;
pub use thin::ThinPart;

/// The surface of an inset near a box.
enum Near {
    /// What lies in the box, and perhaps more.
    Part(TriMesh),
    /// All of it.
    Whole(Arc<TriMesh>),
}

/// One of the lines: the section of the solid inside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// "finished", "coated", "carved", or "under …" for one between them.
    pub name: String,
    /// How far it lies inside the finished line, mm.
    pub depth: f64,
    /// Half section inside the line, right of the axis and above the board; for a shape that is not turned, that
    /// of the narrowest turned solid round the line.
    pub section: Region,
    /// The surface of what lies inside the line, if the shape is not turned.
    pub solid: Option<Arc<TriMesh>>,
}

/// What lies inside a surface that is everywhere equally far from the finished one.
#[derive(Debug, Clone, Default)]
pub struct Inset {
    /// Its half section, as [`Line::section`].
    pub section: Region,
    /// Its surface, if the shape is not turned.
    pub solid: Option<Arc<TriMesh>>,
}

/// Every line of a design, from the outside in: the first is finished, the last carved.
#[derive(Debug, Clone)]
pub struct Lines {
    lines: Vec<Line>,
    lost: Vec<LostDetail>,
    thin: Vec<ThinPart>,
    outside: Arc<Outside>,
    /// Insets asked for before, by depth and tolerance: many details ask for the same few.
    insets: Arc<Mutex<HashMap<(u64, u64), Inset>>>,
}

/// A place where an even coat over the carved cake does not reach the finished line: a sharp edge is
/// rounded, a thin ridge is missing. The maker builds it up by hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LostDetail {
    /// The furthest point, mm.
    pub at: DVec3,
    /// How far the finished line lies beyond the even coat there, mm.
    pub by: f64,
    /// Lowest and highest point of the place, mm.
    pub heights: (f64, f64),
}

/// The coverings leave no cake.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "the coverings down to \"{covering}\" are {} thick, and {} of the shape is left inside them",
    UnitStyle::new(*unit).length_fine(*total),
    if *held < 1000.0 { "nothing".to_owned() } else { format!("no more than {:.0} mL", held / 1000.0) }
)]
pub struct NothingLeft {
    /// Place in the list of coverings, from 0.
    pub index: usize,
    /// The covering that takes the last of it.
    pub covering: String,
    /// Thickness down to and with it, mm.
    pub total: f64,
    /// What is left inside, mm³: nothing, or too little to be a cake.
    pub held: f64,
    /// The maker's unit.
    pub unit: Unit,
}

/// Why there are no lines.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LinesError {
    /// The coverings leave no cake.
    #[error(transparent)]
    NothingLeft(#[from] NothingLeft),
    /// It was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl Lines {
    /// Finds every line of `design`, curves within `tolerance`.
    ///
    /// # Errors
    /// When the coverings leave nothing to carve, or once `cancel` asks to stop.
    pub fn new(design: &Design, tolerance: Tolerance, cancel: &Cancel) -> Result<Self, LinesError> {
        let deepest = total(&design.coverings) + deepest_relief(&design.details);
        let outside = Outside::new(&design.shape, deepest, design.grid);
        let (section, solid) = (design.shape.section().clone(), design.shape.form().map(|f| f.mesh.clone()));
        let mut lines = vec![Line { name: "finished".into(), depth: 0.0, section, solid }];
        let depths: Vec<f64> = design
            .coverings
            .iter()
            .scan(0.0, |depth, covering| {
                *depth += covering.thickness;
                Some(*depth)
            })
            .collect();
        for (index, inset) in outside.insets(&depths, tolerance, cancel)?.into_iter().enumerate() {
            let (covering, depth) = (&design.coverings[index], depths[index]);
            let (held, whole) = (held(&inset.section, inset.solid.as_deref()), lines[0].volume());
            if held <= LEAST_SHARE * whole {
                let covering = covering.material.name.clone();
                return Err(NothingLeft { index, covering, total: depth, held, unit: design.unit }.into());
            }
            let name = line_name(&design.coverings, index);
            lines.push(Line { name, depth, section: inset.section, solid: inset.solid });
        }
        let carved = &lines[lines.len() - 1];
        let lost = outside.lost(carved, tolerance, cancel)?;
        let thin = outside.thin(carved, &lost, tolerance, cancel)?;
        Ok(Self { lines, lost, thin, outside: Arc::new(outside), insets: Arc::default() })
    }

    /// All lines from the outside in; never empty.
    pub fn all(&self) -> &[Line] {
        &self.lines
    }

    /// The surface after everything.
    pub fn finished(&self) -> &Line {
        &self.lines[0]
    }

    /// Where the knife goes.
    pub fn carved(&self) -> &Line {
        &self.lines[self.lines.len() - 1]
    }

    /// The surface with the outermost covering off; the carved line when there is just one covering.
    pub fn coated(&self) -> &Line {
        &self.lines[1.min(self.lines.len() - 1)]
    }

    /// What lies `depth` mm inside the finished line, or outside it where `depth` is negative; no deeper than
    /// coverings and pressed-in outlines go.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn inset(&self, depth: f64, tolerance: Tolerance, cancel: &Cancel) -> Result<Inset, Cancelled> {
        let key = (depth.to_bits(), tolerance.chord_mm().to_bits());
        // A panic elsewhere leaves the map whole: it only ever gains finished regions.
        let known = || self.insets.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(inset) = known().get(&key) {
            return Ok(inset.clone());
        }
        let inset = self.outside.inset(depth, tolerance, cancel)?;
        known().insert(key, inset.clone());
        Ok(inset)
    }

    /// What of [`Lines::inset`] lies in a box, which is given by its lowest and its highest corner, and perhaps
    /// more; for a shape that is not turned, empty for others.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn solid_near(
        &self,
        depth: f64,
        (lo, hi): (DVec3, DVec3),
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Solid, Cancelled> {
        match self.near(depth, (lo, hi), tolerance, cancel)? {
            Near::Part(part) => Ok(Solid::of_closed(&part)),
            // Where what is cut out is no solid, all of it is.
            Near::Whole(mesh) => {
                Ok(Solid::from_mesh(&mesh.within(lo, hi)).unwrap_or_else(|_| Solid::of_closed(&mesh)))
            }
        }
    }

    /// The surface of [`Lines::solid_near`], and perhaps all of it.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn surface_near(
        &self,
        depth: f64,
        bounds: (DVec3, DVec3),
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Arc<TriMesh>, Cancelled> {
        Ok(match self.near(depth, bounds, tolerance, cancel)? {
            Near::Part(part) => Arc::new(part),
            Near::Whole(mesh) => mesh,
        })
    }

    fn near(
        &self,
        depth: f64,
        bounds: (DVec3, DVec3),
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Near, Cancelled> {
        let known = self.lines.iter().find(|line| line.depth == depth).and_then(|line| line.solid.clone());
        if let Some(mesh) = known {
            return Ok(Near::Whole(mesh));
        }
        Ok(match self.outside.near(depth, bounds, cancel)? {
            Some(part) => Near::Part(part),
            None => Near::Whole(self.inset(depth, tolerance, cancel)?.solid.unwrap_or_default()),
        })
    }

    /// What is left while the knife is still `by` mm off the carved line.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn before_carved(&self, by: f64, tolerance: Tolerance, cancel: &Cancel) -> Result<Inset, Cancelled> {
        self.outside.before(self.carved(), by, tolerance, cancel)
    }

    /// How far `p` lies inside the finished line, mm, coverings that are not under the cake left out: negative
    /// outside. Cuts and adds do not count.
    pub fn depth_at(&self, p: DVec3) -> f64 {
        self.outside.depth_at(p)
    }

    /// Where a way in from outside first meets the finished line at a height and a bearing, radius in mm; `None`
    /// where it meets nothing.
    pub fn radius_at(&self, height: f64, bearing: f64) -> Option<f64> {
        let finished = self.finished();
        let Some(mesh) = &finished.solid else {
            return finished.section.row(height).last().map(|&(_, r)| r);
        };
        let reach = finished.section.bounds().map_or(0.0, |(_, hi)| hi.x) + 1.0;
        let way = |radius: f64| at_bearing(radius, height, bearing);
        mesh.first_hit(way(reach), way(0.0)).map(|(p, _)| p.truncate().length())
    }

    /// Where the uppermost part of the finished shape over a place seen from above begins and ends, mm; `None` where
    /// there is nothing.
    pub fn column_at(&self, p: DVec2) -> Option<(f64, f64)> {
        /// Places are looked up just beside an upright wall, mm.
        const BESIDE: f64 = 1e-6;
        let finished = self.finished();
        let (_, hi) = finished.section.bounds()?;
        let Some(mesh) = &finished.solid else {
            let x = p.length() + BESIDE;
            let crossings = finished.section.edges().filter(|(a, b)| (a.x > x) != (b.x > x));
            let mut heights: Vec<f64> =
                crossings.map(|(a, b)| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x)).collect();
            heights.sort_by(f64::total_cmp);
            return heights.rchunks_exact(2).next().map(|pair| (pair[0], pair[1]));
        };
        let above = p.extend(hi.y + 1.0);
        let (top, _) = mesh.first_hit(above, p.extend(-1.0))?;
        let under = mesh.first_hit(p.extend(top.z - BESIDE.max(1e-3)), p.extend(-1.0));
        Some((under.map_or(0.0, |(p, _)| p.z), top.z))
    }

    /// Whether the shape is turned.
    pub fn is_turned(&self) -> bool {
        self.finished().solid.is_none()
    }

    /// Parts that are thinner than the coats on both their sides and hold no cake, the largest first.
    pub fn thin(&self) -> &[ThinPart] {
        &self.thin
    }

    /// Where an even coat does not reach the finished line, worst first.
    pub fn lost(&self) -> &[LostDetail] {
        &self.lost
    }
}

/// Cake that is a smaller share of the finished volume than this is no cake under coats, but crumbs in them. Common
/// practice, no source.
const LEAST_SHARE: f64 = 0.03;

impl Line {
    /// What lies inside it, mm³.
    fn volume(&self) -> f64 {
        held(&self.section, self.solid.as_deref())
    }
}

fn held(section: &Region, solid: Option<&TriMesh>) -> f64 {
    solid.map_or_else(|| revolved_volume(section), TriMesh::volume)
}

fn total(coverings: &[Covering]) -> f64 {
    coverings.iter().map(|c| c.thickness).sum()
}

/// How deep the deepest outline is pressed in, mm.
pub(crate) fn deepest_relief(details: &[Detail]) -> f64 {
    let depth = |detail: &Detail| match &detail.tool {
        Tool::Relief(relief) => relief.depth,
        _ => 0.0,
    };
    details.iter().map(depth).fold(0.0, f64::max)
}

/// Name of the line under covering `index`.
fn line_name(coverings: &[Covering], index: usize) -> String {
    match index {
        _ if index + 1 == coverings.len() => "carved".into(),
        0 => "coated".into(),
        _ => format!("under {}", coverings[index].material.name),
    }
}
