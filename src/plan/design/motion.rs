//! Details moved rigidly: turned about the axis of the cake, shifted, or mirrored left to right.

use glam::{DVec2, DVec3, dvec3};

use super::{Drawn, Letters, Lies, Relief, Side, Tool};
use geom::{Region, real, revolve::bearing_of};

/// A rigid motion: the mirror image left to right first, if wanted, then a turn about the axis, then a shift.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Motion {
    /// Whether it is mirrored left to right, about the upright plane through front and back.
    pub mirrored: bool,
    /// Degrees about the axis, counter-clockwise seen from above.
    pub turn: f64,
    /// Right, back and up, mm.
    pub shift: DVec3,
}

/// Why a form cannot be moved in a way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Immovable {
    /// An outline on the side goes along it, not along a straight line in space.
    SideNotStraight,
    /// An outline that lies as it is drawn goes straight in from a side and cannot be turned about the axis.
    DrawnNotTurned,
    /// A roll along the foot or the rim lies at the height of that.
    EdgeNotRaised,
    /// A roll along the border of an outline lies where that does.
    BorderStays,
}

impl Motion {
    /// Where it takes a place.
    pub fn place(&self, p: DVec3) -> DVec3 {
        self.direction(p) + self.shift
    }

    /// Where it takes a direction.
    pub fn direction(&self, v: DVec3) -> DVec3 {
        let v = if self.mirrored { dvec3(-v.x, v.y, v.z) } else { v };
        if self.turn == 0.0 { v } else { real::rotation_z(self.turn.to_radians()) * v }
    }

    /// Where it takes a turn about an upright, degrees.
    pub(super) fn angle(&self, turn: f64) -> f64 {
        self.turn + if self.mirrored { -turn } else { turn }
    }

    /// `self`, then `next`.
    #[must_use]
    pub fn then(&self, next: &Self) -> Self {
        Self {
            mirrored: self.mirrored != next.mirrored,
            turn: next.angle(self.turn),
            shift: next.place(self.shift),
        }
    }

    /// A turn about the upright through `middle`.
    pub fn turn_about(middle: DVec3, turn: f64) -> Self {
        let about = Self { turn, ..Self::default() };
        let shift = middle - about.place(middle);
        Self { shift: dvec3(shift.x, shift.y, 0.0), ..about }
    }

    /// The mirror image about the half-plane through the axis and `middle`.
    pub fn mirror_about(middle: DVec3) -> Self {
        let bearing = bearing_of(middle.truncate());
        let to_front = Self { turn: -bearing, ..Self::default() };
        let mirror = Self { mirrored: true, ..Self::default() };
        to_front.then(&mirror).then(&Self { turn: bearing, ..Self::default() })
    }
}

impl Tool {
    /// The form moved.
    ///
    /// # Errors
    /// When an outline cannot lie there.
    pub fn moved(&self, by: &Motion) -> Result<Self, Immovable> {
        Ok(match self {
            Self::Box { centre, size, turn } => {
                Self::Box { centre: by.place(*centre), size: *size, turn: by.angle(*turn) }
            }
            Self::Ball { centre, radius } => Self::Ball { centre: by.place(*centre), radius: *radius },
            Self::Cylinder { from, to, from_radius, to_radius } => Self::Cylinder {
                from: by.place(*from),
                to: by.place(*to),
                from_radius: *from_radius,
                to_radius: *to_radius,
            },
            Self::Ring { centre, axis, radius, bar_radius } => Self::Ring {
                centre: by.place(*centre),
                axis: by.direction(*axis),
                radius: *radius,
                bar_radius: *bar_radius,
            },
            Self::Bar { stations } => {
                Self::Bar { stations: stations.iter().map(|&(p, r)| (by.place(p), r)).collect() }
            }
            Self::Roll(roll) => Self::Roll(roll.moved(by)?),
            Self::HalfSpace { point, normal } => {
                Self::HalfSpace { point: by.place(*point), normal: by.direction(*normal) }
            }
            Self::Relief(relief) => Self::Relief(relief.moved(by)?),
        })
    }

