#!/usr/bin/env python3
"""Makes a Debian package and an archive of a built program.

    assets/package/package.py target/release/crumbline out

writes out/crumbline_VERSION_ARCHITECTURE.deb and out/crumbline-VERSION-linux-MACHINE.tar.xz: the program, its icon, its
entry in menus, the type of cake files, manual pages, completions, examples and the licences of all that is in it. Both
hold the same files and, built twice from the same program and commit, the same bytes.

Wants Debian's dpkg, dpkg-dev, xz-utils and librsvg2-bin, and the cargo that the program was built with.
"""

import argparse
import gzip
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile

# Nothing is left beside the script.
sys.dont_write_bytecode = True
from notices import Incomplete, notices  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
TOP = HERE.parent.parent
TOOLS = {"dpkg-deb": "dpkg", "dpkg-shlibdeps": "dpkg-dev", "xz": "xz-utils", "rsvg-convert": "librsvg2-bin"}
ICON_SIZES = (16, 24, 32, 48, 64, 128, 256, 512)

# Numbers of machines in the head of a program (ELF), with Debian's name and the kernel's.
MACHINES = {0x3E: ("amd64", "x86_64"), 0xB7: ("arm64", "aarch64"), 0xF3: ("riscv64", "riscv64")}

# Libraries that the program opens by name while it runs, which no linker knows of, and Debian's package of each.
OPENED = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libX11-xcb.so.1": "libx11-xcb1",
    "libX11.so.6": "libx11-6",
    "libXcursor.so.1": "libxcursor1",
    "libXi.so.6": "libxi6",
    "libXrandr.so.2": "libxrandr2",
    "libdbus-1.so.3": "libdbus-1-3",
    "libvulkan.so.1": "libvulkan1",
    "libwayland-client.so.0": "libwayland-client0",
    "libwayland-cursor.so.0": "libwayland-cursor0",
    "libwayland-egl.so.1": "libwayland-egl1",
    "libxcb.so.1": "libxcb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxkbcommon.so.0": "libxkbcommon0",
}
# What the window works better with: a driver that draws without a graphics card, what opens a folder, and what asks for
# files.
RECOMMENDED = ["mesa-vulkan-drivers", "xdg-utils", "xdg-desktop-portal"]


class Fault(Exception):
    """Why there is no package."""


def run(*command, **more):
    """What a command prints."""
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, check=False, **more)
    if done.returncode != 0:
        raise Fault(f"{' '.join(map(str, command))} failed:\n{done.stderr.strip()}")
    return done.stdout


class Program:
    """A built program: what it says of itself, and what it needs."""

    def __init__(self, path):
        self.path = path
        said = dict(re.findall(r"^(crumbline|commit:|features:) (.+)$", run(path, "--version"), re.MULTILINE))
        if set(said) != {"crumbline", "commit:", "features:"}:
            raise Fault(f"{path} --version does not tell version, commit and features: build it from this source")
        self.version, self.commit = said["crumbline"], said["commit:"]
        self.features = [] if said["features:"] == "none" else said["features:"].split(", ")
        self.bytes = path.read_bytes()
        machine = int.from_bytes(self.bytes[18:20], "little")
        if self.bytes[:4] != b"\x7fELF" or machine not in MACHINES:
            raise Fault(f"{path} is no Linux program for {', '.join(name for _, name in MACHINES.values())}")
        self.architecture, self.machine = MACHINES[machine]
        self.has_window = "viewer" in self.features

    def linked(self, work):
        """Debian's dependencies for what the linker knows of."""
        (work / "debian").mkdir()
        (work / "debian/control").write_text("Source: crumbline\n\nPackage: crumbline\nArchitecture: any\n")
        said = run("dpkg-shlibdeps", "-O", self.path, cwd=work)
        return said.strip().removeprefix("shlibs:Depends=").split(", ")

    def opened(self, linked):
        """Debian's dependencies for what the program opens by name."""
        names = re.findall(rb"lib(?:(?!lib)[A-Za-z0-9_+-])+\.so\.[0-9]+", self.bytes)
        names = {name.decode() for name in names}
        needed = {line.split()[0] for line in run("ldd", self.path).splitlines() if line.split()}
        strange = names - needed - set(OPENED)
        if strange:
            raise Fault(f"the program opens {', '.join(sorted(strange))}: name Debian's package of each in OPENED")
        have = {dependency.split()[0] for dependency in linked}
        return sorted({OPENED[name] for name in names - needed} - have)


def put(source, target, mode=0o644):
    """Copies a file to where it is installed."""
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(source, target)
    target.chmod(mode)


def tree(program, usr):
    """Everything that is installed, below `usr`."""
    share = usr / "share"
    doc = share / "doc/crumbline"
    put(program.path, usr / "bin/crumbline", 0o755)
    run(program.path, "shell-files", share)
    for page in sorted((share / "man/man1").iterdir()):
        # The same bytes whenever it is made.
        page.with_name(page.name + ".gz").write_bytes(gzip.compress(page.read_bytes(), mtime=0))
        page.unlink()
    put(HERE / "crumbline.svg", share / "icons/hicolor/scalable/apps/crumbline.svg")
    for size in ICON_SIZES:
        icon = share / f"icons/hicolor/{size}x{size}/apps/crumbline.png"
        icon.parent.mkdir(parents=True)
        run("rsvg-convert", "--width", str(size), "--height", str(size), "--output", icon, HERE / "crumbline.svg")
    if program.has_window:
        put(HERE / "crumbline.desktop", share / "applications/crumbline.desktop")
    put(HERE / "crumbline.xml", share / "mime/packages/crumbline.xml")
    for name in ("README.md", "LICENSE-MIT", "LICENSE-APACHE"):
        put(TOP / name, doc / name)
    for path in sorted((TOP / "assets/examples").rglob("*")):
        if path.is_file():
            put(path, doc / "examples" / path.relative_to(TOP / "assets/examples"))
    (doc / "copyright").write_text(copyright_text(), encoding="utf-8")
    text, _ = notices(TOP, program.features)
    (doc / "THIRD-PARTY-NOTICES.txt").write_text(text, encoding="utf-8")
    for path in usr.rglob("*"):
        if path.is_dir() or not os.access(path, os.X_OK):
            path.chmod(0o755 if path.is_dir() else 0o644)


