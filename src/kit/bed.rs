//! Parts laid out on the printer's bed.

use glam::{DAffine3, DVec2, DVec3, dvec2};

use crate::design::Printing;

use super::Part;

/// Kept free along the rim of the bed, mm.
const RIM: f64 = 2.0;

/// Kept free between parts, mm; common practice, no source.
const APART: f64 = 5.0;

/// One bed, full of parts.
#[derive(Debug, Clone, Default)]
pub struct Bed {
    /// What lies on it.
    pub placed: Vec<Placed>,
}

/// One part at its place.
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    /// Which of the kit's parts.
    pub part: usize,
    /// Turned by a quarter.
    pub turned: bool,
    /// Where its lower left corner lies, mm from the front left corner of the bed.
    pub at: DVec2,
    frame: DAffine3,
}

impl Placed {
    /// Takes the part from where it was made to its place on the bed.
    pub fn frame(&self) -> DAffine3 {
        self.frame
    }
}

fn room(printing: &Printing) -> DVec2 {
    printing.bed.truncate() - 2.0 * RIM
}

/// Whether a part of this width and depth fits the bed one way or the other.
pub fn fits(size: DVec2, printing: &Printing) -> bool {
    let room = room(printing);
    size.cmple(room).all() || dvec2(size.y, size.x).cmple(room).all()
}

/// The least number of pieces that a rectangle of this size can be cut into.
pub fn pieces_for(size: DVec2, printing: &Printing) -> u64 {
    let room = room(printing);
    let count = |size: DVec2| {
        let each = (size / room).ceil().max(DVec2::ONE);
        (each.x * each.y) as u64
    };
    count(size).min(count(dvec2(size.y, size.x)))
}

/// Lays all parts, each as often as it is needed, on as few beds as rows of them fill. The longest go first;
/// each lies along the row.
pub fn lay_out(parts: &[Part], printing: &Printing) -> Vec<Bed> {
    let room = room(printing);
    let mut waiting: Vec<(usize, DVec2, bool)> = parts
        .iter()
        .enumerate()
        .flat_map(|(i, part)| {
            let size = part.size().truncate();
            let turned = lies_better_turned(size, room);
            let size = if turned { dvec2(size.y, size.x) } else { size };
            std::iter::repeat_n((i, size, turned), part.copies)
        })
        .collect();
    waiting.sort_by(|a, b| b.1.y.total_cmp(&a.1.y).then(b.1.x.total_cmp(&a.1.x)).then(a.0.cmp(&b.0)));
    let mut beds: Vec<(Bed, Vec<Row>)> = Vec::new();
    for (part, size, turned) in waiting {
        let spot = beds.iter_mut().enumerate().find_map(|(b, (_, rows))| Some((b, spot(rows, size, room)?)));
        let (bed, at) = spot.unwrap_or_else(|| {
            beds.push((Bed::default(), vec![Row { depth: size.y, front: 0.0, used: size.x + APART }]));
            (beds.len() - 1, DVec2::ZERO)
        });
        let at = at + RIM;
        let frame = frame(&parts[part], turned, at);
        beds[bed].0.placed.push(Placed { part, turned, at, frame });
    }
    beds.into_iter().map(|(bed, _)| bed).collect()
}

/// A row of parts from left to right.
struct Row {
    /// Size from front to back, mm.
    depth: f64,
    /// Where it begins from the front, mm.
    front: f64,
    /// How much of it is taken from the left, mm.
    used: f64,
}

/// A free place in the rows of a bed, taken by the caller.
fn spot(rows: &mut Vec<Row>, size: DVec2, room: DVec2) -> Option<DVec2> {
    if let Some(row) = rows.iter_mut().find(|row| size.y <= row.depth && row.used + size.x <= room.x) {
        let at = dvec2(row.used, row.front);
        row.used += size.x + APART;
        return Some(at);
    }
    let front = rows.last().map_or(0.0, |row| row.front + row.depth + APART);
    (front + size.y <= room.y).then(|| {
        rows.push(Row { depth: size.y, front, used: size.x + APART });
        dvec2(0.0, front)
    })
}

/// Whether a part lies with its longer side along x only once it is turned, and fits so.
fn lies_better_turned(size: DVec2, room: DVec2) -> bool {
    let fits_turned = size.y <= room.x && size.x <= room.y;
    let fits_straight = size.cmple(room).all();
    fits_turned && (size.y > size.x || !fits_straight)
}

fn frame(part: &Part, turned: bool, at: DVec2) -> DAffine3 {
    let lo = part.mesh.bounds().map_or(DVec3::ZERO, |(lo, _)| lo);
    let hi = part.mesh.bounds().map_or(DVec3::ZERO, |(_, hi)| hi);
    if turned {
        // A quarter turn takes (x, y) to (−y, x).
        let by = dvec2(at.x + hi.y, at.y - lo.x).extend(-lo.z);
        DAffine3::from_translation(by) * DAffine3::from_rotation_z(std::f64::consts::FRAC_PI_2)
    } else {
        DAffine3::from_translation((at - lo.truncate()).extend(-lo.z))
    }
}
