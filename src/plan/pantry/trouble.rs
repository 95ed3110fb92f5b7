//! What the pantry does not fit, with the fix.

use super::PanShape;

/// Something that keeps a stack or an amount from being as it should.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Trouble {
    /// A short stable name for programs.
    pub code: &'static str,
    /// What it is about, to be named in any language.
    #[serde(skip)]
    pub about: About,
    /// What is wrong.
    pub message: String,
    /// How to fix it.
    pub fix: String,
}

/// What a [`Trouble`] is about.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum About {
    /// Nothing that has a name.
    #[default]
    Nothing,
    /// A pan.
    Pan(PanShape),
    /// Materials or goods.
    Names(Vec<String>),
}
