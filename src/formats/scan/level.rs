//! A foot that is nearly level is made level: programs that turn a model by a right angle leave it leaning by the
//! round-off of a sine, and those that write single precision leave its foot uneven.

use glam::{DQuat, DVec3};

use geom::TriMesh;

/// A model leans by no more than this unless it is meant to, radians (0.3°): less than the eye sees.
const LEANS: f64 = 5e-3;

/// Leaning less than this is told to nobody, radians.
const TOLD: f64 = 1e-4;

/// A foot is at least so large: as a share of the box round the model, seen from above, and in mm².
const FOOT_SHARE: f64 = 1e-3;
const FOOT: f64 = 1.0;

/// A rounded bottom has as much within `weld` of the board; a foot as uneven as that holds more.
const UNEVEN_SHARE: f64 = 1e-2;

/// Turns a model whose foot leans until the foot is level, and levels a foot that is uneven within `weld` mm. Gives
/// back what was done, in words, if a maker could see it.
pub(super) fn levelled(mesh: &mut TriMesh, weld: f64) -> Option<String> {
    let (lo, hi) = mesh.bounds()?;
    let beneath = ((hi.x - lo.x) * (hi.y - lo.y)).max(FOOT);
    let enough = |share: f64| (share * beneath).max(FOOT);
    let flat = foot(mesh, lo.z, EVEN);
    if flat.area >= enough(FOOT_SHARE) {
        return None;
    }
    let leaning = leaning_foot(mesh, lo, hi, weld / 10.0, enough(FOOT_SHARE));
    if let Some(down) = leaning {
        let turn = DQuat::from_rotation_arc(down, DVec3::NEG_Z);
        mesh.positions.iter_mut().for_each(|p| *p = turn * *p);
        let fallen = mesh.bounds()?.0.z - lo.z;
        mesh.positions.iter_mut().for_each(|p| p.z -= fallen);
    }
    for (within, share) in [(weld / 10.0, FOOT_SHARE), (weld, UNEVEN_SHARE)] {
        let foot = foot(mesh, lo.z, within);
        if foot.area >= enough(share) {
            foot.corners.iter().for_each(|v| mesh.positions[*v as usize].z = lo.z);
            break;
        }
    }
    let lean = leaning?.truncate().length();
    (lean > TOLD)
        .then(|| format!("it leaned by {:.2}° and was turned until its foot is level", lean.to_degrees()))
}

/// Heights that differ by less are the same, mm.
const EVEN: f64 = 1e-9;

/// Triangles that lie nearly level on the lowest point.
struct Foot {
    area: f64,
    corners: Vec<u32>,
}

fn foot(mesh: &TriMesh, low: f64, within: f64) -> Foot {
    let mut foot = Foot { area: 0.0, corners: Vec::new() };
    for (index, t) in mesh.triangles.iter().enumerate() {
        let corners = mesh.corners(index);
        if corners.iter().any(|p| p.z > low + within) {
            continue;
        }
        let [a, b, c] = corners;
        let square = (b - a).cross(c - a);
        if square.z.abs() > 0.9 * square.length() {
            foot.area += square.z.abs() / 2.0;
            foot.corners.extend(t);
        }
    }
    foot
}

/// Which way is down for a foot that leans: square to the largest triangle on the lowest vertices, if what lies in
/// one plane with it, within `even` mm, comes to `least` mm² and nothing lies below.
fn leaning_foot(mesh: &TriMesh, lo: DVec3, hi: DVec3, even: f64, least: f64) -> Option<DVec3> {
    let reach = 2.0 * LEANS * (hi - lo).truncate().length();
    let lying = |index: usize| {
        let [a, b, c] = mesh.corners(index);
        if a.z.max(b.z).max(c.z) > lo.z + reach {
            return None;
        }
        let square = (b - a).cross(c - a);
        let square = if square.z > 0.0 { -square } else { square };
        (square.truncate().length() <= 1.2 * LEANS * square.z.abs()).then_some((square, a))
    };
    let lowest = |index: usize| {
        let [a, b, c] = mesh.corners(index);
        a.z.min(b.z).min(c.z) <= lo.z + even
    };
    let all: Vec<usize> = (0..mesh.len()).filter(|index| lying(*index).is_some()).collect();
    let area = |index: &usize| lying(*index).map_or(0.0, |(square, _)| square.length());
    let seed = all.iter().copied().filter(|i| lowest(*i)).max_by(|a, b| area(a).total_cmp(&area(b)))?;
    let (square, on) = lying(seed)?;
    let normal = square.normalize();
    let in_plane = |index: &&usize| mesh.corners(**index).iter().all(|p| (*p - on).dot(normal).abs() <= even);
    let foot: DVec3 = all.iter().filter(in_plane).filter_map(|i| lying(*i)).map(|(square, _)| square).sum();
    let down = foot.try_normalize()?;
    let below =
        mesh.triangles.iter().flatten().any(|v| (mesh.positions[*v as usize] - on).dot(down) > 2.0 * even);
    (foot.length() / 2.0 >= least && !below && down.truncate().length() <= LEANS).then_some(down)
}
