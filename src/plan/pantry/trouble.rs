//! What the pantry does not fit, with the fix.

/// Something that keeps a stack or an amount from being as it should.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Trouble {
    /// A short stable name for programs.
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
    /// How to fix it.
    pub fix: String,
}
