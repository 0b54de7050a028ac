"""What a text of a job file says of the work that is done: it outlives a step back of the file.

``[[measured]]`` holds readings of built parts, ``[[made]]`` the parts that are cut or stand. Neither is a
choice that can be taken back: :func:`with_built` puts into an older text what a newer one says of them.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from spanwright.errors import FileFormatError

#: Tables of what is done -> keys that say what an entry is about.
FACTS = {"measured": ("what", "above"), "made": ("part",)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """One entry that an older text lacked.

    Parameters
    ----------
    table : str
        ``measured`` or ``made``.
    said : str
        The entry as the file would write it, on one line.
    instead_of : str
        What the older text says of the same thing; empty if nothing.
    """

    table: str
    said: str
    instead_of: str = ""


def tables_of(text: str) -> dict[str, Any] | None:
    """Return what a text says, if it can be read.

    Parameters
    ----------
    text : str
        The text of a job file.

    Returns
    -------
    dict or None
        Its tables; None if it is not TOML.
    """
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except (ValueError, RecursionError):
        return None


def built_since(older: str, newer: str) -> tuple[Built, ...]:
    """Return what a newer text says of built and made parts and an older one lacks.

    Parameters
    ----------
    older : str
        The text that may lack it.
    newer : str
        The text that says it.

    Returns
    -------
    tuple of Built
        In the order of the newer text; empty for a text that cannot be read.
    """
    facts, there = tables_of(newer) or {}, tables_of(older) or {}
    return tuple(
        Built(table=table, said=_said(entry), instead_of="" if was is None else _said(was))
        for table in _told(facts)
        for _, entry, was in _lacking(there, facts, table)
    )


def with_built(older: str, newer: str, name: str) -> tuple[str, tuple[Built, ...]]:
    """Return an older text with what a newer one says of built and made parts.

    An entry of the newer text takes the place of the older one's entry for the same thing; entries that only
    the older text has stay.

    Parameters
    ----------
    older : str
        The text to put them into.
    newer : str
        The text to take them from.
    name : str
        What messages call the older text.

    Returns
    -------
    str
        The older text; the same, to the letter, if it lacks nothing.
    tuple of Built
        What it lacked.

    Raises
    ------
    FileFormatError
        If it lacks something and cannot hold it.
    """
    facts, there = tables_of(newer) or {}, tables_of(older) or {}
    told = built_since(older, newer)
    if not told:
        return older, ()
    lacking = [item for table in _told(facts) for item in _lacking(there, facts, table)]
    try:
        text = _put(older, lacking)
    except (TOMLKitError, ValueError, TypeError, AttributeError) as problem:
        raise _unfit(name, told) from problem
    held = tables_of(text) or {}
    rest = {key: value for key, value in held.items() if key not in FACTS}
    if rest != {k: v for k, v in there.items() if k not in FACTS} or any(
        item for table in FACTS for item in _lacking(held, facts, table)
    ):
        raise _unfit(name, told)
    return text, told


def _unfit(name: str, told: tuple[Built, ...]) -> FileFormatError:
    return FileFormatError(
        "this text cannot hold what is built since, so nothing was changed",
        code="FI016",
        where=name,
        value="; ".join(f"{b.table}: {b.said}" for b in told[:3]),
        hint="Go back to another text, or add --as-it-was and write these entries into the job file again",
    )


def _told(values: dict[str, Any]) -> list[str]:
    """Return the tables of facts in the order of the file."""
    return [table for table in values if table in FACTS]


def _entries(values: dict[str, Any], table: str) -> list[Any]:
    held = values.get(table)
    return held if isinstance(held, list) else []


def _about(entry: Any, table: str) -> list[Any] | None:
    """Return what an entry is about; None if it does not say."""
    if not isinstance(entry, dict) or FACTS[table][0] not in entry:
        return None
    return [entry.get(key) for key in FACTS[table]]


def _lacking(there: dict[str, Any], facts: dict[str, Any], table: str) -> list[tuple[str, Any, Any]]:
    """Return the entries of the facts that are not there, or are there otherwise, with what is there."""
    left = list(_entries(there, table))
    new = []
    for entry in _entries(facts, table):
        if entry in left:
            left.remove(entry)
        else:
            new.append(entry)
    found: list[tuple[str, Any, Any]] = []
    for entry in new:
        about = _about(entry, table)
        was = next((old for old in left if about is not None and _about(old, table) == about), None)
        if was is not None:
            left.remove(was)
        found.append((table, entry, was))
    return found


def _said(entry: Any) -> str:
    if not isinstance(entry, dict):
        return str(tomlkit.item(entry).as_string())
    return ", ".join(f"{k} = {tomlkit.item(v).as_string().strip()}" for k, v in entry.items())


def _put(text: str, entries: list[tuple[str, Any, Any]]) -> str:
    document: Any = tomlkit.parse(text)
    for table, entry, was in entries:
        if table not in document:
            if document.as_string().strip() and not document.as_string().endswith("\n\n"):
                document.add(tomlkit.nl())
            document[table] = tomlkit.aot()
        held = document[table]
        if was is not None:
            _overwrite(held[held.unwrap().index(was)], entry)
        else:
            held.append(_table(entry) if isinstance(held, tomlkit.items.AoT) else entry)
    return tomlkit.dumps(document)


def _overwrite(old: Any, entry: dict[str, Any]) -> None:
    for key in [key for key in old if key not in entry]:
        del old[key]
    for key, value in entry.items():
        if key not in old or old[key] != value:
            old[key] = value


def _table(entry: dict[str, Any]) -> Any:
    table = tomlkit.table()
    for key, value in entry.items():
        table[key] = _inline(value)
    return table


def _inline(value: Any) -> Any:
    """Keep tables within an entry in braces, so that it stays one block."""
    if not isinstance(value, dict):
        return value
    inside = tomlkit.inline_table()
    inside.update({key: _inline(v) for key, v in value.items()})
    return inside
