//! A model stood on the board → one sound solid, or the reasons why not.

use glam::DVec3;

use super::{
    Hole, PlacedModel, ScanError, contacts,
    error::{place, short},
    holes, level, seams, sheets,
    sides::Sides,
};
use geom::{Cancel, MeshDefect, MostCrossings, NotUnited, TriMesh};

/// How a model is repaired.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RepairOptions {
    /// Corners on open edges no further apart than this are one, mm.
    pub weld: f64,
    /// Holes with a rim no longer than this are filled flat, mm.
    pub fill: f64,
}

impl Default for RepairOptions {
    /// Common practice, no source: a tenth of a millimetre is far below what a knife does, and a hole as wide as
    /// a finger is a fault of the scan rather than a part of the model.
    fn default() -> Self {
        Self { weld: 0.1, fill: 60.0 }
    }
}

/// A sound solid that stands on the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Repaired {
    /// Its surface, mm.
    pub mesh: TriMesh,
    /// What was done to it, in words.
    pub notes: Vec<String>,
    /// Parts that do not hang together with the one that holds most of those on the board: the lowest point of
    /// each and its volume, mm³.
    pub loose: Vec<(DVec3, f64)>,
}

/// A rim that lies no higher than this share of the model's height is its open underside.
const UNDERSIDE: f64 = 0.05;

/// A rim with more corners than this is not filled: that would take longer than a second.
const MOST_RIM: usize = 20_000;

/// What touches the board over less than this has no foot, mm².
const FOOT: f64 = 1.0;

/// Makes a sound solid of a model: welds seams, leaves out what is there twice, turns what faces the wrong way,
/// fills small holes and the open underside, joins parts that cross or overlap, fills hollows that nothing
/// reaches, and cuts off what lies below the board.
///
/// # Errors
/// When larger holes are left, the surface has one side only, or nothing with a foot comes of it.
pub fn repaired(placed: &PlacedModel, how: &RepairOptions) -> Result<Repaired, ScanError> {
    try_repaired(placed, how, &Cancel::new())
}

/// [`repaired`] that can be stopped.
///
/// # Errors
/// As there, and once `cancel` asks to stop.
pub fn try_repaired(
    placed: &PlacedModel,
    how: &RepairOptions,
    cancel: &Cancel,
) -> Result<Repaired, ScanError> {
    let mut notes = placed.notes.clone();
    let mut mesh = placed.mesh.welded().without_unused_vertices();
    let as_placed = mesh.len();
    notes.extend(level::levelled(&mut mesh, how.weld));
    let (told_before, as_it_came) = (notes.len(), volume_above_board(&mesh));
    let (mut state, mut parts) = inspected(&mesh);
    // Most models are sound, and then all this would find nothing.
    if state.is_err() {
        let dropped = placed.mesh.len() - as_placed;
        let as_it_was = mesh.clone();
        let closed = close(&mut mesh, placed, how, dropped, &mut notes);
        cancel.check()?;
        // Closed parts that have a face in common are closed as they are, and open without one of the two.
        if (closed.is_err() || mesh.closed_surfaces().is_none()) && as_it_was.closed_surfaces().is_some() {
            mesh = as_it_was;
            notes.truncate(told_before);
        } else {
            closed?;
        }
        mesh = mesh.without_unused_vertices();
        (state, parts) = inspected(&mesh);
    }
    // No union makes a foot, so that what has none is refused before the work.
    check_foot(&mesh)?;
    mesh.check_thin(cancel).map_err(|error| not_united(error, placed))?;
    let several = parts.1 > 1;
    let mesh = outward(mesh, placed, how, state, parts, &mut notes, cancel)?;
    if notes.len() > told_before {
        let litres = |mm3: f64| format!("{:.3} l", mm3 / 1e6);
        let before = match as_it_came {
            volume if volume > 0.0 => litres(volume),
            _ => "nothing (it faced inwards)".into(),
        };
        let counted = if several { " (what lies in several parts counted for each)" } else { "" };
        let mended = litres(mesh.volume());
        notes.push(format!("as it came it enclosed {before}{counted}; mended it encloses {mended}"));
    }
    let (mesh, loose) = stood(mesh)?;
    Ok(Repaired { mesh, notes, loose })
}

