//! Files out.
