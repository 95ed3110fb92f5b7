//! The `crumbline` program.

fn main() -> std::process::ExitCode {
    crumbline::cli::main()
}
