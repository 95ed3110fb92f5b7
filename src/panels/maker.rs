//! Makes kits, quotes and pictures with the program itself, as from a command line: a fault or a stop of one of them
//! harms nothing else, and each writes all its files or none.

use std::{
    collections::HashMap,
    ffi::OsString,
    io::{BufRead, BufReader, Read},
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    thread,
};

use crate::{
    make_panel::{Product, Progress},
    stack::Wake,
};

/// With this in its environment the program tells on standard error how far it is: lines of "progress", what is done,
/// how many steps are done and how many there are, with tabs between.
pub const PROGRESS_LINES: &str = "CRUMBLINE_PROGRESS";

/// Runs of the program.
pub struct Maker {
    program: PathBuf,
    /// Flags of every run, as the pantry.
    flags: Vec<OsString>,
    jobs: Arc<Mutex<HashMap<Product, Job>>>,
    wake: Wake,
}

struct Job {
    progress: Progress,
    child: Option<Child>,
    /// Which run this is: what an older one still says is not heard.
    run: u64,
}

impl Maker {
    /// Runs of `program`, each with `flags` at its end.
    pub fn new(program: PathBuf, flags: Vec<OsString>, wake: Wake) -> Self {
        Self { program, flags, jobs: Arc::default(), wake }
    }

    /// How far a product is.
    pub fn progress(&self, product: Product) -> Option<Progress> {
        lock(&self.jobs).get(&product).map(|job| job.progress.clone())
    }

    /// Makes `product` of the cake file at `cake`.
    pub fn start(&mut self, product: Product, cake: &Path) {
        self.stop(product);
        let (made, args) = command(product, cake);
        let mut run = Command::new(&self.program);
        run.args(args).args(&self.flags).env(PROGRESS_LINES, "lines").env("NO_COLOR", "1");
        run.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut jobs = lock(&self.jobs);
        let number = jobs.get(&product).map_or(0, |job| job.run + 1);
        match run.spawn() {
            Ok(mut child) => {
                let (out, err) = (child.stdout.take(), child.stderr.take());
                let progress = Progress::Running { what: "beginning".into(), done: None };
                jobs.insert(product, Job { progress, child: Some(child), run: number });
                let watch = Watch { jobs: self.jobs.clone(), product, run: number, wake: self.wake.clone() };
                thread::spawn(move || watch.until_done(out, err, made));
            }
            Err(error) => {
                let why = format!("{} could not be started: {error}", self.program.display());
                jobs.insert(product, Job { progress: Progress::Failed(why), child: None, run: number });
            }
        }
    }

    /// Stops making a product; what was half made is cleared away by its next run.
    pub fn stop(&mut self, product: Product) {
        if let Some(job) = lock(&self.jobs).get_mut(&product)
            && let Some(mut child) = job.child.take()
        {
            let _ = child.kill();
            let _ = child.wait();
            job.run += 1;
            job.progress = Progress::Failed("Stopped.".into());
        }
    }
}

impl Drop for Maker {
    fn drop(&mut self) {
        for product in Product::ALL {
            self.stop(product);
        }
    }
}

fn lock(jobs: &Mutex<HashMap<Product, Job>>) -> MutexGuard<'_, HashMap<Product, Job>> {
    // No code that can panic runs under the lock.
    jobs.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The file or the folder that a product is, and the words of the command that makes it.
fn command(product: Product, cake: &Path) -> (PathBuf, Vec<OsString>) {
    let name = cake.file_name().unwrap_or_default().to_string_lossy();
    let stem = name.strip_suffix(".cake.toml").or(name.strip_suffix(".toml")).unwrap_or(&name).to_owned();
    let beside = |ending: &str| cake.with_file_name(format!("{stem}{ending}"));
    let words = |command: &str, rest: Vec<OsString>| {
        let mut words = vec![OsString::from(command), cake.into()];
        words.extend(rest);
        words
    };
    match product {
        Product::Kit => (beside("-kit"), words("kit", vec!["--out".into(), beside("-kit").into()])),
        // While points are open it says INCOMPLETE across its pages.
        Product::Quote => {
            let rest = vec!["--incomplete".into(), "--out".into(), beside("-quote").into()];
            (beside("-quote"), words("quote", rest))
        }
        Product::Timetable => (
            beside("-timetable.ics"),
            words("timetable", vec!["--out".into(), beside("-timetable.ics").into()]),
        ),
        Product::Shopping => (
            beside("-shopping.csv"),
            words("amounts", vec!["--shopping".into(), beside("-shopping.csv").into()]),
        ),
        Product::Report => (beside("-plan"), words("plan", vec!["--out".into(), beside("-plan").into()])),
        Product::Picture => {
            let rest = ["--stage", "finished", "--no-ghost", "--no-legend", "--no-dimensions"];
            let file = beside("-picture.png");
            (
                file.clone(),
                words("picture", std::iter::once(file.into()).chain(rest.map(OsString::from)).collect()),
            )
        }
        Product::Sheet => {
            (beside("-sheet.png"), words("picture", vec![beside("-sheet.png").into(), "--sheet".into()]))
        }
    }
}

