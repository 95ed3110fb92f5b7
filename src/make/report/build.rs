//! Plan → report.

use glam::DVec3;

use plan::{
    Plan,
    design::{Dome, Footprint, FootprintShape, MaterialKind, Shape},
    pantry::PanShape,
    stack::{LaidPiece, SheetCake, SheetPieces, Slab, SlabKind, laid_pieces, sheet_cakes},
    zones::ZonePart,
};

use crate::{icing::LaidIcing, language::Language};

use super::{
    Amount, BoardEntry, Carved, CoveringEntry, DetailEntry, DowelEntry, FillingEntry, FindingEntry,
    LayerEntry, LineEntry, PanEntry, PieceEntry, REPORT_VERSION, Report, ShapeEntry, SheetCakeEntry,
    SheetPieceEntry, SupportEntry, Totals, ZoneEntry,
};

impl Report {
    /// The figures of `plan`.
    pub fn new(plan: &Plan) -> Self {
        let volumes = plan.line_volumes();
        let details = details(plan);
        let coverings = coverings(plan, &volumes);
        let totals = totals(plan, coverings.iter().map(|coat| coat.mass_g).sum(), &details);
        let laid = laid_pieces(&plan.stack);
        Self {
            report: REPORT_VERSION,
            name: plan.design.name.clone(),
            unit: plan.design.unit,
            style: plan.design.style,
            sound: !plan.has_errors(),
            findings: plan.findings.iter().map(finding).collect(),
            shape: shape(plan, volumes[0]),
            lines: lines(plan, &volumes),
            coverings,
            layers: of_kind(plan, SlabKind::Layer).map(|(i, slab)| layer(plan, i, slab, &laid)).collect(),
            sheet_cakes: sheet_cakes(&plan.stack, &plan.pantry).iter().map(|s| sheet_cake(plan, s)).collect(),
            fillings: of_kind(plan, SlabKind::Filling).map(|(i, slab)| filling(plan, i, slab)).collect(),
            boards: of_kind(plan, SlabKind::Board).map(|(_, slab)| board(slab)).collect(),
            dowels: dowels(plan),
            details,
            totals,
            support: SupportEntry::new(plan),
        }
    }
}

fn of_kind(plan: &Plan, kind: SlabKind) -> impl Iterator<Item = (usize, &Slab)> {
    plan.stack.slabs.iter().enumerate().filter(move |(_, slab)| slab.kind == kind)
}

fn finding(found: &plan::findings::Finding) -> FindingEntry {
    FindingEntry {
        severity: found.severity,
        code: found.code.as_str(),
        about: found.about.clone(),
        message: found.message.clone(),
        fix: found.fix.words.clone(),
        place: found.place.map(Into::into),
        field: found.field.to_string(),
        path: found.field.clone(),
    }
}

fn shape(plan: &Plan, volume: f64) -> ShapeEntry {
    let shape = &plan.design.shape;
    let surface = shape.surface();
    let size = shape.size();
    let extent = plan.extent();
    let room = extent.size();
    ShapeEntry {
        kind: match **shape {
            Shape::Turned(_) => "turned",
            Shape::Crossed(_) => "crossed",
            Shape::Free(_) => "free",
        },
        height_mm: size.z,
        diameter_mm: 2.0 * shape.radius(),
        width_mm: size.x,
        depth_mm: size.y,
        box_width_mm: room.x,
        box_depth_mm: room.y,
        box_height_mm: room.z,
        box_across_mm: extent.across,
        volume_ml: volume / 1000.0,
        surface_cm2: surface / 100.0,
    }
}

fn lines(plan: &Plan, volumes: &[f64]) -> Vec<LineEntry> {
    let entry = |(line, &volume): (&plan::lines::Line, &f64)| {
        let (_, hi) = line.section.bounds().unwrap_or_default();
        let size = match &line.solid {
            None => DVec3::new(2.0 * hi.x, 2.0 * hi.x, hi.y),
            Some(mesh) => mesh.bounds().map_or(DVec3::ZERO, |(lo, hi)| hi - lo),
        };
        LineEntry {
            name: line.name.clone(),
            depth_mm: line.depth,
            height_mm: size.z,
            diameter_mm: 2.0 * hi.x,
            width_mm: size.x,
            front_to_back_mm: size.y,
            volume_ml: volume / 1000.0,
        }
    };
    plan.lines.all().iter().zip(volumes).map(entry).collect()
}

