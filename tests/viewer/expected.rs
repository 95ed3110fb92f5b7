//! What a picture has to show, worked out from the scene without a graphics card: which piece is in front at
//! each pixel, and in which colour.

use crumbline::{
    model::Rgb,
    viewer::{Lens, Look, Pose, Scene, scale::DepthScale},
};
use glam::{DVec2, DVec3};
use image::RgbaImage;

/// Colours of one hue differ by light only: their directions in linear RGB are less than this apart, degrees.
const SAME_HUE: f64 = 9.0;
/// A colour whose channels differ by less, of 255, is grey: ground, shadow, text.
const GREY: u8 = 24;
/// This close to the rim of a piece a pixel may show either side, pixels.
const RIM: i64 = 2;

/// A pixel as it has to be.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Pixel {
    /// Nothing but ground.
    Empty,
    /// Cake coloured by depth: this colour, more or less lit.
    Cake(Rgb),
    /// A solid in its material's colour, which gloss may whiten: only that it is not the ground.
    Solid,
    /// Something whose colour is not checked: a board, a hatch, what lies behind a ghost.
    Other,
}

/// A picture as it has to be.
pub struct Expected {
    size: (u32, u32),
    pixels: Vec<Pixel>,
    /// The piece in front at each pixel, for finding rims.
    pieces: Vec<Option<usize>>,
}

/// How far a picture agrees with what was expected, shares from 0 to 1.
#[derive(Debug, Clone, Copy)]
pub struct Agreement {
    /// Of the pixels where cake was expected: those of its colour.
    pub cake: f64,
    /// Of the pixels where nothing was expected: those that are grey or transparent.
    pub empty: f64,
    /// How many pixels of cake were looked at.
    pub pixels: usize,
}

impl Agreement {
    /// Panics unless the picture shows what it has to.
    #[track_caller]
    pub fn assert(self, name: &str) {
        assert!(self.pixels > 500, "{name}: too little was expected to tell: {self:?}");
        assert!(self.cake > 0.92 && self.empty > 0.985, "{name}: {self:?}");
    }
}

impl Expected {
    /// The scene seen from a pose, in a picture of this size.
    pub fn of(scene: &Scene, pose: &Pose, size: (u32, u32)) -> Self {
        let count = size.0 as usize * size.1 as usize;
        let mut nearest = vec![(f64::NEG_INFINITY, Pixel::Empty, None); count];
        let mut ghost = vec![f64::NEG_INFINITY; count];
        let scale = scene.depth_scale();
        for (index, piece) in scene.pieces.iter().enumerate() {
            for t in 0..piece.surface.mesh.len() {
                let cap = piece.surface.cap.get(t).copied().unwrap_or(false);
                let depths = piece.surface.mesh.triangles[t]
                    .map(|v| piece.surface.depth.get(v as usize).copied().unwrap_or(0.0));
                raster(pose, size, piece.surface.mesh.corners(t), |at, near, weights| {
                    if piece.look == Look::Ghost {
                        ghost[at] = ghost[at].max(near);
                    } else if near > nearest[at].0 {
                        let depth = weights.iter().zip(depths).map(|(w, d)| w * d).sum::<f64>();
                        let pixel = match piece.under_cake {
                            true => Pixel::Other,
                            false => shown(piece.look, scale.filter(|_| !cap), depth),
                        };
                        nearest[at] = (near, pixel, Some(index));
                    }
                });
            }
        }
        // A ghost is nearly clear: the cake behind it keeps its hue. Where there is only ghost nothing is checked.
        let seen = nearest.iter().zip(&ghost);
        let pixels = seen.map(|((near, pixel, _), ghost)| match pixel {
            Pixel::Empty if ghost > near => Pixel::Other,
            pixel => *pixel,
        });
        Self { size, pixels: pixels.collect(), pieces: nearest.iter().map(|(.., piece)| *piece).collect() }
    }