    /// The form turned about its own middle: an outline on the surface, anything else about the upright. A roll keeps to
    /// its edge.
    #[must_use]
    pub fn spun(&self, turn: f64) -> Self {
        match self {
            Self::Relief(relief) => Self::Relief(Relief { spin: relief.spin + turn, ..relief.clone() }),
            Self::Roll(_) => self.clone(),
            other => other.moved(&Motion::turn_about(other.middle(), turn)).unwrap_or_else(|_| other.clone()),
        }
    }

    /// The form mirrored about its own middle.
    #[must_use]
    pub fn mirrored_in_place(&self) -> Self {
        match self {
            Self::Relief(relief) => Self::Relief(relief.mirrored_in_place()),
            Self::Roll(_) => self.clone(),
            other => other.moved(&Motion::mirror_about(other.middle())).unwrap_or_else(|_| other.clone()),
        }
    }

    /// Its middle; of an outline on the surface, the axis at its height.
    pub fn middle(&self) -> DVec3 {
        match self {
            Self::Box { centre, .. } | Self::Ball { centre, .. } | Self::Ring { centre, .. } => *centre,
            Self::Cylinder { from, to, .. } => (*from + *to) / 2.0,
            Self::Bar { stations } => {
                let low = stations.iter().map(|(p, _)| *p).reduce(DVec3::min).unwrap_or_default();
                let high = stations.iter().map(|(p, _)| *p).reduce(DVec3::max).unwrap_or_default();
                (low + high) / 2.0
            }
            Self::Roll(roll) => {
                let low = roll.places().map(|(p, _)| p).reduce(DVec3::min).unwrap_or_default();
                let high = roll.places().map(|(p, _)| p).reduce(DVec3::max).unwrap_or_default();
                (low + high) / 2.0
            }
            Self::HalfSpace { point, .. } => *point,
            Self::Relief(relief) => dvec3(0.0, 0.0, relief.height),
        }
    }
}

impl Relief {
    fn moved(&self, by: &Motion) -> Result<Self, Immovable> {
        let moved = if by.mirrored { self.mirrored_in_place() } else { self.clone() };
        let height = self.height + by.shift.z;
        let across = by.shift.truncate() != DVec2::ZERO;
        Ok(match self.lies {
            Lies::Flat | Lies::Wrapped if across => return Err(Immovable::SideNotStraight),
            Lies::Flat | Lies::Wrapped => Self { height, bearing: by.angle(self.bearing), ..moved },
            Lies::Top(at) => Self {
                lies: Lies::Top(by.place(at.extend(0.0)).truncate()),
                spin: moved.spin + by.turn,
                ..moved
            },
            Lies::Drawn(_) if by.turn != 0.0 => return Err(Immovable::DrawnNotTurned),
            Lies::Drawn(Drawn { side, across }) => {
                let (side, across) = match (side, by.mirrored) {
                    (Side::Front | Side::Back, true) => (side, -across),
                    (Side::Right, true) => (Side::Left, across),
                    (Side::Left, true) => (Side::Right, across),
                    (side, false) => (side, across),
                };
                let seen_from_front = matches!(side, Side::Front | Side::Back);
                let across = across + if seen_from_front { by.shift.x } else { by.shift.y };
                // Seen through the cake, an outline on the left is that on the right.
                let outline = if seen_from_front { moved.outline } else { self.outline.clone() };
                let bearing = Drawn::bearing(side);
                Self { outline, height, bearing, lies: Lies::Drawn(Drawn { side, across }), ..self.clone() }
            }
        })
    }

