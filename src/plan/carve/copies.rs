//! Solids of details that stand in several places: on a turned shape those that differ by a turn about the axis alone are
//! one solid, made once and turned.

use glam::DAffine3;
use rayon::prelude::*;

use crate::design::Detail;
use geom::{Solid, real};

/// A solid for each of `details`, by their place in `all`; `make` is asked once for those that are the same but for a turn
/// about the axis, if the shape is `turned`.
///
/// # Errors
/// The first that `make` tells.
pub fn solids<E: Send>(
    all: &[Detail],
    details: &[usize],
    turned: bool,
    make: impl Fn(&Detail) -> Result<Solid, E> + Sync,
) -> Result<Vec<Solid>, E> {
    let made: Vec<Option<Solid>> = details
        .par_iter()
        .map(|&index| {
            match turned && first_of(all, index).is_some_and(|(first, _)| details.contains(&first)) {
                true => Ok(None),
                false => make(&all[index]).map(Some),
            }
        })
        .collect::<Result<_, E>>()?;
    let known =
        |index: usize| details.iter().position(|other| *other == index).and_then(|at| made[at].as_ref());
    let solid = |(at, &index): (usize, &usize)| match (&made[at], first_of(all, index)) {
        (Some(solid), _) => solid.clone(),
        (None, Some((first, turn))) => {
            let frame = DAffine3::from_mat3(real::rotation_z(turn.to_radians()));
            known(first).map_or_else(Solid::empty, |solid| solid.placed(&frame))
        }
        (None, None) => Solid::empty(),
    };
    Ok(details.iter().enumerate().map(solid).collect())
}

/// The first of the places of a detail that is this one but for a turn about the axis, and by how many degrees.
fn first_of(all: &[Detail], index: usize) -> Option<(usize, f64)> {
    let copy = all[index].copy.filter(|copy| copy.number > 1)?;
    let first = index.checked_sub(copy.number as usize - 1)?;
    Some((first, copy.turned?))
}
