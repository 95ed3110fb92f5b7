//! Colours for carving depth, in bands of the hand's own measure: a shave, a slice, a piece, and what is cut first.
//!
//! The colours are our own, chosen in OKLab ("A perceptual color space for image processing", 2020, which gives the
//! matrices below): the deeper, the darker, so that they still read in grey and for any kind of colour blindness, and
//! each about as far from the next.

use formats::model::Rgb;
use geom::units::{MM_PER_INCH, Unit, UnitStyle};

/// The colour of shortfall; no other part of the program uses it, and the bands never come near it.
pub const SHORTFALL: Rgb = Rgb(0, 158, 168);

/// How many bands there are: what no knife touches, and four depths.
pub const BANDS: usize = 5;

/// Lightness, chroma and hue (degrees) of each band in OKLab's polar form: pale sponge, honey, terracotta, plum, night.
const COLOURS: [[f64; 3]; BANDS] = [
    [0.940, 0.045, 92.0],
    [0.800, 0.125, 70.0],
    [0.640, 0.150, 40.0],
    [0.455, 0.135, 2.0],
    [0.270, 0.095, 300.0],
];

/// Less than this is not touched by the knife, mm.
const TOUCHED: f64 = 0.5;

/// Where the bands of carving depth end, in round numbers of the maker's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthScale {
    /// The greatest depth shown, mm.
    pub deepest: f64,
    /// Depths at which one band gives way to the next, mm.
    pub edges: [f64; BANDS - 1],
    /// Depth between two fine lines, mm.
    pub fine_line: f64,
}

impl DepthScale {
    /// The bands for depths up to `deepest` mm. Common practice, no source: what a hand takes off in one stroke, in a few,
    /// and what is cut off in pieces.
    pub fn reaching(deepest: f64, unit: Unit) -> Self {
        let (edges, fine_line) = match unit {
            Unit::Millimetre | Unit::Centimetre => ([10.0, 25.0, 50.0], 5.0),
            Unit::Inch => ([0.5, 1.0, 2.0].map(|inches| inches * MM_PER_INCH), MM_PER_INCH / 4.0),
        };
        let [first, second, third] = edges;
        Self { deepest, edges: [TOUCHED, first, second, third], fine_line }
    }

    /// The band that a depth (mm) lies in: 0 for what is not touched.
    pub fn band(&self, depth: f64) -> usize {
        self.edges.iter().filter(|edge| depth > **edge).count()
    }

    /// The colour at `depth` mm.
    pub fn colour(&self, depth: f64) -> Rgb {
        to_srgb(COLOURS[self.band(depth)])
    }

    /// The bands that are shown, the shallowest first: the colour of each and its words.
    pub fn legend(&self, style: UnitStyle) -> Vec<(Rgb, String)> {
        let told = |edge: usize| style.length_alone(self.edges[edge]);
        let words = |band: usize| match band {
            0 => "not carved".to_owned(),
            1 => format!("up to {}", told(1)),
            2 => format!("up to {}", told(2)),
            3 => format!("up to {}", told(3)),
            _ => format!("over {}: cut first", told(3)),
        };
        (0..=self.band(self.deepest)).map(|band| (to_srgb(COLOURS[band]), words(band))).collect()
    }
}

/// The colours of the bands as linear light, red, green, blue and opacity 1, for the graphics card.
pub fn linear_table() -> [[f32; 4]; BANDS] {
    COLOURS.map(|colour| {
        let [r, g, b] = to_linear(lab(colour));
        [r as f32, g as f32, b as f32, 1.0]
    })
}

