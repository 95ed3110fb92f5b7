//! Outlines from text and from drawings.

pub mod svg;
