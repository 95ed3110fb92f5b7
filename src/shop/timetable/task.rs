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
    /// A load is mixed and baked.
    Bake {
        /// How many bakes.
        bakes: usize,
        /// Of what.
        of: Vec<String>,
        /// Which load it is, from 1.
        load: u32,
        /// Of how many.
        loads: u32,
        /// Minutes in the oven.
        minutes: u32,
        /// Temperature of the oven without its fan, °C.
        celsius: Option<u32>,
    },
    /// This ganache is made.
    Ganache(String),
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
    /// It is covered with marzipan, or what is like it.
    Marzipan(Vec<String>),
    /// Details are pressed in at once after this coat, while it is soft.
    Press(Box<Self>),
    /// Details are put on.
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
    /// Ganache comes to the firmness that it is used at.
    Standing,
    /// A coat sets.
    Setting,
    /// Marzipan dries.
    Skinning,
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
            Self::Press(coat) => coat.wait(),
            Self::Ganache(_) => Some(Wait::Standing),
            Self::Marzipan(_) => Some(Wait::Skinning),
            Self::Prepare | Self::Level | Self::Carve | Self::Details | Self::Box | Self::Travel => None,
        }
    }
}

impl fmt::Display for Task {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Model => f.write_str("model the paste parts"),
            Self::Prepare => f.write_str("shop, weigh, line the pans"),
            Self::Bake { bakes, of, load, loads, minutes, celsius } => {
                let many = if *bakes == 1 { "" } else { "s" };
                write!(
                    f,
                    "bake load {load} of {loads}: {bakes} bake{many} of {}, {minutes} min",
                    of.join(" and ")
                )?;
                match celsius {
                    Some(celsius) => write!(f, " at {}", Oven(*celsius)),
                    None => Ok(()),
                }
            }
            Self::Ganache(material) => write!(f, "make the {material}"),
            Self::Marzipan(materials) => write!(f, "cover with {}", materials.join(" and ")),
            Self::Press(coat) => write!(f, "{coat}, and press in the details at once, while it is soft"),
            Self::Level => f.write_str("level, split, cut boards and dowels"),
            Self::Fill => f.write_str("fill and stack"),
            Self::Carve => f.write_str("carve, cold"),
            Self::Coat(material) => write!(f, "coat with {material}"),
            Self::Cover(materials) => write!(f, "cover with {}", materials.join(" and ")),
            Self::Details => f.write_str("put on the details"),
            Self::Box => f.write_str("box it"),
            Self::Travel => f.write_str("travel"),
        }
    }
}

/// The temperature of an oven without its fan, °C, as ovens show it: °C, with the fan 20 °C less, °F in steps of 25,
/// and the British gas mark, 25 °F each from 1 at 275 °F (common practice, no source).
struct Oven(u32);

impl fmt::Display for Oven {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let steps = ((f64::from(self.0) * 1.8 + 32.0) / 25.0).round() as u32;
        write!(f, "{} °C (fan {} °C, {} °F", self.0, self.0.saturating_sub(20), 25 * steps)?;
        match steps.checked_sub(10) {
            Some(mark @ 1..=9) => write!(f, ", gas {mark})"),
            _ => f.write_str(")"),
        }
    }
}

impl fmt::Display for Wait {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Drying => "the parts dry",
            Self::Cooling => "the bakes cool, then chill",
            Self::Settling => "the stack settles, then firms up in the cold",
            Self::Standing => "the ganache stands until it spreads",
            Self::Setting => "the coat sets",
            Self::Skinning => "the marzipan dries",
            Self::Resting => "the icing rests",
        })
    }
}

impl Serialize for Task {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of the conversion tables that cookery books print.
    #[test]
    fn ovens_are_told_in_every_scale() {
        for (celsius, told) in [
            (140, "140 °C (fan 120 °C, 275 °F, gas 1)"),
            (150, "150 °C (fan 130 °C, 300 °F, gas 2)"),
            (160, "160 °C (fan 140 °C, 325 °F, gas 3)"),
            (180, "180 °C (fan 160 °C, 350 °F, gas 4)"),
            (220, "220 °C (fan 200 °C, 425 °F, gas 7)"),
            (100, "100 °C (fan 80 °C, 200 °F)"),
        ] {
            assert_eq!(Oven(celsius).to_string(), told);
        }
    }
}