/// OKLab of its polar form.
fn lab([lightness, chroma, hue]: [f64; 3]) -> [f64; 3] {
    let (sin, cos) = hue.to_radians().sin_cos();
    [lightness, chroma * cos, chroma * sin]
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

fn to_srgb(colour: [f64; 3]) -> Rgb {
    let [r, g, b] = to_linear(lab(colour)).map(|c| (super::srgb::encode(c) * 255.0).round() as u8);
    Rgb(r, g, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
        a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum::<f64>().sqrt()
    }

    #[test]
    fn the_deeper_the_darker_and_each_about_as_far_from_the_next() {
        assert!(COLOURS.windows(2).all(|pair| pair[1][0] < pair[0][0] - 0.1));
        let steps: Vec<f64> = COLOURS.windows(2).map(|pair| distance(lab(pair[0]), lab(pair[1]))).collect();
        let mean = steps.iter().sum::<f64>() / steps.len() as f64;
        assert!(steps.iter().all(|step| (step / mean - 1.0).abs() < 0.2), "{steps:?}");
    }

    #[test]
    fn no_colour_has_to_be_clipped_into_the_gamut() {
        for colour in COLOURS {
            let linear = to_linear(lab(colour));
            assert!(linear.iter().all(|c| *c > 0.0 && *c < 1.0), "{colour:?} is {linear:?}");
        }
    }

    /// "Digital video colourmaps for checking the legibility of displays by dichromats", 1999: the simulation matrices for
    /// linear RGB, from memory.
    #[test]
    fn all_bands_and_shortfall_stay_apart_for_dichromats() {
        const PROTAN: [[f64; 3]; 3] =
            [[0.11238, 0.88762, 0.0], [0.11238, 0.88762, 0.0], [0.00401, -0.00401, 1.0]];
        const DEUTAN: [[f64; 3]; 3] =
            [[0.29275, 0.70725, 0.0], [0.29275, 0.70725, 0.0], [-0.02234, 0.02234, 1.0]];
        let Rgb(r, g, b) = SHORTFALL;
        let shortfall = [r, g, b].map(|c| crate::srgb::decode(f64::from(c) / 255.0));
        let shown: Vec<[f64; 3]> = COLOURS.iter().map(|c| to_linear(lab(*c))).chain([shortfall]).collect();
        for matrix in [PROTAN, DEUTAN] {
            let seen = |rgb: &[f64; 3]| {
                to_lab(matrix.map(|row| row.iter().zip(rgb).map(|(m, c)| m * c).sum::<f64>().max(0.0)))
            };
            for (i, a) in shown.iter().enumerate() {
                for b in &shown[i + 1..] {
                    // 0.02 in OKLab is about one just noticeable difference (common practice, no source).
                    let apart = distance(seen(a), seen(b));
                    assert!(apart > 0.1, "{a:?} and {b:?} are only {apart} apart");
                }
            }
        }
    }

    #[test]
    fn bands_end_at_round_depths_of_the_makers_unit_and_only_those_in_sight_are_named() {
        let named = |deepest, unit| -> Vec<String> {
            let bands = DepthScale::reaching(deepest, unit).legend(UnitStyle::new(unit));
            bands.into_iter().map(|(_, words)| words).collect()
        };
        assert_eq!(named(24.9, Unit::Millimetre), ["not carved", "up to 10 mm", "up to 25 mm"]);
        assert_eq!(named(61.0, Unit::Centimetre)[3..], ["up to 5 cm", "over 5 cm: cut first"]);
        assert_eq!(named(30.0, Unit::Inch)[2..], ["up to 1 in", "up to 2 in"]);
    }

    #[test]
    fn a_depth_has_the_colour_of_its_band() {
        let scale = DepthScale::reaching(80.0, Unit::Millimetre);
        let bands: Vec<usize> =
            [0.0, 3.0, 10.0, 10.5, 30.0, 50.5, 500.0].map(|depth| scale.band(depth)).to_vec();
        assert_eq!(bands, [0, 1, 1, 2, 3, 4, 4]);
        assert_eq!(scale.colour(0.1), to_srgb(COLOURS[0]));
        assert_eq!(scale.colour(70.0), to_srgb(COLOURS[4]));
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
