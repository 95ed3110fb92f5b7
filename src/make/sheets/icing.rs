//! Flat patterns for icing: rectangles, annular sectors, bands for curved stretches.

use glam::{DVec2, DVec3, dvec2};

use super::{
    figure::{Figure, Key},
    tiles::Tiling,
};
use formats::drawing::{Dash, Drawing, Lettering, Pen, on_paper};
use geom::real;
use geom::{
    Hull, Region, TriMesh,
    develop::{Band, PatternForm, bands},
    uncancelled,
};
use plan::{Plan, design::Paper};

const NET: Pen = Pen::black(0.5);
const CUT: Pen = Pen::black(0.35).dashed(Dash::Dashed);
const FRONT: Pen = Pen::grey(0.2).dashed(Dash::Middle);

/// What the lines stand for.
pub fn key(paper: &Paper, plan: &Plan) -> Key {
    let excess = plan.design.style.length_alone(paper.excess);
    vec![
        (NET, "trim to this on the cake".into()),
        (CUT, format!("cut the icing to this: {excess} over")),
        (FRONT, "front (or fold), up as the arrow".into()),
    ]
}

/// Stretches shorter than this are smoothed over with a fingertip, mm.
const SHORTEST: f64 = 3.0;

/// One figure a band, from the board up.
pub fn figures(plan: &Plan, paper: &Paper, halves: Halves) -> Vec<Figure> {
    let all = icing_bands(plan, paper);
    let count = all.len();
    all.iter().enumerate().map(|(i, band)| figure(plan, paper, band, (i + 1, count), halves)).collect()
}

/// The bands that the icing is cut in, from the board up; none for a shape that is not turned.
pub fn icing_bands(plan: &Plan, paper: &Paper) -> Vec<Band> {
    if !plan.lines.is_turned() {
        // It bends two ways: the cutting sheet says how large a sheet covers it.
        return Vec::new();
    }
    outer_sides(&middle_of_icing(plan))
        .iter()
        .flat_map(|side| bands(side, paper.ease))
        .filter(|band| band.flat.slant >= SHORTEST)
        .collect()
}

/// Width and depth of the sheet that covers a shape for which there are no flat patterns: the ways over it from left to
/// right and from front to back, and `excess` all round, mm. `None` for a turned shape.
pub fn icing_sheet(plan: &Plan, excess: f64) -> Option<[f64; 2]> {
    let mesh = plan.lines.finished().solid.as_ref()?;
    Some(ways_over(mesh).map(|way| way + 2.0 * excess))
}

/// One round sheet that is draped over a turned shape without undercut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrapedSheet {
    /// Diameter to roll, mm: the way over the cake and the excess.
    pub diameter: f64,
    /// By which share its rim must gather round the foot: 1 less the foot's girth over the rim's.
    pub gather: f64,
}

/// The sheet that is draped over a turned shape from the middle of its top, with `excess` mm all round; `bands` are its
/// [`icing_bands`]. `None` where the side goes in below something wider, as no sheet lies on that, and without bands.
pub fn draped_sheet(bands: &[Band], excess: f64) -> Option<DrapedSheet> {
    /// A side that widens upwards by less hangs down all the same, mm.
    const UNDERCUT: f64 = 3.0;
    let widest_above =
        |i: usize| bands[i + 1..].iter().map(|b| b.flat.lower.max(b.flat.upper)).fold(0.0, f64::max);
    let hangs = (0..bands.len()).all(|i| {
        let flat = &bands[i].flat;
        flat.upper <= flat.lower + UNDERCUT && widest_above(i) <= flat.upper + UNDERCUT
    });
    let foot = bands.first()?.flat.lower;
    let way: f64 = bands.iter().map(|band| band.flat.slant).sum();
    hangs.then(|| DrapedSheet { diameter: 2.0 * (way + excess), gather: 1.0 - foot / way })
}

