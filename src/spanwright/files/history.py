"""The history of a job file: every text that it had, each a plain file beside it, none ever changed.

A job folder keeps ``history/0001 2026-11-25 before the first change.toml`` and so on: each file is the whole
text as it stood *after* what its name says. Whatever edits the job file goes through :func:`change`; a text
that nobody kept, since it was edited by hand, is kept first. :func:`back_to` makes the text for stepping
back; it goes in by :func:`change` too, so that nothing is ever lost. What is built is a fact, not a choice:
:mod:`spanwright.files.versions.built` carries it over.
"""

from __future__ import annotations

import contextlib
import datetime
import os
import re
import tempfile
from dataclasses import dataclass
from pathlib import Path

from spanwright.errors import FileFormatError
from spanwright.files.output import write_text_atomic
from spanwright.files.source import JOB_FILE, job_path, job_text
from spanwright.files.versions.built import Built, built_since, tables_of, with_built

FIRST = "before the first change"
BY_HAND = "edited by hand"
_NAME = re.compile(r"(\d{4,9}) (\d{4}-\d{2}-\d{2}) (.+)\.toml", re.DOTALL)
#: What no system allows in a name, or would read as a folder.
_NOT_IN_NAMES = re.compile(r'[\x00-\x1f\x7f<>:"/\\|?*]+')
_LONGEST = 120  # bytes of what was done, in a name


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """One text of the job file that is kept.

    Parameters
    ----------
    number : int
        Its number, from 1.
    date : str
        The day on which it was kept, as ``2026-11-25``.
    why : str
        What was done to the file, after which it had this text.
    path : Path
        Where it is kept.
    """

    number: int
    date: str
    why: str
    path: Path

    @property
    def text(self) -> str:
        """The whole text."""
        return current_text(self.path)


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """What a change did.

    Parameters
    ----------
    former : Kept
        The text as it was.
    now : Kept
        The text as it is.
    by_hand : bool
        Whether the former text had been edited by hand and was kept only now.
    """

    former: Kept
    now: Kept
    by_hand: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """The text for stepping back, and what was carried over.

    Parameters
    ----------
    to : Kept
        The text that is gone back to.
    text : str
        What the job file is to hold.
    made_from : str
        The text of the job file that it takes the place of.
    built : tuple of Built
        Readings of built parts, and made parts, that the kept text lacked.
    read_from : Kept or None
        Which kept text they were taken from, where the job file itself is no longer TOML.
    """

    to: Kept
    text: str
    made_from: str
    built: tuple[Built, ...]
    read_from: Kept | None = None


def current_text(job: str | Path) -> str:
    """Return the text of a job file; one that has been emptied has an empty text.

    Parameters
    ----------
    job : str or Path
        A job folder or a job file.

    Returns
    -------
    str
        The whole text.

    Raises
    ------
    FileFormatError
        If it cannot be read as text.
    """
    try:
        return job_text(job)
    except FileFormatError as problem:
        if problem.code == "FI005":
            return ""
        raise


def history_folder(job: str | Path) -> Path:
    """Return the folder that keeps the texts of a job file.

    Parameters
    ----------
    job : str or Path
        A job folder or a job file.

    Returns
    -------
    Path
        ``history`` beside a ``job.toml``, ``<name> history`` beside a file of another name.
    """
    file = job_path(job)
    return file.with_name("history" if file.name == JOB_FILE else f"{file.stem} history")


def kept_texts(job: str | Path) -> tuple[Kept, ...]:
    """Return every kept text of a job file, the first one first.

    Parameters
    ----------
    job : str or Path
        A job folder or a job file.

    Returns
    -------
    tuple of Kept
        Empty if nothing was changed yet. Files whose names are of another form are left out.

    Raises
    ------
    FileFormatError
        If the folder cannot be read.
    """
    folder = history_folder(job)
    try:
        names = sorted(p.name for p in folder.iterdir()) if folder.is_dir() else []
    except OSError as problem:
        raise FileFormatError(
            f"this folder cannot be read ({problem.strerror or problem})",
            code="FI001",
            where=str(folder),
            hint="Check its permissions",
        ) from problem
    found = [(match, folder / name) for name in names if (match := _NAME.fullmatch(name))]
    return tuple(
        sorted(
            (Kept(number=int(m[1]), date=m[2], why=m[3], path=path) for m, path in found),
            key=lambda kept: kept.number,
        )
    )


