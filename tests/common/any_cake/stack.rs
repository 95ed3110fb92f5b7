//! Coats, layers, boards and dowels.

use std::collections::BTreeMap;

use cakefile::schema::{
    Angle, Board, BoardIcing, CentreDowel, Covering, Dome, Dowels, Filling, IcingWay, Layer, Material, Pan,
    Piece, Ribbon, Shape, Size, Tier, Zone, ZoneOutline,
};
use geom::units::Unit;

use super::{Tape, finishes::any_finishes, outlines, shapes::Bulk};

const COATS: [&str; 6] =
    ["rolled icing", "ganache", "buttercream", "marzipan", "white ganache", "crumb coat"];
const WAYS: [IcingWay; 4] = [IcingWay::Draped, IcingWay::DiscAndWrap, IcingWay::Panels, IcingWay::Bands];
const FILLINGS: [&str; 5] = ["buttercream", "jam", "ganache", "mousse", "cream cheese"];
const SLABS: [&str; 5] = ["sponge", "mud cake", "cereal treat", "foam dummy", "my own"];
const DOWELS: [&str; 4] = ["wooden dowel", "plastic dowel", "bubble tea straw", "bamboo skewer"];

/// A material of the maker's own, which slabs may be made of.
pub fn any_materials(t: &mut Tape) -> BTreeMap<String, Material> {
    let own = Material {
        like: Some("sponge".into()),
        density: t.maybe(2, |t| t.share(0.2, 1.2)),
        colour: t.maybe(2, Tape::colour),
    };
    BTreeMap::from([("my own".to_owned(), own)])
}

/// Coats from the outside in.
pub fn any_coverings(t: &mut Tape, shape: &Shape, size: &Bulk) -> Vec<Covering> {
    t.list(0, 3, |t| Covering {
        zones: if t.chance(4) { any_zones(t, shape, size) } else { Vec::new() },
        material: (*t.pick(&COATS)).to_owned(),
        thickness: t.size(0.5, 9.0),
        colour: t.maybe(3, Tape::colour),
        way: t.maybe(3, |t| *t.pick(&WAYS)),
        seam: t.maybe(4, Tape::angle),
        finish: any_finishes(t, size),
    })
}

/// Up to three zones, which may overlap, miss the cake or hide each other.
fn any_zones(t: &mut Tape, shape: &Shape, size: &Bulk) -> Vec<Zone> {
    let turned = shape.turned.is_some();
    let count = t.count(1, 3);
    (0..count)
        .map(|i| {
            let mut zone =
                Zone { name: format!("zone {i}"), colour: t.maybe(2, Tape::colour), ..Zone::default() };
            match t.below(if turned { 4 } else { 2 }) {
                2 => zone.top = Some(true),
                3 => zone.side = Some(true),
                1 => {
                    let outline = outlines::detail(t, 5.0, 30.0);
                    zone.outline = Some(ZoneOutline {
                        shape: outline,
                        height: Some(t.length(0.1 * size.height, 0.9 * size.height)),
                        top: None,
                        bearing: t.maybe(2, Tape::angle),
                        turn: None,
                        wrap: t.maybe(2, |t| t.chance(2)),
                    });
                }
                _ => {
                    let low = t.number(-0.1, 0.9) * size.height;
                    let high = low + t.number(0.05, 0.8) * size.height;
                    zone.between = Some([t.length_of(low), t.length_of(high)]);
                }
            }
            zone.finish = any_finishes(t, size);
            zone
        })
        .collect()
}

/// The board that it all stands on.
pub fn presentation_board(t: &mut Tape, size: &Bulk) -> Board {
    let wide = 2.0 * size.reach + t.number(20.0, 120.0);
    let bare = board(t, wide, false);
    let icing = t.maybe(3, |t| BoardIcing {
        material: t.maybe(3, |t| (*t.pick(&["rolled icing", "marzipan"])).to_owned()),
        colour: t.maybe(2, Tape::colour),
        thickness: t.maybe(2, |t| t.size(1.0, 8.0)),
    });
    let ribbon =
        t.maybe(3, |t| Ribbon { width: t.maybe(2, |t| t.size(3.0, 40.0)), colour: t.maybe(2, Tape::colour) });
    Board { icing, ribbon, ..bare }
}

