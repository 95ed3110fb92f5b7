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
    /// Binary glTF: named and coloured parts in true size, for pages and phones.
    Glb,
    /// USDZ: the same for phones and tablets that do not show glTF.
    Usdz,
}

impl Format {
    /// Every format.
    pub const ALL: [Format; 4] = [Format::Stl, Format::Obj, Format::Glb, Format::Usdz];

    /// Whether it is for the client: what it shows is the cake as it is served.
    pub fn is_for_client(self) -> bool {
        matches!(self, Format::Glb | Format::Usdz)
    }

    /// Its file ending, without the dot.
    pub fn ending(self) -> &'static str {
        match self {
            Format::Stl => "stl",
            Format::Obj => "obj",
            Format::Glb => "glb",
            Format::Usdz => "usdz",
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

    /// The endings that [`Format::of`] knows, as a list to read: ".stl, .obj, .glb or .usdz".
    pub(super) fn endings() -> String {
        let [first @ .., last] = Self::ALL.map(|format| format!(".{}", format.ending()));
        format!("{} or {last}", first.join(", "))
    }
}
