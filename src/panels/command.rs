//! Everything that can be done from anywhere in the window: one table for menus, keys and help.

use egui::{Key, KeyboardShortcut, Modifiers};

use crate::session::Session;

/// Something to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Command {
    /// Begin another cake.
    New,
    /// Open a cake file.
    Open,
    /// Write the cake file.
    Save,
    /// Write it to another place.
    SaveAs,
    /// Close the window.
    Quit,
    /// Take the last step back.
    Undo,
    /// Do again what was taken back.
    Redo,
    /// Look for the pans and layers that hold the shape.
    FindStacks,
    /// Take the first of the stacks that were found.
    TakeStack,
    /// Make the bench kit of the saved cake.
    MakeKit,
    /// Show the keys and the words.
    Help,
}

/// The menu that a command stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Menu {
    /// Files.
    Cake,
    /// Steps.
    Edit,
    /// What explains itself.
    Help,
}

impl Menu {
    /// All, from left to right.
    pub const ALL: [Self; 3] = [Self::Cake, Self::Edit, Self::Help];

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cake => "Cake",
            Self::Edit => "Edit",
            Self::Help => "Help",
        }
    }
}

/// A row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    /// What is done.
    pub command: Command,
    /// Where it stands.
    pub menu: Menu,
    /// What it is called.
    pub name: &'static str,
    /// What it does, in one sentence.
    pub help: &'static str,
    /// The keys that do it.
    pub keys: Option<KeyboardShortcut>,
}

const fn ctrl(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::COMMAND, key))
}

const fn ctrl_shift(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), key))
}

/// The table, in the order of the menus.
pub const COMMANDS: &[Entry] = &[
    Entry {
        command: Command::New,
        menu: Menu::Cake,
        name: "New…",
        help: "Begin another cake: from a picture, a drawing, a model, an example, or a plain shape.",
        keys: ctrl(Key::N),
    },
    Entry {
        command: Command::Open,
        menu: Menu::Cake,
        name: "Open…",
        help: "Open a cake file.",
        keys: ctrl(Key::O),
    },
    Entry {
        command: Command::Save,
        menu: Menu::Cake,
        name: "Save",
        help: "Write the cake file.",
        keys: ctrl(Key::S),
    },
    Entry {
        command: Command::SaveAs,
        menu: Menu::Cake,
        name: "Save as…",
        help: "Write the cake, and the files that it names, to another place.",
        keys: ctrl_shift(Key::S),
    },
    Entry {
        command: Command::MakeKit,
        menu: Menu::Cake,
        name: "Make the bench kit",
        help: "Save the cake, and make its templates, cutting sheet and printed parts.",
        keys: ctrl(Key::K),
    },
    Entry {
        command: Command::Quit,
        menu: Menu::Cake,
        name: "Close",
        help: "Close the window; what is not saved is asked about first.",
        keys: ctrl(Key::Q),
    },
    Entry {
        command: Command::Undo,
        menu: Menu::Edit,
        name: "Undo",
        help: "Take the last step back.",
        keys: ctrl(Key::Z),
    },
    Entry {
        command: Command::Redo,
        menu: Menu::Edit,
        name: "Redo",
        help: "Do again what was taken back.",
        keys: ctrl_shift(Key::Z),
    },
    Entry {
        command: Command::FindStacks,
        menu: Menu::Edit,
        name: "Find the best stack",
        help: "Look for the pans and layers that hold the shape.",
        keys: ctrl(Key::F),
    },
    Entry {
        command: Command::TakeStack,
        menu: Menu::Edit,
        name: "Take the best stack",
        help: "Put the first of the stacks that were found into the cake.",
        keys: ctrl(Key::T),
    },
    Entry {
        command: Command::Help,
        menu: Menu::Help,
        name: "Keys and words",
        help: "Show what the keys do and what the words mean.",
        keys: Some(KeyboardShortcut::new(Modifiers::NONE, Key::F1)),
    },
];

impl Command {
    /// Whether it can be done now.
    pub fn is_possible(self, session: Option<&Session>) -> bool {
        match self {
            Self::New | Self::Open | Self::Quit | Self::Help => true,
            Self::Save => session.is_some_and(|session| session.is_new() || session.is_unsaved()),
            Self::SaveAs | Self::FindStacks | Self::TakeStack | Self::MakeKit => session.is_some(),
            Self::Undo => session.is_some_and(|session| session.undo_label().is_some()),
            Self::Redo => session.is_some_and(|session| session.redo_label().is_some()),
        }
    }

    /// Its name in a menu, with what it is about.
    pub fn name(self, session: Option<&Session>) -> String {
        let entry = COMMANDS.iter().find(|entry| entry.command == self);
        let name = entry.map_or("", |entry| entry.name);
        let about = session.and_then(|session| match self {
            Self::Undo => session.undo_label(),
            Self::Redo => session.redo_label(),
            _ => None,
        });
        about.map_or_else(|| name.to_owned(), |about| format!("{name}: {about}"))
    }
}

/// The commands whose keys were pressed in this frame, in the order of the table; the keys are used up.
pub fn pressed(ctx: &egui::Context) -> Vec<Command> {
    ctx.input_mut(|input| {
        // The longer ones first: Ctrl+Z is also part of Ctrl+Shift+Z.
        let mut entries: Vec<&Entry> = COMMANDS.iter().filter(|entry| entry.keys.is_some()).collect();
        entries.sort_by_key(|entry| entry.keys.is_none_or(|keys| !keys.modifiers.shift));
        entries
            .into_iter()
            .filter(|entry| entry.keys.is_some_and(|keys| input.consume_shortcut(&keys)))
            .map(|entry| entry.command)
            .collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_keys_and_no_names_stand_for_two_commands() {
        for (i, a) in COMMANDS.iter().enumerate() {
            for b in &COMMANDS[i + 1..] {
                assert_ne!(a.command, b.command);
                assert_ne!(a.name, b.name);
                assert!(a.keys.is_none() || a.keys != b.keys, "{} and {}", a.name, b.name);
            }
        }
    }
}
