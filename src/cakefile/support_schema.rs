//! Keys of the support check: where the cake is to stand, how it travels, what is hidden in it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::quantity::{Angle, Temperature};

/// Whether the cake stands and travels: what is asked of it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Support {
    /// How warm it gets where the cake stands; 24 °C if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub room: Option<Temperature>,
    /// The plan speaks up where `room` is warmer than this; 24 °C if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warmest: Option<Temperature>,
    /// How many times their load dowels and boards must bear; 3 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub safety: Option<f64>,
    /// How far the cake must bear to be tilted on the bench without tipping; 15 degrees if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt: Option<Angle>,
    /// Hard braking that it must bear, as a share of gravity; 0.8 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub braking: Option<f64>,
    /// Cornering or a swerve that it must bear, as a share of gravity; 0.5 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cornering: Option<f64>,
    /// A jolt up and down over a speed hump, as a share of gravity; 0.5 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bump: Option<f64>,
    /// The steepest ramp that it is wheeled or driven over; 10 degrees if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ramp: Option<Angle>,
    /// Whether it stands on a mat that does not slip in the car; true if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mat: Option<bool>,
    /// Whether its box is wedged or strapped in the car, so that it can't slide; false if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wedged: Option<bool>,
    /// Names of tiers that travel on their own and are set on the cake at the venue, with all that stands on them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub apart: Option<Vec<String>>,
    /// Weight in kg from which two people carry it; 10 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub two_people_kg: Option<f64>,
    /// Whether small children eat of it: nothing sharp may be hidden in it. False if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub small_children: Option<bool>,
    /// What is hidden in the cake besides the dowels, to be counted out again.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub hidden: Vec<Hidden>,
}

/// Things hidden in the cake.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hidden {
    /// What it is.
    pub what: HiddenThing,
    /// How many.
    pub count: u32,
    /// Where, in a few words.
    #[serde(default, rename = "where", skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
}

/// A thing hidden in a cake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum HiddenThing {
    /// A toothpick.
    Toothpick,
    /// A skewer.
    Skewer,
    /// A piece of wire.
    Wire,
    /// A pin.
    Pin,
    /// A straw.
    Straw,
    /// A screw or bolt.
    Bolt,
}

impl HiddenThing {
    /// What it is called, one of it and more of them.
    pub fn names(self) -> (&'static str, &'static str) {
        match self {
            Self::Toothpick => ("toothpick", "toothpicks"),
            Self::Skewer => ("skewer", "skewers"),
            Self::Wire => ("piece of wire", "pieces of wire"),
            Self::Pin => ("pin", "pins"),
            Self::Straw => ("straw", "straws"),
            Self::Bolt => ("bolt", "bolts"),
        }
    }

    /// Whether it pricks.
    pub fn is_sharp(self) -> bool {
        !matches!(self, Self::Straw | Self::Bolt)
    }
}
