//! The colour scale for shave depth: the deeper the knife went, the darker.
//!
//! The stops are our own, chosen in OKLab ("A perceptual color space for image
//! processing", 2020, which gives the matrices below). The scale runs
//! through them evenly by OKLab distance, so that equal steps in depth look equally far apart, and lightness only
//! ever falls, so that it still reads in grey and for any kind of colour blindness.

use std::sync::OnceLock;

use formats::model::Rgb;
use geom::units::{MM_PER_INCH, Unit};

/// How many steps the scale is cut into for the shader.
pub const STEPS: usize = 256;

/// The colour of shortfall; no other part of the program uses it, and the scale never comes near it.
pub const SHORTFALL: Rgb = Rgb(0, 158, 168);

/// Lightness, chroma and hue (degrees) in OKLab's polar form, from shallow to deep: cream, honey,
/// terracotta, plum, night.
const STOPS: [[f64; 3]; 5] = [
    [0.945, 0.050, 98.0],
    [0.830, 0.120, 76.0],
    [0.655, 0.150, 42.0],
    [0.455, 0.135, 2.0],
    [0.245, 0.090, 295.0],
];

/// A depth scale from 0 to a whole number of bold lines. Lines are drawn at round depths of the maker's
/// unit: bold ones every centimetre or half inch, a fine one half way between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthScale {
    /// The depth at the dark end, mm.
    pub deepest: f64,
    /// Depth between two bold lines, mm.
    pub bold_line: f64,
}

impl DepthScale {
    /// The scale that holds depths up to `deepest` mm, rounded up to the next bold line of this unit.
    pub fn reaching(deepest: f64, unit: Unit) -> Self {
        let bold_line = match unit {
            Unit::Millimetre | Unit::Centimetre => 10.0,
            Unit::Inch => MM_PER_INCH / 2.0,
        };
        let lines = (deepest / bold_line - 1e-6).ceil().max(1.0);
        Self { deepest: lines * bold_line, bold_line }
    }

    /// Depth between two lines, fine or bold, mm.
    pub fn fine_line(&self) -> f64 {
        self.bold_line / 2.0
    }

    /// Depths of the lines between the two ends, mm, and whether each is bold.
    pub fn lines(&self) -> impl Iterator<Item = (f64, bool)> + use<> {
        let fine = self.fine_line();
        (1..(self.deepest / fine).round() as u32).map(move |line| (f64::from(line) * fine, line % 2 == 0))
    }

    /// The colour at `depth` mm; depths beyond either end take the colour of that end.
    pub fn colour(&self, depth: f64) -> Rgb {
        let at = (depth / self.deepest).clamp(0.0, 1.0) * (STEPS - 1) as f64;
        let (low, rest) = (at.floor() as usize, at.fract());
        let table = table();
        let high = (low + 1).min(STEPS - 1);
        to_srgb(std::array::from_fn(|i| table[low][i] * (1.0 - rest) + table[high][i] * rest))
    }

    /// Depths that the legend numbers, mm: at most nine, whole bold lines apart.
    pub fn ticks(&self) -> Vec<f64> {
        let lines = (self.deepest / self.bold_line).round() as usize;
        let every = [1, 2, 5, 10, 20, 50].into_iter().find(|n| lines.div_ceil(*n) <= 8).unwrap_or(100);
        (0..=lines).step_by(every).map(|line| line as f64 * self.bold_line).collect()
    }
}

/// The scale as linear light, red, green, blue and opacity 1, shallow to deep, for the graphics card.
pub fn linear_table() -> Vec<[f32; 4]> {
    table()
        .iter()
        .map(|lab| {
            let [r, g, b] = to_linear(*lab);
            [r as f32, g as f32, b as f32, 1.0]
        })
        .collect()
}

/// The scale in OKLab, [`STEPS`] colours evenly spaced by distance.
fn table() -> &'static [[f64; 3]; STEPS] {
    static TABLE: OnceLock<[[f64; 3]; STEPS]> = OnceLock::new();
    TABLE.get_or_init(evenly_spaced)
}

/// Points on the smooth curve through the stops, at equal shares of its length.
fn evenly_spaced() -> [[f64; 3]; STEPS] {
    const FINE: usize = 4096;
    let fine: Vec<[f64; 3]> = (0..=FINE).map(|i| on_curve(i as f64 / FINE as f64)).collect();
    let mut lengths = vec![0.0];
    for pair in fine.windows(2) {
        lengths.push(lengths[lengths.len() - 1] + distance(pair[0], pair[1]));
    }
    let total = lengths[FINE];
    std::array::from_fn(|step| {
        let goal = total * step as f64 / (STEPS - 1) as f64;
        let after = lengths.partition_point(|w| *w < goal).clamp(1, FINE);
        let share = (goal - lengths[after - 1]) / (lengths[after] - lengths[after - 1]);
        std::array::from_fn(|i| fine[after - 1][i] + (fine[after][i] - fine[after - 1][i]) * share)
    })
}

