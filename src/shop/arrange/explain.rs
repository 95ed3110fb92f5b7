//! Why there is no stack, in the maker's words, and the nearest one that there is.

use super::{
    fit,
    needs::{Needs, Shadow, corners},
    pieces,
    problem::{Rules, microns},
    search::{Effort, Found, any_stack, is_feasible, search},
    setup::Setup,
};
use geom::{Cancel, Cancelled};
use plan::pantry::{Pan, PanShape, Trouble};

/// The first reason why `setup` has no stack, and rules under which it has one, if relaxing a limit is enough.
///
/// # Errors
/// [`Cancelled`] once `cancel` asks to stop.
pub fn nearest(
    setup: &Setup,
    effort: Effort,
    cancel: &Cancel,
) -> Result<(Trouble, Option<Rules>), Cancelled> {
    if let Some(trouble) = too_small(setup) {
        return Ok((trouble, None));
    }
    let style = setup.style;
    let works = |rules: &Rules| -> Result<bool, Cancelled> {
        Ok(is_feasible(&setup.problem(&setup.pans, rules), effort, cancel)? == Some(true))
    };
    let if_it_works =
        |rules: Rules| -> Result<Option<Rules>, Cancelled> { Ok(works(&rules)?.then_some(rules)) };
    let rules = &setup.rules;
    if rules.foot > 0.0 && setup.problem(&setup.pans, rules).board_at(microns(rules.foot)).is_none() {
        let trouble = Trouble {
            code: "no-board-on-foot",
            about: plan::pantry::About::Nothing,
            message: format!("no board fits on top of a foot {} high", style.length(rules.foot)),
            fix: "widen the neck there, or ask for no foot ([pantry.stacking] foot = \"none\")".into(),
        };
        let without = Rules { foot: 0.0, overhang: 1.0, ..rules.clone() };
        return Ok((trouble, if_it_works(without)?));
    }
    let free = Rules { overhang: 10.0, ..rules.clone() };
    if let Some(most) = overhang_found(setup, &free, effort, cancel)? {
        let share = f64::from(least_overhang(setup, most, effort, cancel)?) / 100.0;
        let trouble = Trouble {
            code: "overhang",
            about: plan::pantry::About::Nothing,
            message: format!(
                "what is carved of a layer has to hang {:.0} % of its half width over what carries it; {:.0} % is \
                 allowed",
                100.0 * share,
                100.0 * rules.overhang
            ),
            fix: format!(
                "build the undercut foot of something firm ([pantry.stacking] foot = \"cereal treat\"), carve that \
                 part upside down on a board of its own, or allow overhang = {share}"
            ),
        };
        let relaxed = Rules { overhang: share, ..rules.clone() };
        return Ok((trouble, if_it_works(relaxed)?));
    }
    let tall = Rules { board_every: setup.needs.height + 100.0, ..free.clone() };
    if works(&tall)? {
        let trouble = Trouble {
            code: "no-room-for-boards",
            about: plan::pantry::About::Nothing,
            message: format!(
                "boards cannot be placed every {}: the shape leaves no room for one where it is needed",
                style.length(rules.board_every)
            ),
            fix: "allow boards further apart, use thinner layers, or add a kind of board to the pantry"
                .into(),
        };
        let relaxed = Rules { board_every: tall.board_every, ..rules.clone() };
        return Ok((trouble, Some(if works(&relaxed)? { relaxed } else { tall })));
    }
    if let Some(most) = rules.most_loads {
        let more = Rules { most_loads: None, ..tall.clone() };
        if let Some(found) = search(&setup.problem(&setup.pans, &more), effort, cancel)? {
            let trouble = Trouble {
                code: "too-many-loads",
                about: plan::pantry::About::Nothing,
                message: format!("it takes {} oven loads; at most {most} are allowed", found.loads),
                fix: "allow more loads, buy a second pan of a size, or bake on two days".into(),
            };
            let relaxed = Rules { most_loads: None, ..rules.clone() };
            return Ok((trouble, Some(if works(&relaxed)? { relaxed } else { more })));
        }
    }
    let trouble = Trouble {
        code: "no-stack",
        about: plan::pantry::About::Nothing,
        message: "no stack of these pans holds the carved shape within the limits".into(),
        fix: "allow thinner layers, less to spare or smaller steps ([pantry.stacking]), or add pans".into(),
    };
    Ok((trouble, None))
}

/// The largest overhang of a stack under `rules`, in whole per cent of a slab's half width; `None` where none is found.
fn overhang_found(
    setup: &Setup,
    rules: &Rules,
    effort: Effort,
    cancel: &Cancel,
) -> Result<Option<u32>, Cancelled> {
    /// Less than this of a per cent is round-off.
    const ROUND_OFF: f64 = 1e-7;
    let (found, _) = any_stack(&setup.problem(&setup.pans, rules), effort, cancel)?;
    let most = |found: Found| found.slabs.iter().map(|slab| slab.overhang_share).fold(0.0, f64::max);
    Ok(found.map(|found| (100.0 * most(found) - ROUND_OFF).ceil() as u32))
}

