//! Layers that stay where they are while sponge is arranged anew: a foot, a cup, a dummy, a firm top.
//!
//! Of the stretches of sponge between layers that are not sponge the highest one is arranged; what lies below and above it
//! stays as the cake file has it, other stretches of sponge too.

use std::ops::Range;

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditError, EditValue},
};
use plan::{
    design::{Design, Footprint, MaterialKind},
    stack::{SlabKind, Stack},
};

/// What stays of the layers that a cake file has.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Kept {
    /// Tiers below the sponge, and their layers that stay.
    below: Vec<(usize, Range<usize>)>,
    /// The same above it.
    above: Vec<(usize, Range<usize>)>,
    /// Whether the last kept layer below the sponge has to be given its filling.
    fills: bool,
    /// Height from which sponge is arranged, mm: of the underside of the board where one lies there.
    pub from: f64,
    /// Whether a board lies on what is kept below.
    pub on_board: bool,
    /// Height up to which sponge is arranged, mm; `None` for up to the top of the shape.
    pub to: Option<f64>,
    /// Whether the uppermost layer of sponge gets a filling, since what is kept lies on it.
    pub filled_above: bool,
    /// The board that what is kept above stands on.
    pub board_above: Option<Footprint>,
    /// Names of the layers that are kept, from the bottom up.
    pub names: Vec<String>,
}

impl Kept {
    /// What stays of `design`, with `filling` mm between layers. Nothing where it has no sponge at all.
    pub fn of(design: &Design, filling: f64) -> Self {
        let stack = Stack::new(design);
        let layers: Vec<LayerAt> = design
            .tiers
            .iter()
            .enumerate()
            .flat_map(|(tier, of)| {
                of.layers.iter().enumerate().map(move |(layer, of)| LayerAt {
                    tier,
                    layer,
                    sponge: of.material.kind == MaterialKind::Sponge,
                    name: &of.name,
                    height: of.height,
                })
            })
            .collect();
        let Some((first, last)) = highest_stretch(&layers) else { return Self::default() };
        let (below, above) = (&layers[..first], &layers[last + 1..]);
        let mut kept = Self {
            below: tiers(below),
            above: tiers(above),
            names: below.iter().chain(above).map(|layer| layer.name.to_owned()).collect(),
            ..Self::default()
        };
        let slab_of = |wanted: usize| {
            let mut slabs = stack.slabs.iter().enumerate().filter(|(_, slab)| slab.kind == SlabKind::Layer);
            slabs.nth(wanted).map(|(i, slab)| (i, slab.bottom, slab.top))
        };
        let board_under = |i: usize| {
            let under = i.checked_sub(1).map(|i| &stack.slabs[i]);
            under.filter(|slab| slab.kind == SlabKind::Board)
        };
        if let Some((_, _, top)) = first.checked_sub(1).and_then(slab_of) {
            let board = slab_of(first).and_then(|(i, ..)| board_under(i));
            kept.on_board = board.is_some();
            kept.fills = board.is_none() && filling > 0.0;
            kept.from = board.map_or(top + filling, |board| board.bottom);
        }
        if let Some((i, bottom, _)) = slab_of(last + 1) {
            let board = board_under(i);
            kept.filled_above = board.is_none() && filling > 0.0;
            kept.to = Some(board.map_or(bottom - filling, |board| board.bottom));
            kept.board_above = board.map(|board| board.footprint.clone());
        }
        kept
    }

    /// Whether nothing is kept.
    pub fn is_empty(&self) -> bool {
        self.below.is_empty() && self.above.is_empty()
    }

    /// `tiers`, an edit that sets all tiers of `document` to new ones, with those that are kept before and behind them.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn put_into(
        &self,
        tiers: Edit,
        document: &Document,
        filling: Option<&(String, f64)>,
    ) -> Result<Edit, EditError> {
        if self.is_empty() {
            return Ok(tiers);
        }
        document.tree()?;
        let path = FieldPath::root().key("tier");
        let (Edit::Set { value: EditValue::Array(fresh), .. }, Some(EditValue::Array(own))) =
            (&tiers, document.value(&path))
        else {
            return Ok(tiers);
        };
        let last = self.below.len().saturating_sub(1);
        let below = self.below.iter().enumerate().filter_map(|(i, (tier, layers))| {
            let filling = filling.filter(|_| self.fills && i == last);
            part_of(own.get(*tier)?, layers, filling)
        });
        let below: Vec<EditValue> = below.collect();
        let above = self.above.iter().filter_map(|(tier, layers)| part_of(own.get(*tier)?, layers, None));
        // Layers without a name are called after their tier.
        let mut taken = Taken { tiers: below.iter().filter_map(name_of).collect(), layers: &self.names };
        let above: Vec<EditValue> = above.map(|tier| taken.renamed(tier, "above")).collect();
        let fresh: Vec<EditValue> =
            fresh.iter().map(|tier| taken.renamed(tier.clone(), "of sponge")).collect();
        let all = [below, fresh, above].concat();
        Ok(Edit::Set { path, value: EditValue::Array(all) })
    }
}