/// The stops joined by a Catmull-Rom curve in OKLab; `t` from 0 to 1.
fn on_curve(t: f64) -> [f64; 3] {
    let stops = STOPS.map(|[lightness, chroma, hue]| {
        let (sin, cos) = hue.to_radians().sin_cos();
        [lightness, chroma * cos, chroma * sin]
    });
    let last = stops.len() - 1;
    let at = t * last as f64;
    let i = (at.floor() as usize).min(last - 1);
    let u = at - i as f64;
    let [p0, p1, p2, p3] = [stops[i.saturating_sub(1)], stops[i], stops[i + 1], stops[(i + 2).min(last)]];
    std::array::from_fn(|c| {
        0.5 * (2.0 * p1[c]
            + (p2[c] - p0[c]) * u
            + (2.0 * p0[c] - 5.0 * p1[c] + 4.0 * p2[c] - p3[c]) * u * u
            + (3.0 * p1[c] - p0[c] - 3.0 * p2[c] + p3[c]) * u * u * u)
    })
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum::<f64>().sqrt()
}

/// OKLab to linear sRGB, kept inside the gamut channel by channel.
fn to_linear([lightness, a, b]: [f64; 3]) -> [f64; 3] {
    let l = (lightness + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let m = (lightness - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let s = (lightness - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    [
        4.076_741_662_1 * l - 3.307_711_591_3 * m + 0.230_969_929_2 * s,
        -1.268_438_004_6 * l + 2.609_757_401_1 * m - 0.341_319_396_5 * s,
        -0.004_196_086_3 * l - 0.703_418_614_7 * m + 1.707_614_701_0 * s,
    ]
    .map(|c| c.clamp(0.0, 1.0))
}

fn to_srgb(lab: [f64; 3]) -> Rgb {
    let [r, g, b] = to_linear(lab).map(|c| (super::srgb::encode(c) * 255.0).round() as u8);
    Rgb(r, g, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lightness_only_falls() {
        for pair in table().windows(2) {
            assert!(pair[1][0] < pair[0][0], "{pair:?}");
        }
    }

    #[test]
    fn equal_steps_look_equally_far_apart() {
        let steps: Vec<f64> = table().windows(2).map(|p| distance(p[0], p[1])).collect();
        let mean = steps.iter().sum::<f64>() / steps.len() as f64;
        for step in steps {
            assert!((step / mean - 1.0).abs() < 0.01, "{step} against {mean}");
        }
    }

    #[test]
    fn no_colour_of_the_scale_has_to_be_clipped_into_the_gamut() {
        for lab in table() {
            let linear = to_linear(*lab);
            assert!(linear.iter().all(|c| *c > 0.0 && *c < 1.0), "{lab:?} is {linear:?}");
        }
    }

    /// "Digital video colourmaps for checking the legibility of displays
    /// by dichromats", 1999: the simulation matrices for linear RGB, from memory.
    #[test]
    fn ten_millimetre_steps_stay_apart_for_dichromats() {
        const PROTAN: [[f64; 3]; 3] =
            [[0.11238, 0.88762, 0.0], [0.11238, 0.88762, 0.0], [0.00401, -0.00401, 1.0]];
        const DEUTAN: [[f64; 3]; 3] =
            [[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]];
        for matrix in [PROTAN, DEUTAN] {
            let seen = |i: usize| {
                let rgb = to_linear(table()[i]);
                to_lab(matrix.map(|row| row.iter().zip(rgb).map(|(m, c)| m * c).sum::<f64>().max(0.0)))
            };
            for i in 0..8 {
                let apart = distance(seen(i * 255 / 8), seen((i + 1) * 255 / 8));
                // 0.02 in OKLab is about one just noticeable difference (common practice, no source).
                assert!(apart > 0.06, "step {i} is only {apart} apart");
            }
        }
    }

    #[test]
    fn the_scale_ends_on_a_bold_line_and_its_ticks_are_few() {
        let reaching = |deepest| DepthScale::reaching(deepest, Unit::Millimetre);
        assert_eq!(reaching(61.2).deepest, 70.0);
        assert_eq!(reaching(60.0).deepest, 60.0);
        assert_eq!(reaching(0.0).deepest, 10.0);
        assert_eq!(reaching(173.0).ticks(), vec![0.0, 50.0, 100.0, 150.0]);
        assert_eq!(reaching(12.0).lines().collect::<Vec<_>>(), [(5.0, false), (10.0, true), (15.0, false)]);
    }

    #[test]
    fn a_maker_who_works_in_inches_gets_lines_at_half_inches() {
        let scale = DepthScale::reaching(30.0, Unit::Inch);
        assert!((scale.deepest - 38.1).abs() < 1e-9, "{}", scale.deepest);
        let style = geom::units::UnitStyle::new(Unit::Inch);
        let told: Vec<String> = scale.ticks().into_iter().map(|depth| style.in_own(depth)).collect();
        assert_eq!(told, ["0 in", "1/2 in", "1 in", "1 1/2 in"]);
    }

    /// OKLab of white and of sRGB red, from the same article.
    #[test]
    fn oklab_agrees_with_its_article() {
        assert!(to_linear([1.0, 0.0, 0.0]).iter().all(|c| (c - 1.0).abs() < 1e-6));
        let red = to_linear([0.627_955, 0.224_863, 0.125_846]);
        assert!((red[0] - 1.0).abs() < 1e-4 && red[1].abs() < 1e-4 && red[2].abs() < 1e-4, "{red:?}");
    }

    fn to_lab([r, g, b]: [f64; 3]) -> [f64; 3] {
        let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
        let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
        let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
        [
            0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s,
            1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s,
            0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s,
        ]
    }
}
