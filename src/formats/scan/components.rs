//! What the objects of a 3MF file are put together from, counted before the file is opened, and which materials they name.
//!
//! Looks at tags only, whatever they stand in, and takes none for what it is not: what an XML reader would leave
//! out, such as a comment, is counted all the same.

use std::{
    collections::{BTreeMap, BTreeSet},
    io,
};

/// Most parts that all objects of a file may be put together from, each counted as often as it is used.
const MOST_PARTS: u64 = 1_000_000;

/// Objects in objects go no deeper than this.
const DEEPEST: usize = 32;

/// A tag longer than this is none that counts, bytes.
const LONGEST_TAG: usize = 1 << 16;

/// Where a file names what a surface looks like: a material, or a group of them or of colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NamedLook {
    /// Its number.
    pub look: usize,
    /// The object that names it.
    pub object: usize,
    /// Which triangle of that, from 1; `None` if the object does for all.
    pub triangle: Option<usize>,
}

/// Takes in a file and keeps which objects it puts together from which.
#[derive(Default)]
pub(super) struct Components {
    /// What of a tag has come in, without its brackets.
    tag: Vec<u8>,
    within: bool,
    quote: Option<u8>,
    object: Option<usize>,
    of: BTreeMap<usize, Vec<usize>>,
    /// How many triangles of the present object have begun.
    triangles: usize,
    /// Numbers of what is there to give surfaces a look.
    looks: BTreeSet<usize>,
    /// Where each look is first named.
    named: BTreeMap<usize, NamedLook>,
    /// Whether a part is named in a way that only an XML reader understands.
    unclear: bool,
}

impl io::Write for Components {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        for &byte in bytes {
            match (self.within, self.quote, byte) {
                (false, _, b'<') => {
                    (self.within, self.quote) = (true, None);
                    self.tag.clear();
                }
                (false, ..) => {}
                (true, None, b'<') => self.tag.clear(),
                // Comments and the like are looked into as if they were none: a quote in them opens nothing.
                (true, None, b'!' | b'?') if self.tag.is_empty() => self.within = false,
                (true, None, b'>') => {
                    self.within = false;
                    self.tag_ended();
                }
                (true, quote, _) => {
                    match quote {
                        None if byte == b'"' || byte == b'\'' => self.quote = Some(byte),
                        Some(quote) if quote == byte => self.quote = None,
                        _ => {}
                    }
                    if self.tag.len() < LONGEST_TAG {
                        self.tag.push(byte);
                    } else {
                        // A lone quote in what is no XML must not swallow the rest.
                        self.within = false;
                    }
                }
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Components {
    fn tag_ended(&mut self) {
        let whole = std::mem::take(&mut self.tag);
        let tag = String::from_utf8_lossy(&whole);
        let name_ends = tag.find(|c: char| c.is_whitespace() || c == '/').unwrap_or(tag.len());
        let name = &tag[..name_ends];
        match name.rsplit(':').next() {
            Some("object") => {
                (self.object, self.triangles) = (number(&tag, "id"), 0);
                self.named(number(&tag, "pid"), None);
            }
            Some("triangle") => {
                self.triangles += 1;
                if tag.contains("pid") {
                    self.named(number(&tag, "pid"), Some(self.triangles));
                }
            }
            // Materials and Properties Extension, chapters 2 to 5, and the core specification, section 5.
            Some(
                "basematerials" | "colorgroup" | "texture2dgroup" | "compositematerials" | "multiproperties",
            ) => self.looks.extend(number(&tag, "id")),
            Some("component") => match (self.object, number(&tag, "objectid")) {
                (Some(object), Some(part)) => self.of.entry(object).or_default().push(part),
                _ => self.unclear = true,
            },
            _ => {}
        }
        // The room for the next one.
        self.tag = whole;
        self.tag.clear();
    }

    fn named(&mut self, look: Option<usize>, triangle: Option<usize>) {
        if let (Some(look), Some(object)) = (look, self.object) {
            self.named.entry(look).or_insert(NamedLook { look, object, triangle });
        }
    }

    /// The first look that is named and not there.
    pub fn missing_look(&self) -> Option<NamedLook> {
        self.named.values().find(|named| !self.looks.contains(&named.look)).copied()
    }

    /// What is wrong with what the objects are put together from.
    pub fn check(&self) -> Result<(), String> {
        if self.unclear {
            return Err("its objects have no plain numbers".into());
        }
        let mut known = BTreeMap::new();
        let mut all = 0u64;
        for object in self.of.keys() {
            all = all.saturating_add(self.parts(*object, 0, &mut known)?);
        }
        match all {
            ..=MOST_PARTS => Ok(()),
            _ => Err(format!("its objects are put together from more than {MOST_PARTS} parts")),
        }
    }

    fn parts(&self, object: usize, depth: usize, known: &mut BTreeMap<usize, u64>) -> Result<u64, String> {
        if let Some(parts) = known.get(&object) {
            return Ok(*parts);
        }
        if depth > DEEPEST {
            return Err("its objects lie in each other without end".into());
        }
        let mut parts = 1u64;
        for part in self.of.get(&object).into_iter().flatten() {
            parts = parts.saturating_add(self.parts(*part, depth + 1, known)?);
        }
        known.insert(object, parts);
        Ok(parts)
    }
}

/// The value of an attribute that is a whole number.
fn number(tag: &str, name: &str) -> Option<usize> {
    tag.match_indices(name).find_map(|(at, _)| {
        let begins = tag[..at].ends_with(|c: char| c.is_whitespace());
        let value = tag[at + name.len()..].trim_start().strip_prefix('=')?.trim_start();
        let quote = value.chars().next().filter(|c| begins && (*c == '"' || *c == '\''))?;
        value[1..].split(quote).next()?.trim().parse().ok()
    })
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use super::*;

    fn checked(text: &str) -> Result<(), String> {
        let mut components = Components::default();
        // In small pieces, as they come from an archive.
        text.as_bytes().chunks(3).for_each(|piece| components.write_all(piece).unwrap());
        components.check()
    }

    #[test]
    fn objects_of_objects_are_counted() {
        let level = |id: usize| {
            let part = format!("<m:component a='>' objectid = '{}' transform=\"1\"/>", id - 1);
            format!("<object pid=\"3\" id=\"{id}\">{}</object>", part.repeat(4))
        };
        let levels = |count: usize| (2..count + 2).map(level).collect::<String>();
        checked(&levels(6)).unwrap();
        assert!(checked(&levels(12)).unwrap_err().contains("more than 1000000 parts"));
        assert!(checked(&level(2).replace("'1'", "'2'")).unwrap_err().contains("without end"));
        assert!(checked(&level(2).replace("'1'", "'&#49;'")).unwrap_err().contains("no plain numbers"));
        assert!(checked(&format!("<?xml \"?><!-- it's --><![CDATA[\"]]>{}", levels(12))).is_err());
        checked("<object id='x'/> no < component here \" > <component").unwrap();
    }
}
