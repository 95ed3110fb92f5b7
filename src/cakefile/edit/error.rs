//! Why a file cannot be edited so.

use crate::FieldPath;

/// Why an edit was refused. A refused edit changes nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EditError {
    /// The file is not TOML: there is nothing that a path could lead through.
    #[error("line {line}, column {column}: {message}")]
    Unreadable {
        /// Line of the first problem, from 1.
        line: usize,
        /// Character in the line, from 1.
        column: usize,
        /// What is wrong.
        message: String,
        /// How to fix it, where that can be said.
        help: Option<String>,
    },
    /// The path is empty.
    #[error("an edit needs the path of a value, and this one names the whole file")]
    WholeFile,
    /// There is no such value.
    #[error("there is no `{path}` in the file")]
    Missing {
        /// What was looked for.
        path: FieldPath,
    },
    /// The list is shorter.
    #[error("`{list}` has {length} {}, so there is no place {index}, counted from 0", if *length == 1 { "element" } else { "elements" })]
    BeyondEnd {
        /// The list.
        list: FieldPath,
        /// How much it holds.
        length: usize,
        /// The place that was asked for.
        index: usize,
    },
    /// There is such a value already.
    #[error("there is a `{path}` in the file already")]
    Exists {
        /// What was to be put in.
        path: FieldPath,
    },
    /// A key was looked for in something that has none.
    #[error("`{path}` is not a table, so it has no keys")]
    NotATable {
        /// The value.
        path: FieldPath,
    },
    /// A place was looked for in something that has none.
    #[error("`{path}` is not a list, so it has no places")]
    NotAList {
        /// The value.
        path: FieldPath,
    },
    /// Only tables stand below double brackets.
    #[error("`{list}` is a list of tables, so all that it holds must be tables")]
    OnlyTables {
        /// The list.
        list: FieldPath,
    },
    /// A value can be moved in its list or get another key in its table, and no more.
    #[error("`{from}` and `{to}` are not in the same list or table")]
    Apart {
        /// Where it is.
        from: FieldPath,
        /// Where it was to go.
        to: FieldPath,
    },
    /// The splice was made for another text.
    #[error("line {line} of the file is not what this edit was made for")]
    OtherText {
        /// Line of the first difference, from 1.
        line: usize,
    },
    /// The way in which the file is written leaves no place for the edit.
    #[error("`{path}` cannot be changed in the way in which the file is written")]
    NoPlace {
        /// What was to be changed.
        path: FieldPath,
    },
    /// One of many edits was refused.
    #[error("edit {number} of {count}: {error}")]
    Member {
        /// Which one, from 1.
        number: usize,
        /// How many there are.
        count: usize,
        /// Why.
        error: Box<EditError>,
    },
}

impl EditError {
    /// How to fix it.
    pub fn fix(&self) -> String {
        match self {
            Self::Unreadable { help, .. } => {
                help.clone().unwrap_or_else(|| "correct that line by hand first".to_owned())
            }
            Self::WholeFile => "name a value, or replace the text".to_owned(),
            Self::Missing { .. } => "check the path, or put the value in first".to_owned(),
            Self::BeyondEnd { length, .. } => {
                format!("take a place from 0 to {}", length.saturating_sub(1))
            }
            Self::Exists { .. } => "set it, or take it out first".to_owned(),
            Self::NotATable { path } => {
                format!("set `{path}` to a table first; of a list, say which element, as `{path}[0]`")
            }
            Self::NotAList { path } => format!("set `{path}` to a list first"),
            Self::OnlyTables { .. } => "put a table in".to_owned(),
            Self::Apart { .. } => "put it in at the new place and take it out at the old one".to_owned(),
            Self::OtherText { .. } => "take the edits back in the order in which they were made".to_owned(),
            Self::NoPlace { .. } => "edit that part of the file by hand".to_owned(),
            Self::Member { error, .. } => error.fix(),
        }
    }
}