fn coverings(plan: &Plan, volumes: &[f64]) -> Vec<CoveringEntry> {
    let pairs = volumes.windows(2);
    let entry = |(i, (covering, pair)): (usize, (&plan::design::Covering, &[f64]))| {
        let volume = pair[0] - pair[1];
        let laid = LaidIcing::of(plan, i, Language::english());
        let zones = zones(plan, i, volume, &laid);
        // One without zones is laid in one way.
        let laid = laid.first().filter(|laid| laid.covering.zones.is_empty());
        CoveringEntry {
            zones,
            material: covering.material.name.clone(),
            colour: covering.material.colour,
            thickness_mm: covering.thickness,
            volume_ml: volume / 1000.0,
            mass_g: covering.mass(volume),
            way: laid.map(|laid| laid.icing.way),
            laid: laid.map(|laid| laid.brief()),
        }
    };
    plan.design.coverings.iter().zip(pairs).enumerate().map(entry).collect()
}

/// The parts of covering `index`, which holds `volume` mm³; none without zones.
fn zones(plan: &Plan, index: usize, volume: f64, laid: &[LaidIcing<'_>]) -> Vec<ZoneEntry> {
    let (covering, zones) = (&plan.design.coverings[index], &plan.zones[index]);
    if covering.zones.is_empty() {
        return Vec::new();
    }
    let entry = |part: &ZonePart| {
        let zone = part.zone.map(|zone| &covering.zones[zone]);
        let material = zone.map_or(&covering.material, |zone| &zone.material);
        ZoneEntry {
            name: zone.map(|zone| zone.name.clone()),
            material: material.name.clone(),
            colour: material.colour,
            area_cm2: part.area / 100.0,
            mass_g: material.mass(volume * zones.share(part.zone)),
            laid: laid.iter().find(|laid| laid.icing.zone == part.zone).map(LaidIcing::brief),
        }
    };
    zones.present().map(entry).collect()
}

fn layer(plan: &Plan, index: usize, slab: &Slab, laid: &[LaidPiece]) -> LayerEntry {
    let carving = &plan.carving.slabs[index];
    LayerEntry {
        name: slab.name.clone(),
        tier: plan.design.tiers[slab.tier].name.clone(),
        material: slab.material.name.clone(),
        kind: slab.material.kind,
        pan: pan(&slab.footprint, slab.dome),
        pieces: pieces(index, laid),
        bottom_mm: slab.bottom,
        top_mm: slab.top,
        carved: Carved::new(carving.volumes, slab.material.density),
        shave: carving.shave.map(Into::into),
        spare: carving.spare.map(Into::into),
    }
}

fn pan(footprint: &Footprint, dome: Option<Dome>) -> PanEntry {
    let [width_mm, depth_mm] = footprint.shape.size();
    match (&footprint.shape, dome) {
        (FootprintShape::Round { .. }, Some(_)) => PanEntry::HalfBall { diameter_mm: width_mm },
        (FootprintShape::Round { .. }, None) => PanEntry::Round { diameter_mm: width_mm },
        (FootprintShape::Rectangle { .. }, _) => PanEntry::Rectangle { width_mm, depth_mm },
        (FootprintShape::Pieces(pieces), _) => {
            let [width_mm, depth_mm] = pieces.pan();
            PanEntry::Rectangle { width_mm, depth_mm }
        }
    }
}

/// The pieces of a layer with their letters.
fn pieces(slab: usize, laid: &[LaidPiece]) -> Vec<PieceEntry> {
    laid.iter()
        .filter(|piece| piece.slab == slab)
        .map(|piece| PieceEntry {
            letter: piece.letter(),
            size_mm: [piece.laid.width, piece.laid.depth],
            at_mm: piece.laid.at.to_array(),
            turn_deg: piece.laid.turn,
        })
        .collect()
}

fn sheet_cake(plan: &Plan, sheet: &SheetCake) -> SheetCakeEntry {
    let [width_mm, depth_mm] = sheet.pan;
    let pan = PanShape::Rectangle(width_mm, depth_mm);
    let high = sheet.height(&plan.stack);
    let level_mm = plan.pantry.pan(pan).map_or(high, |pan| pan.level.max(high));
    let (baked, used) = (width_mm * depth_mm * level_mm, sheet.used(&plan.stack));
    let amount = |volume: f64| Amount { volume_ml: volume / 1000.0, mass_g: sheet.material.mass(volume) };
    let place = |place: &SheetPieces| SheetPieceEntry {
        letters: place.pieces.iter().map(LaidPiece::letter).collect(),
        at_mm: place.at,
        size_mm: place.size,
    };
    SheetCakeEntry {
        pan: PanEntry::Rectangle { width_mm, depth_mm },
        material: sheet.material.name.clone(),
        level_mm,
        pieces: sheet.pieces.iter().map(place).collect(),
        cuts: sheet.cuts.clone(),
        fewest: sheet.fewest,
        baked: amount(baked),
        in_pieces: amount(used),
        over: amount((baked - used).max(0.0)),
        over_percent: 100.0 * (1.0 - used / baked).max(0.0),
    }
}

fn filling(plan: &Plan, index: usize, slab: &Slab) -> FillingEntry {
    FillingEntry {
        name: slab.name.clone(),
        material: slab.material.name.clone(),
        thickness_mm: slab.height(),
        carved: Carved::new(plan.carving.slabs[index].volumes, slab.material.density),
    }
}

fn board(slab: &Slab) -> BoardEntry {
    BoardEntry {
        name: slab.name.clone(),
        material: slab.material.name.clone(),
        outline: pan(&slab.footprint, None),
        thickness_mm: slab.height(),
        hole_mm: slab.hole,
        bottom_mm: slab.bottom,
    }
}

fn dowels(plan: &Plan) -> Vec<DowelEntry> {
    let entry = |dowel: &plan::stack::Dowel| DowelEntry {
        name: dowel.name.clone(),
        material: dowel.material.name.clone(),
        diameter_mm: dowel.diameter,
        length_mm: dowel.length(),
        bottom_mm: dowel.bottom,
        at_mm: dowel.at.to_array(),
    };
    plan.stack.dowels.iter().map(entry).collect()
}

fn details(plan: &Plan) -> Vec<DetailEntry> {
    let details: Vec<_> = plan.design.details.iter().zip(&plan.bulk.adds).collect();
    details
        .chunk_by(|(a, _), (b, _)| a.is_copy_of(b))
        .map(|copies| {
            let detail = copies[0].0;
            let volumes = copies.iter().filter_map(|(_, volume)| volume.as_ref()).map(|volume| volume.amount);
            let volume = volumes.reduce(|a, b| a + b);
            let amount = detail.material.as_ref().zip(volume).map(|(material, volume)| Amount {
                volume_ml: volume / 1000.0,
                mass_g: material.mass(volume),
            });
            DetailEntry {
                name: detail.written_name().to_owned(),
                count: copies.len(),
                operation: detail.operation,
                depth: detail.depth,
                material: detail.material.as_ref().map(|m| m.name.clone()),
                amount,
            }
        })
        .collect()
}

impl Totals {
    /// The sums of `plan`, without the rest of its report.
    pub fn of(plan: &Plan) -> Self {
        let volumes = plan.line_volumes();
        let pairs = plan.design.coverings.iter().zip(volumes.windows(2));
        let coats = pairs.map(|(covering, pair)| covering.mass(pair[0] - pair[1])).sum();
        totals(plan, coats, &details(plan))
    }
}

/// Sums; `coats` is the mass of all coverings, g.
fn totals(plan: &Plan, coats: f64, details: &[DetailEntry]) -> Totals {
    let sum = |of: &dyn Fn(&Slab) -> bool| {
        let chosen = plan.stack.slabs.iter().zip(&plan.carving.slabs).filter(|(slab, _)| of(slab));
        chosen
            .map(|(slab, carving)| Carved::new(carving.volumes, slab.material.density))
            .fold(Carved::default(), std::ops::Add::add)
    };
    let sponge = sum(&|s| s.kind == SlabKind::Layer && s.material.kind == MaterialKind::Sponge);
    let other_layers = sum(&|s| s.kind == SlabKind::Layer && s.material.kind != MaterialKind::Sponge);
    let fillings = sum(&|s| s.kind == SlabKind::Filling);
    let boards = sum(&|s| s.kind == SlabKind::Board);
    let beside = fillings.shortfall.volume_ml + boards.shortfall.volume_ml;
    let dowel_mass = |dowel: &plan::stack::Dowel| dowel.material.mass(dowel.volume());
    let inside: f64 = boards.raw.mass_g + plan.stack.dowels.iter().map(dowel_mass).sum::<f64>();
    let adds: f64 = details.iter().filter_map(|t| t.amount).map(|a| a.mass_g).sum();
    // Patched with the same cake; beside boards and fillings filled with the innermost covering.
    let innermost = plan.design.coverings.last().map_or(0.0, |coat| coat.material.density);
    let patched: f64 = plan
        .stack
        .slabs
        .iter()
        .zip(&plan.carving.slabs)
        .map(|(slab, carving)| {
            let of = if slab.kind == SlabKind::Layer { slab.material.density } else { innermost };
            of * carving.volumes.shortfall / 1000.0
        })
        .sum();
    let held = sponge.kept.mass_g + other_layers.kept.mass_g + fillings.kept.mass_g;
    Totals {
        sponge,
        other_layers,
        fillings,
        carved_ml: plan.carving.carved / 1000.0,
        shortfall_ml: plan.carving.shortfall() / 1000.0 - beside,
        beside_boards_and_fillings_ml: beside,
        finished_mass_g: held + patched + inside + coats + adds,
        raw_mass_g: sponge.raw.mass_g + other_layers.raw.mass_g + fillings.raw.mass_g + inside,
    }
}
