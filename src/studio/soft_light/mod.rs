//! Light from the sky and from the surfaces around, at every vertex of a scene that stands still.
//!
//! Rays over the hemisphere above a place find how much sky it sees, and what the cake, its board and the table send
//! instead, once thrown back, in their own colours. It is worked out at places a few millimetres apart and taken
//! between them from those near by (Ward, Rubinstein and Clear, "A Ray Tracing Solution for Diffuse Interreflection",
//! 1988), so that it is even: no grain, no pattern of points, the same from every side.
//!
//! Pure: knows nothing of the renderer. Millimetres, z up, light as a share of full white.

mod places;
mod rays;

use glam::{DVec3, Vec3};
use rayon::prelude::*;

use super::Vertex;
use geom::{Cancel, Cancelled};
use places::Places;
use rays::Casters;

/// Something that receives light.
#[derive(Debug, Clone, Copy)]
pub struct Body<'a> {
    /// Its vertices.
    pub vertices: &'a [Vertex],
    /// Its triangles.
    pub triangles: &'a [[u32; 3]],
    /// Share of the light that it throws back, red, green and blue.
    pub albedo: Vec3,
    /// Whether it stands in the way of light. The ground does not: it is a plane to the rays.
    pub casts: bool,
}

/// The light around.
#[derive(Debug, Clone, Copy)]
pub struct Room {
    /// Towards the lamp, unit length.
    pub lamp: DVec3,
    /// What the lamp gives to a surface square to it.
    pub lamp_light: Vec3,
    /// What the sky gives to a level surface that sees all of it.
    pub sky_light: Vec3,
    /// How much brighter the sky is straight above than its mean, and as much darker at the horizon, as a share.
    pub overhead: f32,
    /// Height of the ground, mm, and the share that it throws back; none where nothing is below.
    pub ground: Option<(f64, Vec3)>,
}

/// How finely it is worked out.
#[derive(Debug, Clone, Copy)]
pub struct Fineness {
    /// How far apart the places are at which rays are followed, mm.
    pub spacing: f64,
    /// Rays from each place.
    pub rays: u32,
}

impl Room {
    /// The sky in this direction.
    fn sky(&self, direction: Vec3) -> Vec3 {
        // The mean over a level surface, by the cosine, is at two thirds of the height.
        self.sky_light * (1.0 + self.overhead * (direction.z * 1.5 - 1.0))
    }
}

