//! Parts of a covering, or of the finished cake, as solids: one for each zone and one for what no zone takes. They fill the
//! whole without overlapping.

use geom::{Region, Solid, SolidError, Tolerance, TriMesh, revolve, uncancelled};
use plan::{
    Plan,
    carve::Surface,
    design::Covering,
    zones::{Owner, Window, sections, windows},
};

use super::surface_of;

/// Cuts the parts of covering `index` out of a whole.
pub(super) struct ZoneSolids<'a> {
    pub plan: &'a Plan,
    pub index: usize,
    /// Meridians of everything on the axis.
    pub meridians: u32,
    pub tolerance: Tolerance,
}

/// How far an outline reaches out of the surface, mm.
const OUTWARDS: f64 = 2.0;

impl ZoneSolids<'_> {
    fn covering(&self) -> &Covering {
        &self.plan.design.coverings[self.index]
    }

    /// The half section inside the covering's outer line.
    fn outer(&self) -> &Region {
        &self.plan.lines.all()[self.index].section
    }

    /// Whether any zone lies within an outline, which is no part of a half section.
    pub fn has_outlines(&self) -> bool {
        windows(self.covering(), self.outer()).iter().any(|window| matches!(window, Window::Outline(_)))
    }

    /// The part of `zone` of a turned whole.
    pub fn turned(&self, section: &Region, zone: Owner) -> TriMesh {
        let parts = sections(self.covering(), self.outer(), section);
        revolve::revolve(&parts[zone.map_or(0, |zone| zone + 1)], self.meridians)
    }

    /// The part of `zone` of any whole.
    pub fn cut_out(&self, whole: &TriMesh, zone: Owner) -> Result<TriMesh, SolidError> {
        let whole = Solid::from_mesh(whole)?;
        let windows = windows(self.covering(), self.outer());
        let first = zone.map_or(0, |zone| zone + 1);
        let over: Vec<Solid> = windows[first..].iter().map(|window| self.window(window)).collect();
        let own = match zone {
            Some(zone) => whole.intersection(&self.window(&windows[zone])),
            None => whole,
        };
        surface_of(&own.difference(&Solid::union_all(&over)))
    }

    /// All that a window shows.
    fn window(&self, window: &Window) -> Solid {
        match window {
            Window::Section(region) => Solid::of_closed(&revolve::revolve(region, self.meridians)),
            Window::Outline(relief) => {
                let Plan { lines, .. } = self.plan;
                let (depth, tolerance) = (lines.all()[self.index].depth, self.tolerance);
                uncancelled(|cancel| {
                    let surface = Surface { lines, depth, tolerance, cancel };
                    surface.layer(relief, (depth - OUTWARDS, depth + relief.depth))
                })
            }
        }
    }
}
