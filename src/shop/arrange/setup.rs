//! A cake file and a pantry, made ready for the search.

use super::{
    ArrangeError,
    kept::Kept,
    label::MOST_PANS,
    needs::Needs,
    places::Places,
    problem::{Problem, Rules, Weights},
};
use cakefile::schema::{self, Size};
use geom::{
    Cancel, Solid,
    units::{Unit, UnitStyle},
};
use make::sheets::ShapeKind;
use plan::{
    PlanError, Planner, Quality, Source, Understood,
    carve::CarveError,
    design::{self, Design, MaterialKind, Operation},
    nothing_left,
    pantry::{DowelKind, Pan, Pantry},
};

/// Everything that a search starts from.
#[derive(Debug, Clone)]
pub struct Setup {
    /// The cake file, the pantry, and the files that both name.
    pub source: Source,
    /// The pantry, with what the cake file says of it.
    pub pantry: Pantry,
    /// The cake; a tier stands in where it has none.
    pub design: Design,
    /// What its carved shape needs.
    pub needs: Needs,
    /// What kind of shape it is.
    pub kind: ShapeKind,
    /// What stays of the layers that the file has.
    pub kept: Kept,
    /// Pans that may be used.
    pub pans: Vec<Pan>,
    /// The rules.
    pub rules: Rules,
    /// What slabs are baked of.
    pub sponge: String,
    /// Density of that, g/mL.
    pub density: f64,
    /// What lies between slabs; `None` for nothing.
    pub filling: Option<(String, f64)>,
    /// What boards are made of.
    pub board: String,
    /// What dowels are cut from.
    pub dowel: Option<DowelKind>,
    /// What a foot is pressed from.
    pub foot: Option<String>,
    /// The maker's unit.
    pub unit: Unit,
    /// How figures are written.
    pub style: UnitStyle,
    /// All coverings together, mm.
    pub coverings: f64,
    /// What is cut out of the carved shape, which no dowel may meet.
    pub cuts: Vec<Solid>,
    /// How exactly the shape is worked out, and stacks of it are planned.
    pub quality: Quality,
    /// Where pans and boards fit; no limit that is relaxed changes that.
    places: Places,
}

/// The cake in `source`; one tier stands in where it has none.
///
/// # Errors
/// Every problem of the file at once, or [`PlanError::Cancelled`].
pub fn resolved(planner: &Planner, source: &Source, cancel: &Cancel) -> Result<Understood, PlanError> {
    let understood = planner.understand(source, cancel, |cake, pantry| {
        if cake.tiers.is_empty() {
            cake.tiers.push(stand_in(pantry));
        }
    });
    cancel.check()?;
    Ok(understood?)
}

fn stand_in(pantry: &Pantry) -> schema::Tier {
    // Whatever the file's unit.
    let mm = |length: f64| Size::from(format!("{length} mm").as_str());
    let filling = schema::Filling {
        material: pantry.stacking.filling.0.clone(),
        thickness: mm(pantry.stacking.filling.1.max(0.1)),
    };
    schema::Tier {
        name: "stack".into(),
        board: None,
        dowels: None,
        filling: Some(filling.clone()),
        layers: vec![schema::Layer {
            name: None,
            pan: schema::Pan { round: Some(mm(100.0)), ..schema::Pan::default() },
            pieces: Vec::new(),
            height: mm(10.0),
            material: Some(pantry.stacking.sponge.clone()),
            offset: None,
            turn: None,
            bottom: None,
            filling: Some(filling),
        }],
    }
}

impl Setup {
    /// Reads the cake in `source` and looks at its carved shape.
    ///
    /// # Errors
    /// Every problem of the file at once, or [`PlanError::Cancelled`].
    pub fn new(planner: &Planner, source: &Source, cancel: &Cancel) -> Result<Self, PlanError> {
        Self::with_quality(planner, source, Quality::Full, cancel)
    }

