//! Cuts and adds with every tool.

use cakefile::schema::{
    BallTool, BarTool, Border, BoxTool, CylinderTool, Depth, Detail, HalfSpaceTool, OnSide, OutlineTool,
    Repeat, RingTool, RollAlong, RollTool, Shape, Side, Zone,
};

use super::{Tape, finishes::any_finishes, outlines, shapes::Bulk};

/// Up to six details on a cake with these zones.
pub fn any_details(t: &mut Tape, shape: &Shape, size: &Bulk, zones: &[Zone]) -> Vec<Detail> {
    let mut names = Vec::new();
    (0..t.below(7))
        .map(|_| {
            let name = t.other_name(&names);
            names.push(name.clone());
            any_trim(t, name, shape, size, zones)
        })
        .collect()
}

fn any_trim(t: &mut Tape, name: String, shape: &Shape, size: &Bulk, zones: &[Zone]) -> Detail {
    let mut depth = *t.pick(&[Depth::Sponge, Depth::Coating, Depth::Icing]);
    let mut detail = Detail {
        name,
        cut: None,
        add: None,
        material: None,
        colour: t.maybe(3, Tape::colour),
        cuboid: None,
        ball: None,
        cylinder: None,
        ring: None,
        bar: None,
        roll: None,
        half_space: None,
        outline: None,
        finish: any_finishes(t, size),
        repeat: None,
        mirror: t.maybe(6, |t| t.chance(2)),
    };
    let reach = 1.2 * size.reach;
    let tool = t.below(8);
    // A roll lies on the icing.
    if tool == 7 {
        depth = Depth::Icing;
    }
    // A plane only cuts, a roll is only added.
    if tool == 5 || (t.chance(2) && tool != 7) {
        detail.cut = Some(depth);
    } else {
        detail.add = Some(depth);
        detail.material = t.maybe(3, |t| {
            let of = match depth {
                Depth::Icing => ["sugar paste", "gum paste", "marzipan"],
                Depth::Coating => ["ganache", "buttercream", "white ganache"],
                Depth::Sponge => ["cereal treat", "sponge", "modelling chocolate"],
            };
            (*t.pick(&of)).to_owned()
        });
    }
    match tool {
        1 => {
            let centre = t.place(reach, size.height);
            let size = [0; 3].map(|_| t.size(4.0, 90.0));
            detail.cuboid = Some(BoxTool { centre: t.point(centre), size, turn: t.maybe(2, Tape::angle) });
        }
        2 => {
            let from = t.place(reach, size.height);
            let to = t.place(reach, size.height);
            // Ends that coincide are no cylinder.
            let to = if from == to { [to[0], to[1], to[2] + 10.0] } else { to };
            detail.cylinder = Some(CylinderTool {
                from: t.point(from),
                to: t.point(to),
                diameter: t.size(4.0, 70.0),
                end_diameter: t.maybe(3, |t| t.length(0.0, 60.0)),
            });
        }
        3 => {
            let centre = t.place(0.5 * reach, size.height);
            let thickness = t.number(2.0, 30.0);
            let across = thickness + t.number(4.0, 2.0 * reach);
            let axis = t.maybe(2, |t| [t.number(-1.0, 1.0), t.number(-1.0, 1.0), t.number(0.2, 1.0)]);
            detail.ring = Some(RingTool {
                centre: t.point(centre),
                diameter: t.size_of(across),
                thickness: t.size_of(thickness),
                axis: axis.map(|axis| t.point(axis)),
            });
        }
        4 => {
            let mut at = t.place(reach, size.height);
            let count = t.count(2, 6);
            let path: Vec<[f64; 3]> = (0..count)
                .map(|_| {
                    at = [
                        at[0] + t.number(-40.0, 40.0),
                        at[1] + t.number(-40.0, 40.0),
                        at[2] + t.number(3.0, 30.0),
                    ];
                    at
                })
                .collect();
            let diameter = t.number(3.0, 20.0);
            let taper = t.maybe(3, |t| t.length(1.0, 10.0));
            detail.bar = Some(BarTool {
                path: path.into_iter().map(|p| t.point(p)).collect(),
                diameter: t.size_of(diameter),
                smooth: t.maybe(2, |t| t.chance(2)),
                end_diameter: taper.is_some().then(|| t.size(0.5, 0.9 * diameter)).filter(|_| t.chance(2)),
                taper,
            });
        }
        5 => {
            let point = [0.0, 0.0, t.number(0.4 * size.height, size.height)];
            let normal = [t.number(-1.0, 1.0), t.number(-1.0, 1.0), t.number(0.3, 1.0)];
            detail.half_space = Some(HalfSpaceTool { point: t.point(point), normal: t.point(normal) });
        }
        6 => detail.outline = Some(any_outline(t, shape, size)),
        7 => detail.roll = Some(any_roll(t, size, zones)),
        _ => {
            let centre = t.place(reach, size.height);
            detail.ball = Some(BallTool { centre: t.point(centre), diameter: t.size(4.0, 120.0) });
        }
    }
    let lies = detail.outline.as_ref().map(|outline| (outline.as_drawn.is_some(), outline.top.is_some()));
    detail.repeat = match &detail.roll {
        Some(roll) => {
            let turned = |t: &mut Tape| Repeat {
                count: t.count(1, 3) as u32,
                rise: roll.along.height.is_some().then(|| t.length(0.0, 0.3 * size.height)),
                over: t.maybe(2, Tape::angle),
                turn: t.maybe(6, Tape::angle),
                ..Repeat::default()
            };
            // What lies along the border of an outline stays there.
            t.maybe(5, turned).filter(|_| roll.along.zone.is_none())
        }
        None => t.maybe(5, |t| any_repeat(t, lies, size)),
    };
    if detail.roll.as_ref().is_some_and(|roll| roll.along.zone.is_some()) {
        detail.mirror = None;
    }
    detail
}

