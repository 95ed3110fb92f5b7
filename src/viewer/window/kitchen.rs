//! The work behind the window: reading the cake and preparing the stage, each on a thread of its own.
//!
//! Each thread has one slot for its next order. A newer order replaces one that was not begun, so
//! that dragging a slider never queues up work.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, Condvar, Mutex, mpsc},
    thread,
    time::Duration,
};

use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher};

use super::source::{CakeSource, LoadedCake};
use crate::viewer::{Showing, ViewerError, scene::Prepared, staging};

/// Editors write a file in several steps; wait this long for the last of them.
const SETTLE: Duration = Duration::from_millis(60);

/// What comes out of the kitchen.
pub enum Served {
    /// The cake was read.
    Cake(Result<Arc<LoadedCake>, String>),
    /// A stage of this cake is ready.
    Stage(Arc<LoadedCake>, Result<Prepared, ViewerError>),
}

/// A slot for the newest order.
struct Slot<T> {
    order: Mutex<Option<T>>,
    placed: Condvar,
}

impl<T> Slot<T> {
    fn new() -> Arc<Self> {
        Arc::new(Self { order: Mutex::new(None), placed: Condvar::new() })
    }

    fn place(&self, order: T) {
        *self.order.lock().expect("no cook panics while holding the slot") = Some(order);
        self.placed.notify_one();
    }

    fn wait(&self) -> T {
        let mut slot = self.order.lock().expect("no cook panics while holding the slot");
        loop {
            if let Some(order) = slot.take() {
                return order;
            }
            slot = self.placed.wait(slot).expect("no cook panics while holding the slot");
        }
    }
}

/// The threads and what they hand over.
pub struct Kitchen {
    reading: Arc<Slot<()>>,
    staging: Arc<Slot<(Arc<LoadedCake>, Showing)>>,
    served: Mutex<mpsc::Receiver<Served>>,
    /// Dropping it ends the watching.
    _watcher: Option<RecommendedWatcher>,
}

impl Kitchen {
    /// Starts the threads and watches the source's files. `wake` is called whenever something is ready.
    pub fn open(source: Arc<dyn CakeSource>, wake: impl Fn() + Send + Clone + 'static) -> Self {
        let (serve, served) = mpsc::channel();
        let (reading, staging) = (Slot::new(), Slot::new());
        let watcher = watch(source.files(), reading.clone());
        read_on_order(source, reading.clone(), serve.clone(), wake.clone());
        stage_on_order(staging.clone(), serve, wake);
        Self { reading, staging, served: Mutex::new(served), _watcher: watcher }
    }

    /// Orders the cake to be read again.
    pub fn read(&self) {
        self.reading.place(());
    }

    /// Orders a stage.
    pub fn stage(&self, cake: Arc<LoadedCake>, showing: Showing) {
        self.staging.place((cake, showing));
    }

    /// Whatever is ready.
    pub fn collect(&self) -> Vec<Served> {
        self.served.lock().expect("nobody panics while collecting").try_iter().collect()
    }
}

fn read_on_order(
    source: Arc<dyn CakeSource>,
    reading: Arc<Slot<()>>,
    serve: mpsc::Sender<Served>,
    wake: impl Fn() + Send + 'static,
) {
    thread::spawn(move || {
        loop {
            reading.wait();
            thread::sleep(SETTLE);
            // An order placed while settling is the same order.
            let cake = source.load().map(Arc::new);
            if serve.send(Served::Cake(cake)).is_err() {
                return;
            }
            wake();
        }
    });
}

fn stage_on_order(
    staging: Arc<Slot<(Arc<LoadedCake>, Showing)>>,
    serve: mpsc::Sender<Served>,
    wake: impl Fn() + Send + 'static,
) {
    thread::spawn(move || {
        loop {
            let (cake, showing) = staging.wait();
            let prepared = staging::stage(&cake.model, &showing).map(Prepared::of);
            if serve.send(Served::Stage(cake, prepared)).is_err() {
                return;
            }
            wake();
        }
    });
}

/// Watches the folders that hold the files: an editor may replace a file, and the new one is then
/// another file of the same name. Without a watcher the cake can still be read again by hand.
fn watch(files: Vec<PathBuf>, reading: Arc<Slot<()>>) -> Option<RecommendedWatcher> {
    let names: Vec<PathBuf> = files.iter().filter_map(|f| std::path::absolute(f).ok()).collect();
    let folders: Vec<PathBuf> = names.iter().filter_map(|f| f.parent().map(Path::to_owned)).collect();
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        let Ok(event) = event else { return };
        let changes =
            matches!(event.kind, EventKind::Create(_) | EventKind::Modify(_) | EventKind::Remove(_));
        if changes && event.paths.iter().any(|path| names.contains(path)) {
            reading.place(());
        }
    })
    .ok()?;
    for folder in folders {
        // A folder that cannot be watched only means that this file is not followed.
        let _ = watcher.watch(&folder, RecursiveMode::NonRecursive);
    }
    Some(watcher)
}
