//! A copy of what is not saved, so that nothing but the last edit is lost when the program or the machine stops.
//!
//! Each window has a copy of its own under a lock that the system lets go when the program ends, however it ends: a copy
//! without a lock was left behind, and is offered.

use std::{
    collections::BTreeMap,
    fs::{self, File, TryLockError},
    io::{self, Write},
    path::{Path, PathBuf},
};

use serde_json::{Value, json};

use crate::session::Session;

/// The copy of one window.
#[derive(Debug)]
pub struct Recovery {
    file: PathBuf,
    lock_file: PathBuf,
    /// Held as long as the window is open.
    _lock: File,
    written: Option<u64>,
    /// The files beside a cake that was never saved, that lie here already.
    beside: Vec<String>,
}

/// What a window that ended left behind.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftBehind {
    /// Where the cake lay, or was to lie.
    pub cake: PathBuf,
    /// Its text, as it was last.
    pub text: String,
    /// The files beside it that were not written either, by name.
    pub beside: BTreeMap<String, Vec<u8>>,
    /// Where the copy lies.
    file: PathBuf,
}

impl Recovery {
    /// A copy in `folder`, which is made if it is not there.
    ///
    /// # Errors
    /// A folder or file that cannot be written.
    pub fn in_folder(folder: &Path) -> io::Result<Self> {
        fs::create_dir_all(folder)?;
        for number in 0.. {
            let stem = format!("{}-{number}", std::process::id());
            let lock_file = folder.join(format!("{stem}.lock"));
            let lock = File::options().create(true).truncate(false).write(true).open(&lock_file)?;
            match lock.try_lock() {
                Ok(()) => {
                    let file = folder.join(format!("{stem}.json"));
                    return Ok(Self { file, lock_file, _lock: lock, written: None, beside: Vec::new() });
                }
                Err(TryLockError::WouldBlock) => {}
                Err(TryLockError::Error(error)) => return Err(error),
            }
        }
        unreachable!("there are always more numbers")
    }

    /// Writes the copy, whole or not at all, unless it is there already.
    ///
    /// # Errors
    /// A file that cannot be written.
    pub fn write(&mut self, session: &Session) -> io::Result<()> {
        if self.written == Some(session.changes()) {
            return Ok(());
        }
        for (name, bytes) in session.beside() {
            if !self.beside.contains(name) {
                let to = files_of(&self.file).join(name);
                fs::create_dir_all(to.parent().unwrap_or(Path::new("")))?;
                fs::write(to, bytes)?;
                self.beside.push(name.clone());
            }
        }
        let folder = self.file.parent().unwrap_or(Path::new(""));
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        let beside: Vec<&String> = session.beside().keys().collect();
        let copy = json!({ "cake": session.path(), "text": session.text(), "beside": beside });
        file.write_all(copy.to_string().as_bytes())?;
        file.persist(&self.file).map_err(|error| error.error)?;
        self.written = Some(session.changes());
        Ok(())
    }

    /// Takes the copy away: nothing is unsaved any more.
    pub fn clear(&mut self) {
        if self.written.take().is_some() {
            let _ = fs::remove_file(&self.file);
            let _ = fs::remove_dir_all(files_of(&self.file));
            self.beside.clear();
        }
    }
}

impl Drop for Recovery {
    /// A window that ends in order has asked what to do with what was not saved.
    fn drop(&mut self) {
        self.clear();
        let _ = fs::remove_file(&self.lock_file);
    }
}

/// The copies in `folder` that windows left behind which are no longer open.
pub fn left_behind(folder: &Path) -> Vec<LeftBehind> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let copies = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"));
    let mut found: Vec<LeftBehind> =
        copies.filter(|file| is_orphan(file)).filter_map(|file| read(&file)).collect();
    found.sort_by(|a, b| a.cake.cmp(&b.cake));
    found
}

/// Where the files beside a cake lie that was never saved.
fn files_of(copy: &Path) -> PathBuf {
    copy.with_extension("files")
}

fn is_orphan(file: &Path) -> bool {
    match File::options().write(true).open(file.with_extension("lock")) {
        // Let go again at once, when the file is closed.
        Ok(lock) => lock.try_lock().is_ok(),
        Err(error) => error.kind() == io::ErrorKind::NotFound,
    }
}

fn read(file: &Path) -> Option<LeftBehind> {
    let value: Value = serde_json::from_str(&fs::read_to_string(file).ok()?).ok()?;
    let names = value["beside"].as_array().into_iter().flatten().filter_map(Value::as_str);
    let beside = names.filter_map(|name| Some((name.to_owned(), fs::read(files_of(file).join(name)).ok()?)));
    Some(LeftBehind {
        cake: value["cake"].as_str()?.into(),
        text: value["text"].as_str()?.to_owned(),
        beside: beside.collect(),
        file: file.to_owned(),
    })
}

impl LeftBehind {
    /// Takes the copy away.
    pub fn forget(&self) {
        let _ = fs::remove_file(&self.file);
        let _ = fs::remove_file(self.file.with_extension("lock"));
        let _ = fs::remove_dir_all(files_of(&self.file));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cakefile::{FieldPath, edit::Edit};

    #[test]
    fn a_window_that_is_open_is_not_offered_and_one_that_ended_in_order_left_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let mut mine = Recovery::in_folder(folder.path()).unwrap();
        let mut other = Recovery::in_folder(folder.path()).unwrap();
        assert_ne!(mine.file, other.file);
        mine.write(&Session::new("a.cake.toml", "name = 1", BTreeMap::new())).unwrap();
        other.write(&Session::new("b.cake.toml", "name = 2", BTreeMap::new())).unwrap();
        assert_eq!(left_behind(folder.path()), []);
        drop(other);
        mine.clear();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "the lock alone");
        drop(mine);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn what_is_left_behind_is_offered_until_it_is_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let mut window = Recovery::in_folder(folder.path()).unwrap();
        let beside = BTreeMap::from([("front.png".to_owned(), vec![1, 2, 3])]);
        let mut session = Session::new("a.cake.toml", "name = \"ä\"", beside.clone());
        window.write(&session).unwrap();
        let edit = Edit::Set { path: FieldPath::root().key("name"), value: "b".into() };
        session.edit("name", &edit).unwrap();
        window.write(&session).unwrap();
        // As the system does when a program is killed: the lock is let go and nothing else happens.
        let Recovery { file, lock_file, _lock, .. } = &window;
        let (file, lock_file) = (file.clone(), lock_file.clone());
        _lock.unlock().unwrap();
        let found = left_behind(folder.path());
        assert_eq!(found.len(), 1);
        assert_eq!(
            (found[0].cake.as_path(), found[0].text.as_str()),
            (Path::new("a.cake.toml"), "name = \"b\"")
        );
        assert_eq!(found[0].beside, beside);
        found[0].forget();
        assert!(!file.exists() && !lock_file.exists());
        assert_eq!(left_behind(folder.path()), []);
        assert!(!files_of(&file).exists());
    }
}
