//! Two photographed templates, crossed: the way in which most commissions begin.

use cakefile::CakeFile;
use geom::Region;
use glam::{DVec2, dvec2};
use plan::{Plan, PlanError};
use tempfile::TempDir;

use crate::{
    cakes::crossed,
    photographs::{Camera, RULER, photographed},
    pictures::png,
    plans::{plan, planned},
    support::{assert_close, tolerance},
};

/// A smooth closed line through `points` (Catmull and Rom's cubics), straight along the board.
fn smooth(points: &[(f64, f64)]) -> Vec<DVec2> {
    const PIECES: u32 = 12;
    let n = points.len();
    let at = |i: usize| DVec2::from(points[i % n]);
    let mut line = Vec::new();
    for i in 0..n {
        let (p, a, b, q) = (at(i + n - 1), at(i), at(i + 1), at(i + 2));
        if a.y == 0.0 && b.y == 0.0 {
            line.push(a);
            continue;
        }
        let (from, to) = ((b - p) / 2.0, (q - a) / 2.0);
        for k in 0..PIECES {
            let t = f64::from(k) / f64::from(PIECES);
            let s = 1.0 - t;
            let point = a * (s * s * (1.0 + 2.0 * t)) + from * (s * s * t) + b * (t * t * (3.0 - 2.0 * t))
                - to * (s * t * t);
            line.push(dvec2(point.x, point.y.max(0.0)));
        }
    }
    line
}

/// A lying fox from the front, 190 × 126 mm, mirrored about its middle.
fn fox_front() -> Vec<DVec2> {
    let right =
        [(95.0, 0.0), (94.0, 30.0), (80.0, 62.0), (58.0, 78.0), (52.0, 100.0), (46.0, 126.0), (26.0, 108.0)];
    let mut points = right.to_vec();
    points.push((0.0, 104.0));
    points.extend(right.iter().rev().map(|&(x, y)| (-x, y)));
    smooth(&points)
}

/// The fox from the side, 300 × 126 mm.
fn fox_side() -> Vec<DVec2> {
    smooth(&[
        (150.0, 0.0),
        (149.0, 22.0),
        (128.0, 44.0),
        (96.0, 56.0),
        (40.0, 72.0),
        (-20.0, 80.0),
        (-60.0, 92.0),
        (-84.0, 126.0),
        (-104.0, 104.0),
        (-132.0, 74.0),
        (-150.0, 48.0),
        (-140.0, 24.0),
        (-146.0, 0.0),
    ])
}

/// A cake crossed from photographs of both templates.
struct Commission {
    folder: TempDir,
    views: [String; 2],
}

impl Commission {
    fn new(front: &[DVec2], side: &[DVec2], cameras: [Camera; 2]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let view = |name: &str, outline: &[DVec2], camera: &Camera| {
            let taken = photographed(&[outline.to_vec()], camera);
            std::fs::write(folder.path().join(name), png(&taken.image)).unwrap();
            let [a, b] = taken.ruler;
            format!(
                "{{ picture = {{ file = \"{name}\", marks = [[{}, {}], [{}, {}]], distance = {RULER} }} }}",
                a.x, a.y, b.x, b.y
            )
        };
        let views = [view("front.png", front, &cameras[0]), view("side.png", side, &cameras[1])];
        Self { folder, views }
    }

    fn text(&self, rounding: &str, coverings: &str) -> String {
        let [front, side] = &self.views;
        format!(
            "crumbline = 1\nname = \"fox\"\nboard = {{ rectangle = [340, 420], thickness = 10 }}\n\
             [shape.crossed]\nfront = {front}\nside = {side}\n{rounding}\n{coverings}\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ square = 320 }}\nheight = 130\n"
        )
    }

    fn planned(&self, rounding: &str, coverings: &str) -> Result<Plan, PlanError> {
        planned(&CakeFile::from_text("fox.cake.toml", self.folder.path(), self.text(rounding, coverings)))
    }
}

const ICING: &str = "[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3";
const THIN: &str = "[[covering]]\nmaterial = \"rolled icing\"\nthickness = 0.5";

/// `outline` with what lies lower than 40 mm rounded as a soft toy's feet are.
fn soft_feet(outline: &[DVec2], radius: f64) -> Vec<DVec2> {
    let region = Region::new(vec![outline.to_vec()]);
    let round = region.inset(radius, tolerance(0.01)).outset(radius, tolerance(0.01));
    round.union(&region.between(40.0, 200.0)).contours()[0].clone()
}

