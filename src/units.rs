//! Length, angle, mass and volume units.