    /// The outline mirrored left to right; one that is its own mirror image stays the very same, so that it stays one
    /// template. Letters lean the other way and can be read all the same.
    fn mirrored_in_place(&self) -> Self {
        /// Less than this share of the area is rounding.
        const ROUNDING: f64 = 1e-3;
        if let Some(letters) = &self.letters {
            let outline = match letters.turn {
                0.0 => self.outline.clone(),
                turn => self.outline.placed(-2.0 * turn.to_radians(), DVec2::ZERO),
            };
            let letters = Some(Letters { turn: -letters.turn, ..letters.clone() });
            return Self { outline, letters, spin: -self.spin, ..self.clone() };
        }
        let mirrored = self.outline.mirrored();
        let apart = |a: &Region, b: &Region| a.difference(b).area();
        let off = apart(&mirrored, &self.outline) + apart(&self.outline, &mirrored);
        let outline = if off <= ROUNDING * self.outline.area() { self.outline.clone() } else { mirrored };
        Self { outline, spin: -self.spin, ..self.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geom::revolve::at_bearing;

    #[test]
    fn motions_follow_each_other() {
        let first = Motion { mirrored: true, turn: 30.0, shift: dvec3(3.0, -4.0, 5.0) };
        let next = Motion { mirrored: true, turn: -75.0, shift: dvec3(-1.0, 2.0, 0.5) };
        let p = dvec3(7.0, 11.0, 13.0);
        assert!(first.then(&next).place(p).distance(next.place(first.place(p))) < 1e-12);
    }

    #[test]
    fn a_turn_about_a_place_leaves_it_where_it_is() {
        let middle = dvec3(40.0, -12.0, 9.0);
        assert!(Motion::turn_about(middle, 50.0).place(middle).distance(middle) < 1e-12);
        assert!(Motion::mirror_about(middle).place(middle).distance(middle) < 1e-12);
        // What lies to the right of it, seen from outside, lies to the left then.
        let (right, left) = (at_bearing(40.0, 9.0, 40.0), at_bearing(40.0, 9.0, 20.0));
        assert!(Motion::mirror_about(at_bearing(1.0, 0.0, 30.0)).place(right).distance(left) < 1e-12);
    }

    #[test]
    fn an_eye_on_the_right_is_mirrored_to_the_left() {
        let outline = Region::from_simple(vec![DVec2::ZERO, DVec2::X * 9.0, DVec2::Y * 4.0]);
        let right = Drawn { side: Side::Right, across: -60.0 };
        let relief = Relief {
            outline,
            spin: 0.0,
            height: 150.0,
            bearing: 90.0,
            lies: Lies::Drawn(right),
            depth: 2.0,
            letters: None,
            line: None,
        };
        let mirror = Motion { mirrored: true, ..Motion::default() };
        let Tool::Relief(other) = Tool::Relief(relief.clone()).moved(&mirror).unwrap() else { panic!() };
        assert_eq!(other.drawn(), Some(Drawn { side: Side::Left, across: -60.0 }));
        assert_eq!((other.outline, other.bearing), (relief.outline.clone(), 270.0));
        let turn = Motion { turn: 10.0, ..Motion::default() };
        assert_eq!(Tool::Relief(relief).moved(&turn), Err(Immovable::DrawnNotTurned));
    }

    #[test]
    fn letters_on_the_other_side_lean_the_other_way_and_can_be_read() {
        let upright = Region::from_simple(vec![DVec2::ZERO, DVec2::X * 9.0, DVec2::Y * 4.0]);
        let leaning = |turn: f64| Relief {
            outline: upright.placed(turn.to_radians(), DVec2::ZERO),
            spin: 5.0,
            height: 60.0,
            bearing: 30.0,
            lies: Lies::Flat,
            depth: 2.0,
            letters: Some(Letters { words: "L".into(), capital: 4.0, turn }),
            line: None,
        };
        let mirror = Motion { mirrored: true, ..Motion::default() };
        let Tool::Relief(other) = Tool::Relief(leaning(20.0)).moved(&mirror).unwrap() else { panic!() };
        let expected = leaning(-20.0);
        assert_eq!((other.bearing, other.spin, &other.letters), (-30.0, -5.0, &expected.letters));
        for (a, b) in other.outline.contours()[0].iter().zip(&expected.outline.contours()[0]) {
            assert!(a.distance(*b) < 1e-12, "{a} {b}");
        }
        // Upright letters stay one template and one stamp.
        let Tool::Relief(other) = Tool::Relief(leaning(0.0)).moved(&mirror).unwrap() else { panic!() };
        assert_eq!(other.outline, leaning(0.0).outline);
    }
}
