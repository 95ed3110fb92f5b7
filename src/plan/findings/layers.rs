//! Layers, fillings and boards: too small, hanging over, apart, overlapping, in the knife's way.

use glam::DVec2;

use crate::{
    carve::Place,
    design::{Footprint, FootprintShape},
    fix::{FileEdit, FileValue, Fix},
    stack::{Dowel, Slab, SlabKind},
};
use cakefile::{FieldPath, Severity};

use super::{Evidence, Finding, FindingCode};

/// Less missing cake than this is a smear of ganache, mm³ (a millilitre).
const NOTICED: f64 = 1000.0;
/// Seams closer than this are closed, mm.
const SEAM: f64 = 1e-3;

pub(super) fn check(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    for (i, slab) in e.stack.slabs.iter().enumerate() {
        match slab.kind {
            SlabKind::Layer => check_layer(e, i, slab, found),
            SlabKind::Board => check_board(e, slab, found),
            SlabKind::Filling => {}
        }
    }
    check_seams(e, found);
    check_uncovered(e, found);
    check_kept(e, found);
}

/// A cake of which nothing is left.
fn check_kept(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    let slabs = e.stack.slabs.iter().zip(&e.carving.slabs);
    let kept =
        slabs.filter(|(slab, _)| slab.kind == SlabKind::Layer).map(|(_, carving)| carving.volumes.kept);
    if kept.sum::<f64>() <= NOTICED {
        found.push(Finding {
            severity: Severity::Error,
            code: FindingCode::NothingKept,
            about: "layers".into(),
            message: "nothing of the cake is left after carving".into(),
            fix: "make the cuts smaller, or move the layers to where the shape is".into(),
            place: None,
            field: FieldPath::root().key("tier"),
        });
    }
}

fn check_layer(e: &Evidence<'_>, i: usize, slab: &Slab, found: &mut Vec<Finding>) {
    let carving = &e.carving.slabs[i];
    let volumes = carving.volumes;
    let spare = carving.spare;
    if volumes.shortfall > NOTICED {
        let at = carving.shave.map(|shave| shave.least_at);
        let missing = spare.map_or(0.0, |s| -s.least);
        found.push(Finding {
            severity: Severity::Error,
            code: FindingCode::Shortfall,
            about: slab.name.clone(),
            message: format!(
                "{} is too small: {:.0} mL of the carved shape lie outside it, up to {} beyond its side",
                slab.name,
                volumes.shortfall / 1000.0,
                e.mm(missing.max(0.0))
            ),
            fix: match slab.footprint.shape {
                FootprintShape::Round { diameter } if slab.is_coaxial() && missing > 0.0 => wider_pan(
                    slab,
                    diameter + 2.0 * (missing + e.design.limits.spare),
                    format!(
                        "bake it at least {} wide ({} with the spare required), or patch it",
                        e.mm(diameter + 2.0 * missing),
                        e.mm(diameter + 2.0 * (missing + e.design.limits.spare))
                    ),
                ),
                FootprintShape::Pieces(_) => {
                    "make its pieces larger there or lay one more, move it, or patch it".into()
                }
                _ => "use a larger pan, move it, or patch it".into(),
            },
            place: at,
            field: slab.field.key(held_by(slab)),
        });
    } else if let Some(spare) = spare
        && spare.least < e.design.limits.spare - SEAM
    {
        found.push(Finding {
            severity: Severity::Warning,
            code: FindingCode::LittleSpare,
            about: slab.name.clone(),
            message: format!(
                "{} has only {} to spare at its side; {} is required",
                slab.name,
                e.mm(spare.least.max(0.0)),
                e.mm(e.design.limits.spare)
            ),
            fix: {
                let words =
                    "a crumbly edge will show: use the next pan up, or require less to spare ([limits] spare)";
                match slab.footprint.shape {
                    FootprintShape::Pieces(_) => {
                        "a crumbly edge will show: make its pieces larger there, or require less to spare ([limits] spare)".into()
                    }
                    FootprintShape::Round { diameter } if slab.is_coaxial() => {
                        let wider = diameter + 2.0 * (e.design.limits.spare - spare.least);
                        wider_pan(slab, wider, words.into())
                    }
                    _ => words.into(),
                }
            },
            place: Some(spare.at),
            field: slab.field.key(held_by(slab)),
        });
    }
    if volumes.kept <= 0.0 {
        found.push(Finding {
            severity: Severity::Warning,
            code: FindingCode::AllOffcut,
            about: slab.name.clone(),
            message: format!("nothing of {} is left after carving", slab.name),
            fix: "take the layer out, or make the shape taller".into(),
            place: None,
            field: slab.field.clone(),
        });
    }
}