/// How far the finished surface reaches at a height in four directions that lie alike about the middle plane: front
/// right and left, back right and left.
fn reaches(plan: &Plan, height: f64) -> [f64; 4] {
    [30.0, 330.0, 150.0, 210.0].map(|bearing| plan.lines.radius_at(height, bearing).expect("a surface"))
}

/// Whatever the tilt, the noise and the feet: both templates cross to the same shape, which keeps its corners round on
/// all sides and carries every covering.
#[test]
fn tilted_noisy_templates_cross_to_the_drawn_shape() {
    let (front, side) = (fox_front(), fox_side());
    for (feet, per_mm, seed) in [(0.0, 2.0, 1), (4.0, 4.0, 2), (10.0, 3.0, 3)] {
        let soften = |o: &[DVec2]| if feet > 0.0 { soft_feet(o, feet) } else { o.to_vec() };
        let (front, side) = (soften(&front), soften(&side));
        let of_drawn = crossed_volume(&front, &side);
        let mut first: Option<Vec<[f64; 4]>> = None;
        for tilts in [(0.0, 0.0), (1.3, -0.8), (-2.0, 1.5)] {
            let camera = |tilt, seed| Camera { seed, ..Camera::by_hand(per_mm, tilt) };
            let fox = Commission::new(&front, &side, [camera(tilts.0, seed), camera(tilts.1, seed + 10)]);
            let what = format!("feet {feet}, {per_mm} pixels a mm, tilted by {tilts:?}");
            for (rounding, coverings) in [
                ("", ICING),
                ("", THIN),
                ("corner = 60", ICING),
                ("corner = 60", THIN),
                ("roundness = 2.5", ICING),
            ] {
                let plan =
                    fox.planned(rounding, coverings).unwrap_or_else(|error| panic!("{what}: {error:?}"));
                let (lo, hi) = plan.lines.finished().solid.as_ref().unwrap().bounds().unwrap();
                assert!(lo.z == 0.0 && (hi.z - 126.0).abs() < 0.6, "{what}: {lo} {hi}");
                if rounding.is_empty() {
                    assert_close(&what, plan.line_volumes()[0], of_drawn, 1e-2);
                }
                if rounding != "corner = 60" {
                    continue;
                }
                let found: Vec<[f64; 4]> =
                    [3.0, 10.0, 25.0, 60.0].map(|height| reaches(&plan, height)).to_vec();
                for [fr, fl, br, bl] in &found {
                    assert!((fr - fl).abs() < 2.0 && (br - bl).abs() < 2.0, "{what}: {found:?}");
                }
                let first = first.get_or_insert_with(|| found.clone());
                let same =
                    first.iter().flatten().zip(found.iter().flatten()).all(|(a, b)| (a - b).abs() < 2.0);
                assert!(same, "{what}: {found:?} and {first:?}");
            }
        }
    }
}

/// Volume of the plain crossing of two outlines: the integral of the products of their widths.
fn crossed_volume(front: &[DVec2], side: &[DVec2]) -> f64 {
    const ROWS: u32 = 4000;
    let [front, side] = [front, side].map(|outline| Region::new(vec![outline.to_vec()]));
    let top = front.bounds().unwrap().1.y.min(side.bounds().unwrap().1.y);
    let width = |view: &Region, z: f64| view.row(z).iter().map(|(a, b)| b - a).sum::<f64>();
    let row = |i| {
        let z = (f64::from(i) + 0.5) * top / f64::from(ROWS);
        width(&front, z) * width(&side, z) * top / f64::from(ROWS)
    };
    (0..ROWS).map(row).sum()
}

/// A notch of 1.5 mm at the foot, and a bump as low on the back: neither takes the roundness off the whole corner.
#[test]
fn a_small_notch_or_bump_leaves_the_corners_round() {
    let front = "front = { points = [[-60, 0], [60, 0], [60, 100], [-60, 100]] }";
    let plain = "[[-90, 0], [90, 0], [90, 100], [-90, 100]]";
    let notched = "[[-90, 0], [-86, 0], [-85, 1.5], [-83, 0], [90, 0], [90, 100], [84, 100], [83, 101], [80, 100], \
                   [-90, 100]]";
    let cake = |side: &str| {
        let shape = format!(
            "[shape.crossed]\n{front}\nside = {{ points = {side} }}\ncorner = 40\nheight_tolerance = 0.1"
        );
        crossed(&shape, 220.0, &[50.0, 60.0], "")
    };
    let plain = plan(&cake(plain));
    let notched = plan(&cake(notched).replace("60, 100", "60, 101"));
    for height in [3.0, 10.0, 50.0, 90.0, 98.0] {
        let [a, b] = [&plain, &notched].map(|plan| reaches(plan, height));
        assert!(a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1.0), "{height}: {a:?} {b:?}");
    }
    for found in &notched.findings {
        assert!(!found.message.contains("rounded less"), "{}", found.message);
    }
}

