//! Times of Python libraries, taken by a script of ours in the environment under `tests/reference`.

use std::{path::Path, process::Command, time::Duration};

/// Runs `tests/reference/<script>` with `arguments` and gives back the seconds it prints, one a line.
/// Without the environment, says how to make it and gives `None`.
///
/// # Panics
/// When the script fails.
pub fn times(script: &str, arguments: &[&Path]) -> Option<Vec<Duration>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let python = std::env::var_os("CRUMBLINE_REFERENCE_VENV")
        .map_or_else(|| folder.join("venv"), Into::into)
        .join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    if !python.exists() {
        println!("no Python reference: make it with tests/reference/venv.sh");
        return None;
    }
    let output = Command::new(python).arg(folder.join(script)).args(arguments).output().expect("Python runs");
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{script}: {}", String::from_utf8_lossy(&output.stderr));
    Some(text.lines().map(|line| Duration::from_secs_f64(line.parse().expect("seconds"))).collect())
}
