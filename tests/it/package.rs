//! What a maker installs: the packages that `assets/package/package.py` makes of the program, unpacked and started from
//! there, and what a desktop reads in them, by the desktop's own tools.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use assert_cmd::prelude::*;

use crate::repository::{example, root};

/// The same icon in pixels of these sizes.
const ICONS: [u32; 8] = [16, 24, 32, 48, 64, 128, 256, 512];

/// Whether a program is there.
fn has(tool: &str) -> bool {
    Command::new(tool).arg("--version").output().is_ok_and(|output| output.status.success())
}

/// Whether packages can be made here.
///
/// # Panics
/// When they cannot and `CRUMBLINE_REQUIRE_REFERENCE` is 1.
fn can_package() -> bool {
    let tools = ["python3", "dpkg-deb", "dpkg-shlibdeps", "xz", "rsvg-convert"];
    let missing: Vec<&str> = tools.into_iter().filter(|tool| !has(tool)).collect();
    let required = std::env::var("CRUMBLINE_REQUIRE_REFERENCE").is_ok_and(|value| value == "1");
    assert!(!required || missing.is_empty(), "{missing:?} missing: see the packages named in assets/package");
    if !missing.is_empty() {
        println!("skipped: {missing:?} missing");
    }
    missing.is_empty()
}

/// What a command prints; it must succeed and say nothing on standard error.
fn printed(command: &mut Command) -> String {
    let output = command.output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.is_empty(), "{command:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

fn script(program: &Path, out: &Path) -> Command {
    let mut command = Command::new("python3");
    command.arg(root().join("assets/package/package.py")).args([program, out]).args(["--level", "0"]);
    command
}

fn program() -> PathBuf {
    Command::cargo_bin("crumbline").unwrap().get_program().into()
}

/// Every file below `folder` by its path from there.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let all = crate::folders::everything_in(folder).into_iter().map(PathBuf::from);
    let files = all.filter(|path| path.is_file());
    files.map(|path| (path.strip_prefix(folder).unwrap().to_owned(), fs::read(&path).unwrap())).collect()
}

/// `name` of the control file.
fn field(deb: &Path, name: &str) -> String {
    printed(Command::new("dpkg-deb").arg("--field").arg(deb).arg(name)).trim().to_owned()
}

#[test]
fn packages_are_whole_and_the_program_starts_from_them() {
    if !can_package() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let made = printed(&mut script(&program(), &out));
    let made: Vec<PathBuf> = made.lines().map(PathBuf::from).collect();
    let [deb, archive] = made.as_slice() else { panic!("{made:?}") };
    assert_eq!(fs::read_dir(&out).unwrap().count(), 2);
    let again = folder.path().join("again");
    printed(&mut script(&program(), &again));
    assert!(files(&out) == files(&again), "made again they have other bytes");

    assert_eq!(field(deb, "Version"), env!("CARGO_PKG_VERSION"));
    let depends = field(deb, "Depends");
    let packages: BTreeSet<&str> = depends.split(", ").filter_map(|one| one.split(' ').next()).collect();
    assert!(packages.contains("libc6"), "{depends}");
    // What the window opens by name while it runs.
    for library in ["libvulkan1", "libx11-6", "libxcursor1", "libxi6", "libxkbcommon-x11-0"] {
        assert_eq!(packages.contains(library), cfg!(feature = "viewer"), "{library} in {depends}");
    }
    assert_eq!(field(deb, "Recommends").contains("mesa-vulkan-drivers"), cfg!(feature = "viewer"));

    let clean = folder.path().join("root");
    printed(Command::new("dpkg-deb").arg("--extract").args([deb, &clean]));
    let unpacked = folder.path().join("unpacked");
    fs::create_dir(&unpacked).unwrap();
    let tar = ["--extract", "--xz", "--strip-components=1"];
    printed(Command::new("tar").args(tar).arg("--file").arg(archive).arg("--directory").arg(&unpacked));
    let installed = files(&clean.join("usr"));
    assert!(installed == files(&unpacked), "the archive has other files than the Debian package");
    assert_eq!(installed[Path::new("bin/crumbline")], fs::read(program()).unwrap());
    let owners = printed(Command::new("dpkg-deb").arg("--contents").arg(deb));
    assert!(owners.lines().all(|line| line.contains(" root/root ")), "{owners}");

    starts(&clean.join("usr/bin/crumbline"), &clean.join("usr/share/doc/crumbline/examples"));
    let share = clean.join("usr/share");
    desktop(&share);
    pages(&share);
    completions(&share);
    licences(&share.join("doc/crumbline"));
}

