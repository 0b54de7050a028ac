"""Edit the text of a job file: one value at a time, comments and everything else as they were."""

from __future__ import annotations

import difflib
from typing import Any

import tomlkit

Keys = tuple[str | int, ...]


def with_value(text: str, keys: Keys, value: Any) -> str:
    """Return the text of a job file with one value set.

    Parameters
    ----------
    text : str
        The file's text.
    keys : tuple of str or int
        Where the value stands: names of tables and keys, numbers in lists. A table that is missing is made.
    value : Any
        Text, number, list or table. A table of a size (``{ is = ..., by = ... }``) keeps its other keys.

    Returns
    -------
    str
        The edited text.
    """
    document = tomlkit.parse(text)
    place: Any = document
    for key in keys[:-1]:
        if isinstance(key, str) and key not in place:
            place[key] = tomlkit.table()
        place = place[key]
    last = keys[-1]
    there = place[last] if isinstance(last, int) or last in place else None
    if isinstance(there, dict) and "is" in there and not isinstance(value, dict):
        there["is"] = value
    else:
        place[last] = _inline(value)
    return tomlkit.dumps(document)


def _inline(value: Any) -> Any:
    """Write a table on one line, where its key stands."""
    if not isinstance(value, dict):
        return value
    table = tomlkit.inline_table()
    table.update({key: _inline(of) for key, of in value.items()})
    return table


def without(text: str, keys: Keys) -> str:
    """Return the text of a job file with one entry taken out.

    Parameters
    ----------
    text : str
        The file's text.
    keys : tuple of str or int
        Where the entry stands.

    Returns
    -------
    str
        The edited text.
    """
    document = tomlkit.parse(text)
    place: Any = document
    for key in keys[:-1]:
        place = place[key]
    del place[keys[-1]]
    return tomlkit.dumps(document)


def appended(text: str, key: str, entry: dict[str, Any]) -> str:
    """Return the text of a job file with one entry more in a list of tables.

    Parameters
    ----------
    text : str
        The file's text.
    key : str
        Name of the list, such as ``measured``.
    entry : dict
        Keys and values of the new table.

    Returns
    -------
    str
        The edited text; the new table stands after the others, or at the end of the file.
    """
    document = tomlkit.parse(text)
    table = tomlkit.table()
    for name, value in entry.items():
        table[name] = value
    if key in document:
        tables: Any = document[key]
        tables[-1].add(tomlkit.nl())
        tables.append(table)
        return tomlkit.dumps(document)
    lines = "" if text.endswith("\n") or not text else "\n"
    return f"{text}{lines}\n[[{key}]]\n{tomlkit.dumps(table)}"


def difference(before: str, after: str, name: str) -> list[str]:
    """Return what an edit changed, as unified diff with a line of surroundings.

    Parameters
    ----------
    before : str
        The text as it was.
    after : str
        The text as it would be.
    name : str
        Name of the file.

    Returns
    -------
    list of str
        Lines; none if nothing changed.
    """
    lines = difflib.unified_diff(
        before.splitlines(), after.splitlines(), fromfile=name, tofile=f"{name}, changed", n=1, lineterm=""
    )
    return list(lines)
