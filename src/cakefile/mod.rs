//! Cake files: text in, syntax as written out. Applies no defaults and builds no geometry.

mod diagnostic;
mod quantity;
pub mod schema;

pub use diagnostic::{Diagnostic, FieldPath, Severity, Step};
