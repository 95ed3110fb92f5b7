//! The plane that an outline lies in: the picture's own, or that of a scale card, or one that two distances straighten.

use glam::{DMat2, DVec2, dvec2};

use super::{Scale, TraceError, card::SeenCard, card::singular_values, regions};
use crate::Homography;

/// A plane, and how it is seen.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plane {
    /// From the picture, [right, down] in pixels, to the plane, [right, up] in its own units.
    pub to_plane: Homography,
    /// How long its unit is.
    pub scale: PlaneScale,
    /// How two distances were put to use.
    pub crossed: Option<Crossed>,
    /// How long its unit is by the card, or by two distances, mm; `None` where the plane is the picture itself.
    pub unit: Option<f64>,
}

/// How long a unit of the plane is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum PlaneScale {
    /// So that the outline is this high, mm.
    Height(f64),
    /// So that the outline is this wide, mm.
    Width(f64),
    /// So many mm.
    Unit(f64),
}

/// What two distances say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Crossed {
    /// How much shorter lengths look along the direction in which they look shortest.
    pub foreshortening: f64,
    /// How far a length may be off if marks are off by a pixel, parts of it.
    pub relative_error: f64,
}

/// A plane that is seen more obliquely is not put right by two distances.
pub(super) const MOST_FORESHORTENING: f64 = 2.0;
/// Two lines that are really at right angles must be seen at this angle at least, degrees.
const LEAST_ANGLE: f64 = 30.0;

impl PlaneScale {
    /// The length of a unit where the outline is so many units wide and high, mm.
    pub fn mm_a_unit(self, across: DVec2) -> f64 {
        match self {
            Self::Height(height) => height / across.y,
            Self::Width(width) => width / across.x,
            Self::Unit(mm) => mm,
        }
    }
}

impl Plane {
    /// The plane of a picture of this size, with the card in it if there is one.
    pub fn new(scale: Scale, card: Option<&SeenCard>, size: DVec2) -> Result<Self, TraceError> {
        let to_plane = card.map_or(Homography::upright(size.y), |card| card.to_card);
        let plane = |scale| Self { to_plane, scale, crossed: None, unit: card.map(|_| 1.0) };
        Ok(match scale {
            Scale::Height(height) => plane(PlaneScale::Height(height)),
            Scale::Width(width) => plane(PlaneScale::Width(width)),
            Scale::Card => plane(PlaneScale::Unit(1.0)),
            Scale::Marks(marks, distance) => {
                check_marks(marks, size)?;
                let [a, b] = match card {
                    None => marks,
                    Some(card) => {
                        let [a, b] = marks.map(|mark| card.to_card.apply(mark));
                        a.zip(b).ok_or(TraceError::MarksMeet)?.into()
                    }
                };
                plane(PlaneScale::Unit(distance / a.distance(b)))
            }
            Scale::Crossed([one, other]) => {
                check_marks(one.0, size)?;
                check_marks(other.0, size)?;
                Self::crossed(to_plane, [one, other])?
            }
        })
    }

    /// The plane in which two lines are at right angles and as long as they are said to be.
    fn crossed(to_plane: Homography, pairs: [([DVec2; 2], f64); 2]) -> Result<Self, TraceError> {
        let mut along = [DVec2::ZERO; 2];
        for (along, (marks, _)) in along.iter_mut().zip(pairs) {
            let [a, b] = marks.map(|mark| to_plane.apply(mark));
            let (a, b) = a.zip(b).ok_or(TraceError::MarksMeet)?;
            *along = b - a;
        }
        let [one, other] = along;
        let sine = one.perp_dot(other) / (one.length() * other.length());
        let degrees = crate::real::asin(sine.abs().min(1.0)).to_degrees();
        if degrees < LEAST_ANGLE {
            return Err(TraceError::MarksAlong { degrees });
        }
        let really = DMat2::from_cols(dvec2(pairs[0].1, 0.0), dvec2(0.0, pairs[1].1 * sine.signum()));
        let linear = really * DMat2::from_cols(one, other).inverse();
        let (long, short) = singular_values(linear);
        if long > MOST_FORESHORTENING * short {
            return Err(TraceError::Foreshortened { times: long / short });
        }
        // Each end may be off by a pixel, and both ways.
        let relative_error = along.map(|along| std::f64::consts::SQRT_2 / along.length());
        Ok(Self {
            to_plane: to_plane.then(linear).ok_or(TraceError::MarksMeet)?,
            scale: PlaneScale::Unit(1.0),
            crossed: Some(Crossed {
                foreshortening: long / short,
                relative_error: relative_error[0].max(relative_error[1]),
            }),
            unit: Some(1.0),
        })
    }

    /// The plane turned so that up in the picture is up where the outline is, or exactly along an edge of the card if
    /// that is nearly so; with a unit about as long as a pixel there, and the `contours` in it.
    pub fn upright_at(self, contours: Vec<Vec<DVec2>>) -> Result<(Self, Vec<Vec<DVec2>>), TraceError> {
        let Some(mm) = self.unit else { return Ok((self, contours)) };
        let (lo, hi) = regions::bounds(contours.iter().flatten());
        let derivative =
            self.to_plane.inverse().apply((lo + hi) / 2.0).and_then(|p| self.to_plane.derivative(p));
        let turned = derivative.and_then(|derivative| {
            let (right, up) = (derivative.x_axis, -derivative.y_axis);
            // Of right, and of up turned by a right angle, the direction between.
            let level = (right.normalize() - up.normalize().perp()).normalize();
            let level = if self.crossed.is_none() { along_axis(level) } else { level };
            let unit = derivative.determinant().abs().sqrt();
            let turn = DMat2::from_cols(dvec2(level.x, -level.y), dvec2(level.y, level.x)) * unit.recip();
            Some((turn, unit, self.to_plane.then(turn)?))
        });
        let (turn, unit, to_plane) = turned.ok_or(TraceError::OnlyCard)?;
        let scale = match self.scale {
            PlaneScale::Unit(mm) => PlaneScale::Unit(mm * unit),
            other => other,
        };
        let contours = contours.into_iter().map(|c| c.into_iter().map(|p| turn * p).collect()).collect();
        Ok((Self { to_plane, scale, unit: Some(mm * unit), ..self }, contours))
    }
}

/// The axis that a direction is near to, or the direction.
fn along_axis(direction: DVec2) -> DVec2 {
    /// Cosine of 20°.
    const NEAR: f64 = 0.94;
    let axes = [DVec2::X, DVec2::Y, DVec2::NEG_X, DVec2::NEG_Y];
    axes.into_iter().find(|axis| axis.dot(direction) > NEAR).unwrap_or(direction)
}

fn check_marks(marks: [DVec2; 2], size: DVec2) -> Result<(), TraceError> {
    for mark in marks {
        if mark.cmplt(DVec2::ZERO).any() || mark.cmpgt(size).any() || !mark.is_finite() {
            return Err(TraceError::MarkOutside {
                right: mark.x,
                down: mark.y,
                width: size.x,
                height: size.y,
            });
        }
    }
    if marks[0].distance(marks[1]) < 1.0 { Err(TraceError::MarksMeet) } else { Ok(()) }
}
