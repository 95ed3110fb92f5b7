//! What things are made of: density and colour.
//!
//! Each density says where it comes from. Where no source is known it is common practice, and a
//! maker who weighs their own cake should write their own figure in the cake file.

use formats::model::Rgb;

/// What a material is used as; decides how it is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MaterialKind {
    /// Baked cake: counted in servings.
    Sponge,
    /// Edible but no sponge: built-up feet and heads.
    Firm,
    /// Not to be eaten.
    Dummy,
    /// Between layers.
    Filling,
    /// Spread over the cake.
    Coating,
    /// Rolled and laid over the coating, or shaped by hand.
    Paste,
    /// Boards.
    Board,
    /// Dowels.
    Dowel,
}

/// A material with the figures the plan needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Its name, as written in the cake file.
    pub name: String,
    /// The built-in material that it is, or is like.
    pub like: &'static str,
    /// What it is used as.
    pub kind: MaterialKind,
    /// Density, g/mL (the same number as mg/mm³).
    pub density: f64,
    /// Its usual colour.
    pub colour: Rgb,
}

impl Material {
    /// Mass in grams of `volume` mm³.
    pub fn mass(&self, volume: f64) -> f64 {
        self.density * volume / 1000.0
    }
}

/// A built-in material: name, use, density in g/mL, colour.
type Row = (&'static str, MaterialKind, f64, Rgb);

/// The built-in materials.
#[rustfmt::skip]
const BUILT_IN: &[Row] = {
    use MaterialKind::{Board, Coating, Dowel, Dummy, Filling, Firm, Paste, Sponge};
    &[
    // "Cake" in the FAO/INFOODS Density Database v2.0 (2012).
    ("sponge",              Sponge,  0.415, Rgb(236, 205, 146)),
    ("chocolate sponge",    Sponge,  0.415, Rgb(122,  78,  54)),
    ("red sponge",          Sponge,  0.415, Rgb(170,  62,  58)),
    // Common practice, no source: mud, fruit and pound cakes lie between 0.6 and 0.9.
    ("pound cake",          Sponge,  0.70,  Rgb(232, 196, 128)),
    ("mud cake",            Sponge,  0.75,  Rgb( 86,  54,  40)),
    ("fruit cake",          Sponge,  0.85,  Rgb( 96,  62,  36)),
    // Common practice, no source.
    ("cereal treat",        Firm,    0.30,  Rgb(228, 200, 150)),
    // Solid chocolate 1.3, Beckett, Industrial Chocolate Manufacture and Use (3e).
    ("modelling chocolate", Firm,    1.30,  Rgb(104,  66,  46)),
    // Common practice, no source: expanded polystyrene blocks.
    ("foam dummy",          Dummy,   0.03,  Rgb(240, 242, 246)),
    // Common practice, no source: whipped buttercream lies between 0.7 and 1.0.
    ("buttercream",         Filling, 0.85,  Rgb(250, 240, 212)),
    // Ready-made cream-cheese frosting, 33 g per 2 tbsp, USDA SR 26, NDB 19228.
    ("cream cheese",        Filling, 1.116, Rgb(250, 246, 232)),
    // FAO/INFOODS Density Database v2.0 (2012).
    ("jam",                 Filling, 1.333, Rgb(176,  34,  48)),
    ("whipped cream",       Filling, 0.496, Rgb(252, 250, 244)),
    // Common practice, no source.
    ("fruit curd",          Filling, 1.10,  Rgb(244, 206,  72)),
    ("mousse",              Filling, 0.60,  Rgb(140,  96,  72)),
    // Ideal mixing of chocolate (Banks 2012) with cream 0.99: 2:1 dark, 3:1 milk, 4:1 white.
    ("ganache",             Coating, 1.144, Rgb( 74,  44,  32)),
    ("milk ganache",        Coating, 1.212, Rgb(124,  80,  54)),
    ("white ganache",       Coating, 1.223, Rgb(246, 232, 200)),
    ("crumb coat",          Coating, 0.85,  Rgb(248, 236, 206)),
    // Common practice, no source: icing sugar and egg white beaten to peaks.
    ("royal icing",         Coating, 1.20,  Rgb(252, 252, 250)),
    // No published value found; a mixing rule over its sugars and fat gives 1.35 ± 0.1.
    ("rolled icing",        Paste,   1.35,  Rgb(250, 248, 244)),
    ("sugar paste",         Paste,   1.35,  Rgb(250, 248, 244)),
    ("gum paste",           Paste,   1.35,  Rgb(250, 248, 244)),
    // Mixing rule, no source.
    ("marzipan",            Paste,   1.20,  Rgb(238, 212, 148)),
    // Common practice, no source.
    ("card board",          Board,   0.70,  Rgb(206, 180, 140)),
    ("drum board",          Board,   0.25,  Rgb(214, 216, 220)),
    ("plywood board",       Board,   0.60,  Rgb(206, 170, 116)),
    // Hardboards are 0.9 and more (EN 316, from memory).
    ("hardboard",           Board,   0.95,  Rgb(134,  96,  64)),
    // Common practice, no source.
    ("foam-core board",     Board,   0.12,  Rgb(244, 244, 244)),
    // Acrylic glass 1.19 (ISO 7823, from memory).
    ("acrylic board",       Board,   1.19,  Rgb(220, 232, 236)),
    // American beech, specific gravity 0.64, Wood Handbook strength table.
    ("wooden dowel",        Dowel,   0.64,  Rgb(198, 156, 100)),
    // Polypropylene, from memory: 0.90 to 0.91.
    ("plastic dowel",       Dowel,   0.90,  Rgb(232, 236, 240)),
    ("bubble tea straw",    Dowel,   0.90,  Rgb(236, 240, 244)),
    // Common practice, no source: bamboo lies between 0.6 and 0.8.
    ("bamboo skewer",       Dowel,   0.70,  Rgb(214, 186, 128)),
    ]
};

/// Other names that the trade has for built-in materials, in lower case with single spaces.
#[rustfmt::skip]
const ALIASES: &[(&str, &[&str])] = &[
    ("sponge",              &["vanilla sponge", "plain sponge", "sponge cake", "yellow cake", "white cake"]),
    ("chocolate sponge",    &["chocolate cake", "cocoa sponge"]),
    ("red sponge",          &["red velvet", "red velvet cake"]),
    ("pound cake",          &["madeira", "madeira cake", "butter cake"]),
    ("mud cake",            &["chocolate mud cake", "mudcake"]),
    ("fruit cake",          &["fruitcake", "rich fruit cake"]),
    ("cereal treat",        &["cereal treats", "rice cereal treat", "rice cereal treats", "puffed rice treat"]),
    ("modelling chocolate", &["modeling chocolate", "chocolate paste", "plastic chocolate"]),
    ("foam dummy",          &["dummy", "cake dummy", "polystyrene", "polystyrene dummy", "foam"]),
    ("buttercream",         &["butter cream", "buttercream icing", "buttercream frosting"]),
    ("cream cheese",        &["cream cheese frosting", "cream cheese icing"]),
    ("jam",                 &["preserve"]),
    ("whipped cream",       &["chantilly cream"]),
    ("fruit curd",          &["curd", "lemon curd"]),
    ("ganache",             &["dark ganache", "chocolate ganache", "dark chocolate ganache"]),
    ("milk ganache",        &["milk chocolate ganache"]),
    ("white ganache",       &["white chocolate ganache"]),
    ("crumb coat",          &["crumbcoat"]),
    ("royal icing",         &["piping icing"]),
    ("rolled icing",        &["fondant", "rolled fondant", "ready to roll icing", "roll out icing"]),
    ("sugar paste",         &["sugarpaste"]),
    ("gum paste",           &["gumpaste", "flower paste", "flowerpaste", "petal paste", "florist paste"]),
    ("marzipan",            &["almond paste"]),
    ("card board",          &["card", "cake card", "cake board", "cardboard", "cut edge board"]),
    ("drum board",          &["drum", "cake drum"]),
    ("plywood board",       &["plywood", "ply"]),
    ("hardboard",           &["hard board", "hardboard cake board"]),
    ("foam-core board",     &["foam core", "foam core board", "foamcore", "foam board"]),
    ("acrylic board",       &["acrylic", "acrylic disc", "acrylic disk"]),
    ("wooden dowel",        &["dowel", "dowels", "wooden dowels", "wood dowel", "dowel rod", "wooden dowel rod"]),
    ("plastic dowel",       &["plastic dowels", "plastic dowel rod", "hollow dowel"]),
    ("bubble tea straw",    &["boba straw", "boba straws", "bubble tea straws", "smoothie straw", "straw", "straws"]),
    ("bamboo skewer",       &["skewer", "skewers", "bamboo skewers", "bamboo"]),
];

/// The name that a built-in material has here, for any of its names in the trade, in any case, with hyphens or spaces.
///
/// ```
/// use plan::design::material::usual_name;
/// assert_eq!(usual_name("Flower Paste"), Some("gum paste"));
/// assert_eq!(usual_name("papier-mâché"), None);
/// ```
pub fn usual_name(name: &str) -> Option<&'static str> {
    let plain = |text: &str| {
        text.to_lowercase().replace(['-', '_'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let wanted = plain(name);
    let built_in = BUILT_IN.iter().map(|row| row.0).find(|known| plain(known) == wanted);
    built_in.or_else(|| ALIASES.iter().find(|(_, others)| others.contains(&wanted.as_str())).map(|row| row.0))
}

/// Other names of the built-in material `name`.
pub fn other_names(name: &str) -> &'static [&'static str] {
    ALIASES.iter().find(|row| row.0 == name).map_or(&[], |row| row.1)
}

/// The built-in material that the trade calls `name`, under the name that it has here.
pub fn built_in(name: &str) -> Option<Material> {
    let usual = usual_name(name)?;
    let &(name, kind, density, colour) = BUILT_IN.iter().find(|row| row.0 == usual)?;
    Some(Material { name: name.to_owned(), like: name, kind, density, colour })
}

/// Names of all built-in materials.
pub fn built_in_names() -> impl Iterator<Item = &'static str> {
    BUILT_IN.iter().map(|row| row.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every name of the trade leads to one material, and to one that there is.
    #[test]
    fn names_of_the_trade_are_told_apart() {
        let mut all: Vec<&str> = built_in_names().collect();
        for (name, others) in ALIASES {
            assert!(built_in_names().any(|known| known == *name), "{name}");
            all.extend(*others);
        }
        let count = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), count);
        for name in
            ["Fondant", "SUGARPASTE", " flower  paste ", "Royal Icing", "dark-ganache", "cake drum", "Dummy"]
        {
            assert!(built_in(name).is_some(), "{name}");
        }
    }
}
