//! How deep any point lies inside a solid of free form, and the surface at a given depth.
//!
//! Depth is the distance to the surface, positive inside. *A covering does not lie under the cake*: faces that
//! lie on the board (z = 0) are no surface, and every wall that stands on the board is carried on below it in
//! the direction that its face has there, held to 60° from upright, so that what lies a depth inside runs
//! parallel to the wall right down to the board. Where carried-on walls of two feet cross below the board, each
//! is still measured. A sealed hollow, a shell of its own that faces inwards, is no surface either: no coat
//! reaches it.
//!
//! The distance is exact to round-off: the nearest point is found in a tree of boxes, its side by the
//! angle-weighted normal there (J. A. Bærentzen and H. Aanæs, Signed distance computation using the angle
//! weighted pseudonormal, 2005), beside the board by what lies above.
//!
//! The surface at a depth is drawn on a lattice, a vertex for each sheet in each cell (the dual of marching
//! cubes: closed and with two triangles at each edge whatever the field does). Vertices are put where the
//! tangent planes of the depths around meet (T. Ju et al., Dual contouring of Hermite data, 2002) and then moved
//! onto the depth itself. So every vertex lies on it to a thousandth of the lattice step, flat walls and the
//! creases between them are exact, and between vertices a surface that bends with radius r is off by at most
//! step²/(2 r). What is thinner than the lattice step may be missing, and a crease that bends, or of less than
//! 25°, may be off by up to a quarter of the step.

mod lattice;
mod net;
mod normals;
mod place;
mod tree;
mod walls;

use glam::DVec3;

pub use self::tree::Tree;
use self::{lattice::Lattice, net::Net, normals::Normals, tree::Hit, walls::Walls};
use super::{Cancel, Cancelled, TriMesh, uncancelled};

/// The depth of every point inside a closed mesh that stands on the board.
#[derive(Debug, Clone)]
pub struct Depths {
    tree: Tree,
    normals: Normals,
    /// Triangles from here on are carried on below the board.
    walls: u32,
    bounds: (DVec3, DVec3),
}

/// The point of the surface that lies nearest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// Depth of the point asked for, mm; negative outside.
    pub depth: f64,
    /// The nearest point of the surface, or of a wall carried on below the board.
    pub point: DVec3,
    /// The direction in which depth grows fastest: square to the surface, inwards.
    pub inwards: DVec3,
}

impl Depths {
    /// The depths inside `mesh`, which must be closed and stand on z = 0 with nothing below.
    pub fn new(mesh: &TriMesh) -> Self {
        let walls = Walls::new(mesh);
        let (normals, tree) = rayon::join(|| Normals::new(&walls.mesh), || Tree::new(&walls.mesh));
        let bounds = mesh.bounds().unwrap_or_default();
        Self { tree, normals, walls: walls.count, bounds }
    }

    /// The depth of `p`, mm: its distance to the surface, negative outside.
    pub fn at(&self, p: DVec3) -> f64 {
        self.depth(p, None).0
    }

    /// The depth of `p` with the nearest point of the surface.
    pub fn nearest(&self, p: DVec3) -> Nearest {
        let (depth, hit) = self.depth(p, None);
        Nearest { depth, point: hit.point, inwards: self.inwards(p, depth, &hit) }
    }

    /// The closed surface `depth` mm inside, outside where `depth` is negative, cut level at the board and drawn
    /// on a lattice of `step` mm. Empty where nothing lies so deep.
    ///
    /// # Panics
    /// When `step` is not above zero.
    pub fn inset(&self, depth: f64, step: f64) -> TriMesh {
        uncancelled(|cancel| self.insets(&[depth], step, cancel)).pop().unwrap_or_default()
    }

    /// [`Depths::inset`] at several depths, which share the lattice.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    ///
    /// # Panics
    /// When `step` is not above zero.
    pub fn insets(&self, depths: &[f64], step: f64, cancel: &Cancel) -> Result<Vec<TriMesh>, Cancelled> {
        assert!(step > 0.0, "a lattice needs a step above zero, not {step}");
        if self.tree.is_empty() {
            return Ok(vec![TriMesh::default(); depths.len()]);
        }
        let lattice = Lattice::new(self, depths, step, cancel)?;
        depths
            .iter()
            .map(|depth| {
                let net = Net::new(&lattice, *depth, cancel)?;
                net.into_mesh(cancel)
            })
            .collect()
    }

    /// Whether a straight line from `p` outside along `direction` meets nothing of the walls, and is not below the
    /// board where it has passed the solid.
    pub fn is_free(&self, p: DVec3, direction: DVec3) -> bool {
        let (lo, hi) = self.bounds;
        let until = |p: f64, d: f64, lo: f64, hi: f64| match d {
            d if d > 0.0 => (hi - p) / d,
            d if d < 0.0 => (lo - p) / d,
            _ => f64::INFINITY,
        };
        let (x, y) = (until(p.x, direction.x, lo.x, hi.x), until(p.y, direction.y, lo.y, hi.y));
        let past = p.z + direction.z * x.min(y);
        (direction.z >= 0.0 || past >= 0.0) && !self.tree.is_met(p, direction, self.walls)
    }

    /// Depth and nearest place. `near` is a triangle likely to be near.
    fn depth(&self, p: DVec3, near: Option<u32>) -> (f64, Hit) {
        let hit = self.tree.nearest(p, near);
        let distance = hit.point.distance(p);
        let inside = if hit.point.z <= 0.0 && p.z >= 0.0 {
            // On the foot's rim or on what is carried on below it, which may cross itself.
            self.tree.winding_above(p, self.walls) > 0
        } else {
            (p - hit.point).dot(self.normals.at(&hit)) < 0.0
        };
        (if inside { distance } else { -distance }, hit)
    }

    /// The gradient of the depth at `p`.
    fn inwards(&self, p: DVec3, depth: f64, hit: &Hit) -> DVec3 {
        /// Nearer than this the direction to the nearest point is round-off, mm.
        const ON_SURFACE: f64 = 1e-7;
        if depth.abs() > ON_SURFACE { (p - hit.point) / depth } else { -self.normals.face(hit.triangle) }
    }
}
