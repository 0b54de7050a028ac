"""Write a whole book of files: all of it is there, or the old one is as it was.

The files are written into a new folder beside the wanted one, which then takes its place by a rename. The
list ``contents.txt`` names every file with a sum over its bytes, so that the next book knows which files are
its own: a file that somebody put there, or has changed since, is never thrown away.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from spanwright.errors import FileFormatError

CONTENTS = "contents.txt"
_SHOWN = 3  # names of foreign files in a message


def write_book(
    folder: str | Path, files: Mapping[str, bytes], tell: Callable[[int, int], None] | None = None
) -> Path:
    """Write files into a folder of their own, in place of an older book.

    Parameters
    ----------
    folder : str or Path
        The folder; made if it is not there. Its parent folder must exist.
    files : mapping of str to bytes
        Names within the folder, with ``/`` between folders, and what they hold.
    tell : callable, optional
        Called with the number of files written and of all.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    FileFormatError
        If the folder holds something else, or cannot be written. An older book is then as it was.
    """
    target = Path(folder)
    if target.is_symlink():
        target = target.resolve()
    is_free(target)
    staged = None
    try:
        staged = Path(tempfile.mkdtemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent))
        staged.chmod(0o755)
        for number, (name, content) in enumerate(sorted(files.items()), start=1):
            _write(staged / name, content)
            if tell:
                tell(number, len(files))
        _write(staged / CONTENTS, _listing(files).encode("utf-8"))
        _swap(staged, target)
        staged = None
    except OSError as problem:
        raise FileFormatError(
            f"this folder cannot be written ({problem.strerror or problem})",
            code="FI011",
            where=str(target),
            hint="Check that its parent folder exists, may be written to and has room, and that no file of"
            " the old book is open",
        ) from problem
    finally:
        if staged is not None:
            shutil.rmtree(staged, ignore_errors=True)
    return target


def _listing(files: Mapping[str, bytes]) -> str:
    return "".join(f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files))


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def is_free(folder: str | Path) -> None:
    """Refuse a folder that holds what no earlier book wrote.

    Parameters
    ----------
    folder : str or Path
        The folder that a book is to be written into.

    Raises
    ------
    FileFormatError
        If it is a file, or holds files of somebody else or that were changed since.
    """
    target = Path(folder)
    if not target.exists():
        return
    if not target.is_dir():
        raise FileFormatError(
            "there is a file of this name, and a book needs a folder",
            code="FI013",
            where=str(target),
            hint="Name another folder",
        )
    known = _known(target / CONTENTS)
    foreign = []
    for path in sorted(target.rglob("*")):
        if path.is_dir() and not path.is_symlink():
            continue
        name = path.relative_to(target).as_posix()
        own = name == CONTENTS and known
        if not own and known.get(name) != hashlib.sha256(path.read_bytes()).hexdigest():
            foreign.append(name)
    if foreign:
        more = f" and {len(foreign) - _SHOWN} more" if len(foreign) > _SHOWN else ""
        raise FileFormatError(
            "this folder holds files that are not of an earlier book, or were changed since it was written",
            code="FI013",
            where=str(target),
            value=", ".join(foreign[:_SHOWN]) + more,
            hint="Name another folder, or move them away; nothing was touched",
        )


def _known(listing: Path) -> dict[str, str]:
    """Names and sums of the files that an earlier book wrote."""
    if not listing.is_file():
        return {}
    known = {}
    for line in listing.read_text(encoding="utf-8", errors="replace").splitlines():
        digest, _, name = line.partition("  ")
        known[name] = digest
    return known


def _swap(staged: Path, target: Path) -> None:
    """Put the new folder in the place of the old one; if that fails the old one comes back."""
    if not target.exists():
        staged.rename(target)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{target.name}.", suffix=".old", dir=target.parent))
    old.rmdir()
    target.rename(old)
    try:
        staged.rename(target)
    except OSError:
        with contextlib.suppress(OSError):
            old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)