/// From where it was unpacked, with nothing of this machine's in its environment, it plans as it does here.
fn starts(installed: &Path, examples: &Path) {
    let said = |program: &Path, words: &[&str]| {
        let mut command = Command::new(program);
        command.env_clear().env("CRUMBLINE_CONFIG", examples).current_dir("/").args(words);
        let output = command.output().unwrap();
        (output.status.code(), String::from_utf8_lossy(&output.stdout).into_owned())
    };
    assert_eq!(said(installed, &["--version"]), said(&program(), &["--version"]));
    let name = "toadstool-house/toadstool-house.cake.toml";
    let plan = |program: &Path, cake: &Path| {
        said(program, &["plan", cake.to_str().unwrap(), "--today", "2026-12-01 08:00"])
    };
    let (code, text) = plan(installed, &examples.join(name));
    assert!(code == Some(0) && text.contains("Toadstool"), "{text}");
    assert_eq!((code, text), plan(&program(), &example("toadstool-house")));
}

/// Icon, entry and type of files, as a desktop reads them.
fn desktop(share: &Path) {
    let icons = share.join("icons/hicolor");
    for size in ICONS {
        let icon = image::open(icons.join(format!("{size}x{size}/apps/crumbline.png"))).unwrap().to_rgba8();
        assert_eq!(icon.dimensions(), (size, size));
        // Neither empty nor a full square.
        let drawn = icon.pixels().filter(|pixel| pixel.0[3] > 128).count() as f64 / f64::from(size * size);
        assert!((0.2..0.9).contains(&drawn), "{size} px: {drawn:.2} is drawn on");
    }
    let drawing = fs::read_to_string(icons.join("scalable/apps/crumbline.svg")).unwrap();
    roxmltree::Document::parse(&drawing).unwrap();
    let entry = share.join("applications/crumbline.desktop");
    assert_eq!(entry.is_file(), cfg!(feature = "viewer"), "there is a window or there is none");
    if has("update-mime-database") {
        // It may warn that the folder is none that desktops look in.
        let mime = share.join("mime");
        assert!(Command::new("update-mime-database").arg(&mime).output().unwrap().status.success());
        let globs = fs::read_to_string(mime.join("globs2")).unwrap();
        assert!(globs.contains(":application/x-crumbline-cake:*.cake.toml\n"), "{globs}");
        // The same question as a desktop's, with this folder before the system's own.
        if has("gio") {
            let mut asked = Command::new("gio");
            asked.env("XDG_DATA_HOME", share).args(["info", "--attributes=standard::content-type"]);
            let said = printed(asked.arg(share.join("doc/crumbline/examples/boulder/boulder.cake.toml")));
            assert!(said.contains("standard::content-type: application/x-crumbline-cake"), "{said}");
        }
    }
}

/// A page for the program and for each of its commands, which man shows without a warning.
fn pages(share: &Path) {
    let pages: Vec<PathBuf> =
        fs::read_dir(share.join("man/man1")).unwrap().map(|entry| entry.unwrap().path()).collect();
    let names: BTreeSet<String> =
        pages.iter().map(|page| page.file_name().unwrap().to_string_lossy().into_owned()).collect();
    let help = printed(Command::new(program()).arg("--help"));
    let commands = help.lines().skip_while(|line| *line != "Commands:").skip(1);
    let commands = commands.take_while(|line| line.starts_with("  ")).filter(|line| !line.starts_with("   "));
    let commands = commands.map(|line| line.split_whitespace().next().unwrap());
    let mut expected: BTreeSet<String> = commands
        .filter(|command| *command != "help")
        .map(|command| format!("crumbline-{command}.1.gz"))
        .collect();
    assert!(expected.len() > 15, "{expected:?}");
    expected.insert("crumbline.1.gz".into());
    assert_eq!(names, expected);
    if !has("man") {
        return;
    }
    for page in &pages {
        let mut man = Command::new("man");
        man.env("LC_ALL", "C.UTF-8").env("MANWIDTH", "80").env("MAN_KEEP_FORMATTING", "");
        let shown = printed(man.args(["--warnings", "--local-file"]).arg(page));
        assert!(shown.contains("SYNOPSIS") && shown.contains("--help"), "{page:?}:\n{shown}");
    }
}

