"""One family of errors: each says what, where, the value, the limit and what to do.

A design that fails a check is a :class:`spanwright.findings.Finding`, never an error.
"""

from __future__ import annotations


class SpanwrightError(Exception):
    """Base of all errors raised on purpose.

    Parameters
    ----------
    what : str
        What is wrong, in the user's words.
    code : str
        Short stable code, such as ``IN003``.
    where : str
        The place: a file line, a reading's id, a part's name.
    value : object
        What was read or computed.
    limit : object
        What was expected.
    hint : str
        What to do about it.
    """

    def __init__(
        self,
        what: str,
        *,
        code: str = "SW000",
        where: str = "",
        value: object = None,
        limit: object = None,
        hint: str = "",
    ) -> None:
        self.what = what
        self.code = code
        self.where = where
        self.value = value
        self.limit = limit
        self.hint = hint
        super().__init__(str(self))

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}" if self.where else self.what
        if self.value is not None:
            text += f"; read {self.value!r}"
        if self.limit is not None:
            text += f"; expected {self.limit}"
        if self.hint:
            text += f". {self.hint}"
        return text


class InputError(SpanwrightError, ValueError):
    """What the user gave cannot be meant: a bad length, a missing mark, too few points."""


class FileFormatError(InputError):
    """The job file as a file is wrong: not TOML, not UTF-8, empty, too large."""


class NoSolutionError(SpanwrightError):
    """The problem is well put but has no answer, or more than one."""


class NotConvergedError(SpanwrightError):
    """An iteration stopped before its goal; carries the residual reached."""
