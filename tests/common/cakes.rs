//! Cakes that the tests of several members plan.

// The tests of each member use their part of it.
#![allow(dead_code)]

/// A cake small enough to read, with one of everything: coverings, filling, tiers, a board, dowels, a cut, an
/// add, and something to fix. `unit` is the maker's own.
pub fn small_cake(unit: &str) -> String {
    format!(
        "crumbline = 1\nname = \"Small cake\"\nunit = \"{unit}\"\n\
         [board]\nround = \"10 in\"\nthickness = \"1/2 in\"\n\
         [shape.turned]\npoints = [[\"90 mm\", 0], [\"80 mm\", \"60 mm\"], [\"60 mm\", \"140 mm\"]]\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = \"4 mm\"\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = \"6 mm\"\n\
         [[tier]]\nname = \"lower\"\nfilling = {{ material = \"jam\", thickness = \"3 mm\" }}\n\
         dowels = {{ count = 3, diameter = \"6 mm\", circle = \"80 mm\" }}\n\
         [[tier.layer]]\npan = {{ round = \"7 in\" }}\nheight = \"30 mm\"\n\
         [[tier.layer]]\npan = {{ round = \"7 in\" }}\nheight = \"30 mm\"\n\
         [[tier]]\nname = \"upper\"\nboard = {{ round = \"100 mm\", thickness = \"3 mm\", hole = \"12 mm\" }}\n\
         [[tier.layer]]\npan = {{ square = \"5 in\" }}\nheight = \"70 mm\"\nturn = 15\n\
         [centre_dowel]\ndiameter = \"10 mm\"\nheight = \"120 mm\"\n\
         [[detail]]\nname = \"niche\"\ncut = \"sponge\"\n\
         ball = {{ centre = [0, \"-85 mm\", \"50 mm\"], diameter = \"30 mm\" }}\n\
         [[detail]]\nname = \"knob\"\nadd = \"icing\"\n\
         ball = {{ centre = [0, 0, \"145 mm\"], diameter = \"20 mm\" }}\n"
    )
}

/// Four layers of 25 mm in round pans of 200 mm under `shape`, curves within `chord`.
pub fn four_discs(shape: &str, chord: f64) -> String {
    let layer = "[[tier.layer]]\npan = { round = 200 }\nheight = 25\n";
    format!(
        "crumbline = 1\nname = \"four discs\"\naccuracy = {{ tool = {chord} }}\n[shape.turned]\n{shape}\n\
         [[tier]]\nname = \"only\"\n{}",
        layer.repeat(4)
    )
}

pub const HALF_BALL: &str = "from = [100, 0]\ndraw = [{ to = [0, 100], through = [60, 80] }]";

pub const CONE: &str = "points = [[100, 0], [0, 100]]";

/// A cake of one outline with coats over it and details on it.
pub fn plain(outline: &str, rest: &str) -> String {
    format!(
        "crumbline = 1\nname = \"Plain\"\n[shape.turned]\n{outline}\n{rest}\n[[tier]]\nname = \"only\"\n\
         [[tier.layer]]\npan = {{ round = 300 }}\nheight = 150\n"
    )
}

pub const GANACHE: &str = "[[covering]]\nmaterial = \"ganache\"\nthickness = 5\n";

pub const DRUM: &str = "points = [[90, 0], [90, 120]]";

/// A cake of `shape` (a table of the cake file) under 3 and 5 mm, out of `layers` square layers.
pub fn crossed(shape: &str, side: f64, heights: &[f64], more: &str) -> String {
    let layers: String = heights
        .iter()
        .map(|h| format!("[[tier.layer]]\npan = {{ square = {side} }}\nheight = {h}\n"))
        .collect();
    format!(
        "crumbline = 1\nname = \"crossed\"\nboard = {{ square = 320, thickness = 10 }}\n{shape}\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 5\n\
         [[tier]]\nname = \"only\"\n{layers}{more}"
    )
}

pub const BOX: &str = "[shape.crossed]\n\
    front = { points = [[-60, 0], [60, 0], [60, 100], [-60, 100]] }\n\
    side = { points = [[-40, 0], [40, 0], [40, 100], [-40, 100]] }\n";

/// Triangles of base 100 and height 120: a pyramid, 400 000 mm³.
pub const PYRAMID: &str = "[shape.crossed]\n\
    front = { points = [[-50, 0], [50, 0], [0, 120]] }\n\
    side = { points = [[-50, 0], [50, 0], [0, 120]] }\n";
