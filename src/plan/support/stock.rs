//! What the advice may call for: materials that every shop has, and the thicknesses that dowels are sold in.

use crate::design::{Material, material};

/// Thicknesses that dowels are sold in, mm (common practice, no source).
pub const DOWEL_DIAMETERS: [f64; 5] = [6.0, 8.0, 10.0, 12.0, 16.0];

/// Thickness of a centre dowel where there is none yet, mm (common practice, no source).
pub const CENTRE_DOWEL_DIAMETER: f64 = 12.0;

/// How much wider the hole for a centre dowel is than the dowel, mm (common practice, no source).
pub const HOLE_CLEARANCE: f64 = 2.0;

/// Thickness of a board that is put in, mm (common practice, no source).
pub const BOARD_THICKNESS: f64 = 4.0;

/// The stiffest board material.
pub fn stiff_board() -> Option<Material> {
    material::built_in("plywood board")
}

/// Thickness of plywood for a presentation board with a dowel screwed to it, mm.
pub const SCREWED_BOARD: f64 = 12.0;

/// The usual dowel material.
pub fn wood() -> Option<Material> {
    material::built_in("wooden dowel")
}