/// What a shell offers behind "crumbline pl" and "crumbline plan --ex".
fn completions(share: &Path) {
    let file = share.join("bash-completion/completions/crumbline");
    let offered = |words: &str| {
        let script = format!(
            "source '{}'; COMP_WORDS=({words}); COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1)); \
             _crumbline crumbline \"${{COMP_WORDS[-1]}}\" \"${{COMP_WORDS[-2]}}\"; echo \"${{COMPREPLY[@]}}\"",
            file.display()
        );
        printed(Command::new("bash").args(["--norc", "-c", &script])).trim().to_owned()
    };
    assert_eq!(offered("crumbline pl"), "plan");
    assert_eq!(offered("crumbline plan --ex"), "--explain");
    // For whoever makes packages, not for makers of cakes.
    assert_eq!(offered("crumbline she"), "");
    for (shell, file) in
        [("zsh", "zsh/vendor-completions/_crumbline"), ("fish", "fish/vendor_completions.d/crumbline.fish")]
    {
        let file = share.join(file);
        assert!(fs::read_to_string(&file).unwrap().contains("explain"));
        if has(shell) {
            printed(Command::new(shell).arg("-n").arg(&file));
        }
    }
}

/// Every package of others that is built in is told with a licence text.
fn licences(doc: &Path) {
    let notices = fs::read_to_string(doc.join("THIRD-PARTY-NOTICES.txt")).unwrap();
    let features = if cfg!(feature = "viewer") { "--features=viewer" } else { "--features=" };
    let mut tree = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    tree.current_dir(root()).args([
        "tree",
        "--locked",
        "--quiet",
        "--package=crumbline",
        "--edges=normal,no-proc-macro",
    ]);
    let tree = printed(tree.args(["--prefix=none", "--no-default-features", features]));
    let mut looked = 0;
    for line in tree.lines().map(|line| line.trim_end_matches(" (*)")) {
        // Ours have their folder behind the version.
        let [name, version] = line.split(' ').collect::<Vec<_>>()[..] else { continue };
        let entry =
            format!("{name} {}\n    https://crates.io/crates/{name}/", version.trim_start_matches('v'));
        looked += 1;
        assert!(notices.contains(&entry), "{line} is not told");
    }
    assert!(looked > 150, "{looked} packages");
    let texts = notices.split("\n[").skip(1).filter(|text| text.len() > 200).count();
    let most = notices.lines().flat_map(|line| line.split('[').skip(1));
    let most = most.filter_map(|number| number.split(']').next()?.parse::<usize>().ok()).max().unwrap();
    assert!(texts > 50 && most >= texts, "{texts} texts, numbers up to {most}");
    let copyright = fs::read_to_string(doc.join("copyright")).unwrap();
    assert!(
        copyright.contains("License: MIT or Apache-2.0")
            && copyright.contains("WITHOUT WARRANTY OF ANY KIND")
    );
}

#[test]
fn the_entry_in_menus_opens_what_the_type_of_files_names() {
    let package = root().join("assets/package");
    let entry = fs::read_to_string(package.join("crumbline.desktop")).unwrap();
    let value = |key: &str| entry.lines().find_map(|line| line.strip_prefix(key)?.strip_prefix('='));
    assert_eq!(value("Exec"), Some("crumbline view %f"));
    assert_eq!(value("Icon"), Some("crumbline"));
    let types = fs::read_to_string(package.join("crumbline.xml")).unwrap();
    let types = roxmltree::Document::parse(&types).unwrap();
    let cake = types
        .descendants()
        .find(|node| {
            node.has_tag_name(("http://www.freedesktop.org/standards/shared-mime-info", "mime-type"))
        })
        .unwrap();
    assert_eq!(value("MimeType"), cake.attribute("type").map(|name| format!("{name};")).as_deref());
    let glob = cake.descendants().find_map(|node| node.attribute("pattern")).unwrap();
    assert!(example("toadstool-house").to_string_lossy().ends_with(glob.trim_start_matches('*')));
    if has("desktop-file-validate") {
        let said = printed(Command::new("desktop-file-validate").arg(package.join("crumbline.desktop")));
        assert_eq!(said, "");
    }
}

#[test]
fn what_is_no_such_program_makes_no_package() {
    if !can_package() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let other = folder.path().join("other");
    for (text, says) in [
        ("#!/bin/sh\necho other 1\n", "does not tell version, commit and features"),
        ("#!/bin/sh\nprintf 'crumbline 1\\ncommit: a\\nfeatures: none\\n'\n", "is no Linux program"),
    ] {
        // Written by another process: one that is being written here cannot be started.
        let write = "printf '%s' \"$1\" >\"$0\" && chmod +x \"$0\"";
        printed(Command::new("sh").arg("-c").arg(write).arg(&other).arg(text));
        let output = script(&other, &out).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.code() == Some(2) && said.contains(says), "{said}");
        assert!(!out.exists() || fs::read_dir(&out).unwrap().next().is_none(), "something was left");
    }
}