/// The least overhang that will do, in whole per cent, where there is a stack with `most`. Two limits are tried at once,
/// and each stack that is found lowers what is known to do as far as it goes itself.
fn least_overhang(setup: &Setup, most: u32, effort: Effort, cancel: &Cancel) -> Result<u32, Cancelled> {
    let tried = |limit: u32| {
        let rules = Rules { overhang: f64::from(limit) / 100.0, ..setup.rules.clone() };
        overhang_found(setup, &rules, effort, cancel)
    };
    let mut low = (setup.rules.overhang * 100.0).floor() as u32;
    let mut high = most.max(low + 1);
    while low + 1 < high {
        let third = ((high - low) / 3).max(1);
        let limits = [low + third, (low + 2 * third).min(high - 1)];
        let (one, two) = rayon::join(|| tried(limits[0]), || tried(limits[1]));
        for (limit, found) in limits.into_iter().zip([one?, two?]) {
            match found {
                Some(share) => high = high.min(share.min(limit)),
                None => low = low.max(limit),
            }
        }
    }
    Ok(high)
}

/// The height at which no pan is large enough, with what would do.
fn too_small(setup: &Setup) -> Option<Trouble> {
    let needs = &setup.needs;
    let rules = &setup.rules;
    let problem = setup.problem(&setup.pans, rules);
    // The lowest slab stands on the foot.
    let from = needs.cells(rules.foot, needs.height).0;
    let holds = |i: usize| {
        let (low, high) = needs.heights(i);
        (0..setup.pans.len()).any(|p| !problem.is_dome(p) && problem.fit(p, low, high).is_some())
    };
    let wrong: Vec<usize> = (from..needs.count()).filter(|&i| !holds(i)).collect();
    let widest = wrong.iter().copied().max_by(|a, b| needs.reach(*a).total_cmp(&needs.reach(*b)))?;
    let style = setup.style;
    let (radius, size) = wanted(needs, widest, rules.shave);
    let largest = setup.pans.iter().max_by(|a, b| a.shape.area().total_cmp(&b.shape.area()));
    let scale = largest.map_or(0.0, |pan| scale_that_fits(pan, radius, rules.shave, setup.coverings));
    let (first, last) = (needs.heights(wrong[0]).0, needs.heights(wrong[wrong.len() - 1]).1);
    let have = largest.map_or_else(|| "none".into(), |pan| pan.shape.name(setup.unit));
    Some(Trouble {
        code: "no-pan-large-enough",
        about: plan::pantry::About::Nothing,
        message: format!(
            "no pan is large enough from height {} to {}: the largest is {have}",
            style.length(first),
            style.length(last)
        ),
        fix: format!(
            "the smallest round pan that would do there is {}, {} to carve off at the side counted; or make the cake smaller: it \
             fits at {:.0} % of its size",
            style.length(size),
            style.length(rules.shave),
            (100.0 * scale).floor()
        ),
    })
}

/// The greatest scale, in whole hundredths, at which some pan holds each part of the shape, and the name of the largest pan;
/// `None` where layers of pieces may do without, or where no scale is too great.
pub fn outgrown(setup: &Setup) -> Option<(u32, String)> {
    /// Scales that are looked at, in hundredths.
    const RANGE: (u32, u32) = (1, 1000);
    if pieces::are_looked_for(setup) {
        return None;
    }
    let (needs, rules, coats) = (&setup.needs, &setup.rules, setup.coverings);
    let largest = setup.pans.iter().max_by(|a, b| a.shape.area().total_cmp(&b.shape.area()))?;
    let holds = |hundredths: u32| {
        // The finished shape grows, its coats do not.
        let grown = |r: f64| f64::from(hundredths) / 100.0 * (r + coats) - coats;
        let fits = |shadow: &Shadow| {
            setup.pans.iter().any(|pan| fit::place(pan.shape, shadow, rules.shave, rules.mark).is_some())
        };
        (0..needs.count()).filter_map(|i| needs.shadow((i, i + 1))).all(|shadow| {
            fits(&match shadow {
                Shadow::Disc(r) => Shadow::Disc(grown(r)),
                Shadow::Any(reach) => Shadow::Any(Box::new(reach.map(grown))),
            })
        })
    };
    let (mut low, mut high) = RANGE;
    if holds(high) || !holds(low) {
        return None;
    }
    while high - low > 1 {
        let half = (low + high) / 2;
        if holds(half) { low = half } else { high = half }
    }
    Some((low, largest.shape.name(setup.unit)))
}

/// Radius that one cell needs about its own middle, and the diameter of a round pan that holds it.
fn wanted(needs: &Needs, cell: usize, shave: f64) -> (f64, f64) {
    let radius = match needs.shadow((cell, cell + 1)) {
        Some(Shadow::Disc(r)) => r,
        Some(Shadow::Any(reach)) => fit::smallest_circle(&corners(&reach)).1,
        None => 0.0,
    };
    (radius, 2.0 * (radius + shave))
}

/// At which scale a part of this carved radius fits the pan: shapes scale, coverings do not.
fn scale_that_fits(pan: &Pan, radius: f64, shave: f64, coverings: f64) -> f64 {
    let inside = match pan.shape {
        PanShape::Round(d) | PanShape::HalfBall(d) => d / 2.0,
        PanShape::Rectangle(w, d) => w.min(d) / 2.0,
    };
    ((inside - shave + coverings) / (radius + coverings)).clamp(0.0, 1.0)
}
