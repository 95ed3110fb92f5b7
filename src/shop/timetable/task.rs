//! What is done, and what is waited for after it.

use std::fmt;

use serde::{Serialize, Serializer};

/// What a step of the timetable does.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Task {
    /// Parts of paste are modelled.
    Model,
    /// Shopping and weighing; pans are lined.
    Prepare,
    /// Bakes are mixed and baked.
    Bake {
        /// How many.
        bakes: usize,
        /// In how many oven loads.
        loads: u32,
    },
    /// Bakes are levelled and split, boards and dowels cut.
    Level,
    /// Layers are filled and stacked.
    Fill,
    /// The stack is carved.
    Carve,
    /// A coat of this material is laid on.
    Coat(String),
    /// It is covered with these materials.
    Cover(Vec<String>),
    /// Details are put on and pressed in.
    Details,
    /// It is boxed.
    Box,
    /// It is taken to the client.
    Travel,
}

/// What is waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wait {
    /// Modelled parts dry.
    Drying,
    /// Bakes cool and chill.
    Cooling,
    /// The stack settles and firms up.
    Settling,
    /// A coat sets.
    Setting,
    /// The icing rests.
    Resting,
}

impl Task {
    /// What is waited for after it, if anything is.
    pub fn wait(&self) -> Option<Wait> {
        match self {
            Self::Model => Some(Wait::Drying),
            Self::Bake { .. } => Some(Wait::Cooling),
            Self::Fill => Some(Wait::Settling),
            Self::Coat(_) => Some(Wait::Setting),
            Self::Cover(_) => Some(Wait::Resting),
            Self::Prepare | Self::Level | Self::Carve | Self::Details | Self::Box | Self::Travel => None,
        }
    }
}

impl fmt::Display for Task {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Model => f.write_str("model the paste parts"),
            Self::Prepare => f.write_str("shop, weigh, line the pans"),
            Self::Bake { bakes, loads } => {
                write!(f, "bake {bakes} in {loads} oven load{}", if *loads == 1 { "" } else { "s" })
            }
            Self::Level => f.write_str("level, split, cut boards and dowels"),
            Self::Fill => f.write_str("fill and stack"),
            Self::Carve => f.write_str("carve, cold"),
            Self::Coat(material) => write!(f, "coat with {material}"),
            Self::Cover(materials) => write!(f, "cover with {}", materials.join(" and ")),
            Self::Details => f.write_str("put on and press in the details"),
            Self::Box => f.write_str("box it"),
            Self::Travel => f.write_str("travel"),
        }
    }
}

impl fmt::Display for Wait {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Drying => "the parts dry",
            Self::Cooling => "the bakes cool, then chill",
            Self::Settling => "the stack settles, then firms up in the cold",
            Self::Setting => "the coat sets",
            Self::Resting => "the icing rests",
        })
    }
}

impl Serialize for Task {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
