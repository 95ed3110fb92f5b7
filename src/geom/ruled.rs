//! Closed ruled surfaces through rows of points: matching points of neighbouring rows are joined by straight lines.

use glam::DVec3;

use super::{Cancel, Cancelled, TriMesh, caps::OpenEdges};

/// The closed mesh through rows of equally many points, from the lowest to the highest, each level and
/// counter-clockwise; the first and the last row are capped. They may shrink to a line or a point: points of theirs
/// at exactly the same position become one.
///
/// # Errors
/// Once `cancel` asks to stop.
pub(super) fn ruled(rows: &[Vec<DVec3>], cancel: &Cancel) -> Result<TriMesh, Cancelled> {
    let Some(count) = rows.first().map(Vec::len) else { return Ok(TriMesh::default()) };
    let mut mesh = TriMesh { positions: rows.concat(), triangles: Vec::new() };
    let vertex = |row: usize, i: usize| (row * count + i % count) as u32;
    for row in 1..rows.len() {
        cancel.check()?;
        for i in 0..count {
            let [a, b] = [vertex(row - 1, i), vertex(row - 1, i + 1)];
            let [c, d] = [vertex(row, i + 1), vertex(row, i)];
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    let mut mesh = mesh.welded();
    cancel.check()?;
    for (height, up) in [(rows[0][0].z, false), (rows[rows.len() - 1][0].z, true)] {
        let mut open = OpenEdges::default();
        for t in &mesh.triangles {
            for (from, to) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                if [from, to].iter().all(|v| mesh.positions[*v as usize].z == height) {
                    open.add(from, to);
                }
            }
        }
        open.close(&mut mesh, up);
        cancel.check()?;
    }
    Ok(mesh)
}
