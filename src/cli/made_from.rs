//! Which files a kit was made from: noted as they are read, so that the note is of the bytes that were used.

use std::{
    collections::BTreeMap,
    io,
    path::{Path, PathBuf},
    sync::{Mutex, PoisonError},
};

use cakefile::world::{Content, FileBytes, Revision, World};
use formats::export::files::{Fingerprint, MadeFrom, Origin};

/// Another world, with a note of what each file held.
pub struct Noting<W> {
    world: W,
    notes: Mutex<BTreeMap<PathBuf, Option<(Revision, Fingerprint)>>>,
}

impl<W: World> Noting<W> {
    /// `world`, of which nothing was read yet.
    pub fn new(world: W) -> Self {
        Self { world, notes: Mutex::default() }
    }

    /// The cake file at `cake`, then every other file that was asked for.
    pub fn origins(&self, cake: &Path) -> Vec<Origin> {
        let folder = cake.parent().unwrap_or(Path::new(""));
        let notes = self.notes.lock().unwrap_or_else(PoisonError::into_inner);
        let origin = |(path, held): (&PathBuf, &Option<(Revision, Fingerprint)>)| {
            let inside = path.strip_prefix(folder).ok().filter(|inside| is_below(inside));
            let name = inside.unwrap_or_else(|| Path::new(path.file_name().unwrap_or_default()));
            let parts: Vec<_> = name.iter().map(|part| part.to_string_lossy()).collect();
            Origin {
                file: parts.join("/"),
                elsewhere: inside.is_none(),
                sha256: held.map(|(_, fingerprint)| fingerprint),
            }
        };
        let first = notes.get_key_value(cake).map(origin);
        let mut others: Vec<Origin> = notes.iter().filter(|(path, _)| *path != cake).map(origin).collect();
        others.sort();
        first.into_iter().chain(others).collect()
    }
}

/// Whether `path` only goes down.
fn is_below(path: &Path) -> bool {
    path.components().all(|part| matches!(part, std::path::Component::Normal(_)))
}

impl<W: World> World for Noting<W> {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        let found = self.world.read(path, content);
        let mut notes = self.notes.lock().unwrap_or_else(PoisonError::into_inner);
        let known = notes.get(path).copied().flatten();
        let note = found.as_ref().ok().map(|file| match known {
            Some((revision, fingerprint)) if revision == file.revision => (revision, fingerprint),
            _ => (file.revision, Fingerprint::of(&file.bytes)),
        });
        notes.insert(path.to_owned(), note);
        found
    }

    fn may_name(&self, folder: &Path, name: &Path) -> io::Result<()> {
        self.world.may_name(folder, name)
    }
}

/// Files that are not as they were when the kit was made, and files that cannot be compared because they lie elsewhere.
pub fn compared(
    made: &MadeFrom,
    world: &dyn World,
    cake: &Path,
    pantry: Option<&Path>,
) -> (Vec<String>, Vec<String>) {
    let folder = cake.parent().unwrap_or(Path::new(""));
    let (mut stale, mut unknown) = (Vec::new(), Vec::new());
    for (place, origin) in made.files.iter().enumerate() {
        let named = pantry.filter(|path| path.file_name().is_some_and(|name| name == origin.file.as_str()));
        let path = match (place, origin.elsewhere, named) {
            (0, ..) => cake.to_owned(),
            (_, false, _) => folder.join(&origin.file),
            (_, true, Some(named)) => named.to_owned(),
            (_, true, None) => {
                unknown.push(origin.file.clone());
                continue;
            }
        };
        let now = world.read(&path, Content::Model).ok().map(|file| Fingerprint::of(&file.bytes));
        if now != origin.sha256 {
            stale.push(origin.file.clone());
        }
    }
    (stale, unknown)
}

#[cfg(test)]
mod tests {
    use cakefile::world::Memory;

    use super::*;

    #[test]
    fn a_kit_is_of_the_cake_as_long_as_nothing_that_it_was_made_from_changes() {
        let files = Memory::new()
            .with("cakes/x.cake.toml", *b"cake")
            .with("cakes/drawings/a.svg", *b"svg")
            .with("mine/pantry.toml", *b"pans");
        let noting = Noting::new(files.clone());
        let cake = Path::new("cakes/x.cake.toml");
        for path in ["cakes/x.cake.toml", "cakes/drawings/a.svg", "mine/pantry.toml"] {
            noting.read(Path::new(path), Content::Text).unwrap();
        }
        noting.read(Path::new("cakes/pantry.toml"), Content::Text).unwrap_err();
        let origins = noting.origins(cake);
        let names: Vec<(&str, bool)> = origins.iter().map(|o| (o.file.as_str(), o.elsewhere)).collect();
        let expected = [
            ("x.cake.toml", false),
            ("drawings/a.svg", false),
            ("pantry.toml", false),
            ("pantry.toml", true),
        ];
        assert_eq!(names, expected);
        let made = MadeFrom {
            program: String::new(),
            title: String::new(),
            files: origins,
            options: BTreeMap::new(),
        };
        let check = |files: &Memory, pantry| compared(&made, files, cake, pantry);
        assert_eq!(check(&files, None), (vec![], vec!["pantry.toml".to_owned()]));
        let mine = Some(Path::new("mine/pantry.toml"));
        assert_eq!(check(&files, mine), (vec![], vec![]));
        let later = files.with("cakes/drawings/a.svg", *b"other").with("cakes/pantry.toml", *b"new");
        assert_eq!(
            check(&later, mine),
            (vec!["drawings/a.svg".to_owned(), "pantry.toml".to_owned()], vec![])
        );
    }
}
