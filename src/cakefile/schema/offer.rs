//! What the client may choose, as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Colour;
use crate::schema_pantry::MOST_PRICE;

/// What the client may choose on the page that `crumbline share` writes.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Offer {
    /// Sizes by servings, beside the cake as it is.
    #[serde(default, rename = "size", skip_serializing_if = "Vec::is_empty")]
    pub sizes: Vec<OfferedSize>,
    /// Colours of coverings and details.
    #[serde(default, rename = "colour", skip_serializing_if = "Vec::is_empty")]
    pub colours: Vec<OfferedColours>,
}

/// A size that the client may choose.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OfferedSize {
    /// How many it serves.
    #[schemars(range(min = 1, max = 100_000))]
    pub serves: u32,
    /// Its price with tax, in the pantry's currency. Left out, it is worked out: the cake is scaled to serve so many and that
    /// cake quoted; where that fails or takes too long, which is said, the page tells no price for this size.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub price: Option<f64>,
}

/// Colours that the client may choose for a part of the cake.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OfferedColours {
    /// What the client reads, as "Spots".
    pub name: String,
    /// What takes the colour: coverings by their material, zones and details by their name, as ["foot band", "spot 1"].
    pub of: Vec<String>,
    /// The colours to choose from.
    pub colours: Vec<NamedColour>,
}

/// A colour with the name that the client reads.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NamedColour {
    /// What it is called, as "cream".
    pub name: String,
    /// The colour.
    pub colour: Colour,
}
