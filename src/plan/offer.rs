//! What the client may choose: sizes by servings, and colours of coverings, their zones and details.
//!
//! Names are one line of text and no two of one kind are the same, so that a choice can be told and read back by them.

use cakefile::{
    Diagnostic, FieldPath, nearest,
    schema::{Cake, Colour, NamedColour, OfferedColours},
};
use formats::{escape, model::Rgb};

use crate::{
    design::{Design, material},
    pantry::Price,
};

/// What the client may choose.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Offer {
    /// Sizes beside the cake as it is.
    pub sizes: Vec<OfferedSize>,
    /// Colours of coverings, zones and details.
    pub colours: Vec<ColourChoice>,
}

/// A size that the client may choose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfferedSize {
    /// How many it serves.
    pub serves: u32,
    /// Its price with tax, where the maker tells one.
    pub price: Option<Price>,
}

/// What may take a colour, by its place in the cake file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Coloured {
    /// A covering.
    Covering(usize),
    /// A zone of a covering: the covering's place, and that of the zone in it.
    Zone(usize, usize),
    /// A detail.
    Detail(usize),
}

impl Coloured {
    /// Where it stands in the cake file.
    pub fn field(self) -> FieldPath {
        let at = |list: &str, place: usize| FieldPath::root().key(list).index(place);
        match self {
            Self::Covering(covering) => at("covering", covering),
            Self::Zone(covering, zone) => at("covering", covering).key("zone").index(zone),
            Self::Detail(detail) => at("detail", detail),
        }
    }

    /// Where the cake file holds its colour.
    pub fn path(self) -> FieldPath {
        self.field().key("colour")
    }

    /// Its colour in `cake`.
    pub fn colour_in(self, cake: &mut Cake) -> &mut Option<Colour> {
        match self {
            Self::Covering(covering) => &mut cake.coverings[covering].colour,
            Self::Zone(covering, zone) => &mut cake.coverings[covering].zones[zone].colour,
            Self::Detail(detail) => &mut cake.details[detail].colour,
        }
    }

    /// The colour that it has in `design`.
    pub fn shown_in(self, design: &Design) -> Option<Rgb> {
        if let Self::Covering(covering) = self {
            return Some(design.coverings[covering].material.colour);
        }
        let field = self.field();
        let zone =
            design.coverings.iter().flat_map(|covering| &covering.zones).find(|zone| zone.field == field);
        zone.map(|zone| zone.material.colour).or_else(|| {
            // A zone that is laid over its covering is a detail of the design.
            let detail = design.details.iter().find(|detail| detail.field == field)?;
            detail.colour.or(detail.material.as_ref().map(|material| material.colour))
        })
    }
}

/// Colours to choose from for some coverings, zones and details.
#[derive(Debug, Clone, PartialEq)]
pub struct ColourChoice {
    /// What the client reads.
    pub name: String,
    /// What takes the colour.
    pub of: Vec<Coloured>,
    /// Each colour with its name.
    pub colours: Vec<(String, Rgb)>,
}

impl Offer {
    /// What `cake` offers; what is wrong with it is added to `problems`.
    pub fn read(cake: &Cake, problems: &mut Vec<Diagnostic>) -> Self {
        let Some(given) = &cake.offer else { return Self::default() };
        let at = FieldPath::root().key("offer");
        let mut offer = Self::default();
        for (i, size) in given.sizes.iter().enumerate() {
            let field = at.key("size").index(i);
            if offer.sizes.iter().any(|known| known.serves == size.serves) {
                let message = format!("the size that serves {} is offered twice", size.serves);
                problems.push(Diagnostic::error(field.key("serves"), message).fix("leave one of them out"));
            }
            // A price that is no number in bounds is told by the file's own check.
            offer.sizes.push(OfferedSize { serves: size.serves, price: size.price.and_then(Price::new) });
        }
        for (i, colours) in given.colours.iter().enumerate() {
            let field = at.key("colour").index(i);
            let known: Vec<&str> = offer.colours.iter().map(|choice| choice.name.as_str()).collect();
            check_name(&colours.name, &known, &field.key("name"), problems);
            let choice = ColourChoice {
                name: colours.name.clone(),
                colours: named_colours(&colours.colours, &field.key("colours"), problems),
                of: takers(cake, colours, &field.key("of"), problems),
            };
            offer.colours.push(choice);
        }
        offer
    }

    /// Whether there is nothing to choose.
    pub fn is_empty(&self) -> bool {
        self.sizes.is_empty() && self.colours.is_empty()
    }
}

/// Names are read back out of a letter: one line without spaces round it, and each once.
fn check_name(name: &str, known: &[&str], field: &FieldPath, problems: &mut Vec<Diagnostic>) {
    let begins = [">", "|", "["].iter().any(|mark| name.starts_with(mark));
    if name.is_empty() || name.trim() != name || escape::line(name) != name || begins {
        let message = "a name is one line that does not begin with >, | or [, without spaces round it";
        problems.push(Diagnostic::error(field.clone(), message).fix("write a word or two, as \"Spots\""));
    } else if known.iter().any(|other| other.to_lowercase() == name.to_lowercase()) {
        let message = format!("\"{name}\" is offered twice");
        problems.push(Diagnostic::error(field.clone(), message).fix("give each a name of its own"));
    }
}

