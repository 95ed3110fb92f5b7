//! What the client chose comes back as it was chosen, or not at all.

use cakefile::{
    CakeFile,
    edit::{Document, Edit},
};
use formats::model::Rgb;
use make::language::Language;
use plan::{
    offer::{ColourChoice, Coloured, Offer, OfferedSize},
    pantry::Price,
};
use proptest::prelude::*;
use shop::share::{Choices, ChoicesError, Expected, Serves, Tint, changes};

/// Names as makers write them: short, and some like the text's own words and signs.
const NAMES: [&str; 9] =
    ["Spots", "cake", "serves", "as shown", "A = B", "remarks: none", "Größe", "爪 🍰", "two  spaces"];

fn offer() -> impl Strategy<Value = Offer> {
    let sizes = prop::collection::btree_set(1_u32..300, 0..4);
    let colours =
        prop::collection::vec((prop::sample::subsequence(NAMES.to_vec(), 1..5), any::<[u8; 3]>()), 0..4);
    let names = prop::sample::subsequence(NAMES.to_vec(), 4);
    (sizes, colours, names).prop_map(|(sizes, colours, names)| Offer {
        sizes: sizes.into_iter().map(|serves| OfferedSize { serves, price: Price::new(9.5) }).collect(),
        colours: colours
            .into_iter()
            .zip(names)
            .enumerate()
            .map(|(place, ((offered, [r, g, b]), name))| ColourChoice {
                name: name.to_owned(),
                of: vec![Coloured::Detail(place)],
                colours: offered.into_iter().map(|name| (name.to_owned(), Rgb(r, g, b))).collect(),
            })
            .collect(),
    })
}

fn chosen() -> impl Strategy<Value = (Offer, Choices)> {
    let remarks = prop::collection::vec("[ -~äß🍰|>\\[\\]=]{0,40}", 0..4);
    (offer(), any::<prop::sample::Index>(), prop::collection::vec(any::<prop::sample::Index>(), 4), remarks)
        .prop_map(|(offer, size, picks, remarks)| {
            let serves = (!offer.sizes.is_empty()).then(|| match size.index(offer.sizes.len() + 1) {
                0 => Serves::AsShown(12),
                n => Serves::Offered(offer.sizes[n - 1].serves),
            });
            let tint = |(choice, pick): (&ColourChoice, &prop::sample::Index)| match pick
                .index(choice.colours.len() + 2)
            {
                0 => Tint::AsShown(None),
                1 => Tint::AsShown(Some(choice.colours[0].1)),
                n => Tint::Offered(choice.colours[n - 2].0.clone()),
            };
            let colours = offer.colours.iter().zip(&picks).map(tint).collect();
            let lines: Vec<&str> = remarks.iter().map(|line| line.trim_end()).collect();
            (offer, Choices { serves, colours, remarks: lines.join("\n").trim().to_owned() })
        })
}

fn expected(offer: &Offer) -> Expected<'_> {
    Expected { name: "Toadstool house", mark: "0123456789", offer, allow_earlier: false }
}

fn languages() -> Vec<Language> {
    Language::every_shipped().collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    /// Whatever is offered and chosen, in any language, in a letter that quotes it with a greeting round it.
    #[test]
    fn choices_are_read_as_they_were_written((offer, choices) in chosen(), german: bool, quoted: bool) {
        let expected = expected(&offer);
        let language = &languages()[usize::from(german)];
        let text = choices.text(&expected, language);
        let body: String = match quoted {
            true => text.lines().map(|line| format!("> > {line}\r\n")).collect(),
            false => text,
        };
        let letter = format!("Dear baker,\n\nyes please!\n\n{body}\nAnna\n");
        let read = Choices::read(&letter, &expected, &languages());
        // A name may be an "as shown" as well: then the offered one is meant.
        prop_assert_eq!(read.map_err(|error| TestCaseError::fail(format!("{error}\n{letter}")))?, choices);
    }
}

fn spots() -> Offer {
    let colours = vec![("cream".to_owned(), Rgb(246, 239, 224)), ("old rose".to_owned(), Rgb(200, 120, 130))];
    let choice =
        ColourChoice { name: "Spots".into(), of: vec![Coloured::Detail(0), Coloured::Detail(1)], colours };
    Offer { sizes: vec![OfferedSize { serves: 60, price: None }], colours: vec![choice] }
}

const LETTER: &str = "[choices 0123456789]\ncake: Toadstool house\nserves: 60\nSpots = old rose\nremarks:\n| Please ring\n| \
                      twice.\n[end of choices]\n";

