//! A turned shape: by the girth at each arc length of its meridian.

use cakefile::schema::IcingWay;
use geom::{
    Region,
    develop::{Limits, Meridian, Part, PartForm, divide},
};

use super::{
    Covers, Laid, Piece, Refused, Tuck,
    limits::{self, FLAT, TOO_MUCH, TUCKED, TUCKED_BELOW, UPPER},
};

/// Sheets narrower than this are smoothed over with a fingertip, mm.
const NARROWEST: f64 = 3.0;

/// A disc that gathers by a smaller share lies flat, and is cut by its pattern.
const LIES_FLAT: f64 = 0.03;

/// A sheet is tucked in by less all over, mm.
const FELT: f64 = 1.0;

/// How a covering whose middle has this half section is laid.
pub(super) fn laid(section: &Region, asked: Option<IcingWay>, ease: Option<f64>) -> Laid {
    of_meridians(&meridians(section), asked, ease, TOO_MUCH)
}

/// What of a half section is covered, from the foot up: its outlines without the foot and the axis.
fn meridians(section: &Region) -> Vec<Meridian> {
    let sides =
        section.filled().lines_without(|a, b| (a.y == 0.0 && b.y == 0.0) || (a.x == 0.0 && b.x == 0.0));
    sides.iter().filter_map(|side| Meridian::new(side)).collect()
}

/// How a turned surface with these meridians is laid: draped if it gathers by no more than `most`.
pub(super) fn of_meridians(all: &[Meridian], asked: Option<IcingWay>, ease: Option<f64>, most: f64) -> Laid {
    let refused = match asked {
        None => None,
        Some(way) => match as_asked(all, way, ease) {
            Ok(laid) => return laid,
            Err(refused) => Some(refused),
        },
    };
    let draped = draped(all).ok().filter(|(part, _)| part.most_gathered().is_none_or(|s| -s.share <= most));
    if let Some(draped) = draped {
        return Laid { refused, ..whole(draped) };
    }
    if let Some(pieces) = top_and_side(all) {
        return Laid { way: IcingWay::DiscAndWrap, pieces, refused, tuck: None };
    }
    Laid { way: IcingWay::Bands, pieces: bands(all, &limits::bands(ease, false)), refused, tuck: None }
}

fn as_asked(all: &[Meridian], way: IcingWay, ease: Option<f64>) -> Result<Laid, Refused> {
    let laid = |pieces| Laid { way, pieces, refused: None, tuck: None };
    match way {
        IcingWay::Draped => draped(all).map(whole),
        IcingWay::DiscAndWrap => top_and_side(all).map(laid).ok_or(Refused::SideCurved),
        IcingWay::Panels => Err(Refused::NoPanels),
        IcingWay::Bands => Ok(laid(bands(all, &limits::bands(ease, true)))),
    }
}

/// A disc that lies flat on a top with nothing below it, cut by its pattern; `None` where it would hang down.
pub(super) fn flat_top(all: &[Meridian]) -> Option<Laid> {
    let [meridian] = all else { return None };
    if !meridian.ends_on_axis() || !meridian.ledges().is_empty() {
        return None;
    }
    let top = meridian.disc(0)?;
    let flat = top.strains.iter().all(|strain| strain.share.abs() < LIES_FLAT);
    flat.then(|| Laid {
        way: IcingWay::DiscAndWrap,
        pieces: vec![Piece::of(top, Covers::Top)],
        refused: None,
        tuck: None,
    })
}

fn whole((part, tuck): (Part, Option<Tuck>)) -> Laid {
    Laid { way: IcingWay::Draped, pieces: vec![Piece::of(part, Covers::Whole)], refused: None, tuck }
}

/// All under one round sheet, and where it is tucked in.
fn draped(all: &[Meridian]) -> Result<(Part, Option<Tuck>), Refused> {
    let [meridian] = all else { return Err(Refused::NoTop) };
    if !meridian.ends_on_axis() {
        return Err(Refused::NoTop);
    }
    if let Some(&ledge) = meridian.ledges().last() {
        return Err(Refused::Ledge { height: meridian.at(ledge).y });
    }
    let (share, place) = meridian.undercut(0);
    let at = meridian.at(place);
    // The radius is the widest less this share of it.
    let by = at.x * share / (1.0 - share).max(TUCKED);
    let widest = meridian.at(meridian.widest()).y;
    let top = meridian.at(meridian.last()).y;
    let limit = if widest > UPPER * top { TUCKED } else { TUCKED_BELOW };
    if share > limit {
        return Err(Refused::Undercut { by, height: at.y });
    }
    let tuck = (by > FELT).then_some(Tuck { by, height: at.y, bearing: None });
    meridian.disc(0).map(|part| (part, tuck)).ok_or(Refused::NoTop)
}

/// A top that lies flat and a side that is wrapped round, the top first: where the two cost least. A cone has no top.
fn top_and_side(all: &[Meridian]) -> Option<Vec<Piece>> {
    let [meridian] = all else { return None };
    if !meridian.ends_on_axis() || !meridian.ledges().is_empty() {
        return None;
    }
    let last = meridian.last();
    if let Some((side, _)) = meridian.wrapped((0, last), &FLAT)
        && side.strains.iter().all(|strain| strain.share.abs() < LIES_FLAT)
    {
        return Some(vec![Piece::of(side, Covers::Side)]);
    }
    let split = |k: usize| {
        let (top, top_cost) = meridian.draped(k, &FLAT)?;
        let (side, side_cost) = meridian.wrapped((0, k), &FLAT)?;
        // That the seam lies on the edge of the top counts most.
        Some((top_cost + side_cost + 2.0 * meridian.seam_cost(k), top, side))
    };
    let (_, top, side) = (1..last).filter_map(split).min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(vec![Piece::of(top, Covers::Top), Piece::of(side, Covers::Side)])
}

