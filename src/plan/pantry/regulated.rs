//! The allergens that the law of a region asks to be declared, and whether a cake is without one.

use cakefile::schema_pantry::Region;

/// A group of allergens as the laws list them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AllergenGroup {
    /// Cereals that contain gluten.
    Gluten,
    /// Crustaceans.
    Crustaceans,
    /// Eggs.
    Egg,
    /// Fish.
    Fish,
    /// Peanuts.
    Peanut,
    /// Soybeans.
    Soya,
    /// Milk, with lactose.
    Milk,
    /// Nuts that grow on trees.
    Nuts,
    /// Celery.
    Celery,
    /// Mustard.
    Mustard,
    /// Sesame seeds.
    Sesame,
    /// Sulphur dioxide and sulphites.
    Sulphites,
    /// Lupin.
    Lupin,
    /// Molluscs.
    Molluscs,
}

impl AllergenGroup {
    /// Every group, in the order of Regulation (EU) No 1169/2011, annex II; celery to molluscs as there.
    pub const ALL: [Self; 14] = [
        Self::Gluten,
        Self::Crustaceans,
        Self::Egg,
        Self::Fish,
        Self::Peanut,
        Self::Soya,
        Self::Milk,
        Self::Nuts,
        Self::Celery,
        Self::Mustard,
        Self::Sesame,
        Self::Sulphites,
        Self::Lupin,
        Self::Molluscs,
    ];

    /// Words that name the whole group, and words that name one of it; without the plural's "s".
    fn words(self) -> (&'static [&'static str], &'static [&'static str]) {
        match self {
            Self::Gluten => (
                &["gluten", "cereal", "malt"],
                &["wheat", "rye", "barley", "oat", "spelt", "khorasan", "durum", "semolina"],
            ),
            Self::Crustaceans => {
                (&["crustacean", "crustacea", "shellfish"], &["shrimp", "prawn", "crab", "lobster"])
            }
            Self::Egg => (&["egg", "albumen"], &[]),
            Self::Fish => (&["fish", "isinglass"], &[]),
            Self::Peanut => (&["peanut", "groundnut"], &[]),
            Self::Soya => (&["soya", "soy", "soybean"], &[]),
            Self::Milk => (&["milk", "lactose", "dairy", "whey", "casein"], &[]),
            Self::Nuts => (
                &["nut", "praline"],
                &[
                    "almond",
                    "marzipan",
                    "hazelnut",
                    "walnut",
                    "cashew",
                    "pecan",
                    "pistachio",
                    "macadamia",
                    "queensland",
                    "brazil",
                    "pine",
                ],
            ),
            Self::Celery => (&["celery", "celeriac"], &[]),
            Self::Mustard => (&["mustard"], &[]),
            Self::Sesame => (&["sesame", "tahini"], &[]),
            Self::Sulphites => (&["sulphite", "sulfite", "sulphur", "sulfur"], &[]),
            Self::Lupin => (&["lupin", "lupine"], &[]),
            Self::Molluscs => {
                (&["mollusc", "mollusk", "shellfish"], &["oyster", "mussel", "squid", "clam", "snail"])
            }
        }
    }

    /// The groups that a text names, as "wheat (gluten)" or "hazelnut spread".
    pub fn named_in(text: &str) -> Vec<Self> {
        let words = words(text);
        let named = |group: &Self| {
            let (whole, one) = group.words();
            whole.iter().chain(one).any(|word| words.iter().any(|given| given == word))
        };
        Self::ALL.into_iter().filter(named).collect()
    }
}

/// The groups whose declaration a region asks for.
///
/// EU and UK: Regulation (EU) No 1169/2011, annex II. US: the nine of the Food Allergen Labeling and Consumer
/// Protection Act of 2004 and the FASTER Act of 2021; of the cereals only wheat. Australia and New Zealand: Food
/// Standards Code, Standard 1.2.3 and Schedule 9.
pub fn regulated(region: Region) -> Vec<AllergenGroup> {
    use AllergenGroup as G;
    let not_listed: &[G] = match region {
        Region::Eu | Region::Uk => &[],
        Region::Us => &[G::Celery, G::Mustard, G::Sulphites, G::Lupin, G::Molluscs],
        Region::Au | Region::Nz => &[G::Celery, G::Mustard],
    };
    G::ALL.into_iter().filter(|group| !not_listed.contains(group)).collect()
}

/// Where the list of a region is written.
pub fn list_of(region: Region) -> &'static str {
    match region {
        Region::Eu => "the 14 allergens of Regulation (EU) No 1169/2011, annex II",
        Region::Uk => "the 14 allergens of Regulation (EU) No 1169/2011, annex II, as it stands in UK law",
        Region::Us => "the 9 major food allergens of FALCPA (2004) and the FASTER Act (2021)",
        Region::Au | Region::Nz => "the allergens of the Food Standards Code, Standard 1.2.3 and Schedule 9",
    }
}

