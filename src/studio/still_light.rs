//! The soft light of a picture: what receives it, from where, how finely.

use glam::{DVec3, Vec3};

use super::{
    Look, Piece, Scene, Surface, Vertex, cake_material, lamps,
    simplify::Split,
    soft_light::{Body, Fineness, Room, soft_light},
    spawn::GROUND_COLOUR,
};
use geom::{Cancel, Cancelled};

/// Most triangles of a piece that is divided for its light.
const MOST: usize = 1_500_000;

/// Rings and spokes of the ground near the cake.
const GROUND: (u32, u32) = (80, 160);

/// How far below everything the ground lies, mm.
pub const GROUND_BELOW: f64 = 0.5;

/// How far the ground reaches, mm: beyond the edges of any picture.
pub const FAR: f64 = 20_000.0;

/// The light of a scene that stands still.
#[derive(Debug, Clone, Copy)]
pub struct StillLight {
    /// Towards the middle of the lamp, unit length.
    pub lamp: DVec3,
    /// Height of the ground, mm.
    pub floor: f64,
    /// How finely it is worked out.
    pub fineness: Fineness,
}

/// The soft light at the vertices of each piece, `None` for those that receive none, and at those of the ground.
type Lights = (Vec<Option<Vec<Vec3>>>, Vec<Vec3>);

impl StillLight {
    /// The light of the window's scene for an eye on this bearing, degrees: coarser than that of a picture.
    pub fn in_window(scene: &Scene, bearing: f64) -> Self {
        let (low, high) = scene.bounds().unwrap_or((DVec3::ZERO, DVec3::splat(100.0)));
        let fineness = Fineness { spacing: ((high - low).length() / 90.0).clamp(1.0, 12.0), rays: 96 };
        Self { lamp: lamps::lamp_direction(bearing), floor: low.z - GROUND_BELOW, fineness }
    }

    /// The surface with edges short enough for light that varies over it.
    pub fn refined(&self, surface: &Surface) -> Surface {
        surface.clone().refined(2.0 * self.fineness.spacing, MOST)
    }

    /// Works out the light; `reach` is how far from the axis shadows on the ground reach, mm.
    ///
    /// # Errors
    /// [`Cancelled`] when asked to stop.
    pub fn light(
        &self,
        pieces: &[Piece],
        splits: &[Split],
        reach: f64,
        cancel: &Cancel,
    ) -> Result<Lights, Cancelled> {
        let room = Room {
            lamp: self.lamp,
            lamp_light: lamps::WARM * lamps::LAMP as f32,
            sky_light: lamps::SKY * lamps::CEILING as f32,
            overhead: 0.25,
            ground: Some((self.floor, albedo(GROUND_COLOUR))),
        };
        let lit: Vec<usize> = (0..pieces.len()).filter(|i| pieces[*i].look != Look::Ghost).collect();
        let ground = self.ground(reach);
        let body = |i: &usize| {
            let (vertices, triangles) = &splits[*i];
            Body { vertices, triangles, albedo: albedo(pieces[*i].mean_colour()), casts: !pieces[*i].flush }
        };
        let table = Body { vertices: &ground.0, triangles: &ground.1, albedo: Vec3::ZERO, casts: false };
        let bodies: Vec<Body<'_>> = lit.iter().map(body).chain([table]).collect();
        let mut found = soft_light(&bodies, &room, self.fineness, cancel)?;
        let on_ground = found.pop().unwrap_or_default();
        let mut lights = vec![None; pieces.len()];
        for (i, light) in lit.into_iter().zip(found) {
            lights[i] = Some(light);
        }
        Ok((lights, on_ground))
    }

    /// The ground: rings round the axis, close together as far as shadows reach, and one far off. At height 0.
    pub fn ground(&self, reach: f64) -> Split {
        let (rings, spokes) = GROUND;
        let radius = |ring: u32| match ring {
            _ if ring > rings => FAR,
            _ => reach.max(1.0) * f64::from(ring) / f64::from(rings),
        };
        let vertex = |ring: u32, spoke: u32| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(spoke) / f64::from(spokes)).sin_cos();
            let position = DVec3::new(radius(ring) * cos, radius(ring) * sin, self.floor);
            Vertex { position, normal: DVec3::Z, depth: 0.0, cap: false }
        };
        let vertices =
            (0..=rings + 1).flat_map(|ring| (0..spokes).map(move |spoke| vertex(ring, spoke))).collect();
        let at = |ring: u32, spoke: u32| ring * spokes + spoke % spokes;
        let quad = |ring: u32, s: u32| {
            let [a, b, c, d] = [at(ring, s), at(ring + 1, s), at(ring + 1, s + 1), at(ring, s + 1)];
            [[a, b, c], [a, c, d]]
        };
        let triangles = (0..=rings).flat_map(|ring| (0..spokes).flat_map(move |s| quad(ring, s))).collect();
        (vertices, triangles)
    }
}

/// The share of light that a surface of this colour throws back.
fn albedo(colour: formats::model::Rgb) -> Vec3 {
    let linear = cake_material::linear(colour);
    Vec3::new(linear.x, linear.y, linear.z)
}