fn named_colours(
    given: &[NamedColour],
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Vec<(String, Rgb)> {
    if given.is_empty() {
        problems.push(
            Diagnostic::error(field.clone(), "there is no colour to choose")
                .fix("name some, as [{ name = \"cream\", colour = \"#f6efe0\" }]"),
        );
    }
    let mut colours: Vec<(String, Rgb)> = Vec::new();
    for (i, named) in given.iter().enumerate() {
        let known: Vec<&str> = colours.iter().map(|(name, _)| name.as_str()).collect();
        check_name(&named.name, &known, &field.index(i).key("name"), problems);
        // What is no colour is told by the file's own check.
        if let Some([r, g, b]) = named.colour.to_rgb() {
            colours.push((named.name.clone(), Rgb(r, g, b)));
        }
    }
    colours
}

/// What `given` names takes a colour; of one that is not there what is there instead.
fn takers(
    cake: &Cake,
    given: &OfferedColours,
    field: &FieldPath,
    problems: &mut Vec<Diagnostic>,
) -> Vec<Coloured> {
    let usual = |name: &str| material::usual_name(name).unwrap_or(name).to_owned();
    if given.of.is_empty() {
        problems.push(
            Diagnostic::error(field.clone(), "nothing takes the colour")
                .fix("name coverings by their material, zones and details by their name, as [\"spot 1\"]"),
        );
    }
    let coats = || cake.coverings.iter().enumerate();
    let zones = || {
        coats().flat_map(|(coat, covering)| {
            covering
                .zones
                .iter()
                .enumerate()
                .map(move |(zone, named)| (Coloured::Zone(coat, zone), named.name.as_str()))
        })
    };
    let details = || {
        let details = cake.details.iter().enumerate();
        details.map(|(place, detail)| (Coloured::Detail(place), detail.name.as_str()))
    };
    let mut of = Vec::new();
    for (i, name) in given.of.iter().enumerate() {
        let before = of.len();
        let coats_of_it = coats().filter(|(_, coat)| usual(&coat.material) == usual(name));
        of.extend(coats_of_it.map(|(place, _)| Coloured::Covering(place)));
        of.extend(zones().chain(details()).filter(|(_, own)| own == name).map(|(taker, _)| taker));
        if of.len() == before {
            let materials = cake.coverings.iter().map(|coat| coat.material.as_str());
            let known: Vec<&str> = materials.chain(zones().chain(details()).map(|(_, name)| name)).collect();
            let fix = match (nearest(name, known.iter().copied()), known.is_empty()) {
                (Some(close), _) => format!("did you mean \"{close}\"?"),
                (None, true) => "leave it out: the cake has no covering and no detail".to_owned(),
                (None, false) => format!("choose from: {}", known.join(", ")),
            };
            let message = format!("no covering, zone or detail is called \"{name}\"");
            problems.push(Diagnostic::error(field.index(i), message).fix(fix));
        }
    }
    of.sort_unstable();
    of.dedup();
    of
}

#[cfg(test)]
mod tests {
    use cakefile::CakeFile;

    use super::*;

    fn read(offer: &str) -> (Offer, Vec<String>) {
        let text = format!(
            "crumbline = 2\nname = \"x\"\n[shape.turned]\npoints = [[40, 0], [0, 80]]\n[[covering]]\nmaterial = \
             \"rolled icing\"\nthickness = 3\n[[covering.zone]]\nname = \"band\"\nbetween = [0, 9]\n[[detail]]\nname = \"spot 1\"\nadd = \"icing\"\nball = {{ centre = \
             [0, 0, 80], diameter = 20 }}\n{offer}"
        );
        let cake = CakeFile::from_text("x", "", text).parse();
        assert!(cake.problems.is_empty(), "{:?}", cake.problems);
        let mut problems = Vec::new();
        let offer = Offer::read(&cake.document.unwrap(), &mut problems);
        (offer, problems.into_iter().map(|p| format!("{}: {}", p.path, p.message)).collect())
    }

    #[test]
    fn coverings_go_by_material_zones_and_details_by_name() {
        let (offer, problems) = read(
            "[[offer.size]]\nserves = 40\nprice = 320\n[[offer.colour]]\nname = \"All\"\nof = [\"spot 1\", \"band\", \"fondant\"]\n\
             colours = [{ name = \"cream\", colour = \"#f6efe0\" }]\n",
        );
        assert_eq!(problems, Vec::<String>::new());
        let choice = &offer.colours[0];
        let paths: Vec<String> = choice.of.iter().map(|taker| taker.path().to_string()).collect();
        assert_eq!(paths, ["covering[0].colour", "covering[0].zone[0].colour", "detail[0].colour"]);
        assert_eq!(offer.sizes, [OfferedSize { serves: 40, price: Price::new(320.0) }]);
    }

    #[test]
    fn each_fault_is_told_at_its_place() {
        let colour = "[[offer.colour]]\nname = \"A\"\n";
        let one = "colours = [{ name = \"cream\", colour = \"#f6efe0\" }]\n";
        for (offer, place) in [
            ("[[offer.size]]\nserves = 4\n[[offer.size]]\nserves = 4\n".to_owned(), "offer.size[1].serves"),
            (format!("{colour}of = []\n{one}"), "offer.colour[0].of"),
            (format!("{colour}of = [\"spot 2\"]\n{one}"), "offer.colour[0].of[0]"),
            (format!("{colour}of = [\"spot 1\"]\ncolours = []\n"), "offer.colour[0].colours"),
            (format!("[[offer.colour]]\nname = \" \"\nof = [\"spot 1\"]\n{one}"), "offer.colour[0].name"),
            (
                format!("{0}of = [\"spot 1\"]\n{one}{0}of = [\"spot 1\"]\n{one}", colour),
                "offer.colour[1].name",
            ),
        ] {
            let (_, problems) = read(&offer);
            assert_eq!(problems.len(), 1, "{offer}: {problems:?}");
            assert!(problems[0].starts_with(&format!("{place}: ")), "{problems:?}");
        }
    }
}
