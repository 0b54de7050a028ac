"""The job file as a file: reading it safely, and saying where in it something is wrong.

:func:`read_source` opens the file once, for reading only, and refuses what is not a job file before
anything is made of it. :meth:`Source.error` is the only way in which the builders complain: one
message with file, line, key, what was read, what was expected, what to do.
"""

from __future__ import annotations

import difflib
import re
import stat
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from spanwright.errors import FileFormatError, InputError
from spanwright.files.toml_lines import key_lines

LARGEST = 5_000_000  # bytes; a job of a thousand readings has a tenth of a megabyte
JOB_FILE = "job.toml"
_LONGEST_SHOWN = 80  # characters of a word of the file in a message

Keys = tuple[str | int, ...]


class Plain(str):
    """A text that a message shows as it is, without quotes."""

    __slots__ = ()

    def __repr__(self) -> str:
        """Return the text itself."""
        return str(self)


def as_written(value: object) -> object:
    """Return a value such that a message shows it as the file writes it.

    Parameters
    ----------
    value : object
        What was read.

    Returns
    -------
    object
        The same, but truth values, lists and huge numbers as text.
    """
    if isinstance(value, bool):
        return Plain("true" if value else "false")
    if isinstance(value, (list, tuple)):
        return Plain(f"[{', '.join(repr(as_written(item)) for item in value)}]")
    if isinstance(value, int) and abs(value) >= 10**30:
        return Plain("a huge number")
    return value


def _on_one_line(word: str) -> str:
    """Return a word with what cannot be shown spelt out, cut where nobody reads on."""
    shown = word if word.isprintable() else repr(word)[1:-1]
    return shown if len(shown) <= _LONGEST_SHOWN else f"{shown[:_LONGEST_SHOWN]} ..."


def nearest(word: str, choices: Iterable[str]) -> str:
    """Return the choice that is spelt most like a word, or an empty text.

    Parameters
    ----------
    word : str
        What was written.
    choices : iterable of str
        What could have been meant.

    Returns
    -------
    str
        The nearest choice; empty if none is near.
    """
    lowered = {choice.lower(): choice for choice in choices}
    found = difflib.get_close_matches(word.lower(), lowered, n=1, cutoff=0.6)
    return lowered[found[0]] if found else ""