/// The key of a layer that says how large it is.
fn held_by(slab: &Slab) -> &'static str {
    if slab.footprint.shape.pieces().is_some() { "pieces" } else { "pan" }
}

/// The fix that gives a flat round layer on the axis a pan `wide` mm across; only the words for any other.
fn wider_pan(slab: &Slab, wide: f64, words: String) -> Fix {
    /// Pans are written no finer than this, mm.
    const STEP: f64 = 1.0;
    if slab.dome.is_some() {
        return words.into();
    }
    let wide = (wide / STEP).ceil() * STEP;
    Fix::edit(words, FileEdit::set(slab.field.key("pan").key("round"), FileValue::Length(wide)))
}

/// The fix that makes a round board `wide` mm across; only the words for any other, where nothing would be left of it,
/// and where dowels or the layer on it need it wider.
fn narrower_board(slab: &Slab, wide: f64, words: impl Fn(&str) -> String, e: &Evidence<'_>) -> Fix {
    let words = words(&e.mm(wide));
    let round = matches!(slab.footprint.shape, FootprintShape::Round { .. });
    // Rounded down, lest it stick out again.
    let wide = wide.floor();
    let narrower = Footprint { shape: FootprintShape::Round { diameter: wide }, ..slab.footprint };
    let under = |dowel: &&Dowel| dowel.tier.is_some_and(|tier| tier + 1 == slab.tier);
    let holds = |dowel: &Dowel| narrower.depth(dowel.at) >= dowel.diameter / 2.0;
    let on = e.stack.slabs.iter().find(|on| on.kind == SlabKind::Layer && on.bottom >= slab.top - SEAM);
    let overhangs = on.is_some_and(|on| on.footprint.reach_beyond(&narrower) > e.design.limits.overhang);
    if !round || wide <= slab.hole || overhangs || !e.stack.dowels.iter().filter(under).all(holds) {
        return words.into();
    }
    Fix::edit(words, FileEdit::set(slab.field.key("round"), FileValue::Length(wide)))
}

fn check_board(e: &Evidence<'_>, slab: &Slab, found: &mut Vec<Finding>) {
    if !e.lines.is_turned() {
        return check_board_in_free_shape(e, slab, found);
    }
    let Some((radius, height)) = e.narrowest(slab.bottom, slab.top) else { return };
    let reach = slab.footprint.reach() + slab.footprint.centre.length();
    let beyond = reach - radius;
    if beyond > SEAM {
        found.push(Finding {
            severity: Severity::Error,
            code: FindingCode::BoardTooWide,
            about: slab.name.clone(),
            message: format!(
                "{} sticks out {} beyond the carved line, which is {} wide there",
                slab.name,
                e.mm(beyond),
                e.mm(2.0 * radius)
            ),
            fix: narrower_board(
                slab,
                2.0 * (radius - e.design.limits.cover).max(0.0),
                |width| format!("use a board at most {width} wide"),
                e,
            ),
            place: Some(Place { height, bearing: 0.0, radius }),
            field: slab.field.clone(),
        });
    }
}

