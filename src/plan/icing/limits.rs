//! How far rolled icing bears to be stretched and gathered. All shares are common practice, no source.

use geom::develop::Limits;

/// Stretched by a smaller share it does not thin so that it shows.
pub const STRETCHES: f64 = 0.05;
/// Stretched by more it tears.
pub const TEARS: f64 = 0.10;
/// Gathered by a smaller share it is rubbed smooth under the palm.
pub const EASES: f64 = 0.15;
/// Gathered by more it falls into pleats unless it is lifted and eased all round, again and again.
pub const PLEATS: f64 = 0.40;
/// What gathers by more is not draped: it is wrapped.
pub const TOO_MUCH: f64 = 0.65;

/// The most that the edges of a strip gather that is wrapped round a bulge: they lie in the grooves beside it.
const EDGES: f64 = 0.35;

/// How far in below something wider a draped sheet is tucked, as a share of the widest radius, where that lies in the
/// upper part of the shape, as the rim of a pot; and where it lies lower, as of an egg or a stone.
pub(super) const TUCKED: f64 = 0.15;
pub(super) const TUCKED_BELOW: f64 = 0.30;
/// The upper part begins at this share of the height.
pub(super) const UPPER: f64 = 2.0 / 3.0;

/// The same of a shape that is not turned: what is too much is brought together in a fold and cut off.
pub(super) const TOO_MUCH_FREE: f64 = 0.75;

/// How far the surface under the uppermost of several sheets goes in below something wider, as a share.
const TUCKED_ABOVE: f64 = 0.08;

/// What becomes of a sheet that is strained.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// It lies smooth, or is rubbed smooth.
    Smooth,
    /// It has to be lifted and eased all round.
    Eased,
    /// It falls into pleats.
    Pleated,
    /// It thins.
    Thinned,
    /// It tears.
    Torn,
}

impl Outcome {
    /// What becomes of a sheet that stretches by `share`, or gathers by it where it is below 0.
    pub fn of(share: f64) -> Self {
        match share {
            s if s > TEARS => Self::Torn,
            s if s > STRETCHES => Self::Thinned,
            s if s < -PLEATS => Self::Pleated,
            s if s < -EASES => Self::Eased,
            _ => Self::Smooth,
        }
    }
}

/// Limits of a shape that is laid in bands; `ease` is the most that the maker allows, mm.
pub(super) fn bands(ease: Option<f64>, asked: bool) -> Limits {
    Limits {
        stretch: TEARS,
        gather: EASES,
        edges: EDGES,
        // Whoever asks for bands wants no pleats.
        draped: if asked { EASES } else { TOO_MUCH },
        tucked: TUCKED_ABOVE,
        off: ease.unwrap_or(f64::INFINITY),
    }
}

/// Limits of a top that lies flat and a side that is wrapped round.
pub(super) const FLAT: Limits =
    Limits { stretch: TEARS, gather: EASES, edges: EASES, draped: EASES, tucked: TUCKED, off: f64::INFINITY };

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_is_judged_by_its_worst_place() {
        for (share, outcome) in [
            (0.0, Outcome::Smooth),
            (0.04, Outcome::Smooth),
            (0.07, Outcome::Thinned),
            (0.2, Outcome::Torn),
            (-0.1, Outcome::Smooth),
            (-0.3, Outcome::Eased),
            (-0.5, Outcome::Pleated),
        ] {
            assert_eq!(Outcome::of(share), outcome, "{share}");
        }
    }
}
