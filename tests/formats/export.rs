//! Files out: what other programs may expect of them, and that a file is whole or not there.

mod client;
mod files;
mod models;
mod obj;
mod packed;
mod pages;
mod preview;
mod read_back;
mod stl_in;
mod stl_out;

/// Runs `work` on pools of one, two and five threads and checks that it gives the same every time.
fn same_on_any_number_of_threads<T: PartialEq + Send>(work: impl Fn() -> T + Sync) {
    let on = |threads| {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool").install(&work)
    };
    let one = on(1);
    assert!(one == on(2) && one == on(5), "the number of threads shows in the result");
}