/// The way over a shape from board to board, from left to right and from front to back, as a taut band lies, mm.
fn ways_over(mesh: &TriMesh) -> [f64; 2] {
    [|p: &DVec3| dvec2(p.x, p.z), |p: &DVec3| dvec2(p.y, p.z)].map(|seen| {
        let hull = Hull::of(mesh.positions.iter().map(seen));
        let hull = hull.corners();
        let on_board = |a: &DVec2, b: &DVec2| a.y == b.y && a.y < 1e-6;
        let edges = (0..hull.len()).map(|i| (hull[i], hull[(i + 1) % hull.len()]));
        edges.filter(|(a, b)| !on_board(a, b)).map(|(a, b)| a.distance(b)).sum()
    })
}

/// The half section through the middle of the icing: what neither stretches nor shrinks as it is bent.
fn middle_of_icing(plan: &Plan) -> Region {
    let thick = plan.design.coverings.first().map_or(0.0, |covering| covering.thickness);
    uncancelled(|cancel| plan.lines.inset(thick / 2.0, plan.design.tool, cancel)).section
}

/// What of a half section is covered: its outlines from the foot up, without the foot and the axis.
fn outer_sides(section: &Region) -> Vec<Vec<DVec2>> {
    sides(&section.filled(), |a, b| (a.y == 0.0 && b.y == 0.0) || (a.x == 0.0 && b.x == 0.0))
}

/// The outlines of a region in one piece after the other, without the edges that `left_out` names.
fn sides(region: &Region, left_out: impl Fn(DVec2, DVec2) -> bool) -> Vec<Vec<DVec2>> {
    let mut sides = Vec::new();
    for contour in region.contours() {
        let n = contour.len();
        let edge = |i: usize| (contour[i % n], contour[(i + 1) % n]);
        let out = |i: usize| left_out(edge(i).0, edge(i).1);
        // Begin after an edge that is left out, or anywhere on a whole outline.
        let start = (0..n).find(|&i| out(i) && !out(i + 1)).map_or(0, |i| i + 1);
        let mut side: Vec<DVec2> = Vec::new();
        for i in start..start + n {
            if out(i) {
                if !side.is_empty() {
                    sides.push(std::mem::take(&mut side));
                }
                continue;
            }
            if side.is_empty() {
                side.push(edge(i).0);
            }
            side.push(edge(i).1);
        }
        if !side.is_empty() {
            sides.push(side);
        }
    }
    sides
}

/// Whether whole patterns are wanted, or halves of those that are larger than a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Halves {
    /// Whole ones.
    Never,
    /// Halves, to be cut on the fold.
    WhereLarge,
}

fn figure(
    plan: &Plan,
    paper: &Paper,
    band: &Band,
    (number, count): (usize, usize),
    halves: Halves,
) -> Figure {
    let style = plan.design.style;
    let mm = |x: f64| style.length_alone(x);
    let (form, form_note) = match band.flat.form() {
        PatternForm::Rectangle { width, height } => {
            ("rectangle", format!("Rectangle {} long and {} high.", mm(width), mm(height)))
        }
        PatternForm::AnnularSector { outer, inner, angle } if angle > 359.999 => {
            let hole = if inner > 0.0 { format!(", {} inside", mm(2.0 * inner)) } else { String::new() };
            ("ring", format!("Level: {} across outside{hole}.", mm(2.0 * outer)))
        }
        PatternForm::AnnularSector { outer, inner, angle } => {
            let slant = mm(band.flat.slant);
            let radii = format!("radii {} and {}", mm(outer), mm(inner));
            ("sector", format!("Sector of {angle:.1}°, {radii}, {slant} from edge to edge."))
        }
    };
    let mut notes = vec![form_note];
    notes.push(if (band.bottom - band.top).abs() < 0.05 {
        format!("At height {}.", mm(band.bottom))
    } else {
        format!("From height {} to {}; seam at the back.", mm(band.bottom), mm(band.top))
    });
    /// Less is no error that can be felt, mm.
    const FELT: f64 = 0.2;
    if band.ease > FELT {
        let ease = mm(band.ease);
        notes.push(format!("Curved: widest error {ease} in the round, to be stretched or eased by hand."));
    }
    let mut figure = Figure {
        slug: format!("icing-band-{number}-of-{count}-{form}"),
        title: format!("Icing band {number} of {count}"),
        notes,
        drawing: pattern(plan, paper, band, number, None),
    };
    if halves == Halves::WhereLarge && figure.cell().size.cmpgt(paper.shown(false)).any() {
        let turn = best_turn(paper, &half_net(plan, paper, band).1);
        figure.drawing = pattern(plan, paper, band, number, Some(turn));
        figure.title.push_str(", half");
        figure.notes.push("Half of it: lay the front line on a fold, cut both halves at once, open.".into());
    }
    figure
}

