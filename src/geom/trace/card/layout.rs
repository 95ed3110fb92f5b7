//! What is printed on the scale card: control points at known places, in millimetres, right and up from its middle.
//!
//! A mark is a ring round a disc in quarters, two of them black. Its control point is where the two straight edges
//! between the quarters cross: a camera keeps straight lines straight, so their crossing is seen where it is, whereas
//! the middle of the ring's image is not the image of the ring's middle. In three marks the quarter towards the
//! middle of the card is black, in the one at the upper left it is white: so the card is known whichever way round it
//! lies. Between the marks lie two bars, two rows of fields that are black and white in turn; the corners of their
//! fields are control points as well, by which the other four are checked.

use glam::DVec2;

/// The crossings of the marks: upper left, lower left, lower right, upper right.
pub const MARKS: [DVec2; 4] =
    [DVec2::new(-80.0, 110.0), DVec2::new(-80.0, -110.0), DVec2::new(80.0, -110.0), DVec2::new(80.0, 110.0)];
/// Radius of the ring's outside, mm.
pub const MARK_RADIUS: f64 = 12.0;
/// Radius of the ring's inside and of the disc in it, mm.
pub const MARK_INSIDE: f64 = 9.0;

/// Which quarters of mark `index` are black: those right above and left below its crossing, or the two others.
pub fn is_black_right_above(index: usize) -> bool {
    index != 2
}

/// A bar of two rows of fields, black and white in turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// The beginning of the line between the rows.
    pub from: DVec2,
    /// The direction of that line.
    pub along: DVec2,
    /// Length of a field, mm.
    pub field: f64,
    /// How many there are in a row.
    pub fields: u32,
}

/// Width of a row of a bar, mm.
pub const ROW: f64 = 4.0;

/// Below, 100 mm in fields of 10 mm; on the left, 6 in in fields of half an inch.
pub const BARS: [Bar; 2] = [
    Bar { from: DVec2::new(-50.0, -110.0), along: DVec2::X, field: 10.0, fields: 10 },
    Bar { from: DVec2::new(-80.0, -76.2), along: DVec2::Y, field: 12.7, fields: 12 },
];

impl Bar {
    /// Its length, mm.
    pub fn length(&self) -> f64 {
        self.field * f64::from(self.fields)
    }

    /// Corners of its black fields.
    pub fn black_fields(&self) -> impl Iterator<Item = [DVec2; 4]> {
        let Self { from, along, field, fields } = *self;
        let aside = along.perp() * ROW;
        (0..fields).map(move |i| {
            let near = from + along * field * f64::from(i);
            let aside = if i % 2 == 0 { aside } else { -aside };
            [near, near + along * field, near + along * field + aside, near + aside]
        })
    }

    /// Where the fields' corners meet within it, each with whether the field ahead of it and to the left is black.
    pub fn crossings(&self) -> impl Iterator<Item = (DVec2, bool)> {
        let Self { from, along, field, fields } = *self;
        (1..fields).map(move |i| (from + along * field * f64::from(i), i % 2 == 0))
    }
}

/// Where words may stand: upper, lower and left band, each between two corners.
pub const BANDS: [(DVec2, DVec2); 3] = [
    (DVec2::new(-66.0, 78.0), DVec2::new(66.0, 127.0)),
    (DVec2::new(-66.0, -129.0), DVec2::new(66.0, -99.0)),
    (DVec2::new(-93.0, -96.0), DVec2::new(-67.0, 96.0)),
];
/// What stays blank, so that a template may lie there.
pub const BLANK: (DVec2, DVec2) = (DVec2::new(-65.0, -97.0), DVec2::new(93.0, 77.0));
/// The sheet reaches no farther from its middle than this, A4 and Letter alike (half their sizes and 3 mm for the
/// placing of the print).
pub const REACH: DVec2 = DVec2::new(111.0, 152.0);
/// How far a print or its blurred edge may lie from where it should, mm.
const AROUND: f64 = 2.0;

/// Whether a point of the card belongs to what is printed on it.
pub fn is_print(p: DVec2) -> bool {
    MARKS.iter().any(|mark| mark.distance(p) < MARK_RADIUS + AROUND)
        || BANDS.iter().any(|&(lo, hi)| within(p, lo, hi))
}

/// Whether a point lies where nothing is printed, between the bands.
pub fn is_blank(p: DVec2) -> bool {
    within(p, BLANK.0, BLANK.1) && !is_print(p)
}

/// Whether a point may lie on the sheet.
pub fn is_on_sheet(p: DVec2) -> bool {
    p.abs().cmplt(REACH).all()
}

fn within(p: DVec2, lo: DVec2, hi: DVec2) -> bool {
    p.cmpgt(lo).all() && p.cmplt(hi).all()
}

/// Whether a point of a mark `index`, from its crossing, is black.
pub fn is_black_in_mark(index: usize, p: DVec2) -> bool {
    let r = p.length();
    (MARK_INSIDE..MARK_RADIUS).contains(&r)
        || r < MARK_INSIDE && (p.x * p.y > 0.0) == is_black_right_above(index)
}

/// Whether a point of the card is black; words are left out.
pub fn is_black(p: DVec2) -> bool {
    let in_bar = |bar: &Bar| {
        let (x, y) = ((p - bar.from).dot(bar.along), bar.along.perp_dot(p - bar.from));
        let inside = (0.0..bar.length()).contains(&x) && y.abs() < ROW;
        inside && ((x / bar.field) as u32).is_multiple_of(2) == (y > 0.0)
    };
    MARKS.iter().enumerate().any(|(i, &mark)| is_black_in_mark(i, p - mark)) || BARS.iter().any(in_bar)
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;

    #[test]
    fn only_the_upper_left_mark_is_white_towards_the_middle() {
        let inwards = |(i, mark): (usize, &DVec2)| is_black_in_mark(i, -mark.normalize() * MARK_INSIDE / 2.0);
        let black: Vec<bool> = MARKS.iter().enumerate().map(inwards).collect();
        assert_eq!(black, [false, true, true, true]);
    }

    #[test]
    fn fields_and_crossings_are_those_that_are_black() {
        for bar in BARS {
            assert_eq!(
                (bar.black_fields().count(), bar.crossings().count()),
                (bar.fields as usize, bar.fields as usize - 1)
            );
            assert!(bar.black_fields().all(|field| is_black(field.iter().sum::<DVec2>() / 4.0)));
            let ahead = (bar.along + bar.along.perp()) * 2.0;
            assert!(bar.crossings().all(|(p, black)| is_black(p + ahead) == black));
            let (lo, hi) = (
                bar.from - bar.along.perp() * ROW,
                bar.from + bar.along * bar.length() + bar.along.perp() * ROW,
            );
            assert!([lo, hi].map(is_print) == [true; 2]);
        }
        assert!((BARS[0].length() - 100.0).abs() < 1e-12 && (BARS[1].length() - 152.4).abs() < 1e-12);
        assert!(is_blank(DVec2::ZERO) && !is_blank(dvec2(0.0, 95.0)) && !is_blank(MARKS[3]));
    }
}
