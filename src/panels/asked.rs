//! What a panel asks for.

use cakefile::{FieldPath, edit::Edit};
use glam::DVec3;

use crate::workshop::Tab;

/// Something that was asked for in a panel.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// A change of the cake file.
    Edit {
        /// What it is called in the menu.
        label: String,
        /// The change.
        edit: Edit,
        /// Whether it is part of a gesture that goes on until the pointer is released: undone at once.
        is_gesture: bool,
    },
    /// A value is selected, or none.
    Select(Option<FieldPath>),
    /// A file is chosen for the value at this path, among those that end so; it comes to lie beside the cake.
    ChooseFile(FieldPath, &'static [&'static str]),
    /// The eye goes to a place on the cake, mm.
    LookAt(DVec3),
    /// A panel is shown.
    Show(Tab),
    /// Stacks are looked for.
    FindStacks,
}

impl Asked {
    /// A change that is complete.
    pub fn edit(label: impl Into<String>, edit: Edit) -> Self {
        Self::Edit { label: label.into(), edit, is_gesture: false }
    }

    /// A change that is part of a gesture.
    pub fn gesture(label: impl Into<String>, edit: Edit) -> Self {
        Self::Edit { label: label.into(), edit, is_gesture: true }
    }
}
