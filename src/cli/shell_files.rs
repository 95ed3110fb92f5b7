//! `shell-files`, which packages are made with and help does not show: the manual pages and the shells' completions, from
//! the same flags that the program reads.

use std::path::PathBuf;

use clap::{Args, Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::Man;
use formats::export::FileSet;

use super::{
    args,
    error::CliError,
    output::waiting,
    run::{Outcome, print},
};

/// Flags of `shell-files`.
#[derive(Debug, Args)]
pub struct ShellFilesArgs {
    /// The folder that takes the place of /usr/share.
    pub folder: PathBuf,
}

/// Where each shell of a Linux system looks for completions below /usr/share.
const COMPLETIONS: [(Shell, &str); 3] = [
    (Shell::Bash, "bash-completion/completions/crumbline"),
    (Shell::Zsh, "zsh/vendor-completions/_crumbline"),
    (Shell::Fish, "fish/vendor_completions.d/crumbline.fish"),
];

/// Writes a manual page for the program and for each command, and completions; all of them or none.
///
/// # Errors
/// Files that cannot be written.
pub fn shell_files(args: &ShellFilesArgs) -> Result<Outcome, CliError> {
    let mut program = shown();
    program.build();
    let mut set = FileSet::in_folder(&args.folder, &waiting)?;
    let mut page = |command: &Command, name: &str| {
        let man = Man::new(command.clone()).title(name.to_uppercase()).manual("Crumbline");
        let man = man.source(concat!("crumbline ", env!("CARGO_PKG_VERSION")));
        set.add(&args.folder.join(format!("man/man1/{name}.1")), |w| man.render(w))
    };
    page(&program, "crumbline")?;
    for command in program.get_subcommands().filter(|command| command.get_name() != "help") {
        page(command, &format!("crumbline-{}", command.get_name()))?;
    }
    for (shell, file) in COMPLETIONS {
        set.add(&args.folder.join(file), |w| {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut shown(), "crumbline", &mut script);
            w.write_all(&script)
        })?;
    }
    let written = set.commit()?;
    print(&format!("Wrote {} files to {}\n", written.len(), args.folder.display()))
}

/// The program's commands without those that help does not show: completions would offer them.
fn shown() -> Command {
    let full = args::Args::command();
    let text = |text: Option<&clap::builder::StyledStr>| text.cloned().unwrap_or_default();
    Command::new("crumbline")
        .about(text(full.get_about()))
        .after_help(text(full.get_after_help()))
        .version(env!("CARGO_PKG_VERSION"))
        .propagate_version(true)
        .disable_help_flag(true)
        .args(full.get_arguments().cloned())
        .subcommands(full.get_subcommands().filter(|command| !command.is_hide_set()).cloned())
}
