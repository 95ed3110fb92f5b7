//! What is done, and what is waited for after it.

use std::fmt;

use make::language::{Language, filled};
use serde::{Serialize, Serializer};

/// What a step of the timetable does.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Task {
    /// Parts of paste are modelled.
    Model,
    /// The presentation board is covered with this material.
    Board(String),
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
    /// It is painted and dusted.
    Finish,
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
    /// The icing of the board dries.
    BoardDrying,
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
    /// What is painted on dries.
    Painted,
}

impl Task {
    /// What is waited for after it, if anything is.
    pub fn wait(&self) -> Option<Wait> {
        match self {
            Self::Model => Some(Wait::Drying),
            Self::Board(_) => Some(Wait::BoardDrying),
            Self::Bake { .. } => Some(Wait::Cooling),
            Self::Fill => Some(Wait::Settling),
            Self::Coat(_) => Some(Wait::Setting),
            Self::Cover(_) => Some(Wait::Resting),
            Self::Press(coat) => coat.wait(),
            Self::Ganache(_) => Some(Wait::Standing),
            Self::Marzipan(_) => Some(Wait::Skinning),
            Self::Finish => Some(Wait::Painted),
            Self::Prepare | Self::Level | Self::Carve | Self::Details | Self::Box | Self::Travel => None,
        }
    }
}

impl Task {
    /// What it is called in `language`; its materials are named as they stand in it.
    pub fn told(&self, language: &Language) -> String {
        let words = &language.timetable;
        let material = |form: &str, material: &str| filled(form, &[("material", material)]);
        let all = |materials: &[String]| {
            let told = materials.iter().fold(String::new(), |first, last| match first.as_str() {
                "" => last.clone(),
                first => filled(&language.join.both, &[("first", first), ("last", last)]),
            });
            filled(&words.cover, &[("materials", &told)])
        };
        match self {
            Self::Model => words.model.clone(),
            Self::Board(name) => material(&words.board, name),
            Self::Prepare => words.prepare.clone(),
            Self::Bake { bakes, of, load, loads, minutes, celsius } => {
                let form = if *bakes == 1 { &words.one_bake } else { &words.bakes };
                let bakes = filled(form, &[("count", &bakes.to_string())]);
                let oven = celsius.map(|celsius| oven(celsius, language));
                let form = if oven.is_some() { &words.bake_at } else { &words.bake };
                filled(
                    form,
                    &[
                        ("load", &load.to_string()),
                        ("loads", &loads.to_string()),
                        ("bakes", &bakes),
                        ("materials", &language.joined(of)),
                        ("minutes", &minutes.to_string()),
                        ("oven", &oven.unwrap_or_default()),
                    ],
                )
            }
            Self::Ganache(name) => material(&words.ganache, name),
            Self::Marzipan(materials) | Self::Cover(materials) => all(materials),
            Self::Press(coat) => filled(&words.press, &[("coat", &coat.told(language))]),
            Self::Level => words.level.clone(),
            Self::Fill => words.fill.clone(),
            Self::Carve => words.carve.clone(),
            Self::Coat(name) => material(&words.coat, name),
            Self::Details => words.details.clone(),
            Self::Finish => words.finish.clone(),
            Self::Box => words.r#box.clone(),
            Self::Travel => words.travel.clone(),
        }
    }
}

/// The temperature of an oven without its fan, °C, as ovens show it: °C, with the fan 20 °C less, °F in steps of 25,
/// and the British gas mark, 25 °F each from 1 at 275 °F (common practice, no source).
fn oven(celsius: u32, language: &Language) -> String {
    let steps = ((f64::from(celsius) * 1.8 + 32.0) / 25.0).round() as u32;
    let mark = steps.checked_sub(10).filter(|mark| (1..=9).contains(mark));
    let words = &language.timetable;
    filled(
        if mark.is_some() { &words.oven_gas } else { &words.oven },
        &[
            ("celsius", &celsius.to_string()),
            ("fan", &celsius.saturating_sub(20).to_string()),
            ("fahrenheit", &(25 * steps).to_string()),
            ("mark", &mark.unwrap_or(0).to_string()),
        ],
    )
}

impl Wait {
    /// What it is called in `language`.
    pub fn told(self, language: &Language) -> &str {
        let words = &language.timetable;
        match self {
            Self::Drying => &words.drying,
            Self::BoardDrying => &words.board_drying,
            Self::Cooling => &words.cooling,
            Self::Settling => &words.settling,
            Self::Standing => &words.standing,
            Self::Setting => &words.setting,
            Self::Skinning => &words.skinning,
            Self::Resting => &words.resting,
            Self::Painted => &words.painted,
        }
    }
}

/// In the language of the program's own messages.
impl fmt::Display for Task {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.told(Language::english()))
    }
}

/// In the language of the program's own messages.
impl fmt::Display for Wait {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.told(Language::english()))
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
            assert_eq!(oven(celsius, Language::english()), told);
        }
    }
}
