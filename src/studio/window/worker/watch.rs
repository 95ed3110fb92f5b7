//! Notices when a file that the cake was made from is written, made or removed.

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
};

use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher};

/// Watches the folders of a changing set of files: an editor may replace a file, and the new one is then
/// another file of the same name. Where the system cannot watch, the cake can still be read again by hand.
pub struct FileWatch {
    watcher: Option<RecommendedWatcher>,
    folders: BTreeSet<PathBuf>,
    files: Arc<Mutex<Vec<PathBuf>>>,
}

impl FileWatch {
    /// Watches nothing yet. From [`Self::follow`] on `changed` is called, on a thread of its own, whenever
    /// one of the files may have changed.
    pub fn new(changed: impl Fn() + Send + 'static) -> Self {
        let files = Arc::new(Mutex::new(Vec::<PathBuf>::new()));
        let watched = files.clone();
        let watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
            let Ok(event) = event else { return };
            let writes =
                matches!(event.kind, EventKind::Create(_) | EventKind::Modify(_) | EventKind::Remove(_));
            let files = watched.lock().unwrap_or_else(PoisonError::into_inner);
            // A folder on the way to a file may come or go, too.
            let concerns = |path: &PathBuf| files.iter().any(|file| file.starts_with(path));
            if writes && event.paths.iter().any(concerns) {
                drop(files);
                changed();
            }
        });
        Self { watcher: watcher.ok(), folders: BTreeSet::new(), files }
    }

    /// Watches exactly these files from now on, those that are missing too.
    pub fn follow(&mut self, files: impl IntoIterator<Item = PathBuf>) {
        let places: Vec<(PathBuf, PathBuf)> =
            files.into_iter().filter_map(|file| watch_place(&file)).collect();
        *self.files.lock().unwrap_or_else(PoisonError::into_inner) =
            places.iter().map(|(_, file)| file.clone()).collect();
        if let Some(watcher) = &mut self.watcher {
            // All anew: a folder that was removed and made again is another one, which nobody watches yet.
            for folder in std::mem::take(&mut self.folders) {
                // It may be gone, and its watch with it.
                let _ = watcher.unwatch(&folder);
            }
            for (folder, _) in places {
                // A folder that cannot be watched only means that its files are not followed.
                if !self.folders.contains(&folder)
                    && watcher.watch(&folder, RecursiveMode::NonRecursive).is_ok()
                {
                    self.folders.insert(folder);
                }
            }
        }
    }
}

/// The folder to watch for a file, and the file as events name it: the file's own folder, or the nearest one
/// above it that is there.
fn watch_place(file: &Path) -> Option<(PathBuf, PathBuf)> {
    let file = std::path::absolute(file).ok()?;
    let folder = file.ancestors().skip(1).find(|folder| folder.is_dir())?;
    // Some systems name files in events by their folder's real path.
    let real = folder.canonicalize().ok()?;
    let below = file.strip_prefix(folder).ok()?;
    Some((real.clone(), real.join(below)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::{fs, sync::mpsc, time::Duration};

    /// Long enough for any system to tell of a change.
    const SOON: Duration = Duration::from_secs(20);
    /// Long enough to tell that it told nothing.
    const NOTHING: Duration = Duration::from_millis(300);

    fn watch() -> (FileWatch, mpsc::Receiver<()>) {
        let (send, receive) = mpsc::channel();
        let watch = FileWatch::new(move || {
            let _ = send.send(());
        });
        (watch, receive)
    }

    fn settled(told: &mpsc::Receiver<()>) {
        while told.recv_timeout(NOTHING).is_ok() {}
    }

    #[test]
    fn exactly_the_files_of_the_last_call_are_watched() {
        let folder = tempfile::tempdir().unwrap();
        let [a, b] = ["a.svg", "b.svg"].map(|name| folder.path().join(name));
        let (mut watch, told) = watch();
        watch.follow([a.clone()]);
        fs::write(&a, "1").unwrap();
        told.recv_timeout(SOON).expect("a file that was missing was made");
        settled(&told);
        fs::write(&b, "1").unwrap();
        assert!(told.recv_timeout(NOTHING).is_err(), "a file that is not followed was told of");
        watch.follow([b.clone()]);
        settled(&told);
        fs::write(&a, "2").unwrap();
        assert!(told.recv_timeout(NOTHING).is_err(), "a file that is no longer followed was told of");
        fs::remove_file(&b).unwrap();
        told.recv_timeout(SOON).expect("a file was removed");
    }

    #[test]
    fn a_file_in_a_folder_that_is_not_there_yet_is_noticed() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("drawings").join("a.svg");
        let (mut watch, told) = watch();
        watch.follow([file.clone()]);
        fs::create_dir(file.parent().unwrap()).unwrap();
        told.recv_timeout(SOON).expect("its folder was made");
        watch.follow([file.clone()]);
        settled(&told);
        fs::write(&file, "1").unwrap();
        told.recv_timeout(SOON).expect("the file was made");
    }
}
