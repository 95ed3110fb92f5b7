//! How stiff and how strong things are, for the support check.
//!
//! Each figure says where it comes from; where no source is known it is common practice and on the cautious
//! side. A material of the maker's own counts as the built-in one that it is like, sponge by its density.

use super::{Material, MaterialKind};
use geom::real;

/// How a material bears a load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mechanics {
    /// What layers are of: it squashes.
    Crumb(Crumb),
    /// Fillings and coverings: they slip and slump.
    Soft(Soft),
    /// Boards: they bend and dent.
    Board(BoardStuff),
    /// Dowels: they are crushed and buckle.
    Dowel(DowelStuff),
}

/// A crumb that squashes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crumb {
    /// Modulus of elasticity, kPa.
    pub modulus: f64,
    /// Stress at which it gives way for good, kPa.
    pub collapse: f64,
    /// How much further it squashes by and by under the same load: times.
    pub creep: f64,
}

/// A spread that slips.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Soft {
    /// Shear stress that it bears at 20 °C without slipping, Pa.
    pub slip: f64,
    /// How that falls as it warms.
    pub warming: Warming,
    /// Whether layers slide on it however little it is loaded.
    pub always_slides: bool,
}

/// How a spread softens: what is left of its strength at 20 °C at a few temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Warming {
    /// Bound by butter, which is spreadable in a room and liquid from 32 to 35 °C.
    Butter,
    /// Bound by cocoa butter, which melts from 32 to 34 °C.
    DarkChocolate,
    /// Bound by cocoa butter and much milk fat.
    WhiteChocolate,
    /// Bound by sugar or starch: heat alone softens it little.
    Sugar,
}

impl Warming {
    /// Temperatures, °C, and shares of the strength at 20 °C; straight between them.
    ///
    /// The ends are the melting ranges of the fats (butter: 32 to 35 °C, agricultural reference pages; cocoa
    /// butter: 32 to 34 °C, from memory of Beckett, Industrial Chocolate Manufacture and Use). What lies between
    /// is common practice, no source, on the cautious side.
    pub fn table(self) -> &'static [(f64, f64)] {
        match self {
            Self::Butter => &[(10.0, 1.5), (20.0, 1.0), (24.0, 0.6), (28.0, 0.2), (32.0, 0.02), (35.0, 0.0)],
            Self::DarkChocolate => {
                &[(10.0, 1.3), (20.0, 1.0), (25.0, 0.7), (28.0, 0.4), (31.0, 0.1), (34.0, 0.0)]
            }
            Self::WhiteChocolate => {
                &[(10.0, 1.3), (20.0, 1.0), (24.0, 0.6), (27.0, 0.3), (30.0, 0.08), (32.0, 0.0)]
            }
            Self::Sugar => &[(10.0, 1.0), (25.0, 1.0), (35.0, 0.6), (45.0, 0.3), (60.0, 0.1)],
        }
    }

    /// What is left at `celsius` of the strength at 20 °C.
    pub fn share(self, celsius: f64) -> f64 {
        let table = self.table();
        let after = table.partition_point(|(t, _)| *t <= celsius);
        match (after.checked_sub(1).map(|i| table[i]), table.get(after)) {
            (None, _) => table[0].1,
            (Some((_, last)), None) => last,
            (Some((t0, a)), Some(&(t1, b))) => a + (b - a) * (celsius - t0) / (t1 - t0),
        }
    }
}

/// What a board is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoardStuff {
    /// Modulus of elasticity in bending, across its weaker way, MPa.
    pub modulus: f64,
    /// Bending stress that it breaks at, MPa.
    pub strength: f64,
    /// Pressure of a dowel's end that dents it, MPa.
    pub dent: f64,
    /// Shear stress at which a dowel is punched through, MPa.
    pub shear: f64,
    /// How much further it bends by and by, damp from the cake: times.
    pub creep: f64,
}

/// What a dowel is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DowelStuff {
    /// Modulus of elasticity along it, MPa.
    pub modulus: f64,
    /// Stress that crushes it, MPa.
    pub strength: f64,
    /// Stress that it breaks at in bending, MPa.
    pub bending: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Thickness of the wall where the cake file does not say, mm; `None` if it is solid.
    pub wall: Option<f64>,
    /// What of stiffness and strength is left under a load that stays: share.
    pub lasting: f64,
}

