//! Random silhouettes, printed, photographed, traced, crossed and inset, held against what was drawn. `PROPTEST_CASES`
//! asks for more of them.

use cakefile::CakeFile;
use geom::Region;
use glam::{DVec2, dvec2};
use plan::{Plan, design::Shape};
use proptest::prelude::*;

use crate::{
    photographs::{Camera, RULER, photographed},
    pictures::png,
    plans::planned,
    random_cakes,
};

/// A silhouette that stands on its base: how far it reaches to the left and to the right at even heights.
#[derive(Debug, Clone)]
struct Drawn {
    height: f64,
    reach: Vec<[f64; 2]>,
}

impl Drawn {
    /// Its outline: smooth walls (Catmull and Rom's cubics) from the base up to a level top.
    fn outline(&self) -> Vec<DVec2> {
        let mut outline = self.wall(1);
        let left = self.wall(0);
        outline.extend(left.into_iter().rev().map(|p| dvec2(-p.x, p.y)));
        outline
    }

    fn wall(&self, side: usize) -> Vec<DVec2> {
        const PIECES: usize = 16;
        let last = self.reach.len() - 1;
        let at = |i: isize| self.reach[i.clamp(0, last as isize) as usize][side];
        let point = |k: usize| {
            let (i, t) = ((k / PIECES) as isize, (k % PIECES) as f64 / PIECES as f64);
            let (p, a, b, q) = (at(i - 1), at(i), at(i + 1), at(i + 2));
            let s = 1.0 - t;
            let (from, to) = ((b - p) / 2.0, (q - a) / 2.0);
            let reach = a * (s * s * (1.0 + 2.0 * t)) + from * (s * s * t) + b * (t * t * (3.0 - 2.0 * t))
                - to * (s * t * t);
            dvec2(reach, self.height * k as f64 / (last * PIECES) as f64)
        };
        (0..=last * PIECES).map(point).collect()
    }

    fn region(&self) -> Region {
        let region = Region::new(vec![self.outline()]);
        let (lo, hi) = region.bounds().unwrap();
        region.placed(0.0, dvec2(-(lo.x + hi.x) / 2.0, 0.0))
    }
}

prop_compose! {
    fn any_drawn(height: f64, symmetric: bool)(
        reach in prop::collection::vec([30.0..75.0, 30.0..75.0], 3..7),
    ) -> Drawn {
        let even = |[a, b]: [f64; 2]| if symmetric { [a, a] } else { [a, b] };
        Drawn { height, reach: reach.into_iter().map(even).collect() }
    }
}

prop_compose! {
    fn any_camera()(
        per_mm in 2.0..4.0,
        tilt in -2.5..2.5,
        blur in 0.5..1.6,
        noise in 0.0..16.0,
        shade in 0.0..50.0,
        speckles in prop_oneof![Just(0_u32), 1..40_u32],
        ruler in any::<bool>(),
        seed in any::<u64>(),
    ) -> Camera {
        Camera { per_mm, tilt, blur, noise, shade, speckles, ruler, seed }
    }
}

/// Two silhouettes of one height, how they are photographed, and what is asked for.
#[derive(Debug, Clone)]
struct Template {
    drawn: [Drawn; 2],
    symmetric: bool,
    cameras: [Camera; 2],
    rounding: String,
    covering: f64,
}

fn any_template() -> impl Strategy<Value = Template> {
    let rounding = prop_oneof![
        2 => Just(String::new()),
        2 => (5.0..70.0).prop_map(|radius: f64| format!("corner = {radius:.1}")),
        1 => (2.0..4.0).prop_map(|exponent: f64| format!("roundness = {exponent:.2}")),
    ];
    (60.0..160.0, any::<bool>()).prop_flat_map(move |(height, symmetric)| {
        (
            [any_drawn(height, symmetric), any_drawn(height, symmetric)],
            [any_camera(), any_camera()],
            rounding.clone(),
            0.5..12.0,
        )
            .prop_map(move |(drawn, cameras, rounding, covering)| Template {
                drawn,
                symmetric,
                cameras,
                rounding,
                covering,
            })
    })
}

impl Template {
    /// The plan of its photographs, crossed with `rounding`.
    fn plan(&self, rounding: &str) -> Plan {
        let folder = tempfile::tempdir().unwrap();
        let view = |name: &str, drawn: &Drawn, camera: &Camera| {
            let taken = photographed(&[drawn.outline()], camera);
            std::fs::write(folder.path().join(name), png(&taken.image)).unwrap();
            let [a, b] = taken.ruler;
            format!(
                "{{ picture = {{ file = \"{name}\", marks = [[{}, {}], [{}, {}]], distance = {RULER} }} }}",
                a.x, a.y, b.x, b.y
            )
        };
        let front = view("front.png", &self.drawn[0], &self.cameras[0]);
        let side = view("side.png", &self.drawn[1], &self.cameras[1]);
        let text = format!(
            "crumbline = 1\nname = \"random\"\naccuracy = {{ grid = 4 }}\n\
             board = {{ square = 200, thickness = 10 }}\n\
             [shape.crossed]\nheight_tolerance = 3\nfront = {front}\nside = {side}\n{rounding}\n\
             [[covering]]\nmaterial = \"rolled icing\"\nthickness = {}\n\
             [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ square = 200 }}\nheight = 170\n",
            self.covering
        );
        let file = CakeFile::from_text("random.cake.toml", folder.path(), text);
        planned(&file).unwrap_or_else(|error| panic!("{error:?}"))
    }