def change(
    job: str | Path,
    new_text: str,
    why: str,
    *,
    made_from: str | None = None,
    today: datetime.date | None = None,
) -> Changed:
    """Give a job file a new text, and keep the former one and the new one.

    The order is: the former text if nobody kept it, the new text, then the job file, each written whole.
    Whatever stops it, the job file holds one of the two texts, and both are kept or the new one is nowhere.

    Parameters
    ----------
    job : str or Path
        A job folder or a job file.
    new_text : str
        The whole new text.
    why : str
        What was done, in a few words: it becomes part of a name.
    made_from : str, optional
        The text that the new one was made from; if the file says something else by now, nothing is written.
    today : date, optional
        The day; that of the clock if left out.

    Returns
    -------
    Changed
        The two kept texts.

    Raises
    ------
    FileFormatError
        If something cannot be read or written, or the file was changed meanwhile; it is then as it was.
    """
    file = job_path(job)
    former = current_text(file)
    if made_from is not None and former != made_from:
        raise FileFormatError(
            "the job file was changed while this was worked out, and was left as it is",
            code="FI014",
            where=str(file),
            hint="Run the same again: it then starts from what the file says now",
        )
    folder = history_folder(file)
    day = (today or datetime.date.today()).isoformat()
    texts = kept_texts(file)
    last = texts[-1] if texts else None
    unkept = last is None or last.text != former
    if last is None or unkept:
        last = _keep(folder, former, day, BY_HAND if texts else FIRST)
    now = _keep(folder, new_text, day, why)
    try:
        write_text_atomic(file, new_text)
    except BaseException:
        with contextlib.suppress(OSError):
            now.path.unlink()  # a text that the file never had
        raise
    return Changed(former=last, now=now, by_hand=unkept and bool(texts))


def back_to(job: str | Path, number: int, *, carry: bool = True) -> Back:
    """Return the text for going back to a kept one; nothing is written.

    Parameters
    ----------
    job : str or Path
        A job folder or a job file.
    number : int
        The number of the kept text.
    carry : bool
        Put into it what the job file says of built and made parts and the kept text lacks.

    Returns
    -------
    Back
        The text, and what the kept one lacked, whether it was carried over or not.

    Raises
    ------
    FileFormatError
        If there is no such text, or it cannot hold what is built.
    """
    texts = kept_texts(job)
    wanted = [kept for kept in texts if kept.number == number]
    if not texts:
        raise FileFormatError(
            "nothing is kept yet, so there is nothing to go back to",
            code="FI015",
            where=str(job_path(job)),
            hint="The history begins when a command changes the file",
        )
    if len(wanted) != 1:
        two = len(wanted) > 1
        raise FileFormatError(
            "two texts of this number are kept" if two else "no text of this number is kept",
            code="FI015",
            where=str(history_folder(job)),
            value=number,
            limit=", ".join(kept.path.name for kept in wanted) if two else _range(texts),
            hint="Give one of them another number" if two else "spanwright history lists them",
        )
    now, to = current_text(job), wanted[0]
    facts, read_from = now, None
    if tables_of(now) is None or not now.strip():
        read_from = next(
            (kept for kept in reversed(texts) if kept.text.strip() and tables_of(kept.text)), None
        )
        facts = read_from.text if read_from else ""
    text, built = (
        with_built(to.text, facts, str(to.path)) if carry else (to.text, built_since(to.text, facts))
    )
    return Back(to=to, text=text, made_from=now, built=built, read_from=read_from)


def _range(texts: tuple[Kept, ...]) -> str:
    return f"{texts[0].number} to {texts[-1].number}" if len(texts) > 1 else f"{texts[0].number}"


def _keep(folder: Path, text: str, day: str, why: str) -> Kept:
    """Write a text under the next free number, whole or not at all, never over another file."""
    name = " ".join(_NOT_IN_NAMES.sub(" ", why).split())
    name = name.encode("utf-8", "replace")[:_LONGEST].decode("utf-8", "ignore").strip(" .") or "changed"
    temporary = None
    try:
        folder.mkdir(exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=".", suffix=".part", dir=folder)
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(0o644)
        taken = [int(m[1]) for p in folder.iterdir() if (m := _NAME.fullmatch(p.name))]
        number = max(taken, default=0) + 1
        path = folder / f"{number:04d} {day} {name}.toml"
        Path(temporary).rename(path)
        temporary = None
    except OSError as problem:
        raise FileFormatError(
            f"the history of the job file cannot be kept ({problem.strerror or problem}), so the file was"
            " left as it is",
            code="FI011",
            where=str(folder),
            hint="Check that the folder may be written to and has room",
        ) from problem
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                Path(temporary).unlink()
    return Kept(number=number, date=day, why=name, path=path)
