"""Licences of everything that is built into the program: the packages, the fonts and the standard library.

The packages are those that `cargo tree` names for the program's features, without what only runs while it is built. The
texts are those in the packages' own folders, as cargo has downloaded them; equal texts stand once. A package that has no
text gets the standard text of its licence with its authors. One whose source is not there is an error: the list is whole
or there is none.

For a system that `package.py` makes nothing for: `notices.py FILE FEATURE...` writes the list of a program with those
features.
"""

import os
import pathlib
import re
import subprocess
import sys
import tomllib

NAMED_LICENCE = re.compile(
    r"^(un)?licen[cs]e|^copying|^copyright|^notice|^ofl|^ufl|-licen[cs]e\.(txt|md)$", re.IGNORECASE
)
GRANT = "Permission is hereby granted"
WIDTH = 100
HEAD = """\
What is built into crumbline besides its own code, the licence of each as its makers state it, and in
brackets which of the texts below are theirs. Where several licences are joined by OR, any of them may
be chosen. The source of each package is at the address given.
"""


class Incomplete(Exception):
    """A package whose licence cannot be told."""


def packages(top, features):
    """Name, version and licence of every package of others in the program."""
    flags = ["--no-default-features"] + (["--features", ",".join(features)] if features else [])
    tree = subprocess.run(
        [os.environ.get("CARGO", "cargo"), "tree", "--locked", "--package", "crumbline", "--edges",
         "normal,no-proc-macro", "--prefix", "none", "--format", "{p}|{l}", *flags],
        cwd=top, stdout=subprocess.PIPE, check=True, text=True).stdout
    found = set()
    for line in tree.splitlines():
        package, licence = line.removesuffix(" (*)").split("|")
        name, version, *place = package.split()
        # Ours have their folder behind them.
        if not place:
            found.add((name, version.removeprefix("v"), licence.removesuffix(" (*)")))
    return sorted(found)


def source(name, version):
    """The folder that cargo keeps a package in."""
    home = pathlib.Path(os.environ.get("CARGO_HOME") or pathlib.Path.home() / ".cargo")
    for index in sorted((home / "registry/src").glob("*")):
        folder = index / f"{name}-{version}"
        if folder.is_dir():
            return folder
    raise Incomplete(f"the source of {name} {version} is not below {home}/registry/src: run cargo fetch")


def texts(folder):
    """The licence texts in a package, and those at the head or the end of its C headers."""
    found = []
    for path in sorted(folder.rglob("*")):
        if not path.is_file():
            continue
        if NAMED_LICENCE.search(path.name) and path.suffix.lower() not in (".rs", ".html", ".json", ".toml"):
            found.append(path.read_text(encoding="utf-8", errors="replace"))
        elif path.suffix == ".h":
            header = path.read_text(encoding="utf-8", errors="replace")
            found += [comment(block) for block in re.findall(r"/\*.*?\*/", header, re.DOTALL) if GRANT in block]
    return [text.strip("\n") for text in found if text.strip()]


def comment(block):
    """The words of a comment of C."""
    return "\n".join(re.sub(r"^\s*/?\*+/?\s?", "", line).rstrip() for line in block.splitlines())


def authors(folder):
    """Who made a package, as its manifest says."""
    manifest = tomllib.loads((folder / "Cargo.toml").read_text(encoding="utf-8"))
    return manifest["package"].get("authors", [])


def standard_text(top, name, licence, folder):
    """What stands for a package without a text of its own."""
    who = ", ".join(authors(folder)) or f"the authors of {name}"
    known = re.split(r"\s+(?:OR|AND)\s+|/|[()]", licence)
    if "MIT" in known:
        mit = (top / "LICENSE-MIT").read_text(encoding="utf-8")
        return re.sub(r"^Copyright .*$", lambda _: f"Copyright (c) {who}", mit, count=1, flags=re.MULTILINE)
    if "Apache-2.0" in known:
        return f"Copyright {who}\n\n" + (top / "LICENSE-APACHE").read_text(encoding="utf-8")
    if "CC0-1.0" in known:
        return f"{who} gave up all rights (CC0 1.0): https://creativecommons.org/publicdomain/zero/1.0/legalcode"
    raise Incomplete(f"{name} has no licence text, and there is no standard text of {licence} here")


class Notices:
    """Texts, each once, with who uses it."""

    def __init__(self):
        self.lines, self.numbers, self.kept = [], {}, []

    def add(self, what, licence, found):
        """One entry with its texts."""
        numbers = []
        for text in found:
            key = " ".join(text.split())
            if key not in self.numbers:
                self.kept.append(text)
                self.numbers[key] = len(self.kept)
            numbers.append(self.numbers[key])
        places = ", ".join(f"[{number}]" for number in sorted(set(numbers)))
        self.lines.append(f"{what}\n    {licence}, {places}")

    def text(self):
        """The whole file."""
        parts = [HEAD, "\n".join(self.lines)]
        for number, text in enumerate(self.kept, 1):
            parts.append(f"\n{'-' * WIDTH}\n[{number}]\n\n{text.rstrip()}")
        return "\n".join(parts) + "\n"


def notices(top, features):
    """The text of the file, and how many packages it tells of."""
    made = Notices()
    font = (top / "assets/fonts/LICENCE-DejaVu.txt").read_text(encoding="utf-8")
    made.add("Fonts DejaVu Sans and DejaVu Sans Bold", "DejaVu fonts licence", [font])
    apache = (top / "LICENSE-APACHE").read_text(encoding="utf-8")
    made.add("The standard library of Rust\n    https://github.com/rust-lang/rust", "MIT OR Apache-2.0", [apache])
    found = packages(top, features)
    for name, version, licence in found:
        if not licence:
            raise Incomplete(f"{name} {version} states no licence")
        folder = source(name, version)
        own = texts(folder) or [standard_text(top, name, licence, folder)]
        made.add(f"{name} {version}\n    https://crates.io/crates/{name}/{version}", licence, own)
    return made.text(), len(found)


if __name__ == "__main__":
    here = pathlib.Path(__file__).resolve().parent
    pathlib.Path(sys.argv[1]).write_text(notices(here.parent.parent, sys.argv[2:])[0], encoding="utf-8")
