//! What the client chose, as a text that goes with a letter: written by the page, read by the program.
//!
//! ```text
//! [choices 3f9a2c41b7]
//! cake: Toadstool house
//! serves: 60
//! Spots = cream
//! remarks:
//! | The door on the left, please.
//! [end of choices]
//! ```
//!
//! The words before the colons are those of any language that comes with the program, or of the page's own. Letters quote
//! what they answer and break long lines: marks of quotation are taken off, and a line that begins nothing goes on with the
//! one before. Everything else that is not as the page wrote it is an error with its line; nothing is guessed.

use std::fmt::Write;

use super::choices_error::ChoicesError;
use formats::{escape, model::Rgb};
use make::language::{Language, ShareWords};
use plan::offer::Offer;

/// How many the chosen size serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Serves {
    /// The cake as the page shows it, made for so many.
    AsShown(u32),
    /// A size that is offered.
    Offered(u32),
}

impl Serves {
    /// How many.
    pub fn count(self) -> u32 {
        let (Self::AsShown(count) | Self::Offered(count)) = self;
        count
    }

    /// The word for it.
    pub fn told(self, words: &ShareWords) -> String {
        match self {
            Self::AsShown(count) => format!("{} ({count})", words.as_shown),
            Self::Offered(count) => count.to_string(),
        }
    }
}

/// A chosen colour.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tint {
    /// That which the page shows; `None` where what takes it shows none.
    AsShown(Option<Rgb>),
    /// One that is offered, by its name.
    Offered(String),
}

impl Tint {
    /// The word for it.
    pub fn told(&self, words: &ShareWords) -> String {
        match self {
            Self::AsShown(Some(colour)) => format!("{} ({})", words.as_shown, hex(*colour)),
            Self::AsShown(None) => format!("{} ({NO_COLOUR})", words.as_shown),
            Self::Offered(name) => name.clone(),
        }
    }
}

/// Instead of a colour, of what shows none; in brackets like one, so that no name is taken for it.
const NO_COLOUR: &str = "-";

/// A colour as files write it.
pub(super) fn hex(Rgb(r, g, b): Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// What the client chose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choices {
    /// The size; `None` where none is offered.
    pub serves: Option<Serves>,
    /// A colour for each choice of the offer, in its order.
    pub colours: Vec<Tint>,
    /// What they ask for beside, line by line; empty if nothing.
    pub remarks: String,
}

/// What a text has to be of.
#[derive(Debug, Clone, Copy)]
pub struct Expected<'a> {
    /// Name of the cake.
    pub name: &'a str,
    /// Its mark, as [`super::mark()`] makes it.
    pub mark: &'a str,
    /// What is offered.
    pub offer: &'a Offer,
    /// Whether a text from an earlier page of the cake is taken too.
    pub allow_earlier: bool,
}

const BEGIN: &str = "[choices";
const END: &str = "[end of choices]";