impl Material {
    /// How it bears a load; `None` where nothing is known.
    pub fn mechanics(&self) -> Option<Mechanics> {
        match self.kind {
            MaterialKind::Sponge | MaterialKind::Firm | MaterialKind::Dummy => {
                crumb(self.like, self.density).map(Mechanics::Crumb)
            }
            MaterialKind::Filling | MaterialKind::Coating | MaterialKind::Paste => {
                soft(self.like).map(Mechanics::Soft)
            }
            MaterialKind::Board => board(self.like).map(Mechanics::Board),
            MaterialKind::Dowel => dowel(self.like).map(Mechanics::Dowel),
        }
    }

    /// How it squashes, if it is a crumb.
    pub fn crumb(&self) -> Option<Crumb> {
        match self.mechanics() {
            Some(Mechanics::Crumb(crumb)) => Some(crumb),
            _ => None,
        }
    }

    /// How it slips, if it is a spread.
    pub fn soft(&self) -> Option<Soft> {
        match self.mechanics() {
            Some(Mechanics::Soft(soft)) => Some(soft),
            _ => None,
        }
    }

    /// How it bends, if it is a board's.
    pub fn board_stuff(&self) -> Option<BoardStuff> {
        match self.mechanics() {
            Some(Mechanics::Board(board)) => Some(board),
            _ => None,
        }
    }

    /// How it stands, if it is a dowel's.
    pub fn dowel_stuff(&self) -> Option<DowelStuff> {
        match self.mechanics() {
            Some(Mechanics::Dowel(dowel)) => Some(dowel),
            _ => None,
        }
    }
}

/// Density of the sponge whose figures these are, g/mL.
const SPONGE_DENSITY: f64 = 0.415;

fn crumb(like: &str, density: f64) -> Option<Crumb> {
    match like {
        // Modulus at once: the lower end of what tasters like best (20 to 30 kPa, J-STAGE shukulib 23); by and by
        // half of that, the upper end of 10⁴ to 10⁵ dyn/cm² from creep tests (J. Home Econ. Japan 38(12) 1063,
        // 1987). Collapse: no
        // published figure found; 1 to 5 kPa is a guess, of which the lower part is taken. Both grow with the
        // square of the density, as foams' do (Gibson and Ashby, Cellular Solids, from memory).
        "sponge" | "chocolate sponge" | "red sponge" | "pound cake" | "mud cake" | "fruit cake" => {
            let denser = real::powi(density / SPONGE_DENSITY, 2);
            Some(Crumb { modulus: 20.0 * denser, collapse: 2.0 * denser, creep: 2.0 })
        }
        // Common practice, no source: pressed firmly, it bears a cake.
        "cereal treat" => Some(Crumb { modulus: 150.0, collapse: 20.0, creep: 2.0 }),
        // Common practice, no source: firm when cool, flows slowly when warm.
        "modelling chocolate" => Some(Crumb { modulus: 500.0, collapse: 30.0, creep: 3.0 }),
        // Expanded polystyrene of class EPS 100: 100 kPa at a tenth of squash (EN 13163, from memory).
        "foam dummy" => Some(Crumb { modulus: 5000.0, collapse: 100.0, creep: 1.3 }),
        _ => None,
    }
}

/// Strengths are common practice, no source: whipped fats well below the 10 to 80 kPa that spreadable fats
/// bear in a penetrometer (Haighton 1959, from memory), jams and creams like the tens to a hundred pascals of
/// sauces and spreads (Steffe, Rheological Methods in Food Process Engineering, from memory).
fn soft(like: &str) -> Option<Soft> {
    use Warming::{Butter, DarkChocolate, Sugar, WhiteChocolate};
    let soft = |slip, warming, always_slides| Some(Soft { slip, warming, always_slides });
    match like {
        "buttercream" | "crumb coat" => soft(1000.0, Butter, false),
        "cream cheese" => soft(300.0, Butter, false),
        "jam" | "fruit curd" => soft(50.0, Sugar, true),
        "whipped cream" => soft(50.0, Butter, true),
        "mousse" => soft(100.0, Butter, true),
        "ganache" => soft(3000.0, DarkChocolate, false),
        "milk ganache" | "white ganache" => soft(2000.0, WhiteChocolate, false),
        "rolled icing" | "sugar paste" | "marzipan" | "royal icing" => soft(5000.0, Sugar, false),
        "gum paste" => soft(10_000.0, Sugar, false),
        "modelling chocolate" => soft(10_000.0, DarkChocolate, false),
        _ => None,
    }
}

