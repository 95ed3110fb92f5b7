//! The work behind the window, each kind on a thread of its own: loading the cake and building the scene.
//!
//! Each thread takes the newest request only ([`RequestSlot`]) and survives a panic in its work
//! ([`job::run`]): the window is told, keeps its last good picture, and the thread goes on with the next
//! request.

pub mod job;
pub mod slot;
mod watch;

use std::{
    sync::{Arc, Mutex, OnceLock, PoisonError, mpsc},
    thread,
    time::Duration,
};

pub use self::job::JobError;
use self::{slot::RequestSlot, watch::FileWatch};
use super::source::{CakeSource, LoadError, LoadedCake};
use crate::{Showing, ViewerError, scene, spawn::PreparedScene, still_light::StillLight};
use cakefile::Diagnostic;
use geom::Cancel;

/// Editors write a file in several steps; loading waits this long for the last of them.
const DEBOUNCE: Duration = Duration::from_millis(60);

/// A scene that is being built for less than this is finished although a newer one is asked for: while a
/// slider is dragged, the picture follows.
const SCENE_GRACE: Duration = Duration::from_millis(250);

/// What the threads hand over.
pub enum WorkResult {
    /// The cake was loaded, or why not.
    Cake(Result<Arc<LoadedCake>, JobError<NotLoaded>>),
    /// The scene of this cake is ready, or why not.
    Scene(Arc<LoadedCake>, Result<Box<PreparedScene>, JobError<ViewerError>>),
}

/// Why the newest text gave no cake.
#[derive(Debug, Clone, PartialEq)]
pub struct NotLoaded {
    /// Everything at once, for the maker.
    pub message: String,
    /// The same one by one, where it is the cake file that is wrong.
    pub problems: Vec<Diagnostic>,
}

impl From<&str> for NotLoaded {
    fn from(message: &str) -> Self {
        Self { message: message.to_owned(), problems: Vec::new() }
    }
}

/// A scene to build.
pub struct SceneRequest {
    /// Of which cake.
    pub cake: Arc<LoadedCake>,
    /// What of it is shown.
    pub showing: Showing,
    /// The largest buffer that the graphics card takes, bytes.
    pub largest_buffer: u64,
    /// The bearing of the eye, degrees, if soft light is to be worked out for it.
    pub light_from: Option<f64>,
}

/// The worker threads. They end when this is dropped.
pub struct Worker {
    loads: Arc<RequestSlot<()>>,
    scenes: Arc<RequestSlot<SceneRequest>>,
    results: Mutex<mpsc::Receiver<WorkResult>>,
    on_result: OnResult,
}

/// Where the threads put results, and what they call then, once the window has said so.
#[derive(Clone)]
struct Results {
    send: mpsc::Sender<WorkResult>,
    on_result: OnResult,
}

type OnResult = Arc<OnceLock<Box<dyn Fn() + Send + Sync>>>;

impl Results {
    /// Hands a result over. Nobody may be left to take it: then the slots are closed, and the threads end.
    fn put(&self, result: WorkResult) {
        let _ = self.send.send(result);
        if let Some(call) = self.on_result.get() {
            call();
        }
    }
}

impl Worker {
    /// Starts the threads and begins to load.
    pub fn start(source: Arc<dyn CakeSource>) -> Self {
        let (send, results) = mpsc::channel();
        let on_result = OnResult::default();
        let put = Results { send, on_result: on_result.clone() };
        let (loads, scenes) = (RequestSlot::new(Duration::ZERO), RequestSlot::new(SCENE_GRACE));
        loads.request(());
        let (slot, put_cake) = (loads.clone(), put.clone());
        thread::spawn(move || load_cakes(source.as_ref(), &slot, &put_cake));
        let slot = scenes.clone();
        thread::spawn(move || build_scenes(&slot, &put));
        Self { loads, scenes, results: Mutex::new(results), on_result }
    }

    /// Loads the cake again.
    pub fn load(&self) {
        self.loads.request(());
    }

    /// Builds a scene.
    pub fn build_scene(&self, request: SceneRequest) {
        self.scenes.request(request);
    }

    /// From now on `call` is called after each result, on a worker thread; results that are there already
    /// wait for [`Self::take_results`]. Only the first call counts.
    pub fn on_result(&self, call: impl Fn() + Send + Sync + 'static) {
        let _ = self.on_result.set(Box::new(call));
    }

    /// The results since the last call.
    pub fn take_results(&self) -> Vec<WorkResult> {
        self.results.lock().unwrap_or_else(PoisonError::into_inner).try_iter().collect()
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.loads.close();
        self.scenes.close();
    }
}

/// Loads the cake whenever that is asked for or one of its files changes.
fn load_cakes(source: &dyn CakeSource, slot: &Arc<RequestSlot<()>>, results: &Results) {
    let request = slot.clone();
    let mut watch = FileWatch::new(move || request.request(()));
    // Until something was read, at least the cake file itself is watched.
    watch.follow(source.main_file());
    while let Some(((), cancel)) = slot.begin() {
        let loaded = job::run(|| load(source, &cancel));
        let read = match &loaded {
            Ok(cake) => Some(&cake.files),
            Err(JobError::Failed(LoadError::Invalid { files, .. })) => Some(files),
            Err(JobError::Failed(LoadError::Cancelled(_)) | JobError::Panicked(_)) => None,
        };
        let outdated = read.is_some_and(|files| {
            watch.follow(files.iter().map(|file| file.path.clone()));
            // A file may have changed between being read and being watched.
            files.iter().any(|file| !source.is_current(file))
        });
        let wanted = slot.finish();
        if outdated {
            slot.request(());
        }
        let result = match loaded {
            _ if !wanted => None,
            Ok(cake) => Some(Ok(Arc::new(cake))),
            Err(JobError::Failed(LoadError::Invalid { message, problems, .. })) => {
                Some(Err(JobError::Failed(NotLoaded { message, problems })))
            }
            Err(JobError::Failed(LoadError::Cancelled(_))) => None,
            Err(JobError::Panicked(said)) => Some(Err(JobError::Panicked(said))),
        };
        if let Some(result) = result {
            results.put(WorkResult::Cake(result));
        }
        if slot.wait() {
            // Requests that come meanwhile are one with this.
            thread::sleep(DEBOUNCE);
        }
    }
}

/// Loads, and lets no result pass that came after it was asked to stop.
fn load(source: &dyn CakeSource, cancel: &Cancel) -> Result<LoadedCake, LoadError> {
    let cake = source.load(cancel)?;
    cancel.check()?;
    Ok(cake)
}

/// Builds each scene that is asked for.
fn build_scenes(slot: &RequestSlot<SceneRequest>, results: &Results) {
    while let Some((request, cancel)) = slot.begin() {
        let SceneRequest { cake, showing, largest_buffer, light_from } = request;
        let built = job::run(|| -> Result<PreparedScene, ViewerError> {
            let scene = scene::build_scene_unless(&cake.model, &showing, &cancel)?;
            let still = light_from.map(|bearing| StillLight::in_window(&scene, bearing));
            Ok(PreparedScene::new(scene, largest_buffer, still.as_ref(), &cancel)?)
        });
        if slot.finish() && !matches!(built, Err(JobError::Failed(ViewerError::Cancelled(_)))) {
            results.put(WorkResult::Scene(cake, built.map(Box::new)));
        }
    }
}

#[cfg(test)]
mod tests;