/// Words with one space between them, as letters leave them.
fn words_of(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether two texts have the same words.
pub(super) fn same_words(a: &str, b: &str) -> bool {
    words_of(a) == words_of(b)
}

impl Choices {
    /// The text, in the words of `language`, for a cake of this name and mark.
    pub fn text(&self, expected: &Expected<'_>, language: &Language) -> String {
        let words = &language.share;
        let mut out =
            format!("{BEGIN} {}]\n{}: {}\n", expected.mark, words.key_cake, escape::line(expected.name));
        if let Some(serves) = self.serves {
            let _ = writeln!(out, "{}: {}", words.key_serves, serves.told(words));
        }
        for (choice, tint) in expected.offer.colours.iter().zip(&self.colours) {
            let _ = writeln!(out, "{} = {}", choice.name, tint.told(words));
        }
        if !self.remarks.is_empty() {
            let _ = writeln!(out, "{}:", words.key_remarks);
            self.remarks.lines().for_each(|line| {
                let _ = writeln!(out, "{}", format!("| {line}").trim_end());
            });
        }
        out + END + "\n"
    }

    /// Reads a letter with such a text. `languages` are those that its words may be of.
    ///
    /// # Errors
    /// The first thing that is not as the page wrote it.
    pub fn read(letter: &str, expected: &Expected<'_>, languages: &[Language]) -> Result<Self, ChoicesError> {
        let block = Block::find(letter)?;
        let mut read = Read { expected, languages, found: Vec::new() };
        for (line, text) in &block.lines {
            read.line(*line, text)?;
        }
        read.choices(&block)
    }
}

/// The lines of a letter between the first and the last of the choices, without marks of quotation.
#[derive(PartialEq)]
struct Block {
    mark: String,
    first: usize,
    lines: Vec<(usize, String)>,
}

impl Block {
    fn find(letter: &str) -> Result<Self, ChoicesError> {
        // A byte order mark may stand before the first line.
        let plain = |line: &str| {
            line.trim_start_matches(['>', ' ', '\t', '\u{a0}', '\u{feff}']).trim_end().to_owned()
        };
        let lines: Vec<(usize, String)> =
            letter.lines().enumerate().map(|(i, line)| (i + 1, plain(line))).collect();
        let mut blocks: Vec<Self> = Vec::new();
        let mut open: Option<Self> = None;
        for (line, text) in &lines {
            if let Some(mark) = text.strip_prefix(BEGIN).and_then(|rest| rest.strip_suffix(']')) {
                if open.is_some() {
                    return Err(ChoicesError::NoEnd { line: line - 1 });
                }
                open = Some(Self { mark: mark.trim().to_owned(), first: *line, lines: Vec::new() });
            } else if text == END {
                blocks.extend(open.take());
            } else if let Some(block) = &mut open {
                block.lines.push((*line, text.clone()));
            }
        }
        if open.is_some() {
            return Err(ChoicesError::NoEnd { line: lines.len() });
        }
        let said = |block: &Self| -> Vec<String> {
            block.lines.iter().map(|(_, text)| words_of(text)).filter(|text| !text.is_empty()).collect()
        };
        let mut blocks = blocks.into_iter();
        let first = blocks.next().ok_or(ChoicesError::None)?;
        // An answer often holds the letter that it answers: the same twice is one.
        match blocks.find(|other| other.mark != first.mark || said(other) != said(&first)) {
            Some(other) => Err(ChoicesError::Several { line: other.first }),
            None => Ok(first),
        }
    }
}

/// What a line chooses.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Field {
    Cake,
    Serves,
    Colour(usize),
    Remarks,
}

/// The fields so far, each with its line and what stands behind its name.
struct Read<'a> {
    expected: &'a Expected<'a>,
    languages: &'a [Language],
    found: Vec<(Field, usize, String)>,
}

