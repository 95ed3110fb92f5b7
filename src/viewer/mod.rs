//! The window and the pictures.
