//! The bowl of Newell's teapot, drawn in a cake file.

use std::f64::consts::PI;

use geom::revolve::revolved_properties;

use crate::{
    support::assert_close,
    teapot_bowl::{BOWL, cubic},
};

/// The bowl as a cake, standing on the circle where its foot begins to curve in.
#[test]
fn the_teapots_bowl_drawn_in_a_cake_file_holds_its_volume() {
    // Millimetres for one unit of the data.
    const SCALE: f64 = 50.0;
    let whole: f64 = BOWL.iter().map(under_cubic).sum();
    assert_close("bowl by quadrature", whole, 24.291_178_68, 1e-9);
    let exact = (24.291_178_68 - under_cubic(&BOWL[3])) * SCALE.powi(3);
    let mut errors = Vec::new();
    for chord in [0.4, 0.1, 0.025] {
        let plan = crate::plans::plan(&bowl_cake(SCALE, chord));
        let finished = revolved_properties(&plan.lines.finished().section);
        let error = (exact - finished.volume).abs();
        assert!(error <= chord * finished.area, "{error} at {chord}");
        errors.push(error);
    }
    // A chord's error falls with the square of its length, as its sagitta does: fourfold for a quarter.
    assert!(errors.windows(2).all(|pair| (2.5..6.5).contains(&(pair[0] / pair[1]))), "{errors:?}");
}

/// ∫ π r² dz along one of the bowl's cubics, by Gauss's five points: exact for a polynomial of degree 8.
fn under_cubic(p: &[(f64, f64); 4]) -> f64 {
    let (a, b) = (0.538_469_310_105_683_1, 0.906_179_845_938_664);
    let (wa, wb, w0) = (0.478_628_670_499_366_5, 0.236_926_885_056_189_1, 128.0 / 225.0);
    let slope = |t: f64| {
        let s = 1.0 - t;
        let d = |i: usize| p[i + 1].1 - p[i].1;
        3.0 * (s * s * d(0) + 2.0 * s * t * d(1) + t * t * d(2))
    };
    let at = |x: f64| {
        let t = (x + 1.0) / 2.0;
        PI * cubic(p, t).0.powi(2) * slope(t) / 2.0
    };
    -(w0 * at(0.0) + wa * (at(a) + at(-a)) + wb * (at(b) + at(-b)))
}

fn bowl_cake(scale: f64, chord: f64) -> String {
    let at = |(r, z): (f64, f64)| format!("[{}, {}]", r * scale, (z - 0.15) * scale);
    let strokes: Vec<String> = BOWL[..3]
        .iter()
        .rev()
        .map(|c| format!("{{ to = {}, curve = [{}, {}] }}", at(c[0]), at(c[2]), at(c[1])))
        .collect();
    format!(
        "crumbline = 1\nname = \"bowl\"\naccuracy = {{ tool = {chord} }}\n\
         [shape.turned]\nfrom = {}\ndraw = [{}]\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 220 }}\nheight = 130\n",
        at(BOWL[2][3]),
        strokes.join(", ")
    )
}