def listed(choices: Iterable[str]) -> str:
    """Return choices as a list to read.

    Parameters
    ----------
    choices : iterable of str
        The choices, in order.

    Returns
    -------
    str
        Separated by commas; long lists are cut with their number.
    """
    words = [_on_one_line(str(choice)) for choice in choices]
    return ", ".join(words) if len(words) <= 30 else f"{', '.join(words[:30])} and {len(words) - 30} more"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A job file that is TOML: its name, its values, and the lines of its keys.

    Parameters
    ----------
    name : str
        The file's name as it is shown.
    values : dict
        What the file says.
    lines : dict
        Line of each key.
    """

    name: str
    values: dict[str, Any]
    lines: dict[Keys, int]

    def error(
        self,
        keys: Keys,
        what: str,
        *,
        code: str,
        value: object = None,
        limit: object = None,
        hint: str = "",
    ) -> InputError:
        """Return an error that names the line and the key.

        Parameters
        ----------
        keys : tuple
            Path to the value; if it stands nowhere in the file, its nearest table is named.
        what : str
            What is wrong.
        code : str
            Stable code.
        value : object
            What was read.
        limit : object
            What was expected.
        hint : str
            What to do.

        Returns
        -------
        InputError
            To be raised by the caller.
        """
        where = self.place(keys)
        return InputError(what, code=code, where=where, value=as_written(value), limit=limit, hint=hint)

    def place(self, keys: Keys) -> str:
        """Return where a value stands.

        Parameters
        ----------
        keys : tuple
            Path to the value; if it stands nowhere in the file, its nearest table is named.

        Returns
        -------
        str
            File, line and key.
        """
        known = keys
        while known and known not in self.lines:
            known = known[:-1]
        return f"{self.name}, line {self.lines[known]}, {self.spoken(known)}" if known else self.name

    def spoken(self, keys: Keys) -> str:
        """Return a path of keys as it is shown, list entries with their own id or name.

        Parameters
        ----------
        keys : tuple
            Path to a value.

        Returns
        -------
        str
            Such as ``survey.distances[2] (d02).is``.
        """
        text = ""
        here: Any = self.values
        for key in keys:
            inside = isinstance(here, dict) and key in here
            here = here[key] if inside or (isinstance(here, list) and isinstance(key, int)) else None
            if isinstance(key, int):
                own = (
                    next((here[k] for k in ("id", "name") if k in here), "") if isinstance(here, dict) else ""
                )
                text += f"[{key + 1}]" + (f" ({_on_one_line(own)})" if isinstance(own, str) and own else "")
            else:
                text += ("." if text else "") + _on_one_line(key)
        return text


def job_path(path: str | Path) -> Path:
    """Return the job file of a job folder, or the file itself.

    Parameters
    ----------
    path : str or Path
        A job folder or a job file.

    Returns
    -------
    Path
        The file to read.

    Raises
    ------
    FileFormatError
        If there is no such file or folder, or the folder holds no job file.
    """
    given = Path(path)
    if given.is_dir():
        inside = given / JOB_FILE
        if not inside.exists():
            raise FileFormatError(
                f"this folder holds no {JOB_FILE}",
                code="FI002",
                where=str(given),
                hint=f"Name a job folder, or make one with: spanwright new {given}",
            )
        given = inside
    if not given.exists():
        raise FileFormatError(
            "there is no such file or folder",
            code="FI001",
            where=str(given),
            hint=f"Check the name, or make a new job with: spanwright new {given}",
        )
    return given


def _read_bytes(path: Path) -> bytes:
    name = str(path)
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            raise FileFormatError(
                "this is a folder or a device, not a file", code="FI002", where=name, hint="Name the job file"
            )
        size = about.st_size
        if size <= LARGEST:
            with path.open("rb") as file:
                data = file.read(LARGEST + 1)
            size = max(size, len(data))
        if size > LARGEST:
            raise FileFormatError(
                "this file is too large for a job file and was not read",
                code="FI003",
                where=name,
                value=f"{size / 1e6:.1f} MB",
                limit=f"at most {LARGEST / 1e6:.0f} MB",
                hint="Is it the right file?",
            )
    except OSError as problem:
        raise FileFormatError(
            f"this file cannot be read ({problem.strerror or problem})",
            code="FI001",
            where=name,
            hint="Check its permissions and close other programs that hold it",
        ) from problem
    return data


def _decode(data: bytes, name: str) -> str:
    if not data.strip():
        raise FileFormatError(
            "this file is empty", code="FI005", where=name, hint="Make a filled one with: spanwright new DIR"
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        raise FileFormatError(
            "this file is not UTF-8 text",
            code="FI004",
            where=f"{name}, line {line}",
            value=f"byte 0x{data[problem.start]:02x} at offset {problem.start}",
            limit="UTF-8",
            hint="Save it again with the encoding UTF-8",
        ) from problem


def read_source(path: str | Path) -> Source:
    """Read a job file as TOML, without changing it.

    Parameters
    ----------
    path : str or Path
        A job folder or a job file.

    Returns
    -------
    Source
        Its values and the lines of its keys.

    Raises
    ------
    FileFormatError
        If it is missing, not a file, too large, empty, not UTF-8 or not TOML.
    """
    return source_of(job_text(path), str(job_path(path)))


def job_text(path: str | Path) -> str:
    """Read the text of a job file.

    Parameters
    ----------
    path : str or Path
        A job folder or a job file.

    Returns
    -------
    str
        As it stands there.

    Raises
    ------
    FileFormatError
        If it is missing, not a file, too large, or not UTF-8.
    """
    file = job_path(path)
    return _decode(_read_bytes(file), str(file))


def source_of(written: str, name: str) -> Source:
    """Read the text of a job file as TOML.

    Parameters
    ----------
    written : str
        The text.
    name : str
        What messages call the file.

    Returns
    -------
    Source
        Its values and the lines of its keys.

    Raises
    ------
    FileFormatError
        If it is empty or not TOML.
    """
    text = written.replace("\r\n", "\n")
    try:
        values = tomllib.loads(text)
        lines = key_lines(text)
    except (ValueError, RecursionError) as problem:
        place, why = _place(problem, text)
        raise FileFormatError(
            f"this is not TOML: {why}",
            code="FI006",
            where=f"{name}{place}",
            hint="Put the two together, or take one out"
            if "stands twice" in why
            else "Most often a quote, a comma or a bracket is missing just before, or a key stands twice",
        ) from problem
    if not values:
        raise FileFormatError(
            "this file holds nothing but comments",
            code="FI005",
            where=name,
            hint="Make a filled one with: spanwright new DIR",
        )
    return Source(name=name, values=values, lines=lines)


_TOO_MANY_FIGURES = re.compile(r"[0-9][0-9_]{4299}")

#: What the reader of TOML says -> what it means to the one who wrote the file.
_MEANINGS = (
    (r"Cannot (?:declare|mutate immutable namespace) \((.*?),?\)(?: twice)?", "the table {} stands twice"),
    (r"Cannot redefine namespace \((.*?),?\)", "the table {} stands twice"),
    (r"Cannot overwrite a value", "this key stands twice"),
    (r"Duplicate inline table key (.*)", "the key {} stands twice"),
)


def _in_words(why: str) -> str:
    for pattern, meaning in _MEANINGS:
        if match := re.fullmatch(pattern, why):
            parts = re.findall(r"'([^']*)'", match[1]) if match.groups() else []
            return meaning.format(".".join(parts))
    return why


def _place(problem: Exception, text: str) -> tuple[str, str]:
    """Return the line that a TOML error names, with what stands there, and the error's own words."""
    if isinstance(problem, RecursionError):
        return "", "its brackets are nested too deeply"
    why, _, place = str(problem).rpartition(" (at ")
    if not why:
        digits = _TOO_MANY_FIGURES.search(text)
        line = f", line {text.count(chr(10), 0, digits.start()) + 1}" if digits else ""
        why = str(problem)
        return line, "a number has more figures than can be meant" if "digits" in why else why
    why = _in_words(why)
    number = place.removeprefix("line ").partition(",")[0]
    if not number.isdigit():
        return f", line {text.count(chr(10)) + 1}", f"{why} at the end of the file"
    lines = text.splitlines()
    shown = lines[int(number) - 1].strip()[:60] if int(number) <= len(lines) else ""
    return f", line {number}", f"{why}, in {shown!r}" if shown else why
