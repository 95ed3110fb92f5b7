//! Outlines from text and from drawings.