/// Half of a pattern, and half of what is cut for it.
fn half_net(plan: &Plan, paper: &Paper, band: &Band) -> (Region, Region) {
    let half = band.flat.half(plan.design.tool);
    let cut = half.outset(paper.excess, plan.design.tool).right_half();
    (half, cut)
}

/// The pattern, whole and upright, or half of it turned by so many radians.
fn pattern(plan: &Plan, paper: &Paper, band: &Band, number: usize, half: Option<f64>) -> Drawing {
    let (net, cut) = match half {
        Some(_) => half_net(plan, paper, band),
        None => {
            let net = band.flat.region(plan.design.tool);
            let cut = net.outset(paper.excess, plan.design.tool);
            (net, cut)
        }
    };
    let turn = half.unwrap_or(0.0);
    let place = |p: DVec2| on_paper(real::unit_vector(turn).rotate(p));
    let mut drawing = Drawing::new();
    let mut outline = |region: &Region, pen: Pen| match half {
        // The fold is no edge.
        Some(_) => sides(region, |a, b| a.x.abs() < ON_FOLD && b.x.abs() < ON_FOLD)
            .into_iter()
            .for_each(|side| drawing.polyline(side.into_iter().map(place).collect(), pen)),
        None => drawing.region(region, DVec2::ZERO, None, Some(pen)),
    };
    outline(&net, NET);
    if paper.excess > 0.0 {
        outline(&cut, CUT);
    }
    let (low, high) = band.flat.front();
    drawing.line(place(low), place(high), FRONT);
    // The front line points up, and words run along the band beside it.
    let up = (high - low).normalize();
    let head = (band.flat.slant / 4.0).min(3.0);
    let barb = |side: f64| place(high - up * head + up.perp() * side * head / 2.0);
    drawing.polyline(vec![barb(1.0), place(high), barb(-1.0)], Pen::grey(0.3));
    let size = (band.flat.slant * 0.35).min(3.8);
    let fold = if half.is_some() { ": fold" } else { "" };
    let mut name = Lettering::new(format!("band {number}{fold}"), DVec2::ZERO, size).bold().centred();
    // In the middle of the band, a little to the right of the front line.
    let aside = name.width() / 2.0 + 2.0;
    let middle = low.lerp(high, 0.5);
    let radius = middle.length();
    let flat = matches!(band.flat.form(), PatternForm::Rectangle { .. }) || radius < aside;
    let (at, lean) = if flat {
        (middle + dvec2(aside, 0.0), 0.0)
    } else {
        let bend = aside / radius * if band.flat.upper > band.flat.lower { -1.0 } else { 1.0 };
        (real::unit_vector(bend).rotate(middle), bend)
    };
    let towards = turn + lean;
    let base = real::unit_vector(towards).rotate(dvec2(0.0, -size * 0.36));
    name.at = place(at) + on_paper(base);
    drawing.text(name.turned(-towards.to_degrees()));
    drawing
}

/// Points nearer to the fold than this lie on it, mm.
const ON_FOLD: f64 = 1e-6;

/// The turn that lets an outline be printed on the fewest pages, radians.
fn best_turn(paper: &Paper, outline: &Region) -> f64 {
    /// Turns tried in half a turn.
    const TRIED: u32 = 36;
    let cost = |turn: f64| {
        let (lo, hi) = outline.placed(turn, DVec2::ZERO).bounds().unwrap_or_default();
        let size = hi - lo;
        (Tiling::new(paper, lo, hi).pages(), size.x * size.y)
    };
    (0..TRIED)
        .map(|i| std::f64::consts::PI * f64::from(i) / f64::from(TRIED))
        .map(|turn| (cost(turn), turn))
        .min_by(|((a, b), _), ((c, d), _)| a.cmp(c).then(b.total_cmp(d)))
        .map_or(0.0, |(_, turn)| turn)
}