    /// The same with the shape worked out and stacks planned as exactly as asked.
    ///
    /// # Errors
    /// As [`Setup::new`].
    pub fn with_quality(
        planner: &Planner,
        source: &Source,
        quality: Quality,
        cancel: &Cancel,
    ) -> Result<Self, PlanError> {
        let mut understood = resolved(planner, source, cancel)?;
        if quality == Quality::Draft {
            understood.make_coarse();
        }
        let Understood { design, pantry, .. } = understood;
        let file = &source.cake;
        let wrong = |error| match error {
            CarveError::NothingLeft(nothing) => nothing_left(file, &nothing).into(),
            CarveError::Cancelled(stopped) => PlanError::Cancelled(stopped),
            other => PlanError::Carve(other),
        };
        let lines = planner.lines(&design, cancel).map_err(wrong)?;
        let target = planner.target(&design, &lines, cancel).map_err(wrong)?;
        let stacking = &pantry.stacking;
        let step = in_marks(stacking.step, design.unit);
        let needs = Needs::new(&target.0, step / 2.0, design.preview, cancel)?;
        let layers = || design.tiers.iter().flat_map(|tier| &tier.layers);
        let sponge = layers()
            .map(|layer| &layer.material)
            .find(|material| material.kind == MaterialKind::Sponge)
            .cloned()
            .or_else(|| design::material::built_in(&stacking.sponge))
            .or_else(|| design::material::built_in("sponge"))
            .ok_or_else(|| PlanError::from(file.error(Vec::new())))?;
        let density = sponge.density;
        let filling = layers()
            .filter_map(|layer| layer.filling.as_ref())
            .map(|filling| (filling.material.name.clone(), filling.thickness))
            .next()
            .or_else(|| Some(stacking.filling.clone()))
            .filter(|(_, thickness)| *thickness > 0.0);
        let cut = pantry.boards.iter().find(|kind| kind.round.is_none());
        let kind = cut.or(pantry.boards.first());
        let board_sizes = match (cut, kind) {
            (Some(_), _) => Vec::new(),
            (None, Some(_)) => pantry.boards.iter().filter_map(|kind| kind.round).collect(),
            (None, None) => vec![0.0],
        };
        let kept = Kept::of(&design, filling.as_ref().map_or(0.0, |(_, thickness)| *thickness));
        let mut rules = Rules {
            step,
            mark: design.unit.ruler_mark(),
            thinnest: stacking.thinnest,
            shave: stacking.shave.unwrap_or(design.limits.spare),
            shave_top: stacking.shave_top,
            board_every: stacking.board_every,
            overhang: stacking.overhang,
            overhang_mm: design.limits.overhang,
            cover: design.limits.cover,
            board: kind.map_or(0.0, |kind| kind.thickness),
            board_sizes,
            filling: filling.as_ref().map_or(0.0, |(_, thickness)| *thickness),
            shortfall: stacking.shortfall,
            density,
            at_once: pantry.at_once,
            most_loads: pantry.most_loads,
            foot: 0.0,
            from: 0.0,
            to: kept.to,
            weights: Weights {
                offcut: 1.0,
                bake: stacking.bake_cost,
                load: stacking.load_cost,
                board: stacking.board_cost,
                overhang: stacking.overhang_cost,
                piece: stacking.piece_cost,
            },
        };
        if kept.on_board {
            rules.foot = kept.from;
        } else {
            rules.from = kept.from;
        }
        if stacking.foot.is_some() && kept.is_empty() {
            rules.foot = foot_height(&needs, &rules, stacking.undercut, stacking.foot_height);
        }
        let foot = stacking.foot.clone().filter(|_| rules.foot > 0.0 && kept.is_empty());
        let cuts = target.0.edits.iter().filter(|edit| edit.operation == Operation::Cut);
        let cuts = cuts.map(|edit| edit.solid.clone()).collect();
        let coverings = design.coverings.iter().map(|covering| covering.thickness).sum();
        Ok(Self {
            source: source.clone(),
            needs,
            kept,
            kind: ShapeKind::of_body(lines.is_turned(), &target.0),
            pans: pantry.pans.clone(),
            rules,
            sponge: sponge.name,
            density,
            filling,
            board: kind.map_or_else(|| "card board".into(), |kind| kind.material.clone()),
            dowel: thinnest(&pantry),
            foot,
            unit: design.unit,
            style: design.style,
            coverings,
            cuts,
            design,
            pantry,
            quality,
            places: Places::default(),
        })
    }

    /// Whether there are pans, and no more than a search takes.
    pub(super) fn check_pans(&self) -> Result<(), ArrangeError> {
        match self.pans.len() {
            0 => Err(ArrangeError::NoPans),
            count if count > MOST_PANS => Err(ArrangeError::ManyPans(count)),
            _ => Ok(()),
        }
    }

    /// Volume of the shape where sponge is arranged, mm³: all of it unless layers are kept.
    pub fn sponge_volume(&self, rules: &Rules) -> f64 {
        self.needs.volume_between(rules.from, rules.to.unwrap_or(self.needs.height))
    }