/// Reads what a run says until it ends.
struct Watch {
    jobs: Arc<Mutex<HashMap<Product, Job>>>,
    product: Product,
    run: u64,
    wake: Wake,
}

impl Watch {
    fn until_done(self, out: Option<impl Read + Send + 'static>, err: Option<impl Read>, made: PathBuf) {
        let out = thread::spawn(move || {
            let mut said = String::new();
            out.map(|mut out| out.read_to_string(&mut said));
            said
        });
        let mut told = Vec::new();
        for line in err.into_iter().flat_map(|err| BufReader::new(err).lines()).map_while(Result::ok) {
            match progress_of(&line) {
                Some(progress) => self.set(progress),
                None => told.push(line),
            }
        }
        let said = out.join().unwrap_or_default();
        let child = lock(&self.jobs)
            .get_mut(&self.product)
            .filter(|job| job.run == self.run)
            .and_then(|job| job.child.take());
        let Some(mut child) = child else { return };
        let told = told.join("\n");
        let progress = match child.wait() {
            // 1: it was made, and the plan found an error, which is said.
            Ok(status) if matches!(status.code(), Some(0 | 1)) => {
                Progress::Made { made, said: format!("{said}{told}") }
            }
            Ok(_) => Progress::Failed(if told.is_empty() { said } else { told }),
            Err(error) => Progress::Failed(error.to_string()),
        };
        self.set(progress);
    }

    fn set(&self, progress: Progress) {
        if let Some(job) = lock(&self.jobs).get_mut(&self.product).filter(|job| job.run == self.run) {
            job.progress = progress;
        }
        (self.wake)();
    }
}

/// A line of [`PROGRESS_LINES`].
fn progress_of(line: &str) -> Option<Progress> {
    let mut words = line.strip_prefix("progress\t")?.split('\t');
    let (what, done, steps) =
        (words.next()?, words.next()?.parse::<f32>().ok()?, words.next()?.parse::<f32>().ok()?);
    Some(Progress::Running { what: what.to_owned(), done: (steps > 0.0).then_some(done / steps) })
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::{fs, os::unix::fs::PermissionsExt, time::Duration};

    /// A program that says what it was called with.
    fn program(folder: &Path, script: &str) -> PathBuf {
        let file = folder.join("program");
        fs::write(&file, format!("#!/bin/sh\n{script}\n")).unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o755)).unwrap();
        file
    }

    fn ended(maker: &Maker, product: Product) -> Progress {
        loop {
            match maker.progress(product) {
                Some(Progress::Running { .. }) => thread::sleep(Duration::from_millis(5)),
                Some(progress) => return progress,
                None => panic!("it was never begun"),
            }
        }
    }

    #[test]
    fn what_a_run_says_and_where_it_lies_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let script = "printf 'progress\\tcutting\\t1\\t4\\n' >&2; echo \"$@\"; exit 1";
        let flags = vec!["--pantry".into(), "p.toml".into()];
        let mut maker = Maker::new(program(folder.path(), script), flags, Arc::new(|| ()));
        let cake = folder.path().join("a cake.cake.toml");
        maker.start(Product::Kit, &cake);
        let kit = folder.path().join("a cake-kit");
        let said = format!("kit {} --out {} --pantry p.toml\n", cake.display(), kit.display());
        assert_eq!(ended(&maker, Product::Kit), Progress::Made { made: kit, said });
    }

    #[test]
    fn what_fails_tells_why_and_what_is_stopped_says_so() {
        let folder = tempfile::tempdir().unwrap();
        let script = "case $1 in quote) echo 'no price' >&2; exit 2;; *) exec sleep 60;; esac";
        let mut maker = Maker::new(program(folder.path(), script), Vec::new(), Arc::new(|| ()));
        let cake = folder.path().join("a.cake.toml");
        maker.start(Product::Quote, &cake);
        assert_eq!(ended(&maker, Product::Quote), Progress::Failed("no price".into()));
        maker.start(Product::Kit, &cake);
        maker.stop(Product::Kit);
        assert_eq!(maker.progress(Product::Kit), Some(Progress::Failed("Stopped.".into())));
        assert_eq!(
            progress_of("progress\tcutting\t1\t4"),
            Some(Progress::Running { what: "cutting".into(), done: Some(0.25) })
        );
        assert_eq!(progress_of("note: progress"), None);
    }
}