/// Light at each vertex of each body, of matt white there; without what the lamp sends straight.
///
/// # Errors
/// [`Cancelled`] when asked to stop.
pub fn soft_light(
    bodies: &[Body<'_>],
    room: &Room,
    fineness: Fineness,
    cancel: &Cancel,
) -> Result<Vec<Vec<Vec3>>, Cancelled> {
    let casters = Casters::of(bodies);
    let places = Places::of(bodies, fineness.spacing);
    let light: Vec<Option<Vec3>> = (places.chosen.par_iter().enumerate())
        .map(|(number, (position, normal))| {
            cancel.check()?;
            Ok(casters.gather(*position, *normal, room, fineness.rays, number as u32))
        })
        .collect::<Result<_, Cancelled>>()?;
    let light = places.levelled(&light);
    let of_body = |body: &Body<'_>| body.vertices.par_iter().map(|v| places.between(v, &light)).collect();
    let found = bodies.iter().map(of_body).collect();
    cancel.check()?;
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{PI, TAU};

    const FINE: Fineness = Fineness { spacing: 4.0, rays: 1024 };

    /// White sky, no lamp, nothing thrown back.
    const SKY_ALONE: Room =
        Room { lamp: DVec3::Z, lamp_light: Vec3::ZERO, sky_light: Vec3::ONE, overhead: 0.0, ground: None };

    fn vertex(position: DVec3, normal: DVec3) -> Vertex {
        Vertex { position, normal, depth: 0.0, cap: false }
    }

    /// A ball of latitudes and longitudes.
    fn ball(middle: DVec3, radius: f64) -> (Vec<Vertex>, Vec<[u32; 3]>) {
        let (rows, columns) = (96u32, 192u32);
        let vertices = (0..=rows).flat_map(|i| {
            let (sin, cos) = (PI * f64::from(i) / f64::from(rows)).sin_cos();
            (0..columns).map(move |j| {
                let (s, c) = (TAU * f64::from(j) / f64::from(columns)).sin_cos();
                let out = DVec3::new(sin * c, sin * s, -cos);
                vertex(middle + out * radius, out)
            })
        });
        let at = |i: u32, j: u32| i * columns + j % columns;
        let triangles = (0..rows).flat_map(|i| {
            (0..columns).flat_map(move |j| {
                [[at(i, j), at(i, j + 1), at(i + 1, j + 1)], [at(i, j), at(i + 1, j + 1), at(i + 1, j)]]
            })
        });
        (vertices.collect(), triangles.collect())
    }

    /// The share of the sky that a level place sees beside a ball above its horizon: 1 − (r/d)² cos θ, d and θ to the
    /// ball's middle (the factor from a small plane to a sphere in catalogues of radiation configuration factors, for
    /// instance "A Catalog of Radiation Heat Transfer Configuration Factors", section B; from memory, and by the
    /// projected solid angle of a cone: π sin² of its half angle times the cosine).
    #[test]
    fn beside_a_ball_a_level_place_sees_the_share_of_the_sky_in_the_tables() {
        let radius = 60.0;
        let (vertices, triangles) = ball(DVec3::Z * radius, radius);
        let level: Vec<Vertex> = [70.0, 90.0, 130.0, 250.0].map(|x| vertex(DVec3::X * x, DVec3::Z)).to_vec();
        let bodies = [
            Body { vertices: &vertices, triangles: &triangles, albedo: Vec3::ZERO, casts: true },
            Body { vertices: &level, triangles: &[], albedo: Vec3::ZERO, casts: false },
        ];
        let light = soft_light(&bodies, &SKY_ALONE, FINE, &Cancel::new()).unwrap();
        for (place, found) in level.iter().zip(&light[1]) {
            let towards = DVec3::Z * radius - place.position;
            let distance = towards.length();
            let expected = 1.0 - (radius / distance).powi(2) * (towards.z / distance);
            assert!(
                (f64::from(found.x) - expected).abs() < 0.012,
                "{}: {} {expected}",
                place.position.x,
                found.x
            );
        }
    }

    /// In a corner of two upright walls that reach far, a level place sees a quarter of the sky by symmetry; beside
    /// one wall half of it.
    #[test]
    fn beside_walls_a_level_place_sees_its_share_by_symmetry() {
        let wall = |along: DVec3, normal: DVec3| {
            let far = 1e6;
            let corners =
                [-along * far, along * far, along * far + DVec3::Z * far, -along * far + DVec3::Z * far];
            corners.map(|p| vertex(p, normal)).to_vec()
        };
        let (one, other) = (wall(DVec3::Y, DVec3::X), wall(-DVec3::X, DVec3::Y));
        let quad = [[0, 1, 2], [0, 2, 3]];
        let level = [vertex(DVec3::new(5.0, 5.0, 0.0), DVec3::Z)];
        let body = |vertices| Body { vertices, triangles: &quad, albedo: Vec3::ZERO, casts: true };
        let receiver = Body { vertices: &level, triangles: &[], albedo: Vec3::ZERO, casts: false };
        for (walls, expected) in [(vec![body(&one)], 0.5), (vec![body(&one), body(&other)], 0.25)] {
            let bodies: Vec<Body<'_>> = walls.into_iter().chain([receiver]).collect();
            let light = soft_light(&bodies, &SKY_ALONE, FINE, &Cancel::new()).unwrap();
            let found = f64::from(light.last().unwrap()[0].x);
            assert!((found - expected).abs() < 0.01, "{found} {expected}");
        }
    }

    /// An upright place above a plane of albedo ρ under an even sky: half a sky, and half of what the plane throws back.
    #[test]
    fn an_upright_place_gets_half_a_sky_and_half_of_what_the_ground_throws_back() {
        let upright = [vertex(DVec3::Z * 50.0, DVec3::X), vertex(DVec3::Z * 500.0, -DVec3::Z)];
        let body = Body { vertices: &upright, triangles: &[], albedo: Vec3::ZERO, casts: false };
        let room = Room { ground: Some((0.0, Vec3::new(0.8, 0.4, 0.0))), ..SKY_ALONE };
        let light = soft_light(&[body], &room, FINE, &Cancel::new()).unwrap();
        let (side, below) = (light[0][0], light[0][1]);
        assert!((side - Vec3::new(0.9, 0.7, 0.5)).abs().max_element() < 0.01, "{side}");
        assert!((below - Vec3::new(0.8, 0.4, 0.0)).abs().max_element() < 0.01, "{below}");
    }

    /// However much brighter the sky is overhead, a level place in the open gets what is stated.
    #[test]
    fn an_open_level_place_gets_the_skys_light_however_it_is_spread() {
        let open = [vertex(DVec3::ZERO, DVec3::Z)];
        let body = Body { vertices: &open, triangles: &[], albedo: Vec3::ZERO, casts: false };
        for overhead in [0.0, 0.4] {
            let room = Room { sky_light: Vec3::new(0.5, 0.6, 0.7), overhead, ..SKY_ALONE };
            let light = soft_light(&[body], &room, FINE, &Cancel::new()).unwrap()[0][0];
            assert!((light - room.sky_light).abs().max_element() < 0.005, "{light}");
        }
    }
}
