//! A covering with zones: each part of it is laid by itself, what no zone takes first.
//!
//! On a turned shape a part is a stretch of the meridian and is laid as a shape of its own would be. On any other, a part
//! between two heights is a strip round its mean girth, or a sheet over the top; both are estimates.

use geom::{Cancel, Cancelled, Region, TriMesh, chain, develop::Meridian};
use glam::DVec3;

use super::{Covers, Icing, Laid, Piece, Sheet, limits::TOO_MUCH, turned};
use crate::{
    design::{Covering, Design, IcingWay, ZonePlace},
    lines::Lines,
    zones::{CoatZones, Owner, Stretch, chains, stretches},
};

/// How the parts of covering `index` are laid.
pub(super) fn icing(
    design: &Design,
    lines: &Lines,
    index: usize,
    zones: &CoatZones,
    cancel: &Cancel,
) -> Result<Vec<Icing>, Cancelled> {
    let covering = &design.coverings[index];
    let outside = &lines.all()[index];
    let middle = lines.inset(outside.depth + covering.thickness / 2.0, design.tool, cancel)?.section;
    let part = |zone: Owner| {
        let place = zone.map(|zone| &covering.zones[zone].place);
        let (laid, estimated) = match (place, &outside.solid) {
            (Some(ZonePlace::Outline(relief)), _) => (within(&relief.outline, relief.height), false),
            (_, None) => (on_meridian(design, covering, (&outside.section, &middle), zone), false),
            (_, Some(mesh)) => (on_heights(mesh, zones, zone), true),
        };
        let Laid { way, pieces, refused, tuck } = laid;
        Icing { covering: index, zone, share: zones.share(zone), way, refused, estimated, pieces, tuck }
    };
    Ok(zones.present().map(|present| part(present.zone)).filter(|icing| !icing.pieces.is_empty()).collect())
}

/// A piece that is cut by its outline.
fn within(outline: &Region, height: f64) -> Laid {
    let piece = Piece::flat(Covers::Outline, Sheet::Outline(outline.clone()), (height, height));
    Laid { way: IcingWay::Panels, pieces: vec![piece], refused: None, tuck: None }
}

/// What a zone takes of the meridian through the middle of the covering.
fn on_meridian(
    design: &Design,
    covering: &Covering,
    (outer, middle): (&Region, &Region),
    zone: Owner,
) -> Laid {
    // The edge of the top lies as far along the middle as it does outside.
    let edge = chains(outer).iter().find_map(|line| {
        let at = chain::top_begins(line);
        chain::stretch(line, at, chain::length(line)).first().copied()
    });
    let own = |line: &Vec<glam::DVec2>| -> Vec<Meridian> {
        let edge = edge.map(|edge| chain::nearest(line, edge));
        let all = stretches(covering, line, edge);
        let own = all.iter().filter(|stretch| stretch.zone == zone);
        own.filter_map(|stretch| Meridian::new(&chain::stretch(line, stretch.from, stretch.to))).collect()
    };
    let meridians: Vec<Meridian> = chains(middle).iter().flat_map(own).collect();
    turned::flat_top(&meridians).unwrap_or_else(|| {
        turned::of_meridians(&meridians, covering.way, design.paper.pattern_error, TOO_MUCH)
    })
}

/// What a zone takes between heights of a shape that is not turned.
fn on_heights(mesh: &TriMesh, zones: &CoatZones, zone: Owner) -> Laid {
    let top = mesh.bounds().map_or(0.0, |(_, hi)| hi.z);
    let own: Vec<&Stretch> =
        zones.stretches.iter().flatten().filter(|stretch| stretch.zone == zone).collect();
    let pieces = own.into_iter().filter_map(|stretch| {
        let (mut area, mut low, mut high) = (0.0, DVec3::INFINITY, DVec3::NEG_INFINITY);
        mesh.each_between(stretch.from, stretch.to, |_, piece| {
            let [a, b, c] = piece;
            area += (b - a).cross(c - a).length() / 2.0;
            for p in piece {
                (low, high) = (low.min(p), high.max(p));
            }
        });
        let height = stretch.to - stretch.from;
        if area <= 0.0 || height <= 0.0 {
            return None;
        }
        let heights = (stretch.from, stretch.to);
        Some(if stretch.to >= top - 1e-6 {
            // Over the top and down on both sides.
            let sheet = Sheet::Rectangle {
                across: high.x - low.x + 2.0 * height,
                along: high.y - low.y + 2.0 * height,
            };
            Piece::flat(Covers::Cap, sheet, heights)
        } else {
            Piece::flat(Covers::Band, Sheet::Strip { length: area / height, height }, heights)
        })
    });
    Laid { way: IcingWay::Bands, pieces: pieces.collect(), refused: None, tuck: None }
}