/// Whether a text, an allergen that is declared or the name of a thing, is what a client asks to be without.
///
/// A word for a whole group ("nuts") means all of it; a word for one of it ("hazelnut") means that one, and what is
/// declared as the group alone. Any other word ("strawberry") means itself.
pub fn is_of(asked: &str, text: &str) -> bool {
    let (asked_words, text_words) = (words(asked), words(text));
    if asked_words.is_empty() {
        return false;
    }
    let has = |words: &[String], of: &[&str]| of.iter().any(|word| words.iter().any(|given| given == word));
    let groups = AllergenGroup::named_in(asked);
    if groups.is_empty() {
        return asked_words.iter().all(|word| text_words.contains(word));
    }
    groups.into_iter().any(|group| {
        let (whole, one) = group.words();
        let both = |words: &[String]| -> Vec<&str> {
            one.iter().copied().filter(|word| words.iter().any(|given| given == word)).collect()
        };
        let (wanted, found) = (both(&asked_words), both(&text_words));
        if wanted.is_empty() || found.is_empty() {
            return !found.is_empty() || has(&text_words, whole);
        }
        wanted.iter().any(|word| found.contains(word))
    })
}

/// Words of a text in small letters, without a plural's "s".
fn words(text: &str) -> Vec<String> {
    let small = text.to_lowercase();
    let words = small.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words
        .map(|word| match (word.strip_suffix("ies"), word.strip_suffix('s')) {
            (Some(stem), _) if stem.len() > 2 => format!("{stem}y"),
            (_, Some(stem)) if stem.len() > 2 && !stem.ends_with('s') => stem.to_owned(),
            _ => word.to_owned(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Headings of Regulation (EU) No 1169/2011, annex II, 1 to 14, as it words them.
    const ANNEX_II: [&str; 14] = [
        "Cereals containing gluten, namely: wheat, rye, barley, oats",
        "Crustaceans and products thereof",
        "Eggs and products thereof",
        "Fish and products thereof",
        "Peanuts and products thereof",
        "Soybeans and products thereof",
        "Milk and products thereof (including lactose)",
        "Nuts, namely: almonds, hazelnuts, walnuts, cashews, pecan nuts, Brazil nuts, pistachio nuts, macadamia",
        "Celery and products thereof",
        "Mustard and products thereof",
        "Sesame seeds and products thereof",
        "Sulphur dioxide and sulphites",
        "Lupin and products thereof",
        "Molluscs and products thereof",
    ];

    #[test]
    fn the_lists_are_those_of_the_laws() {
        for (text, group) in ANNEX_II.iter().zip(AllergenGroup::ALL) {
            assert_eq!(AllergenGroup::named_in(text), [group], "{text}");
        }
        assert_eq!(regulated(Region::Eu).len(), 14);
        assert_eq!(regulated(Region::Uk).len(), 14);
        // 21 U.S.C. 321(qq): milk, egg, fish, Crustacean shellfish, tree nuts, wheat, peanuts, soybeans, sesame.
        let us = ["milk", "egg", "fish", "Crustacean", "tree nuts", "wheat", "peanuts", "soybeans", "sesame"];
        let mut listed: Vec<_> = us.iter().flat_map(|text| AllergenGroup::named_in(text)).collect();
        listed.sort();
        assert_eq!(regulated(Region::Us), listed);
        // Schedule 9, section S9—3, with sulphites of 10 mg/kg and more.
        let au = [
            "wheat",
            "fish",
            "crustacean",
            "mollusc",
            "egg",
            "milk",
            "lupin",
            "peanut",
            "soybean",
            "sesame",
            "almond",
            "sulphites",
        ];
        let mut listed: Vec<_> = au.iter().flat_map(|text| AllergenGroup::named_in(text)).collect();
        listed.sort();
        assert_eq!((regulated(Region::Au), regulated(Region::Nz)), (listed.clone(), listed));
    }

    #[test]
    fn a_word_of_a_client_finds_what_is_declared() {
        for (asked, text, is) in [
            ("nuts", "almond (nuts)", true),
            ("nuts", "hazelnut spread", true),
            ("nuts", "coconut", false),
            ("nuts", "nutmeg", false),
            ("nuts", "peanut", false),
            ("hazelnuts", "hazelnut", true),
            ("hazelnut", "almond (nuts)", false),
            ("hazelnut", "nuts", true),
            ("gluten", "wheat (gluten)", true),
            ("wheat", "barley (gluten)", false),
            ("gluten", "buckwheat", false),
            ("dairy", "milk", true),
            ("lactose", "milk (traces)", true),
            ("Eggs", "egg", true),
            ("strawberry", "strawberries", true),
            ("strawberry", "raspberry", false),
            ("", "milk", false),
        ] {
            assert_eq!(is_of(asked, text), is, "{asked} in {text}");
        }
    }
}
