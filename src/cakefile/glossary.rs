//! Words of the files: what a key is called, and other names under which it is understood.
//!
//! One thing has one name, in files, messages and pages. Keys that were called otherwise in an older format, and
//! spellings that other makers use, are read as the key that they mean ([`crate::upgraded`]).

/// A word of the trade as it is used here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Term {
    /// The word.
    pub name: &'static str,
    /// What it means, in one sentence without a full stop.
    pub meaning: &'static str,
    /// Words that mean the same and are not used here, so that one thing has one name.
    pub instead_of: &'static [&'static str],
}

const fn term(name: &'static str, meaning: &'static str, instead_of: &'static [&'static str]) -> Term {
    Term { name, meaning, instead_of }
}

/// The words, in the order of the making. Files, screens, pages and help use them; the words that they stand instead of
/// appear in none of these.
pub const TERMS: &[Term] = &[
    term("pan", "what cake is baked in; round, rectangular or a half-ball", &[]),
    term("layer", "a slice of cake of one pan, of a stated height, before it is carved", &["slab", "slabs"]),
    term("sheet cake", "what is baked in a square or rectangular pan", &[]),
    term("piece", "a straight-sided part of a sheet cake; several side by side make a layer", &[]),
    term("join", "where two pieces of a layer meet", &[]),
    term("filling", "what is spread between two layers", &[]),
    term("tier", "layers that stand on one board", &[]),
    term(
        "presentation board",
        "the board that the whole cake is delivered on; heights count from its top",
        &[],
    ),
    term("board", "a board inside the cake, under a tier, carried by dowels", &[]),
    term("dowel", "a rod or tube that stands in a tier and carries the board above it", &[]),
    term("centre dowel", "a rod through the middle of the whole stack", &[]),
    term("raw stack", "all layers, fillings and boards before anything is carved", &[]),
    term("offcut", "cake that is carved off, or that no layer is cut from", &["waste", "wasted"]),
    term("shortfall", "where the carved shape reaches beyond the layers, and cake has to be patched in", &[]),
    term("spare", "cake beyond the carved line at the side of a layer, which is carved off", &[]),
    term(
        "carve",
        "take cake off to a line with a knife, pass by pass",
        &["shave", "shaves", "shaving", "shaved", "how far to cut"],
    ),
    term("no time to spare", "begun later, it makes the cake late", &["longest chain"]),
    term("carved line", "the outline that the knife carves to", &[]),
    term("coated line", "the outline after the coating", &[]),
    term("finished line", "the outline that the client sees", &[]),
    term("covering", "what lies on the cake from the outside in: rolled icing, coating", &[]),
    term("zone", "a part of a covering that has a colour or a material of its own", &[]),
    term("finish", "what is painted, brushed or dusted on at the end: paint, lustre, pearl, dust", &[]),
    term("excess", "icing that is rolled or cut beyond what lies on the cake, and trimmed off there", &[]),
    term("draped", "laid over the cake in one sheet, from the middle of its top", &[]),
    term(
        "seam",
        "where a sheet of icing that is wrapped round the cake is joined; between layers, where they meet",
        &[],
    ),
    term("detail", "a cut or an add: a door, a petal, a button", &[]),
    term("overhang", "how far a layer reaches out over what carries it", &[]),
    term("clearance", "room left between parts that join", &[]),
    term("bearing", "a direction as seen from above: front, right, back, left and between them", &[]),
    term("required", "what a limit or a margin must reach", &["asked for"]),
    term("holds", "carries a load without breaking", &["bears"]),
    term("fix", "what to do about a finding", &["mend", "mends", "mend it", "to mend"]),
    term("delivered", "given to the client", &["handed over"]),
    term(
        "picture sheet",
        "one picture for a chat: the cake from three sides, how large it is, and what its client must know",
        &[],
    ),
    term("over time", "as hours go by", &["by and by"]),
    term("slightly short", "cut a little too short", &["a hair short"]),
    term("work out", "find by calculation", &["reckon"]),
];

/// Keys by another name: that name, and the key that it means wherever such a key may stand.
pub const KEYS: &[(&str, &str)] = &[
    // Until format 2.
    ("trim", "detail"),
    ("plate", "thickness"),
    ("edge", "scraper_edge"),
    ("fit", "clearance"),
    ("dowel_fit", "dowel_clearance"),
    ("straight", "guide_tolerance"),
    ("weld", "close_gaps"),
    ("sink", "cut_bottom"),
    // Spellings and words of other countries.
    ("color", "colour"),
    ("center", "centre"),
    ("center_dowel", "centre_dowel"),
    ("tin", "pan"),
];

/// A key that stands in another table since a later format.
pub struct Moved {
    /// The table where it stood, at the top of a cake file or under `[pantry]`.
    pub from: (&'static str, &'static str),
    /// The table where it stands, and its name there.
    pub to: (&'static str, &'static str),
}

/// Keys that stand in other tables since format 2.
pub const MOVED: &[Moved] = &[
    Moved { from: ("paper", "pass"), to: ("carving", "pass") },
    Moved { from: ("paper", "excess"), to: ("icing", "allowance") },
    Moved { from: ("paper", "ease"), to: ("icing", "pattern_error") },
];

/// The key that `name` means in a table that holds `known` keys, if it is another name of one of them.
pub(super) fn key_for(name: &str, known: impl Fn(&str) -> bool) -> Option<&'static str> {
    if known(name) {
        return None;
    }
    KEYS.iter().find(|(other, key)| *other == name && known(key)).map(|(_, key)| *key)
}