    /// The search for a stack of `pans` under `rules`.
    pub fn problem(&self, pans: &[Pan], rules: &Rules) -> Problem<'_> {
        Problem::new(&self.needs, pans.to_vec(), rules.clone()).with_places(&self.places)
    }
}

/// A step in which heights can be read off the maker's ruler, mm: in inches whole eighths, since a pantry may count in
/// millimetres.
fn in_marks(step: f64, unit: Unit) -> f64 {
    match unit {
        Unit::Inch => {
            let eighth = 2.0 * unit.ruler_mark();
            (step / eighth).round().max(1.0) * eighth
        }
        Unit::Millimetre | Unit::Centimetre => step,
    }
}

fn thinnest(pantry: &Pantry) -> Option<DowelKind> {
    pantry.dowels.iter().min_by(|a, b| a.diameter.total_cmp(&b.diameter)).cloned()
}

/// How high a foot must be: up to where less than `undercut` of the area above hangs free. 0 where no foot is
/// needed, or where it would be higher than `most`.
fn foot_height(needs: &Needs, rules: &Rules, undercut: f64, most: f64) -> f64 {
    let count = needs.count();
    let mut widest_above = vec![0.0_f64; count + 1];
    for i in (0..count).rev() {
        widest_above[i] = widest_above[i + 1].max(needs.area(i));
    }
    let hangs = |i: usize| 1.0 - needs.area(i) / widest_above[i].max(1e-9);
    if count == 0 || hangs(0) < undercut {
        return 0.0;
    }
    let end = (0..count).find(|&i| hangs(i) < undercut).unwrap_or(count);
    let end = if end < count { needs.heights(end).0 } else { needs.height };
    // Just to a ledge if there is one, else in whole steps.
    let ledge = needs.ledges().iter().any(|ledge| (ledge - end).abs() < 0.05);
    let height = if ledge { end } else { (end / rules.step - 1e-6).ceil() * rules.step };
    if height <= most && height < needs.height { height } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::arrange::{Aim, propose, search::Effort};
    use cakefile::{CakeFile, schema::Cake, world::Memory};
    use geom::{progress::NoProgress, units::MM_PER_INCH};

    /// Every height, offset and place of a dowel in a stack for a cake in inches is on a mark of a ruler in
    /// sixteenths, as far as the shape does not fix it: the pantry counts in millimetres.
    #[test]
    fn stacks_for_a_cake_in_inches_are_in_inches() {
        for (step, inches) in [(1.0, 0.125), (5.0, 0.25), (10.0, 0.375)] {
            assert!((in_marks(step, Unit::Inch) / MM_PER_INCH - inches).abs() < 1e-12, "{step}");
        }
        assert_eq!(in_marks(5.0, Unit::Centimetre), 5.0);
        let text = "crumbline = 1\nname = \"x\"\nunit = \"in\"\nboard = { round = 12, thickness = 0.5 }\n\
                    [shape.turned]\npoints = [[0, 0], [3.5, 0], [3.5, 4], [2.5, 9], [0, 9]]\n";
        let source = Source::new(CakeFile::from_text("x", "", text), Arc::new(Memory::default()));
        let aims = [Aim::Best];
        let (planner, cancel) = (Planner::new(), Cancel::new());
        let found = propose(&planner, &source, &aims, Effort::default(), &cancel, &NoProgress).unwrap();
        let proposal = &found.proposals[0];
        let cake: Cake = CakeFile::from_text("x", "", &proposal.text).parse().document.unwrap();
        let is_on_mark =
            |mm: f64| ((mm / Unit::Inch.ruler_mark()).round() * Unit::Inch.ruler_mark() - mm).abs() < 0.01;
        let mut measured = 0;
        let mut check = |mm: f64| {
            assert!(is_on_mark(mm), "{mm} in\n{}", proposal.text);
            measured += 1;
        };
        for tier in &cake.tiers {
            for place in tier.dowels.iter().flat_map(|dowels| dowels.at.iter().flatten().flatten()) {
                check(place.to_mm(Unit::Inch).unwrap());
            }
            for layer in &tier.layers {
                check(layer.height.to_mm(Unit::Inch).unwrap());
            }
        }
        assert!(measured > 4, "{}", proposal.text);
        assert!(!proposal.text.contains("height = \""), "{}", proposal.text);
    }
}
