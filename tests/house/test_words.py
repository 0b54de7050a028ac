"""The tree speaks of the project only: no path of one machine, no address of a package index."""

import os
import re
from pathlib import Path

SKIPPED_FOLDERS = {".git", ".venv", "out", "dist", "node_modules", "__pycache__", ".hypothesis"}
SKIPPED_FILES = {".git", ".venv-install.log"}
SKIPPED_ENDINGS = ("_cache", ".egg-info")
TEXT_SIZE = 2_000_000  # bytes; larger files are data

# A dot in square brackets or a split word keeps this file from finding itself.
UNWANTED = {
    "a path of one machine": re.compile(r"(?<![\w.\-/])/(work|farm|root|home[/]\w+)[/]"),
    "the address of a package index": re.compile(r"pypi[.]org|pythonhosted[.]org|npmjs[.]|[-]index-url"),
    "a word about how the work is done": re.compile("sub" + "agents?", re.IGNORECASE),
}


def text_files(root):
    for folder, folders, names in os.walk(root):
        folders[:] = [f for f in folders if f not in SKIPPED_FOLDERS and not f.endswith(SKIPPED_ENDINGS)]
        for path in (Path(folder, name) for name in names if name not in SKIPPED_FILES):
            if path.is_file() and path.stat().st_size <= TEXT_SIZE:
                yield path


def unwanted(line):
    return [what for what, pattern in UNWANTED.items() if pattern.search(line)]


def test_no_unwanted_words_in_the_tree(root):
    found = []
    for path in text_files(root):
        where = path.relative_to(root).as_posix()
        found += [f"{where} (its name): {what}" for what in unwanted(f"/{where}")]
        try:
            lines = path.read_text(encoding="utf-8").splitlines()
        except UnicodeDecodeError:
            continue
        found += [f"{where}:{n}: {what}" for n, line in enumerate(lines, 1) for what in unwanted(line)]
    assert not found, "\n" + "\n".join(found)


def test_the_rule_sees_what_it_should():
    assert unwanted("see /wo" + "rk/notes.md")
    assert unwanted("https://py" + "pi.org/simple")
    assert unwanted("a Sub" + "agent")
    assert not unwanted("the job folder examples/wo" + "rk/ and ./wo" + "rk/")