/// Common practice, no source, unless it says so; damp boards are weaker than dry ones, and these are meant to be.
fn board(like: &str) -> Option<BoardStuff> {
    match like {
        // Solid grey board; paper boards are stiffer dry (2 to 5 GPa).
        "card board" => {
            Some(BoardStuff { modulus: 1000.0, strength: 5.0, dent: 1.5, shear: 1.0, creep: 2.0 })
        }
        // Fluted or foam-cored; all over it is crushed at 0.15 to 0.3 MPa (flat crush of corrugated board, ISO 3035
        // tests, from memory), under a small end the face spreads the load.
        "drum board" => Some(BoardStuff { modulus: 150.0, strength: 1.0, dent: 0.7, shear: 0.2, creep: 2.0 }),
        // Across the grain of the face; softwoods bear 2.5 MPa across the grain (EN 338, from memory).
        "plywood board" => {
            Some(BoardStuff { modulus: 3000.0, strength: 15.0, dent: 2.5, shear: 2.0, creep: 1.5 })
        }
        // Standard hardboard: 2 to 4 GPa and 30 MPa dry, a third of it when damp (EN 622-2, from memory).
        "hardboard" => {
            Some(BoardStuff { modulus: 1500.0, strength: 10.0, dent: 2.5, shear: 1.5, creep: 2.5 })
        }
        "foam-core board" => {
            Some(BoardStuff { modulus: 100.0, strength: 0.7, dent: 0.2, shear: 0.15, creep: 2.5 })
        }
        // Acrylic glass: 3 GPa, 70 MPa in a short test; a fifth of it for lasting loads (ISO 7823, from memory).
        "acrylic board" => {
            Some(BoardStuff { modulus: 2800.0, strength: 14.0, dent: 20.0, shear: 8.0, creep: 1.5 })
        }
        _ => None,
    }
}

fn dowel(like: &str) -> Option<DowelStuff> {
    match like {
        // Basswood, the weakest of the dowel woods in the Wood Handbook's strength table: 1.46 Mpsi and 4730 psi.
        // Bending: 8700 psi (Wood Handbook, from memory). Lasting load: six tenths, as timber codes have it (from
        // memory).
        "wooden dowel" => Some(DowelStuff {
            modulus: 10_070.0,
            strength: 32.6,
            bending: 60.0,
            poisson: 0.3,
            wall: None,
            lasting: 0.6,
        }),
        // Polypropylene 1.14 to 1.55 GPa, yields at 31 to 37 MPa (Callister, Materials Science and Engineering,
        // appendix B, from memory). Plastics under a lasting load: four tenths. Wall: common practice, no source.
        "plastic dowel" => Some(DowelStuff { wall: Some(1.0), ..POLYPROPYLENE }),
        "bubble tea straw" => Some(DowelStuff { wall: Some(0.2), ..POLYPROPYLENE }),
        // 5 to 20 GPa from the inner to the outer wall, 45 to 90 MPa (Dixon and Gibson 2014, J. R. Soc. Interface
        // 11:20140321; figures from memory).
        "bamboo skewer" => Some(DowelStuff {
            modulus: 5000.0,
            strength: 45.0,
            bending: 80.0,
            poisson: 0.3,
            wall: None,
            lasting: 0.6,
        }),
        _ => None,
    }
}

const POLYPROPYLENE: DowelStuff =
    DowelStuff { modulus: 1140.0, strength: 31.0, bending: 31.0, poisson: 0.4, wall: None, lasting: 0.4 };

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::material::{built_in, built_in_names};

    /// Never a silent pass: whatever can be named in a cake file can be checked.
    #[test]
    fn every_built_in_material_bears_a_known_load() {
        for name in built_in_names() {
            assert!(built_in(name).unwrap().mechanics().is_some(), "{name}");
        }
    }

    #[test]
    fn spreads_weaken_as_they_warm() {
        for warming in [Warming::Butter, Warming::DarkChocolate, Warming::WhiteChocolate, Warming::Sugar] {
            let shares: Vec<f64> = (0..70).map(|t| warming.share(f64::from(t))).collect();
            assert!(shares.windows(2).all(|pair| pair[0] >= pair[1]), "{warming:?} {shares:?}");
            assert!((warming.share(20.0) - 1.0).abs() < 1e-12);
            // Straight between the rows of the table.
            let (t0, a) = warming.table()[1];
            let (t1, b) = warming.table()[2];
            assert!((warming.share((t0 + t1) / 2.0) - (a + b) / 2.0).abs() < 1e-12);
        }
        // Butter is a thin liquid from 32 to 35 °C.
        assert!(Warming::Butter.share(35.0) == 0.0);
    }
}