/// What a check of a mesh finds, and which of its triangles hang together by edges.
fn inspected(mesh: &TriMesh) -> (Result<(), MeshDefect>, (Vec<u32>, usize)) {
    rayon::join(|| mesh.check(), || Sides::of(&mesh.triangles).parts(mesh.len()))
}

/// Makes a closed surface of it; `dropped` triangles have gone before.
fn close(
    mesh: &mut TriMesh,
    placed: &PlacedModel,
    how: &RepairOptions,
    dropped: usize,
    notes: &mut Vec<String>,
) -> Result<(), ScanError> {
    let double = sheets::single(mesh);
    let welded = seams::closed(mesh, how.weld);
    let dropped = dropped + double + sheets::single(mesh);
    note(notes, dropped, "triangles that were there twice or had no size were left out");
    note(notes, welded, &format!("corners along open seams were joined (within {} mm)", short(how.weld)));
    if mesh.is_empty() {
        return Err(ScanError::Empty);
    }
    let turned = sheets::oriented(mesh).map_err(|at| ScanError::OneSided { at })?;
    note(notes, turned, "triangles that faced the wrong way were turned");
    fill_holes(mesh, placed, how, notes)
}

fn note(notes: &mut Vec<String>, count: usize, what: &str) {
    if count > 0 {
        notes.push(format!("{count} {what}"));
    }
}

fn fill_holes(
    mesh: &mut TriMesh,
    placed: &PlacedModel,
    how: &RepairOptions,
    notes: &mut Vec<String>,
) -> Result<(), ScanError> {
    let top = mesh.bounds().map_or(0.0, |(_, hi)| hi.z);
    let in_model = |p: DVec3| placed.to_cake.inverse().transform_point3(p);
    let (mut filled, mut underside, mut left) = (0, 0, Vec::new());
    for rim in holes::rims(mesh) {
        let length = rim.length(mesh);
        if rim.corners.len() > MOST_RIM {
            let on_cake = rim.middle(mesh);
            left.push(Hole { in_model: in_model(on_cake), on_cake, rim: length });
            continue;
        }
        if length <= how.fill {
            filled += 1;
        } else if rim.top(mesh) <= UNDERSIDE * top {
            underside += 1;
        } else {
            let on_cake = rim.middle(mesh);
            left.push(Hole { in_model: in_model(on_cake), on_cake, rim: length });
            continue;
        }
        rim.fill(mesh);
    }
    if !left.is_empty() {
        left.sort_by(|a, b| b.rim.total_cmp(&a.rim));
        return Err(ScanError::Holes { holes: left, longest: how.fill });
    }
    note(notes, filled, &format!("holes with rims up to {} mm were filled flat", short(how.fill)));
    if underside > 0 {
        notes.push("it was open underneath and was closed there".into());
    }
    Ok(())
}

/// The solid that a closed surface encloses: parts that face inwards turned, hollows filled, what crosses joined.
/// `state` and the parts are what [`inspected`] says of `mesh`.
fn outward(
    mut mesh: TriMesh,
    placed: &PlacedModel,
    how: &RepairOptions,
    mut state: Result<(), MeshDefect>,
    (part, count): (Vec<u32>, usize),
    notes: &mut Vec<String>,
    cancel: &Cancel,
) -> Result<TriMesh, ScanError> {
    let volumes = volumes(&mesh, &part, count);
    let inside_out = volumes.iter().filter(|v| **v < 0.0).count();
    if inside_out > 0 {
        for (t, part) in mesh.triangles.iter_mut().zip(&part) {
            if volumes[*part as usize] < 0.0 {
                t.swap(1, 2);
            }
        }
        state = mesh.check();
    }
    let closed_badly = matches!(state, Err(MeshDefect::NotClosed { .. } | MeshDefect::Degenerate { .. }));
    // A single part that is sound may still cross itself.
    if count > 1 || closed_badly || mesh.try_intersects_itself(cancel)? {
        let before = mesh.volume();
        // Parts that have an edge in common hang together by it, and are still closed each for itself.
        let apart = if closed_badly { mesh.closed_surfaces().map(outwards) } else { None };
        let (parts_of, part) = apart.as_ref().map_or((&mesh, &part), |(mesh, part)| (mesh, part));
        if count > 1 || closed_badly && apart.is_some() {
            let plates = contacts::plates(parts_of, part, how.weld, cancel);
            mesh.append(&plates);
            cancel.check()?;
        }
        mesh =
            mesh.try_united(MostCrossings::default(), cancel).map_err(|error| not_united(error, placed))?;
        if mesh.is_empty() {
            return Err(ScanError::Empty);
        }
        mesh = without_round_off(mesh);
        let parts;
        (state, (_, parts)) = inspected(&mesh);
        if count > parts {
            notes
                .push(format!("{count} parts that cross, touch or lie in each other were joined to {parts}"));
        } else if (mesh.volume() - before).abs() > 1e-6 * before {
            notes.push("places where the surface crosses itself were cleared".into());
        }
    } else if inside_out > 0 {
        notes.push("it was inside out and was turned".into());
    }
    state.map_err(|defect| no_solid(Some(&defect)))?;
    Ok(mesh)
}