/// Sheets one above the other, from the board up.
fn bands(all: &[Meridian], limits: &Limits) -> Vec<Piece> {
    let parts = all.iter().flat_map(|meridian| divide(meridian, limits));
    parts
        .filter(|part| part.flat.slant >= NARROWEST)
        .map(|part| {
            let flat = part.most_gathered().is_none_or(|strain| -strain.share <= LIES_FLAT);
            let covers = match part.form {
                PartForm::Disc if flat => Covers::Top,
                PartForm::Disc => Covers::Cap,
                PartForm::Band | PartForm::Strip => Covers::Band,
            };
            Piece::of(part, covers)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use glam::{DVec2, dvec2};

    use super::*;
    use crate::icing::Sheet;

    fn way(profile: &[(f64, f64)], asked: Option<IcingWay>) -> Laid {
        let points: Vec<DVec2> = profile.iter().map(|&(r, z)| dvec2(r, z)).collect();
        of_meridians(&[Meridian::new(&points).unwrap()], asked, None, TOO_MUCH)
    }

    fn dome(radius: f64, foot: f64) -> Vec<(f64, f64)> {
        let start = (foot / radius).acos();
        (0..=200)
            .map(|i| {
                let angle = -start + (start + std::f64::consts::FRAC_PI_2) * f64::from(i) / 200.0;
                let radius_here = if i == 200 { 0.0 } else { radius * angle.cos() };
                (radius_here, radius * (angle.sin() + start.sin()))
            })
            .collect()
    }

    #[test]
    fn each_shape_is_laid_as_the_trade_does() {
        let drum = |r: f64, h: f64| vec![(r, 0.0), (r, h), (0.0, h)];
        for (profile, expected, sheets) in [
            // 8 in across and 4 in high; a double barrel, 8 in across and high; half a ball; a ball on a wide foot.
            (drum(101.6, 101.6), IcingWay::Draped, 1),
            (drum(101.6, 203.2), IcingWay::DiscAndWrap, 2),
            (dome(100.0, 100.0), IcingWay::Draped, 1),
            (dome(100.0, 90.0), IcingWay::Draped, 1),
            // A cone too tall to be draped is one sheet round; a flower pot without rim; a step.
            (vec![(60.0, 0.0), (0.0, 300.0)], IcingWay::DiscAndWrap, 1),
            (vec![(70.0, 0.0), (100.0, 130.0), (0.0, 130.0)], IcingWay::DiscAndWrap, 2),
            (
                vec![(100.0, 0.0), (100.0, 80.0), (60.0, 80.0), (60.0, 160.0), (0.0, 160.0)],
                IcingWay::Bands,
                3,
            ),
        ] {
            let laid = way(&profile, None);
            assert_eq!((laid.way, laid.pieces.len()), (expected, sheets), "{profile:?}");
        }
    }

    /// A drum of radius 80 and height 90: the sheet reaches 80 over the top and 90 down the side, so its rim, 2π · 170
    /// round, gathers to 2π · 80 at the foot.
    #[test]
    fn a_drum_gathers_at_its_foot() {
        let laid = way(&[(80.0, 0.0), (80.0, 90.0), (0.0, 90.0)], None);
        let piece = &laid.pieces[0];
        assert_eq!(piece.sheet, Sheet::Round { diameter: 340.0 });
        let worst = piece.most_gathered().unwrap();
        assert!((worst.share - (80.0 / 170.0 - 1.0)).abs() < 1e-12 && worst.at.y == 0.0);
        assert!(piece.most_stretched().is_none());
    }

    #[test]
    fn what_cannot_be_is_refused_and_something_else_is_done() {
        let cup = [(60.0, 0.0), (100.0, 120.0), (0.0, 120.0)];
        let laid = way(&cup, Some(IcingWay::Draped));
        assert_eq!(laid.refused, Some(Refused::Undercut { by: 40.0, height: 0.0 }));
        assert_eq!(laid.way, IcingWay::DiscAndWrap);
        let step = [(100.0, 0.0), (100.0, 80.0), (60.0, 80.0), (60.0, 160.0), (0.0, 160.0)];
        assert_eq!(way(&step, Some(IcingWay::Draped)).refused, Some(Refused::Ledge { height: 80.0 }));
        assert_eq!(way(&cup, Some(IcingWay::Panels)).refused, Some(Refused::NoPanels));
        assert_eq!(way(&step, Some(IcingWay::DiscAndWrap)).refused, Some(Refused::SideCurved));
        // A drum as tall as asked is draped, if with many pleats.
        let tall = [(50.0, 0.0), (50.0, 300.0), (0.0, 300.0)];
        let draped = way(&tall, Some(IcingWay::Draped));
        assert!(draped.refused.is_none() && draped.way == IcingWay::Draped);
    }

    #[test]
    fn a_dome_in_bands_has_few() {
        let laid = way(&dome(100.0, 100.0), Some(IcingWay::Bands));
        assert!(laid.refused.is_none());
        assert!((2..=3).contains(&laid.pieces.len()), "{:#?}", laid.pieces.len());
    }
}