/// A board of about this width, mm.
fn board(t: &mut Tape, wide: f64, is_between: bool) -> Board {
    let (mut round, mut square, mut rectangle) = (None, None, None);
    match t.below(3) {
        0 => round = Some(t.size_of(wide)),
        1 => square = Some(t.size_of(wide)),
        _ => rectangle = Some([t.size_of(wide), t.size_of(0.8 * wide)]),
    }
    Board {
        round,
        square,
        rectangle,
        thickness: t.size(2.0, 12.0),
        hole: if is_between { t.maybe(3, |t| t.size(8.0, 20.0)) } else { None },
        material: t.maybe(2, |t| (*t.pick(&["card board", "drum board", "plywood board"])).to_owned()),
        offset: if is_between {
            t.maybe(5, |t| [t.length(-15.0, 15.0), t.length(-15.0, 15.0)])
        } else {
            None
        },
        turn: if is_between { t.maybe(5, Tape::angle) } else { None },
        icing: None,
        ribbon: None,
    }
}

fn filling(t: &mut Tape) -> Filling {
    Filling { material: (*t.pick(&FILLINGS)).to_owned(), thickness: t.size(1.0, 9.0) }
}

/// One to three tiers that reach about as high as the shape.
pub fn any_tiers(t: &mut Tape, size: &Bulk) -> Vec<Tier> {
    let count = t.count(1, 3);
    let each = size.height / count as f64;
    let (mut names, mut layers) = (Vec::new(), Vec::new());
    (0..count)
        .map(|i| {
            let name = t.other_name(&names);
            names.push(name.clone());
            Tier {
                name,
                board: if i == 0 && !t.chance(6) {
                    None
                } else {
                    let wide = t.number(60.0, 1.6 * size.reach);
                    Some(board(t, wide, true))
                },
                dowels: t.maybe(2, |t| dowels(t, size)),
                filling: t.maybe(2, filling),
                layers: any_layers(t, size, each, &mut layers),
            }
        })
        .collect()
}

fn any_layers(t: &mut Tape, size: &Bulk, high: f64, names: &mut Vec<String>) -> Vec<Layer> {
    let count = t.count(1, 4);
    (0..count)
        .map(|_| {
            let name = t.maybe(5, |t| t.other_name(names));
            names.extend(name.clone());
            let height = (high / count as f64 * t.share(0.7, 1.3)).max(8.0);
            let pan = any_pan(t, size, height);
            let pieces = any_pieces(t, &pan);
            Layer {
                name,
                pan,
                height: t.size_of(height),
                pieces,
                material: t.maybe(3, |t| (*t.pick(&SLABS)).to_owned()),
                offset: t.maybe(4, |t| [t.length(-40.0, 40.0), t.length(-40.0, 40.0)]),
                turn: t.maybe(4, Tape::angle),
                bottom: None,
                filling: t.maybe(5, filling),
            }
        })
        .collect()
}