/// A layer with its place in the cake file.
struct LayerAt<'a> {
    tier: usize,
    layer: usize,
    sponge: bool,
    name: &'a str,
    height: f64,
}

/// The first and the last layer of the highest stretch of sponge.
fn highest_stretch(layers: &[LayerAt<'_>]) -> Option<(usize, usize)> {
    let mut stretches: Vec<(usize, usize, f64)> = Vec::new();
    for (i, layer) in layers.iter().enumerate().filter(|(_, layer)| layer.sponge) {
        match stretches.last_mut() {
            Some((_, last, height)) if *last + 1 == i => (*last, *height) = (i, *height + layer.height),
            _ => stretches.push((i, i, layer.height)),
        }
    }
    // The lowest of those that are as high.
    let highest = stretches.into_iter().rev().max_by(|a, b| a.2.total_cmp(&b.2));
    highest.map(|(first, last, _)| (first, last))
}

/// Layers that follow each other, by their tiers.
fn tiers(layers: &[LayerAt<'_>]) -> Vec<(usize, Range<usize>)> {
    let mut tiers: Vec<(usize, Range<usize>)> = Vec::new();
    for LayerAt { tier, layer, .. } in layers {
        match tiers.last_mut() {
            Some((last, range)) if last == tier => range.end = layer + 1,
            _ => tiers.push((*tier, *layer..layer + 1)),
        }
    }
    tiers
}

fn field<'a>(table: &'a EditValue, name: &str) -> Option<&'a EditValue> {
    let (EditValue::Table(fields) | EditValue::InlineTable(fields)) = table else { return None };
    fields.iter().find(|(key, _)| key == name).map(|(_, value)| value)
}

/// A tier with some of its layers; what lies under the first of them goes with that. `filling` on the last of them.
fn part_of(tier: &EditValue, layers: &Range<usize>, filling: Option<&(String, f64)>) -> Option<EditValue> {
    let (EditValue::Table(fields) | EditValue::InlineTable(fields)) = tier else { return None };
    let mut fields = fields.clone();
    if layers.start > 0 {
        // Board and dowels stay with the layers below.
        fields.retain(|(key, _)| key != "board" && key != "dowels");
    }
    for (_, value) in fields.iter_mut().filter(|(key, _)| key == "layer") {
        let EditValue::Array(all) = value else { continue };
        let mut kept: Vec<EditValue> = all.get(layers.clone())?.to_vec();
        if let (Some((material, thickness)), Some(EditValue::Table(last) | EditValue::InlineTable(last))) =
            (filling, kept.last_mut())
            && !last.iter().any(|(key, _)| key == "filling")
        {
            let thickness = EditValue::String(format!("{thickness} mm"));
            let value = EditValue::inline([("material", material.as_str().into()), ("thickness", thickness)]);
            last.push(("filling".to_owned(), value));
        }
        *all = kept;
    }
    Some(EditValue::Table(fields))
}

fn name_of(tier: &EditValue) -> Option<String> {
    Some(field(tier, "name")?.as_str()?.to_owned())
}

/// Names that a tier cannot have any more.
struct Taken<'a> {
    tiers: Vec<String>,
    /// Names of layers that stay.
    layers: &'a [String],
}

impl Taken<'_> {
    fn has(&self, name: &str) -> bool {
        let is_layer = |layer: &String| layer.strip_prefix(name).is_some_and(|rest| rest.starts_with(' '));
        self.tiers.iter().any(|tier| tier == name) || self.layers.iter().any(is_layer)
    }

    /// `tier` with its name, or with more words behind it as often as that is taken; it is taken from now on.
    fn renamed(&mut self, mut tier: EditValue, more: &str) -> EditValue {
        let (EditValue::Table(fields) | EditValue::InlineTable(fields)) = &mut tier else { return tier };
        for (_, value) in fields.iter_mut().filter(|(key, _)| key == "name") {
            let Some(given) = value.as_str() else { continue };
            let mut name = given.to_owned();
            // Of its own layers, which bear its name, it need not be told apart.
            let is_own = more == "above" && !self.tiers.contains(&name);
            while !is_own && self.has(&name) {
                name = format!("{name} {more}");
            }
            *value = name.as_str().into();
            self.tiers.push(name);
        }
        tier
    }
}
