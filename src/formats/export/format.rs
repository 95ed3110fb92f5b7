//! Which format a file name asks for.

use std::path::Path;

use super::ExportError;

/// A format for solids, chosen by the ending of a file name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Format {
    /// Binary STL: one surface, no colours, for printers.
    Stl,
    /// OBJ with its MTL: named and coloured parts, for pictures.
    Obj,
}

impl Format {
    /// Every format.
    pub const ALL: [Format; 2] = [Format::Stl, Format::Obj];

    /// Its file ending, without the dot.
    pub fn ending(self) -> &'static str {
        match self {
            Format::Stl => "stl",
            Format::Obj => "obj",
        }
    }

    /// The format that the ending of `path` names, in capitals or not.
    ///
    /// # Errors
    /// [`ExportError::UnknownEnding`] when there is no ending or no format of that ending.
    pub fn of(path: &Path) -> Result<Self, ExportError> {
        let ending = path.extension().unwrap_or_default().to_string_lossy();
        Self::ALL
            .into_iter()
            .find(|format| ending.eq_ignore_ascii_case(format.ending()))
            .ok_or_else(|| ExportError::UnknownEnding { path: path.to_owned() })
    }

    /// The endings that [`Format::of`] knows, as a list to read: ".stl or .obj".
    pub(super) fn endings() -> String {
        Self::ALL.map(|format| format!(".{}", format.ending())).join(" or ")
    }
}
