//! The finished outside: turned about the axis, two silhouettes crossed, or any other solid.

use std::sync::{Arc, OnceLock};

use glam::{DVec2, DVec3};

use super::Profile;
use geom::{DistanceField, Region, TriMesh, revolve::revolved_properties};

/// The finished outside.
#[derive(Debug, Clone)]
pub enum Shape {
    /// A half outline turned about the axis.
    Turned(Profile),
    /// Two silhouettes, or three, crossed without softening.
    Crossed(Crossed),
    /// Any other solid.
    Free(Form),
}

/// Views that are crossed. Each stands on height 0.
#[derive(Debug, Clone)]
pub struct Crossed {
    /// From the front: (right, up), mm.
    pub front: Region,
    /// From the right-hand side: (back, up), mm.
    pub side: Region,
    /// From above: (right, back), mm.
    pub above: Option<Region>,
    /// What lies inside all of them.
    pub form: Form,
}

/// A closed solid that stands on the board.
#[derive(Debug, Clone)]
pub struct Form {
    /// Its surface.
    pub mesh: Arc<TriMesh>,
    /// Half section of the narrowest turned solid round it.
    pub envelope: Region,
    depths: Arc<OnceLock<DistanceField>>,
}

/// Envelopes follow a surface to within this in height, mm.
const ENVELOPE_STEP: f64 = 1.0;

impl Form {
    /// The solid that `mesh` bounds.
    pub fn new(mesh: TriMesh) -> Self {
        let envelope = mesh.envelope(ENVELOPE_STEP);
        Self { mesh: Arc::new(mesh), envelope, depths: Arc::default() }
    }

    /// How deep every point lies inside it, worked out when first asked for.
    pub fn depths(&self) -> &DistanceField {
        self.depths.get_or_init(|| DistanceField::new(&self.mesh))
    }
}

impl Shape {
    /// Its surface without its foot, cuts and adds left out, mm².
    pub fn surface(&self) -> f64 {
        match self.form() {
            None => {
                let section = self.section();
                let ring = |(a, b): (DVec2, DVec2)| std::f64::consts::PI * (b.x * b.x - a.x * a.x).abs();
                let foot: f64 = section.edges().filter(|(a, b)| a.y == 0.0 && b.y == 0.0).map(ring).sum();
                revolved_properties(section).area - foot
            }
            Some(form) => form.mesh.mass_properties().area - form.mesh.section(1e-6).area(),
        }
    }

    /// Its solid, if it is not turned.
    pub fn form(&self) -> Option<&Form> {
        match self {
            Self::Turned(_) => None,
            Self::Crossed(crossed) => Some(&crossed.form),
            Self::Free(form) => Some(form),
        }
    }

    /// Its half section; for a shape that is not turned, that of the narrowest turned solid round it.
    pub fn section(&self) -> &Region {
        match self {
            Self::Turned(profile) => profile.section(),
            Self::Crossed(crossed) => &crossed.form.envelope,
            Self::Free(form) => &form.envelope,
        }
    }

    /// Height, mm.
    pub fn height(&self) -> f64 {
        self.size().z
    }

    /// Width, depth and height, mm.
    pub fn size(&self) -> DVec3 {
        match self.form() {
            None => {
                let (_, hi) = self.section().bounds().unwrap_or_default();
                DVec3::new(2.0 * hi.x, 2.0 * hi.x, hi.y)
            }
            Some(form) => form.mesh.bounds().map_or(DVec3::ZERO, |(lo, hi)| hi - lo),
        }
    }

    /// Greatest distance from the axis, mm.
    pub fn radius(&self) -> f64 {
        self.section().bounds().map_or(0.0, |(_, hi)| hi.x)
    }
}