def copyright_text():
    """Debian's file of licences, in its machine-readable form."""
    mit = (TOP / "LICENSE-MIT").read_text(encoding="utf-8")
    holder = re.search(r"^Copyright \(c\) (.+)$", mit, re.MULTILINE).group(1)
    terms = "\n".join(f" {line}" if line else " ." for line in mit.split("\n\n", 2)[2].strip().splitlines())
    return (
        "Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/\n"
        "Upstream-Name: crumbline\n"
        "Comment: What is built in besides has its licences in THIRD-PARTY-NOTICES.txt.\n\n"
        f"Files: *\nCopyright: {holder}\nLicense: MIT or Apache-2.0\n\n"
        f"License: MIT\n{terms}\n\n"
        "License: Apache-2.0\n On Debian systems this licence is in /usr/share/common-licenses/Apache-2.0.\n"
    )


def control(program, work, usr):
    """Debian's description of the package."""
    linked = program.linked(work)
    opened = program.opened(linked)
    kilobytes = sum(path.stat().st_size for path in usr.rglob("*") if path.is_file()) // 1024
    fields = {
        "Package": "crumbline",
        "Version": program.version,
        "Architecture": program.architecture,
        "Maintainer": "The Crumbline founders <crumbline@crumbline.invalid>",
        "Installed-Size": str(kilobytes),
        "Depends": ", ".join(linked + opened),
        "Recommends": ", ".join(RECOMMENDED) if program.has_window else "",
        "Section": "graphics",
        "Priority": "optional",
        "Description": "plan carved cakes: what to bake, where to cut, what to print\n"
        " A cake file goes in; a carve plan, a bench kit of printed tools and templates,\n"
        " a quote, a timetable and pictures come out.\n"
        f" .\n Built from commit {program.commit}.",
    }
    return "".join(f"{name}: {value}\n" for name, value in fields.items() if value)


def made_at():
    """The time that all files bear: that of the commit, so that the same source gives the same bytes."""
    given = os.environ.get("SOURCE_DATE_EPOCH")
    if given:
        return int(given)
    if (TOP / ".git").exists():
        return int(run("git", "-C", TOP, "log", "-1", "--format=%ct"))
    return int((TOP / "Cargo.toml").stat().st_mtime)


def archive(usr, name, target, seconds, level):
    """The same files in a compressed archive, below a folder of their own."""

    def plain(entry):
        entry.uid = entry.gid = 0
        entry.uname = entry.gname = "root"
        entry.mtime = seconds
        return entry

    tar = target.with_suffix("")
    with tarfile.open(tar, "w", format=tarfile.GNU_FORMAT) as out:
        # Folders are gone through in the order of their names.
        out.add(usr, arcname=name, filter=plain)
    run("xz", "--force", "--threads=0", f"-{level}", tar)


def package(path, out, level):
    """Makes both; neither is there if one cannot be made."""
    missing = sorted(tool for tool in TOOLS if not shutil.which(tool))
    if missing:
        wanted = " ".join(sorted({TOOLS[tool] for tool in missing}))
        raise Fault(f"{', '.join(missing)} not found: apt-get install {wanted}")
    program, seconds = Program(path.resolve()), made_at()
    out.mkdir(parents=True, exist_ok=True)
    # Beside what is made, so that a finished file only gets its name.
    with tempfile.TemporaryDirectory(prefix=".package-", dir=out) as work:
        work = pathlib.Path(work)
        root = work / "root"
        usr = root / "usr"
        usr.mkdir(parents=True)
        root.chmod(0o755)
        tree(program, usr)
        described = control(program, work, usr)
        (root / "DEBIAN").mkdir(mode=0o755)
        (root / "DEBIAN/control").write_text(described, encoding="utf-8")
        deb = f"crumbline_{program.version}_{program.architecture}.deb"
        run("dpkg-deb", "--root-owner-group", "-Zxz", f"-z{level}", "--build", root, work / deb,
            env={**os.environ, "SOURCE_DATE_EPOCH": str(seconds)})
        name = f"crumbline-{program.version}-linux-{program.machine}"
        archive(usr, name, work / f"{name}.tar.xz", seconds, level)
        made = [deb, f"{name}.tar.xz"]
        for file in made:
            (work / file).replace(out / file)
        return [out / file for file in made]


def main():
    """Reads the command line."""
    parser = argparse.ArgumentParser(description="Make a Debian package and an archive of a built program.")
    parser.add_argument("program", type=pathlib.Path, help="the built program")
    parser.add_argument("out", type=pathlib.Path, help="the folder to write into")
    parser.add_argument("--level", type=int, choices=range(10), default=6, help="of compression: 0 is quick, 9 small")
    given = parser.parse_args()
    try:
        for file in package(given.program, given.out, given.level):
            print(file)
    except (Fault, Incomplete, OSError, subprocess.CalledProcessError) as fault:
        print(f"error: {fault}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
