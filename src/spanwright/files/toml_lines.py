"""On which line of a TOML text each key stands.

The standard reader gives values without places, so this walks the text once more, after it has been
read without error: it can trust what it sees, and only needs to find where keys and values start and
end. :func:`key_lines` is the one to call.
"""

from __future__ import annotations

import bisect
import re
import tomllib

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)+")
_KEY_PART = re.compile(r"""[ \t]*("(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[A-Za-z0-9_-]+)[ \t]*""")
_STRING = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.DOTALL
)
_SCALAR = re.compile(r"[^,\]}#\n]+")


class _Walker:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.ends = [match.start() for match in re.finditer("\n", text)]
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    def line(self) -> int:
        return bisect.bisect_left(self.ends, self.at) + 1

    def note(self, path: Path) -> None:
        """Remember where a path, and every table on the way to it, is first met."""
        for end in range(1, len(path) + 1):
            self.lines.setdefault(path[:end], self.line())

    def skip_blank(self) -> None:
        match = _BLANK.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def sees(self, token: str) -> bool:
        if self.text.startswith(token, self.at):
            self.at += len(token)
            return True
        return False

    def key(self) -> list[str]:
        parts = []
        while match := _KEY_PART.match(self.text, self.at):
            self.at = match.end()
            part = match[1]
            parts.append(next(iter(tomllib.loads(f"{part} = 0"))) if part[0] in "\"'" else part)
            if not self.sees("."):
                break
        return parts

    def resolved(self, keys: list[str]) -> Path:
        """Return the path of a header's keys, with the number of the latest entry of each list."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def document(self) -> None:
        table: Path = ()
        self.skip_blank()
        while self.at < len(self.text):
            before = self.at
            if self.sees("[["):
                keys = self.key()
                whole = (*self.resolved(keys[:-1]), keys[-1])
                self.counts[whole] = self.counts.get(whole, 0) + 1
                table = (*whole, self.counts[whole] - 1)
                self.note(table)
                self.sees("]]")
            elif self.sees("["):
                table = self.resolved(self.key())
                self.note(table)
                self.sees("]")
            else:
                self.pair(table)
            self.skip_blank()
            if self.at == before:  # cannot happen in a text that was read; never hang on one that was not
                return

    def pair(self, table: Path) -> None:
        path = (*table, *self.key())
        self.note(path)
        self.sees("=")
        self.skip_spaces()
        self.value(path)

    def skip_spaces(self) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t":
            self.at += 1

    def value(self, path: Path) -> None:
        if self.sees("["):
            self.items(path, "]")
        elif self.sees("{"):
            self.items(path, "}")
        elif match := (_STRING.match(self.text, self.at) or _SCALAR.match(self.text, self.at)):
            self.at = match.end()

    def items(self, path: Path, end: str) -> None:
        """Walk the inside of a list or of a table in braces."""
        number = 0
        self.skip_blank()
        while self.at < len(self.text) and not self.sees(end):
            before = self.at
            if end == "]":
                self.note((*path, number))
                self.value((*path, number))
                number += 1
            else:
                self.pair(path)
            self.skip_blank()
            self.sees(",")
            self.skip_blank()
            if self.at == before:
                return


def key_lines(text: str) -> dict[Path, int]:
    r"""Return the line of every key and list entry of a text that is known to be TOML.

    Parameters
    ----------
    text : str
        The whole file.

    Returns
    -------
    dict
        Path of keys and places in lists (from 0) to the line (from 1) where it starts.

    Examples
    --------
    >>> key_lines("a = 1\n[[b]]\nc = [ { d = 1 },\n{ d = 2 } ]")[("b", 0, "c", 1, "d")]
    4
    """
    walker = _Walker(text)
    walker.document()
    return walker.lines