/// A roll along any edge, there or not.
fn any_roll(t: &mut Tape, size: &Bulk, zones: &[Zone]) -> RollTool {
    let mut along = RollAlong::default();
    match t.below(5) {
        0 => along.foot = Some(true),
        1 => along.rim = Some(true),
        2 if !zones.is_empty() => {
            along.zone = Some(t.pick(zones).name.clone());
            along.border = t.maybe(2, |t| *t.pick(&[Border::Upper, Border::Lower]));
        }
        3 => {
            let first = t.number(-180.0, 180.0);
            let step = t.number(10.0, 120.0);
            let place = |t: &mut Tape, i: usize| OnSide {
                bearing: cakefile::schema::Angle::from(first + step * i as f64),
                height: t.length(0.0, size.height),
            };
            let count = t.count(2, 6);
            along.path = Some((0..count).map(|i| place(t, i)).collect());
        }
        _ => along.height = Some(t.length(-0.05 * size.height, 1.1 * size.height)),
    }
    let part = along.path.is_none() && t.chance(3);
    let from = t.number(-180.0, 180.0);
    let round = t.number(5.0, 355.0);
    let ends = part || along.path.is_some();
    let diameter = t.number(1.0, 24.0);
    let taper = if ends { t.maybe(2, |t| t.length(0.0, 60.0)) } else { None };
    RollTool {
        along,
        diameter: t.size_of(diameter),
        from: part.then(|| cakefile::schema::Angle::from(from)),
        to: part.then(|| cakefile::schema::Angle::from(from + round)),
        sunk: t.maybe(3, |t| t.chance(2)),
        twisted: t.maybe(3, |t| t.chance(2)),
        end_diameter: taper.is_some().then(|| t.size(0.5, 0.9 * diameter.max(1.0))).filter(|_| t.chance(2)),
        taper,
    }
}

/// A repeat that a detail can have which lies `(as it is drawn, on the top)`; `None` for one with a form of its own.
fn any_repeat(t: &mut Tape, lies: Option<(bool, bool)>, size: &Bulk) -> Repeat {
    let mut repeat = Repeat { count: t.count(1, 5) as u32, ..Repeat::default() };
    let (as_drawn, on_top) = lies.unwrap_or_default();
    let straight = as_drawn || ((lies.is_none() || on_top) && t.chance(3));
    let up = if on_top { 0.0 } else { t.number(-0.2, 0.2) * size.height };
    if straight {
        let across = [t.number(-60.0, 60.0), t.number(-60.0, 60.0), up];
        repeat.along = Some(t.point(across));
    } else {
        repeat.first = t.maybe(2, Tape::angle);
        repeat.over = t.maybe(2, Tape::angle);
        repeat.rise = (up != 0.0 && t.chance(3)).then(|| t.length_of(up));
    }
    repeat.turn = t.maybe(3, Tape::angle);
    repeat.mirror = t.maybe(3, |t| t.chance(2));
    repeat
}

fn any_outline(t: &mut Tape, shape: &Shape, size: &Bulk) -> OutlineTool {
    let side = t.maybe(4, |t| *t.pick(&[Side::Front, Side::Back, Side::Right, Side::Left]));
    let as_drawn = side.filter(|_| shape.crossed.is_some());
    let outline = match as_drawn {
        Some(_) => {
            let (x, z) = (t.number(-20.0, 20.0), t.number(0.2 * size.height, 0.8 * size.height));
            let corners = outlines::star(t, 3.0, 25.0);
            let points =
                corners.iter().map(|[a, b]| [t.length_of(x + a), t.length_of((z + b).max(0.5))]).collect();
            cakefile::schema::Outline { points: Some(points), ..Default::default() }
        }
        None => outlines::detail(t, 3.0, 30.0),
    };
    if as_drawn.is_none() && t.chance(5) {
        let at = [t.number(-0.5, 0.5) * size.reach, t.number(-0.5, 0.5) * size.reach];
        return OutlineTool {
            shape: outline,
            height: None,
            as_drawn: None,
            top: Some(at.map(|mm| t.length_of(mm))),
            bearing: None,
            turn: t.maybe(2, Tape::angle),
            depth: t.size(0.5, 8.0),
            wrap: None,
        };
    }
    OutlineTool {
        shape: outline,
        top: None,
        height: as_drawn.is_none().then(|| t.length(0.0, size.height)),
        as_drawn,
        bearing: if as_drawn.is_none() { t.maybe(2, Tape::angle) } else { None },
        turn: if as_drawn.is_none() { t.maybe(2, Tape::angle) } else { None },
        depth: t.size(0.5, 8.0),
        wrap: if as_drawn.is_none() { t.maybe(3, |t| t.chance(2)) } else { None },
    }
}