/// Closed surfaces as one mesh, each turned so that it faces outwards, with the number of the surface of each triangle.
fn outwards(surfaces: Vec<TriMesh>) -> (TriMesh, Vec<u32>) {
    let (mut all, mut of) = (TriMesh::default(), Vec::new());
    for (number, mut surface) in (0u32..).zip(surfaces) {
        if surface.volume() < 0.0 {
            surface.triangles.iter_mut().for_each(|t| t.swap(1, 2));
        }
        of.extend(std::iter::repeat_n(number, surface.len()));
        all.append(&surface);
    }
    (all, of)
}

fn not_united(error: NotUnited, placed: &PlacedModel) -> ScanError {
    match error {
        NotUnited::TooManyCrossings { at } => {
            let in_model = placed.to_cake.inverse().transform_point3(at);
            ScanError::Crosses { in_model, on_cake: at }
        }
        NotUnited::TooManyBeside { at } => {
            let in_model = placed.to_cake.inverse().transform_point3(at);
            ScanError::Thin { in_model, on_cake: at }
        }
        NotUnited::Cancelled(stopped) => stopped.into(),
        NotUnited::NotSolid(fault) => no_solid(fault.defect.as_ref()),
        NotUnited::NotResolved(_) => no_solid(None),
    }
}

/// What a maker is told of a surface that bounds no solid.
fn no_solid(defect: Option<&MeshDefect>) -> ScanError {
    let problem = match defect {
        Some(MeshDefect::NotClosed { at, .. }) => format!("its surface does not close {}", place(*at)),
        Some(MeshDefect::NoVolume { .. }) => "it encloses nothing".into(),
        Some(_) => "some of its triangles are damaged".into(),
        None => "its surface does not close".into(),
    };
    ScanError::NoSolid { problem }
}

/// What of a sound solid stands above the board, and its loose parts.
fn stood(mesh: TriMesh) -> Result<(TriMesh, Vec<(DVec3, f64)>), ScanError> {
    let Some((lo, _)) = mesh.bounds() else { return Err(ScanError::Empty) };
    let mut mesh = mesh;
    let mut changed = lo.z < -ON_BOARD;
    if changed {
        mesh = mesh.cut_at(&[0.0]).pop().unwrap_or_default();
    }
    for p in mesh.positions.iter_mut().filter(|p| p.z.abs() <= ON_BOARD) {
        changed |= p.z != 0.0;
        p.z = 0.0;
    }
    check_foot(&mesh)?;
    let (state, loose) = rayon::join(|| if changed { mesh.check() } else { Ok(()) }, || loose_parts(&mesh));
    state.map_err(|defect| no_solid(Some(&defect)))?;
    Ok((mesh, loose))
}

/// Refuses a surface that stands on the board on a point or an edge; one that reaches below has its foot still cut.
fn check_foot(mesh: &TriMesh) -> Result<(), ScanError> {
    let Some((lo, hi)) = mesh.bounds() else { return Err(ScanError::Empty) };
    let foot: f64 = (0..mesh.len())
        .map(|t| mesh.corners(t))
        .filter(|corners| corners.iter().all(|p| p.z.abs() <= ON_BOARD))
        .map(|[a, b, c]| (b - a).cross(c - a).z.abs() / 2.0)
        .sum();
    if lo.z >= -ON_BOARD && foot < FOOT {
        return Err(ScanError::NoFoot { sink: (0.03 * hi.z).max(2.0).round() });
    }
    Ok(())
}