/// Where a shape divides, the edges that touch there are pointed, as they must be; the plan says so.
#[test]
fn edges_that_cannot_be_rounded_are_named_with_their_height() {
    let shape = "[shape.crossed]\ncorner = 60\nfront = { points = [[-50, 0], [50, 0], [50, 100], [-50, 100]] }\n\
        side = { points = [[-90, 0], [90, 0], [90, 100], [40, 100], [0, 50], [-40, 100], [-90, 100]] }";
    let plan = plan(&crossed(shape, 220.0, &[50.0, 60.0], ""));
    let said: Vec<&str> =
        plan.findings.iter().map(|f| f.message.as_str()).filter(|m| m.contains("rounded less")).collect();
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].contains("between heights 50 mm and") && said[0].contains("on all four sides"),
        "{said:?}"
    );
}

/// An ear 16 mm thick over a head 120 mm long: a wall; over a head that is as narrow up there it is an ear.
#[test]
fn a_spike_that_becomes_a_wall_is_told() {
    let front =
        "front = { points = [[-60, 0], [60, 0], [60, 80], [48, 80], [40, 130], [32, 80], [-60, 80]] }";
    let walls = |side: &str| {
        let shape = format!("[shape.crossed]\n{front}\nside = {{ points = {side} }}");
        let plan = plan(&crossed(&shape, 220.0, &[70.0, 70.0], ""));
        let walls = plan.findings.iter().filter(|f| f.message.contains("becomes a wall"));
        walls.map(|f| f.message.clone()).collect::<Vec<_>>()
    };
    let wall = walls("[[-60, 0], [60, 0], [60, 130], [-60, 130]]");
    assert_eq!(wall.len(), 1, "{wall:?}");
    assert!(wall[0].starts_with("what stands out in the front view between heights"), "{wall:?}");
    assert!(wall[0].contains("a wall 120 mm long"), "{wall:?}");
    assert_eq!(walls("[[-60, 0], [60, 0], [60, 80], [8, 80], [0, 130], [-8, 80], [-60, 80]]"), [""; 0]);
    // A tail of the side across the whole front.
    let tail = walls("[[-60, 0], [60, 0], [60, 20], [120, 26], [60, 36], [60, 130], [-60, 130]]");
    assert_eq!(tail.len(), 2, "{tail:?}");
    assert!(tail.iter().any(|m| m.contains("in the side view") && m.contains("120 mm long")), "{tail:?}");
}

#[test]
fn heights_that_agree_as_printed_are_levelled_without_a_word() {
    let cake = |top: f64| {
        let shape = format!(
            "[shape.crossed]\nfront = {{ points = [[-60, 0], [60, 0], [60, 100], [-60, 100]] }}\n\
             side = {{ points = [[-40, 0], [40, 0], [40, {top}], [-40, {top}]] }}"
        );
        plan(&crossed(&shape, 160.0, &[50.0, 60.0], ""))
    };
    for (top, said) in [(100.03, 0), (99.97, 0), (100.6, 1)] {
        let plan = cake(top);
        let high = plan.lines.finished().solid.as_ref().unwrap().bounds().unwrap().1.z;
        assert_eq!(high, 100.0);
        let scaled = 120.0 * 100.0 * (80.0 * 100.0 / top);
        assert_close("volume", plan.line_volumes()[0], scaled, 1e-9);
        let remarks = plan.findings.iter().filter(|f| f.message.contains("so that they agree")).count();
        assert_eq!(remarks, said, "{top}");
    }
}

#[test]
fn a_slip_of_the_unit_is_remarked_on() {
    let fox = Commission::new(&fox_front(), &fox_side(), [Camera::still(2.0), Camera::still(2.0)]);
    let text = |distance: &str| fox.text("", "").replace(&format!("distance = {RULER}"), distance);
    let said = |text: &str| match planned(&CakeFile::from_text("fox.cake.toml", fox.folder.path(), text)) {
        Ok(plan) => plan.findings.iter().map(|f| f.message.clone()).collect::<Vec<_>>().join("\n"),
        Err(error) => format!("{error:?}"),
    };
    let slip = said(&text("distance = 10"));
    assert!(slip.contains("small for a cake; a number without a unit means mm in this file"), "{slip}");
    assert!(!said(&text("distance = \"10 cm\"")).contains("for a cake"));
}
