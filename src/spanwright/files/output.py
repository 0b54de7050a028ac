"""Writing: strict JSON, and files that are whole or not there."""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
from enum import Enum
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from spanwright.errors import FileFormatError, SpanwrightError


def _plain(value: Any) -> Any:
    if isinstance(value, (np.generic, np.ndarray)):
        return value.tolist()
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Fraction):
        return float(value)
    raise SpanwrightError(
        "this cannot be written as JSON",
        code="FI010",
        value=type(value).__name__,
        limit="text, numbers, lists, tables",
    )


def write_json(value: object) -> str:
    """Return strict JSON: keys sorted, no NaN, no infinity, a line end at the end.

    Parameters
    ----------
    value : object
        Tables, lists, text, numbers; arrays and enumerations are taken by their values.

    Returns
    -------
    str
        The text.

    Raises
    ------
    SpanwrightError
        If it holds a number that is not finite, or something that JSON has no word for.

    Examples
    --------
    >>> print(write_json({"b": 1.5, "a": [1, 2]}), end="")
    {
      "a": [
        1,
        2
      ],
      "b": 1.5
    }
    """
    try:
        text = json.dumps(
            value, allow_nan=False, sort_keys=True, indent=2, ensure_ascii=False, default=_plain
        )
    except ValueError as problem:
        raise SpanwrightError("a number here is not finite", code="FI010", value=str(problem)) from problem
    return text + "\n"


def write_text_atomic(path: str | Path, text: str) -> Path:
    """Write a text file whole: until all is on the disk, an older file of that name stays as it was.

    Parameters
    ----------
    path : str or Path
        The file; its folder must exist.
    text : str
        What to write, as UTF-8 with plain line ends.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    FileFormatError
        If it cannot be written.
    """
    target = Path(path)
    if target.is_symlink():
        target = target.resolve()
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        mode = target.stat().st_mode & 0o777 if target.exists() else 0o644
        Path(temporary).chmod(mode)
        Path(temporary).replace(target)
        temporary = None
    except OSError as problem:
        raise FileFormatError(
            f"this file cannot be written ({problem.strerror or problem})",
            code="FI011",
            where=str(target),
            hint="Check that the folder exists, may be written to and has room",
        ) from problem
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                Path(temporary).unlink()
    return target