/// The same where the carved outline is no circle: the board must lie inside it at both of its faces.
fn check_board_in_free_shape(e: &Evidence<'_>, slab: &Slab, found: &mut Vec<Finding>) {
    /// Sizes tried for a board that would do, as shares of this one.
    const TRIED: u32 = 100;
    let tolerance = geom::Tolerance::PREVIEW;
    let outlines = [slab.bottom, slab.top].map(|z| (e.carving.target.outline_at(z, tolerance), z));
    let rim: Vec<DVec2> = slab.footprint.region(tolerance).contours().iter().flatten().copied().collect();
    let depth = |p: DVec2| outlines.iter().map(|(o, z)| (o.depth(p), *z)).min_by(|a, b| a.0.total_cmp(&b.0));
    let worst = rim.iter().filter_map(|p| depth(*p).map(|(d, z)| (d, p.extend(z))));
    let Some((least, at)) = worst.min_by(|a, b| a.0.total_cmp(&b.0)) else { return };
    if least >= -SEAM {
        return;
    }
    let middle = slab.footprint.centre;
    let fits = |share: f64| {
        let inside = |p: &DVec2| depth(middle + (*p - middle) * share);
        rim.iter().all(|p| inside(p).is_some_and(|(d, _)| d >= e.design.limits.cover))
    };
    let share = (1..TRIED).rev().map(|i| f64::from(i) / f64::from(TRIED)).find(|share| fits(*share));
    let message = if least.is_finite() {
        format!("{} sticks out {} beyond the carved outline", slab.name, e.mm(-least))
    } else {
        format!("nothing of the carved shape is left {} up, where {} lies", e.mm(at.z), slab.name)
    };
    found.push(Finding {
        severity: Severity::Error,
        code: FindingCode::BoardTooWide,
        about: slab.name.clone(),
        message,
        fix: match share
            .map(|share| (&slab.footprint.shape, slab.footprint.shape.size().map(|side| side * share)))
        {
            Some((FootprintShape::Round { .. }, [diameter, _])) => narrower_board(
                slab,
                diameter,
                |width| format!("use a board at most {width} wide, move it, or cut it to the outline"),
                e,
            ),
            Some((_, [width, depth])) => format!(
                "use a board at most {} × {}, move it, or cut it to the outline",
                e.mm(width),
                e.mm(depth)
            )
            .into(),
            None if least.is_finite() => "move it further inside, or cut it to the outline".into(),
            None => "take it out, or put it where the shape is wider than it".into(),
        },
        place: Some(at.into()),
        field: slab.field.clone(),
    });
}

fn check_seams(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    for pair in e.stack.slabs.windows(2) {
        let (below, above) = (&pair[0], &pair[1]);
        let gap = above.bottom - below.top;
        if gap > SEAM {
            found.push(seam(
                above,
                FindingCode::Gap,
                format!("{} hangs {} above {}", above.name, e.mm(gap), below.name),
            ));
        } else if gap < -SEAM {
            let message = format!("{} and {} overlap by {}", above.name, below.name, e.mm(-gap));
            found.push(seam(above, FindingCode::Overlap, message));
        }
    }
    let held: Vec<&Slab> = e.stack.slabs.iter().filter(|s| s.kind != SlabKind::Filling).collect();
    for pair in held.windows(2).filter(|pair| pair[1].kind == SlabKind::Layer) {
        check_overhang(e, pair[0], pair[1], found);
        check_joins(e, pair[0], pair[1], found);
    }
}

/// Joins between pieces that lie over joins of the layer below: the cake parts there when it is carried.
fn check_joins(e: &Evidence<'_>, below: &Slab, above: &Slab, found: &mut Vec<Finding>) {
    /// Joins nearer to each other than this lie in line, mm (common practice, no source).
    const STAGGER: f64 = 15.0;
    /// A shorter stretch in line does no harm, mm.
    const SHORT: f64 = 25.0;
    let joins = |slab: &Slab| {
        let joins = slab.footprint.shape.pieces().map_or_else(Vec::new, |pieces| pieces.joins());
        joins
            .into_iter()
            .map(|join| [join.from, join.to].map(|p| slab.footprint.placed(p)))
            .collect::<Vec<_>>()
    };
    let under = joins(below);
    let in_line = |[a, b]: &[DVec2; 2]| {
        let length = a.distance(*b);
        let along = (*b - *a) / length.max(f64::MIN_POSITIVE);
        let shared = under.iter().map(|[c, d]| {
            let off = |p: DVec2| along.perp_dot(p - *a).abs();
            if off(*c).max(off(*d)) > STAGGER {
                return 0.0;
            }
            let (s, t) = (along.dot(*c - *a), along.dot(*d - *a));
            s.max(t).min(length) - s.min(t).max(0.0)
        });
        shared.fold(0.0, f64::max)
    };
    let shared: f64 = joins(above).iter().map(in_line).filter(|shared| *shared > SHORT).sum();
    if shared > 0.0 {
        found.push(Finding {
            severity: Severity::Note,
            code: FindingCode::JoinsInLine,
            about: above.name.clone(),
            message: format!(
                "joins of {} lie over joins of {} on {} of their length",
                above.name,
                below.name,
                e.mm(shared)
            ),
            fix: "cut the pieces so that joins lie at least 20 mm aside from those below, as bricks do; else carry the \
                  cake on a stiff board"
                .into(),
            place: Some(Place { height: above.bottom, bearing: 0.0, radius: 0.0 }),
            field: above.field.key("pieces"),
        });
    }
}

