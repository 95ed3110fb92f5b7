//! The `crumbline` program.

fn main() {}
