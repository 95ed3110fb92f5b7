//! What is painted, brushed or dusted on at the end.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Colour, Length};

/// Colour or shine that is put on at the end: on a covering, a zone of it, or a detail.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finish {
    /// "paint" (edible paint, or gel colour thinned with spirit), "lustre" (metallic powder, painted on with spirit),
    /// "pearl" (pearly powder, brushed on dry) or "dust" (matt powder, brushed on dry).
    pub kind: FinishKind,
    /// Its colour; of pearl white if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
    /// How many times it is put on; twice for paint and lustre, once for pearl and dust if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coats: Option<u32>,
    /// It fades with the height: full at the first of these heights above the board, gone at the second. Even all over if
    /// left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fade: Option<[Length; 2]>,
    /// For show only, not to be eaten: it is told to the client, and taken off before serving; false if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub for_show: Option<bool>,
}

/// Kinds of finish.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum FinishKind {
    /// Edible paint, or gel colour thinned with spirit.
    Paint,
    /// Metallic powder, painted on with spirit.
    Lustre,
    /// Pearly powder, brushed on dry.
    Pearl,
    /// Matt powder, brushed on dry.
    Dust,
}
