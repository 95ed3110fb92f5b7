//! The work behind the window: reading the cake and preparing the stage, each on a thread of its own.
//!
//! Each thread has one slot for its next order. A newer order replaces one that was not begun, so
//! that dragging a slider never queues up work.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, Condvar, Mutex, OnceLock, mpsc},
    thread,
    time::Duration,
};

use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher};

use super::source::{CakeSource, LoadedCake};
use crate::{Showing, ViewerError, scene::Prepared, staging};

/// Editors write a file in several steps; wait this long for the last of them.
const SETTLE: Duration = Duration::from_millis(60);

/// What comes out of the kitchen.
pub enum Served {
    /// The cake was read.
    Cake(Result<Arc<LoadedCake>, String>),
    /// A stage of this cake is ready.
    Stage(Arc<LoadedCake>, Box<Result<Prepared, ViewerError>>),
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

/// A stage to prepare.
pub struct StageOrder {
    /// Of which cake.
    pub cake: Arc<LoadedCake>,
    /// What of it.
    pub showing: Showing,
    /// The largest buffer that the card takes, bytes.
    pub largest_buffer: u64,
}

/// What wakes the window, once there is one.
#[derive(Clone, Default)]
struct Wake(Arc<OnceLock<Box<dyn Fn() + Send + Sync>>>);

impl Wake {
    fn call(&self) {
        if let Some(wake) = self.0.get() {
            wake();
        }
    }
}

/// The threads and what they hand over.
pub struct Kitchen {
    reading: Arc<Slot<()>>,
    staging: Arc<Slot<StageOrder>>,
    wake: Wake,
    served: Mutex<mpsc::Receiver<Served>>,
    /// Dropping it ends the watching.
    _watcher: Option<RecommendedWatcher>,
}

impl Kitchen {
    /// Starts the threads, begins to read, and watches the source's files.
    pub fn open(source: Arc<dyn CakeSource>) -> Self {
        let wake = Wake::default();
        let (serve, served) = mpsc::channel();
        let (reading, staging) = (Slot::new(), Slot::new());
        let watcher = watch(source.files(), reading.clone());
        read_on_order(source, reading.clone(), serve.clone(), wake.clone());
        stage_on_order(staging.clone(), serve, wake.clone());
        Self { reading, staging, wake, served: Mutex::new(served), _watcher: watcher }
    }

    /// Orders the cake to be read again.
    pub fn read(&self) {
        self.reading.place(());
    }

    /// From now on `wake` is called whenever something is ready; what is ready already waits for whoever
    /// collects next.
    pub fn wake_by(&self, wake: impl Fn() + Send + Sync + 'static) {
        // A second caller would be as good as the first.
        let _ = self.wake.0.set(Box::new(wake));
    }

    /// Orders a stage.
    pub fn stage(&self, order: StageOrder) {
        self.staging.place(order);
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
    wake: Wake,
) {
    thread::spawn(move || {
        loop {
            let cake = source.load().map(Arc::new);
            if serve.send(Served::Cake(cake)).is_err() {
                return;
            }
            wake.call();
            reading.wait();
            // An order placed while settling is the same order.
            thread::sleep(SETTLE);
        }
    });
}

fn stage_on_order(staging: Arc<Slot<StageOrder>>, serve: mpsc::Sender<Served>, wake: Wake) {
    thread::spawn(move || {
        loop {
            let StageOrder { cake, showing, largest_buffer } = staging.wait();
            let staged = staging::stage(&cake.model, &showing);
            let prepared = staged.map(|staging| Prepared::of(staging, largest_buffer));
            if serve.send(Served::Stage(cake, Box::new(prepared))).is_err() {
                return;
            }
            wake.call();
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