    /// Compares `picture` with what was expected, except where `skip` says so.
    pub fn agreement(&self, picture: &RgbaImage, skip: impl Fn(u32, u32) -> bool) -> Agreement {
        assert_eq!(picture.dimensions(), self.size);
        let (mut cake, mut right, mut empty, mut clear) = (0, 0, 0, 0);
        let ground = picture.get_pixel(3, self.size.1 - 3).0;
        for (x, y, pixel) in picture.enumerate_pixels() {
            if skip(x, y) || self.at_rim(x, y) {
                continue;
            }
            match self.pixels[(y * self.size.0 + x) as usize] {
                Pixel::Empty => {
                    empty += 1;
                    clear += usize::from(is_grey(pixel.0));
                }
                Pixel::Cake(colour) => {
                    cake += 1;
                    right += usize::from(pixel.0[3] == 255 && hue_between(pixel.0, colour) < SAME_HUE);
                }
                Pixel::Solid => {
                    cake += 1;
                    right += usize::from(pixel.0[3] == 255 && differs(pixel.0, ground));
                }
                Pixel::Other => {}
            }
        }
        let share = |part: usize, all: usize| if all == 0 { 1.0 } else { part as f64 / all as f64 };
        Agreement { cake: share(right, cake), empty: share(clear, empty), pixels: cake }
    }

    fn at_rim(&self, x: u32, y: u32) -> bool {
        let (width, height) = (i64::from(self.size.0), i64::from(self.size.1));
        let own = self.pieces[(y * self.size.0 + x) as usize];
        (-RIM..=RIM).any(|dy| {
            (-RIM..=RIM).any(|dx| {
                let (x, y) = (i64::from(x) + dx, i64::from(y) + dy);
                (0..width).contains(&x)
                    && (0..height).contains(&y)
                    && self.pieces[(y * width + x) as usize] != own
            })
        })
    }
}

fn shown(look: Look, scale: Option<DepthScale>, depth: f64) -> Pixel {
    match (look, scale) {
        (Look::Depth, Some(scale)) => Pixel::Cake(scale.colour(depth)),
        (Look::Shortfall | Look::Hardware | Look::Ghost, _) => Pixel::Other,
        _ => Pixel::Solid,
    }
}

/// Calls `each` for each pixel whose middle a triangle covers, with its index, how near the triangle is
/// there (greater is nearer) and the weights of its corners.
fn raster(pose: &Pose, size: (u32, u32), corners: [DVec3; 3], mut each: impl FnMut(usize, f64, [f64; 3])) {
    let back = (pose.eye - pose.target).normalize();
    let distance = (pose.eye - pose.target).length();
    let near = corners.map(|p| {
        let towards = (p - pose.target).dot(back);
        match pose.lens {
            Lens::Orthographic => towards,
            // What is linear in the picture is one over the distance.
            Lens::Perspective => 1.0 / (distance - towards).max(1e-6),
        }
    });
    let [a, b, c] = corners.map(|p| pose.project(p, size));
    let area = (b - a).perp_dot(c - a);
    if area == 0.0 {
        return;
    }
    let (lo, hi) = (a.min(b).min(c), a.max(b).max(c));
    let range = |lo: f64, hi: f64, most: u32| {
        ((lo - 0.5).ceil().max(0.0) as u32)..((hi + 0.5).floor().clamp(0.0, f64::from(most)) as u32)
    };
    for y in range(lo.y, hi.y, size.1) {
        for x in range(lo.x, hi.x, size.0) {
            let p = DVec2::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
            let weights =
                [(c - b).perp_dot(p - b), (a - c).perp_dot(p - c), (b - a).perp_dot(p - a)].map(|w| w / area);
            if weights.iter().all(|w| *w >= 0.0) {
                let here: f64 = weights.iter().zip(near).map(|(w, n)| w * n).sum();
                let weights = match pose.lens {
                    Lens::Orthographic => weights,
                    Lens::Perspective => std::array::from_fn(|i| weights[i] * near[i] / here),
                };
                each((y * size.0 + x) as usize, here, weights);
            }
        }
    }
}

/// Whether a colour is told from that of the ground at a glance.
fn differs(a: [u8; 4], ground: [u8; 4]) -> bool {
    ground[3] == 0 || (0..3).any(|c| a[c].abs_diff(ground[c]) > 12)
}

/// Whether a colour is grey, or nothing is there.
pub fn is_grey([r, g, b, a]: [u8; 4]) -> bool {
    a == 0 || r.max(g).max(b) - r.min(g).min(b) < GREY
}

/// The angle between two colours in linear RGB, degrees.
fn hue_between([r, g, b, _]: [u8; 4], other: Rgb) -> f64 {
    let linear = |c: u8| {
        let c = f64::from(c) / 255.0;
        if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    let seen = DVec3::new(linear(r), linear(g), linear(b));
    let own = DVec3::new(linear(other.0), linear(other.1), linear(other.2));
    seen.angle_between(own).to_degrees()
}