/// Pieces of a sheet cake out of `pan`, if it is one: columns beside each other, each of one or two pieces, some of them
/// laid crosswise.
fn any_pieces(t: &mut Tape, pan: &Pan) -> Vec<Piece> {
    let unit = t.unit;
    let mm = |size: &Size| size.to_mm(unit).expect("a size of the generator");
    let sides = match (&pan.square, &pan.rectangle) {
        (Some(side), _) => [mm(side); 2],
        (_, Some([width, depth])) => [mm(width), mm(depth)],
        _ => return Vec::new(),
    };
    if !t.chance(3) {
        return Vec::new();
    }
    let least = sides[0].min(sides[1]);
    let columns = t.count(1, 3);
    let mut pieces = Vec::new();
    let mut x = -least * t.share(0.2, 0.8);
    for _ in 0..columns {
        let wide = least * t.share(0.15, 0.95);
        let mut y = -least * t.share(0.2, 0.8);
        for _ in 0..t.count(1, 2) {
            let deep = least * t.share(0.15, 0.95);
            let at = Some([t.length_of(x + wide / 2.0), t.length_of(y + deep / 2.0)]);
            let crosswise = t.chance(3);
            let size = if crosswise {
                [t.size_of(deep), t.size_of(wide)]
            } else {
                [t.size_of(wide), t.size_of(deep)]
            };
            let turn = crosswise.then(|| Angle::from(90.0));
            let own = t.maybe(4, |t| Pan {
                rectangle: Some([t.size_of(least), t.size_of(least)]),
                ..Pan::default()
            });
            pieces.push(Piece { size, at, turn, pan: own });
            y += deep;
        }
        x += wide;
    }
    pieces
}

fn any_pan(t: &mut Tape, size: &Bulk, height: f64) -> Pan {
    let mut pan = Pan { round: None, square: None, rectangle: None, half_ball: None, dome: None };
    let (lo, hi) = (0.8 * size.reach, 2.6 * size.reach);
    match t.below(5) {
        1 => pan.square = Some(t.size(lo, hi)),
        2 => pan.rectangle = Some([t.size(lo, hi), t.size(lo, hi)]),
        3 => {
            // As a whole half-ball, or cut lower.
            let whole = t.chance(3);
            pan.half_ball = Some(if whole {
                t.size_of(2.0 * height)
            } else {
                t.size(2.0 * height + 1.0, 2.0 * height + 150.0)
            });
            pan.dome = t.maybe(2, |t| *t.pick(&[Dome::Up, Dome::Down]));
        }
        _ => pan.round = Some(t.size(lo, hi)),
    }
    pan
}

fn dowels(t: &mut Tape, size: &Bulk) -> Dowels {
    let thick = t.number(3.0, 14.0);
    let at = t.maybe(3, |t| {
        t.list(1, 6, |t| {
            [t.length(-0.5 * size.reach, 0.5 * size.reach), t.length(-0.5 * size.reach, 0.5 * size.reach)]
        })
    });
    let material = t.maybe(2, |t| (*t.pick(&DOWELS)).to_owned());
    let is_tube = material.as_deref().is_some_and(|of| of == "plastic dowel" || of == "bubble tea straw");
    Dowels {
        count: at.is_none().then(|| t.count(1, 8) as u32),
        diameter: t.size_of(thick),
        circle: at.is_none().then(|| t.size(20.0, 1.2 * size.reach)),
        turn: if at.is_none() { t.maybe(3, Tape::angle) } else { None },
        at,
        wall: if is_tube { t.maybe(2, |t| t.size(0.1, 0.3 * thick)) } else { None },
        material,
        length: t.maybe(5, |t| t.size(10.0, 120.0)),
    }
}

/// A dowel through the middle.
pub fn any_centre_dowel(t: &mut Tape, height: f64) -> CentreDowel {
    CentreDowel {
        diameter: t.size(4.0, 12.0),
        height: t.size(0.3 * height, height),
        material: t.maybe(3, |t| (*t.pick(&DOWELS[..2])).to_owned()),
        wall: None,
        fast: t.maybe(3, |t| t.chance(2)),
    }
}

/// How high the layers reach, mm, without what lies between them.
pub fn height(tiers: &[Tier]) -> f64 {
    // Bare numbers are in the file's unit, which is not known here: text is what counts.
    let of = |layer: &Layer| layer.height.to_mm(Unit::Millimetre).unwrap_or(20.0).max(8.0);
    tiers.iter().flat_map(|tier| &tier.layers).map(of).sum()
}