    /// How far a view may be off, mm: what a trace states at half a pixel, with what is cleaned off, the noise and the
    /// dust that lies on the edge (two pixels), and the rounding of its size to the ends of the ruler.
    fn error(&self, view: usize) -> f64 {
        let camera = &self.cameras[view];
        let dust = if camera.speckles > 0 { 2.0 } else { 0.0 };
        (0.75 + 0.25 + 0.4 * camera.blur + dust) / camera.per_mm
    }
}

fn perimeter(region: &Region) -> f64 {
    region.edges().map(|(a, b)| a.distance(b)).sum()
}

/// What lies in one region and not in the other, either way, mm².
fn difference(a: &Region, b: &Region) -> f64 {
    a.difference(b).area() + b.difference(a).area()
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: if std::env::var_os("PROPTEST_CASES").is_some() { ProptestConfig::default().cases } else { 6 },
        ..random_cakes::config()
    })]

    #[test]
    fn what_is_photographed_is_what_was_drawn(template in any_template()) {
        // Plain first: its views are there to be looked at.
        let plain = template.plan("");
        let Shape::Crossed(crossed) = &*plain.design.shape else { panic!("no plain crossing") };
        let mut drawn_volume = 0.0;
        let drawn = [0, 1].map(|i| template.drawn[i].region());
        const ROWS: u32 = 500;
        for i in 0..ROWS {
            let z = (f64::from(i) + 0.5) / f64::from(ROWS) * template.drawn[0].height;
            let width = |view: &Region| view.row(z).iter().map(|(a, b)| b - a).sum::<f64>();
            drawn_volume += width(&drawn[0]) * width(&drawn[1]) * template.drawn[0].height / f64::from(ROWS);
        }
        for (i, traced) in [&crossed.front, &crossed.side].into_iter().enumerate() {
            let error = template.error(i).max(template.error(0) + template.error(1));
            let ((lo, hi), (dlo, dhi)) = (traced.bounds().unwrap(), drawn[i].bounds().unwrap());
            prop_assert!(lo.y == 0.0 && (hi.y - dhi.y).abs() <= error, "{i}: {hi} {dhi}");
            prop_assert!(((hi.x - lo.x) - (dhi.x - dlo.x)).abs() <= 2.0 * error, "{i}: {lo} {hi} {dlo} {dhi}");
            prop_assert!((lo.x + hi.x).abs() < 1e-6, "{i}: {lo} {hi}");
            let off = difference(traced, &drawn[i]);
            // On the mean a trace is far better than at its worst.
            prop_assert!(off <= 0.5 * error * perimeter(&drawn[i]), "{i}: {off} mm² off");
            let base: f64 =
                traced.edges().filter(|(a, b)| a.y == 0.0 && b.y == 0.0).map(|(a, b)| b.x - a.x).sum();
            let [left, right] = template.drawn[i].reach[0];
            prop_assert!((base - left - right).abs() <= 6.0 * error, "{i}: {base} of {}", left + right);
            if template.symmetric {
                let off = difference(traced, &traced.mirrored());
                prop_assert!(off <= error * perimeter(traced), "{i}: {off} mm² lopsided");
            }
        }
        let volume = plain.line_volumes()[0];
        prop_assert!((volume / drawn_volume - 1.0).abs() < 0.03, "{volume} of {drawn_volume}");
        for plan in [&plain, &template.plan(&template.rounding)] {
            let volumes = plan.line_volumes();
            let solid = plan.lines.finished().solid.as_ref().unwrap();
            let surface = solid.mass_properties().area;
            let least = volumes[0] - template.covering * surface;
            prop_assert!(volumes[1] < volumes[0] && volumes[1] > least, "{volumes:?} {surface}");
            solid.check().unwrap();
            if template.symmetric {
                for share in [0.05, 0.3, 0.6, 0.9] {
                    let section = solid.section(share * template.drawn[0].height);
                    let off = difference(&section, &section.mirrored());
                    let error = template.error(0) + template.error(1);
                    prop_assert!(off <= error * perimeter(&section), "{off} mm² lopsided at {share}");
                }
            }
        }
    }
}

/// The drawer itself: coverage is exact, so that a still photograph of a square has its area.
#[test]
fn a_photograph_shows_what_was_drawn() {
    let square = vec![dvec2(-20.3, 0.0), dvec2(20.0, 0.0), dvec2(20.0, 33.1), dvec2(-20.3, 33.1)];
    let camera = Camera { blur: 0.0, ..Camera::still(3.0) };
    let taken = photographed(&[square], &camera);
    let dark: f64 =
        taken.image.to_luma8().pixels().map(|p| (225.0 - f64::from(p.0[0])) / (225.0 - 40.0)).sum();
    assert!((dark / 9.0 - 40.3 * 33.1).abs() < 0.005 * 40.3 * 33.1, "{}", dark / 9.0);
    assert!((taken.ruler[0].distance(taken.ruler[1]) - 3.0 * RULER).abs() < 1e-9);
}