#[test]
fn a_letter_may_break_lines_and_stand_in_an_answer_twice() {
    let offer = spots();
    let read = |letter: &str| Choices::read(letter, &expected(&offer), &languages());
    let whole = read(LETTER).unwrap();
    assert_eq!(whole.remarks, "Please ring\ntwice.");
    let broken = LETTER.replace("old rose", "old\nrose").replace("Toadstool house", "\nToadstool\n  house");
    assert_eq!(read(&broken).unwrap(), whole);
    let answered = format!("{LETTER}\nOn Monday you wrote:\n{}", LETTER.replace('\n', "\n> "));
    assert_eq!(read(&answered).unwrap(), whole);
}

#[test]
fn what_is_not_as_the_page_wrote_it_is_told_with_its_line() {
    let offer = spots();
    let read = |letter: String| Choices::read(&letter, &expected(&offer), &languages()).unwrap_err();
    let other = LETTER.replace("rose", "gold");
    for (letter, told) in [
        (String::new(), "there is no line \"[choices ...]\" in it"),
        (LETTER.replace("[end of choices]", ""), "the line \"[end of choices]\" is missing after line 8"),
        (format!("{LETTER}{other}"), "line 9: there is more than one text of choices, and they differ"),
        (
            LETTER.replace("Toadstool", "Fairy"),
            "line 2: it is for \"Fairy house\", and this cake is \"Toadstool house\"",
        ),
        (
            LETTER.replace("0123456789", "aaaa"),
            "line 1: it answers the page aaaa, and the page of this cake is now 0123456789",
        ),
        (LETTER.replace("cake:", "Dots = red\ncake:"), "line 2: \"Dots = red\" is nothing that is offered"),
        (other, "line 4: \"old gold\" is not offered for \"Spots\""),
        (LETTER.replace("60", "61"), "line 3: \"61\" is not offered for serves"),
        (LETTER.replace("serves: 60", "serves: 60\nserves: 60"), "line 4: serves is chosen twice"),
        (LETTER.replace("Spots = old rose\n", ""), "the line of \"Spots\" is missing"),
        (LETTER.replace("serves: 60\n", ""), "the line of serves is missing"),
    ] {
        let error = read(letter.clone());
        assert_eq!(error.to_string(), told, "{letter}");
        assert!(!error.fix().is_empty());
    }
    let earlier = Expected { allow_earlier: true, ..expected(&offer) };
    assert!(Choices::read(&LETTER.replace("0123456789", "aaaa"), &earlier, &languages()).is_ok());
    assert_eq!(read(LETTER.replace("old rose", "old gold")).fix(), "choose from: cream, old rose");
    assert!(matches!(read("[choices x]".into()), ChoicesError::NoEnd { line: 1 }));
}

/// The edit changes what was chosen; everything else of the file stays, comments too. Chosen again, nothing changes.
#[test]
fn choices_become_an_edit_of_the_cake_file() {
    let text = "crumbline = 2   # ours\nname = \"Toadstool house\"\n[[detail]]\nname = \"spot 1\"\ncolour = \"#FFFFFF\"  # white\n\
                [[detail]]\nname = \"spot 2\"\n\n[order]\nserves = 30 # for now\n";
    let offer = spots();
    let document = Document::new(CakeFile::from_text("x", "", text));
    let choices = Choices::read(LETTER, &expected(&offer), &languages()).unwrap();
    let applied = |document: &Document, choices: &Choices| {
        let edits = changes(document, &offer, choices).into_iter().map(|change| change.edit).collect();
        document.apply(&Edit::Many(edits)).unwrap().document
    };
    let after = applied(&document, &choices);
    assert_eq!(
        after.text(),
        text.replace("#FFFFFF", "#c87882")
            .replace("name = \"spot 2\"\n", "name = \"spot 2\"\ncolour = \"#c87882\"\n")
            .replace(
                "serves = 30 # for now\n",
                "serves = 60 # for now\nremarks = \"\"\"\nPlease ring\ntwice.\"\"\"\n"
            )
    );
    assert!(changes(&after, &offer, &choices).is_empty());
    // Back to what the page showed.
    let shown = Choices {
        serves: Some(Serves::AsShown(30)),
        colours: vec![Tint::AsShown(Some(Rgb(255, 255, 255)))],
        remarks: String::new(),
    };
    let told: Vec<String> = changes(&after, &offer, &shown)
        .iter()
        .map(|change| format!("{} {}", change.path, change.now))
        .collect();
    assert_eq!(told, ["detail[0].colour #ffffff", "detail[1].colour #ffffff", "order.serves 30"]);
    // In a file that has what the page showed, nothing is written, not even in another form.
    assert!(changes(&document, &offer, &shown).is_empty());
}