impl Read<'_> {
    fn line(&mut self, line: usize, text: &str) -> Result<(), ChoicesError> {
        let in_remarks = matches!(self.found.last(), Some((Field::Remarks, ..)));
        if let Some(remark) = text.strip_prefix('|').filter(|_| in_remarks) {
            if let Some((_, _, so_far)) = self.found.last_mut() {
                so_far.push('\n');
                so_far.push_str(remark.strip_prefix(' ').unwrap_or(remark));
            }
            return Ok(());
        }
        if let Some((field, value)) = self.field(text) {
            if self.found.iter().any(|(known, ..)| *known == field) {
                return Err(ChoicesError::Twice { line, what: self.name(field) });
            }
            self.found.push((field, line, value));
            return Ok(());
        }
        match self.found.last_mut() {
            _ if text.is_empty() => Ok(()),
            // A long line that a letter has broken.
            Some((_, _, value)) => {
                value.push(' ');
                value.push_str(text);
                Ok(())
            }
            None => Err(ChoicesError::Unknown { line, text: text.to_owned() }),
        }
    }

    /// What `text` chooses, with the rest of it.
    fn field(&self, text: &str) -> Option<(Field, String)> {
        let text = words_of(text);
        let after = |name: &str, mark: &str| {
            let rest = text.strip_prefix(words_of(name).as_str())?;
            // The letter may have broken off what follows.
            let rest = rest.strip_prefix(mark).or((rest == mark.trim_end()).then_some(""))?;
            Some(rest.trim().to_owned())
        };
        let choices = self.expected.offer.colours.iter().enumerate();
        let colour =
            choices.filter_map(|(i, choice)| Some((i, after(&choice.name, " = ")?, choice.name.len())));
        if let Some((i, value, _)) = colour.max_by_key(|(.., length)| *length) {
            return Some((Field::Colour(i), value));
        }
        self.languages.iter().find_map(|language| {
            let words = &language.share;
            [
                (Field::Cake, &words.key_cake),
                (Field::Serves, &words.key_serves),
                (Field::Remarks, &words.key_remarks),
            ]
            .into_iter()
            .find_map(|(field, key)| Some((field, after(key, ": ")?)))
        })
    }

    fn name(&self, field: Field) -> String {
        let words = &Language::english().share;
        match field {
            Field::Cake => words.key_cake.clone(),
            Field::Serves => words.key_serves.clone(),
            Field::Remarks => words.key_remarks.clone(),
            Field::Colour(i) => format!("\"{}\"", self.expected.offer.colours[i].name),
        }
    }

    fn taken(&self, field: Field) -> Result<(usize, &str), ChoicesError> {
        let found = self.found.iter().find(|(known, ..)| *known == field);
        let (_, line, value) = found.ok_or_else(|| ChoicesError::Missing { what: self.name(field) })?;
        Ok((*line, value))
    }

    /// What is in the brackets behind "as shown" in any of the languages; nothing where there are none.
    fn as_shown<'v>(&self, value: &'v str) -> Option<&'v str> {
        self.languages.iter().find_map(|language| {
            let rest = value.strip_prefix(language.share.as_shown.as_str())?.trim();
            Some(rest.strip_prefix('(').and_then(|rest| rest.strip_suffix(')')).unwrap_or(rest))
        })
    }

    fn choices(&self, block: &Block) -> Result<Choices, ChoicesError> {
        let Expected { name, mark, offer, allow_earlier } = *self.expected;
        let (line, theirs) = self.taken(Field::Cake)?;
        if !same_words(theirs, &escape::line(name)) {
            let (theirs, ours) = (theirs.to_owned(), name.to_owned());
            return Err(ChoicesError::OtherCake { line, theirs, ours });
        }
        if block.mark != mark && !allow_earlier {
            let (theirs, ours) = (block.mark.clone(), mark.to_owned());
            return Err(ChoicesError::Earlier { line: block.first, theirs, ours });
        }
        let serves = match (offer.sizes.is_empty(), self.taken(Field::Serves)) {
            (true, Err(_)) => None,
            (_, taken) => Some(self.serves(taken?)?),
        };
        let colours: Result<Vec<Tint>, _> = (0..offer.colours.len()).map(|i| self.tint(i)).collect();
        let remarks = match self.taken(Field::Remarks) {
            Ok((_, text)) => text.trim_matches('\n').trim().to_owned(),
            Err(_) => String::new(),
        };
        Ok(Choices { serves, colours: colours?, remarks })
    }

    fn serves(&self, (line, value): (usize, &str)) -> Result<Serves, ChoicesError> {
        let offered = &self.expected.offer.sizes;
        let shown = self.as_shown(value).and_then(|count| count.parse().ok()).filter(|count| *count > 0);
        if let Some(count) = shown {
            return Ok(Serves::AsShown(count));
        }
        let count = value.parse().ok().filter(|count| offered.iter().any(|size| size.serves == *count));
        count.map(Serves::Offered).ok_or_else(|| ChoicesError::NotOffered {
            line,
            what: self.name(Field::Serves),
            chosen: value.to_owned(),
            offered: offered.iter().map(|size| size.serves.to_string()).collect(),
        })
    }

    fn tint(&self, i: usize) -> Result<Tint, ChoicesError> {
        let field = Field::Colour(i);
        let (line, value) = self.taken(field)?;
        let colours = &self.expected.offer.colours[i].colours;
        if let Some((name, _)) = colours.iter().find(|(name, _)| same_words(name, value)) {
            return Ok(Tint::Offered(name.clone()));
        }
        let shown = |text: &str| match text {
            NO_COLOUR => Some(None),
            text => cakefile::schema::Colour(text.to_owned()).to_rgb().map(|[r, g, b]| Some(Rgb(r, g, b))),
        };
        self.as_shown(value).and_then(shown).map(Tint::AsShown).ok_or_else(|| ChoicesError::NotOffered {
            line,
            what: self.name(field),
            chosen: value.to_owned(),
            offered: colours.iter().map(|(name, _)| name.clone()).collect(),
        })
    }
}