/// Heights below this are on the board, mm.
const ON_BOARD: f64 = 1e-6;

/// Volume that a surface encloses, mm³, by the divergence theorem for the field (0, 0, z): what is open on the board
/// counts as closed there.
fn volume_above_board(mesh: &TriMesh) -> f64 {
    let under = |[a, b, c]: [DVec3; 3]| (b - a).cross(c - a).z / 2.0 * (a.z + b.z + c.z) / 3.0;
    (0..mesh.len()).map(|index| under(mesh.corners(index))).sum()
}

/// The volume of each part, mm³.
fn volumes(mesh: &TriMesh, part: &[u32], count: usize) -> Vec<f64> {
    let mut volumes = vec![0.0; count];
    let middle = mesh.bounds().map_or(DVec3::ZERO, |(lo, hi)| (lo + hi) / 2.0);
    for (index, part) in part.iter().enumerate() {
        let [a, b, c] = mesh.corners(index).map(|p| p - middle);
        volumes[*part as usize] += a.dot(b.cross(c)) / 6.0;
    }
    volumes
}

/// A union without the parts that only round-off leaves where faces nearly lie on each other.
fn without_round_off(mesh: TriMesh) -> TriMesh {
    /// Less than this share of the whole is round-off.
    const LEAST: f64 = 1e-12;
    let (part, count) = Sides::of(&mesh.triangles).parts(mesh.len());
    let volumes = volumes(&mesh, &part, count);
    let least = LEAST * volumes.iter().map(|volume| volume.abs()).sum::<f64>();
    if volumes.iter().all(|volume| volume.abs() > least) {
        return mesh;
    }
    let kept = mesh.triangles.iter().zip(part).filter(|(_, part)| volumes[*part as usize].abs() > least);
    let triangles = kept.map(|(triangle, _)| *triangle).collect();
    TriMesh { triangles, positions: mesh.positions }.without_unused_vertices()
}

/// All parts but the one that holds most of those that stand on the board.
fn loose_parts(mesh: &TriMesh) -> Vec<(DVec3, f64)> {
    let (part, count) = Sides::of(&mesh.triangles).parts(mesh.len());
    let volumes = volumes(mesh, &part, count);
    let mut lowest = vec![DVec3::INFINITY; count];
    for (t, part) in mesh.triangles.iter().zip(&part) {
        for p in t.map(|v| mesh.positions[v as usize]) {
            if p.z < lowest[*part as usize].z {
                lowest[*part as usize] = p;
            }
        }
    }
    let mut parts: Vec<(DVec3, f64)> = lowest.into_iter().zip(volumes).collect();
    let floats = |part: &(DVec3, f64)| part.0.z > ON_BOARD;
    parts.sort_by(|a, b| floats(a).cmp(&floats(b)).then(b.1.total_cmp(&a.1)));
    if let Some(others) = parts.get_mut(1..) {
        others.sort_by(|a, b| b.1.total_cmp(&a.1));
    }
    parts.into_iter().skip(1).collect()
}

/// How many parts that hang in the air are told one by one.
const TOLD: usize = 8;

impl Repaired {
    /// Loose parts that hang in the air, those that hold most first: the lowest point of each, and what it is in words.
    /// The last one told says how many more there are.
    pub fn floating(&self) -> Vec<(DVec3, String)> {
        let floats: Vec<_> = self.loose.iter().filter(|(at, _)| at.z > 0.0).collect();
        let described = |&&(at, volume): &&(DVec3, f64)| {
            (at, format!("a part of {} cm³ hangs in the air, {}", short(volume / 1000.0), place(at)))
        };
        let mut told: Vec<_> = floats.iter().take(TOLD).map(described).collect();
        if let (Some((_, last)), more @ 1..) = (told.last_mut(), floats.len().saturating_sub(TOLD)) {
            *last += &format!("; so do {more} smaller ones");
        }
        told
    }
}
