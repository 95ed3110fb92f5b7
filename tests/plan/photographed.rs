//! Two photographed templates, crossed: the way in which most commissions begin.

use cakefile::CakeFile;
use glam::{DVec2, dvec2};
use plan::{Plan, PlanError};
use tempfile::TempDir;

use crate::{
    photographs::{Camera, RULER, photographed},
    pictures::png,
    plans::planned,
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

    fn planned(&self, rounding: &str, coverings: &str) -> Result<Plan, PlanError> {
        let [front, side] = &self.views;
        let text = format!(
            "crumbline = 1\nname = \"fox\"\nboard = {{ rectangle = [340, 420], thickness = 10 }}\n\
             [shape.crossed]\nfront = {front}\nside = {side}\n{rounding}\n{coverings}\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ square = 320 }}\nheight = 130\n"
        );
        planned(&CakeFile::from_text("fox.cake.toml", self.folder.path(), &text))
    }
}

const ICING: &str = "[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3";

/// `outline` with what lies lower than `radius` rounded as a soft toy's foot is.
fn soft_foot(outline: &[DVec2], radius: f64) -> Vec<DVec2> {
    let tolerance = geom::Tolerance::new(0.01).unwrap();
    let region = geom::Region::new(vec![outline.to_vec()]);
    let round = region.inset(radius, tolerance).outset(radius, tolerance).union(&region.between(40.0, 200.0));
    let lo = round.bounds().unwrap().0.y;
    let round = round.placed(0.0, dvec2(0.0, -lo));
    round.contours()[0].clone()
}

#[test]
fn reproduction() {
    let (front, side) = (fox_front(), fox_side());
    for soft in [0.0, 4.0] {
        for per_mm in [2.0, 4.0] {
            for seed in 1..=2 {
                for (a, b) in [(0.0, 0.0), (1.3, -0.8), (2.0, 1.5)] {
                    let camera = |tilt, seed| Camera { seed, ..Camera::by_hand(per_mm, tilt) };
                    let soften = |o: &[DVec2]| if soft > 0.0 { soft_foot(o, soft) } else { o.to_vec() };
                    let fox = Commission::new(
                        &soften(&front),
                        &soften(&side),
                        [camera(a, seed), camera(b, seed + 10)],
                    );
                    print!("soft {soft} per_mm {per_mm} seed {seed} tilt {a} {b}: ");
                    for rounding in ["corner = 60", ""] {
                        let t = std::time::Instant::now();
                        match fox.planned(rounding, ICING) {
                            Ok(plan) => {
                                for f in &plan.findings {
                                    if f.message.contains("edge is") || f.message.contains("wall") {
                                        println!("     {}", f.message);
                                    }
                                }
                                print!("{:?} ", t.elapsed());
                                if rounding != "" {
                                    for h in [2.0, 10.0, 25.0, 40.0] {
                                        print!(
                                            "{:?} ",
                                            [30.0, 150.0, 210.0, 330.0].map(|b| plan
                                                .lines
                                                .radius_at(h, b)
                                                .unwrap_or(0.0)
                                                .round())
                                        );
                                    }
                                }
                            }
                            Err(e) => {
                                print!(" REFUSED {rounding}: {} ", format!("{e:?}").replace("\n", " "))
                            }
                        }
                    }
                    println!();
                }
            }
        }
    }
}
