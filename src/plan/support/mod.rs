//! Will it stand, and will it travel: an estimate of what carries what, to be checked by a practised person.
//!
//! A [`Case`] is a stack with its masses and what is asked of it. Each kind of check has a file that makes [`Check`]s
//! out of it: a margin (how many times it holds), what margin is needed, the rule and its source. [`Support`]
//! is what all of them say together. Where the calculation and a rule of the trade differ, the more cautious of
//! the two decides, and the check says which.
//!
//! It refuses nothing: whatever it cannot judge is a check of its own that says so, or stands in
//! [`NOT_COVERED`].
//!
//! Files use only files in rows above their own:
//!
//! ```text
//! formulas, words   gravity  rule  code  wording  stock  strut  share  plate
//! what is checked   check  masses
//! the load case     carved (masses) ─► levels (share) ─► case
//! what dowels bear  capacity (strut, share)
//! checks            standing  sponge  boards (plate)  dowels (boards, capacity)  warmth  hazards
//!                   carving (standing)  journey (standing, capacity)  slip (journey)
//! all of them       checks
//! what fixes them   circle (capacity) ─► change ─► trials ─► advice (checks)
//! the estimate      estimate
//! ```

mod advice;
mod boards;
mod capacity;
mod carved;
mod carving;
mod case;
mod change;
mod check;
mod checks;
mod circle;
mod code;
mod dowels;
mod estimate;
mod gravity;
mod hazards;
mod journey;
mod levels;
mod masses;
pub mod plate;
mod rule;
pub mod share;
mod slip;
mod sponge;
mod standing;
mod stock;
pub mod strut;
mod trials;
mod warmth;
mod wording;

pub use carved::CarvedCake;
pub use case::Case;
pub use check::{Answer, Check, NOT_COVERED, Question};
pub use circle::Advised;
pub use code::CheckCode;
pub use estimate::{Carried, Support, Weight};
pub use gravity::{GRAVITY, weight};
pub use hazards::{HiddenCount, Spot};
pub use journey::Event;
pub use levels::{Level, Misfit};
pub use masses::{Masses, Stage, Volumes};
pub use rule::{Basis, Rule};
pub use wording::{capital, on_its_own, warmth};