/// How far a layer hangs over what carries it: what is carved of it counts, and what is there until then is a note.
fn check_overhang(e: &Evidence<'_>, below: &Slab, above: &Slab, found: &mut Vec<Finding>) {
    let most = e.design.limits.overhang + SEAM;
    let raw = above.footprint.reach_beyond(&below.footprint);
    if raw <= most {
        return;
    }
    let carved = carved_overhang(e, below, above);
    let (severity, code, message, fix) = if carved > most {
        (
            Severity::Warning,
            FindingCode::Overhang,
            format!("{} hangs {} over {} once it is carved", above.name, e.mm(carved), below.name),
            "sponge sags and cracks there: put a board under it with dowels below, carve that part upside down, or \
             build it of cereal treat",
        )
    } else {
        (
            Severity::Note,
            FindingCode::RawOverhang,
            format!("{} hangs {} over {} until it is carved", above.name, e.mm(raw), below.name),
            "cut it in roughly as soon as it is stacked, or before, with the template laid on it",
        )
    };
    found.push(Finding {
        severity,
        code,
        about: above.name.clone(),
        message,
        fix: fix.into(),
        place: Some(Place { height: above.bottom, bearing: 0.0, radius: above.footprint.reach() }),
        field: above.field.clone(),
    });
}

/// How far what is carved of a layer reaches beyond its board, or beyond what is carved of the layer that carries it, mm.
fn carved_overhang(e: &Evidence<'_>, below: &Slab, above: &Slab) -> f64 {
    /// Outlines of the layer that are looked at, evenly up.
    const LOOKED_AT: u32 = 9;
    let tolerance = geom::Tolerance::PREVIEW;
    let target = &e.carving.target;
    let carrier = match below.kind {
        SlabKind::Board => below.footprint.region(tolerance),
        SlabKind::Layer | SlabKind::Filling => target.outline_at(below.top - SEAM, tolerance),
    };
    let outlines = (0..LOOKED_AT).map(|i| {
        let up = (f64::from(i) + 0.5) / f64::from(LOOKED_AT);
        target.outline_at(above.bottom + up * (above.top - above.bottom), tolerance)
    });
    let points =
        outlines.flat_map(|outline| outline.contours().iter().flatten().copied().collect::<Vec<_>>());
    points.map(|p| -carrier.depth(p)).filter(|over| over.is_finite()).fold(0.0, f64::max)
}

fn seam(above: &Slab, code: FindingCode, message: String) -> Finding {
    Finding {
        severity: Severity::Error,
        code,
        about: above.name.clone(),
        message,
        fix: Fix::edit(
            "let it lie on what is below, without a height of its own, or correct that height (bottom)",
            FileEdit::remove(above.field.key("bottom")),
        ),
        place: Some(Place { height: above.bottom, bearing: 0.0, radius: 0.0 }),
        field: above.field.key("bottom"),
    }
}

fn check_uncovered(e: &Evidence<'_>, found: &mut Vec<Finding>) {
    for gap in e.carving.uncovered.iter().filter(|gap| gap.volume > NOTICED) {
        let top = gap.bottom >= e.stack.height() - SEAM;
        found.push(Finding {
            severity: Severity::Error,
            code: if top { FindingCode::TooLow } else { FindingCode::NoCake },
            about: e.design.name.clone(),
            message: format!(
                "no layer reaches from {} to {}, where the carved shape holds {:.0} mL",
                e.mm(gap.bottom),
                e.mm(gap.top),
                gap.volume / 1000.0
            ),
            fix: if top {
                format!("add layers: the stack must be {} higher", e.mm(gap.top - gap.bottom)).into()
            } else {
                "close the gap between the layers".into()
            },
            place: Some(Place { height: (gap.bottom + gap.top) / 2.0, bearing: 0.0, radius: 0.0 }),
            field: FieldPath::root().key("tier"),
        });
    }
}
