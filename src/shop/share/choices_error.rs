//! Why a text of choices is not read, and what to do about it.

/// Why a text is not read. Lines are counted from 1.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ChoicesError {
    /// There are no choices in it.
    #[error("there is no line \"[choices ...]\" in it")]
    None,
    /// They are cut off.
    #[error("the line \"[end of choices]\" is missing after line {line}")]
    NoEnd {
        /// The last line that there is.
        line: usize,
    },
    /// There are two, which differ.
    #[error("line {line}: there is more than one text of choices, and they differ")]
    Several {
        /// Where the second one begins.
        line: usize,
    },
    /// They are for another cake.
    #[error("line {line}: it is for \"{theirs}\", and this cake is \"{ours}\"")]
    OtherCake {
        /// Where that is said.
        line: usize,
        /// The cake that they are for.
        theirs: String,
        /// The cake that they are read for.
        ours: String,
    },
    /// They come from a page of the cake as it was before.
    #[error("line {line}: it answers the page {theirs}, and the page of this cake is now {ours}")]
    Earlier {
        /// Where that is said.
        line: usize,
        /// The mark of their page.
        theirs: String,
        /// The mark of the cake as it is.
        ours: String,
    },
    /// A line says nothing that can be chosen.
    #[error("line {line}: \"{text}\" is nothing that is offered")]
    Unknown {
        /// Which line.
        line: usize,
        /// What it says.
        text: String,
    },
    /// Something is chosen that is not offered.
    #[error("line {line}: \"{chosen}\" is not offered for {what}")]
    NotOffered {
        /// Which line.
        line: usize,
        /// What it is chosen for.
        what: String,
        /// What was chosen.
        chosen: String,
        /// What is offered.
        offered: Vec<String>,
    },
    /// Something is chosen twice.
    #[error("line {line}: {what} is chosen twice")]
    Twice {
        /// Which line.
        line: usize,
        /// What.
        what: String,
    },
    /// A choice is missing.
    #[error("the line of {what} is missing")]
    Missing {
        /// What was not chosen.
        what: String,
    },
}

impl ChoicesError {
    /// How to fix it.
    pub fn fix(&self) -> String {
        match self {
            Self::None => "copy the client's whole text into the file, from \"[choices\" on".into(),
            Self::NoEnd { .. } | Self::Missing { .. } | Self::Unknown { .. } | Self::Twice { .. } => {
                "copy the client's whole text again, as the page wrote it, or ask the client to send it again"
                    .into()
            }
            Self::Several { .. } => "leave only the text that counts".into(),
            Self::OtherCake { .. } => "name the cake file that the client's page was made from".into(),
            Self::Earlier { .. } => {
                "look at what has changed since, and add --earlier to take the choices all the same".into()
            }
            Self::NotOffered { offered, .. } => format!("choose from: {}", offered.join(", ")),
        }
    }
}
