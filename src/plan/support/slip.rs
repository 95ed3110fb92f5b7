//! Layers that slide on a soft filling.

use crate::{
    design::MaterialKind,
    stack::{Dowel, SlabKind},
};

use super::{
    case::Case,
    check::{Check, Question, place},
    code::CheckCode,
    gravity::weight,
    journey::{COMFORTABLE, hardest, percent},
    masses::Stage,
    rule::Rule,
};

pub(super) fn check(case: &Case<'_>, checks: &mut Vec<Check>) {
    /// What a filling that always slides may pass for when dowels hold the layers.
    const HELD: f64 = 1.0;
    for (i, slab) in case.stack.slabs.iter().enumerate() {
        if slab.kind != SlabKind::Filling || slab.bottom >= case.cake.carved_top() {
            continue;
        }
        let Some(soft) = slab.material.soft() else { continue };
        let on = (0..case.levels.len()).rev().find(|&k| case.levels[k].slab.is_none_or(|board| board < i));
        let Some(index) = on else { continue };
        let next = case.next_level(index).filter(|next| next.is_on_dowels());
        let above = case.masses.above(Stage::Finished, i).amount;
        let above = weight(above - next.map_or(0.0, |next| next.load.amount)).max(0.0);
        let area = case.cake.carved_at((slab.bottom + slab.top) / 2.0).area();
        if above <= 0.0 || area <= 1.0 {
            continue;
        }
        let strength = soft.slip * soft.warming.share(case.design.support.room);
        let bears = strength * area / 1e6 / above;
        // Dowels through the seam keep layers from sliding, though not from creeping round them.
        let through = |dowel: &&Dowel| dowel.bottom < slab.bottom - 5.0 && dowel.top > slab.top + 5.0;
        let pinned = case.stack.dowels.iter().filter(through).count();
        let held =
            pinned > 1 || case.stack.dowels.iter().any(|dowel| dowel.tier.is_none() && through(&dowel));
        if held && !soft.always_slides {
            continue;
        }
        let kind = if slab.material.kind == MaterialKind::Filling { "soft filling" } else { "filling" };
        checks.push(Check {
            question: Question::Car,
            code: CheckCode::LayersSlide,
            about: slab.name.clone(),
            said: format!(
                "what lies on the {kind} {} slides on it when pushed sideways with {} of its weight{}; a gentle stop pushes with {}",
                slab.material.name,
                percent(bears),
                if held { ", and only the dowels hold it" } else { ", and no dowel goes through" },
                percent(COMFORTABLE)
            ),
            margin: if held { (bears / COMFORTABLE).max(HELD) } else { bears / COMFORTABLE },
            needed: (hardest(case) / COMFORTABLE).max(1.0),
            rule: Rule::SoftFilling,
            fix: "spread it thinly inside a dam of firm buttercream, chill the cake first, and put a dowel through"
                .into(),
            place: Some(place(glam::DVec2::ZERO, slab.bottom)),
            field: slab.field.clone(),
        });
    }
}
